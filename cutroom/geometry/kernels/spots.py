"""Spots: where a piece may stand among those laid, exactly.

All no-fit polygons lie in one *book*: flat arrays, so that a kernel may look up any pair. A pair is stored once for
the outline `a` that stays, the outline `b <= a` that moves, and whether one of them is turned half round against the
other; a common half turn and a change of roles only change the sign of the region.
"""

import numpy as np
from numba import njit, types
from numpy.typing import NDArray

from cutroom.geometry.kernels.edges import beside, boxes_meet, cover, take_out, write_spans
from cutroom.geometry.kernels.loop import bare
from cutroom.geometry.kernels.types import (
    EPSILON,
    PAIR_OF_WHOLES,
    REAL_ROWS,
    REAL_ROWS_OUT,
    REALS,
    REGIONS,
    WHOLE_CUBES,
    WHOLE_ROWS,
    WHOLES,
    WHOLES_OUT,
)

Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]

_BOOK = (WHOLE_CUBES, WHOLES, WHOLES, WHOLE_ROWS, WHOLE_ROWS, REAL_ROWS, WHOLE_ROWS, WHOLES, REAL_ROWS)


@bare(
    types.boolean(types.int64, types.int64, WHOLE_ROWS, WHOLE_ROWS, WHOLES, WHOLES, types.int64),
)
def is_inside(x: int, y: int, points: Wholes, boxes: Wholes, parts: Wholes, part_starts: Wholes, pair: int) -> bool:
    """A point lies inside a no-fit polygon of the book, not on its border. Exact.

    Args:
        x: In the axes of the pair (units).
        y: In the axes of the pair (units).
        points: `(v, 2)`, corners of all convex parts.
        boxes: `(p, 4)`, the box of each part.
        parts: `(pairs + 1,)`, the first part of each pair.
        part_starts: `(p + 1,)`, the first corner of each part.
        pair: Which pair.
    """
    for part in range(parts[pair], parts[pair + 1]):
        if x <= boxes[part, 0] or y <= boxes[part, 1] or x >= boxes[part, 2] or y >= boxes[part, 3]:
            continue
        start, end = part_starts[part], part_starts[part + 1]
        inside, before = True, end - 1
        for row in range(start, end):
            ax, ay = points[before, 0], points[before, 1]
            if (points[row, 0] - ax) * (y - ay) - (points[row, 1] - ay) * (x - ax) <= 0:
                inside = False
                break
            before = row
        if inside:
            return True
    return False


@bare(PAIR_OF_WHOLES(types.int64, types.int64, types.int64, types.int64, WHOLE_CUBES))
def look_up(form: int, sign: int, mover: int, turned: int, table: Wholes) -> tuple[int, int]:
    """The pair in the book for a laid outline and one that moves, and the sign of its region.

    Args:
        form: Outline that is laid.
        sign: 1, or -1 when it is turned half round.
        mover: Outline that moves.
        turned: 1 or -1 likewise.
        table: `(forms, forms, 2)`: the pair of two outlines, the first at least the second, by sign alike or not.
    """
    alike = 0 if sign == turned else 1
    if form >= mover:
        return table[form, mover, alike], sign
    return table[mover, form, alike], -turned


@bare(types.int64(REAL_ROWS, REALS, REAL_ROWS_OUT))
def _keep_within(edge: Reals, window: Reals, spans: Reals) -> int:
    low, high = 0.0, 1.0
    for axis in range(2):
        start, step = edge[0, axis], edge[0, axis + 2] - edge[0, axis]
        least, most = window[axis] - EPSILON, window[axis + 2] + EPSILON
        if abs(step) <= EPSILON:
            if start < least or start > most:
                return 0
        else:
            one, two = (least - start) / step, (most - start) / step
            low, high = max(low, min(one, two)), min(high, max(one, two))
    spans[0, 0], spans[0, 1] = low, high
    return 1 if low <= high else 0


@bare(
    types.int64(
        REAL_ROWS, REAL_ROWS_OUT, types.int64, WHOLE_ROWS, types.int64,
        WHOLES, WHOLES, WHOLE_ROWS, REAL_ROWS, REAL_ROWS_OUT,
    ),
)  # fmt: skip
def _take_out_region(
    edge: Reals,
    spans: Reals,
    left: int,
    regions: Wholes,
    region: int,
    parts: Wholes,
    part_starts: Wholes,
    boxes: Wholes,
    planes: Reals,
    moved: Reals,
) -> int:
    """Take what one laid piece covers out of the spans of an edge; `moved` `(1, 4)` is scratch."""
    pair, sign = regions[region, 0], float(regions[region, 1])
    x, y = float(regions[region, 2]), float(regions[region, 3])
    moved[0, 0], moved[0, 1] = sign * (edge[0, 0] - x), sign * (edge[0, 1] - y)
    moved[0, 2], moved[0, 3] = sign * (edge[0, 2] - x), sign * (edge[0, 3] - y)
    for part in range(parts[pair], parts[pair + 1]):
        if beside(moved, 0, boxes, part):
            continue
        low, high = cover(
            moved[0, 0], moved[0, 1], moved[0, 2], moved[0, 3], planes, part_starts[part], part_starts[part + 1], False
        )
        left = take_out(spans, left, low, high)
        if left == 0 or left + 1 >= len(spans):
            return left
    return left


