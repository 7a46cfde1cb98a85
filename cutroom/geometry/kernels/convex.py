"""Convex parts of outlines and their sums, exact on whole coordinates."""

import numpy as np
from numba import njit, types
from numpy.typing import NDArray

from cutroom.geometry.kernels.loop import bare
from cutroom.geometry.kernels.types import WHOLE_ROWS, WHOLE_ROWS_OUT

Wholes = NDArray[np.int64]


@bare(types.int64(WHOLE_ROWS, types.int64, types.int64, types.int64))
def turn_at(points: Wholes, a: int, b: int, c: int) -> int:
    """Twice the signed area of the triangle of three rows of `points` `(n, 2)`; positive when counter-clockwise."""
    one = (points[b, 0] - points[a, 0]) * (points[c, 1] - points[a, 1])
    return int(one - (points[b, 1] - points[a, 1]) * (points[c, 0] - points[a, 0]))


@njit(WHOLE_ROWS_OUT(WHOLE_ROWS), cache=True, nogil=True)
def triangulate(points: Wholes) -> Wholes:
    """Triangles that fill a simple counter-clockwise outline, by cutting off the ear with the shortest chord.

    Args:
        points: `(n, 2)`, whole units, below 1e9 in size.

    Returns:
        `(k, 3)`, rows of `points`, counter-clockwise; `(0, 3)` when the outline is not simple.
    """
    count = len(points)
    triangles = np.zeros((max(count - 2, 0), 3), dtype=np.int64)
    left = np.arange(count)
    remaining, made = count, 0
    while remaining > 2:
        best, best_chord = -1, np.inf
        for strict in (True, False):
            for place in range(remaining):
                a, b = left[place - 1 if place > 0 else remaining - 1], left[place]
                c = left[place + 1 if place + 1 < remaining else 0]
                bend = turn_at(points, a, b, c)
                if bend < 0:
                    continue
                along, across = float(points[c, 0] - points[a, 0]), float(points[c, 1] - points[a, 1])
                chord = -1.0 if bend == 0 else along * along + across * across
                if chord >= best_chord:
                    continue
                free = True
                if bend > 0:
                    for other in range(remaining):
                        d = left[other]
                        if d in (a, b, c):
                            continue
                        one, two, three = turn_at(points, a, b, d), turn_at(points, b, c, d), turn_at(points, c, a, d)
                        inside = one > 0 and two > 0 and three > 0
                        touches = one >= 0 and two >= 0 and three >= 0
                        at_end = (points[d, 0] == points[a, 0] and points[d, 1] == points[a, 1]) or (
                            points[d, 0] == points[c, 0] and points[d, 1] == points[c, 1]
                        )
                        if inside or (strict and touches and not at_end):
                            free = False
                            break
                if free:
                    best, best_chord = place, chord
            if best >= 0:
                break
        if best < 0:
            return np.zeros((0, 3), dtype=np.int64)
        if best_chord >= 0:
            triangles[made, 0] = left[best - 1 if best > 0 else remaining - 1]
            triangles[made, 1] = left[best]
            triangles[made, 2] = left[best + 1 if best + 1 < remaining else 0]
            made += 1
        for place in range(best, remaining - 1):
            left[place] = left[place + 1]
        remaining -= 1
    return triangles[:made].copy()


@bare(types.int64(WHOLE_ROWS, types.int64, types.int64))
def _lowest(points: Wholes, start: int, end: int) -> int:
    low = start
    for row in range(start + 1, end):
        if points[row, 1] < points[low, 1] or (points[row, 1] == points[low, 1] and points[row, 0] < points[low, 0]):
            low = row
    return low


@bare(
    types.int64(WHOLE_ROWS, types.int64, types.int64, WHOLE_ROWS, types.int64, types.int64, WHOLE_ROWS_OUT, types.int64)
)
def sum_convex(
    one: Wholes, one_start: int, one_end: int, two: Wholes, two_start: int, two_end: int, out: Wholes, at: int
) -> int:
    """The Minkowski sum of two convex counter-clockwise outlines, each a run of rows.

    Args:
        one: `(n, 2)`, whole units; rows `one_start` to `one_end` are the first outline.
        one_start: Its first row.
        one_end: The row after its last.
        two: `(m, 2)`; the second outline likewise.
        two_start: Its first row.
        two_end: The row after its last.
        out: `(k, 2)`, is written from row `at`; has room for both outlines' rows.
        at: First row to write.

    Returns:
        The row after the last written. The result is counter-clockwise, without straight corners.
    """
    sides, others = one_end - one_start, two_end - two_start
    a, c = _lowest(one, one_start, one_end), _lowest(two, two_start, two_end)
    x, y = one[a, 0] + two[c, 0], one[a, 1] + two[c, 1]
    b, d = a + 1 if a + 1 < one_end else one_start, c + 1 if c + 1 < two_end else two_start
    i, j, row = 0, 0, at
    last_x, last_y = 0, 0
    while i < sides or j < others:
        ax, ay = one[b, 0] - one[a, 0], one[b, 1] - one[a, 1]
        bx, by = two[d, 0] - two[c, 0], two[d, 1] - two[c, 1]
        bend = ax * by - ay * bx
        step_x, step_y = 0, 0
        along_one, along_two = i < sides and (j >= others or bend >= 0), j < others and (i >= sides or bend <= 0)
        if along_one:
            step_x, step_y, i = ax, ay, i + 1
            a, b = b, b + 1 if b + 1 < one_end else one_start
        if along_two:
            step_x, step_y, j = step_x + bx, step_y + by, j + 1
            c, d = d, d + 1 if d + 1 < two_end else two_start
        if row == at or last_x * step_y - last_y * step_x != 0:
            out[row, 0], out[row, 1] = x, y
            last_x, last_y = 0, 0
            row += 1
        last_x, last_y = last_x + step_x, last_y + step_y
        x, y = x + step_x, y + step_y
    return row
