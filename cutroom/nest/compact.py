"""Compaction: all pieces moved at once, a little, to the least length that a linear programme finds."""

from collections.abc import Callable
from dataclasses import dataclass

import highspy
import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.kernels.near import first_overlap, write_rows
from cutroom.geometry.kernels.types import (
    FAR,
    HIGH,
    LEAST_X,
    LOW,
    REPEAT_X,
    REPEAT_Y,
    START_X,
    START_Y,
    TOLERANCE,
)
from cutroom.nest.grid import UNITS
from cutroom.nest.ground import Ground
from cutroom.nest.stock import Reals, Wholes

REACH = 0.05
"""How far a piece may move in one step, as a share of the width."""
STEPS = 6
"""Programmes one after another, at most."""
TIGHT = 0.1
"""Share of the reach: half-planes nearer than this are in a programme from its beginning, others once they are broken.
Of a thousand that might matter a few dozen do."""
ROUNDED = 1.01
"""How much nearer (units) two pieces may come, along or across, by being rounded to the grid and by what the solver
allows itself."""
ALLOWED = 1e-7
"""What the solver lets a row be broken by (mm): its own default."""


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """Pieces of a long layout that move by themselves; those beyond them move along the strip as one, others not.

    Attributes:
        loose: `(n,)`.
        beyond: `(n,)`.
    """

    loose: NDArray[np.bool_]
    beyond: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class _Rows:
    """Rows of a programme: so many times some of its columns come to no more than a limit.

    Attributes:
        columns: `(m, 4)`, -1 for none.
        values: `(m, 4)`, 0 where there is none.
        limits: `(m,)`, mm.
    """

    columns: Wholes
    values: Reals
    limits: Reals

    def kept(self, which: NDArray[np.bool_]) -> "_Rows":
        """Some of them."""
        return _Rows(self.columns[which], self.values[which], self.limits[which])

    def broken(self, shifts: Reals) -> NDArray[np.bool_]:
        """Which do not hold, by more than the solver allows itself."""
        come_to = (self.values * np.append(shifts, 0.0)[self.columns]).sum(axis=1)
        broken: NDArray[np.bool_] = come_to > self.limits + ALLOWED
        return broken

    def add_to(self, solver: highspy.Highs) -> None:
        """Add them all."""
        counted = self.columns >= 0
        starts = np.append(0, np.cumsum(counted.sum(axis=1))).astype(np.int32)
        free = np.full(len(self.limits), -np.inf)
        columns, values = self.columns[counted].astype(np.int32), self.values[counted]
        solver.addRows(len(self.limits), free, self.limits, len(columns), starts[:-1], columns, values)


class _Quiet(highspy.Highs):
    """A solver that prints no banner: it is told to be quiet before its callbacks are set up."""

    def __init__(self) -> None:
        super(highspy.Highs, self).__init__()
        self.setOptionValue("output_flag", False)