@njit(
    REGIONS(WHOLE_ROWS, types.int64, types.int64, types.int64, WHOLE_CUBES, WHOLE_ROWS),
    cache=True,
    nogil=True,
)
def find_regions(
    laid: Wholes, laid_count: int, mover: int, turned: int, table: Wholes, pair_boxes: Wholes
) -> tuple[Wholes, Wholes]:
    """The no-fit region that each laid piece keeps an outline out of; arguments as in `free_edges`.

    Returns:
        `(k, 4)`, pair, sign, x and y of each; and `(k, 4)`, their boxes where they lie (units).
    """
    regions, around = np.zeros((laid_count, 4), dtype=np.int64), np.zeros((laid_count, 4), dtype=np.int64)
    for piece in range(laid_count):
        pair, sign = look_up(laid[piece, 0], laid[piece, 1], mover, turned, table)
        x, y = laid[piece, 2], laid[piece, 3]
        regions[piece, 0], regions[piece, 1], regions[piece, 2], regions[piece, 3] = pair, sign, x, y
        low, high = (0, 2) if sign > 0 else (2, 0)
        around[piece, 0], around[piece, 1] = x + sign * pair_boxes[pair, low], y + sign * pair_boxes[pair, low + 1]
        around[piece, 2], around[piece, 3] = x + sign * pair_boxes[pair, high], y + sign * pair_boxes[pair, high + 1]
    return regions, around


@njit(
    types.int64(
        REAL_ROWS, types.int64, types.int64, WHOLE_ROWS, types.int64, types.int64, types.int64, REALS, *_BOOK,
        REAL_ROWS_OUT,
    ),
    cache=True,
    nogil=True,
)  # fmt: skip
def free_edges(
    edges: Reals,
    count: int,
    seen: int,
    laid: Wholes,
    laid_count: int,
    mover: int,
    turned: int,
    window: Reals,
    table: Wholes,
    parts: Wholes,
    part_starts: Wholes,
    points: Wholes,  # noqa: ARG001 - the book is passed whole
    boxes: Wholes,
    planes: Reals,
    pair_boxes: Wholes,
    border_starts: Wholes,
    borders: Reals,
    out: Reals,
) -> int:
    """The border of the region where an outline may stand, brought up to date with the pieces laid since.

    Args:
        edges: `(n, 4)`, the border as it was, x0 y0 x1 y1 (units); at first the sides of the window.
        count: Rows of `edges` in use.
        seen: Pieces laid that `edges` knows of.
        laid: `(k, 4)`, outline, sign, x and y of each piece laid (units).
        laid_count: Rows of `laid` in use.
        mover: Outline that is to be laid.
        turned: 1, or -1 when it is turned half round.
        window: `(4,)`, least x, least y, greatest x, greatest y that it may stand at (units).
        table: With the next eight, the book of no-fit polygons; see `look_up` and `is_inside`.
        parts: First part of each pair.
        part_starts: First corner of each part.
        points: Corners.
        boxes: Box of each part.
        planes: Half-planes, row by row with the corners.
        pair_boxes: Box of each pair.
        border_starts: First border edge of each pair.
        borders: `(e, 4)`, border edges.
        out: `(m, 4)`, is written: the new border.

    Returns:
        Rows of `out` in use, or -1 when it is too short.
    """
    spans, edge, moved, made = np.zeros((256, 2)), np.zeros((1, 4)), np.zeros((1, 4)), 0
    regions, around = find_regions(laid, laid_count, mover, turned, table, pair_boxes)
    near = np.zeros(laid_count, dtype=np.int64)
    for source in range(seen - 1, laid_count):
        old = source < seen
        pair = 0 if old else regions[source, 0]
        first, last = (0, count) if old else (border_starts[pair], border_starts[pair + 1])
        nears = 0
        for other in range(seen if old else 0, laid_count):
            if other != source and (old or boxes_meet(around, source, other)):
                near[nears] = other
                nears += 1
        for row in range(first, last):
            spans[0, 0], spans[0, 1], left = 0.0, 1.0, 1
            if old:
                for column in range(4):
                    edge[0, column] = edges[row, column]
            else:
                sign, x, y = float(regions[source, 1]), float(regions[source, 2]), float(regions[source, 3])
                edge[0, 0], edge[0, 1] = sign * borders[row, 0] + x, sign * borders[row, 1] + y
                edge[0, 2], edge[0, 3] = sign * borders[row, 2] + x, sign * borders[row, 3] + y
                left = _keep_within(edge, window, spans)
            for place in range(nears):
                if left == 0:
                    break
                if not beside(edge, 0, around, near[place]):
                    left = _take_out_region(
                        edge, spans, left, regions, near[place], parts, part_starts, boxes, planes, moved
                    )
                if left + 1 >= len(spans):  # an edge this broken: go on with more room
                    more = np.zeros((2 * len(spans), 2))
                    for span in range(left):  # a loop, for an assignment between slices takes seconds to compile
                        more[span, 0], more[span, 1] = spans[span, 0], spans[span, 1]
                    spans = more
            made = write_spans(edge, 0, spans, left, out, made)
            if made < 0:
                return -1
    return made


