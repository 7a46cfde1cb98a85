"""Free room for a box of lettering inside a piece: looked for on a grid, judged exactly."""

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

CELLS = 64
"""Cells of the grid along each side of the piece."""
_TRIES = 12
_MIDDLES = np.arange(CELLS) + 0.5

Line = NDArray[np.float64]


class Room:
    """Where a box can stand inside an outline, clear of it and of other lines."""

    def __init__(self, outline: Line, obstacles: list[Line]) -> None:
        """Lay a grid over the outline and mark the cells that a line passes through or that lie outside.

        Args:
            outline: `(n, 2)`, closed without repeating the first point (mm).
            obstacles: Lines (mm).
        """
        starts = np.concatenate([outline, *(line[:-1] for line in obstacles)]).T.copy()
        ends = np.concatenate([outline[1:], outline[:1], *(line[1:] for line in obstacles)]).T.copy()
        sides = starts[:, : len(outline)]
        low = sides.min(axis=1, keepdims=True)
        cell = np.maximum((sides.max(axis=1, keepdims=True) - low) / CELLS, 1e-9)
        self._steps, self._middles = ends - starts, (starts + ends) / 2
        on_grid, steps = (starts - low) / cell, self._steps / cell
        free = _inside(on_grid[:, : len(outline)]) & ~_crossed(on_grid, steps)
        self._low, self._cell = low.ravel().tolist(), cell.ravel().tolist()
        self._sums = np.zeros((CELLS + 1, CELLS + 1), dtype=np.int32)
        (~free).cumsum(axis=0, dtype=np.int32).cumsum(axis=1, out=self._sums[1:, 1:])
        many = max(1, CELLS * CELLS - int(self._sums[-1, -1]))
        columns, rows = (CELLS - (sums[1:] - sums[:-1]) for sums in (self._sums[-1], self._sums[:, -1]))  # free in each
        self._middle = float(columns @ _MIDDLES) / many, float(rows @ _MIDDLES) / many

    def place(self, width: float, tall: float, clear: float) -> tuple[float, float] | None:
        """Middle (mm) of a place for a box, the nearest found to the middle of the free part; None without one.

        Args:
            width: Of the box (mm).
            tall: Its height (mm).
            clear: Least distance (mm) between the box and every line.
        """
        (low_x, low_y), (wide, high) = self._low, self._cell
        across, up = (max(1, math.ceil((size + 2 * clear) / cell)) for size, cell in ((width, wide), (tall, high)))
        if across > CELLS or up > CELLS:
            return None
        sums = self._sums
        taken = sums[up:, across:] - sums[:-up, across:] - sums[up:, :-across] + sums[:-up, :-across]
        x, y = np.arange(taken.shape[1]) + across / 2, np.arange(taken.shape[0]) + up / 2
        off_x, off_y = (x - self._middle[0]) * wide, (y - self._middle[1]) * high
        away = np.where(taken, np.inf, off_x**2 + (off_y**2)[:, None])
        for spot in _nearest(away.ravel()):
            row, column = divmod(spot, len(x))
            centre = low_x + float(x[column]) * wide, low_y + float(y[row]) * high
            if self._stands_clear(centre, (width / 2 + clear, tall / 2 + clear)):
                return centre
        return None

    def _stands_clear(self, centre: tuple[float, float], half: tuple[float, float]) -> bool:
        """Whether no line touches a box, by the separating axes of a box and a segment."""
        (step_x, step_y), (off_x, off_y) = self._steps, self._middles - np.array(centre)[:, None]
        wide, tall = np.abs(self._steps)
        apart = (np.abs(off_x) >= half[0] + wide / 2) | (np.abs(off_y) >= half[1] + tall / 2)
        apart |= np.abs(off_x * step_y - off_y * step_x) >= half[0] * tall + half[1] * wide
        return bool(apart.all())


def _nearest(away: Line) -> Iterator[int]:
    """What to try: the least, then some of the others, spread over all that are not infinite, from the least on."""
    first = int(away.argmin())
    if away[first] == np.inf:
        return
    yield first
    free = np.flatnonzero(away < np.inf)
    yield from free[np.argsort(away[free], kind="stable")[:: max(1, len(free) // _TRIES)][1:_TRIES]].tolist()


def _crossed(starts: Line, steps: Line) -> NDArray[np.bool_]:
    """Cells that lines `(2, n)`, counted in cells, pass through: found at points less than half a cell apart."""
    counts = np.maximum(1, np.ceil(2.5 * np.abs(steps).max(axis=0))).astype(np.int64)
    which, number = _numbered(counts)
    places = starts.take(which, axis=1) + number / counts[which] * steps.take(which, axis=1)
    columns, rows = places.clip(0, CELLS - 1).astype(np.int64)
    crossed = np.zeros((CELLS, CELLS), dtype=np.bool_)
    crossed[rows, columns] = True
    return crossed


def _inside(outline: Line) -> NDArray[np.bool_]:
    """Cells whose middle lies inside an outline `(2, n)`, counted in cells, by counting crossings along each row."""
    x, y = outline
    step_x, step_y = np.concatenate([outline[:, 1:], outline[:, :1]], axis=1) - outline
    above = np.ceil(y - 0.5).astype(np.int64)  # the first row whose middle is not below
    next_above = np.concatenate([above[1:], above[:1]])
    edges, number = _numbered(np.abs(next_above - above))
    rows = np.minimum(above, next_above)[edges] + number
    meets = x[edges] + (rows + 0.5 - y[edges]) * step_x[edges] / step_y[edges]
    columns = np.ceil(meets - 0.5).clip(0, CELLS).astype(np.int64)
    flips = np.bincount(rows * (CELLS + 1) + columns, minlength=CELLS * (CELLS + 1)).reshape(CELLS, CELLS + 1)
    return np.asarray(flips[:, :CELLS].cumsum(axis=1) % 2 == 1)


def _numbered(counts: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Each index as often as its count says, and the number of each time, from 0."""
    which = np.repeat(np.arange(len(counts)), counts)
    return which, np.arange(len(which)) - (counts.cumsum() - counts)[which]
