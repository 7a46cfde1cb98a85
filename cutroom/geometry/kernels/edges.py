"""Edges against convex outlines: which share of an edge lies inside, and what is left of it."""

import numpy as np
from numba import types
from numpy.typing import NDArray

from cutroom.geometry.kernels.loop import bare, lesser
from cutroom.geometry.kernels.types import (
    EPSILON,
    PAIR_OF_REALS,
    REAL_ROWS,
    REAL_ROWS_OUT,
    WHOLE_ROWS,
    WHOLES,
    WHOLES_OUT,
)

Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]


@bare(types.void(WHOLE_ROWS, types.int64, types.int64, REAL_ROWS_OUT))
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


@bare(types.void(WHOLE_ROWS, WHOLES, REAL_ROWS_OUT))
def write_all_planes(points: Wholes, starts: Wholes, planes: Reals) -> None:
    """`write_planes` of outlines end to end; `starts` `(k + 1,)` is the first row of each, and the row count."""
    for outline in range(len(starts) - 1):
        write_planes(points, starts[outline], starts[outline + 1], planes)


@bare(
    PAIR_OF_REALS(
        types.float64, types.float64, types.float64, types.float64, REAL_ROWS, types.int64, types.int64, types.boolean
    )
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


@bare(types.boolean(types.float64, types.float64, types.float64, types.float64, REAL_ROWS, types.int64, types.int64))
def lies_inside(x0: float, y0: float, x1: float, y1: float, planes: Reals, start: int, end: int) -> bool:
    """`cover` would find all of an edge inside: told sooner, from the half-planes as columns, `(3, n)`."""
    a, b, c = planes[0, start:end], planes[1, start:end], planes[2, start:end]
    least = np.inf
    for row in range(end - start):  # slices first: plain ranges of columns do not vectorise
        least = lesser(lesser(a[row] * x0 + b[row] * y0 - c[row], a[row] * x1 + b[row] * y1 - c[row]), least)
    return bool(least > EPSILON)


@bare(types.int64(REAL_ROWS_OUT, types.int64, types.float64, types.float64))
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


@bare(types.int64(REAL_ROWS, types.int64, REAL_ROWS, types.int64, REAL_ROWS_OUT, types.int64))
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


@bare(types.void(WHOLE_ROWS, types.int64, types.int64, WHOLES_OUT))
def write_box(points: Wholes, start: int, end: int, box: Wholes) -> None:
    """Least x, least y, greatest x and greatest y of rows `start` to `end`, written to `box` `(4,)`."""
    box[0], box[1], box[2], box[3] = points[start, 0], points[start, 1], points[start, 0], points[start, 1]
    for row in range(start + 1, end):
        box[0], box[1] = min(box[0], points[row, 0]), min(box[1], points[row, 1])
        box[2], box[3] = max(box[2], points[row, 0]), max(box[3], points[row, 1])


@bare(types.boolean(REAL_ROWS, types.int64, WHOLE_ROWS, types.int64))
def beside(edges: Reals, row: int, boxes: Wholes, box: int) -> bool:
    """An edge, a row of `(n, 4)`, lies wholly beside a box, a row of `(m, 4)`."""
    return bool(
        max(edges[row, 0], edges[row, 2]) < boxes[box, 0]
        or min(edges[row, 0], edges[row, 2]) > boxes[box, 2]
        or max(edges[row, 1], edges[row, 3]) < boxes[box, 1]
        or min(edges[row, 1], edges[row, 3]) > boxes[box, 3]
    )


@bare(types.boolean(WHOLE_ROWS, types.int64, types.int64))
def boxes_meet(boxes: Wholes, one: int, two: int) -> bool:
    """Two boxes, rows of `(m, 4)`, meet or touch."""
    apart = boxes[one, 0] > boxes[two, 2] or boxes[two, 0] > boxes[one, 2]
    return not (apart or boxes[one, 1] > boxes[two, 3] or boxes[two, 1] > boxes[one, 3])
