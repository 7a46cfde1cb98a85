"""Runs of a cutter as a file says them, in machine axes, whatever the language."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import overload

import numpy as np

from cutroom.model.cutter import Cutter
from cutroom.model.finding import Finding
from cutroom.proof.lines import Array, Flags, Ints
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

    runs: Sequence[Run]
    findings: tuple[Finding, ...] = field(default=())


@dataclass(frozen=True, slots=True, eq=False)
class RunsInOne(Sequence[Run]):
    """Runs that lie end to end in one array, for work on all of them at once; each can be had by itself.

    Attributes:
        tools: The tool of each.
        points: `(n, 2)`, mm, machine axes.
        counts: `(k,)`: how many points each has.
        starts: `(k,)`: the first point of each.
    """

    tools: Sequence[str]
    points: Array
    counts: Ints
    starts: Ints

    def __len__(self) -> int:
        return len(self.tools)

    @overload
    def __getitem__(self, which: int) -> Run: ...
    @overload
    def __getitem__(self, which: slice) -> Sequence[Run]: ...
    def __getitem__(self, which: int | slice) -> Run | Sequence[Run]:
        if isinstance(which, slice):
            return [self[number] for number in range(len(self))[which]]
        return Run(self.tools[which], self.points[self.starts[which] :][: self.counts[which]])


def runs_of(tools: Sequence[str], points: Array, starts: Ints) -> RunsInOne:
    """Runs that lie end to end in one array (`(n, 2)`, mm), by the tool and the first point of each."""
    return RunsInOne(tools, points, np.diff(starts, append=len(points)), starts)


def in_one(runs: Sequence[Run]) -> RunsInOne:
    """Runs in one array."""
    if isinstance(runs, RunsInOne):
        return runs
    counts = np.array([len(run.points) for run in runs], dtype=np.int64)
    points = np.concatenate([run.points for run in runs]) if runs else np.zeros((0, 2))
    return RunsInOne([run.tool for run in runs], points, counts, np.cumsum(counts) - counts)


def unbent(points: Array, starts: Ints, at: Ints, middles: Array, left: Flags) -> tuple[Array, Ints]:
    """Lines with arcs as lines of straight bits, many at once.

    Args:
        points: `(n, 2)`, mm: the lines end to end.
        starts: `(k,)`: the first point of each line.
        at: `(m,)`, rising: the points that an arc leads to from the one before.
        middles: `(m, 2)`, mm: of the circle of each arc.
        left: `(m,)`: it runs counter-clockwise.

    Returns:
        More points, and where each line starts now.
    """
    one, two = points[at - 1] - middles, points[at] - middles
    first = np.arctan2(one[:, 1], one[:, 0])
    sweep = (np.arctan2(two[:, 1], two[:, 0]) - first) % (2 * np.pi)
    sweep = np.where(left, sweep, sweep - 2 * np.pi)
    sweep = np.where(np.abs(sweep) < 1e-12, np.where(left, 2 * np.pi, -2 * np.pi), sweep)
    radius, last_radius = np.hypot(one[:, 0], one[:, 1]), np.hypot(two[:, 0], two[:, 1])
    step = np.minimum(ARC_STEP, 2 * np.arccos(np.maximum(0.0, 1 - ARC_ERROR / np.maximum(radius, 1e-9))))
    count = np.maximum(1, np.ceil(np.abs(sweep) / np.maximum(step, 1e-3))).astype(np.int64)
    more = np.concatenate(([0], np.cumsum(count - 1)))  # places between the ends of the arcs before
    arc = np.repeat(np.arange(len(at)), count - 1)
    share = (np.arange(len(arc)) - more[arc] + 1) / count[arc]
    angles = first[arc] + share * sweep[arc]
    along = np.column_stack((np.cos(angles), np.sin(angles)))
    between = middles[arc] + (radius[arc] + share * (last_radius - radius)[arc])[:, None] * along
    return np.insert(points, at[arc], between, axis=0), starts + more[np.searchsorted(at, starts)]


def beyond_bed(runs: Sequence[Run], cutter: Cutter) -> list[Finding]:
    """Runs that leave the bed."""
    if not len(runs):
        return []
    many = in_one(runs)
    lows, highs = np.minimum.reduceat(many.points, many.starts), np.maximum.reduceat(many.points, many.starts)
    off = (lows.min(axis=1) < -0.02) | (highs > (cutter.length + 0.02, cutter.width + 0.02)).any(axis=1)
    findings = []
    for number in np.flatnonzero(off):
        least, most = lows[number], highs[number]
        what = f"it goes from {least[0]:.2f},{least[1]:.2f} to {most[0]:.2f},{most[1]:.2f} mm"
        findings.append(stop(f"run {number + 1}", f"{what}; the bed is {cutter.length:g} x {cutter.width:g} mm"))
    return findings
