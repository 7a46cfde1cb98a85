"""The yardstick of the orders: a tool that always goes on to the nearest line."""

import numpy as np
from numba import njit
from numpy.typing import NDArray

from cutroom.geometry.kernels.tour import _off, plant
from cutroom.plot.sequence import Doors, travel

Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]


def nearest_travel(doors: Doors) -> float:
    """Travel of a way that begins at door 0 and always goes on to the nearest door of a line not yet run."""
    way = _nearest_way(doors.places, doors.back, doors.owner, doors.first, 0, *plant(doors.places))
    return travel(doors, way)


@njit(nogil=True)
def _nearest_way(
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
