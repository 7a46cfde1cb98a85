"""No-fit polygons: where the reference point of one outline may not stand beside another.

Interiors of two outlines meet exactly where the interiors of a part of one and a part of the other meet, so the union
of the sums of convex parts, each without its border, is the whole no-fit region: exact, and without a general union.
Its border is what is left of the parts' edges once every part has covered what lies inside it.
"""

import numpy as np
from numba import njit, types
from numpy.typing import NDArray

from cutroom.geometry.kernels.convex import sum_convex
from cutroom.geometry.kernels.types import (
    EPSILON,
    PAIR_OF_REALS,
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


@njit(types.void(WHOLE_ROWS, types.int64, types.int64, REAL_ROWS_OUT), cache=True, nogil=True)
def write_planes(points: Wholes, start: int, end: int, planes: Reals) -> None:
    """The edges of a convex counter-clockwise outline as half-planes.

    Args:
        points: `(n, 2)`, whole units; rows `start` to `end` are the outline.
        start: First row.
        end: Row after the last.
        planes: `(n, 3)`, is written in the same rows: unit inward normal and offset, `a x + b y - c` is the depth.
    """
    for row in range(start, end):
        after = row + 1 if row + 1 < end else start
        along, across = float(points[after, 0] - points[row, 0]), float(points[after, 1] - points[row, 1])
        size = np.sqrt(along * along + across * across)
        planes[row, 0], planes[row, 1] = -across / size, along / size
        planes[row, 2] = planes[row, 0] * points[row, 0] + planes[row, 1] * points[row, 1]


@njit(
    PAIR_OF_REALS(
        types.float64, types.float64, types.float64, types.float64, REAL_ROWS, types.int64, types.int64, types.boolean
    ),
    cache=True,
    nogil=True,
)
def cover(
    x0: float, y0: float, x1: float, y1: float, planes: Reals, start: int, end: int, shared: bool
) -> tuple[float, float]:
    """Which share of an edge lies inside a convex outline.

    Args:
        x0: Start of the edge (units).
        y0: Start of the edge (units).
        x1: End of the edge (units).
        y1: End of the edge (units).
        planes: `(n, 3)`, as `write_planes` leaves them; rows `start` to `end` are the outline.
        start: First row.
        end: Row after the last.
        shared: An edge along one of the outline's edges, with its inside on the same side, counts as inside.

    Returns:
        From and to, as shares of the edge; to <= from when none of it lies deeper than EPSILON.
    """
    low, high = 0.0, 1.0
    for row in range(start, end):
        a, b, c = planes[row, 0], planes[row, 1], planes[row, 2]
        first, last = a * x0 + b * y0 - c, a * x1 + b * y1 - c
        if first <= EPSILON:
            if last <= EPSILON:
                along = (x1 - x0) * b - (y1 - y0) * a > 0
                if shared and along and first >= -EPSILON and last >= -EPSILON:
                    continue
                return 1.0, 0.0
            low = max(low, (EPSILON - first) / (last - first))
        elif last <= EPSILON:
            high = min(high, (first - EPSILON) / (first - last))
        if high <= low:
            return 1.0, 0.0
    return low, high


@njit(types.int64(REAL_ROWS_OUT, types.int64, types.float64, types.float64), cache=True, nogil=True)
def take_out(spans: Reals, count: int, low: float, high: float) -> int:
    """Take a share out of the shares that are left of an edge.

    Args:
        spans: `(k, 2)`, from and to, `count` rows in use; is changed. At least one row must be free.
        count: Rows in use.
        low: From here.
        high: To here; nothing is done when it is not above `low`.

    Returns:
        Rows in use afterwards. Where two covers only touch, a span without length stays.
    """
    if high <= low:
        return count
    row = 0
    while row < count:
        start, end = spans[row, 0], spans[row, 1]
        before, after = start <= low and not (low <= 0.0), end >= high and not (high >= 1.0)
        if end < low or start > high:
            row += 1
        elif before and after:
            spans[row, 1] = low
            spans[count, 0], spans[count, 1] = high, end
            return count + 1
        elif before:
            spans[row, 1] = low
            row += 1
        elif after:
            spans[row, 0] = high
            row += 1
        else:
            count -= 1
            spans[row, 0], spans[row, 1] = spans[count, 0], spans[count, 1]
    return count


@njit(
    types.int64(REAL_ROWS, types.int64, REAL_ROWS, types.int64, REAL_ROWS_OUT, types.int64),
    cache=True,
    nogil=True,
)
def write_spans(edges: Reals, row: int, spans: Reals, count: int, out: Reals, at: int) -> int:
    """Write what is left of an edge, as edges.

    Args:
        edges: `(n, 4)`, x0 y0 x1 y1 (units).
        row: The edge.
        spans: `(k, 2)`, its shares that are left.
        count: Rows of `spans` in use.
        out: `(m, 4)`, is written from row `at`.
        at: First row to write.

    Returns:
        The row after the last written, or -1 when there is no room.
    """
    if at + count > len(out):
        return -1
    x, y, along, across = edges[row, 0], edges[row, 1], edges[row, 2] - edges[row, 0], edges[row, 3] - edges[row, 1]
    for span in range(count):
        low, high = spans[span, 0], spans[span, 1]
        out[at, 0], out[at, 1] = x + low * along, y + low * across
        out[at, 2] = edges[row, 2] if high == 1.0 else x + high * along
        out[at, 3] = edges[row, 3] if high == 1.0 else y + high * across
        at += 1
    return at


@njit(types.void(WHOLE_ROWS, types.int64, types.int64, WHOLES_OUT), cache=True, nogil=True)
def write_box(points: Wholes, start: int, end: int, box: Wholes) -> None:
    """Least x, least y, greatest x and greatest y of rows `start` to `end`, written to `box` `(4,)`."""
    box[0], box[1], box[2], box[3] = points[start, 0], points[start, 1], points[start, 0], points[start, 1]
    for row in range(start + 1, end):
        box[0], box[1] = min(box[0], points[row, 0]), min(box[1], points[row, 1])
        box[2], box[3] = max(box[2], points[row, 0]), max(box[3], points[row, 1])


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


@njit(types.boolean(REAL_ROWS, types.int64, WHOLE_ROWS, types.int64), cache=True, nogil=True)
def beside(edges: Reals, row: int, boxes: Wholes, box: int) -> bool:
    """An edge, a row of `(n, 4)`, lies wholly beside a box, a row of `(m, 4)`."""
    return bool(
        max(edges[row, 0], edges[row, 2]) < boxes[box, 0]
        or min(edges[row, 0], edges[row, 2]) > boxes[box, 2]
        or max(edges[row, 1], edges[row, 3]) < boxes[box, 1]
        or min(edges[row, 1], edges[row, 3]) > boxes[box, 3]
    )


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


@njit(types.float64(WHOLE_ROWS, types.int64, types.int64), cache=True, nogil=True)
def _size(points: Wholes, start: int, end: int) -> float:
    size = 0.0
    for row in range(start + 1, end - 1):
        one = float(points[row, 0] - points[start, 0]) * float(points[row + 1, 1] - points[start, 1])
        size += one - float(points[row, 1] - points[start, 1]) * float(points[row + 1, 0] - points[start, 0])
    return size


@njit(
    POLYGON(WHOLE_ROWS, WHOLES, WHOLE_ROWS, WHOLES),
    cache=True,
    nogil=True,
)
def no_fit(fixed: Wholes, fixed_starts: Wholes, moving: Wholes, moving_starts: Wholes) -> tuple[Wholes, Wholes, Reals]:
    """The no-fit polygon of two outlines given as convex parts.

    Args:
        fixed: `(n, 2)`, whole units: the parts of the outline that stays, one after another, counter-clockwise.
        fixed_starts: `(k + 1,)`, the first row of each part, and the row count.
        moving: `(m, 2)`: the parts of the outline that moves, *turned half round* about its reference point.
        moving_starts: `(l + 1,)`, likewise.

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
    sizes, boxes = np.zeros(pairs), np.zeros((pairs, 4), dtype=np.int64)
    for pair in range(pairs):
        sizes[pair] = _size(sums, starts[pair], starts[pair + 1])
        write_box(sums, starts[pair], starts[pair + 1], boxes[pair])
    kept, keeps, edges = np.zeros(pairs, dtype=np.int64), 0, 0
    border, other, own, spans = np.zeros((room, 4)), np.zeros((room, 4)), np.zeros((room, 4)), np.zeros((pairs + 2, 2))
    for pair in np.argsort(-sizes, kind="mergesort"):
        start, end = starts[pair], starts[pair + 1]
        need = 2 * edges + (end - start) * (keeps + 1)
        if need > len(border):
            grown = np.zeros((2 * need, 4))
            grown[:edges] = border[:edges]
            border, other, own = grown, np.zeros((2 * need, 4)), np.zeros((2 * need, 4))
        news = 0
        for row in range(start, end):
            spans[0, 0], spans[0, 1], count = 0.0, 1.0, 1
            for earlier in range(keeps):
                by = kept[earlier]
                if count == 0:
                    break
                if not beside(lines, row, boxes, by):
                    low, high = cover(
                        lines[row, 0], lines[row, 1], lines[row, 2], lines[row, 3],
                        planes, starts[by], starts[by + 1], True,
                    )  # fmt: skip
                    count = take_out(spans, count, low, high)
            news = write_spans(lines, row, spans, count, own, news)
        left, changed = 0, news > 0
        for row in range(edges):
            spans[0, 0], spans[0, 1], count = 0.0, 1.0, 1
            if not beside(border, row, boxes, pair):
                low, high = cover(
                    border[row, 0], border[row, 1], border[row, 2], border[row, 3], planes, start, end, False
                )
                changed = changed or high > low
                count = take_out(spans, count, low, high)
            left = write_spans(border, row, spans, count, other, left)
        if changed:
            other[left : left + news] = own[:news]
            border, other, edges = other, border, left + news
            kept[keeps], keeps = pair, keeps + 1
    firsts = np.zeros(keeps + 1, dtype=np.int64)
    for place in range(keeps):
        firsts[place + 1] = firsts[place] + starts[kept[place] + 1] - starts[kept[place]]
    points = np.zeros((firsts[keeps], 2), dtype=np.int64)
    for place in range(keeps):
        points[firsts[place] : firsts[place + 1]] = sums[starts[kept[place]] : starts[kept[place] + 1]]
    return points, firsts, border[: drop_slivers(border, edges)].copy()
