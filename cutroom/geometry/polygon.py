"""Closed outlines: area, sense, box, inside, crossings. The first point is not repeated."""

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.offset import without_repeats

_AT_ONCE = 1 << 20
"""Pairs of sides looked at together, about."""


def signed_area(points: NDArray[np.float64]) -> float:
    """Area of an outline (mm2), positive when it runs counter-clockwise."""
    moved = points - points[0]  # near the origin, so that far-off pieces lose no digits
    x, y = moved[:, 0], moved[:, 1]
    return float(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def area(points: NDArray[np.float64]) -> float:
    """Area of an outline (mm2)."""
    return abs(signed_area(points))


def bounds(points: NDArray[np.float64]) -> tuple[float, float, float, float]:
    """Least x, least y, greatest x and greatest y of some points (mm)."""
    low, high = points.min(axis=0), points.max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def contains(outline: NDArray[np.float64], points: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which points lie inside an outline (even-odd rule; on the line is either).

    Args:
        outline: `(n, 2)`, mm.
        points: `(m, 2)`, mm.

    Returns:
        `(m,)`.
    """
    ends = np.roll(outline, -1, axis=0)
    x, y = points[:, :1], points[:, 1:]
    spans = (outline[:, 1] <= y) != (ends[:, 1] <= y)
    rise = np.where(ends[:, 1] == outline[:, 1], 1.0, ends[:, 1] - outline[:, 1])
    crossing = outline[:, 0] + (y - outline[:, 1]) * (ends[:, 0] - outline[:, 0]) / rise
    inside: NDArray[np.bool_] = (np.count_nonzero(spans & (x < crossing), axis=1) % 2).astype(np.bool_)
    return inside


def distances(points: NDArray[np.float64], line: NDArray[np.float64], *, closed: bool = False) -> NDArray[np.float64]:
    """Least distance of each point to a line.

    Args:
        points: `(m, 2)`, mm.
        line: `(n, 2)`, mm.
        closed: The line's last point is joined to its first.

    Returns:
        `(m,)`, mm.
    """
    starts = line if closed else line[:-1]
    ends = np.roll(line, -1, axis=0) if closed else line[1:]
    steps = ends - starts
    squares = np.maximum((steps**2).sum(axis=1), 1e-300)
    (along_x, along_y), off_x, off_y = steps.T, points[:, :1] - starts[:, 0], points[:, 1:] - starts[:, 1]
    share = np.clip((off_x * along_x + off_y * along_y) / squares, 0.0, 1.0)
    nearest: NDArray[np.float64] = np.sqrt(
        ((off_x - share * along_x) ** 2 + (off_y - share * along_y) ** 2).min(axis=1)
    )
    return nearest


def crossing_place(points: NDArray[np.float64]) -> tuple[float, float] | None:
    """Where an outline crosses or touches itself (mm), or None when it is simple; a point given twice is one point."""
    points = without_repeats(points, 0.0, closed=True)
    count = len(points)
    if count < 4:
        return None
    starts, ends = points, np.roll(points, -1, axis=0)
    first, second = _near_sides(np.minimum(starts, ends), np.maximum(starts, ends))
    apart = (second - first > 1) & (second - first < count - 1)  # neighbours meet at their corner
    for one, two in sorted(zip(first[apart].tolist(), second[apart].tolist(), strict=True)):
        place = _meeting(starts[one], ends[one], starts[two], ends[two])
        if place is not None:
            return place
    return None


def _near_sides(low: NDArray[np.float64], high: NDArray[np.float64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Pairs of sides whose boxes meet, the lesser number first: each is held against those that start along it."""
    order = np.argsort(low[:, 0], kind="stable")
    low, high = low[order], high[order]
    after = np.arange(1, len(order) + 1)
    counts = np.searchsorted(low[:, 0], high[:, 0], side="right") - after
    parts = np.searchsorted(np.cumsum(counts), np.arange(1, counts.sum() // _AT_ONCE + 1) * _AT_ONCE)
    found = []
    for rows in np.split(np.arange(len(order)), np.unique(parts)):
        one = np.repeat(rows, counts[rows])
        two = np.arange(len(one)) + np.repeat(after[rows] - np.cumsum(counts[rows]) + counts[rows], counts[rows])
        near = (low[two, 1] <= high[one, 1]) & (high[two, 1] >= low[one, 1])
        found.append(order[np.column_stack([one[near], two[near]])])
    pairs = np.vstack(found)
    return pairs.min(axis=1), pairs.max(axis=1)


def _meeting(
    a: NDArray[np.float64], b: NDArray[np.float64], c: NDArray[np.float64], d: NDArray[np.float64]
) -> tuple[float, float] | None:
    one, two = b - a, d - c
    bend = one[0] * two[1] - one[1] * two[0]
    gap = c - a
    if bend == 0:
        return None
    share = (gap[0] * two[1] - gap[1] * two[0]) / bend
    other = (gap[0] * one[1] - gap[1] * one[0]) / bend
    if 0 <= share <= 1 and 0 <= other <= 1:
        return float(a[0] + share * one[0]), float(a[1] + share * one[1])
    return None
