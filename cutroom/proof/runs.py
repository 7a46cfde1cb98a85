"""Runs of a cutter as a file says them, in machine axes, whatever the language."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from cutroom.model.cutter import Cutter
from cutroom.model.finding import Finding
from cutroom.proof.lines import Array
from cutroom.proof.words import stop

ARC_STEP = np.deg2rad(4.0)
"""An arc is seen as straight bits that sweep no more than this,"""
ARC_ERROR = 0.004
"""and that leave it by no more than this (mm)."""


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """One run with the tool down.

    Attributes:
        tool: Name of the tool, as the profile has it.
        points: `(n, 2)`, mm, machine axes.
    """

    tool: str
    points: Array


@dataclass(frozen=True, slots=True, eq=False)
class Runs:
    """What was read from a file: its runs in their order, and what is not as it should be in the file itself."""

    runs: tuple[Run, ...]
    findings: tuple[Finding, ...] = field(default=())


def arc_points(start: Array, end: Array, middle: Array, *, left: bool) -> Array:
    """Places along an arc, without its start.

    Args:
        start: `(2,)`, mm.
        end: Likewise.
        middle: Of its circle.
        left: It runs counter-clockwise.
    """
    one, two = start - middle, end - middle
    first = np.arctan2(one[1], one[0])
    sweep = (np.arctan2(two[1], two[0]) - first) % (2 * np.pi)
    if not left:
        sweep -= 2 * np.pi
    if abs(sweep) < 1e-12:
        sweep = 2 * np.pi if left else -2 * np.pi
    radii = np.hypot(*one), np.hypot(*two)
    step = min(ARC_STEP, 2 * np.arccos(max(0.0, 1 - ARC_ERROR / max(radii[0], 1e-9))))
    count = max(1, int(np.ceil(abs(sweep) / max(step, 1e-3))))
    share = np.arange(1, count + 1) / count
    radius = radii[0] + share * (radii[1] - radii[0])
    angles = first + share * sweep
    points: Array = middle + radius[:, None] * np.column_stack((np.cos(angles), np.sin(angles)))
    points[-1] = end
    return points


def beyond_bed(runs: Sequence[Run], cutter: Cutter) -> list[Finding]:
    """Runs that leave the bed."""
    findings = []
    for number, run in enumerate(runs, start=1):
        least, most = run.points.min(axis=0), run.points.max(axis=0)
        if least.min() < -0.02 or most[0] > cutter.length + 0.02 or most[1] > cutter.width + 0.02:
            what = f"it goes from {least[0]:.2f},{least[1]:.2f} to {most[0]:.2f},{most[1]:.2f} mm"
            findings.append(stop(f"run {number}", f"{what}; the bed is {cutter.length:g} x {cutter.width:g} mm"))
    return findings
