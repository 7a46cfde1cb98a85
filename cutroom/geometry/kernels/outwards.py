"""Outlines made simpler outwards: corner after corner is taken out, always the one that adds least area."""

import numpy as np
from numba import njit, types
from numpy.typing import NDArray

from cutroom.geometry.kernels.loop import bare
from cutroom.geometry.kernels.types import REAL_ROWS, REAL_ROWS_OUT, REALS, REALS_OUT

Reals = NDArray[np.float64]

_TOUCH = 1e-6
"""Lines (mm) this near count as meeting."""
_LINE = (types.float64,) * 4


@bare(types.void(REAL_ROWS, types.int64, types.int64, types.float64, REALS_OUT, REAL_ROWS_OUT))
def _weigh(points: Reals, count: int, place: int, tolerance: float, costs: Reals, corners: Reals) -> None:
    """Write the area (mm2, twice) that the best change at a corner adds, or infinity; the new corner, nan to drop it.

    An inward corner may be dropped. Where a corner and the next are outward, the side between them may make way for
    the point where its neighbours meet.
    """
    last, after = place - 1 if place > 0 else count - 1, place + 1 if place + 1 < count else 0
    beyond = after + 1 if after + 1 < count else 0
    x, y = points[place, 0], points[place, 1]
    before_x, before_y = x - points[last, 0], y - points[last, 1]
    step_x, step_y = points[after, 0] - x, points[after, 1] - y
    after_x, after_y = points[beyond, 0] - points[after, 0], points[beyond, 1] - points[after, 1]
    bend = before_x * step_y - before_y * step_x
    costs[place], corners[place, 0], corners[place, 1] = np.inf, np.nan, np.nan
    if bend <= 0:
        along, across = before_x + step_x, before_y + step_y
        if -bend <= tolerance * np.hypot(along, across):
            costs[place] = -bend
        return
    across = -before_x * after_y + before_y * after_x
    if step_x * after_y - step_y * after_x <= 0 or across >= 0:
        return
    share = (-step_x * after_y + step_y * after_x) / across
    new_x, new_y = x + share * before_x, y + share * before_y
    # exact on sides along the axes
    if before_x == 0:
        new_x = x
    elif after_x == 0:
        new_x = x + step_x
    if before_y == 0:
        new_y = y
    elif after_y == 0:
        new_y = y + step_y
    cost = abs(step_x * (new_y - y) - step_y * (new_x - x))
    if cost <= 4 * tolerance * np.hypot(step_x, step_y):
        costs[place], corners[place, 0], corners[place, 1] = cost, new_x, new_y


@bare(types.boolean(REAL_ROWS, types.int64, types.int64, *_LINE, types.float64))
def _lies_within(
    outline: Reals, first: int, last: int, x0: float, y0: float, x1: float, y1: float, tolerance: float
) -> bool:
    """No corner of an outline, from one to another, lies further than a distance (mm) from a line."""
    along, across, deepest = x1 - x0, y1 - y0, 0.0
    size = np.hypot(along, across)
    if size <= 0:
        return False
    row, left = first, (last - first) % len(outline) + 1
    while left > 0:
        deepest = max(deepest, abs(along * (outline[row, 1] - y0) - across * (outline[row, 0] - x0)))
        row, left = row + 1 if row + 1 < len(outline) else 0, left - 1
    return bool(deepest / size <= tolerance)


@bare(types.boolean(REAL_ROWS, types.int64, types.float64, types.float64, types.float64))
def _is_near(outline: Reals, first: int, x: float, y: float, tolerance: float) -> bool:
    """A point lies no further than a distance (mm) from an outline; its sides are tried from one of them on."""
    row = first % len(outline)
    for _ in range(len(outline)):
        after = row + 1 if row + 1 < len(outline) else 0
        along, across = outline[after, 0] - outline[row, 0], outline[after, 1] - outline[row, 1]
        off_x, off_y = x - outline[row, 0], y - outline[row, 1]
        share = (off_x * along + off_y * across) / max(along * along + across * across, 1e-300)
        share = min(max(share, 0.0), 1.0)
        if np.sqrt((off_x - share * along) ** 2 + (off_y - share * across) ** 2) <= tolerance:
            return True
        row = after
    return False


