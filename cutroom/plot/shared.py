"""Stretches of cut line that touching pieces share, cut once: by whichever of the two is cut first.

What the later piece still needs are open runs, from where the shared stretch ends on round to where it starts. They
reach a little into what is cut already, so that the corner comes free. As long as a piece waits, it must hang on the
cloth or on a piece that waits too: so one that lies all within others is cut before a neighbour nearer to the cloth.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.geometry.polyline import lengths_along
from cutroom.model.cutter import Tool, ToolKind
from cutroom.model.plot import Role, Stroke
from cutroom.plot.compensate import moved_aside
from cutroom.plot.cut_order import quiet_starts

Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]

NEAR = 0.025
"""Lines that lie so near (mm) to one another, run in opposite directions, are one."""
SHORT = 5.0
"""A shorter stretch (mm) is not worth lifting the tool for, and is cut with each piece."""
OVERLAP = 0.5
"""An open run reaches so far (mm) into what is cut already, or as far as the tool's overcut, whichever is more."""
_TURNED = np.cos(np.deg2rad(25.0))  # what runs in opposite directions, at least


@dataclass(frozen=True, slots=True)
class Stretch:
    """From where to where along a closed line (mm) it lies on another; `end` may go on over its start."""

    start: float
    end: float
    other: int


@dataclass(frozen=True, slots=True, eq=False)
class Once:
    """The strokes of a tool with shared lines once.

    Attributes:
        strokes: Outlines that lost a stretch are open runs, the others closed; the rest as it was.
        bare: Placements whose closed outline has no room in the waste for a way in.
    """

    strokes: tuple[Stroke, ...]
    bare: frozenset[int]


def cut_once(strokes: Sequence[Stroke], tool: Tool) -> Once:
    """Leave out what an earlier outline has cut already.

    Args:
        strokes: What the tool cuts, in order, each piece's outline last; outlines counter-clockwise.
        tool: The tool. The open runs of a laser are where its beam goes; all others are where the edge lies.

    Returns:
        The strokes; pieces may have changed places.
    """
    outlines = [stroke for stroke in strokes if _is_outline(stroke)]
    moved = tool.kerf / 2 if tool.kind is ToolKind.LASER else 0.0
    rings = [moved_aside(stroke.points, moved) for stroke in outlines]
    shared = shared_stretches(rings) if rings else []
    if not any(shared):
        return Once(tuple(strokes), frozenset())
    order = hung_on([outline.points for outline in outlines], shared, moved)
    blocks = list(_blocks(strokes))
    turn = np.argsort(order)
    found: list[Stroke] = [stroke for stroke in blocks[0] if stroke.placement != outlines[0].placement]
    bare = set()
    for piece in order:
        outline = outlines[piece]
        found += [one for one in blocks[piece] if one.placement == outline.placement and one is not outline]
        done = [stretch for stretch in shared[piece] if turn[stretch.other] < turn[piece]]
        if done:
            parts = _left_over(rings[piece], done, max(tool.overcut, OVERLAP))
            at = found[-1].points[-1] if found else np.zeros(2)
            for part in _nearest_first(parts, at):
                found.append(Stroke(Role.CUT, part, closed=False, placement=outline.placement))
            continue
        if shared[piece]:
            others = shapely.union_all([shapely.Polygon(outlines[stretch.other].points) for stretch in shared[piece]])
            outline, room = _begun_clear(outline, others)
            if tool.lead > 0 and room < tool.lead + 2 * tool.kerf and outline.placement is not None:
                bare.add(outline.placement)
        found.append(outline)
    return Once(tuple(found), frozenset(bare))


def _is_outline(stroke: Stroke) -> bool:
    return stroke.role is Role.CUT and stroke.placement is not None and stroke.closed


def _blocks(strokes: Sequence[Stroke]) -> Iterator[list[Stroke]]:
    block: list[Stroke] = []
    for stroke in strokes:
        block.append(stroke)
        if _is_outline(stroke):
            yield block
            block = []


