"""Free room for a box of lettering inside a piece: looked for on a grid, judged exactly."""

import numpy as np
from numpy.typing import NDArray

CELLS = 64
"""Cells of the grid along each side of the piece."""
_TRIES = 12

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
        lines = [np.concatenate([outline, outline[:1]]), *obstacles]
        self._starts = np.concatenate([line[:-1] for line in lines])
        self._ends = np.concatenate([line[1:] for line in lines])
        self._low = outline.min(axis=0)
        self._cell = np.maximum((outline.max(axis=0) - self._low) / CELLS, 1e-9)
        blocked = _outside(outline, self._low, self._cell) | self._crossed()
        self._sums = np.zeros((CELLS + 1, CELLS + 1), dtype=np.int32)
        self._sums[1:, 1:] = blocked.cumsum(axis=0).cumsum(axis=1)
        rows, columns = np.nonzero(~blocked)
        free = np.column_stack([columns, rows]) + 0.5
        self._middle = free.mean(axis=0) if len(free) else np.zeros(2)

    def place(self, width: float, tall: float) -> tuple[float, float] | None:
        """Middle (mm) of a place for a box, the nearest found to the middle of the free part; None without one."""
        across, up = (np.array([width, tall]) + 2 * self._clear) / self._cell
        across, up = max(1, int(np.ceil(across))), max(1, int(np.ceil(up)))
        if across > CELLS or up > CELLS:
            return None
        sums = self._sums
        taken = sums[up:, across:] - sums[:-up, across:] - sums[up:, :-across] + sums[:-up, :-across]
        rows, columns = np.nonzero(taken == 0)
        if not len(rows):
            return None
        x, y = columns + across / 2, rows + up / 2
        away = ((x - self._middle[0]) * self._cell[0]) ** 2 + ((y - self._middle[1]) * self._cell[1]) ** 2
        for best in np.argsort(away, kind="stable")[:: max(1, len(away) // _TRIES)][:_TRIES].tolist():
            centre = self._low + np.array([x[best], y[best]]) * self._cell
            if self._stands_clear(centre, np.array([width, tall]) / 2 + self._clear):
                return float(centre[0]), float(centre[1])
        return None

    def _crossed(self) -> NDArray[np.bool_]:
        """Cells that a line passes through, found at points along the lines less than half a cell apart."""
        starts, steps = (self._starts - self._low) / self._cell, (self._ends - self._starts) / self._cell
        counts = np.maximum(1, np.ceil(2.5 * np.abs(steps).max(axis=1))).astype(np.int64)
        which = np.repeat(np.arange(len(starts)), counts)
        share = (np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)) / counts[which]
        cells = np.floor(starts[which] + share[:, None] * steps[which]).astype(np.int64)
        cells = np.clip(cells, 0, CELLS - 1)
        crossed = np.zeros((CELLS, CELLS), dtype=np.bool_)
        crossed[cells[:, 1], cells[:, 0]] = True
        return crossed

    def _stands_clear(self, centre: Line, half: Line) -> bool:
        """Whether no line touches a box, by the separating axes of a box and a segment."""
        middles, halves = (self._starts + self._ends) / 2 - centre, np.abs(self._ends - self._starts) / 2
        apart = (np.abs(middles) >= half + halves).any(axis=1)
        steps = self._ends - self._starts
        off = np.abs(middles[:, 0] * steps[:, 1] - middles[:, 1] * steps[:, 0])
        apart |= off >= half[0] * np.abs(steps[:, 1]) + half[1] * np.abs(steps[:, 0])
        return bool(apart.all())


def _outside(outline: Line, low: Line, cell: Line) -> NDArray[np.bool_]:
    """Cells whose middle lies outside, by counting crossings along each row."""
    x, y = ((outline - low) / cell).T
    x1, y1 = np.concatenate([x[1:], x[:1]]), np.concatenate([y[1:], y[:1]])
    rows = np.arange(CELLS) + 0.5
    edges, lines = np.nonzero((y[:, None] <= rows) != (y1[:, None] <= rows))
    meets = x[edges] + (rows[lines] - y[edges]) * (x1[edges] - x[edges]) / (y1[edges] - y[edges])
    columns = np.clip(np.ceil(meets - 0.5), 0, CELLS).astype(np.int64)
    flips = np.bincount(lines * (CELLS + 1) + columns, minlength=CELLS * (CELLS + 1)).reshape(CELLS, CELLS + 1)
    return np.asarray(flips[:, :CELLS].cumsum(axis=1) % 2 == 0)
