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
_NEAREST = 5  # and of these, those looked at for the shortest hops
_STRUNG = 0.6  # share of the hops, the shortest, by which lines are strung together for the next round
_FEW = 40  # lines that are no longer strung
_TRIED = 4  # something new is tried in a round once for so many lines,
_ANYWAY = 200  # and so many times besides,
_AT_MOST = 4  # but no more often for each line


def sequence(lines: Sequence[Line], start: tuple[float, float] = (0.0, 0.0)) -> list[Line]:
    """The same lines in an order with little travel.

    An open line may be drawn from either end; one whose last point is its first may be begun elsewhere. Time grows
    about as n log n.

    Args:
        lines: Each `(n, 2)`, plotter units or mm.
        start: Where the tool is, likewise.

    Returns:
        The lines, some turned round, closed ones begun at another of their points.
    """
    if not lines:
        return []
    doors = offered_doors(lines, start)
    way = shortest_way(doors)[1:]
    rounds = [len(line) - 1 for line in lines]
    return begun_at(lines, doors.owner[way] - 1, doors.point[way], np.where(doors.loose[doors.first[1:-1]], rounds, 0))


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
        return np.searchsorted(self.owner, np.arange(self.owner[-1] + 2)).astype(np.int64)


def shortest_way(doors: Doors) -> Wholes:
    """A door of each line, in the order of a short way that begins at door 0.

    The shortest hops are taken first, and what comes of it is made shorter by exchanges (2-opt and Or-opt on the lists
    of neighbours; Bentley 1992, from memory). Then lines are strung together by the shorter half of the hops, so that
    whole words and labels are exchanged in the same way, and so on until few are left; then back, string by string
    (as in Walshaw's multilevel way; 2004, from memory).
    """
    from cutroom.geometry.kernels.tour import better_way  # loads numba

    rounds: list[tuple[Doors, Wholes, Wholes, _Strings]] = []
    near = _near(doors.places, doors.owner, _NEAR)
    way = _shortest_hops_first(doors, near)
    while len(way) > _FEW:
        way = better_way(doors.places, doors.back, doors.owner, near, way, 0)
        strings = _strung(doors, way)
        rounds.append((doors, near, way, strings))
        doors, way = strings.doors, strings.way
        near = _near(doors.places, doors.owner, _NEAR)
    way = better_way(doors.places, doors.back, doors.owner, near, way, _tries(way))
    for finer, near, old, strings in reversed(rounds):
        way = _unstrung(finer, old, strings, way)
        way = better_way(finer.places, finer.back, finer.owner, near, way, _tries(way))
    return way


