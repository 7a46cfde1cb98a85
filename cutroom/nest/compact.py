"""Compaction: all pieces moved at once, a little, to the least length that a linear programme finds."""

from collections.abc import Callable

import highspy
import numpy as np

from cutroom.geometry.kernels.near import first_overlap, write_rows
from cutroom.nest.grid import STEP, UNITS
from cutroom.nest.ground import Ground
from cutroom.nest.stock import Reals, Wholes

REACH = 0.05
"""How far a piece may move in one step, as a share of the width."""


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

    def step(self, spots: Reals, worn: Wholes, reach: float, *, exact: bool = False) -> tuple[float, Reals] | None:
        """One programme: the least length (units), and the new spots; None when pieces cannot be got apart.

        Args:
            spots: `(n, 2)`, units.
            worn: `(n,)`.
            reach: How far a piece may move (units).
            exact: Leave room for rounding to the grid.
        """
        count = len(worn)
        while True:
            who, rows = np.zeros((self.room, 2), dtype=np.int64), np.zeros((self.room, 3))
            made = write_rows(2.0 * reach, spots, worn, self.ground.arrays, self.parts, who, rows)
            if made >= 0:
                break
            self.room *= 2
        who, rows = who[:made], rows[:made]
        limits = rows[:, 2]
        if exact:
            level = (np.abs(rows[:, 0]) < 1e-12) | (np.abs(rows[:, 1]) < 1e-12)
            limits = np.where(
                level, np.floor(limits / STEP + 1e-9) * STEP, limits - STEP * np.abs(rows[:, :2]).sum(axis=1)
            )
        rooms, items = self.ground.arrays[5][worn], self.ground.items
        low, high = self._bounds(spots, rooms, reach)
        columns = np.column_stack([2 * who[:, 0], 2 * who[:, 1], 2 * who[:, 0] + 1, 2 * who[:, 1] + 1])
        values = np.column_stack([rows[:, 0], -rows[:, 0], rows[:, 1], -rows[:, 1]])
        ends = np.column_stack([2 * np.arange(items), np.full(items, 2 * count)])
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = 2 * count + 1, made + items
        lp.col_cost_ = np.append(np.zeros(2 * count), 1.0)
        lp.col_lower_ = np.append(low.ravel(), 0.0) / UNITS
        lp.col_upper_ = np.append(high.ravel() / UNITS, np.inf)
        lp.row_lower_ = np.full(made + items, -np.inf)
        lp.row_upper_ = np.append(limits, -rooms[:items, 1]) / UNITS
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.append(np.arange(0, 4 * made, 4), 4 * made + np.arange(0, 2 * items + 1, 2))
        lp.a_matrix_.index_ = np.append(columns.ravel(), ends.ravel())
        lp.a_matrix_.value_ = np.append(values.ravel(), np.tile([1.0, -1.0], items))
        self.solver.setOptionValue("time_limit", self.solver.getRunTime() + max(self.left(), 0.0))
        self.solver.passModel(lp)
        self.solver.run()
        if self.solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        found = np.asarray(self.solver.getSolution().col_value) * UNITS
        return float(found[-1]), np.ascontiguousarray(found[:-1].reshape(-1, 2))

    def _bounds(self, spots: Reals, rooms: Reals, reach: float) -> tuple[Reals, Reals]:
        """Where each piece may go: no further than its reach, in the strip, and in the same repeat of a pattern."""
        low, high = spots - reach, spots + reach
        for axis, (repeat, start) in enumerate(((4, 5), (6, 7))):
            held = rooms[:, repeat] > 0
            step = np.where(held, rooms[:, repeat], 1.0)
            met = rooms[:, start] + np.floor((spots[:, axis] - rooms[:, start]) / step + 0.5) * step
            slack = np.maximum(rooms[:, 8] - STEP, 0.0)
            low[:, axis] = np.where(held, np.maximum(low[:, axis], met - slack), low[:, axis])
            high[:, axis] = np.where(held, np.minimum(high[:, axis], met + slack), high[:, axis])
        low[:, 0] = np.maximum(low[:, 0], rooms[:, 0])
        low[:, 1], high[:, 1] = np.maximum(low[:, 1], rooms[:, 2]), np.minimum(high[:, 1], rooms[:, 3])
        fixed = ~self.ground.free
        low[fixed], high[fixed] = spots[fixed], spots[fixed]
        return low, np.maximum(high, low)

    def shorten(self, spots: Reals, worn: Wholes, steps: int = 6, goal: float = np.inf) -> tuple[float, Reals] | None:
        """Steps until the length no longer falls: the layout on the grid, proven apart, or None."""
        length, reach = np.inf, REACH * self.width
        for _ in range(steps):
            found = self.step(spots, worn, reach)
            if found is None:
                return None
            gained = length - found[0]
            length, spots = found
            if gained < 2e-5 * length:
                break
        if length >= goal:
            return None
        found = self.step(spots, worn, 0.1 * reach, exact=True)
        if found is None:
            return None
        return self.settled(found[1], worn)

    def settled(self, spots: Reals, worn: Wholes) -> tuple[float, Reals] | None:
        """Spots on the grid and their length (units), when no piece overlaps another."""
        whole = np.floor(spots / STEP + 0.5).astype(np.int64) * STEP
        rooms = self.ground.arrays[5][worn]
        free = self.ground.free
        whole[free, 0] = np.maximum(whole[free, 0], np.ceil(rooms[free, 0] / STEP - 1e-5).astype(np.int64) * STEP)
        whole[free, 1] = np.clip(whole[free, 1], rooms[free, 2].astype(np.int64), rooms[free, 3].astype(np.int64))
        if self.first_overlap(whole, worn) >= 0:
            return None
        ends = (whole[:, 0] + rooms[:, 1])[: self.ground.items]
        return float(ends.max()), whole.astype(np.float64)

    def first_overlap(self, spots: Wholes, worn: Wholes) -> int:
        """The first piece that overlaps one before it, or -1. Exact."""
        parts, part_starts, boxes, _ = self.parts
        return int(first_overlap(spots, worn, self.ground.arrays, parts, part_starts, self.points, boxes))
