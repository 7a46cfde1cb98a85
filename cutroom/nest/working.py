"""The working shape of an outline: fewer corners, whole coordinates, and never smaller than the outline.

The search judges working shapes; lengths and areas are taken from the outline itself. A working shape may only grow:
corners are dropped outwards, and coordinates are rounded outwards. Straight sides along the axes and outlines on the
grid of units stay what they are, so that exact fits are found.
"""

import math

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.kernels.convex import triangulate, turn_at
from cutroom.geometry.polygon import distances

Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]

UNITS = 10_000
"""Units to the millimetre: coordinates are whole numbers of 0.0001 mm."""
TOLERANCE = 0.2
"""How far (mm) a working shape may stand out from its outline."""
SIDES = 16
"""Sides of the convex figure that stands for the gap; it holds a circle, and is exact along and across."""


def simplify_outwards(outline: Reals, tolerance: float = TOLERANCE) -> Reals:
    """An outline with fewer corners that contains the outline it came from.

    Args:
        outline: `(n, 2)`, mm, counter-clockwise, simple.
        tolerance: How far (mm) it may stand out.

    Returns:
        `(m, 2)`, m <= n, counter-clockwise, simple.
    """
    corners = [np.array(corner) for corner in outline]
    hidden: list[list[Reals]] = [[] for _ in corners]  # outline corners behind the side after each corner
    refused: set[tuple[float, ...]] = set()
    while len(corners) > 3:
        points = np.array(corners)
        steps = np.roll(points, -1, axis=0) - points
        before = np.roll(steps, 1, axis=0)
        bends = before[:, 0] * steps[:, 1] - before[:, 1] * steps[:, 0]
        change = _best_change(points, steps, bends, hidden, outline, tolerance, refused)
        if change is None:
            break
        place, corner = change
        count = len(corners)
        if corner is None:  # an inward corner goes
            hidden[place - 1] = [*hidden[place - 1], corners[place], *hidden[place]]
            del corners[place], hidden[place]
        else:  # a side between two outward corners goes: its neighbours meet
            after = (place + 1) % count
            behind = [corners[place], *hidden[place], corners[after]]
            corners[place] = corner
            hidden[place] = [*behind, *hidden[after]]
            hidden[place - 1] = [*hidden[place - 1], *behind]
            del corners[after], hidden[after]
    return np.array(corners)


def _best_change(
    points: Reals,
    steps: Reals,
    bends: Reals,
    hidden: list[list[Reals]],
    outline: Reals,
    tolerance: float,
    refused: set[tuple[float, ...]],
) -> tuple[int, Reals | None] | None:
    """The change that adds least area: `(corner, None)` to drop it, `(side's first corner, new corner)`."""
    count = len(points)
    found: list[tuple[float, int, Reals | None]] = []
    for place in range(count):
        after = (place + 1) % count
        if bends[place] <= 0:
            area, corner = -bends[place], None
        elif bends[after] > 0:
            corner = _meeting(points[place - 1], points[place], points[after], points[(after + 1) % count])
            if corner is None:
                continue
            one, two = points[after] - points[place], corner - points[place]
            area = abs(one[0] * two[1] - one[1] * two[0])
        else:
            continue
        if area <= 2 * tolerance * (np.hypot(*steps[place]) + np.hypot(*steps[place - 1])):
            found.append((float(area), place, corner))
    found.sort(key=lambda change: change[:2])
    for _, place, corner in found:
        key = (*points[place - 1], *points[place], *points[(place + 1) % count], 0.0 if corner is None else 1.0)
        if key in refused:
            continue
        if _may_change(points, place, corner, hidden, outline, tolerance):
            return place, corner
        refused.add(key)
    return None


def _may_change(
    points: Reals,
    place: int,
    corner: Reals | None,
    hidden: list[list[Reals]],
    outline: Reals,
    tolerance: float,
) -> bool:
    count = len(points)
    after = (place + 1) % count
    if corner is None:
        start, end = points[place - 1], points[after]
        behind = [*hidden[place - 1], points[place], *hidden[place]]
        if _deepest(behind, start, end) > tolerance:
            return False
        others = [k for k in range(count) if k not in {(place - 1) % count, place, (place - 2) % count, after}]
        return not _meets(points, others, start, end, (place - 2) % count, after)
    if distances(corner[None, :], outline, closed=True)[0] > tolerance:
        return False
    others = [k for k in range(count) if k not in {(place - 1) % count, place, after}]
    return not (
        _meets(points, others, points[place], corner, None, None)
        or _meets(points, others, corner, points[after], None, None)
    )


def _deepest(behind: list[Reals], start: Reals, end: Reals) -> float:
    along = end - start
    size = math.hypot(*along)
    if size == 0:
        return math.inf
    return max(abs(along[0] * (p[1] - start[1]) - along[1] * (p[0] - start[0])) / size for p in behind)


def _meets(points: Reals, sides: list[int], start: Reals, end: Reals, before: int | None, after: int | None) -> bool:
    """A line meets one of the sides, or runs back over the sides next to its own ends."""
    a, b = points[sides], points[(np.array(sides, dtype=np.int64) + 1) % len(points)]
    along = end - start

    def bend(one: Reals, two: Reals, three: Reals) -> Reals:
        value: Reals = (two[..., 0] - one[..., 0]) * (three[..., 1] - one[..., 1]) - (two[..., 1] - one[..., 1]) * (
            three[..., 0] - one[..., 0]
        )
        return value

    slack = 1e-9 * (1.0 + float(np.abs(along).max()))
    crossing = (bend(start, end, a) * bend(start, end, b) <= slack) & (bend(a, b, start) * bend(a, b, end) <= slack)
    near = (np.minimum(a, b) <= np.maximum(start, end) + 1e-6).all(axis=1) & (
        np.maximum(a, b) >= np.minimum(start, end) - 1e-6
    ).all(axis=1)
    if bool((crossing & near).any()):
        return True
    for side, shared, far in ((before, start, 0), (after, end, 1)):
        if side is not None:
            other = points[side] if far == 0 else points[(side + 1) % len(points)]
            one, two = other - shared, (end if far == 0 else start) - shared
            if abs(one[0] * two[1] - one[1] * two[0]) < 1e-12 and float(one @ two) > 0:
                return True
    return False


def _meeting(before: Reals, start: Reals, end: Reals, after: Reals) -> Reals | None:
    """Where the sides before and after a side meet beyond it, exact on sides along the axes."""
    one, two = start - before, end - after
    bend = one[0] * two[1] - one[1] * two[0]
    if bend >= 0:
        return None
    share = ((end[0] - start[0]) * two[1] - (end[1] - start[1]) * two[0]) / bend
    corner: Reals = start + share * one
    for axis in range(2):
        if one[axis] == 0:
            corner[axis] = start[axis]
        elif two[axis] == 0:
            corner[axis] = end[axis]
    return corner


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
