"""The place of least overlap for one piece among others: samples, then steps downhill and jumps to contact."""

import numpy as np
from numba import types

from cutroom.geometry.kernels.depth import SLOPE, X0, Y0, Y1, depth, depth_from, least_depth, way_out
from cutroom.geometry.kernels.loop import bare, first_set, inner
from cutroom.geometry.kernels.types import (
    BOARD,
    FAR,
    GROUND,
    HIGH,
    LEAST_X,
    LOW,
    OUT,
    REAL_ROWS_OUT,
    REALS,
    REALS_OUT,
    REPEAT_X,
    REPEAT_Y,
    SEED,
    START_X,
    START_Y,
    TOLERANCE,
    TRIED,
    WHOLES,
    Board,
    Ground,
    Reals,
    Seed,
    Wholes,
)

TOUCH = 0.5
"""Units. Pieces that overlap no deeper than this count as touching."""
WORTH = 8.0
"""How many fold what a piece costs where it lies a sampled place may cost, to be polished; else where it lies is."""
SAME = 0.05
"""Share of a piece's size within which two places are one."""
COST, AT_X, AT_Y, WAY = range(4)
"""Columns of a place."""
_NONE, _ONE, _EIGHT = np.uint64(0), np.uint64(1), np.uint64(8)
_FIRST, _MIX, _BLEND = np.uint64(0x9E3779B97F4A7C15), np.uint64(0xBF58476D1CE4E5B9), np.uint64(0x94D049BB133111EB)


@inner(types.float64(SEED))
def chance(seed: Seed) -> float:
    """A number from 0 to below 1: splitmix64 (Steele, Lea and Flood 2014, from memory); `seed` `(1,)` moves on."""
    seed[0] += _FIRST
    mixed = seed[0]
    mixed = (mixed ^ (mixed >> np.uint64(30))) * _MIX
    mixed = (mixed ^ (mixed >> np.uint64(27))) * _BLEND
    return float((mixed ^ (mixed >> np.uint64(31))) >> np.uint64(11)) * 2.0**-53


@inner(types.int64(SEED, types.int64))
def draw(seed: Seed, count: int) -> int:
    """A whole number from 0 to below `count`."""
    return int(chance(seed) * count)


@bare(types.void(types.int64, GROUND, BOARD))
def fence(piece: int, ground: Ground, board: Board) -> None:
    """Set up the fences of all ways of a piece among the others as they lie."""
    spots, worn, first, choices = board[0], board[1], board[3], board[4]
    for slot in range(first[piece + 1] - first[piece]):
        way = choices[first[piece] + slot]
        board[5][2][way] = slot
        boxes, fences = ground[2][way], board[5][1][slot]
        for other in range(len(worn)):
            lies = worn[other]
            fences[0, other], fences[1, other] = spots[other, 0] + boxes[lies, 0], spots[other, 0] + boxes[lies, 2]
            fences[2, other], fences[3, other] = spots[other, 1] + boxes[lies, 1], spots[other, 1] + boxes[lies, 3]
        fences[0, piece] = np.inf


@inner(types.void(types.int64, types.float64, types.float64, BOARD))
def _meet(way: int, x: float, y: float, board: Board) -> None:
    """Note which others a piece may overlap at a place, by boxes."""
    fences, met = board[5][1][board[5][2][way]], board[5][3]
    low_x, high_x, low_y, high_y = fences[0], fences[1], fences[2], fences[3]
    for other in range(len(met)):  # no word of what follows: then several are done at a time
        met[other] = (x > low_x[other]) & (x < high_x[other]) & (y > low_y[other]) & (y < high_y[other])


