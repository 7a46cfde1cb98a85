"""The way in of a beam must lie in the waste: one that comes through a piece burns it, whatever the outline is like."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.model.cutter import Cutter, ToolKind
from cutroom.model.finding import Finding
from cutroom.model.marker import Marker
from cutroom.model.plot import Role
from cutroom.proof.expected import turned
from cutroom.proof.lines import Array, Lines
from cutroom.proof.runs import Run
from cutroom.proof.undo import JOIN, Left
from cutroom.proof.words import name_of, stop

_DEEP = 0.05
"""What is burnt of a piece by less than this (mm) is within what an edge may be off."""


def burnt_on_the_way(runs: Sequence[Run], left: Left, wanted: Lines, cutter: Cutter, marker: Marker) -> list[Finding]:
    """Pieces that are burnt by the way in of a closed run.

    Args:
        runs: The runs of the file, machine axes.
        left: What they leave, each run by itself.
        wanted: What the marker wants.
        cutter: The machine.
        marker: The marker.
    """
    half = {tool.name: tool.kerf / 2 for tool in cutter.tools if tool.kind is ToolKind.LASER and tool.lead > 0}
    burns = np.array([name in half for name, _ in left.lines.looks])[left.lines.look]
    led = np.flatnonzero(left.lines.closed & burns)
    if not len(led):
        return []
    begun = _on_the_marker(np.array([runs[number].points[0] for number in left.runs[led].tolist()]), cutter, marker)
    joins = left.ways.points[left.ways.starts[led]]
    rings = shapely.linearrings(
        left.ways.some(led).points, indices=np.repeat(np.arange(len(led)), left.ways.counts[led])
    )
    within_hole = ~shapely.is_ccw(rings) & shapely.contains_xy(shapely.polygons(rings), begun)
    some = (np.hypot(*(begun - joins).T) > JOIN) & ~within_hole
    led, ways = led[some], shapely.linestrings(np.stack((begun, joins), axis=1)[some])
    outlines = wanted.some(np.flatnonzero(wanted.are(Role.CUT)))
    owners = np.repeat(np.arange(len(outlines)), outlines.counts)
    pieces: NDArray[Any] = np.asarray(shapely.polygons(shapely.linearrings(outlines.points, indices=owners)))
    beam = np.array([half.get(name, 0.0) for name, _ in left.lines.looks])[left.lines.look[led]]
    burnt = np.maximum(beam - _DEEP, 0.0)
    found = []
    for number, piece in shapely.STRtree(pieces).query(ways, predicate="dwithin", distance=burnt).T.tolist():
        deep = shapely.length(shapely.intersection(ways[number], shapely.buffer(pieces[piece], burnt[number])))
        if deep > _DEEP:
            what = f"it is burnt {deep:.2f} mm deep by the way in of run {left.runs[led[number]] + 1}"
            found.append(stop(name_of(marker, int(outlines.placement[piece])), what))
    return found


def _on_the_marker(points: Array, cutter: Cutter, marker: Marker) -> Array:
    low = turned(np.array([(0.0, 0.0), (marker.length, marker.width)]), cutter.turned).min(axis=0)
    return turned((points - cutter.origin) / cutter.correction + low, -cutter.turned)
