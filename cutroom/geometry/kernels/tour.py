"""Short ways for a tool through many lines: the shortest hops first, then bettered by exchanges.

A line is entered by one of its doors. An open line has two, its ends: entered by one it is left at the other. A closed
line may have many, and is left where it was entered. `back` of a door is the door by which the same line is run the
other way, so a line entered by `d` is left at the place of `back[d]`. Lengths are straight, with the tool up.
"""

import math

import numpy as np
from numba import njit, types
from numpy.typing import NDArray

from cutroom.geometry.kernels.loop import bare
from cutroom.geometry.kernels.types import (
    FLAGS_OUT,
    REAL_ROWS,
    REAL_ROWS_OUT,
    REALS_OUT,
    WHOLE_ROWS,
    WHOLE_ROWS_OUT,
    WHOLES,
    WHOLES_OUT,
)

Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]
Flags = NDArray[np.bool_]

LEAF = 8
"""Doors in a leaf of the tree at most."""
REACH = 1000
"""Lines passed over in one exchange at most: what lies farther apart is for the rounds in which lines are strung."""
CHAIN = 3
"""Lines carried elsewhere together at most."""
SWAP = 10
"""Lines in each of two stretches that change places to try something new, at most."""

_NOTHING = 1e-7  # ways this much shorter are not worth an exchange
_LOG = 4096  # exchanges after one such try at most
_HOPS: types.Type = types.Tuple((WHOLES_OUT, WHOLES_OUT, REALS_OUT))  # type: ignore[no-untyped-call]
_TREE: types.Type = types.Tuple((WHOLES_OUT, WHOLE_ROWS_OUT, REAL_ROWS_OUT))  # type: ignore[no-untyped-call]


