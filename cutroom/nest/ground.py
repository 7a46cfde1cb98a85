"""The stock as the local search and the linear programme want it: regions by pairs of ways to lie, borders closed."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.kernels.depth import join_ends, write_cells, write_lines
from cutroom.geometry.kernels.types import Field
from cutroom.geometry.polygon import area
from cutroom.geometry.union import union_border
from cutroom.nest.grid import UNITS, units_up
from cutroom.nest.problem import Pose
from cutroom.nest.side_by_side import side_by_side
from cutroom.nest.stock import Reals, Stock, Variant, Wholes

CELLS, MOST_CELLS = 400, 64
"""Cells of a grid, about; and in a row or a column at most."""
STUMP = 50.0
"""Units. A border with a stump longer than this is drawn anew."""


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """What does not change in a search.

    Attributes:
        stock: Shapes and no-fit polygons.
        arrays: `geometry.kernels.types.GROUND`.
        sizes: `(n + k,)`, of each item and fixture (units): the root of its area.
        free: `(n + k,)`, which of them may move.
        middles: `(v, 2)`, the middle of each way's box (units).
    """

    stock: Stock
    arrays: tuple[Wholes, Reals, Reals, Reals, Field]
    sizes: Reals
    middles: Reals
    free: NDArray[np.bool_]

    @property
    def items(self) -> int:
        """How many items there are; fixtures follow after them."""
        return len(self.stock.choices)

    @property
    def ways(self) -> tuple[tuple[tuple[Pose, Variant], ...], ...]:
        """For each item, its poses and the way of each."""
        return self.stock.choices

    def rooms(self, worn: Wholes) -> Reals:
        """The room of each piece by the way it lies; see `geometry.kernels.types.GROUND`."""
        rooms: Reals = self.arrays[3][worn]
        return rooms


def lay_out(stock: Stock) -> Ground:
    """Make a stock ready for the local search."""
    _, parts, part_starts, points, _, _, _, border_starts, borders = stock.book
    problem, ways = stock.problem, (*stock.variants, *(one.variant for one in stock.fixtures))
    pairs, signs, boxes = _met(stock, ways)
    lines = [np.zeros((7, 0))] * (len(parts) - 1)

    def close(pair: int) -> None:
        edges = borders[border_starts[pair] : border_starts[pair + 1]].copy()
        loose = np.zeros(len(edges), dtype=np.bool_)
        if join_ends(edges, loose) > STUMP:
            outlines = [points[part_starts[k] : part_starts[k + 1]] for k in range(parts[pair], parts[pair + 1])]
            border = union_border(outlines)
            edges, loose = np.vstack([border, edges[loose]]), np.append(np.zeros(len(border)), np.ones(sum(loose))) > 0
        lines[pair] = np.zeros((7, len(edges)))
        write_lines(edges, loose, lines[pair])

    side_by_side(close, range(len(lines)))
    starts = np.concatenate([[0], np.cumsum([line.shape[1] for line in lines])]).astype(np.int64)
    boxes[len(stock.variants) :, len(stock.variants) :] = 0.0  # fixtures do not mind each other
    rooms = np.array([_room(way) for way in ways])
    free = np.isin(np.arange(len(stock.choices) + len(stock.fixtures)), problem.free)
    sizes = [np.sqrt(area(item.outline)) * UNITS for item in problem.items]
    sizes += [np.sqrt(max(area(outline), 1.0)) * UNITS for outline in problem.forbidden]
    sizes += [max(sizes)] * (len(free) - len(sizes))
    middles = np.array([[way.box[0] + way.box[2], way.box[1] + way.box[3]] for way in ways]) * (UNITS / 2)
    arrays = (pairs, signs, boxes, rooms, _field(np.hstack(lines), starts, stock.book[6]))
    return Ground(stock, arrays, np.array(sizes), middles, free)


def _met(stock: Stock, ways: tuple[Variant, ...]) -> tuple[Wholes, Reals, Reals]:
    """Of each way that moves and each that lies: the pair in the book, the sign of its region, and the region's box.

    The rule is that of `geometry.kernels.spots.look_up`.
    """
    table, pair_boxes = stock.book[0], stock.book[6]
    forms, turned = np.array([way.form for way in ways]), np.array([way.sign for way in ways])
    mover, lies = forms[:, None], forms[None, :]
    alike = np.where(turned[:, None] == turned[None, :], 0, 1)
    pairs = table[np.maximum(mover, lies), np.minimum(mover, lies), alike]
    signs = np.where(lies >= mover, turned[None, :], -turned[:, None])
    boxes = pair_boxes[pairs] * signs[..., None].astype(np.float64)
    boxes[signs < 0] = boxes[signs < 0][:, [2, 3, 0, 1]]
    return pairs, signs.astype(np.float64), boxes


def _field(lines: Reals, starts: Wholes, boxes: Reals | Wholes) -> Field:
    """A grid over the box of each border; see `geometry.kernels.types.FIELD`."""
    lines, sides = np.ascontiguousarray(lines), boxes[:, 2:] - boxes[:, :2] + 1.0
    counts = np.clip(np.round(sides / np.sqrt(sides.prod(axis=1) / CELLS)[:, None]), 1, MOST_CELLS)
    made = np.cumsum(counts.prod(axis=1))
    grids = np.column_stack([boxes[:, :2], counts / sides, counts[:, 0], np.append(0, made[:-1])[: len(made)]])
    cells = np.zeros(int(made[-1]) if len(made) else 0, dtype=np.int32)
    write_cells(lines, starts, grids, cells)
    return starts, lines, grids, cells


def _room(way: Variant) -> list[float]:
    lattice = way.lattice
    pattern = [lattice.repeat[0], lattice.start[0], lattice.repeat[1], lattice.start[1]]
    return [units_up(-way.box[0]), way.box[2] * UNITS, way.low, way.high, *pattern, lattice.tolerance]