@bare(types.boolean(REAL_ROWS, types.int64, types.int64, types.int64, *_LINE))
def _meets(points: Reals, count: int, skipped: int, skips: int, x0: float, y0: float, x1: float, y1: float) -> bool:
    """A line meets, or nearly meets, a side of an outline, other than `skips` of them from one on."""
    low_x, high_x = min(x0, x1) - _TOUCH, max(x0, x1) + _TOUCH
    low_y, high_y = min(y0, y1) - _TOUCH, max(y0, y1) + _TOUCH
    along, across = x1 - x0, y1 - y0
    slack = np.hypot(along, across) * _TOUCH
    row = (skipped + skips) % count
    for _ in range(count - skips):
        after = row + 1 if row + 1 < count else 0
        ax, ay, bx, by = points[row, 0], points[row, 1], points[after, 0], points[after, 1]
        row = after
        if min(ax, bx) > high_x or max(ax, bx) < low_x or min(ay, by) > high_y or max(ay, by) < low_y:
            continue
        first, second = along * (ay - y0) - across * (ax - x0), along * (by - y0) - across * (bx - x0)
        if min(first, second) > slack or max(first, second) < -slack:
            continue
        side_x, side_y = bx - ax, by - ay
        first, second = side_x * (y0 - ay) - side_y * (x0 - ax), side_x * (y1 - ay) - side_y * (x1 - ax)
        own = np.hypot(side_x, side_y) * _TOUCH
        if min(first, second) <= own and max(first, second) >= -own:
            return True
    return False


@njit(REAL_ROWS_OUT(REAL_ROWS, REALS, types.int64), cache=True, nogil=True)
def fewer_corners(outline: Reals, tolerances: Reals, most: int) -> Reals:
    """An outline with fewer corners that contains the outline it came from; see `nest.working.simplify_outwards`.

    Args:
        outline: `(n, 2)`, mm, counter-clockwise, simple.
        tolerances: `(k,)`, how far (mm) it may stand out; the next is taken while more corners are left than wanted.
        most: Corners wanted.

    Returns:
        `(m, 2)`, m <= n.
    """
    count, level = len(outline), 0
    points, corners, costs = outline.copy(), np.zeros((count, 2)), np.zeros(count)
    refused = np.zeros(count, dtype=np.bool_)
    first, last = np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.int64)
    for row in range(count):
        first[row], last[row] = row, row + 1  # the run of the outline's corners behind each side
        _weigh(points, count, row, tolerances[level], costs, corners)
    while count > 3:
        place, least = 0, np.inf
        for row in range(count):
            if costs[row] < least and not refused[row]:
                place, least = row, costs[row]
        if least == np.inf:
            if count <= most or level + 1 == len(tolerances):
                break
            level += 1
            for row in range(count):
                refused[row] = False
                _weigh(points, count, row, tolerances[level], costs, corners)
            continue
        before, after = place - 1 if place > 0 else count - 1, place + 1 if place + 1 < count else 0
        x0, y0, x1, y1 = points[before, 0], points[before, 1], points[after, 0], points[after, 1]
        x, y = corners[place, 0], corners[place, 1]
        inward = np.isnan(x)
        if inward:
            fits = _lies_within(outline, first[before], last[place], x0, y0, x1, y1, tolerances[level])
            fits = fits and not _meets(points, count, place - 2, 4, x0, y0, x1, y1)
        else:
            fits = (
                _is_near(outline, first[before], x, y, tolerances[level])
                and not _meets(points, count, before, 3, points[place, 0], points[place, 1], x, y)
                and not _meets(points, count, before, 3, x, y, x1, y1)
            )
        refused[place] = True
        if not fits:
            continue
        last[before] = last[place]
        gone = place
        if not inward:
            points[place, 0], points[place, 1], last[place], gone = x, y, last[after], after
        for step in range(-3, 4):
            refused[(place + step) % count] = False
        count -= 1
        for row in range(gone, count):
            points[row, 0], points[row, 1] = points[row + 1, 0], points[row + 1, 1]
            corners[row, 0], corners[row, 1] = corners[row + 1, 0], corners[row + 1, 1]
            costs[row], refused[row] = costs[row + 1], refused[row + 1]
            first[row], last[row] = first[row + 1], last[row + 1]
        for step in range(-4, 4):
            _weigh(points, count, (place + step) % count, tolerances[level], costs, corners)
    return points[:count].copy()
