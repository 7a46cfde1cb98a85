"""How long drives take along lines: they speed up and slow down evenly, and slow down for corners."""

import math

import numpy as np
from numba import njit, types
from numpy.typing import NDArray

from cutroom.geometry.kernels.types import REAL_ROWS, REALS, REALS_OUT, WHOLES

Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]


@njit(REALS_OUT(REAL_ROWS, WHOLES, REALS, types.float64, types.float64), cache=True, nogil=True)
def seconds_along(points: Reals, ends: Wholes, speeds: Reals, acceleration: float, corner: float) -> Reals:
    """The time of each line, begun and ended at rest.

    At a corner the drives may change their speed by `corner` in one step, so a bend by t is run through at no more
    than corner / (2 sin(t / 2)). Between corners the speed rises and falls by the acceleration, up to the line's own.

    Args:
        points: `(m, 2)`, mm: the lines end to end.
        ends: `(n,)`: where each line ends in `points`.
        speeds: `(n,)`, mm/s.
        acceleration: mm/s2.
        corner: mm/s.

    Returns:
        `(n,)`, s.
    """
    found = np.zeros(len(ends), dtype=np.float64)
    longest, start = 0, 0
    for line in range(len(ends)):
        longest, start = max(longest, ends[line] - start), ends[line]
    squares = np.zeros(max(longest, 1), dtype=np.float64)  # of the speed at each corner
    sizes = np.zeros(max(longest, 1), dtype=np.float64)
    start = 0
    for line in range(len(ends)):
        end, most = ends[line], speeds[line]
        count = end - start
        squares[0] = 0.0
        for place in range(1, count):
            dx = points[start + place, 0] - points[start + place - 1, 0]
            dy = points[start + place, 1] - points[start + place - 1, 1]
            sizes[place] = math.sqrt(dx * dx + dy * dy)
            allowed = 0.0
            if place + 1 < count:
                ex = points[start + place + 1, 0] - points[start + place, 0]
                ey = points[start + place + 1, 1] - points[start + place, 1]
                half = abs(math.atan2(dx * ey - dy * ex, dx * ex + dy * ey)) / 2
                allowed = most if half < 1e-9 else min(most, corner / (2 * math.sin(half)))
            squares[place] = min(allowed * allowed, squares[place - 1] + 2 * acceleration * sizes[place])
        for place in range(count - 1, 0, -1):
            squares[place - 1] = min(squares[place - 1], squares[place] + 2 * acceleration * sizes[place])
        total = 0.0
        for place in range(1, count):
            size = sizes[place]
            if size <= 0.0:
                continue
            before, after = math.sqrt(squares[place - 1]), math.sqrt(squares[place])
            peak = math.sqrt((squares[place - 1] + squares[place]) / 2 + acceleration * size)
            if peak <= most:
                total += (2 * peak - before - after) / acceleration
            else:
                changing = (2 * most * most - squares[place - 1] - squares[place]) / (2 * acceleration)
                total += (2 * most - before - after) / acceleration + (size - changing) / most
        found[line] = total
        start = end
    return found
