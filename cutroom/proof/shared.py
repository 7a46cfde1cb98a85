"""Outlines put together from what is cut once for two pieces, and stretches that are cut twice all the same.

A piece whose cut line lies in part on its neighbour's has no closed run of its own. Where its edge wants the tool to go
is worked out from the marker; it is cut when all of that lies on the ways of some runs, and the edge it gets is made of
the places on those ways.
"""

from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.model.cutter import Tool, ToolKind
from cutroom.model.finding import Finding
from cutroom.model.marker import Marker
from cutroom.model.plot import Role
from cutroom.proof.lines import NOWHERE, Array, Ints, Lines, Within, lines_of, looped, segments, together
from cutroom.proof.match import match
from cutroom.proof.undo import Left, edges_of
from cutroom.proof.words import name_of, stop

ON = 0.02
"""Ways no further apart than this (mm) are one."""
TWICE = 6.0
"""So much of a line (mm) may be cut twice besides the ends that reach over: less is not worth lifting the tool for."""
OVER = 0.5
"""An end may reach so far (mm) into what is cut, or as far as the tool's overcut, whichever is more."""
GAP = 0.3
"""A line with less than this (mm) not cut is whole: fibres hold no piece by so little."""
SHARP = 30.0
"""Sharper corners (degrees) are cut off outside by the beam's way, which runs out four times its distance at most."""
STEP = 5.0


def put_together(marker: Marker, wanted: Lines, left: Left, tool: Tool, within: Within) -> tuple[Left, list[Finding]]:
    """What is left, with closed outlines instead of the open runs that they are made of.

    Args:
        marker: The marker, for names.
        wanted: The lines that must be there, marker coordinates.
        left: What the tools leave.
        tool: The one that cuts outlines.
        within: How far off the edge may be.

    Returns:
        What is left, and findings: stretches that are not cut, and those that are cut twice.
    """
    half = tool.kerf / 2 if tool.kind is ToolKind.LASER else 0.0
    mine = np.flatnonzero(left.lines.of(tool.name))
    ways = replace(left.ways.some(mine), closed=left.lines.closed[mine])
    outlines = np.flatnonzero(wanted.are(Role.CUT) & (wanted.placement != NOWHERE))
    whole = left.lines.some(mine[ways.closed])
    alone = wanted.some(outlines[[*match(wanted.some(outlines), whole, within).missing]])
    bits = _bits_of(ways)
    findings = _cut_twice(_as_lines(ways), left.runs[mine], tool)
    rings = np.array([_wanted_way(line.points, half) for line in alone], dtype=object)
    parts = _parts_near(rings, bits, within.reach)
    which, ring_of = np.unique(parts.rings, return_inverse=True)
    if not len(which):
        return left, findings
    alone, rings = alone.some(which), rings[which]
    cuts = np.asarray(shapely.multilinestrings(parts.lines, indices=ring_of))
    bare = shapely.difference(rings, shapely.buffer(cuts, 1.02 * within.reach, quad_segs=4))
    if half > 0:
        bare = shapely.difference(bare, [_sharp_corners(line.points, 4 * half + within.reach) for line in alone])
    uncut = shapely.length(bare)
    for index in np.flatnonzero((uncut > GAP) & (uncut < shapely.length(rings) / 2)).tolist():
        x, y = shapely.get_coordinates(bare[index])[0].tolist()
        what = f"{uncut[index]:.1f} mm of its cut line are not cut, from {x:.1f},{y:.1f} mm on"
        findings.append(stop(name_of(marker, int(alone.placement[index])), what))
    beside = shapely.length(
        shapely.intersection(parts.lines, shapely.buffer(rings, within.reach, quad_segs=2)[ring_of])
    )
    runs = _last_runs(ring_of, parts.ways, beside, left.runs[mine])
    led = _places_on(rings, cuts, tool.name)
    edges = edges_of(led, half) if half > 0 else (led.points, led.counts)
    made = np.flatnonzero((uncut <= GAP) & (edges[1] > 0))
    open_ways = np.flatnonzero(~ways.closed & (bits.lengths > 2 * OVER))
    covers = np.asarray(shapely.buffer(rings[made], within.reach + 1e-6))
    spent = open_ways[_uncovered(bits, covers, open_ways) <= GAP]
    kept = np.delete(np.arange(len(left.runs)), mine[spent])
    lines, led = (lines.some(made) for lines in (replace(led, points=edges[0], counts=edges[1]), led))
    return Left(
        together(left.lines.some(kept), lines),
        np.concatenate((left.runs[kept], runs[made])),
        together(left.ways.some(kept), led),
    ), findings


