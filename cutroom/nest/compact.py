"""Compaction: all pieces moved at once, a little, to the least length that a linear programme finds."""

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

    def __init__(self, ground: Ground) -> None:
        self.ground = ground
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
        rooms = self.ground.arrays[5][worn]
        low = np.column_stack(
            [np.maximum(spots[:, 0] - reach, rooms[:, 0]), np.maximum(spots[:, 1] - reach, rooms[:, 2])]
        )
        high = np.column_stack([spots[:, 0] + reach, np.minimum(spots[:, 1] + reach, rooms[:, 3])])
        high = np.maximum(high, low)
        columns = np.column_stack([2 * who[:, 0], 2 * who[:, 1], 2 * who[:, 0] + 1, 2 * who[:, 1] + 1])
        values = np.column_stack([rows[:, 0], -rows[:, 0], rows[:, 1], -rows[:, 1]])
        ends = np.column_stack([2 * np.arange(count), np.full(count, 2 * count)])
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = 2 * count + 1, made + count
        lp.col_cost_ = np.append(np.zeros(2 * count), 1.0)
        lp.col_lower_ = np.append(low.ravel(), 0.0) / UNITS
        lp.col_upper_ = np.append(high.ravel() / UNITS, np.inf)
        lp.row_lower_ = np.full(made + count, -np.inf)
        lp.row_upper_ = np.append(limits, -rooms[:, 1]) / UNITS
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.append(np.arange(0, 4 * made, 4), 4 * made + np.arange(0, 2 * count + 1, 2))
        lp.a_matrix_.index_ = np.append(columns.ravel(), ends.ravel())
        lp.a_matrix_.value_ = np.append(values.ravel(), np.tile([1.0, -1.0], count))
        self.solver.passModel(lp)
        self.solver.run()
        if self.solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        found = np.asarray(self.solver.getSolution().col_value) * UNITS
        return float(found[-1]), np.ascontiguousarray(found[:-1].reshape(-1, 2))

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
        whole[:, 0] = np.maximum(whole[:, 0], np.ceil(rooms[:, 0] / STEP - 1e-5).astype(np.int64) * STEP)
        whole[:, 1] = np.clip(whole[:, 1], rooms[:, 2].astype(np.int64), rooms[:, 3].astype(np.int64))
        parts, part_starts, boxes, _ = self.parts
        if first_overlap(whole, worn, self.ground.arrays, parts, part_starts, self.points, boxes) >= 0:
            return None
        return float((whole[:, 0] + rooms[:, 1]).max()), whole.astype(np.float64)
