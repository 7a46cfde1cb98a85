"""From a drawing to the runs of a cutter: each tool's strokes in its order, led so that the tool leaves them."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.errors import PlotError
from cutroom.geometry.arcs import fit_arcs, straightened
from cutroom.geometry.polygon import signed_area
from cutroom.model.cutter import Cutter, Tool, ToolKind
from cutroom.model.plot import Plot, Role, Stroke
from cutroom.model.toolpath import Toolpath, Toolpaths
from cutroom.plot.compensate import lead
from cutroom.plot.cut_order import CutRules, cut_order
from cutroom.plot.shared import Once, cut_once

Reals = NDArray[np.float64]

BLADE_DEG = 0.0
"""Where the blade of a drag knife must point when a program starts: along x of the bed."""
_HOLES = {Role.CUTOUT, Role.DRILL}
_SAME = 1e-6  # points this near (mm) are one
_BESIDE = 0.01  # what runs half a kerf off a piece may be so much nearer (mm) by rounding


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
    runs: list[_Run] = []
    at = (0.0, 0.0)
    pieces = [stroke.points for stroke in plot.strokes if stroke.role is Role.CUT and stroke.closed]
    for tool in cutter.tools:
        strokes = [_kept_left(stroke) for stroke in plot.strokes if stroke.role in tool.roles]
        ordered = cut_order(strokes, start=at, rules=rules)
        once = cut_once(ordered, tool) if cutter.shared_once else Once(ordered, frozenset())
        led = list(_led(once, tool, math.radians(BLADE_DEG - cutter.turned)))
        runs.extend(_through_waste(led, tool, pieces) if tool.kind is ToolKind.LASER and tool.lead > 0 else led)
        if runs:
            at = (float(runs[-1].points[-1, 0]), float(runs[-1].points[-1, 1]))
    if not runs:
        raise PlotError("no tool has anything to do", "Give its tools roles", place=f'cutter "{cutter.name}"')
    cloth = next(stroke for stroke in plot.strokes if stroke.role is Role.FABRIC and stroke.closed).points
    laid = _on_bed(np.concatenate([run.points for run in runs]), cutter, cloth)
    _check_bed(laid, cutter)
    return Toolpaths(plot.title, tuple(_as_machine_takes(runs, laid, cutter)))


@dataclass(frozen=True, slots=True, eq=False)
class _Run:
    """A run in marker axes; its bulges are None when it is all straight; its first bit may be a way in."""

    tool: Tool
    points: Reals
    bulges: Reals | None
    stroke: Stroke
    way_in: bool = False


def _kept_left(stroke: Stroke) -> Stroke:
    """A closed stroke run so that what is kept lies to its left."""
    if not stroke.closed or (signed_area(stroke.points) > 0) != (stroke.role in _HOLES):
        return stroke
    return replace(stroke, points=stroke.points[::-1])


def _led(once: Once, tool: Tool, heading: float) -> Iterator[_Run]:
    plain = not once.strokes or _without_repeats_at_all(once.strokes)
    for stroke in once.strokes:
        points = stroke.points if plain else _without_repeats(stroke.points, closed=stroke.closed)
        closed = stroke.closed and len(points) > 2
        if not closed and tool.kind in {ToolKind.PEN, ToolKind.LASER}:
            yield _Run(tool, points, None, stroke)
            continue
        bare = stroke.placement in once.bare and stroke.role is Role.CUT
        led, heading = lead(replace(tool, lead=0.0) if bare else tool, points, closed=closed, heading=heading)
        for run in led:
            yield _Run(tool, run.points, run.bulges if run.bulges.any() else None, stroke, closed and not bare)


def _through_waste(runs: Sequence[_Run], tool: Tool, pieces: Sequence[Reals]) -> list[_Run]:
    """The runs of a laser round outlines, with ways in that burn no piece: as long as there is room for, or none.

    Args:
        runs: As they are led; the first bit of a closed one is its way in, unless it has none.
        tool: The laser.
        pieces: The cut lines of all pieces, each `(n, 2)` (mm).
    """
    found = list(runs)
    left = [index for index, run in enumerate(runs) if run.stroke.closed and run.stroke.role is Role.CUT and run.way_in]
    areas = shapely.STRtree([shapely.Polygon(points) for points in pieces])
    for share in (1.0, 0.5, 0.25, 0.0):
        ways = np.array([found[index].points[:2] for index in left]).reshape(-1, 2, 2)
        ways[:, 0] = ways[:, 1] + share * (ways[:, 0] - ways[:, 1])
        burns = np.zeros(len(left), dtype=np.bool_)
        if share:
            beam = max(tool.kerf / 2 - _BESIDE, 0.0)
            steps = ways[:, 0] - ways[:, 1]
            ways[:, 1] += _BESIDE * steps / np.hypot(*steps.T)[:, None]  # it ends on the piece where nothing is burnt
            burns[areas.query(shapely.linestrings(ways), predicate="dwithin", distance=beam)[0]] = True
        for index, begun, burning in zip(left, ways[:, :1], burns.tolist(), strict=True):
            if not burning:
                points = runs[index].points[1:]
                found[index] = replace(runs[index], points=np.vstack([begun, points]) if share else points)
        left = [index for index, burning in zip(left, burns.tolist(), strict=True) if burning]
    return found


def _without_repeats_at_all(strokes: Sequence[Stroke]) -> bool:
    """No stroke has a point that repeats the one before, nor ends where it starts when it is closed anyway."""
    points = np.concatenate([stroke.points for stroke in strokes])
    counts = np.array([len(stroke.points) for stroke in strokes])
    starts = np.cumsum(counts) - counts
    same = np.zeros(len(points), dtype=np.bool_)
    same[1:] = np.abs(np.diff(points, axis=0)).max(axis=1) <= _SAME
    same[starts] = False
    closed = np.array([stroke.closed for stroke in strokes]) & (counts > 1)
    meets = np.abs(points[starts] - points[starts + counts - 1]).max(axis=1) <= _SAME
    return not (same.any() or (closed & meets).any())


def _without_repeats(points: Reals, *, closed: bool) -> Reals:
    kept = np.ones(len(points), dtype=np.bool_)
    kept[1:] = np.abs(np.diff(points, axis=0)).max(axis=1) > _SAME
    if closed and len(points) > 1 and np.abs(points[0] - points[-1]).max() <= _SAME:
        kept[-1] = False
    return points if kept.all() else points[kept]


def _on_bed(points: Reals, cutter: Cutter, cloth: Reals) -> Reals:
    turned = _turned(points, cutter.turned)
    low = _turned(cloth, cutter.turned).min(axis=0)
    placed: Reals = (turned - low) * cutter.correction + cutter.origin
    return placed


def _turned(points: Reals, quarters_deg: int) -> Reals:
    x, y = points[:, 0], points[:, 1]
    turns = {0: (x, y), 90: (-y, x), 180: (-x, -y), 270: (y, -x)}
    return np.column_stack(turns[quarters_deg % 360])


def _as_machine_takes(runs: Sequence[_Run], laid: Reals, cutter: Cutter) -> Iterator[Toolpath]:
    """The runs on the bed, with arcs where the machine takes them, else with chords."""
    ends = np.cumsum([len(run.points) for run in runs])
    bulges = np.zeros(len(laid))
    for run, end in zip(runs, ends.tolist(), strict=True):
        if run.bulges is not None:
            bulges[end - len(run.points) : end - 1] = run.bulges
    if cutter.arcs:
        laid, bulges, ends = fit_arcs(laid, bulges, ends, cutter.tolerance)
        laid = laid.copy()  # owned by numpy, so that runs can be views of it
    for array in (laid, bulges):
        array.flags.writeable = False
    start = 0
    for run, end in zip(runs, ends.tolist(), strict=True):
        points, bends = laid[start:end], bulges[start : max(end - 1, start)]
        if run.bulges is not None and not cutter.arcs:
            points, bends = in_chords(points, bends, run.tool, cutter)
        yield Toolpath(run.tool.name, points, bends, run.stroke.role, run.stroke.placement)
        start = end


def in_chords(points: Reals, bulges: Reals, tool: Tool, cutter: Cutter) -> tuple[Reals, Reals]:
    """A run `(n, 2)` (mm) in straight bits, its bulges all 0; for a blade's swings they are short beside its offset."""
    swings = tool.kind is ToolKind.DRAG_KNIFE and tool.offset > 0
    chords = straightened(points, bulges, min(cutter.tolerance, tool.offset / 50) if swings else cutter.tolerance)
    return chords, np.zeros(len(chords) - 1)


def _check_bed(laid: Reals, cutter: Cutter) -> None:
    low, high = laid.min(axis=0), laid.max(axis=0)
    for axis, word, reach in ((0, "along", cutter.length), (1, "across", cutter.width)):
        if low[axis] < -_SAME or high[axis] > reach + _SAME:
            raise PlotError(
                f"{word} the bed it would work from {low[axis]:.1f} to {high[axis]:.1f} mm, "
                f"and the bed reaches from 0 to {reach:.1f} mm",
                "Lay fewer garments at a time, or turn the marker or move its origin in the profile. Where the "
                f"machine's own program cuts bed after bed, table = '{reach:.0f} mm' keeps pieces off a bed's end",
                place=f'cutter "{cutter.name}"',
            )
