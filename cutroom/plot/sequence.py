"""The order in which a tool runs its lines, so that it travels little with the tool up."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Line = NDArray[Any]
"""`(n, 2)`: a pen-down run; closed when its last point is its first."""
Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]

_STARTS = 8  # places round a closed line at which it may be begun
_NEAR = 6  # neighbours looked at when the way is bettered
_BLOCK = 200  # lines in a block of a long drawing at least
_ROUNDS = 50  # times that all lines are tried again at most


def sequence(
    lines: Sequence[Line], start: tuple[float, float] = (0.0, 0.0), *, groups: Sequence[int] | None = None
) -> list[Line]:
    """The same lines in an order with little travel.

    An open line may be drawn from either end; one whose last point is its first may be begun elsewhere. The way goes
    always on to the nearest line first, and is then made shorter by exchanges (2-opt and Or-opt on the lists of
    neighbours; Bentley 1992, from memory). Time grows about as n log n.

    Args:
        lines: Each `(n, 2)`, plotter units or mm.
        start: Where the tool is, likewise.
        groups: Which lines belong together, such as those of a piece: a group is done in one go at first, which leaves
            less behind than always the nearest.

    Returns:
        The lines, some turned round, closed ones begun at another of their points.
    """
    if not lines:
        return []
    if groups is not None:
        order = by_groups(lines, np.asarray(groups), start)
        lines = [lines[index] for index in np.concatenate(order).tolist()]
        bounds = np.cumsum([1, *map(len, order)])
    else:
        bounds = np.zeros(0, dtype=np.int64)
    doors = _doors(lines, start)
    way = shortest_way(doors, bounds)[1:]
    return [
        begun_at(lines[line - 1], point)
        for line, point in zip(doors.owner[way].tolist(), doors.point[way].tolist(), strict=True)
    ]


def by_groups(lines: Sequence[Line], groups: Wholes, start: tuple[float, float]) -> list[Wholes]:
    """The lines of each group, the groups in the order of a short way by their middles.

    Args:
        lines: Each `(n, 2)`.
        groups: `(k,)`: the group of each.
        start: Where the tool is.

    Returns:
        Group after group, which lines are its.
    """
    order = np.argsort(groups, kind="stable")
    members = np.split(order, np.flatnonzero(np.diff(groups[order])) + 1)
    ends = np.array([(line[0], line[len(line) // 2]) for line in lines], dtype=np.float64)
    middles = [(ends[some].min(axis=(0, 1)) + ends[some].max(axis=(0, 1))) / 2 for some in members]
    numbers = np.arange(len(members) + 1)
    places = np.vstack([np.asarray(start, dtype=np.float64), *middles])
    way = shortest_way(Doors(places, numbers, numbers, numbers, numbers < 0))
    return [members[group - 1] for group in way[1:].tolist()]


@dataclass(frozen=True, slots=True, eq=False)
class Doors:
    """Where lines may be entered. Door 0 is where the tool stands, a line of its own.

    Attributes:
        places: `(m, 2)`.
        back: `(m,)`: the door at which a line is left.
        owner: `(m,)`: the line of each door; the doors of a line follow one another.
        point: `(m,)`: which point of its line it is.
        loose: `(m,)`: any door of its line will do, and it is left where it was entered.
    """

    places: Reals
    back: Wholes
    owner: Wholes
    point: Wholes
    loose: NDArray[np.bool_]

    @property
    def first(self) -> Wholes:
        """`(n + 1,)`: the first door of each line, and the end of the last."""
        return _firsts(self.owner)


def _firsts(owner: Wholes) -> Wholes:
    return np.searchsorted(owner, np.arange(owner[-1] + 2)).astype(np.int64)


def shortest_way(doors: Doors, groups: Wholes | None = None) -> Wholes:
    """A door of each line, in the order of a short way that begins at door 0.

    Args:
        doors: The doors.
        groups: `(g + 1,)`: the first line of each group of lines that are done in one go to begin with, in the order
            of the groups; None or empty for no groups.
    """
    from cutroom.geometry.kernels.tour import better_way, grouped_way, near_doors, plant  # loads numba

    if groups is None or not len(groups):
        way = _first_way(doors)
    else:
        way = grouped_way(doors.places, doors.back, doors.owner, doors.first, groups, 0)
    near = near_doors(doors.places, doors.owner, *plant(doors.places), _NEAR)
    return better_way(doors.places, doors.back, doors.owner, doors.loose, near, way, _ROUNDS)


def _first_way(doors: Doors) -> Wholes:
    """Always on to the nearest, block after block of a long drawing: what is left behind is never far back."""
    from cutroom.geometry.kernels.tour import nearest_way, plant  # loads numba

    span = np.ptp(doors.places, axis=0)
    axis = int(span[1] > span[0])
    length, width = float(span[axis]), float(span[1 - axis])
    along = doors.places[doors.first[:-1], axis] - doors.places[:, axis].min()
    count = int(min(max(1.0, length / max(width, 1e-9)), 1 + len(along) / _BLOCK))
    blocks = np.minimum((along / max(length, 1e-9) * count).astype(np.int64), count - 1)
    blocks = np.abs(blocks - blocks[0])  # from where the tool is
    blocks[0] = -1
    ways = [np.zeros(1, dtype=np.int64)]
    for block in np.unique(blocks[1:]):
        chosen = np.flatnonzero(np.isin(doors.owner, np.flatnonzero(blocks == block)))
        chosen = np.concatenate([ways[-1][-1:], chosen])
        owner = np.concatenate([[0], 1 + np.unique(doors.owner[chosen[1:]], return_inverse=True)[1]]).astype(np.int64)
        back = np.searchsorted(chosen[1:], doors.back[chosen]) + 1
        back[0] = 0
        places = doors.places[chosen]
        places[0] = doors.places[doors.back[chosen[0]]]
        ways.append(chosen[nearest_way(places, back, owner, _firsts(owner), 0, *plant(places))[1:]])
    return np.concatenate(ways)


def travel(doors: Doors, way: Wholes) -> float:
    """How far the tool travels up."""
    return float(np.hypot(*(doors.places[doors.back[way[:-1]]] - doors.places[way[1:]]).T).sum())


def _doors(lines: Sequence[Line], start: tuple[float, float]) -> Doors:
    points = np.concatenate(lines).astype(np.float64)
    counts = np.fromiter(map(len, lines), dtype=np.int64, count=len(lines))
    ends = np.cumsum(counts)
    starts = ends - counts
    closed = (counts > 3) & (points[starts] == points[ends - 1]).all(axis=1)
    step = np.where(closed, -(-(counts - 1) // _STARTS), np.maximum(counts - 1, 1))
    offered = np.where(closed, -(-(counts - 1) // step), np.minimum(counts, 2))
    owner = np.repeat(np.arange(1, len(lines) + 1), offered)
    first = np.cumsum(offered) - offered
    nth = np.arange(len(owner)) - np.repeat(first, offered)
    point = nth * np.repeat(step, offered)
    loose = np.repeat(closed, offered)
    itself = np.arange(1, len(owner) + 1)
    other = itself + np.where(nth == 0, 1, -1) * np.repeat(offered == 2, offered)
    return Doors(
        np.vstack([np.asarray(start, dtype=np.float64), points[np.repeat(starts, offered) + point]]),
        np.concatenate([[0], np.where(loose, itself, other)]),
        np.concatenate([[0], owner]),
        np.concatenate([[0], point]),
        np.concatenate([[False], loose]),
    )


def begun_at(line: Line, point: int) -> Line:
    """A line begun at one of its points: an open one at its first or last, a closed one at any."""
    if point == 0:
        return line
    if point == len(line) - 1:
        return line[::-1]
    return np.concatenate([line[point:], line[1 : point + 1]])
