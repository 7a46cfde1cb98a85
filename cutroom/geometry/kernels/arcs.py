"""Arcs through the corners of a line."""

import math

import numpy as np
from numba import njit, types
from numpy.typing import NDArray

from cutroom.geometry.kernels.types import REAL_ROWS, REAL_ROWS_OUT, REALS, REALS_OUT, WHOLES, WHOLES_OUT

Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]

FEWEST = 4
"""Bits that an arc takes the place of at least."""
WIDEST = math.pi * 0.999
"""An arc sweeps no more than this (radians), so that its middle is never in doubt."""
LARGEST = 5000.0
"""Greatest radius (mm): flatter bits are left as they are."""

_FITTED: types.Type = types.Tuple((REAL_ROWS_OUT, REALS_OUT, WHOLES_OUT))  # type: ignore[no-untyped-call]


@njit(types.float64(REAL_ROWS, types.int64, types.int64, types.float64), cache=True, nogil=True)
def _bulge_over(points: Reals, start: int, end: int, within: float) -> float:
    """The bulge of the arc through two corners and one between, or 0 when those between lie off it."""
    middle = (start + end) // 2
    ax, ay = points[start]
    bx, by = points[middle, 0] - ax, points[middle, 1] - ay
    cx, cy = points[end, 0] - ax, points[end, 1] - ay
    cross = bx * cy - by * cx
    if abs(cross) < 1e-12:
        return 0.0
    b2, c2 = bx * bx + by * by, cx * cx + cy * cy
    x, y = (cy * b2 - by * c2) / (2 * cross), (bx * c2 - cx * b2) / (2 * cross)
    radius = math.sqrt(x * x + y * y)
    if radius > LARGEST:
        return 0.0
    x, y = x + ax, y + ay
    sweep = 0.0
    for place in range(start, end):
        px, py = points[place, 0] - x, points[place, 1] - y
        qx, qy = points[place + 1, 0] - x, points[place + 1, 1] - y
        if abs(math.sqrt(qx * qx + qy * qy) - radius) > within:
            return 0.0
        mx, my = (px + qx) / 2, (py + qy) / 2
        if abs(math.sqrt(mx * mx + my * my) - radius) > within:
            return 0.0
        step = math.atan2(px * qy - py * qx, px * qx + py * qy)
        if step * cross > 0:  # it turns the other way, or not at all
            sweep += step
        else:
            return 0.0
    if abs(sweep) > WIDEST:
        return 0.0
    return math.tan(sweep / 4)


@njit(_FITTED(REAL_ROWS, REALS, WHOLES, types.float64), cache=True, nogil=True)
def fitted(points: Reals, bulges: Reals, ends: Wholes, within: float) -> tuple[Reals, Reals, Wholes]:
    """Straight bits that lie on circles put together to arcs, the longest first from each corner on.

    Args:
        points: `(n, 2)`, mm: the lines end to end.
        bulges: `(n,)`: of the bit from each point to the next.
        ends: `(k,)`: where each line ends.
        within: Greatest distance (mm).

    Returns:
        `(m, 2)` and `(m,)`, and `(k,)` where each line ends.
    """
    kept, bends = np.zeros_like(points), np.zeros(len(points), dtype=np.float64)
    closes = np.zeros(len(ends), dtype=np.int64)
    count, at = 0, 0
    for line in range(len(ends)):
        end = ends[line]
        kept[count] = points[at]
        count += 1
        while at + 1 < end:
            best, bulge = at + 1, bulges[at]
            if bulge == 0.0:
                last = at + 1  # up to where the bits are straight
                while last + 1 < end and bulges[last] == 0.0:
                    last += 1
                low, high = at + FEWEST - 1, at + FEWEST
                while high <= last:
                    found = _bulge_over(points, at, high, within)
                    if found == 0.0:
                        break
                    best, bulge, low = high, found, high
                    high = min(last, high + (high - at)) if high < last else last + 1
                if best > at + 1:
                    high = min(high, last + 1)
                    while high - low > 1:  # the longest between what fits and what does not
                        half = (low + high) // 2
                        found = _bulge_over(points, at, half, within)
                        if found != 0.0:
                            best, bulge, low = half, found, half
                        else:
                            high = half
            bends[count - 1] = bulge
            kept[count] = points[best]
            count, at = count + 1, best
        closes[line] = count
        at = end
    return kept[:count].copy(), bends[:count].copy(), closes
