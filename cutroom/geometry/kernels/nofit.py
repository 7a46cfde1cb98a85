"""No-fit polygons: where the reference point of one outline may not stand beside another.

Interiors of two outlines meet exactly where the interiors of a part of one and a part of the other meet, so the union
of the sums of convex parts, each without its border, is the whole no-fit region: exact, and without a general union.
Its border is what is left of the parts' edges once every part has covered what lies inside it.
"""

import numpy as np
from numba import njit, types
from numpy.typing import NDArray

from cutroom.geometry.kernels.convex import sum_convex
from cutroom.geometry.kernels.edges import (
    beside,
    boxes_meet,
    cover,
    lies_inside,
    take_out,
    write_box,
    write_planes,
    write_spans,
)
from cutroom.geometry.kernels.loop import bare
from cutroom.geometry.kernels.types import (
    POLYGON,
    REAL_ROWS,
    REAL_ROWS_OUT,
    SLIVER,
    WHOLE_ROWS,
    WHOLE_ROWS_OUT,
    WHOLES,
    WHOLES_OUT,
)

Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]


@njit(types.int64(REAL_ROWS_OUT, types.int64), cache=True, nogil=True)
def drop_slivers(edges: Reals, count: int) -> int:
    """Drop edges of next to no length at the ends of others; one that stands alone is a spot of exact fit and stays.

    Args:
        edges: `(n, 4)`, x0 y0 x1 y1 (units); is changed, and its order too.
        count: Rows in use.

    Returns:
        Rows in use afterwards.
    """
    proper = 0
    for row in range(count):
        if abs(edges[row, 2] - edges[row, 0]) + abs(edges[row, 3] - edges[row, 1]) > SLIVER:
            for column in range(4):
                edges[row, column], edges[proper, column] = edges[proper, column], edges[row, column]
            proper += 1
    kept = proper
    for row in range(proper, count):
        x, y, alone = edges[row, 0], edges[row, 1], True
        for other in range(kept):
            one = abs(edges[other, 0] - x) + abs(edges[other, 1] - y)
            two = abs(edges[other, 2] - x) + abs(edges[other, 3] - y)
            if min(one, two) <= SLIVER:
                alone = False
                break
        if alone:
            for column in range(4):
                edges[kept, column] = edges[row, column]
            kept += 1
    return kept


@njit(
    types.int64(WHOLE_ROWS, WHOLES, WHOLE_ROWS, WHOLES, WHOLE_ROWS_OUT, WHOLES_OUT, REAL_ROWS_OUT, REAL_ROWS_OUT),
    cache=True,
    nogil=True,
)
def _write_sums(
    fixed: Wholes,
    fixed_starts: Wholes,
    moving: Wholes,
    moving_starts: Wholes,
    sums: Wholes,
    starts: Wholes,
    planes: Reals,
    edges: Reals,
) -> int:
    at, pair = 0, 0
    for i in range(len(fixed_starts) - 1):
        for j in range(len(moving_starts) - 1):
            end = sum_convex(
                fixed, fixed_starts[i], fixed_starts[i + 1], moving, moving_starts[j], moving_starts[j + 1], sums, at
            )
            write_planes(sums, at, end, planes)
            for row in range(at, end):
                after = row + 1 if row + 1 < end else at
                edges[row, 0], edges[row, 1] = float(sums[row, 0]), float(sums[row, 1])
                edges[row, 2], edges[row, 3] = float(sums[after, 0]), float(sums[after, 1])
            at, pair = end, pair + 1
            starts[pair] = end
    return at


@bare(types.void(REAL_ROWS, types.int64, types.int64, REAL_ROWS_OUT, types.int64))
def _copy_edges(edges: Reals, start: int, end: int, out: Reals, at: int) -> None:
    # a loop, for an assignment between slices takes seconds to compile
    for row in range(start, end):
        for column in range(4):
            out[at + row - start, column] = edges[row, column]