def shared_stretches(rings: Sequence[Reals]) -> list[list[Stretch]]:
    """For each closed line (`(n, 2)`, mm, all run the same way) the stretches that lie on another."""
    boxes = shapely.box(*np.array([[*ring.min(axis=0) - NEAR, *ring.max(axis=0) + NEAR] for ring in rings]).T)
    found: list[list[Stretch]] = [[] for _ in rings]
    for one, other in shapely.STRtree(boxes).query(boxes, predicate="intersects").T.tolist():
        if one != other:
            found[one] += [Stretch(start, end, other) for start, end in _on(rings[one], rings[other])]
    return found


def _on(ring: Reals, other: Reals) -> list[tuple[float, float]]:
    """From where to where along a closed line it lies on another."""
    along = lengths_along(np.vstack([ring, ring[:1]]))
    bits, others = _bits_within(ring, other), _bits_within(other, ring)
    if not len(bits) or not len(others):
        return []
    start, way = ring[bits], np.roll(ring, -1, axis=0)[bits] - ring[bits]
    long = np.hypot(way[:, 0], way[:, 1])
    way = way / long[:, None]
    first, last = other[others], np.roll(other, -1, axis=0)[others]
    from_start = [end[None] - start[:, None] for end in (first, last)]
    ahead = [(offset * way[:, None]).sum(axis=2) for offset in from_start]
    aside = [way[:, None, 0] * offset[..., 1] - way[:, None, 1] * offset[..., 0] for offset in from_start]
    opposite = ahead[0] - ahead[1] > _TURNED * np.hypot(*(last - first).T)
    slope = aside[1] - aside[0]
    with np.errstate(divide="ignore", invalid="ignore"):
        near = np.sort([(side - aside[0]) / slope for side in (-NEAR, NEAR)], axis=0)
    level = np.abs(slope) < 1e-12
    beside = np.abs(aside[0]) <= NEAR
    low = np.where(level, np.where(beside, 0.0, 1.0), np.clip(near[0], 0.0, 1.0))
    high = np.where(level, np.where(beside, 1.0, 0.0), np.clip(near[1], 0.0, 1.0))
    starts = np.maximum(ahead[0] + high * (ahead[1] - ahead[0]), 0.0)
    ends = np.minimum(ahead[0] + low * (ahead[1] - ahead[0]), long[:, None])
    rows, columns = np.nonzero(opposite & (high > low) & (ends > starts))
    spans = sorted(zip(along[bits][rows] + starts[rows, columns], along[bits][rows] + ends[rows, columns], strict=True))
    return [
        span
        for span in _joined([(float(a), float(b)) for a, b in spans], float(along[-1]))
        if span[1] - span[0] >= SHORT
    ]


def _bits_within(ring: Reals, other: Reals) -> Wholes:
    """Which bits of a closed line come near the box of another."""
    after = np.roll(ring, -1, axis=0)
    low, high = other.min(axis=0) - NEAR, other.max(axis=0) + NEAR
    within = (np.maximum(ring, after) >= low) & (np.minimum(ring, after) <= high)
    return np.flatnonzero(within.all(axis=1))


def _joined(spans: Sequence[tuple[float, float]], total: float) -> list[tuple[float, float]]:
    """Spans round a closed line, in order, those that meet as one."""
    met: list[tuple[float, float]] = []
    for start, end in spans:
        if met and start - met[-1][1] <= 2 * NEAR:
            met[-1] = (met[-1][0], max(met[-1][1], end))
        else:
            met.append((start, end))
    if len(met) > 1 and met[0][0] <= NEAR and met[-1][1] >= total - NEAR:
        (_, first), (last, _) = met.pop(0), met.pop()
        met.append((last, total + first))
    return met


