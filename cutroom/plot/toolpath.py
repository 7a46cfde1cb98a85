"""From a drawing to the runs of a cutter: each tool's strokes in its order, led so that the tool leaves them."""

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import PlotError
from cutroom.geometry.arcs import fit_arcs, straightened
from cutroom.geometry.polygon import bounds, signed_area
from cutroom.model.cutter import Cutter, Tool, ToolKind
from cutroom.model.plot import Plot, Role, Stroke
from cutroom.model.toolpath import Toolpath, Toolpaths
from cutroom.plot.compensate import lead
from cutroom.plot.cut_order import CutRules, cut_order

Reals = NDArray[np.float64]

BLADE_DEG = 0.0
"""Where the blade of a drag knife must point when a program starts: along x of the bed."""
_HOLES = {Role.CUTOUT, Role.DRILL}
_SAME = 1e-6  # points this near (mm) are one


def toolpaths(plot: Plot, cutter: Cutter) -> Toolpaths:
    """The runs of a cutter for a drawing.

    Args:
        plot: The drawing of a marker, with the cloth's rectangle.
        cutter: The machine. Strokes of roles that no tool has are left out.

    Returns:
        Runs in machine axes (mm).

    Raises:
        PlotError: They do not lie on the machine's bed, or nothing is to be cut.
    """
    rules = CutRules(cutter.strip, cutter.small)
    paths: list[Toolpath] = []
    at = (0.0, 0.0)
    for tool in cutter.tools:
        strokes = [_kept_left(stroke) for stroke in plot.strokes if stroke.role in tool.roles]
        ordered = cut_order(strokes, start=at, rules=rules)
        paths.extend(_led(ordered, tool, math.radians(BLADE_DEG - cutter.turned)))
        if paths:
            at = (float(paths[-1].points[-1, 0]), float(paths[-1].points[-1, 1]))
    if not paths:
        raise PlotError("no tool has anything to do", "Give its tools roles", place=f'cutter "{cutter.name}"')
    cloth = next(stroke for stroke in plot.strokes if stroke.role is Role.FABRIC).points
    laid = tuple(as_machine_takes(_laid(path, cutter, cloth), cutter) for path in paths)
    _check_bed(laid, cutter)
    return Toolpaths(plot.title, laid)


def _kept_left(stroke: Stroke) -> Stroke:
    """A closed stroke run so that what is kept lies to its left."""
    if not stroke.closed or (signed_area(stroke.points) > 0) != (stroke.role in _HOLES):
        return stroke
    return replace(stroke, points=stroke.points[::-1])


def _led(strokes: tuple[Stroke, ...], tool: Tool, heading: float) -> Iterator[Toolpath]:
    for stroke in strokes:
        points = _without_repeats(stroke.points, closed=stroke.closed)
        closed = stroke.closed and len(points) > 2
        runs, heading = lead(tool, points, closed=closed, heading=heading)
        for run in runs:
            yield Toolpath(tool.name, run.points, run.bulges, stroke.role, stroke.placement)


def _without_repeats(points: Reals, *, closed: bool) -> Reals:
    kept = np.ones(len(points), dtype=np.bool_)
    kept[1:] = np.abs(np.diff(points, axis=0)).max(axis=1) > _SAME
    if closed and len(points) > 1 and np.abs(points[0] - points[-1]).max() <= _SAME:
        kept[-1] = False
    return points if kept.all() else points[kept]


def _laid(path: Toolpath, cutter: Cutter, cloth: Reals) -> Toolpath:
    """A run in machine axes. Correction is along the machine's axes, so the marker is turned first."""
    return replace(path, points=_on_bed(path.points, cutter, cloth))


def _on_bed(points: Reals, cutter: Cutter, cloth: Reals) -> Reals:
    turned = _turned(points, cutter.turned)
    low = _turned(cloth, cutter.turned).min(axis=0)
    placed: Reals = (turned - low) * cutter.correction + cutter.origin
    return placed


def _turned(points: Reals, quarters_deg: int) -> Reals:
    x, y = points[:, 0], points[:, 1]
    turns = {0: (x, y), 90: (-y, x), 180: (-x, -y), 270: (y, -x)}
    return np.column_stack(turns[quarters_deg % 360])


def as_machine_takes(path: Toolpath, cutter: Cutter) -> Toolpath:
    """A run with arcs where the machine takes them, else with chords."""
    if cutter.arcs:
        points, bulges = fit_arcs(path.points, path.bulges, cutter.tolerance)
    else:
        points = straightened(path.points, path.bulges, min(cutter.tolerance, _finest(path, cutter)))
        bulges = np.zeros(len(points) - 1)
    return replace(path, points=points, bulges=bulges)


def _finest(path: Toolpath, cutter: Cutter) -> float:
    """Chords of the swings of a blade are short against its offset."""
    tool = cutter.tool(path.tool)
    return tool.offset / 50 if tool.kind is ToolKind.DRAG_KNIFE and tool.offset > 0 else cutter.tolerance


def _check_bed(paths: tuple[Toolpath, ...], cutter: Cutter) -> None:
    boxes = np.array([bounds(path.points) for path in paths])
    low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    for axis, word, reach in ((0, "along", cutter.length), (1, "across", cutter.width)):
        if low[axis] < -_SAME or high[axis] > reach + _SAME:
            raise PlotError(
                f"{word} the bed it would work from {low[axis]:.1f} to {high[axis]:.1f} mm, "
                f"and the bed reaches from 0 to {reach:.1f} mm",
                "Lay a marker that fits the bed, turn it in the profile, or move its origin away from the edge",
                place=f'cutter "{cutter.name}"',
            )
