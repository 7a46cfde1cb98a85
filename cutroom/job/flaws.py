"""What the flaws of a cloth cost: the same pieces laid as if they were not there, held against how they are laid."""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.polygon import bounds
from cutroom.model.finding import Finding, Severity
from cutroom.model.lay import Lay
from cutroom.nest.problem import Layout, Problem, laid_outline
from cutroom.units import both_units

SAME = 0.05
"""Lengths that differ by no more than this (mm) are one."""


def flaw_findings(lay: Lay, problem: Problem, free: Layout, found: Layout) -> Iterator[Finding]:
    """A WARN for every flaw that lies where pieces would lie without it, when keeping clear of them takes more cloth.

    Args:
        lay: The lay.
        problem: It as the nest sees it.
        free: As it would be laid without flaws.
        found: As it is laid.
    """
    longer = found.length - free.length
    if longer <= SAME:
        return
    outlines = [laid_outline(problem.items[laid.item], laid) for laid in free.placed]
    for flaw in lay.fabric.flaws:
        area = np.array(flaw.outline)
        if not any(_boxes_meet(area, outline) for outline in outlines):
            continue
        left, low, right, high = bounds(area)
        room = _room(problem, outlines, (left + right) / 2)
        tall = high - low
        shift = (
            f"there is no free width to shift the pieces past it: it is {both_units(tall)} across, and "
            f"{both_units(max(room, 0.0))} of the width is left beside them"
            if room < tall
            else f"it is {both_units(tall)} across, and {both_units(room)} of the width is left beside the pieces"
        )
        what = (
            f"kept clear of the flaws the marker is {both_units(found.length)} long, without them "
            f"{both_units(free.length)} were found: {both_units(longer)} more; {shift}"
        )
        yield Finding(Severity.WARN, f'fabric "{lay.fabric.name}", {flaw.name}', what, _fix(lay, longer))


def _fix(lay: Lay, longer: float) -> str:
    cost = ""
    if lay.fabric.price is not None:
        cost = f", which costs {longer / 1000 * lay.fabric.plies * lay.fabric.price:.2f}"
    return f"Cut past it as it is laid now{cost}, use another roll, or begin behind the flaw"


def _boxes_meet(one: NDArray[np.float64], other: NDArray[np.float64]) -> bool:
    a, b = bounds(one), bounds(other)
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _room(problem: Problem, outlines: Sequence[NDArray[np.float64]], x: float) -> float:
    """Width (mm) that is left on a line across the cloth, the gaps between the pieces on it taken off."""
    spans = [span for outline in outlines if (span := _span(outline, x)) is not None]
    return problem.width - sum(high - low for low, high in spans) - problem.gap * max(len(spans) - 1, 0)


def _span(outline: NDArray[np.float64], x: float) -> tuple[float, float] | None:
    """From where to where an outline lies on a line across the cloth, or None."""
    ends = np.roll(outline, -1, axis=0)
    cut = (outline[:, 0] <= x) != (ends[:, 0] <= x)
    if not cut.any():
        return None
    one, two = outline[cut], ends[cut]
    at = one[:, 1] + (x - one[:, 0]) * (two[:, 1] - one[:, 1]) / (two[:, 0] - one[:, 0])
    return float(at.min()), float(at.max())