@dataclass(frozen=True, slots=True, eq=False)
class _Bits:
    """Every straight bit of the ways of a tool, way after way.

    Attributes:
        ends: `(m, 2, 2)`, mm.
        ways: `(m,)`: which way each is of.
        shapes: `(m,)`: the same as shapes.
        lengths: Length of each way (mm).
    """

    ends: Array
    ways: Ints
    shapes: NDArray[np.object_]
    lengths: Array


def _bits_of(ways: Lines) -> _Bits:
    ends, owners = segments(ways)
    long = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    ends, owners, long = ends[long > 0], owners[long > 0], long[long > 0]
    shapes = np.asarray(shapely.linestrings(ends), dtype=object)
    return _Bits(ends, owners, shapes, np.bincount(owners, long, len(ways)).astype(np.float64))


@dataclass(frozen=True, slots=True, eq=False)
class _Parts:
    """Stretches of ways that lie by rings: their shapes, and by index the ring and the way of each."""

    lines: NDArray[np.object_]
    rings: Ints
    ways: Ints


def _parts_near(rings: NDArray[np.object_], bits: _Bits, reach: float) -> _Parts:
    """What lies by each ring of the ways that come within reach (mm) of it."""
    ring, bit = shapely.STRtree(bits.shapes).query(rings, predicate="dwithin", distance=1.02 * reach)
    pair = ring * (len(bits.lengths) + 1) + bits.ways[bit]
    near = np.isin(pair, pair[shapely.distance(rings[ring], bits.shapes[bit]) <= reach])
    ring, bit = ring[near], bit[near]
    order = np.lexsort((bit, ring))
    ring, bit = ring[order], bit[order]
    way = bits.ways[bit]
    new = np.ones(len(bit), dtype=np.bool_)
    new[1:] = (np.diff(ring) != 0) | (np.diff(bit) != 1) | (np.diff(way) != 0)
    part = np.cumsum(new) - 1
    last = np.append(np.flatnonzero(new)[1:], len(bit))[: len(np.flatnonzero(new))] - 1
    places = np.insert(bits.ends[bit, 0], last + 1, bits.ends[bit[last], 1], axis=0)
    lines = np.asarray(shapely.linestrings(places, indices=np.insert(part, last + 1, part[last])), dtype=object)
    return _Parts(lines, ring[new], way[new])


def _last_runs(rings: Ints, ways: Ints, beside: Array, runs: Ints) -> Ints:
    """The last of the runs that cut each ring: those that lie on it for longer (mm) than ends reach over."""
    pairs, which = np.unique(np.column_stack((rings, ways)), axis=0, return_inverse=True)
    lengths = np.bincount(which.ravel(), weights=beside)
    longest = np.zeros(int(rings.max()) + 1)
    np.maximum.at(longest, pairs[:, 0], lengths)
    used = lengths >= np.minimum(2 * OVER, longest[pairs[:, 0]])
    last = np.full(len(longest), -1)
    np.maximum.at(last, pairs[used, 0], runs[pairs[used, 1]])
    return last


def _places_on(rings: NDArray[np.object_], cuts: NDArray[np.object_], name: str) -> Lines:
    """Closed lines through the places on what is cut that are nearest to places on each ring."""
    places, whose = shapely.get_coordinates(shapely.segmentize(rings, STEP), return_index=True)
    again = np.append(np.flatnonzero(np.diff(whose)), len(whose) - 1)  # the first again
    places, whose = np.delete(places, again, axis=0), np.delete(whose, again)
    nearest = shapely.get_coordinates(shapely.shortest_line(shapely.points(places), cuts[whose]))[1::2]
    counts = np.bincount(whose, minlength=len(rings))
    return lines_of(nearest, counts, counts > 0, looks=[(name, None)])