@bare(
    types.boolean(
        types.int64, types.int64, WHOLE_ROWS, types.int64, types.int64, types.int64,
        WHOLE_CUBES, WHOLES, WHOLES, WHOLE_ROWS, WHOLE_ROWS, WHOLE_ROWS,
    ),
)  # fmt: skip
def is_free(
    x: int,
    y: int,
    laid: Wholes,
    laid_count: int,
    mover: int,
    turned: int,
    table: Wholes,
    parts: Wholes,
    part_starts: Wholes,
    points: Wholes,
    boxes: Wholes,
    pair_boxes: Wholes,
) -> bool:
    """An outline may stand at a point beside all pieces laid. Exact; arguments as in `free_edges`."""
    for piece in range(laid_count):
        pair, sign = look_up(laid[piece, 0], laid[piece, 1], mover, turned, table)
        at_x, at_y = sign * (x - laid[piece, 2]), sign * (y - laid[piece, 3])
        box = pair_boxes[pair]
        near = box[0] < at_x < box[2] and box[1] < at_y < box[3]
        if near and is_inside(at_x, at_y, points, boxes, parts, part_starts, pair):
            return False
    return True


@njit(
    types.boolean(
        REAL_ROWS, types.int64, REALS, REALS, WHOLE_ROWS, types.int64, types.int64, types.int64,
        *_BOOK[:7], WHOLES_OUT,
    ),
    cache=True,
    nogil=True,
)  # fmt: skip
def best_spot(
    edges: Reals,
    count: int,
    weights: Reals,
    window: Reals,
    laid: Wholes,
    laid_count: int,
    mover: int,
    turned: int,
    table: Wholes,
    parts: Wholes,
    part_starts: Wholes,
    points: Wholes,
    boxes: Wholes,
    planes: Reals,  # noqa: ARG001 - the book is passed whole
    pair_boxes: Wholes,
    spot: Wholes,
) -> bool:
    """The best whole spot at a corner of the region where an outline may stand.

    Args:
        edges: `(n, 4)`, the region's border, as `free_edges` leaves it.
        count: Rows of `edges` in use.
        weights: `(2,)`, the score of a point is `weights @ point`; the least is the best.
        window: As in `free_edges`.
        laid: As in `free_edges`, likewise all to `pair_boxes`.
        laid_count: Rows of `laid` in use.
        mover: Outline that is to be laid.
        turned: 1, or -1 when it is turned half round.
        table: Pairs.
        parts: First part of each pair.
        part_starts: First corner of each part.
        points: Corners.
        boxes: Box of each part.
        planes: Half-planes.
        pair_boxes: Box of each pair.
        spot: `(2,)`, is written: x and y (units).

    Returns:
        Whether there is one.
    """
    scores = np.zeros(2 * count)
    for corner in range(2 * count):
        row, at = corner // 2, 2 * (corner % 2)
        scores[corner] = weights[0] * edges[row, at] + weights[1] * edges[row, at + 1]
    for _ in range(2 * count):
        corner = int(np.argmin(scores))
        if scores[corner] == np.inf:
            break
        scores[corner] = np.inf
        row, at = corner // 2, 2 * (corner % 2)
        x, y = edges[row, at], edges[row, at + 1]
        for ring in range(2):
            best = np.inf
            for i in range(int(np.floor(x + 0.05)) - ring, int(np.ceil(x - 0.05)) + ring + 1):
                for j in range(int(np.floor(y + 0.05)) - ring, int(np.ceil(y - 0.05)) + ring + 1):
                    score = weights[0] * i + weights[1] * j
                    if (
                        score < best
                        and window[0] <= i <= window[2]
                        and window[1] <= j <= window[3]
                        and is_free(
                            i, j, laid, laid_count, mover, turned,
                            table, parts, part_starts, points, boxes, pair_boxes,
                        )
                    ):  # fmt: skip
                        best = score
                        spot[0], spot[1] = i, j
            if best < np.inf:
                return True
    return False
