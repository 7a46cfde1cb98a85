"""Guided local search: pieces that overlap are moved until none does, and pairs that keep overlapping weigh more."""

import numpy as np
from numba import njit, types

from cutroom.geometry.kernels.depth import depth
from cutroom.geometry.kernels.loop import bare
from cutroom.geometry.kernels.seek import AT_X, AT_Y, COST, TOUCH, WAY, draw, seek
from cutroom.geometry.kernels.types import (
    GROUND,
    REAL_CUBES_OUT,
    REAL_ROWS,
    REAL_ROWS_OUT,
    REALS,
    SEED,
    SOUGHT,
    SWEPT,
    WHOLES,
    WHOLES_OUT,
    Ground,
    Reals,
    Seed,
    Wholes,
)

ENOUGH = 50.0
"""Units, 0.005 mm: depths in all that are left to the linear programme. Pieces that fill the width but for more than
that come no further apart, unless one of them goes elsewhere."""
FADE = 0.95
"""What the weight of a pair that does not overlap fades by, down to its start."""


@bare(types.float64(types.int64, GROUND, REAL_ROWS, WHOLES, REAL_ROWS_OUT))
def measure(piece: int, ground: Ground, spots: Reals, worn: Wholes, depths: Reals) -> float:
    """Write the depth of a piece in each other to its row and column of `depths` `(n, n)`; their sum (units)."""
    way, total = worn[piece], 0.0
    pairs, signs, boxes, field = ground[0][way], ground[1][way], ground[2][way], ground[4]
    for other in range(len(worn)):
        lies, deep = worn[other], 0.0
        dx, dy = spots[piece, 0] - spots[other, 0], spots[piece, 1] - spots[other, 1]
        if other != piece and boxes[lies, 0] < dx < boxes[lies, 2] and boxes[lies, 1] < dy < boxes[lies, 3]:
            deep = depth(field, pairs[lies], signs[lies] * dx, signs[lies] * dy)
            deep = deep if deep > TOUCH else 0.0
        depths[piece, other], depths[other, piece] = deep, deep
        total += deep
    return total


@njit(
    types.float64(
        types.float64,
        types.int64,
        types.int64,
        REALS,
        WHOLES,
        REAL_ROWS,
        SEED,
        WHOLES,
        GROUND,
        WHOLES,
        WHOLES,
        REAL_ROWS_OUT,
        WHOLES_OUT,
        REAL_ROWS_OUT,
        REAL_ROWS_OUT,
        WHOLES_OUT,
        REAL_CUBES_OUT,
        WHOLES_OUT,
    ),
    cache=True,
    nogil=True,
)
def separate(
    length: float,
    sweeps: int,
    patience: int,
    growth: Reals,
    counts: Wholes,
    starts: Reals,
    seed: Seed,
    halt: Wholes,
    ground: Ground,
    first: Wholes,
    choices: Wholes,
    spots: Reals,
    worn: Wholes,
    weights: Reals,
    best_spots: Reals,
    best_worn: Wholes,
    kept: Reals,
    tally: Wholes,
) -> float:
    """Sweep over the pieces that overlap, each moved to its place of least weighted overlap.

    Args:
        length: Of the strip (units).
        sweeps: At most.
        patience: Sweeps without a new least overlap after which to give up.
        growth: `(2,)`, how many fold the weight of a pair that overlaps grows: the shallowest, the deepest.
        counts: `(3,)`, samples, as `seek` has them.
        starts: `(n + 1, n)`, the weights that pairs start from; in row `n` the sizes of the pieces (units).
        seed: `(1,)`.
        halt: `(1,)`; once it is not 0, from another thread, the search ends.
        ground: See `types.GROUND`.
        first: See `types.BOARD`.
        choices: See `types.BOARD`.
        spots: `(n, 2)`, x and y (units); is changed.
        worn: `(n,)`; is changed.
        weights: `(n, n)`; is changed.
        best_spots: `(n, 2)`, is written: where the pieces lay when they overlapped least.
        best_worn: `(n,)`, likewise.
        kept: See `types.BOARD`; is changed.
        tally: `(3,)`, is added to; see `types.SCRATCH`.

    Returns:
        The least overlap, the sum of all depths (units); the search ends at ENOUGH.
    """
    count = len(worn)
    depths, place, order = np.zeros((count, count)), np.zeros(4), np.zeros(count, dtype=np.int64)
    most = 1
    for piece in range(count):
        most = max(most, first[piece + 1] - first[piece])
    rows, fences = np.zeros((count + 4, 4)), np.zeros((most, 4, count))
    words = np.zeros((count + 7) // 8, dtype=np.uint64)
    scratch = (rows, fences, np.zeros(len(ground[0]), dtype=np.int64), words.view(np.bool_)[:count], words, tally)
    for piece in range(count):
        measure(piece, ground, spots, worn, depths)
    best, stale = np.inf, 0
    for sweep in range(sweeps):
        total, deepest = 0.0, 0.0
        for piece in range(count):
            for other in range(piece):
                total += depths[piece, other]
                deepest = max(deepest, depths[piece, other])
        if total < best:
            stale = 0 if total < 0.98 * best else stale + 1
            best = total
            for piece in range(count):
                best_spots[piece, 0], best_spots[piece, 1], best_worn[piece] = (
                    spots[piece, 0],
                    spots[piece, 1],
                    worn[piece],
                )
        else:
            stale += 1
        if total <= ENOUGH or stale > patience:
            break
        if sweep > 0:
            for piece in range(count):
                for other in range(piece):
                    deep = depths[piece, other]
                    if deep > 0.0:
                        weight = weights[piece, other] * (growth[0] + (growth[1] - growth[0]) * deep / deepest)
                    else:
                        weight = max(starts[piece, other], weights[piece, other] * FADE)
                    weights[piece, other], weights[other, piece] = weight, weight
        tally[SWEPT] += 1
        waiting = 0
        for piece in range(count):
            if first[piece + 1] > first[piece]:
                for other in range(count):
                    if depths[piece, other] > 0.0:
                        order[waiting] = piece
                        waiting += 1
                        break
        for turn in range(waiting):
            swap = turn + draw(seed, waiting - turn)
            piece = order[swap]
            order[swap] = order[turn]
            cost = 0.0
            for other in range(count):
                cost += weights[piece, other] * depths[piece, other]
            if cost <= 0.0:
                continue
            tally[SOUGHT] += 1
            if halt[0] != 0:
                return float(best)
            place[COST], place[AT_X], place[AT_Y], place[WAY] = cost, spots[piece, 0], spots[piece, 1], worn[piece]
            board = (spots, worn, weights, first, choices, scratch, kept)
            seek(piece, length, starts[count, piece], counts, seed, ground, board, place)
            if place[COST] < cost:
                spots[piece, 0], spots[piece, 1], worn[piece] = place[AT_X], place[AT_Y], int(place[WAY])
                measure(piece, ground, spots, worn, depths)
    return float(best)