@inner(types.float64(types.int64, types.int64, types.float64, types.float64, types.float64, GROUND, BOARD))
def cost_at(piece: int, way: int, x: float, y: float, bound: float, ground: Ground, board: Board) -> float:
    """Weighted overlap of a piece at a place with all others, or anything from `bound` on once it reaches that."""
    pairs, signs, field = ground[0][way], ground[1][way], ground[4]
    spots, worn, weights, rows, words = board[0], board[1], board[2][piece], board[5][0], board[5][4]
    _meet(way, x, y, board)
    board[5][5][TRIED] += 1
    total, close = 0.0, 0
    for at in range(len(words)):
        word = words[at]
        while word != _NONE:  # from one met to the next, not past all the others: no branch to guess at
            other = np.uint64(at) * _EIGHT + first_set(word) // _EIGHT
            word &= word - _ONE
            lies = np.uint64(worn[other])
            dx, dy = signs[lies] * (x - spots[other, 0]), signs[lies] * (y - spots[other, 1])
            least = least_depth(field, pairs[lies], dx, dy)
            if least == OUT:
                continue
            total += weights[other] * least
            if total >= bound:
                return float(total)
            rows[close, 0], rows[close, 1], rows[close, 2], rows[close, 3] = np.int64(other), dx, dy, least
            close += 1
    for row in range(close):
        other, least = np.uint64(int(rows[row, 0])), int(rows[row, 3])
        deep = depth_from(field, pairs[np.uint64(worn[other])], rows[row, 1], rows[row, 2], least)
        if deep > TOUCH:
            total += weights[other] * (deep - least)
            if total >= bound:
                break
    return float(total)


@inner(types.float64(types.float64, types.float64, types.float64, types.float64, types.float64, types.float64))
def snapped(value: float, low: float, high: float, repeat: float, start: float, tolerance: float) -> float:
    """The shift from `low` to `high` nearest to a value that meets the cloth's pattern; infinity when there is none.

    Args:
        value: Shift wanted (units).
        low: Least shift.
        high: Greatest shift.
        repeat: Of the pattern; 0 where it is plain.
        start: A shift that meets it.
        tolerance: How far off is still met.
    """
    if repeat <= 0.0:
        return float(min(max(value, low), high)) if low <= high else np.inf
    nearest = np.inf
    middle = start + np.floor((min(max(value, low), high) - start) / repeat + 0.5) * repeat
    for step in range(-1, 2):
        least, most = max(middle + step * repeat - tolerance, low), min(middle + step * repeat + tolerance, high)
        if least <= most:
            near = min(max(value, least), most)
            if abs(near - value) < abs(nearest - value):
                nearest = near
    return float(nearest)


@inner(types.boolean(types.int64, types.int64, types.float64, types.float64, types.float64, GROUND, BOARD, REALS_OUT))
def _offer(piece: int, way: int, x: float, y: float, length: float, ground: Ground, board: Board, best: Reals) -> bool:
    """Try a place, moved into the strip; it becomes `best` `(4,)` when it costs less."""
    room = ground[3][way]
    x = snapped(x, room[LEAST_X], length - room[FAR], room[REPEAT_X], room[START_X], room[TOLERANCE])
    y = snapped(y, room[LOW], room[HIGH], room[REPEAT_Y], room[START_Y], room[TOLERANCE])
    if not (x < np.inf and y < np.inf):
        return False
    cost = cost_at(piece, way, x, y, best[COST], ground, board)
    if cost >= best[COST]:
        return False
    best[COST], best[AT_X], best[AT_Y], best[WAY] = cost, x, y, way
    return True


@bare(types.boolean(types.int64, types.int64, types.float64, SEED, GROUND, BOARD, REALS_OUT))
def _contact(piece: int, way: int, length: float, seed: Seed, ground: Ground, board: Board, place: Reals) -> bool:
    """A random corner of the region round another piece, or where its border meets a side of the strip."""
    pairs, signs, starts, lines, room = ground[0], ground[1], ground[4][0], ground[4][1], ground[3][way]
    spots, worn = board[0], board[1]
    low_x, high_x, low_y, high_y = room[LEAST_X], length - room[FAR], room[LOW], room[HIGH]
    for _ in range(6):
        other = draw(seed, len(worn))
        if other == piece:
            continue
        pair, sign = pairs[way, worn[other]], signs[way, worn[other]]
        row = starts[pair] + draw(seed, starts[pair + 1] - starts[pair])
        x, y = spots[other, 0] + sign * lines[X0, row], spots[other, 1] + sign * lines[Y0, row]
        if low_x <= x <= high_x and low_y <= y <= high_y:
            place[0], place[1] = x, y
            return True
        level = low_y if y < low_y else high_y
        if low_y <= y <= high_y or high_y <= low_y:
            continue
        v = sign * (level - spots[other, 1])
        count = starts[pair + 1] - starts[pair]
        for step in range(count):
            column = row + step
            if column >= starts[pair + 1]:
                column -= count
            if (lines[Y0, column] > v) != (lines[Y1, column] > v):
                x = spots[other, 0] + sign * (lines[X0, column] + (v - lines[Y0, column]) * lines[SLOPE, column])
                if low_x <= x <= high_x:
                    place[0], place[1] = x, level
                    return True
    return False


