"""How deep a point lies in a no-fit polygon, and the way out: what the search minimises. It proposes, never judges.

A grid over each polygon tells at one glance how deep a point lies at least, or that it lies outside. Most places that a
search tries are too bad already by that.
"""

import numpy as np
from numba import njit, types
from numpy.typing import NDArray

from cutroom.geometry.kernels.loop import bare, greater, inner, lesser
from cutroom.geometry.kernels.types import (
    FIELD,
    FLAGS,
    FLAGS_OUT,
    OUT,
    REAL_ROWS,
    REAL_ROWS_OUT,
    REALS_OUT,
    SHORTS_OUT,
    SLIVER,
    WHOLES,
    Field,
    Shorts,
    Wholes,
)

Reals = NDArray[np.float64]

X0, Y0, Y1, SLOPE, ALONG, ACROSS, SIZE = range(7)
"""Rows of a field's lines: start; end across; x a unit of y; unit direction; length."""
LEFT, BOTTOM, PER_X, PER_Y, COLUMNS, FIRST = range(6)
"""Columns of a field's grids: where it starts; cells a unit; cells in a row; its first cell."""


@njit(types.float64(REAL_ROWS_OUT, FLAGS_OUT), cache=True, nogil=True)
def join_ends(edges: Reals, loose: NDArray[np.bool_]) -> float:
    """Close the loops of a border: an edge's end is moved to the start nearest to it, across slivers that were dropped.

    Edges that lead nowhere are loose: spots and slits of exact fit, and stumps that lie along others. They bound no
    area, so no ray may count them.

    Args:
        edges: `(n, 4)`, x0 y0 x1 y1 (units); is changed.
        loose: `(n,)`, is written.

    Returns:
        Length (units) of the longest stump.
    """
    count, longest = len(edges), 0.0
    follows, leads = np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.int64)
    sizes = np.zeros(count)
    for row in range(count):
        sizes[row] = abs(edges[row, 2] - edges[row, 0]) + abs(edges[row, 3] - edges[row, 1])
        loose[row] = sizes[row] <= SLIVER
    while True:
        for row in range(count):
            follows[row], leads[row] = -1, -1
        for row in range(count):
            best = 4.0 * SLIVER
            for other in range(count):
                if loose[row] or loose[other] or other == row or leads[other] >= 0:
                    continue
                apart = abs(edges[row, 2] - edges[other, 0]) + abs(edges[row, 3] - edges[other, 1])
                if apart < best:
                    best, follows[row] = apart, other
            if follows[row] >= 0:
                leads[follows[row]] = row
        stump = -1
        for row in range(count):
            alone = not loose[row] and (follows[row] < 0 or leads[row] < 0)
            if alone and (stump < 0 or sizes[row] < sizes[stump]):
                stump = row
        if stump < 0:
            break
        loose[stump], longest = True, max(longest, sizes[stump])
    for row in range(count):
        if not loose[row]:
            edges[row, 2], edges[row, 3] = edges[follows[row], 0], edges[follows[row], 1]
    return longest


@bare(types.void(REAL_ROWS, FLAGS, REAL_ROWS_OUT))
def write_lines(edges: Reals, loose: NDArray[np.bool_], lines: Reals) -> None:
    """Edges as the other kernels here want them.

    Args:
        edges: `(n, 4)`, x0 y0 x1 y1 (units), their ends joined.
        loose: `(n,)`, edges that no ray may count.
        lines: `(7, n)`, is written.
    """
    for row in range(len(edges)):
        along, across = edges[row, 2] - edges[row, 0], edges[row, 3] - edges[row, 1]
        size = np.sqrt(along * along + across * across)
        lines[X0, row], lines[Y0, row] = edges[row, 0], edges[row, 1]
        lines[Y1, row] = edges[row, 1] if loose[row] else edges[row, 3]
        lines[SLOPE, row] = along / across if across != 0.0 else 0.0
        lines[ALONG, row] = along / size if size > 0.0 else 0.0
        lines[ACROSS, row] = across / size if size > 0.0 else 0.0
        lines[SIZE, row] = size


@inner(types.boolean(REAL_ROWS, types.int64, types.int64, types.float64, types.float64))
def _is_within(lines: Reals, start: int, end: int, x: float, y: float) -> bool:
    """A point lies inside a border, columns `start` to `end` of `lines` `(7, n)`."""
    crossed = 0
    for row in range(np.uint64(start), np.uint64(end)):
        x0, y0, y1, slope = lines[X0, row], lines[Y0, row], lines[Y1, row], lines[SLOPE, row]
        crossed += ((y0 > y) != (y1 > y)) & (x < x0 + (y - y0) * slope)
    return crossed % 2 == 1


