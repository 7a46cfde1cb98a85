"""Outlines put together from what is cut once for two pieces, and stretches that are cut twice all the same.

A piece whose cut line lies in part on its neighbour's has no closed run of its own. Where its edge wants the tool to go
is worked out from the marker; it is cut when all of that lies on the ways of some runs, and the edge it gets is made of
the places on those ways.
"""

from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.model.cutter import Tool, ToolKind
from cutroom.model.finding import Finding
from cutroom.model.marker import Marker
from cutroom.model.plot import Role
from cutroom.proof.lines import NOWHERE, Array, Flags, Ints, Line, Lines, Within, gather, looped, together
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
    closed = left.lines.closed[mine]
    outlines = np.flatnonzero(wanted.are(Role.CUT) & (wanted.placement != NOWHERE))
    alone = outlines[[*match(wanted.some(outlines), left.lines.some(mine[closed]), within).missing]]
    ways = _ways(left.ways.some(mine), closed)
    findings = _cut_twice(ways, left.runs[mine], tool)
    if not len(alone) or not len(ways):
        return left, findings
    tree = shapely.STRtree(ways)
    made: list[Line] = []
    runs: list[int] = []
    led: list[Line] = []
    rings = []
    for line in wanted.some(alone):
        ring = _wanted_way(line.points, half)
        near = tree.query(ring, predicate="dwithin", distance=within.reach)
        cut = shapely.union_all(ways[near])
        bare = shapely.difference(ring, shapely.buffer(cut, 1.02 * within.reach, quad_segs=4))
        if half > 0:
            bare = shapely.difference(bare, _sharp_corners(line.points, 4 * half + within.reach))
        uncut = float(shapely.length(bare))
        if uncut > GAP:
            if uncut < shapely.length(ring) / 2 and line.placement is not None:
                x, y = shapely.get_coordinates(bare)[0].tolist()
                what = f"{uncut:.1f} mm of its cut line are not cut, from {x:.1f},{y:.1f} mm on"
                findings.append(stop(name_of(marker, line.placement), what))
            continue
        places = shapely.points(shapely.get_coordinates(shapely.segmentize(ring, STEP))[:-1])
        way = Line(shapely.get_coordinates(shapely.shortest_line(places, cut))[1::2], closed=True, group=tool.name)
        edge = edges_of(gather([way]), half)[0] if half > 0 else way.points
        if not len(edge):
            continue
        beside = shapely.buffer(ring, within.reach, quad_segs=2)
        used = [k for k in near if shapely.intersection(ways[k], beside).length > 2 * OVER]
        made.append(replace(way, points=edge))
        runs.append(int(left.runs[mine[used]].max()))
        led.append(way)
        rings.append(ring)
    on_rings = shapely.buffer(shapely.union_all(rings), within.reach + 1e-6) if rings else shapely.Point()
    spent = ~closed & (shapely.length(ways) > 2 * OVER)
    spent[spent] = shapely.length(shapely.difference(ways[spent], on_rings)) <= GAP
    kept = np.delete(np.arange(len(left.runs)), mine[spent])
    lines, new = (together(old.some(kept), gather(more)) for old, more in ((left.lines, made), (left.ways, led)))
    return Left(lines, np.concatenate((left.runs[kept], np.array(runs, dtype=np.int64))), new), findings


def _ways(ways: Lines, closed: Flags) -> NDArray[np.object_]:
    """Where the tool itself goes, each a line or a point."""
    whole = (looped(replace(way, closed=bool(is_closed))) for way, is_closed in zip(ways, closed, strict=True))
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
