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

    def __init__(self, outline: Line, obstacles: list[Line], clear: float) -> None:
        """Lay a grid over the outline and mark the cells that a line passes through or that lie outside.

        Args:
            outline: `(n, 2)`, closed without repeating the first point (mm).
            obstacles: Lines (mm).
            clear: Least distance (mm) between the box and every line.
        """
        self._clear = clear
        starts = np.concatenate([outline, *(line[:-1] for line in obstacles)]).T.copy()
        ends = np.concatenate([outline[1:], outline[:1], *(line[1:] for line in obstacles)]).T.copy()
        self._x, self._y = (_Side(*side, len(outline)) for side in zip(starts, ends, strict=True))
        free = _inside(self._x, self._y, len(outline)) & ~_crossed(self._x, self._y)
        self._sums = np.zeros((CELLS + 1, CELLS + 1), dtype=np.int32)
        (~free).cumsum(axis=0, dtype=np.int32).cumsum(axis=1, out=self._sums[1:, 1:])
        many = max(1, CELLS * CELLS - int(self._sums[-1, -1]))
        self._middle = float(free.sum(axis=0) @ _MIDDLES) / many, float(free.sum(axis=1) @ _MIDDLES) / many

    def place(self, width: float, tall: float) -> tuple[float, float] | None:
        """Middle (mm) of a place for a box, the nearest found to the middle of the free part; None without one."""
        across = max(1, math.ceil((width + 2 * self._clear) / self._x.cell))
        up = max(1, math.ceil((tall + 2 * self._clear) / self._y.cell))
        if across > CELLS or up > CELLS:
            return None
        sums = self._sums
        taken = sums[up:, across:] - sums[:-up, across:] - sums[up:, :-across] + sums[:-up, :-across]
        x, y = np.arange(taken.shape[1]) + across / 2, np.arange(taken.shape[0]) + up / 2
        off_x, off_y = (x - self._middle[0]) * self._x.cell, (y - self._middle[1]) * self._y.cell
        away = np.where(taken, np.inf, off_x**2 + (off_y**2)[:, None])
        for spot in _nearest(away.ravel()):
            row, column = divmod(spot, len(x))
            centre = self._x.low + float(x[column]) * self._x.cell, self._y.low + float(y[row]) * self._y.cell
            if self._stands_clear(centre, (width / 2 + self._clear, tall / 2 + self._clear)):
                return centre
        return None

    def _stands_clear(self, centre: tuple[float, float], half: tuple[float, float]) -> bool:
        """Whether no line touches a box, by the separating axes of a box and a segment."""
        off_x, off_y = self._x.middles - centre[0], self._y.middles - centre[1]
        wide, tall = np.abs(self._x.steps), np.abs(self._y.steps)
        apart = (np.abs(off_x) >= half[0] + wide / 2) | (np.abs(off_y) >= half[1] + tall / 2)
        apart |= np.abs(off_x * self._y.steps - off_y * self._x.steps) >= half[0] * tall + half[1] * wide
        return bool(apart.all())


class _Side:
    """The segments of all lines seen along one side of the grid: in mm, and as the grid counts."""

    def __init__(self, starts: Line, ends: Line, outline: int) -> None:
        self.low = float(starts[:outline].min())
        self.cell = max((float(starts[:outline].max()) - self.low) / CELLS, 1e-9)
        self.steps, self.middles = ends - starts, (starts + ends) / 2
        self.starts_on_grid, self.steps_on_grid = (starts - self.low) / self.cell, self.steps / self.cell


def _nearest(away: Line) -> Iterator[int]:
    """What to try: the least, then some of the others, spread over all that are not infinite, from the least on."""
    first = int(away.argmin())
    if away[first] == np.inf:
        return
    yield first
    free = np.flatnonzero(away < np.inf)
    yield from free[np.argsort(away[free], kind="stable")[:: max(1, len(free) // _TRIES)][1:_TRIES]].tolist()


def _crossed(x: _Side, y: _Side) -> NDArray[np.bool_]:
    """Cells that a line passes through, found at points along the lines less than half a cell apart."""
    counts = np.ceil(2.5 * np.maximum(np.abs(x.steps_on_grid), np.abs(y.steps_on_grid))).astype(np.int64)
    which, number = _numbered(np.maximum(counts, 1))
    share = number / np.maximum(counts, 1)[which]
    columns, rows = (
        np.clip(side.starts_on_grid[which] + share * side.steps_on_grid[which], 0, CELLS - 1).astype(np.int64)
        for side in (x, y)
    )
    crossed = np.zeros((CELLS, CELLS), dtype=np.bool_)
    crossed[rows, columns] = True
    return crossed


def _inside(x: _Side, y: _Side, outline: int) -> NDArray[np.bool_]:
    """Cells whose middle lies inside the outline, the first lines of all, by counting crossings along each row."""
    x0, y0 = x.starts_on_grid[:outline], y.starts_on_grid[:outline]
    x1, y1 = np.concatenate([x0[1:], x0[:1]]), np.concatenate([y0[1:], y0[:1]])
    above = np.ceil(y0 - 0.5).astype(np.int64)  # the first row whose middle is not below
    next_above = np.concatenate([above[1:], above[:1]])
    edges, number = _numbered(np.abs(next_above - above))
    rows = np.minimum(above, next_above)[edges] + number
    meets = x0[edges] + (rows + 0.5 - y0[edges]) * (x1 - x0)[edges] / (y1 - y0)[edges]
    columns = np.clip(np.ceil(meets - 0.5), 0, CELLS).astype(np.int64)
    flips = np.bincount(rows * (CELLS + 1) + columns, minlength=CELLS * (CELLS + 1)).reshape(CELLS, CELLS + 1)
    return np.asarray(flips[:, :CELLS].cumsum(axis=1) % 2 == 1)


def _numbered(counts: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Each index as often as its count says, and the number of each time, from 0."""
    which = np.repeat(np.arange(len(counts)), counts)
    return which, np.arange(len(which)) - (counts.cumsum() - counts)[which]