def _uncovered(bits: _Bits, covers: NDArray[np.object_], which: Ints) -> Array:
    """How much (mm) of some ways lies in none of some areas."""
    tree = shapely.STRtree(bits.shapes)
    asked = np.isin(bits.ways, which)
    asked[tree.query(covers, predicate="covers")[1]] = False  # most bits lie in one area whole
    area, bit = tree.query(covers, predicate="intersects")
    area, bit = area[asked[bit]], bit[asked[bit]]
    pieces, pair = shapely.get_parts(shapely.intersection(bits.shapes[bit], covers[area]), return_index=True)
    ends, piece = shapely.get_coordinates(pieces, return_index=True)
    start, run = bits.ends[bit, 0][pair[piece]], (bits.ends[bit, 1] - bits.ends[bit, 0])[pair[piece]]
    share = ((ends - start) * run).sum(axis=1) / (run * run).sum(axis=1)
    first = np.flatnonzero(np.diff(piece, prepend=-1))
    low, high = (end.reduceat(share, first) if len(first) else share for end in (np.minimum, np.maximum))
    covered = _together(bit[pair[piece[first]]], low, high, len(bits.ways))
    long = np.hypot(*(bits.ends[:, 1] - bits.ends[:, 0]).T)
    bare = np.bincount(bits.ways, weights=asked * long * (1 - covered), minlength=len(bits.lengths))
    return np.asarray(bare[which], dtype=np.float64)


def _together(whose: Ints, low: Array, high: Array, count: int) -> Array:
    """How much of each of so many bits stretches of it cover together; all are given as shares of it, from 0 to 1."""
    order = np.lexsort((low, whose))
    whose, low, high = whose[order], low[order] + 2 * whose[order], high[order] + 2 * whose[order]
    before = np.maximum(np.append(-1.0, np.maximum.accumulate(high)[:-1]), low) if len(high) else low
    return np.bincount(whose, np.maximum(high - before, 0.0), count).astype(np.float64)


def _as_lines(ways: Lines) -> NDArray[np.object_]:
    """Where the tool itself goes, each a line or a point."""
    whole = map(looped, ways)
    made = [shapely.LineString(points) if len(points) > 1 else shapely.Point(points[0]) for points in whole]
    return np.array(made, dtype=object)


def _wanted_way(outline: Array, half: float) -> shapely.Geometry:
    """Where a tool must go round an outline that burns so far (mm) to either side."""
    if half <= 0:
        return shapely.LinearRing(outline)
    ring = shapely.Polygon(outline).buffer(half, join_style="mitre", mitre_limit=4.0).exterior
    return ring if shapely.is_ccw(ring) else shapely.reverse(ring)


def _sharp_corners(outline: Array, reach: float) -> shapely.Geometry:
    """What lies so near (mm) to corners that are sharper than a way can run out to."""
    before, after = outline - np.roll(outline, 1, axis=0), np.roll(outline, -1, axis=0) - outline
    turn = np.arctan2(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], (before * after).sum(axis=1))
    return shapely.buffer(shapely.MultiPoint(outline[np.abs(turn) > np.deg2rad(180 - SHARP)]), reach)


def _cut_twice(ways: NDArray[np.object_], runs: Ints, tool: Tool) -> list[Finding]:
    """Runs that lie on one another for longer than their ends may reach over."""
    if len(ways) < 2:
        return []
    long = np.flatnonzero(shapely.length(ways) > TWICE)
    tree = shapely.STRtree(ways[long])
    pairs = tree.query(ways[long], predicate="dwithin", distance=ON)
    first, second = long[pairs[:, pairs[0] < pairs[1]]]
    both = shapely.intersection(ways[first], shapely.buffer(ways[second], ON, cap_style="flat"))
    allowed = TWICE + 2 * max(tool.overcut, OVER)
    findings = []
    for pair in np.flatnonzero(shapely.length(both) > allowed):
        x, y = shapely.get_coordinates(both[pair])[0].tolist()
        one, again = sorted((runs[first[pair]] + 1, runs[second[pair]] + 1))
        what = f"{shapely.length(both[pair]):.1f} mm of line from {x:.1f},{y:.1f} mm on are cut by run {one} already"
        findings.append(stop(f"run {again}", f"{what}, and shared lines are to be cut once"))
    return findings
