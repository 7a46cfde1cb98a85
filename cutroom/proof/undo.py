"""What a tool leaves when it is led along a run, worked out from what the tool is.

Drag knife: the tip is pulled behind the pivot at a fixed distance d. While the pivot runs s straight on, the angle p
between blade and way shrinks as tan(p/2) = tan(p0/2) exp(-s/d): the tractrix. Laser: it burns half its kerf on either
side; what is kept of a closed run lies to its left. The way in and the overcut are taken off by their lengths.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import accumulate

import numpy as np
import shapely

from cutroom.model.cutter import Cutter, Tool, ToolKind
from cutroom.model.finding import Finding
from cutroom.model.marker import Marker
from cutroom.proof.expected import turned
from cutroom.proof.lines import Array, Line, tidy_all
from cutroom.proof.runs import Run
from cutroom.proof.words import stop

JOIN = 0.02
"""Ends no further apart than this (mm) are one place."""
SWING = np.deg2rad(17.0)
"""A pivot that moves so far off the way its blade points swings the blade round."""
_SPECK = 0.01  # a tip that moves less than this (mm) rests,
_SHAKEN = 0.06  # and less than this while it is swung round: plotter units are coarse against a short blade


@dataclass(frozen=True, slots=True, eq=False)
class Left:
    """A line that a tool leaves, marker coordinates.

    Attributes:
        line: The edge that is kept, of a closed run of a laser; else where the tool goes.
        run: Which run of the file leaves it.
        way: `(n, 2)`, mm: where the tip or the middle of the beam goes, without the way in and the overcut.
    """

    line: Line
    run: int
    way: Array


def lines_left(runs: Sequence[Run], cutter: Cutter, marker: Marker) -> tuple[list[Left], list[Finding]]:
    """What is left by the runs of a file, tool by tool, in marker coordinates.

    Args:
        runs: The runs, machine axes, in their order.
        cutter: The machine.
        marker: The marker, whose cloth lies with its least corner at the machine's origin.
    """
    findings: list[Finding] = []
    ways: list[Array] = []
    edges: list[Array] = []
    looks: list[tuple[bool, str, int]] = []
    for tool in cutter.tools:
        numbers = [number for number, run in enumerate(runs) if run.tool == tool.name]
        points = _apart(
            lambda places: (places - cutter.origin) / cutter.correction,  # as it really moves
            [runs[number].points for number in numbers],
        )
        if tool.kind is ToolKind.DRAG_KNIFE:
            points = tips(points, tool.offset)
        elif tool.kind is ToolKind.TANGENTIAL_KNIFE:
            points, numbers = _rejoined(points, numbers)
        for number, way, may_close in zip(numbers, points, _may_close(points, tool), strict=True):
            way, closed = _without_ends(way, tool) if may_close else (way, False)
            edge: Array | None = way
            if closed and tool.kind is ToolKind.LASER and tool.kerf > 0:
                edge = edge_of(way, tool.kerf / 2)
            if edge is None:
                findings.append(stop(f"run {number + 1}", f"nothing is left inside what the {tool.name} burns"))
                continue
            ways.append(way)
            edges.append(edge)
            looks.append((closed, tool.name, number))
    low = turned(np.array([(0.0, 0.0), (marker.length, marker.width)]), cutter.turned).min(axis=0)

    def to_marker(many: Sequence[Array]) -> list[Array]:
        return _apart(lambda places: turned(places + low, -cutter.turned), many)

    laid = to_marker(edges)
    burnt = iter(to_marker([way for way, edge in zip(ways, edges, strict=True) if way is not edge]))
    led = [line if way is edge else next(burnt) for line, way, edge in zip(laid, ways, edges, strict=True)]
    tidied = tidy_all(laid, [closed for closed, _, _ in looks])
    found = [
        Left(Line(points, closed, name), number, way)
        for (points, closed), (_, name, number), way in zip(tidied, looks, led, strict=True)
    ]
    return found, findings


def _apart(change: Callable[[Array], Array], many: Sequence[Array]) -> list[Array]:
    """Many lines changed all at once."""
    if not many:
        return []
    ends = list(accumulate(map(len, many)))
    changed = change(np.concatenate(many))
    return [changed[start:end] for start, end in zip([0, *ends[:-1]], ends, strict=True)]


def _may_close(ways: Sequence[Array], tool: Tool) -> list[bool]:
    """Whether runs end, but for their overcut, near their start or the point after it: those that do not are open."""
    if not ways:
        return []
    counts = np.array([len(way) for way in ways])
    starts, lasts = np.cumsum(counts) - counts, np.cumsum(counts) - 1
    points = np.concatenate(ways)
    steps = np.zeros(len(points))
    steps[1:] = np.hypot(*np.diff(points, axis=0).T)
    steps[starts] = 0.0
    along = np.cumsum(steps)
    may = np.zeros(len(ways), dtype=np.bool_)
    for first in (starts, np.minimum(starts + 1, lasts)):
        end = along[lasts] - np.minimum(tool.overcut, (along[lasts] - along[first]) / 3)
        place = np.clip(np.searchsorted(along, end), np.minimum(starts + 1, lasts), lasts)
        share = (along[place] - end) / np.maximum(steps[place], 1e-12)
        reached = points[place] - np.clip(share, 0.0, 1.0)[:, None] * (points[place] - points[np.maximum(place - 1, 0)])
        may |= np.abs(reached - points[first]).max(axis=1) <= _near(tool) + 1e-3
    found: list[bool] = (may & (counts > 3)).tolist()
    return found


def _near(tool: Tool) -> float:
    """How near its start a closed run ends at most (mm): units of HP-GL shake a short blade."""
    return 4 * JOIN if tool.kind is ToolKind.DRAG_KNIFE else JOIN


def _without_ends(way: Array, tool: Tool) -> tuple[Array, bool]:
    """A run without its way in and its overcut, and whether it closes without them."""
    if len(way) < 4:
        return way, False
    tries = [way]
    near = _near(tool)
    if tool.kind is ToolKind.LASER and len(way) > 4 and 0 < np.hypot(*(way[1] - way[0])) <= tool.lead + near:
        tries = [way[1:], way]
    for some in tries:
        if len(some) < 4:
            continue
        along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(some, axis=0).T))))
        over = min(tool.overcut, along[-1] / 3)
        kept = int(np.searchsorted(along, along[-1] - over - 1e-9, side="left"))
        if kept < 3:
            continue
        last, before = along[kept] - along[kept - 1], along[-1] - over - along[kept - 1]
        end = some[kept - 1] + (some[kept] - some[kept - 1]) * (before / last if last else 1.0)
        if np.abs(end - some[0]).max() <= near:
            first = 1
            while kept - first > 3 and np.abs(some[kept - 1] - some[0]).max() <= 2 * near:
                kept -= 1  # so that what runs over the start by a rounding does not fold back
            while kept - first > 3 and np.abs(some[first] - some[0]).max() <= 2 * near:
                first += 1
            return np.vstack((some[:1], some[first:kept])), True
    return way, False


def edge_of(ring: Array, half: float) -> Array | None:
    """What a closed run keeps to its left: half a kerf within an outline, half a kerf round a hole."""
    x, y = ring.T
    left = float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) > 0
    area = shapely.Polygon(ring).buffer(-half if left else half, join_style="mitre", mitre_limit=20.0)
    parts = [part for part in shapely.get_parts(area) if part.geom_type == "Polygon" and not part.is_empty]
    if not parts:
        return None
    largest = max(parts, key=lambda part: part.area)
    points: Array = shapely.get_coordinates(largest.exterior)[:-1]
    return points


def _rejoined(points: Sequence[Array], numbers: Sequence[int]) -> tuple[list[Array], list[int]]:
    """Runs that begin where the one before ends, put together again: the knife was lifted there only to turn."""
    joined: list[list[Array]] = []
    whose: list[int] = []
    for way, number in zip(points, numbers, strict=True):
        if joined and np.abs(joined[-1][-1][-1] - way[0]).max() <= JOIN:
            joined[-1].append(way[1:])
            whose[-1] = number
        else:
            joined.append([way])
            whose.append(number)
    return [np.concatenate(parts) for parts in joined], whose


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
    return [_rested(way) for way in ways]


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
    if np.abs(np.diff(way, axis=0)).max(axis=1).min(initial=1.0) > _SPECK:
        return way
    kept, (x, y) = [0], way[0].tolist()
    for place, (to_x, to_y) in enumerate(way.tolist()):
        if abs(to_x - x) > _SPECK or abs(to_y - y) > _SPECK:
            kept.append(place)
            x, y = to_x, to_y
    return way[kept]