def _tries(way: Wholes) -> int:
    """How often something new is tried; in proportion to the lines, so that time grows no worse than n log n."""
    return min(_AT_MOST * len(way), _ANYWAY + len(way) // _TRIED)


def _near(places: Reals, owner: Wholes, count: int) -> Wholes:
    """So many doors of other lines nearest to each."""
    from cutroom.geometry.kernels.tour import near_doors, plant  # loads numba

    return near_doors(places, owner, *plant(places), count)


def _shortest_hops_first(doors: Doors, near: Wholes) -> Wholes:
    """A way made of the shortest hops that still fit, as far as the lists of neighbours tell; then of the next, ..."""
    from cutroom.geometry.kernels.tour import hops, join, walk  # loads numba

    itself = np.arange(len(doors.back))
    turnable = doors.back != itself
    free = np.where(turnable, 1, 2)
    free[0] = 1  # the tool stands there
    lines = int(doors.owner[-1]) + 1
    chosen, roots = np.full(lines, -1), np.arange(lines)
    links = np.full((len(itself), 2), -1)
    kept = itself
    while (roots != roots[0]).any():
        one, other, square = hops(doors.places[kept], near, _NEAREST)
        order = np.argsort(square, kind="stable")
        join(kept[one[order]], kept[other[order]], doors.owner, doors.back, free, chosen, links, roots)
        while (roots != roots[roots]).any():
            roots = roots[roots]
        takes = (free > 0) & (turnable | (chosen[doors.owner] < 0) | (chosen[doors.owner] == itself))
        kept = np.flatnonzero(takes)
        near = _near(doors.places[kept], roots[doors.owner[kept]], _NEAREST)
    return walk(doors.back, links, 0, lines)


@dataclass(frozen=True, slots=True, eq=False)
class _Strings:
    """Lines of a way strung together by its shorter hops; a line by itself keeps all its doors.

    Attributes:
        doors: Of the strings; their points are doors of the lines.
        way: A door of each string, in the order of the way.
        starts: `(s,)`: the spot of the first line of each in the way,
        ends: `(s,)`: and of its last.
    """

    doors: Doors
    way: Wholes
    starts: Wholes
    ends: Wholes


def _strung(doors: Doors, way: Wholes) -> _Strings:
    hops = np.hypot(*(doors.places[doors.back[way[:-1]]] - doors.places[way[1:]]).T)
    kept_short = np.argsort(hops, kind="stable")[: int(_STRUNG * len(hops))]
    begins = np.ones(len(way), dtype=np.bool_)
    begins[kept_short + 1] = False
    begins[1] = True  # the tool's place stays by itself
    starts = np.flatnonzero(begins)
    ends = np.append(starts[1:], len(way)) - 1
    first = doors.first
    line = doors.owner[way[starts]]
    counts = np.where(starts == ends, first[line + 1] - first[line], 2)
    string = np.repeat(np.arange(len(starts)), counts)
    offset = np.cumsum(counts) - counts
    nth = np.arange(len(string)) - offset[string]
    alone = (starts == ends)[string]
    own = first[line][string] + nth
    point = np.where(alone, own, np.where(nth == 0, way[starts][string], doors.back[way[ends]][string]))
    back = offset[string] + np.where(alone, doors.back[point] - first[line][string], 1 - nth)
    strings = Doors(doors.places[point], back, string, point, doors.loose[point] & alone)
    return _Strings(strings, offset + np.where(starts == ends, way[starts] - first[line], 0), starts, ends)


def _unstrung(doors: Doors, old: Wholes, strings: _Strings, way: Wholes) -> Wholes:
    """The way through the lines that a way through their strings is."""
    string = strings.doors.owner[way]
    counts = (strings.ends - strings.starts + 1)[string]
    turned = (counts > 1) & (strings.doors.first[string] != way)
    begin = np.where(turned, strings.ends[string], strings.starts[string])
    nth = np.arange(len(old)) - np.repeat(np.cumsum(counts) - counts, counts)
    run = old[np.repeat(begin, counts) + np.where(np.repeat(turned, counts), -nth, nth)]
    alone = np.repeat(counts == 1, counts)
    found: Wholes = np.where(
        alone, np.repeat(strings.doors.point[way], counts), np.where(np.repeat(turned, counts), doors.back[run], run)
    )
    return found


def travel(doors: Doors, way: Wholes) -> float:
    """How far the tool travels up."""
    return float(np.hypot(*(doors.places[doors.back[way[:-1]]] - doors.places[way[1:]]).T).sum())


def offered_doors(lines: Sequence[Line], start: tuple[float, float]) -> Doors:
    """The ends of open lines and some points of closed ones; the tool is at `start`."""
    points, first, counts = _joined(lines)
    closed = (counts > 3) & (points[first] == points[first + counts - 1]).all(axis=1)
    step = np.where(closed, -(-(counts - 1) // _STARTS), np.maximum(counts - 1, 1))
    offered = np.where(closed, -(-(counts - 1) // step), np.minimum(counts, 2))
    return doors_at(lines, np.repeat(step, offered) * steps(offered), offered, closed, start)


def doors_at(
    lines: Sequence[Line], starts: Wholes, offered: Wholes, loose: NDArray[np.bool_], start: tuple[float, float]
) -> Doors:
    """The doors of lines that may be entered at some of their points.

    Args:
        lines: Each `(n, 2)`.
        starts: Those points, line after line.
        offered: How many they are for each line; two, its ends, for an open one of more than a point.
        loose: Whether each line is left where it is entered, any point will do.
        start: Where the tool is.
    """
    points, first, _ = _joined(lines)
    itself = np.arange(1, len(starts) + 1)
    turned = np.where(steps(offered) == 0, 1, -1) * np.repeat((offered == 2) & ~loose, offered)
    return Doors(
        np.vstack([np.asarray(start, dtype=np.float64), points[np.repeat(first, offered) + starts]]),
        np.concatenate([[0], itself + turned]),
        np.concatenate([[0], np.repeat(np.arange(1, len(lines) + 1), offered)]),
        np.concatenate([[0], starts]),
        np.concatenate([[False], np.repeat(loose, offered)]),
    )


def begun_at(lines: Sequence[Line], which: Wholes, starts: Wholes, rounds: Wholes) -> list[Line]:
    """Some of the lines in an order, each begun at one of its points: an open one at its first or last.

    Args:
        lines: Each `(n, 2)`.
        which: The lines taken.
        starts: The point at which each is begun.
        rounds: For each of all lines, after how many points it is back at its first; 0 for an open one.

    Returns:
        Read-only runs of one array.
    """
    points, first, counts = _joined(lines)
    counts = counts[which]
    nth = steps(counts)
    begun, cycle = np.repeat(starts, counts), np.repeat(rounds[which], counts)
    place = np.where(cycle > 0, (begun + nth) % np.maximum(cycle, 1), np.abs(begun - nth))
    run = points[np.repeat(first[which], counts) + place]
    run.flags.writeable = False
    ends = np.cumsum(counts)
    return [run[low:high] for low, high in zip((ends - counts).tolist(), ends.tolist(), strict=True)]


def steps(counts: Wholes) -> Wholes:
    """0, 1, ... up to each count in turn."""
    counted: Wholes = np.arange(int(counts.sum())) - np.repeat(np.cumsum(counts) - counts, counts)
    return counted


def _joined(lines: Sequence[Line]) -> tuple[Line, Wholes, Wholes]:
    """The points of all lines, the first of each line, and how many each has."""
    counts = np.fromiter(map(len, lines), dtype=np.int64, count=len(lines))
    return np.concatenate(lines), np.cumsum(counts) - counts, counts