class Compactor:
    """A linear programme over the shifts of all pieces, with the length free."""

    def __init__(self, ground: Ground, left: Callable[[], float] = lambda: np.inf) -> None:
        """Set up a programme.

        Args:
            ground: Shapes and no-fit polygons.
            left: Seconds that are left; a programme that takes longer is given up.
        """
        self.ground, self.left = ground, left
        book = ground.stock.book
        self.parts = (book[1], book[2], book[4], book[5])
        self.points = book[3]
        self.width = ground.stock.problem.width * UNITS
        self.solver = _Quiet()
        self.solver.setOptionValue("threads", 1)
        self.solver.setOptionValue("presolve", "off")
        self.room = 4096

    def step(
        self, spots: Reals, worn: Wholes, reach: float, *, window: Window | None = None, exact: bool = False
    ) -> tuple[float, Reals] | None:
        """One programme: the least length (units), and the new spots; None when pieces cannot be got apart.

        Args:
            spots: `(n, 2)`, units.
            worn: `(n,)`.
            reach: How far a piece may move (units).
            window: The only pieces that move by themselves.
            exact: Leave room for rounding to the grid.
        """
        who, rows = self._rows(spots, worn, reach)
        limits = rows[:, 2]
        if exact:
            level = (np.abs(rows[:, 0]) < 1e-12) | (np.abs(rows[:, 1]) < 1e-12)
            slanted = limits - ROUNDED * np.abs(rows[:, :2]).sum(axis=1)
            limits = np.where(level, np.floor(limits + 1e-5), slanted)
        rooms, items = self.ground.rooms(worn), self.ground.items
        low, high = self._bounds(spots, rooms, reach)
        if (low > high).any():  # a place of the pattern that lies off the strip
            return None
        along, across, count = _columns(len(worn), window)
        one, two = who.T
        columns = np.column_stack([along[one], along[two], across[one], across[two]])
        values = np.column_stack([rows[:, 0], -rows[:, 0], rows[:, 1], -rows[:, 1]])
        now = rows[:, 0] * (spots[one, 0] - spots[two, 0]) + rows[:, 1] * (spots[one, 1] - spots[two, 1])
        apart = along[one] != along[two]  # what moves as one keeps its distance
        columns, values, limits = columns[apart], values[apart], (limits - now)[apart]
        ends = np.column_stack([along[:items], np.full(items, count)])
        columns = np.vstack([np.column_stack([ends, np.full((items, 2), -1)]), columns])
        values = np.vstack([np.tile([1.0, -1.0, 0.0, 0.0], (items, 1)), values])
        limits = np.append(-rooms[:items, FAR] - spots[:items, 0], limits)
        least = _by_column(low - spots, -reach, along, across, count)
        most = _by_column(high - spots, reach, along, across, count)
        bounds = np.append(least, 0.0) / UNITS, np.append(most / UNITS, np.inf)
        near = limits < TIGHT * reach
        near[:items] = True
        shifts = self._solve(bounds, _Rows(columns, values * (columns >= 0), limits / UNITS), near)
        if shifts is None:
            return None
        found = np.append(shifts * UNITS, 0.0)  # -1: does not move
        return float(found[count]), spots + np.column_stack([found[along], found[across]])

    def _solve(self, bounds: tuple[Reals, Reals], rows: _Rows, asked: NDArray[np.bool_]) -> Reals | None:
        """The shifts (mm), the last one least: with the rows asked for, then also those found broken, till none is."""
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(bounds[0]), 0
        lp.col_cost_ = np.append(np.zeros(len(bounds[0]) - 1), 1.0)
        lp.col_lower_, lp.col_upper_ = bounds
        self.solver.passModel(lp)
        waiting = ~asked
        while True:
            rows.kept(asked).add_to(self.solver)
            self.solver.setOptionValue("time_limit", self.solver.getRunTime() + max(self.left(), 0.0))
            self.solver.run()
            if self.solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
                return None
            shifts: Reals = np.asarray(self.solver.getSolution().col_value)
            asked = waiting & rows.broken(shifts)
            if not asked.any():
                return shifts
            waiting &= ~asked

    def _rows(self, spots: Reals, worn: Wholes, reach: float) -> tuple[Wholes, Reals]:
        """The half-planes that keep near pieces apart; see `geometry.kernels.near`."""
        while True:
            who, rows = np.zeros((self.room, 2), dtype=np.int64), np.zeros((self.room, 3))
            made = write_rows(2.0 * reach, spots, worn, self.ground.arrays, self.parts, who, rows)
            if made >= 0:
                return who[:made], rows[:made]
            self.room *= 2

    def _bounds(self, spots: Reals, rooms: Reals, reach: float) -> tuple[Reals, Reals]:
        """Where each piece may go: no further than its reach, in the strip, and in the same repeat of a pattern."""
        low, high = spots - reach, spots + reach
        slack = np.maximum(rooms[:, TOLERANCE] - 1.0, 0.0)
        for axis in range(2):
            held, met = _nearest_repeat(spots, rooms, axis)
            low[:, axis] = np.where(held, np.maximum(low[:, axis], met - slack), low[:, axis])
            high[:, axis] = np.where(held, np.minimum(high[:, axis], met + slack), high[:, axis])
        low[:, 0] = np.maximum(low[:, 0], rooms[:, LEAST_X])
        low[:, 1], high[:, 1] = np.maximum(low[:, 1], rooms[:, LOW]), np.minimum(high[:, 1], rooms[:, HIGH])
        fixed = ~self.ground.free
        low[fixed], high[fixed] = spots[fixed], spots[fixed]
        return low, np.where((high < low) & (high > low - 1.0), low, high)

    def pushed(self, spots: Reals, worn: Wholes, *, window: Window | None = None) -> tuple[float, Reals] | None:
        """Steps until the length no longer falls: it, and spots not on the grid yet; None when some stay overlapped.

        Args:
            spots: `(n, 2)`, units; pieces may overlap.
            worn: `(n,)`.
            window: The only pieces that move by themselves.
        """
        length, reach = np.inf, REACH * self.width
        for _ in range(STEPS):
            found = self.step(spots, worn, reach, window=window)
            if found is None:
                return None
            gained = length - found[0]
            length, spots = found
            if gained < 2e-5 * length:
                break
        return length, spots

    def gridded(self, spots: Reals, worn: Wholes) -> tuple[float, Reals] | None:
        """The layout on the grid, all giving way a little for it, proven apart, and its length (units); or None."""
        found = self.step(spots, worn, 0.02 * REACH * self.width, exact=True)
        return None if found is None else self.settled(found[1], worn)

    def shorten(self, spots: Reals, worn: Wholes) -> tuple[float, Reals] | None:
        """Pushed together and put on the grid, or None."""
        found = self.pushed(spots, worn)
        return None if found is None else self.gridded(found[1], worn)

    def settled(self, spots: Reals, worn: Wholes) -> tuple[float, Reals] | None:
        """Spots on the grid and their length (units), when no piece overlaps another and all meet the pattern."""
        whole = np.floor(spots + 0.5).astype(np.int64)
        rooms = self.ground.rooms(worn)
        free = self.ground.free
        whole[free, 0] = np.maximum(whole[free, 0], rooms[free, LEAST_X].astype(np.int64))
        whole[free, 1] = np.clip(whole[free, 1], rooms[free, LOW].astype(np.int64), rooms[free, HIGH].astype(np.int64))
        if self.first_overlap(whole, worn) >= 0 or not self._meets_pattern(whole, rooms):
            return None
        ends = (whole[:, 0] + rooms[:, FAR])[: self.ground.items]
        return float(ends.max()), whole.astype(np.float64)

    def _meets_pattern(self, spots: Wholes, rooms: Reals) -> bool:
        """Every piece that may move lies on its repeat of the cloth's pattern."""
        for axis in range(2):
            held, met = _nearest_repeat(spots, rooms, axis)
            if (np.abs(spots[:, axis] - met) > rooms[:, TOLERANCE] + 1.0)[held & self.ground.free].any():
                return False
        return True

    def first_overlap(self, spots: Wholes, worn: Wholes) -> int:
        """The first piece that overlaps one before it, or -1. Exact."""
        parts, part_starts, boxes, _ = self.parts
        return int(first_overlap(spots, worn, self.ground.arrays, parts, part_starts, self.points, boxes))


