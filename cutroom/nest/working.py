"""The working shape of an outline: fewer corners, whole coordinates, and never smaller than the outline.

The search judges working shapes; lengths and areas are taken from the outline itself. A working shape may only grow:
corners are dropped outwards, and coordinates are rounded outwards. Straight sides along the axes and outlines on the
grid of units stay what they are, so that exact fits are found.
"""

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.kernels.convex import triangulate, turn_at
from cutroom.geometry.kernels.outwards import fewer_corners
from cutroom.nest.grid import UNITS

Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]

TOLERANCE = 0.3
"""How far (mm) a working shape may stand out from its outline."""
COARSER = (0.5, 0.8)
"""Tolerances (mm) for outlines that keep more corners than MOST: the work grows with the fourth power of these."""
MOST = 48
COARSEST = (*COARSER, 1.2, 1.6)
"""Tolerances (mm) in an order of MANY unlike outlines, of which each pair has a region to be worked out: half as many
corners are wanted then, so that the first lay stands in seconds."""
MANY = 16
SIDES = 16
"""Sides of the convex figure that stands for the gap; it holds a circle, and is exact along and across."""


def simplify_outwards(
    outline: Reals, tolerance: float = TOLERANCE, *, coarser: tuple[float, ...] = (), most: int = 0
) -> Reals:
    """An outline with fewer corners that contains the outline it came from.

    Inward corners are dropped, and sides between two outward corners make way for the point where their neighbours
    meet; always the change that adds least area, as long as nothing stands out further than the tolerance.

    Args:
        outline: `(n, 2)`, mm, counter-clockwise, simple.
        tolerance: How far (mm) it may stand out.
        coarser: Wider tolerances (mm), taken one after the other while more corners are left than wanted.
        most: Corners wanted.

    Returns:
        `(m, 2)`, m <= n, counter-clockwise, simple.
    """
    return fewer_corners(np.ascontiguousarray(outline), np.array([tolerance, *coarser]), most)


def snap_outwards(outline: Reals) -> Wholes:
    """An outline on whole units that contains the outline it came from (to 1e-7 mm).

    Args:
        outline: `(n, 2)`, mm, counter-clockwise.

    Returns:
        `(m, 2)`, units, counter-clockwise, without repeated corners.
    """
    points = outline * UNITS
    whole = np.rint(points)
    on_grid = np.abs(points - whole) < 1e-3
    points = np.where(on_grid, whole, points)
    if not on_grid.all():
        points = _move_sides(points)
    corners = np.rint(points).astype(np.int64)
    kept = (corners != np.roll(corners, -1, axis=0)).any(axis=1)
    return np.ascontiguousarray(corners[kept])


def _move_sides(points: Reals) -> Reals:
    """Move slanted sides outwards by one unit and sides along an axis to the next whole unit."""
    steps = np.roll(points, -1, axis=0) - points
    normals = np.column_stack([steps[:, 1], -steps[:, 0]]) / np.hypot(steps[:, 0], steps[:, 1])[:, None]
    offsets = np.ones(len(points))
    for axis in range(2):
        level = steps[:, axis] == 0
        here = points[level, axis]
        offsets[level] = np.abs(np.where(normals[level, axis] > 0, np.ceil(here), np.floor(here)) - here)
    moved = points.copy()
    for corner in range(len(points)):
        one, two = normals[corner - 1], normals[corner]
        first, second = offsets[corner - 1], offsets[corner]
        bend = one[0] * two[1] - one[1] * two[0]
        if abs(bend) > 0.1:
            moved[corner, 0] += (first * two[1] - second * one[1]) / bend
            moved[corner, 1] += (one[0] * second - two[0] * first) / bend
        else:
            middle = one + two if one @ two > 0 else steps[corner - 1] / np.hypot(*steps[corner - 1]) + one
            moved[corner] += middle * max(first, second) * (2.0 / float(middle @ middle) if one @ two > 0 else 1.5)
    return moved


def gap_figure(gap: float) -> Wholes:
    """A convex figure on whole units that holds a circle of radius `gap` (mm); `(m, 2)`, or `(1, 2)` without a gap."""
    if gap <= 0:
        return np.zeros((1, 2), dtype=np.int64)
    angles = (np.arange(SIDES) + 0.5) * (2 * np.pi / SIDES)
    corners = np.column_stack([np.cos(angles), np.sin(angles)]) * (gap / np.cos(np.pi / SIDES))
    for level in (gap, -gap):
        corners = np.where(np.abs(corners - level) < 1e-9, level, corners)
    return snap_outwards(corners)


def convex_parts(outline: Wholes) -> list[Wholes]:
    """Convex parts that fill an outline: triangles, merged while they stay convex.

    Args:
        outline: `(n, 2)`, units, counter-clockwise.

    Returns:
        Counter-clockwise parts without straight corners. An outline that is no longer simple on whole units is
        replaced by its convex hull, which is never too small.
    """
    triangles = triangulate(outline)
    if len(triangles) == 0:
        return [_hull(outline)]
    parts: dict[int, list[int]] = {number: [int(c) for c in corners] for number, corners in enumerate(triangles)}
    owner = {(part[k - 1], part[k]): number for number, part in parts.items() for k in range(3)}
    shared = [(a, b) for a, b in owner if a < b and (b, a) in owner]
    shared.sort(key=lambda side: (-int(((outline[side[0]] - outline[side[1]]) ** 2).sum()), side))
    for a, b in shared:
        one, two = parts[owner[a, b]], parts[owner[b, a]]
        one = one[one.index(b) :] + one[: one.index(b)]  # b ... a
        two = two[two.index(a) :] + two[: two.index(a)]  # a ... b
        ends = ((two[-2], b, one[1]), (one[-2], a, two[1]))
        if owner[a, b] != owner[b, a] and all(turn_at(outline, *end) >= 0 for end in ends):
            number = owner[a, b]
            del parts[owner[b, a]]
            parts[number] = one[:-1] + two[:-1]
            for k in range(len(parts[number])):
                owner[parts[number][k - 1], parts[number][k]] = number
    return [_without_straight(outline[part]) for part in parts.values()]


def _without_straight(part: Wholes) -> Wholes:
    kept = [k for k in range(len(part)) if turn_at(part, k - 1 if k else len(part) - 1, k, (k + 1) % len(part)) > 0]
    return np.ascontiguousarray(part[kept])


def _hull(points: Wholes) -> Wholes:
    rows = sorted({(int(x), int(y)) for x, y in points})
    halves = []
    for run in (rows, rows[::-1]):
        half: list[tuple[int, int]] = []
        for x, y in run:
            while len(half) > 1:
                (ax, ay), (bx, by) = half[-2:]
                if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0:
                    break
                half.pop()
            half.append((x, y))
        halves.append(half[:-1])
    return np.array(halves[0] + halves[1], dtype=np.int64)