@bare(types.int64(types.int64, REALS, GROUND, BOARD, REAL_ROWS_OUT))
def _exits(piece: int, place: Reals, ground: Ground, board: Board, out: Reals) -> int:
    """The ways out of the two others that a piece overlaps most, `(2, 3)`: weighted depth, x, y; how many there are."""
    way = int(place[WAY])
    pairs, signs, field = ground[0][way], ground[1][way], ground[4]
    spots, worn, weights, met = board[0], board[1], board[2][piece], board[5][3]
    deepest, second = -1, -1
    out[0, 0], out[1, 0] = 0.0, 0.0
    _meet(way, place[AT_X], place[AT_Y], board)
    for other in range(len(worn)):
        if not met[other]:
            continue
        lies = worn[other]
        dx, dy = place[AT_X] - spots[other, 0], place[AT_Y] - spots[other, 1]
        deep = depth(field, pairs[lies], signs[lies] * dx, signs[lies] * dy)
        cost = weights[other] * deep
        if deep <= TOUCH or cost <= out[1, 0]:
            continue
        if cost > out[0, 0]:
            second, deepest = deepest, other
            out[1, 0], out[0, 0] = out[0, 0], cost
        else:
            second, out[1, 0] = other, cost
    for row in range(2):
        other = deepest if row == 0 else second
        if other >= 0:
            sign = signs[worn[other]]
            dx, dy = place[AT_X] - spots[other, 0], place[AT_Y] - spots[other, 1]
            way_out(field, pairs[worn[other]], sign * dx, sign * dy, out[row, 1:])
            out[row, 1], out[row, 2] = sign * out[row, 1], sign * out[row, 2]
    return int(deepest >= 0) + int(second >= 0)


@bare(types.void(types.int64, types.float64, types.float64, SEED, GROUND, BOARD, REALS_OUT))
def _polish(piece: int, length: float, size: float, seed: Seed, ground: Ground, board: Board, best: Reals) -> None:
    """Move a place, `best` `(4,)`, downhill: jumps out of others, then ever shorter steps."""
    exits = board[5][0][len(board[1]) : len(board[1]) + 2]
    step, jumping, round_ = 0.05 * size, True, 0
    while best[COST] > 0.0 and step > 0.004 * size and round_ < 60:
        round_ += 1
        way, x, y = int(best[WAY]), best[AT_X], best[AT_Y]
        if jumping:
            found = _exits(piece, best, ground, board, exits)
            tries = found + (found == 2)
        else:
            tries = 2
        better = False
        axis = draw(seed, 4)
        for turn in range(tries):
            if jumping and turn < 2:
                dx, dy = exits[turn, 1], exits[turn, 2]
            elif jumping:
                ax, ay, bx, by = exits[0, 1], exits[0, 2], exits[1, 1], exits[1, 2]
                bend = ax * by - ay * bx
                one, two = ax * ax + ay * ay, bx * bx + by * by
                if abs(bend) <= 1e-3 * np.sqrt(one * two):
                    continue
                dx, dy = (one * by - two * ay) / bend, (two * ax - one * bx) / bend
                if dx * dx + dy * dy > size * size:
                    continue
            else:
                side = 1.0 if turn == 0 else -1.0
                dx = side * max(step, ground[3][way, REPEAT_X]) if axis != 1 else 0.0
                dy = 0.0 if axis == 0 else (side if axis != 3 else -side) * max(step, ground[3][way, REPEAT_Y])
            if _offer(piece, way, x + dx, y + dy, length, ground, board, best):
                better = True
                if not jumping:
                    break
        if not better and not jumping:
            step *= 0.5
        elif better and not jumping:
            step *= 1.1
        jumping = jumping and better


