"""The order in which a pen draws its lines, so that it travels little with the pen up."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

_STARTS = 8  # places round a closed line at which it may be begun


def sequence(lines: Sequence[NDArray[np.int64]], start: tuple[float, float] = (0.0, 0.0)) -> list[NDArray[np.int64]]:
    """The same lines in an order with little travel: always on to the nearest.

    An open line may be drawn from either end; one whose last point is its first may be begun elsewhere.

    Args:
        lines: Each `(n, 2)`, plotter units.
        start: Where the pen is.

    Returns:
        The lines, some turned round, closed ones begun at another of their points.
    """
    doors = [(index, door) for index, line in enumerate(lines) for door in _doors(line)]
    places = np.array([lines[index][door] for index, door in doors], dtype=np.float64).reshape(-1, 2)
    owners = np.array([index for index, _ in doors], dtype=np.int64)
    search = _Nearest(places, owners, len(lines))
    ordered: list[NDArray[np.int64]] = []
    x, y = start
    for _ in lines:
        index, door = doors[search.take(x, y)]
        line = _begun_at(lines[index], door)
        ordered.append(line)
        x, y = float(line[-1, 0]), float(line[-1, 1])
    return ordered


def _is_closed(line: NDArray[np.int64]) -> bool:
    return len(line) > 3 and line[0, 0] == line[-1, 0] and line[0, 1] == line[-1, 1]


def _doors(line: NDArray[np.int64]) -> list[int]:
    if _is_closed(line):
        return list(range(0, len(line) - 1, -(-(len(line) - 1) // _STARTS)))
    return [0, len(line) - 1] if len(line) > 1 else [0]


def _begun_at(line: NDArray[np.int64], door: int) -> NDArray[np.int64]:
    if door == 0:
        return line
    if door == len(line) - 1:
        return line[::-1]
    return np.vstack([line[door:], line[1 : door + 1]])


class _Nearest:
    """Places in a grid of cells; `take` gives the nearest and forgets all places of its line."""

    def __init__(self, places: NDArray[np.float64], owners: NDArray[np.int64], lines: int) -> None:
        self._places = places
        self._alive = np.ones(len(places), dtype=np.bool_)
        span = np.maximum(np.ptp(places, axis=0), 1.0) if len(places) else np.ones(2)
        self._cell = max(math.sqrt(float(span[0] * span[1]) / max(len(places), 1)), 1.0)
        self._xy = places.tolist()
        self._owner = owners.tolist()
        self._keys = [(x, y) for x, y in (places // self._cell).astype(np.int64).tolist()]
        self._cells: dict[tuple[int, int], list[int]] = {}
        self._of_line: list[list[int]] = [[] for _ in range(lines)]
        for index, key in enumerate(self._keys):
            self._cells.setdefault(key, []).append(index)
            self._of_line[self._owner[index]].append(index)

    def take(self, x: float, y: float) -> int:
        found = self._near(x, y)
        if found < 0:
            alive = np.flatnonzero(self._alive)
            found = int(alive[np.argmin(((self._places[alive] - (x, y)) ** 2).sum(axis=1))])
        gone = self._of_line[self._owner[found]]
        self._alive[gone] = False
        for index in gone:
            cell = self._cells[self._keys[index]]
            cell.remove(index)
            if not cell:
                del self._cells[self._keys[index]]
        return found

    def _near(self, x: float, y: float) -> int:
        column, row = int(x // self._cell), int(y // self._cell)
        best, nearest = -1, math.inf
        for ring, cells in enumerate(_RINGS):
            for across, up in cells:
                for index in self._cells.get((column + across, row + up), ()):
                    px, py = self._xy[index]
                    apart = (px - x) ** 2 + (py - y) ** 2
                    if apart < nearest:
                        best, nearest = index, apart
            if nearest <= (ring * self._cell) ** 2:
                return best
        return -1


def _ring(ring: int) -> list[tuple[int, int]]:
    """Cells at a distance of so many cells, as steps from the middle."""
    steps = range(-ring, ring + 1)
    return [(across, up) for across in steps for up in steps if max(abs(across), abs(up)) == ring]


_RINGS = [_ring(ring) for ring in range(6)]  # cells looked through before all lines are
