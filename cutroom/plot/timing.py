"""How long a machine takes over its runs, from the speeds in its profile."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.arcs import straightened
from cutroom.geometry.plotter_units import PLU_TO_MM
from cutroom.geometry.polyline import length
from cutroom.model.cutter import Cutter
from cutroom.model.estimate import Estimate, Saved
from cutroom.model.motion import Motion
from cutroom.model.plot import Framed, PenText, Role
from cutroom.model.profile import Connection, Plotter
from cutroom.model.toolpath import Toolpaths
from cutroom.plot.own_letters import CELL

Reals = NDArray[np.float64]
_CHORD = 0.05  # mm that an arc is seen off by


def time_plot(framed: Framed, plotter: Plotter, size: int) -> Estimate | None:
    """What a plotter takes over a drawing; None when its profile says no speeds.

    Args:
        framed: The drawing.
        plotter: The machine.
        size: Bytes of the file.
    """
    if plotter.motion is None:
        return None
    pen_speed = plotter.motion.speed if plotter.pen_speed is None else plotter.pen_speed * 10
    total = Estimate(0.0, 0.0, 0.0)
    texts = framed.texts or ((),) * len(framed.frames)
    for runs, some in zip(framed.frames, texts, strict=True):
        pens = [run.pen for run in runs] + [text.pen for text in some]
        speeds = [plotter.speeds.get(pen, pen_speed / 10) * 10 for pen in pens]
        lines = [*(run.points / PLU_TO_MM for run in runs), *map(_as_line, some)]
        part = time_runs(lines, speeds, plotter.motion, changes=_changes(pens))
        total = _added(total, part)
    waits = plotter.motion.advance_s * (len(framed.frames) - 1)
    return over_line(replace(total, wait_s=total.wait_s + waits), size, plotter.connection)


def _as_line(text: PenText) -> Reals:
    """About as much line as a machine's letters are: each up a capital and down again (mm)."""
    start, way = np.array(text.at) / PLU_TO_MM, np.array(text.way)
    feet = start + way * (np.arange(len(text.words) + 1) * CELL * text.size[0])[:, None]
    tops = feet[:-1] + np.array((-way[1], way[0])) * text.size[1]
    return np.stack((feet[:-1], tops, feet[:-1], feet[1:]), axis=1).reshape(-1, 2)


def time_cut(toolpaths: Toolpaths, cutter: Cutter, size: int) -> Estimate | None:
    """What a cutter takes over its runs; None when its profile says no speeds.

    Args:
        toolpaths: The runs.
        cutter: The machine.
        size: Bytes of the file.
    """
    if cutter.motion is None:
        return None
    speeds = {tool.name: cutter.motion.speed if tool.speed is None else tool.speed for tool in cutter.tools}
    lines = [straightened(path.points, path.bulges, _CHORD) for path in toolpaths.paths]
    tools = [path.tool for path in toolpaths.paths]
    found = time_runs(lines, [speeds[tool] for tool in tools], cutter.motion, changes=_changes(tools))
    return over_line(found, size, cutter.connection)


def saved_by_sharing(once: Toolpaths, each: Toolpaths, cutter: Cutter) -> Saved:
    """What is saved where shared lines are cut once, not with each piece.

    Args:
        once: The runs with shared lines once.
        each: The runs for the same drawing with shared lines for each piece.
        cutter: The machine.
    """
    before, after = time_cut(each, cutter, 0), time_cut(once, cutter, 0)
    seconds = None if before is None or after is None else before.machine_s - after.machine_s
    return Saved(_cut_length(each) - _cut_length(once), seconds)


def _cut_length(toolpaths: Toolpaths) -> float:
    """Of the runs of outlines (mm)."""
    runs = [straightened(path.points, path.bulges, _CHORD) for path in toolpaths.paths if path.role is Role.CUT]
    return sum(map(length, runs))


def time_runs(lines: Sequence[Reals], speeds: Sequence[float], motion: Motion, *, changes: int = 0) -> Estimate:
    """What drives take over some runs, from (0, 0) on.

    Args:
        lines: Each `(n, 2)`, mm.
        speeds: Of each with the tool down (mm/s).
        motion: The machine's speeds.
        changes: How often the tool is changed.
    """
    if not lines:
        return Estimate(0.0, 0.0, 0.0)
    from cutroom.geometry.kernels.timing import seconds_along  # loads numba

    ends = np.cumsum([len(line) for line in lines])
    points = np.ascontiguousarray(np.concatenate(lines), dtype=np.float64)
    working = seconds_along(points, ends, np.array(speeds, dtype=np.float64), motion.acceleration, motion.corner)
    hops = np.zeros((len(lines), 2, 2))
    hops[1:, 0], hops[:, 1] = points[ends[:-1] - 1], points[np.concatenate([[0], ends[:-1]])]
    apart = np.abs(hops[:, 1] - hops[:, 0]).max(axis=1) > 0
    travels = np.full(len(lines), motion.travel_speed, dtype=np.float64)
    travel = seconds_along(
        np.ascontiguousarray(hops.reshape(-1, 2)), np.arange(2, 2 * len(lines) + 1, 2), travels,
        motion.acceleration, motion.corner,
    )  # fmt: skip
    return Estimate(
        float(working.sum()), float(travel[apart].sum()), motion.lift_s * len(lines), motion.choose_s * changes
    )


def over_line(estimate: Estimate, size: int, connection: Connection | None) -> Estimate:
    """The same with the time that the bytes take over a serial line."""
    return estimate if connection is None else replace(estimate, line_s=connection.seconds_for(size))


def _changes(tools: Iterable[object]) -> int:
    return sum(one != other for one, other in pairwise(tools))


def _added(one: Estimate, other: Estimate) -> Estimate:
    return Estimate(
        one.working_s + other.working_s,
        one.travel_s + other.travel_s,
        one.lift_s + other.lift_s,
        one.wait_s + other.wait_s,
    )