@inner(types.float64(REAL_ROWS, types.int64, types.int64, types.float64, types.float64))
def _apart(lines: Reals, start: int, end: int, x: float, y: float) -> float:
    """How far (units) a point is from a border, columns `start` to `end` of `lines` `(7, n)`."""
    best = np.inf
    for row in range(np.uint64(start), np.uint64(end)):
        dx, dy, along, across = x - lines[X0, row], y - lines[Y0, row], lines[ALONG, row], lines[ACROSS, row]
        share = lesser(greater(dx * along + dy * across, 0.0), lines[SIZE, row])
        dx, dy = dx - share * along, dy - share * across
        best = lesser(dx * dx + dy * dy, best)
    return float(np.sqrt(best))


@bare(types.void(REAL_ROWS, WHOLES, REAL_ROWS, SHORTS_OUT))
def write_cells(lines: Reals, starts: Wholes, grids: Reals, cells: Shorts) -> None:
    """Fill the grids: a point is no further from the middle of its cell than half the cell's diagonal.

    Args:
        lines: See `types.FIELD`.
        starts: Likewise.
        grids: Likewise.
        cells: Likewise, is written.
    """
    for pair in range(len(grids)):
        start, end, first = starts[pair], starts[pair + 1], int(grids[pair, FIRST])
        wide, high, columns = 1.0 / grids[pair, PER_X], 1.0 / grids[pair, PER_Y], int(grids[pair, COLUMNS])
        reach = 0.5 * np.sqrt(wide * wide + high * high) + 1.0
        last = int(grids[pair + 1, FIRST]) if pair + 1 < len(grids) else len(cells)
        for cell in range(last - first):
            x = grids[pair, LEFT] + (cell % columns + 0.5) * wide
            y = grids[pair, BOTTOM] + (cell // columns + 0.5) * high
            apart = _apart(lines, start, end, x, y)
            cells[first + cell] = 0
            if apart > reach:
                cells[first + cell] = int(apart - reach) if _is_within(lines, start, end, x, y) else OUT


@inner(types.int64(FIELD, types.int64, types.float64, types.float64))
def least_depth(field: Field, pair: int, x: float, y: float) -> int:
    """How deep (units) a point in the box of a polygon lies in it at least, at one glance; OUT outside."""
    grid = field[2][np.uint64(pair)]
    column, row = int((x - grid[LEFT]) * grid[PER_X]), int((y - grid[BOTTOM]) * grid[PER_Y])
    return int(field[3][np.uint64(int(grid[FIRST]) + row * int(grid[COLUMNS]) + column)])


@inner(types.float64(FIELD, types.int64, types.float64, types.float64, types.int64))
def depth_from(field: Field, pair: int, x: float, y: float, least: int) -> float:
    """The depth of a point whose least depth is known already; arguments as in `depth`."""
    start, end = field[0][np.uint64(pair)], field[0][np.uint64(pair + 1)]
    if least == OUT or (least == 0 and not _is_within(field[1], start, end, x, y)):
        return 0.0
    return float(_apart(field[1], start, end, x, y))


@inner(types.float64(FIELD, types.int64, types.float64, types.float64))
def depth(field: Field, pair: int, x: float, y: float) -> float:
    """How far (units) a point inside a polygon is from its border; 0 outside.

    Args:
        field: See `types.FIELD`.
        pair: The polygon.
        x: The point (units), within the polygon's box.
        y: The point (units).
    """
    return depth_from(field, pair, x, y, least_depth(field, pair, x, y))


@inner(types.void(FIELD, types.int64, types.float64, types.float64, REALS_OUT))
def way_out(field: Field, pair: int, x: float, y: float, out: Reals) -> None:
    """The shortest way (units) from a point to the border of a polygon, along and across, to `out` `(2,)`."""
    lines, best = field[1], np.inf
    for row in range(field[0][pair], field[0][pair + 1]):
        dx, dy = x - lines[X0, row], y - lines[Y0, row]
        share = min(max(dx * lines[ALONG, row] + dy * lines[ACROSS, row], 0.0), lines[SIZE, row])
        dx, dy = share * lines[ALONG, row] - dx, share * lines[ACROSS, row] - dy
        if dx * dx + dy * dy < best:
            best = dx * dx + dy * dy
            out[0], out[1] = dx, dy