def hung_on(outlines: Sequence[Reals], shared: Sequence[Sequence[Stretch]], moved: float) -> list[int]:
    """The order changed so that every piece that waits hangs on the cloth, by others that wait.

    Args:
        outlines: `(n, 2)` each, mm, in the order of cutting.
        shared: Which stretches of each lie on which other.
        moved: How far off its outline the tool goes (mm).

    Returns:
        Their numbers in the order. A piece by the cloth may be cut at any time; one with pieces all round it before at
        least one neighbour that is nearer to the cloth, counted in pieces.
    """
    steps = _steps_from_cloth(outlines, shared, moved)
    turn = list(range(len(outlines)))  # of a piece, or of the one before which it is cut
    ahead: list[list[int]] = [[] for _ in outlines]  # what is cut directly before each
    for piece in np.argsort(steps, kind="stable").tolist():
        nearer = [stretch.other for stretch in shared[piece] if steps[stretch.other] < steps[piece]]
        if not nearer:
            continue
        last = max(nearer, key=turn.__getitem__)
        if turn[piece] >= turn[last]:
            turn[piece] = turn[last]
            ahead[last].append(piece)
    moving = {piece for pieces in ahead for piece in pieces}
    order = []
    waiting = [piece for piece in reversed(range(len(outlines))) if piece not in moving]
    while waiting:
        piece = waiting.pop()
        if ahead[piece]:
            waiting += [piece, *reversed(ahead[piece])]
            ahead[piece] = []
        else:
            order.append(piece)
    return order


def _steps_from_cloth(outlines: Sequence[Reals], shared: Sequence[Sequence[Stretch]], moved: float) -> list[int]:
    """How many pieces lie between each and the cloth outside all that it touches; 0 for those that border on it."""
    touching = [piece for piece, stretches in enumerate(shared) if stretches]
    grown = shapely.buffer([shapely.Polygon(outlines[piece]) for piece in touching], moved + NEAR, join_style="mitre")
    together = [part for part in shapely.get_parts(shapely.union_all(grown)) if part.geom_type == "Polygon"]
    borders = shapely.union_all([shapely.LinearRing(part.exterior) for part in together])
    shapely.prepare(borders)
    by_cloth = shapely.length(shapely.intersection(grown, shapely.buffer(borders, 2 * NEAR))) > SHORT
    steps = [0] * len(outlines)
    inner = {piece for piece, outer in zip(touching, by_cloth.tolist(), strict=True) if not outer}
    ring, step = [piece for piece in touching if piece not in inner], 0
    while ring and inner:
        step += 1
        ring = sorted({stretch.other for piece in ring for stretch in shared[piece]} & inner)
        inner.difference_update(ring)
        for piece in ring:
            steps[piece] = step
    return steps


def _left_over(ring: Reals, done: Sequence[Stretch], overlap: float) -> list[Reals]:
    """The open runs of a closed line that remain without some stretches, a little longer at both ends."""
    total = float(lengths_along(np.vstack([ring, ring[:1]]))[-1])
    spans = sorted((stretch.start, stretch.end) for stretch in done)
    spans = _joined(spans, total)
    parts = []
    for before, after in pairwise([*spans, (spans[0][0] + total, spans[0][1] + total)]):
        start, end = before[1], after[0]
        if end - start <= NEAR:
            continue
        start -= min(overlap, (before[1] - before[0]) / 3)
        end += min(overlap, (after[1] - after[0]) / 3)
        parts.append(_between(ring, start, min(end, start + total)))
    return parts


def _between(ring: Reals, start: float, end: float) -> Reals:
    """The part of a closed line from one length along it (mm) to a greater one."""
    twice = np.vstack([ring, ring, ring, ring[:1]])
    along = lengths_along(twice)
    total = along[len(ring)]
    start, end = start % total, start % total + (end - start)
    inner = twice[(along > start + 1e-9) & (along < end - 1e-9)]
    ends = [[np.interp(place, along, twice[:, axis]) for axis in range(2)] for place in (start, end)]
    return np.vstack([ends[:1], inner, ends[1:]])


def _nearest_first(parts: Sequence[Reals], at: Reals) -> Iterator[Reals]:
    left = list(parts)
    while left:
        nearest = min(range(len(left)), key=lambda index: float(np.hypot(*(left[index][0] - at))))
        part = left.pop(nearest)
        yield part
        at = part[-1]


def _begun_clear(outline: Stroke, others: shapely.Geometry) -> tuple[Stroke, float]:
    """An outline begun as far as can be from the pieces it touches, and how far that is (mm)."""
    points, starts = quiet_starts(outline.points)
    room = shapely.distance(shapely.points(points[starts]), others)
    best = int(starts[int(np.argmax(room))])
    return replace(outline, points=np.concatenate([points[best:], points[:best]])), float(room.max())