@bare(types.void(types.int64, types.float64, types.float64, SEED, GROUND, BOARD, REALS_OUT))
def _recall(piece: int, length: float, size: float, seed: Seed, ground: Ground, board: Board, best: Reals) -> None:
    """Replace a place, `best` `(4,)`, by a kept one that costs less as all lie now, polished; and keep it, if new."""
    first, choices, slots = board[3], board[4], board[5][2]
    ways = first[piece + 1] - first[piece]
    kept = board[6][choices[first[piece]]]
    x, y, way, is_new = best[AT_X], best[AT_Y], best[WAY], True
    recalled = False
    for row in range(len(kept)):
        was = int(kept[row, WAY])
        if kept[row, COST] == 0.0 or slots[was] >= ways or choices[first[piece] + slots[was]] != was:
            continue  # none yet, or one of a like piece that may lie otherwise
        near = abs(kept[row, AT_X] - x) + abs(kept[row, AT_Y] - y) < SAME * size
        is_new = is_new and not (near and was == way)
        recalled = _offer(piece, was, kept[row, AT_X], kept[row, AT_Y], length, ground, board, best) or recalled
    if recalled:
        _polish(piece, length, size, seed, ground, board, best)
    if is_new:
        row = draw(seed, len(kept))
        kept[row, COST], kept[row, AT_X], kept[row, AT_Y], kept[row, WAY] = 1.0, x, y, way


@bare(types.void(types.int64, types.float64, types.float64, WHOLES, SEED, GROUND, BOARD, REALS_OUT))
def seek(
    piece: int, length: float, size: float, counts: Wholes, seed: Seed, ground: Ground, board: Board, place: Reals
) -> None:
    """Find a place of little weighted overlap for a piece.

    Args:
        piece: Which piece.
        length: Of the strip (units).
        size: Of the piece (units), the measure of its steps.
        counts: `(3,)`, samples anywhere, samples near, samples in contact.
        seed: `(1,)`.
        ground: See `types.GROUND`.
        board: See `types.BOARD`.
        place: `(4,)`, cost, x, y and way; as the piece lies now, is replaced by what costs less.
    """
    first, choices = board[3], board[4]
    ways = first[piece + 1] - first[piece]
    best, spot = board[5][0][len(board[1]) + 2], board[5][0][len(board[1]) + 3]
    fence(piece, ground, board)
    best[COST] = WORTH * place[COST]
    for sample in range(counts[0] + counts[1] + counts[2]):
        way = choices[first[piece] + draw(seed, ways)]
        room = ground[3][way]
        if room[LEAST_X] > length - room[FAR]:
            continue
        if sample < counts[0]:
            x = room[LEAST_X] + chance(seed) * (length - room[FAR] - room[LEAST_X])
            y = room[LOW] + chance(seed) * (room[HIGH] - room[LOW])
        elif sample < counts[0] + counts[1]:
            x = place[AT_X] + (chance(seed) + chance(seed) - 1.0) * size
            y = place[AT_Y] + (chance(seed) + chance(seed) - 1.0) * size
        elif _contact(piece, way, length, seed, ground, board, spot):
            x, y = spot[0], spot[1]
        else:
            continue
        _offer(piece, way, x, y, length, ground, board, best)
        if best[COST] == 0.0:
            break
    if best[COST] >= WORTH * place[COST]:
        for column in range(4):
            best[column] = place[column]
    _polish(piece, length, size, seed, ground, board, best)
    _recall(piece, length, size, seed, ground, board, best)
    if best[COST] < place[COST]:
        for column in range(4):
            place[column] = best[column]