@njit(
    POLYGON(WHOLE_ROWS, WHOLES, WHOLE_ROWS, WHOLES, WHOLES),
    cache=True,
    nogil=True,
)
def no_fit(
    fixed: Wholes, fixed_starts: Wholes, moving: Wholes, moving_starts: Wholes, order: Wholes
) -> tuple[Wholes, Wholes, Reals]:
    """The no-fit polygon of two outlines given as convex parts.

    Args:
        fixed: `(n, 2)`, whole units: the parts of the outline that stays, one after another, counter-clockwise.
        fixed_starts: `(k + 1,)`, the first row of each part, and the row count.
        moving: `(m, 2)`: the parts of the outline that moves, *turned half round* about its reference point.
        moving_starts: `(l + 1,)`, likewise.
        order: `(k * l,)`, the pairs of parts, `i * l + j`, the largest first: then most of the others are left out.

    Returns:
        Convex parts `(v, 2)` of the region where the moving reference point may not stand, each without its border;
        the first row of each and the row count `(p + 1,)`; and the region's border as loose edges `(e, 4)`, x0 y0 x1
        y1, the region on their left. Parts that the others cover are left out.
    """
    pairs = (len(fixed_starts) - 1) * (len(moving_starts) - 1)
    room = (len(moving_starts) - 1) * len(fixed) + (len(fixed_starts) - 1) * len(moving)
    sums, starts = np.zeros((room, 2), dtype=np.int64), np.zeros(pairs + 1, dtype=np.int64)
    planes, lines = np.zeros((room, 3)), np.zeros((room, 4))
    _write_sums(fixed, fixed_starts, moving, moving_starts, sums, starts, planes, lines)
    sides = np.zeros((3, room))
    for row in range(starts[pairs]):
        sides[0, row], sides[1, row], sides[2, row] = planes[row, 0], planes[row, 1], planes[row, 2]
    boxes = np.zeros((pairs, 4), dtype=np.int64)
    for pair in range(pairs):
        write_box(sums, starts[pair], starts[pair + 1], boxes[pair])
    kept, near, keeps, edges = np.zeros(pairs, dtype=np.int64), np.zeros(pairs, dtype=np.int64), 0, 0
    border, other, own, spans = np.zeros((room, 4)), np.zeros((room, 4)), np.zeros((room, 4)), np.zeros((pairs + 2, 2))
    for pair in order:
        start, end, box = starts[pair], starts[pair + 1], boxes[pair]
        need = 2 * edges + (end - start) * (keeps + 1)
        if need > len(border):
            grown = np.zeros((2 * need, 4))
            _copy_edges(border, 0, edges, grown, 0)
            border, other, own = grown, np.zeros((2 * need, 4)), np.zeros((2 * need, 4))
        nears, news = 0, 0
        for earlier in range(keeps):
            by = kept[earlier]
            if boxes_meet(boxes, pair, by):
                near[nears], nears = by, nears + 1
        covers = -1  # the part that the edge before lies inside: this one often does, too
        for row in range(start, end):
            x0, y0, x1, y1 = lines[row, 0], lines[row, 1], lines[row, 2], lines[row, 3]
            if covers >= 0 and lies_inside(x0, y0, x1, y1, sides, starts[covers], starts[covers + 1]):
                continue
            spans[0, 0], spans[0, 1], count, covers = 0.0, 1.0, 1, -1
            for place in range(nears):
                by = near[place]
                if beside(lines, row, boxes, by):
                    continue
                if lies_inside(x0, y0, x1, y1, sides, starts[by], starts[by + 1]):
                    count, covers = 0, by
                else:
                    low, high = cover(x0, y0, x1, y1, planes, starts[by], starts[by + 1], True)
                    count = take_out(spans, count, low, high)
                if count == 0:
                    break
            news = write_spans(lines, row, spans, count, own, news)
        left, changed = 0, news > 0
        west, south, east, north = float(box[0]), float(box[1]), float(box[2]), float(box[3])
        for row in range(edges):
            x0, y0, x1, y1 = border[row, 0], border[row, 1], border[row, 2], border[row, 3]
            if (
                (x0 < west and x1 < west)
                or (x0 > east and x1 > east)
                or (y0 < south and y1 < south)
                or (y0 > north and y1 > north)
            ):
                other[left, 0], other[left, 1], other[left, 2], other[left, 3] = x0, y0, x1, y1
                left += 1
                continue
            low, high = cover(x0, y0, x1, y1, planes, start, end, False)
            spans[0, 0], spans[0, 1] = 0.0, 1.0
            changed = changed or high > low
            left = write_spans(border, row, spans, take_out(spans, 1, low, high), other, left)
        if changed:
            _copy_edges(own, 0, news, other, left)
            border, other, edges = other, border, left + news
            kept[keeps], keeps = pair, keeps + 1
    firsts = np.zeros(keeps + 1, dtype=np.int64)
    for place in range(keeps):
        firsts[place + 1] = firsts[place] + starts[kept[place] + 1] - starts[kept[place]]
    points = np.zeros((firsts[keeps], 2), dtype=np.int64)
    for place in range(keeps):
        first = starts[kept[place]] - firsts[place]
        for row in range(firsts[place], firsts[place + 1]):
            points[row, 0], points[row, 1] = sums[first + row, 0], sums[first + row, 1]
    return points, firsts, border[: drop_slivers(border, edges)].copy()