def _columns(pieces: int, window: Window | None) -> tuple[Wholes, Wholes, int]:
    """For each piece the columns of its shift along and across, -1 for none; and how many columns there are."""
    if window is None:
        return 2 * np.arange(pieces), 2 * np.arange(pieces) + 1, 2 * pieces
    loose = np.flatnonzero(window.loose)
    along, across = np.full(pieces, -1), np.full(pieces, -1)
    along[loose], across[loose] = 2 * np.arange(len(loose)), 2 * np.arange(len(loose)) + 1
    along[window.beyond] = 2 * len(loose)
    return along, across, 2 * len(loose) + 1


def _nearest_repeat(spots: Reals | Wholes, rooms: Reals, axis: int) -> tuple[NDArray[np.bool_], Reals]:
    """Which pieces a pattern holds along an axis, 0 or 1, and the place of its repeat nearest to each."""
    repeat, start = (REPEAT_X, START_X) if axis == 0 else (REPEAT_Y, START_Y)
    held = rooms[:, repeat] > 0
    step = np.where(held, rooms[:, repeat], 1.0)
    return held, rooms[:, start] + np.floor((spots[:, axis] - rooms[:, start]) / step + 0.5) * step


def _by_column(room: Reals, block: float, along: Wholes, across: Wholes, count: int) -> Reals:
    """A bound of each column: `room` `(n, 2)` of pieces that move by themselves, `block` of those that do as one."""
    bounds = np.full(count, block)
    loose = np.flatnonzero(across >= 0)
    bounds[along[loose]], bounds[across[loose]] = room[loose, 0], room[loose, 1]
    return bounds
