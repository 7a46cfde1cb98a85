"""Short ways for a tool through many lines: always on to the nearest, then bettered by exchanges.

A line is entered by one of its doors. An open line has two, its ends: entered by one it is left at the other. A closed
line may have many, and is left where it was entered. `back` of a door is the door by which the same line is run the
other way, so a line entered by `d` is left at the place of `back[d]`. Lengths are straight, with the tool up.
"""

import math

import numpy as np
from numba import njit, types
from numpy.typing import NDArray

from cutroom.geometry.kernels.types import (
    FLAGS,
    REAL_ROWS,
    REAL_ROWS_OUT,
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
REACH = 30_000
"""Lines turned round or passed over in one exchange at most; more would cost more time than it saves way."""
CHAIN = 3
CHAINS = (0, 1, 2, 4, 7, 11, 18, 28, 40)
"""Lines moved together besides the first: of the small way inside a piece up to `CHAIN` in all, else these."""

_NOTHING = 1e-7  # ways this much shorter are not worth an exchange
_TREE: types.Type = types.Tuple((WHOLES_OUT, WHOLE_ROWS_OUT, REAL_ROWS_OUT))  # type: ignore[no-untyped-call]


@njit(types.void(REAL_ROWS, WHOLES_OUT, types.int64, types.int64, types.int64, types.int64), cache=True, nogil=True)
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
        low, high = spans[node]
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


@njit(types.float64(REAL_ROWS, types.int64, types.float64, types.float64), cache=True, nogil=True)
def _off(boxes: Reals, node: int, x: float, y: float) -> float:
    """Square of the distance from a point to the box of a node."""
    dx = max(boxes[node, 0] - x, 0.0, x - boxes[node, 2])
    dy = max(boxes[node, 1] - y, 0.0, y - boxes[node, 3])
    return float(dx * dx + dy * dy)


@njit(WHOLES_OUT(REAL_ROWS, WHOLES, WHOLES, WHOLES, types.int64, WHOLES, WHOLE_ROWS, REAL_ROWS), cache=True, nogil=True)
def nearest_way(
    places: Reals, back: Wholes, owner: Wholes, first: Wholes, start: int, doors: Wholes, spans: Wholes, boxes: Reals
) -> Wholes:
    """A way that always goes on to the nearest line.

    Args:
        places: `(m, 2)`: where each door is.
        back: `(m,)`: the door a line is left at.
        owner: `(m,)`: the line of each door.
        first: `(n + 1,)`: the first door of each line; its doors follow one another.
        start: The door to begin with.
        doors: The tree over the places, from `plant`,
        spans: its spans
        boxes: and its boxes.

    Returns:
        `(n,)`: a door of each line, in the order of the way.
    """
    nodes, lines = len(spans), len(first) - 1
    alive = np.zeros(nodes, dtype=np.int64)
    leaf = np.zeros(len(places), dtype=np.int64)
    for node in range(1, nodes):
        alive[node] = spans[node, 1] - spans[node, 0]
        if 2 * node >= nodes:
            for place in range(spans[node, 0], spans[node, 1]):
                leaf[doors[place]] = node
    gone = np.zeros(len(places), dtype=np.bool_)
    way = np.zeros(lines, dtype=np.int64)
    waiting, distance = np.zeros(64, dtype=np.int64), np.zeros(64, dtype=np.float64)
    best = start
    for turn in range(lines):
        if turn:
            x, y = places[back[way[turn - 1]]]
            best, nearest = -1, np.inf
            waiting[0], distance[0] = 1, 0.0
            top = 1
            while top:
                top -= 1
                node = waiting[top]
                if distance[top] > nearest or alive[node] == 0:
                    continue
                if 2 * node >= nodes:
                    for place in range(spans[node, 0], spans[node, 1]):
                        door = doors[place]
                        apart = (places[door, 0] - x) ** 2 + (places[door, 1] - y) ** 2
                        if not gone[door] and (apart < nearest or (apart == nearest and door < best)):
                            best, nearest = door, apart
                    continue
                one, other = _off(boxes, 2 * node, x, y), _off(boxes, 2 * node + 1, x, y)
                near = 2 * node + (1 if other < one else 0)
                waiting[top], distance[top] = near ^ 1, max(one, other)
                waiting[top + 1], distance[top + 1] = near, min(one, other)
                top += 2
        way[turn] = best
        for door in range(first[owner[best]], first[owner[best] + 1]):
            gone[door] = True
            node = leaf[door]
            while node:
                alive[node] -= 1
                node //= 2
    return way


@njit(WHOLE_ROWS_OUT(REAL_ROWS, WHOLES, WHOLES, WHOLE_ROWS, REAL_ROWS, types.int64), cache=True, nogil=True)
def near_doors(places: Reals, owner: Wholes, doors: Wholes, spans: Wholes, boxes: Reals, wanted: int) -> Wholes:
    """`(m, wanted)`: the doors of other lines nearest to each, the nearest first; -1 when there are not so many."""
    nodes = len(spans)
    found = np.full((len(places), wanted), -1, dtype=np.int64)
    gaps = np.zeros(wanted, dtype=np.float64)
    waiting, distance = np.zeros(64, dtype=np.int64), np.zeros(64, dtype=np.float64)
    for start in range(len(doors)):
        at = doors[start]
        x, y = places[at]
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


@njit(types.float64(REAL_ROWS, types.int64, types.int64), cache=True, nogil=True)
def _gap(places: Reals, one: int, other: int) -> float:
    return math.sqrt((places[one, 0] - places[other, 0]) ** 2 + (places[one, 1] - places[other, 1]) ** 2)


@njit(types.float64(REAL_ROWS, WHOLES, WHOLES, types.int64, types.int64), cache=True, nogil=True)
def _hop(places: Reals, back: Wholes, way: Wholes, start: int, end: int) -> float:
    """Way with the tool up from the line at one spot of the way to that at another; none beyond its end."""
    if end >= len(way):
        return 0.0
    return _gap(places, back[way[start]], way[end])


@njit(types.void(WHOLES_OUT, WHOLES_OUT, WHOLES, WHOLES, types.int64, types.int64), cache=True, nogil=True)
def _turn_round(way: Wholes, spots: Wholes, owner: Wholes, back: Wholes, start: int, end: int) -> None:
    """The lines from spot `start` to spot `end` in the opposite order, each the other way."""
    while start <= end:
        one, other = back[way[start]], back[way[end]]
        way[start], way[end] = other, one
        spots[owner[other]], spots[owner[one]] = start, end
        start, end = start + 1, end - 1


@njit(
    types.void(WHOLES_OUT, WHOLES_OUT, WHOLES, WHOLES, types.int64, types.int64, types.int64, types.boolean),
    cache=True,
    nogil=True,
)
def _carry(
    way: Wholes, spots: Wholes, owner: Wholes, back: Wholes, start: int, end: int, after: int, turned: bool
) -> None:
    """Take the lines from spot `start` to spot `end` out and put them in after another spot, turned round or not."""
    size = end - start + 1
    kept = way[start : end + 1].copy()
    if after > end:
        for spot in range(end + 1, after + 1):
            way[spot - size] = way[spot]
            spots[owner[way[spot]]] = spot - size
        to = after - size + 1
    else:
        for spot in range(start - 1, after, -1):
            way[spot + size] = way[spot]
            spots[owner[way[spot]]] = spot + size
        to = after + 1
    for step in range(size):
        door = back[kept[size - 1 - step]] if turned else kept[step]
        way[to + step] = door
        spots[owner[door]] = to + step


@njit(
    types.boolean(
        REAL_ROWS, WHOLES, WHOLES, WHOLES_OUT, WHOLES_OUT, types.int64, types.int64, types.int64, types.boolean
    ),
    cache=True,
    nogil=True,
)
def _carried(
    places: Reals,
    back: Wholes,
    owner: Wholes,
    way: Wholes,
    spots: Wholes,
    start: int,
    end: int,
    after: int,
    turned: bool,
) -> bool:
    """Carry some lines elsewhere if that is shorter."""
    count = len(way)
    if start < 1 or end >= count or start - 1 <= after <= end or abs(after - start) > REACH:
        return False
    head, tail = (back[way[end]], back[way[start]]) if turned else (way[start], way[end])
    won = _hop(places, back, way, start - 1, start) + _hop(places, back, way, end, end + 1)
    won += _hop(places, back, way, after, after + 1)
    won -= _hop(places, back, way, start - 1, end + 1)
    won -= _gap(places, back[way[after]], head)
    if won <= _NOTHING:
        return False
    if after + 1 < count:
        won -= _gap(places, back[tail], way[after + 1])
    if won <= _NOTHING:
        return False
    _carry(way, spots, owner, back, start, end, after, turned)
    return True


@njit(
    types.boolean(REAL_ROWS, WHOLES, WHOLES, WHOLES_OUT, WHOLES_OUT, types.int64, types.int64),
    cache=True,
    nogil=True,
)
def _turned(places: Reals, back: Wholes, owner: Wholes, way: Wholes, spots: Wholes, start: int, end: int) -> bool:
    """Run the lines from one spot to another in the opposite order if that is shorter."""
    if start < 1 or end < start or end - start > REACH:
        return False
    won = _hop(places, back, way, start - 1, start) + _hop(places, back, way, end, end + 1)
    won -= _gap(places, back[way[start - 1]], back[way[end]])
    if end + 1 < len(way):
        won -= _gap(places, way[start], way[end + 1])
    if won <= _NOTHING:
        return False
    _turn_round(way, spots, owner, back, start, end)
    return True


@njit(
    types.boolean(REAL_ROWS, WHOLES, WHOLES, WHOLES_OUT, WHOLES_OUT, types.int64, types.int64),
    cache=True,
    nogil=True,
)
def _redoored(places: Reals, back: Wholes, owner: Wholes, way: Wholes, spots: Wholes, door: int, after: int) -> bool:
    """Enter a closed line by that door, coming from another spot, if that is shorter."""
    at = spots[owner[door]]
    if at < 1 or after == at or abs(after - at) > REACH:
        return False
    before = _hop(places, back, way, at - 1, at) + _hop(places, back, way, at, at + 1)
    if after == at - 1:
        won = before - _gap(places, back[way[after]], door)
        if at + 1 < len(way):
            won -= _gap(places, door, way[at + 1])
    else:
        won = before + _hop(places, back, way, after, after + 1) - _gap(places, back[way[after]], door)
        won -= _hop(places, back, way, at - 1, at + 1)
        if after + 1 < len(way):
            won -= _gap(places, door, way[after + 1])
    if won <= _NOTHING:
        return False
    way[at] = door
    if after != at - 1:
        _carry(way, spots, owner, back, at, at, after, False)
    return True


@njit(
    types.boolean(REAL_ROWS, WHOLES, WHOLES, FLAGS, WHOLE_ROWS, WHOLES_OUT, WHOLES_OUT, types.int64, WHOLES_OUT),
    cache=True,
    nogil=True,
)
def _bettered(
    places: Reals,
    back: Wholes,
    owner: Wholes,
    closed: Flags,
    near: Wholes,
    way: Wholes,
    spots: Wholes,
    line: int,
    touched: Wholes,
) -> bool:
    """Make the first exchange at a line that shortens the way; `touched` gets two lines whose neighbours changed."""
    for side in range(2):
        at = spots[line]
        if (side == 0 and at + 1 >= len(way)) or (side == 1 and at < 1):
            continue
        door = back[way[at]] if side == 0 else way[at]  # the place that wants a nearer neighbour
        gap = _hop(places, back, way, at, at + 1) if side == 0 else _hop(places, back, way, at - 1, at)
        for place in range(near.shape[1]):
            other = near[door, place]
            if other < 0 or _gap(places, door, other) >= gap:
                break
            there = spots[owner[other]]
            touched[0], touched[1] = owner[other], owner[way[there - 1]] if there else owner[other]
            entered, left = way[there] == other, back[way[there]] == other
            after = at if side == 0 else at - 1
            if closed[other] and not entered and _redoored(places, back, owner, way, spots, other, after):
                return True
            if left and side == 0:
                if there > at and _turned(places, back, owner, way, spots, at + 1, there):
                    return True
                if there < at and _turned(places, back, owner, way, spots, there + 1, at):
                    return True
            if entered and side == 1:
                if there < at and _turned(places, back, owner, way, spots, there, at - 1):
                    return True
                if there > at and _turned(places, back, owner, way, spots, at, there - 1):
                    return True
            for more in CHAINS:
                if entered:  # side 0: as they run after this line; side 1: turned round before it
                    done = _carried(places, back, owner, way, spots, there, there + more, after, side == 1)
                    if done:
                        return True
                if left:
                    done = _carried(places, back, owner, way, spots, there - more, there, after, side == 0)
                    if done:
                        return True
    return False


@njit(WHOLES_OUT(REAL_ROWS, WHOLES, WHOLES, FLAGS, WHOLE_ROWS, WHOLES, types.int64), cache=True, nogil=True)
def better_way(
    places: Reals, back: Wholes, owner: Wholes, closed: Flags, near: Wholes, start: Wholes, rounds: int
) -> Wholes:
    """A way made shorter by turning runs of lines round, by carrying a few elsewhere, and by other doors.

    Args:
        places: `(m, 2)`: where each door is.
        back: `(m,)`: the door a line is left at.
        owner: `(m,)`: the line of each door.
        closed: `(m,)`: any door of its line will do.
        near: `(m, k)`: doors near each door, from `near_doors`.
        start: `(n,)`: the way to begin with; its first door stays.
        rounds: How often at most all restless lines are tried.

    Returns:
        `(n,)`: a door of each line, in the order of the way.
    """
    way = start.copy()
    spots = np.zeros(len(way), dtype=np.int64)
    for spot in range(len(way)):
        spots[owner[way[spot]]] = spot
    restless = np.ones(len(way), dtype=np.bool_)
    touched = np.zeros(2, dtype=np.int64)
    for _ in range(rounds):
        moved = False
        for line in owner[start]:
            while restless[line]:
                restless[line] = False
                spot = spots[line]
                around = (owner[way[max(spot - 1, 0)]], owner[way[min(spot + 1, len(way) - 1)]])
                if not _bettered(places, back, owner, closed, near, way, spots, line, touched):
                    break
                moved = True
                restless[line] = restless[around[0]] = restless[around[1]] = True
                restless[touched[0]] = restless[touched[1]] = True
                for changed in (line, touched[0], touched[1]):
                    spot = spots[changed]
                    restless[owner[way[max(spot - 1, 0)]]] = restless[owner[way[min(spot + 1, len(way) - 1)]]] = True
        if not moved:
            break
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


@njit(types.boolean(REAL_ROWS, WHOLES, WHOLES, WHOLES, WHOLES_OUT, types.int64), cache=True, nogil=True)
def _best_door(places: Reals, back: Wholes, first: Wholes, owner: Wholes, way: Wholes, spot: int) -> bool:
    """Enter the line at a spot by the door that is least out of the way; whether it is another than before."""
    old = way[spot]
    best, least = old, _hop(places, back, way, spot - 1, spot) + _hop(places, back, way, spot, spot + 1)
    for door in range(first[owner[old]], first[owner[old] + 1]):
        way[spot] = door
        length = _hop(places, back, way, spot - 1, spot) + _hop(places, back, way, spot, spot + 1)
        if length < least - _NOTHING:
            best, least = door, length
    way[spot] = best
    return bool(best != old)


@njit(WHOLES_OUT(REAL_ROWS, WHOLES, WHOLES, WHOLES, WHOLES, types.int64), cache=True, nogil=True)
def grouped_way(places: Reals, back: Wholes, owner: Wholes, first: Wholes, groups: Wholes, start: int) -> Wholes:
    """A way that does all lines of one group before the next, always on to the nearest of the group.

    Args:
        places: `(m, 2)`: where each door is.
        back: `(m,)`: the door a line is left at.
        owner: `(m,)`: the line of each door.
        first: `(n + 1,)`: the first door of each line.
        groups: `(g + 1,)`: the first line of each group, in the order in which they are done.
        start: The door to begin with.

    Returns:
        A door of each line of the groups, in the order of the way, after the door to begin with.
    """
    found = np.full(1 + groups[-1] - groups[0], start, dtype=np.int64)
    done = 0
    for group in range(len(groups) - 1):
        size = groups[group + 1] - groups[group]
        way = np.full(size + 1, found[done], dtype=np.int64)
        _inner_way(places, back, owner, first, groups[group], size, way)
        found[done + 1 : done + 1 + size] = way[1:]
        done += size
    return found


@njit(types.int64(REAL_ROWS, WHOLES, WHOLES, types.int64, types.int64, types.int64), cache=True, nogil=True)
def _better_after(places: Reals, back: Wholes, way: Wholes, start: int, end: int, last: int) -> int:
    """One more than the spot up to `last` after which some lines are best put in, negative if turned round; 0: none."""
    best = 0
    least = _hop(places, back, way, start - 1, start) + _hop(places, back, way, end, end + 1) - _NOTHING
    least -= _hop(places, back, way, start - 1, end + 1)
    head, tail = way[start], back[way[end]]
    for after in range(last + 1):
        if start - 1 <= after <= end:
            continue
        one, other = back[way[after]], way[after + 1]
        apart = _gap(places, one, other)
        straight = _gap(places, one, head) + _gap(places, tail, other) - apart
        turned = _gap(places, one, tail) + _gap(places, head, other) - apart
        if min(straight, turned) < least:
            least = min(straight, turned)
            best = after + 1 if straight <= turned else -after - 1
    return best


@njit(
    WHOLES_OUT(REAL_ROWS, WHOLES, WHOLES, FLAGS, WHOLES, WHOLES, WHOLES, types.int64, types.int64),
    cache=True,
    nogil=True,
)
def pieces_way(
    places: Reals,
    back: Wholes,
    owner: Wholes,
    closed: Flags,
    first: Wholes,
    pieces: Wholes,
    order: Wholes,
    start: int,
    sweeps: int,
) -> Wholes:
    """A way piece by piece, each piece's outline after all its other lines.

    Args:
        places: `(m, 2)`: where each door is.
        back: `(m,)`: the door a line is left at.
        owner: `(m,)`: the line of each door.
        closed: `(m,)`: any door of its line will do.
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
    for sweep in range(sweeps):
        before, done = start, 0
        for turn in range(len(order)):
            piece = order[turn]
            low, high = pieces[piece], pieces[piece + 1]
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
            for spot in range(1, inner + 2):
                spots[owner[way[spot]]] = spot
            shorter = True
            while shorter:
                shorter = _best_door(places, back, first, owner, way, inner + 1)
                for spot in range(1, inner + 1):
                    if closed[way[spot]]:
                        shorter = _best_door(places, back, first, owner, way, spot) or shorter
                    for other in range(spot, inner + 1):
                        shorter = _turned(places, back, owner, way, spots, spot, other) or shorter
                for spot in range(1, inner + 1):
                    for end in range(spot, min(spot + CHAIN, inner + 1)):
                        after = _better_after(places, back, way, spot, end, inner)
                        turned = after < 0
                        if after != 0 and _carried(places, back, owner, way, spots, spot, end, abs(after) - 1, turned):
                            shorter = True
            found[done : done + inner + 1] = way[1 : inner + 2]
            before, done = way[inner + 1], done + inner + 1
    return found
