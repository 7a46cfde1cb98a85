"""How deep a point lies in a no-fit polygon, and the way out: what the search minimises. It proposes, never judges."""

import numpy as np
from numba import njit, types
from numpy.typing import NDArray

from cutroom.geometry.kernels.types import FLAGS, FLAGS_OUT, REAL_ROWS, REAL_ROWS_OUT, REALS_OUT, SLIVER

Reals = NDArray[np.float64]

X0, Y0, Y1, SLOPE, ALONG, ACROSS, SIZE = range(7)
"""Rows of `lines`: start; end across; x a unit of y; unit direction; length."""


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


@njit(types.void(REAL_ROWS, FLAGS, REAL_ROWS_OUT), cache=True, nogil=True)
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


@njit(
    types.float64(REAL_ROWS, types.int64, types.int64, types.float64, types.float64),
    cache=True,
    nogil=True,
    fastmath={"nnan", "nsz"},
)
def depth(lines: Reals, start: int, end: int, x: float, y: float) -> float:
    """How far (units) a point inside a region is from its border; 0 outside.

    Args:
        lines: `(7, n)`; columns `start` to `end` are the border.
        start: First column.
        end: Column after the last.
        x: The point (units).
        y: The point (units).
    """
    x0, y0, y1 = lines[X0, start:end], lines[Y0, start:end], lines[Y1, start:end]
    slope = lines[SLOPE, start:end]
    crossed = 0
    for row in range(end - start):  # slices first: plain ranges of columns do not vectorise
        crossed += ((y0[row] > y) != (y1[row] > y)) & (x < x0[row] + (y - y0[row]) * slope[row])
    if crossed % 2 == 0:
        return 0.0
    along, across, size = lines[ALONG, start:end], lines[ACROSS, start:end], lines[SIZE, start:end]
    best = np.inf
    for row in range(end - start):
        dx, dy = x - x0[row], y - y0[row]
        share = dx * along[row] + dy * across[row]
        share = share if share > 0.0 else 0.0  # noqa: FURB136 - min and max do not vectorise
        share = share if share < size[row] else size[row]  # noqa: FURB136
        dx, dy = dx - share * along[row], dy - share * across[row]
        apart = dx * dx + dy * dy
        best = apart if apart < best else best  # noqa: FURB136
    return float(np.sqrt(best))


@njit(types.void(REAL_ROWS, types.int64, types.int64, types.float64, types.float64, REALS_OUT), cache=True, nogil=True)
def way_out(lines: Reals, start: int, end: int, x: float, y: float, out: Reals) -> None:
    """The shortest way from a point to a border; arguments as in `depth`.

    Args:
        lines: Border.
        start: First column.
        end: Column after the last.
        x: The point (units).
        y: The point (units).
        out: `(2,)`, is written: along x and y (units).
    """
    best = np.inf
    for row in range(start, end):
        dx, dy = x - lines[X0, row], y - lines[Y0, row]
        share = min(max(dx * lines[ALONG, row] + dy * lines[ACROSS, row], 0.0), lines[SIZE, row])
        dx, dy = share * lines[ALONG, row] - dx, share * lines[ACROSS, row] - dy
        if dx * dx + dy * dy < best:
            best = dx * dx + dy * dy
            out[0], out[1] = dx, dy
