"""Which half-planes keep pieces apart when all move a little: the rows of the compaction's linear programme."""

import numpy as np
from numba import njit, types

from cutroom.geometry.kernels.depth import depth, way_out
from cutroom.geometry.kernels.loop import bare
from cutroom.geometry.kernels.spots import is_inside
from cutroom.geometry.kernels.types import (
    GROUND,
    REAL_ROWS,
    REAL_ROWS_OUT,
    WHOLE_ROWS,
    WHOLE_ROWS_OUT,
    WHOLES,
    Ground,
    Reals,
    Wholes,
)

_PARTS: types.Type = types.Tuple((WHOLES, WHOLES, WHOLE_ROWS, REAL_ROWS))  # type: ignore[no-untyped-call]


@njit(
    types.int64(types.float64, REAL_ROWS, WHOLES, GROUND, _PARTS, WHOLE_ROWS_OUT, REAL_ROWS_OUT),
    cache=True,
    nogil=True,
)
def write_rows(
    reach: float,
    spots: Reals,
    worn: Wholes,
    ground: Ground,
    parts: tuple[Wholes, Wholes, Wholes, Reals],
    who: Wholes,
    rows: Reals,
) -> int:
    """Half-planes that keep each pair of near pieces out of each other, one for each convex part of their region.

    Args:
        reach: How far (units) a piece may move against another.
        spots: `(n, 2)`, x and y (units).
        worn: `(n,)`, the way each lies.
        ground: See `types.GROUND`.
        parts: Of the book of no-fit polygons (see `spots`): parts, part_starts, boxes and planes.
        who: `(m, 2)`, is written: the two pieces of each row.
        rows: `(m, 3)`, is written: a, b, c with a (x1 - x2) + b (y1 - y2) <= c (units).

    Returns:
        Rows written, or -1 when there is no room.
    """
    first_part, part_starts, part_boxes, planes = parts[0], parts[1], parts[2], parts[3]
    pairs, signs, boxes, field = ground[0], ground[1], ground[2], ground[4]
    made, out = 0, np.zeros(2)
    for one in range(len(worn)):
        for two in range(one):
            way, lies = worn[one], worn[two]
            dx, dy = spots[one, 0] - spots[two, 0], spots[one, 1] - spots[two, 1]
            box = boxes[way, lies]
            if dx <= box[0] - reach or dx >= box[2] + reach or dy <= box[1] - reach or dy >= box[3] + reach:
                continue
            pair, sign = pairs[way, lies], signs[way, lies]
            x, y = sign * dx, sign * dy
            aim_x, aim_y = x, y
            is_boxed = box[0] < dx < box[2] and box[1] < dy < box[3]
            if is_boxed and depth(field, pair, x, y) > 0.0:
                way_out(field, pair, x, y, out)
                aim_x, aim_y = x + out[0], y + out[1]
            for part in range(first_part[pair], first_part[pair + 1]):
                if (
                    x <= part_boxes[part, 0] - reach
                    or y <= part_boxes[part, 1] - reach
                    or x >= part_boxes[part, 2] + reach
                    or y >= part_boxes[part, 3] + reach
                ):
                    continue
                best, chosen = np.inf, -1
                for row in range(part_starts[part], part_starts[part + 1]):
                    inside = planes[row, 0] * aim_x + planes[row, 1] * aim_y - planes[row, 2]
                    if inside < best:
                        best, chosen = inside, row
                if planes[chosen, 0] * x + planes[chosen, 1] * y - planes[chosen, 2] < -1.5 * reach:
                    continue
                if made == len(who):
                    return -1
                who[made, 0], who[made, 1] = one, two
                rows[made, 0], rows[made, 1] = sign * planes[chosen, 0], sign * planes[chosen, 1]
                rows[made, 2] = planes[chosen, 2]
                made += 1
    return made


@bare(types.int64(WHOLE_ROWS, WHOLES, GROUND, WHOLES, WHOLES, WHOLE_ROWS, WHOLE_ROWS))
def first_overlap(
    spots: Wholes,
    worn: Wholes,
    ground: Ground,
    first_part: Wholes,
    part_starts: Wholes,
    points: Wholes,
    part_boxes: Wholes,
) -> int:
    """The first piece that overlaps one before it, or -1. Exact, on whole units; arguments as in `write_rows`."""
    pairs, signs, boxes = ground[0], ground[1], ground[2]
    for one in range(len(worn)):
        for two in range(one):
            way, lies = worn[one], worn[two]
            dx, dy = spots[one, 0] - spots[two, 0], spots[one, 1] - spots[two, 1]
            box = boxes[way, lies]
            if dx <= box[0] or dx >= box[2] or dy <= box[1] or dy >= box[3]:
                continue
            pair, sign = pairs[way, lies], int(signs[way, lies])
            if is_inside(sign * dx, sign * dy, points, part_boxes, first_part, part_starts, pair):
                return one
    return -1