@bare(types.void(REAL_ROWS, WHOLES_OUT, types.int64, types.int64, types.int64, types.int64))
def _part(places: Reals, doors: Wholes, low: int, high: int, middle: int, axis: int) -> None:
    """Put the doors from `low` up to `high` so that none before `middle` lies beyond one after it along an axis."""
    high -= 1
    while low < high:
        pivot = places[doors[(low + high) // 2], axis]
        left, right = low, high
        while left <= right:
            while places[doors[left], axis] < pivot:
                left += 1
            while places[doors[right], axis] > pivot:
                right -= 1
            if left <= right:
                doors[left], doors[right] = doors[right], doors[left]
                left, right = left + 1, right - 1
        if middle <= right:
            high = right
        elif middle >= left:
            low = left
        else:
            return


@njit(_TREE(REAL_ROWS), cache=True, nogil=True)
def plant(places: Reals) -> tuple[Wholes, Wholes, Reals]:
    """A tree over places `(m, 2)`: node k halves into 2k and 2k + 1, from node 1 on.

    Returns:
        `(m,)` the places in the order of the leaves; `(nodes, 2)` from which to which of these a node holds, empty
        where there is none; `(nodes, 4)` the box round what it holds: least x and y, greatest x and y.
    """
    count, levels = len(places), 0
    while (count >> levels) > LEAF:
        levels += 1
    nodes = 1 << (levels + 1)
    doors = np.arange(count)
    spans = np.zeros((nodes, 2), dtype=np.int64)
    boxes = np.zeros((nodes, 4), dtype=np.float64)
    spans[1, 1] = count
    for node in range(1, nodes):
        low, high = spans[node, 0], spans[node, 1]
        if low == high:
            continue
        boxes[node, :2], boxes[node, 2:] = places[doors[low]], places[doors[low]]
        for place in range(low, high):
            for axis in range(2):
                boxes[node, axis] = min(boxes[node, axis], places[doors[place], axis])
                boxes[node, 2 + axis] = max(boxes[node, 2 + axis], places[doors[place], axis])
        if 2 * node < nodes:
            wide = boxes[node, 2] - boxes[node, 0] >= boxes[node, 3] - boxes[node, 1]
            middle = (low + high) // 2
            _part(places, doors, low, high, middle, 0 if wide else 1)
            spans[2 * node, 0], spans[2 * node, 1] = low, middle
            spans[2 * node + 1, 0], spans[2 * node + 1, 1] = middle, high
    return doors, spans, boxes


@bare(types.float64(REAL_ROWS, types.int64, types.float64, types.float64))
def _off(boxes: Reals, node: int, x: float, y: float) -> float:
    """Square of the distance from a point to the box of a node."""
    dx = max(boxes[node, 0] - x, 0.0, x - boxes[node, 2])
    dy = max(boxes[node, 1] - y, 0.0, y - boxes[node, 3])
    return float(dx * dx + dy * dy)


@njit(WHOLE_ROWS_OUT(REAL_ROWS, WHOLES, WHOLES, WHOLE_ROWS, REAL_ROWS, types.int64), cache=True, nogil=True)
def near_doors(places: Reals, owner: Wholes, doors: Wholes, spans: Wholes, boxes: Reals, wanted: int) -> Wholes:
    """`(m, wanted)`: the doors of other lines nearest to each, the nearest first; -1 when there are not so many."""
    nodes = len(spans)
    found = np.full((len(places), wanted), -1, dtype=np.int64)
    gaps = np.zeros(wanted, dtype=np.float64)
    waiting, distance = np.zeros(64, dtype=np.int64), np.zeros(64, dtype=np.float64)
    for start in range(len(doors)):
        at = doors[start]
        x, y = places[at, 0], places[at, 1]
        gaps[:] = np.inf
        waiting[0], distance[0] = 1, 0.0
        top = 1
        while top:
            top -= 1
            node = waiting[top]
            if distance[top] >= gaps[wanted - 1]:
                continue
            if 2 * node >= nodes:
                for place in range(spans[node, 0], spans[node, 1]):
                    door = doors[place]
                    apart = (places[door, 0] - x) ** 2 + (places[door, 1] - y) ** 2
                    if apart >= gaps[wanted - 1] or owner[door] == owner[at]:
                        continue
                    spot = wanted - 1
                    while spot > 0 and gaps[spot - 1] > apart:
                        gaps[spot], found[at, spot] = gaps[spot - 1], found[at, spot - 1]
                        spot -= 1
                    gaps[spot], found[at, spot] = apart, door
                continue
            one, other = _off(boxes, 2 * node, x, y), _off(boxes, 2 * node + 1, x, y)
            near = 2 * node + (1 if other < one else 0)
            waiting[top], distance[top] = near ^ 1, max(one, other)
            waiting[top + 1], distance[top + 1] = near, min(one, other)
            top += 2
    return found


@njit(_HOPS(REAL_ROWS, WHOLE_ROWS, types.int64), cache=True, nogil=True)
def hops(places: Reals, near: Wholes, most: int) -> tuple[Wholes, Wholes, Reals]:
    """Each hop between doors that are near, once: `(e,)` one door, `(e,)` the other, `(e,)` the square of its length.

    Args:
        places: `(m, 2)`: where each door is.
        near: `(m, k)`: doors near each door, from `near_doors`.
        most: How many of these are looked at.
    """
    one = np.zeros(near.shape[0] * most, dtype=np.int64)
    other = np.zeros_like(one)
    square = np.zeros(len(one), dtype=np.float64)
    count = 0
    for door in range(len(near)):
        for place in range(most):
            there = near[door, place]
            if there < 0:
                break
            twice = False
            for spot in range(most):
                twice = twice or near[there, spot] == door
            if twice and there < door:
                continue
            one[count], other[count] = door, there
            square[count] = (places[door, 0] - places[there, 0]) ** 2 + (places[door, 1] - places[there, 1]) ** 2
            count += 1
    return one[:count].copy(), other[:count].copy(), square[:count].copy()


@bare(types.int64(WHOLES_OUT, types.int64))
def _root(roots: Wholes, line: int) -> int:
    while roots[line] != line:
        roots[line] = roots[roots[line]]
        line = roots[line]
    return line


@bare(types.void(WHOLES, WHOLES, WHOLES, WHOLES, WHOLES_OUT, WHOLES_OUT, WHOLE_ROWS_OUT, WHOLES_OUT))
def join(
    one: Wholes, other: Wholes, owner: Wholes, back: Wholes, free: Wholes, chosen: Wholes, links: Wholes, roots: Wholes
) -> None:
    """Join lines by hops in the order given, where both doors are free and the lines do not hang together already.

    Args:
        one: `(e,)`: a door of each hop,
        other: `(e,)`: and the other.
        owner: `(m,)`: the line of each door.
        back: `(m,)`: the door a line is left at.
        free: `(m,)`: hops that a door may still take; changed.
        chosen: `(n,)`: the door by which a line is run that is left where it is entered, -1 as long as any; changed.
        links: `(m, 2)`: the doors at the other ends of the hops of a door, -1 for none; changed.
        roots: `(n,)`: lines that hang together lead to one of them; changed.
    """
    for hop in range(len(one)):
        a, b = one[hop], other[hop]
        if free[a] == 0 or free[b] == 0:
            continue
        if (chosen[owner[a]] not in (-1, a)) or (chosen[owner[b]] not in (-1, b)):
            continue
        root, twig = _root(roots, owner[a]), _root(roots, owner[b])
        if root == twig:
            continue
        roots[max(root, twig)] = min(root, twig)
        for door in (a, b):
            if back[door] == door:
                chosen[owner[door]] = door
            free[door] -= 1
        links[a, free[a]], links[b, free[b]] = b, a


@njit(WHOLES_OUT(WHOLES, WHOLE_ROWS, types.int64, types.int64), cache=True, nogil=True)
def walk(back: Wholes, links: Wholes, start: int, lines: int) -> Wholes:
    """`(lines,)`: a door of each line, in the order in which the hops of `join` lead from a door through all lines."""
    way = np.full(lines, start, dtype=np.int64)
    came = -1
    for turn in range(1, lines):
        left = back[way[turn - 1]]
        following = links[left, 0]
        if following < 0 or (left == way[turn - 1] and following == came):
            following = links[left, 1]
        way[turn], came = following, left
    return way


@bare(types.float64(REAL_ROWS, types.int64, types.int64))
def _gap(places: Reals, one: int, other: int) -> float:
    return math.sqrt((places[one, 0] - places[other, 0]) ** 2 + (places[one, 1] - places[other, 1]) ** 2)


@bare(types.float64(REAL_ROWS, WHOLES, WHOLES, types.int64))
def _hop(places: Reals, back: Wholes, way: Wholes, spot: int) -> float:
    """Way with the tool up to the line at a spot of the way; none beyond its end."""
    if spot >= len(way):
        return 0.0
    return _gap(places, back[way[spot - 1]], way[spot])


@bare(types.float64(REAL_ROWS, WHOLES, WHOLES, WHOLES))
def _won(places: Reals, back: Wholes, way: Wholes, move: Wholes) -> float:
    """How much shorter an exchange makes the way."""
    start, middle, end = move[0], move[1], move[2]
    if start < 1 or middle < start or end < middle or end >= len(way) or end - start > REACH:
        return -1.0
    head, tail = way[start], back[way[middle]]
    before = back[way[start - 1]]
    won = _hop(places, back, way, start) + _hop(places, back, way, end + 1)
    if move[3]:
        head, tail = tail, head
    if middle < end:
        first, last = way[middle + 1], back[way[end]]
        won += _hop(places, back, way, middle + 1)
        if move[4]:
            first, last = last, first
        won -= _gap(places, before, first)
        before = last
    won -= _gap(places, before, head)
    if end + 1 < len(way):
        won -= _gap(places, tail, way[end + 1])
    return won


@bare(types.void(WHOLES_OUT, WHOLES_OUT, WHOLES, WHOLES, types.int64, types.int64))
def _turn_round(way: Wholes, spots: Wholes, owner: Wholes, back: Wholes, start: int, end: int) -> None:
    """The lines from spot `start` to spot `end` in the opposite order, each the other way."""
    while start <= end:
        one, other = back[way[start]], back[way[end]]
        way[start], way[end] = other, one
        spots[owner[other]], spots[owner[one]] = start, end
        start, end = start + 1, end - 1


@bare(
    types.void(WHOLES_OUT, WHOLES_OUT, WHOLES, WHOLES, types.int64, types.int64, types.int64, types.int64, types.int64)
)
def _carry(
    way: Wholes,
    spots: Wholes,
    owner: Wholes,
    back: Wholes,
    first: int,
    last: int,
    goal: int,
    step: int,
    turned: int,
) -> None:
    """The lines from spot `first` to `last`, at most three and in steps of `step`, are carried on to end at `goal`."""
    many = abs(last - first)
    one, two, three = way[first], way[first + step * min(1, many)], way[last]
    spot = first
    while spot != goal - step * many:
        door = way[spot + step * (many + 1)]
        way[spot] = door
        spots[owner[door]] = spot
        spot += step
    for place in range(many + 1):
        nth = many - place if turned else place
        door = one if nth == 0 else (three if nth == many else two)
        door = back[door] if turned else door
        way[spot] = door
        spots[owner[door]] = spot
        spot += step


@bare(types.void(WHOLES_OUT, WHOLES_OUT, WHOLES, WHOLES, WHOLES_OUT))
def _exchange(way: Wholes, spots: Wholes, owner: Wholes, back: Wholes, move: Wholes) -> None:
    """Two stretches of the way change places, each turned round or not. `move` becomes what undoes it.

    The first stretch runs from spot `move[0]` to `move[1]`, the second goes on to `move[2]` and may be empty;
    `move[3]` and `move[4]`: whether each is turned round.
    """
    start, middle, end = move[0], move[1], move[2]
    second = end - middle
    if second and middle - start < CHAIN and not move[4]:  # a few lines are carried forwards
        _carry(way, spots, owner, back, start, middle, end, 1, move[3])
    elif second and second <= CHAIN and not move[3]:  # or backwards
        _carry(way, spots, owner, back, end, middle + 1, start, -1, move[4])
    else:
        _turn_round(way, spots, owner, back, start, end)
        for part in range(2):
            if not move[4 - part]:
                low, high = (start, start + second - 1) if part == 0 else (start + second, end)
                _turn_round(way, spots, owner, back, low, high)
    if second:
        move[1] = start + second - 1
        move[3], move[4] = move[4], move[3]


@bare(types.float64(REAL_ROWS, WHOLES, WHOLES, WHOLE_ROWS, WHOLES_OUT, WHOLES, types.int64, WHOLES_OUT))
def _better(
    places: Reals, back: Wholes, owner: Wholes, near: Wholes, way: Wholes, spots: Wholes, line: int, move: Wholes
) -> float:
    """The first exchange at a line that shortens the way, and by how much; 0 for none.

    `move[5]` is the spot of a closed line that is entered elsewhere first, or -1, and `move[6]` its door before; by
    then `way` has the new one. `move[0]` is 0 when that is all.
    """
    lines = len(way)
    for side in range(2):
        after = spots[line] - side
        if after < 0 or after + 1 >= lines:
            continue
        left, entered = back[way[after]], way[after + 1]
        hop = _gap(places, left, entered)
        door, far = (entered, left) if side else (left, entered)  # `door` wants a nearer neighbour
        for place in range(near.shape[1]):
            other = near[door, place]
            if other < 0:
                break
            gap = _gap(places, door, other)
            if gap >= hop:
                break
            there = spots[owner[other]]
            old = way[there]
            by_head, by_tail = old == other, back[old] == other
            won = 0.0
            move[5], move[6] = -1, old
            if not (by_head or by_tail):
                if there < 1:
                    continue
                by_head = by_tail = True
                won = _hop(places, back, way, there) + _hop(places, back, way, there + 1)
                way[there] = other
                won -= _hop(places, back, way, there) + _hop(places, back, way, there + 1)
                move[5] = there
                if won > _NOTHING:
                    move[0] = 0
                    return won
                if there == after + 1 - side:  # it is the neighbour already
                    way[there] = old
                    continue
            won += hop - gap
            if by_head if side else by_tail:  # 2-opt: what lies between is turned round
                low, high = min(after, there - side) + 1, max(after, there - side)
                beyond = there - side
                if high - low <= REACH and beyond >= 0:
                    gain = won
                    if side:
                        gain += _hop(places, back, way, there) - _gap(places, far, back[way[beyond]])
                    elif there + 1 < lines:
                        gain += _hop(places, back, way, there + 1) - _gap(places, far, way[there + 1])
                    if gain > _NOTHING:
                        move[0], move[1], move[2], move[3], move[4] = low, high, high, 1, 0
                        return gain
            for kind in range(2 * CHAIN):  # Or-opt: a few lines from there on, or up to there, are carried to here
                heads = kind < CHAIN
                if not (by_head if heads else by_tail):
                    continue
                more = kind % CHAIN
                low, high = (there, there + more) if heads else (there - more, there)
                turned = 1 if heads == (side == 1) else 0
                if low < 1 or high >= lines or low - 1 <= after <= high or max(after - low, high - after) > REACH:
                    continue
                gain = won + _hop(places, back, way, low) - _gap(places, far, back[way[high]] if heads else way[low])
                if high + 1 < lines:
                    gain += _hop(places, back, way, high + 1) - _gap(places, back[way[low - 1]], way[high + 1])
                if gain > _NOTHING:
                    if after > high:
                        move[0], move[1], move[2], move[3], move[4] = low, high, after, turned, 0
                    else:
                        move[0], move[1], move[2], move[3], move[4] = after + 1, low - 1, high, 0, turned
                    return gain
            way[there] = old
    return 0.0


@bare(
    types.void(
        REAL_ROWS,
        WHOLES,
        WHOLES,
        WHOLE_ROWS,
        WHOLES_OUT,
        WHOLES_OUT,
        WHOLES_OUT,
        FLAGS_OUT,
        WHOLE_ROWS_OUT,
        types.int64,
    )
)
def _shorten(
    places: Reals,
    back: Wholes,
    owner: Wholes,
    near: Wholes,
    way: Wholes,
    spots: Wholes,
    queue: Wholes,
    waiting: Flags,
    log: Wholes,
    tries: int,
) -> None:
    """The work of `better_way`. `queue` holds the lines still to be looked at, `log` what to undo."""
    lines = len(way)
    first, size = 0, lines
    state = 1
    for turn in range(tries + 1):
        done, total, line = 0, 0.0, -1
        while done < _LOG:
            move = log[done]
            if turn and done == 0:  # something new, a little farther along the way each time
                state = (state * 48271) % 2147483647  # Park and Miller 1993
                move[0] = 1 + turn * (lines - 1) // (tries + 1)
                move[1] = move[0] + state % SWAP
                move[2] = move[1] + 1 + state // SWAP % SWAP
                move[3], move[4], move[5] = 0, 0, -1
                if move[2] >= lines:
                    break
                won = _won(places, back, way, move)
            else:
                if line < 0:
                    if size == 0:
                        break
                    line = queue[first]
                    first, size = (first + 1) % lines, size - 1
                    waiting[line] = False
                won = _better(places, back, owner, near, way, spots, line, move)
                if won <= 0.0:
                    line = -1
                    continue
            total += won
            low, middle, high = move[5], move[5], move[5]
            for spot in (low - 1, low, low + 1):
                if low >= 0 and 0 <= spot < lines and not waiting[owner[way[spot]]]:
                    queue[(first + size) % lines] = owner[way[spot]]
                    waiting[owner[way[spot]]], size = True, size + 1
            if move[0]:
                _exchange(way, spots, owner, back, move)
                low, middle, high = move[0], move[1], move[2]
                for spot in (low - 1, low, middle, middle + 1, high, high + 1):
                    if 0 <= spot < lines and not waiting[owner[way[spot]]]:
                        queue[(first + size) % lines] = owner[way[spot]]
                        waiting[owner[way[spot]]], size = True, size + 1
            done = done + 1 if turn else 0
        if total < 0.0:
            for step in range(done - 1, -1, -1):
                move = log[step]
                if move[0]:
                    _exchange(way, spots, owner, back, move)
                if move[5] >= 0:
                    way[move[5]] = move[6]


@njit(WHOLES_OUT(REAL_ROWS, WHOLES, WHOLES, WHOLE_ROWS, WHOLES, types.int64), cache=True, nogil=True)
def better_way(places: Reals, back: Wholes, owner: Wholes, near: Wholes, start: Wholes, tries: int) -> Wholes:
    """A way made shorter by turning stretches round, by carrying a few lines elsewhere, and by other doors.

    When nothing shortens it any more, two stretches side by side change places, from the start of the way to its end
    by and by; what follows from that is kept when the way is no longer than before, else undone.

    Args:
        places: `(m, 2)`: where each door is.
        back: `(m,)`: the door a line is left at.
        owner: `(m,)`: the line of each door.
        near: `(m, k)`: doors near each door, from `near_doors`.
        start: `(n,)`: the way to begin with; its first door stays.
        tries: How often something new is tried.

    Returns:
        `(n,)`: a door of each line, in the order of the way.
    """
    way = start.copy()
    lines = len(way)
    spots = np.zeros(lines, dtype=np.int64)
    queue = owner[way]
    for spot in range(lines):
        spots[queue[spot]] = spot
    waiting = np.ones(lines, dtype=np.bool_)
    log = np.zeros((_LOG, 7), dtype=np.int64)
    _shorten(places, back, owner, near, way, spots, queue, waiting, log, tries)
    return way


@njit(types.void(REAL_ROWS, WHOLES, WHOLES, WHOLES, types.int64, types.int64, WHOLES_OUT), cache=True, nogil=True)
def _inner_way(places: Reals, back: Wholes, owner: Wholes, first: Wholes, low: int, inner: int, way: Wholes) -> None:
    """Fill the way from spot 1 on with the lines from `low` on, always on to the nearest."""
    free = np.ones(inner, dtype=np.bool_)
    for spot in range(1, inner + 1):
        best, nearest = -1, np.inf
        for line in range(inner):
            if free[line]:
                for door in range(first[low + line], first[low + line + 1]):
                    gap = _gap(places, back[way[spot - 1]], door)
                    if gap < nearest:
                        best, nearest = door, gap
        way[spot] = best
        free[owner[best] - low] = False


@bare(types.boolean(REAL_ROWS, WHOLES, WHOLES, WHOLES, WHOLES_OUT, types.int64))
def _best_door(places: Reals, back: Wholes, first: Wholes, owner: Wholes, way: Wholes, spot: int) -> bool:
    """Enter the line at a spot by the door that is least out of the way; whether it is another than before."""
    old = way[spot]
    best, least = old, _hop(places, back, way, spot) + _hop(places, back, way, spot + 1)
    for door in range(first[owner[old]], first[owner[old] + 1]):
        way[spot] = door
        length = _hop(places, back, way, spot) + _hop(places, back, way, spot + 1)
        if length < least - _NOTHING:
            best, least = door, length
    way[spot] = best
    return bool(best != old)


@bare(types.void(REAL_ROWS, WHOLES, WHOLES, WHOLES, WHOLES_OUT, WHOLES_OUT, types.int64, WHOLES_OUT))
def _settle(
    places: Reals, back: Wholes, owner: Wholes, first: Wholes, way: Wholes, spots: Wholes, inner: int, move: Wholes
) -> None:
    """Make the way through spots 1 to `inner` short, and the door of the line after them the best one."""
    for spot in range(1, inner + 2):
        spots[owner[way[spot]]] = spot
    shorter = True
    while shorter:
        shorter = False
        for spot in range(1, inner + 2):
            shorter = _best_door(places, back, first, owner, way, spot) or shorter
        for low in range(1, inner + 1):
            for high in range(low, inner + 1):
                for kind in range(1 + 4 * CHAIN):
                    chain, turned = (kind + 3) // 4, kind % 2
                    move[0], move[1], move[2], move[3], move[4] = low, high, high, 1, 0
                    if kind and low + chain > high:
                        break
                    if kind % 4 in (1, 2):
                        move[1], move[3] = low + chain - 1, turned
                    elif kind:
                        move[1], move[3], move[4] = high - chain, 0, turned
                    if _won(places, back, way, move) > _NOTHING:
                        _exchange(way, spots, owner, back, move)
                        shorter = True


@njit(
    WHOLES_OUT(REAL_ROWS, WHOLES, WHOLES, WHOLES, WHOLES, WHOLES, types.int64, types.int64),
    cache=True,
    nogil=True,
)
def pieces_way(
    places: Reals, back: Wholes, owner: Wholes, first: Wholes, pieces: Wholes, order: Wholes, start: int, sweeps: int
) -> Wholes:
    """A way piece by piece, each piece's outline after all its other lines.

    Args:
        places: `(m, 2)`: where each door is.
        back: `(m,)`: the door a line is left at.
        owner: `(m,)`: the line of each door.
        first: `(n + 1,)`: the first door of each line.
        pieces: `(p + 1,)`: the first line of each piece; the last line of a piece is its outline.
        order: The pieces to cut, in their order.
        start: The door where the tool is.
        sweeps: How often the way is gone through; from the second time on it is known where the next piece begins.

    Returns:
        A door of each line, in the order of the way.
    """
    total = 0
    for piece in order:
        total += pieces[piece + 1] - pieces[piece]
    found = np.full(total, -1, dtype=np.int64)
    spots = np.zeros(len(first), dtype=np.int64)
    move = np.zeros(7, dtype=np.int64)
    known = np.full(
        (len(order), 2), -1, dtype=np.int64
    )  # the doors before and after each piece, when last gone through
    for sweep in range(sweeps):
        before, done = start, 0
        for turn in range(len(order)):
            low, high = pieces[order[turn]], pieces[order[turn] + 1]
            inner = high - low - 1
            ends = sweep > 0 and turn + 1 < len(order)
            way = np.full(inner + (3 if ends else 2), before, dtype=np.int64)
            if ends:
                way[inner + 2] = found[done + inner + 1]
            if sweep:
                way[1 : inner + 2] = found[done : done + inner + 1]
            else:
                _inner_way(places, back, owner, first, low, inner, way)
                way[inner + 1] = first[high - 1]
            following = way[inner + 2] if ends else -1
            if sweep == 0 or known[turn, 0] != before or known[turn, 1] != following:
                _settle(places, back, owner, first, way, spots, inner, move)
            known[turn, 0], known[turn, 1] = before, following
            found[done : done + inner + 1] = way[1 : inner + 2]
            before, done = way[inner + 1], done + inner + 1
    return found
