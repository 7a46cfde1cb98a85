"""What a tool leaves when it is led along a run, worked out from what the tool is.

Drag knife: the tip is pulled behind the pivot at a fixed distance d. While the pivot runs s straight on, the angle p
between blade and way shrinks as tan(p/2) = tan(p0/2) exp(-s/d): the tractrix. Laser: it burns half its kerf on either
side; what is kept of a closed run lies to its left. The way in and the overcut are taken off by their lengths.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.model.cutter import Cutter, Tool, ToolKind
from cutroom.model.finding import Finding
from cutroom.model.marker import Marker
from cutroom.proof.expected import turned
from cutroom.proof.lines import Array, Flags, Ints, Lines, Look, lines_of, segments, tidy_all, together
from cutroom.proof.runs import Run, in_one
from cutroom.proof.words import stop

JOIN = 0.02
"""Ends no further apart than this (mm) are one place."""
SWING = np.deg2rad(17.0)
"""A pivot that moves so far off the way its blade points swings the blade round."""
_SPECK = 0.01  # a tip that moves less than this (mm) rests,
_SHAKEN = 0.06  # and less than this while it is swung round: plotter units are coarse against a short blade


@dataclass(frozen=True, slots=True, eq=False)
class Left:
    """What tools leave, marker coordinates.

    Attributes:
        lines: The edges that are kept, of closed runs of a laser; else where the tool goes. Groups are the tools.
        runs: `(k,)`: which run of the file leaves each.
        ways: Where the tip or the middle of the beam goes for each, without the way in and the overcut.
    """

    lines: Lines
    runs: Ints
    ways: Lines


def lines_left(runs: Sequence[Run], cutter: Cutter, marker: Marker) -> tuple[Left, list[Finding]]:
    """What is left by the runs of a file, tool by tool, in marker coordinates.

    Args:
        runs: The runs, machine axes, in their order.
        cutter: The machine.
        marker: The marker, whose cloth lies with its least corner at the machine's origin.
    """
    findings: list[Finding] = []
    every = in_one(runs)
    tools = np.array(every.tools, dtype=object)
    looks = [(tool.name, None) for tool in cutter.tools]
    moved = (every.points - cutter.origin) / cutter.correction  # as it really moves
    led = lines_of(moved, every.counts, every.counts < 0, looks=looks)
    edges, ways, whose = [], [], []
    for code, tool in enumerate(cutter.tools):
        numbers = np.flatnonzero(tools == tool.name)
        some = led.some(numbers)
        if tool.kind is ToolKind.DRAG_KNIFE:
            some = _end_to_end(tips([line.points for line in some], tool.offset), looks)
        elif tool.kind is ToolKind.TANGENTIAL_KNIFE:
            some, numbers = _rejoined(some, numbers)
        some = _without_ends(replace(some, look=np.full(len(some), code)), tool)
        edge = some
        if tool.kind is ToolKind.LASER and tool.kerf > 0:
            edge, kept = _edges(some, tool.kerf / 2)
            what = f"nothing is left inside what the {tool.name} burns"
            findings += [stop(f"run {number + 1}", what) for number in numbers[~kept].tolist()]
            some, numbers = some.some(np.flatnonzero(kept)), numbers[kept]
        edges.append(edge)
        ways.append(some)
        whose.append(numbers)
    low = turned(np.array([(0.0, 0.0), (marker.length, marker.width)]), cutter.turned).min(axis=0)
    laid = [lines.at(turned(lines.points + low, -cutter.turned)) for lines in (together(*edges), together(*ways))]
    points, counts, closed = tidy_all(laid[0].points, laid[0].counts, laid[0].closed)
    tidied = replace(laid[0], points=points, counts=counts, closed=closed)
    return Left(tidied, np.concatenate(whose), laid[1]), findings


def _end_to_end(many: Sequence[Array], looks: Sequence[Look]) -> Lines:
    counts = np.array([len(points) for points in many], dtype=np.int64)
    return lines_of(np.concatenate(many) if many else np.zeros((0, 2)), counts, counts < 0, looks=looks)


def _without_ends(ways: Lines, tool: Tool) -> Lines:
    """Runs without their ways in and their overcuts, closed where they close without them; the others as they are."""
    points, starts = ways.points, ways.starts
    if not len(ways):
        return ways
    near = 4 * JOIN if tool.kind is ToolKind.DRAG_KNIFE else JOIN  # units of HP-GL shake a short blade
    steps = np.zeros(len(points), dtype=np.longdouble)
    steps[1:] = np.hypot(*np.diff(points, axis=0).T)
    steps[starts] = 0.0
    along = np.cumsum(steps)
    lasts = starts + ways.counts - 1
    begin, first, end = starts.copy(), starts + 1, lasts + 1  # kept are the place at begin, and from first to end
    closed = np.zeros(len(ways), dtype=np.bool_)

    def by_begin(lines: Ints, place: Ints) -> Flags:
        beside: Flags = np.abs(points[place] - points[begin[lines]]).max(axis=1) <= 2 * near
        return beside

    led = np.zeros(len(ways), dtype=np.bool_)  # the first bit may be a way in
    if tool.kind is ToolKind.LASER:
        into = steps[np.minimum(starts + 1, lasts)]
        led = (ways.counts > 4) & (into > 0) & (into <= tool.lead + near)
    for lead, may in ((1, led), (0, ways.counts >= 4)):
        some = np.flatnonzero(may & ~closed)
        start, last = starts[some] + lead, lasts[some]
        ends = along[last] - np.minimum(tool.overcut, (along[last] - along[start]) / 3)
        kept = np.clip(np.searchsorted(along, ends - 1e-9, side="left"), start + 1, last)
        share = (ends - along[kept - 1]) / np.where(steps[kept] > 0, steps[kept], 1.0)
        share = np.where(steps[kept] > 0, share, 1.0).astype(np.float64)[:, None]
        reached = points[kept - 1] + (points[kept] - points[kept - 1]) * share
        meets = (kept - start >= 3) & (np.abs(reached - points[start]).max(axis=1) <= near)
        some = some[meets]
        closed[some], begin[some], first[some], end[some] = True, start[meets], start[meets] + 1, kept[meets]
        going = some
        while len(going := going[(end[going] - begin[going] > 4) & by_begin(going, end[going] - 1)]):
            end[going] -= 1  # so that what runs over the start by a rounding does not fold back
        going = some
        while len(going := going[(end[going] - first[going] > 3) & by_begin(going, first[going])]):
            first[going] += 1
    line, place = np.repeat(np.arange(len(ways)), ways.counts), np.arange(len(points))
    keep = (place == begin[line]) | ((place >= first[line]) & (place < end[line]))
    return replace(ways, points=points[keep], counts=1 + end - first, closed=closed)


def _edges(ways: Lines, half: float) -> tuple[Lines, Flags]:
    """What a laser that burns so far (mm) to either side keeps of each closed run; which runs leave anything at all."""
    rings = ways.some(np.flatnonzero(ways.closed))
    points, counts = edges_of(rings, half)
    places = np.flatnonzero(ways.closed)
    leaves = np.ones(len(ways), dtype=np.bool_)
    leaves[places[counts == 0]] = False
    laid = replace(rings, points=points, counts=counts).some(np.flatnonzero(counts))
    lines = together(ways.some(np.flatnonzero(~ways.closed)), laid)
    order = np.argsort(np.concatenate((np.flatnonzero(~ways.closed), places[counts > 0])), kind="stable")
    return lines.some(order), leaves


def edges_of(rings: Lines, half: float) -> tuple[Array, Ints]:
    """What closed runs keep to their left: half a kerf (mm) within an outline, half a kerf round a hole.

    Returns:
        The points of all end to end (`(n, 2)`, mm), and how many each has: none where nothing is left.
    """
    if not len(rings):
        return rings.points, rings.counts
    whose = np.repeat(np.arange(len(rings)), rings.counts)
    whole = shapely.polygons(shapely.linearrings(rings.points, indices=whose))
    distances = np.where(_turns_left(rings), -half, half)
    areas: NDArray[Any] = np.asarray(shapely.buffer(whole, distances, join_style="mitre", mitre_limit=20.0))
    for index in np.flatnonzero(shapely.get_type_id(areas) != shapely.GeometryType.POLYGON).tolist():
        parts = [part for part in shapely.get_parts(areas[index]) if part.geom_type == "Polygon"]
        areas[index] = max(parts, key=lambda part: float(part.area), default=shapely.Polygon())
    points, whose = shapely.get_coordinates(shapely.get_exterior_ring(areas), return_index=True)
    counts = np.bincount(whose, minlength=len(rings))
    last = np.cumsum(counts)[counts > 0] - 1  # the first again
    return np.delete(points, last, axis=0), np.maximum(counts - 1, 0)


def _turns_left(rings: Lines) -> Flags:
    """Which closed lines run counter-clockwise."""
    bits, owners = segments(rings)
    (x, y), (to_x, to_y) = bits[:, 0].T, bits[:, 1].T
    left: Flags = np.bincount(owners, weights=x * to_y - to_x * y, minlength=len(rings)) > 0
    return left


def _rejoined(ways: Lines, numbers: Ints) -> tuple[Lines, Ints]:
    """Runs that begin where the one before ends, put together again: the knife was lifted there only to turn."""
    if not len(ways):
        return ways, numbers
    starts, lasts = ways.starts, ways.starts + ways.counts - 1
    goes_on = np.zeros(len(ways), dtype=np.bool_)
    goes_on[1:] = np.abs(ways.points[starts[1:]] - ways.points[lasts[:-1]]).max(axis=1) <= JOIN
    heads = np.flatnonzero(~goes_on)
    counts = np.add.reduceat(ways.counts - goes_on, heads)
    points = np.delete(ways.points, starts[goes_on], axis=0)
    joined = lines_of(points, counts, counts < 0, looks=ways.looks)
    return joined, numbers[np.append(heads[1:], len(ways)) - 1]


def tips(pivots: Sequence[Array], offset: float, heading: float = 0.0) -> list[Array]:
    """Where the tip of a drag knife goes while its pivot is led along some runs, one after the other.

    Args:
        pivots: Each `(n, 2)`, mm.
        offset: Of the blade (mm).
        heading: Where the blade points before the first (radians).

    Returns:
        Each `(m, 2)`, mm: where the tip is whenever the pivot reaches a corner, resting places once.
    """
    if not pivots:
        return []
    before = np.array([heading, *(_last_heading(way) for way in pivots[:-1])])
    ways: list[Array] = []
    for _ in range(3):  # a run begins with the blade as the one before leaves it, which the first go only supposes
        ways, after = _pulled(pivots, offset, before)
        now = np.concatenate(([heading], after[:-1]))
        if np.abs(np.sin((now - before) / 2)).max() < 1e-6:
            break
        before = now
    many = np.concatenate(ways)
    counts = np.array([len(way) for way in ways])
    steps = np.full(len(many), np.inf)
    steps[1:] = np.abs(np.diff(many, axis=0)).max(axis=1)
    steps[np.cumsum(counts) - counts] = np.inf
    rests = np.minimum.reduceat(steps, np.cumsum(counts) - counts) <= _SPECK
    return [_rested(way) if some else way for way, some in zip(ways, rests.tolist(), strict=True)]


def _last_heading(way: Array) -> float:
    if len(way) < 2:
        return 0.0
    step = way[-1] - way[-2]
    return float(np.arctan2(step[1], step[0]))


def _pulled(pivots: Sequence[Array], offset: float, before: Array) -> tuple[list[Array], Array]:
    """Tips of all runs at once, corner after corner; and where the blade points at the end of each."""
    order = np.argsort([-len(way) for way in pivots], kind="stable")
    lengths = np.array([len(pivots[index]) for index in order])
    longest = int(lengths[0])
    table = np.zeros((longest, len(pivots), 2))
    for place, index in enumerate(order):
        table[: lengths[place], place] = pivots[index]
    heading = before[order].copy()
    traced = np.zeros_like(table)
    swung = np.zeros(table.shape[:2], dtype=np.bool_)  # the pivot goes round the tip, which rests
    traced[0] = table[0] - offset * np.column_stack((np.cos(heading), np.sin(heading)))
    for corner in range(1, longest):
        going = int(np.searchsorted(-lengths, -corner, side="left"))  # runs that have so many corners
        step = table[corner, :going] - table[corner - 1, :going]
        size = np.hypot(step[:, 0], step[:, 1])
        way = np.arctan2(step[:, 1], step[:, 0])
        apart = (heading[:going] - way + np.pi) % (2 * np.pi) - np.pi
        apart = np.clip(apart, -np.pi + 1e-9, np.pi - 1e-9)
        pulled = 2 * np.arctan(np.tan(apart / 2) * np.exp(-size / offset))
        heading[:going] = np.where(size > 0, way + pulled, heading[:going])
        blade = np.column_stack((np.cos(heading[:going]), np.sin(heading[:going])))
        traced[corner, :going] = table[corner, :going] - offset * blade
        moved = np.abs(traced[corner, :going] - traced[corner - 1, :going]).max(axis=1)
        swung[corner, :going] = (np.abs(apart) > SWING) & (moved <= _SHAKEN)
    found: list[Array] = [np.zeros((0, 2))] * len(pivots)
    after = np.zeros(len(pivots))
    for place, index in enumerate(order):
        found[index] = traced[: lengths[place], place][~swung[: lengths[place], place]]
        after[index] = heading[place]
    return found, after


def _rested(way: Array) -> Array:
    """Places of a tip, those left out that lie by the last one that is kept: while it is swung round it only rests."""
    kept, (x, y) = [0], way[0].tolist()
    for place, (to_x, to_y) in enumerate(way.tolist()):
        if abs(to_x - x) > _SPECK or abs(to_y - y) > _SPECK:
            kept.append(place)
            x, y = to_x, to_y
    return way[kept]
