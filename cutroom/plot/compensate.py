"""Where a machine must be led so that its tool leaves the wanted line.

Drag knife: the tip trails the pivot by the offset d. Along a straight bit the pivot runs d ahead of the tip; at a
corner it swings round the tip, which stands still, on an arc of radius d. Laser: the beam burns half its kerf away on
either side, so a closed line is followed half a kerf off, in the waste. What is kept lies to the left of a closed run:
outlines are run counter-clockwise, holes clockwise. Tangential knife: it is lifted at a corner, turned and put down.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.arcs import bulge_of
from cutroom.geometry.loops import free_of_loops
from cutroom.geometry.polygon import signed_area
from cutroom.geometry.polyline import lengths_along
from cutroom.model.cutter import Tool, ToolKind

Reals = NDArray[np.float64]

MITRE = 4.0
"""A corner of a line moved aside runs out so many times the distance at most; a sharper one is cut off."""
SMOOTH = math.radians(12.0)
"""Bends up to this are those of a flattened curve: the pivot needs one point for them, not two."""
ALIGNED = math.radians(0.5)
"""A drag knife that stands this close to its line need not be swung round first."""


@dataclass(frozen=True, slots=True, eq=False)
class Led:
    """A run with the tool down: points `(n, 2)` (mm) and bulges `(n - 1,)` between them."""

    points: Reals
    bulges: Reals


def lead(tool: Tool, line: Reals, *, closed: bool, heading: float) -> tuple[list[Led], float]:
    """The runs that leave a line.

    Args:
        tool: The tool.
        line: `(n, 2)`, mm, no two neighbours the same; of a closed line the first point is not repeated, and what is
            kept lies to its left.
        closed: The last point is joined to the first.
        heading: Where the blade points before (radians).

    Returns:
        The runs, and where the blade points after them.
    """
    if tool.kind is ToolKind.LASER and closed:
        return [_straight(laser_run(line, tool))], heading
    run = with_overcut(line, tool.overcut) if closed else line
    if tool.kind is ToolKind.DRAG_KNIFE:
        return drag_run(run, tool, heading)
    if tool.kind is ToolKind.TANGENTIAL_KNIFE:
        return [_straight(part) for part in split_at_corners(run, math.radians(tool.corner_deg))], heading
    return [_straight(run)], heading


def _straight(points: Reals) -> Led:
    return Led(points, np.zeros(max(len(points) - 1, 0)))


def with_overcut(ring: Reals, overcut: float) -> Reals:
    """A closed line as a run that ends so far beyond its start (mm)."""
    run = np.vstack([ring, ring[:1]])
    if overcut <= 0:
        return run
    along = lengths_along(run)
    overcut = min(overcut, float(along[-1]) / 2)
    whole = int(np.searchsorted(along, overcut, side="left"))  # the first point at or beyond it
    share = (overcut - along[whole - 1]) / (along[whole] - along[whole - 1])
    return np.vstack([run, run[1:whole], run[whole - 1] + share * (run[whole] - run[whole - 1])])


def laser_run(ring: Reals, tool: Tool) -> Reals:
    """The run of a beam round a closed line: a way in from the waste, the line half a kerf off, the overcut."""
    moved = moved_aside(ring, tool.kerf / 2)
    run = with_overcut(moved, tool.overcut)
    if tool.lead <= 0:
        return run
    along: Reals = run[1] - run[0]
    waste = np.array([along[1], -along[0]]) / np.hypot(*along)  # to the right
    inside = signed_area(ring) < 0
    room = float(np.ptp(ring, axis=0).min()) / 4 if inside else math.inf
    return np.vstack([run[0] + waste * min(tool.lead, room), run])


def moved_aside(ring: Reals, distance: float) -> Reals:
    """A closed line moved to its right, corners run out to a point.

    Args:
        ring: `(n, 2)`, mm.
        distance: mm, 0 or more.

    Returns:
        `(m, 2)`, begun where `ring` is.
    """
    if distance <= 0:
        return ring
    along: Reals = np.roll(ring, -1, axis=0) - ring
    along /= np.hypot(along[:, 0], along[:, 1])[:, None]
    normals = np.column_stack([along[:, 1], -along[:, 0]])
    before = np.roll(normals, 1, axis=0)
    fold = 1 + (before * normals).sum(axis=1)  # 2 when straight, 0 when it doubles back
    sharp = fold < 2 / MITRE**2
    moved: Reals = ring + distance * (before + normals) / np.maximum(fold, 1e-9)[:, None]
    if sharp.any():
        moved = np.concatenate(
            [
                _cut_off(ring[k], before[k], normals[k], distance) if sharp[k] else moved[k : k + 1]
                for k in range(len(ring))
            ]
        )
    elif ((np.roll(moved, -1, axis=0) - moved) * along).sum(axis=1).min() > 0:
        return moved
    return _untangled(moved, ring)


def _cut_off(corner: Reals, before: Reals, after: Reals, distance: float) -> Reals:
    """A sharp corner moved aside: square across its tip, at the distance the mitre may have."""
    tip = before + after
    out = np.array([before[1], -before[0]]) * -1 if np.hypot(*tip) < 1e-9 else tip / np.hypot(*tip)
    reach = distance * MITRE / 2
    side = np.array([-out[1], out[0]])
    found = []
    for normal in (before, after):
        across = float(normal @ side)
        slide = (distance - reach * float(normal @ out)) / across if abs(across) > 1e-9 else 0.0
        found.append(corner + reach * out + slide * side)
    return np.array(found)


def _untangled(moved: Reals, ring: Reals) -> Reals:
    """What is left when loops are dropped, the same way round and begun as near to the old start as can be."""
    forwards = signed_area(ring) > 0
    clean = free_of_loops(moved if forwards else moved[::-1])
    clean = clean if forwards else clean[::-1]
    begun: Reals = np.roll(clean, -int(np.hypot(*(clean - moved[0]).T).argmin()), axis=0)
    return begun


def drag_run(line: Reals, tool: Tool, heading: float) -> tuple[list[Led], float]:
    """The run of the pivot of a drag knife whose tip is to follow a line (`(n, 2)`, mm), and the blade's heading after.

    The pivot goes down where the blade, as it was left, has its tip on the start of the line; it is swung round there.
    """
    ahead = tool.offset
    steps = np.diff(line, axis=0)
    if ahead <= 0 or not len(steps):
        return [_straight(line)], heading
    headings = np.arctan2(steps[:, 1], steps[:, 0])
    bends = np.diff(np.concatenate([[heading], headings]))
    bends = (bends + np.pi) % (2 * np.pi) - np.pi
    swing = math.radians(tool.corner_deg)
    points: list[Reals] = []
    bulges: list[float] = []

    def go(to: Reals, bulge: float = 0.0) -> None:
        points.append(to)
        bulges.append(bulge)

    units = np.column_stack([np.cos(headings), np.sin(headings)])
    first = float(bends[0])
    if abs(first) > ALIGNED:
        go(line[0] + ahead * np.array([math.cos(heading), math.sin(heading)]))
        go(line[0] + ahead * units[0], bulge_of(first))
    else:
        go(line[0] + ahead * units[0])
    for place in range(1, len(line) - 1):
        bend = float(bends[place])
        if abs(bend) <= min(SMOOTH, swing):
            between = headings[place - 1] + bend / 2
            go(line[place] + ahead * np.array([math.cos(between), math.sin(between)]))
        else:
            go(line[place] + ahead * units[place - 1])
            go(line[place] + ahead * units[place], bulge_of(bend) if abs(bend) > swing else 0.0)
    go(line[-1] + ahead * units[-1])
    return [Led(np.array(points), np.array(bulges[1:]))], float(headings[-1])


def split_at_corners(line: Reals, sharper: float) -> Iterator[Reals]:
    """The parts of a line (`(n, 2)`, mm) between its corners that bend by more than an angle (radians)."""
    steps = np.diff(line, axis=0)
    headings = np.arctan2(steps[:, 1], steps[:, 0])
    bends = np.abs((np.diff(headings) + np.pi) % (2 * np.pi) - np.pi)
    corners = np.flatnonzero(bends > sharper) + 1
    for start, end in zip([0, *corners.tolist()], [*corners.tolist(), len(line) - 1], strict=True):
        yield line[start : end + 1]
