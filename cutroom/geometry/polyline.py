"""Lengths along lines, and points on them."""

import math

import numpy as np
from numpy.typing import NDArray

SAME = 1e-7
"""Points on a line this near each other (mm) are one."""


def lengths_along(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Distance along a line from its start to each of its points.

    Args:
        points: `(n, 2)`, mm.

    Returns:
        `(n,)`, mm, from 0.
    """
    steps = points[1:] - points[:-1]
    along = np.zeros(len(points))
    np.hypot(steps[:, 0], steps[:, 1]).cumsum(out=along[1:])
    return along


def length(points: NDArray[np.float64]) -> float:
    """Length of a line (mm)."""
    return float(lengths_along(points)[-1])


def point_at(
    points: NDArray[np.float64], distance: float, along: NDArray[np.float64] | None = None
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """A point on a line, and the line's direction there.

    Args:
        points: `(n, 2)`, mm, no two neighbours the same.
        distance: Along the line from its start (mm), clipped to its ends.
        along: `(n,)`, its `lengths_along` where they are known already.

    Returns:
        The point `(2,)` in mm and the unit direction `(2,)`; at a vertex the mean of both sides.
    """
    point, direction = place_at(points, distance, lengths_along(points) if along is None else along)
    return np.array(point), np.array(direction)


def place_at(
    points: NDArray[np.float64], distance: float, along: NDArray[np.float64]
) -> tuple[tuple[float, float], tuple[float, float]]:
    """As `point_at`, in plain numbers, which are quicker than arrays of two; the lengths must be known.

    A place is at a vertex within a rounding error too, so that a notch and its mirror image are drawn alike.
    """
    distance = min(max(distance, 0.0), float(along[-1]))
    last = len(points) - 2
    after = min(max(int(along.searchsorted(distance + SAME, side="right")) - 1, 0), last)
    before = min(max(int(along.searchsorted(distance - SAME, side="left")) - 1, 0), last)
    (x, y), (to_x, to_y) = points[after : after + 2].tolist()
    passed, reached = along[after : after + 2].tolist()
    share = (distance - passed) / (reached - passed) if reached > passed else 0.0
    cos, sin = _unit(to_x - x, to_y - y)
    if before != after:
        (from_x, from_y), (via_x, via_y) = points[before : before + 2].tolist()
        old_cos, old_sin = _unit(via_x - from_x, via_y - from_y)
        cos, sin = _unit(cos + old_cos, sin + old_sin)
    return (x + share * (to_x - x), y + share * (to_y - y)), (cos, sin)


def distance_at(points: NDArray[np.float64], place: float) -> float:
    """Distance along a line (mm) of a place given as `segment + share`, as crossings are."""
    along = lengths_along(points)
    return float(np.interp(place, np.arange(len(along)), along))


def part_of(points: NDArray[np.float64], start: float, end: float) -> NDArray[np.float64]:
    """The part of a line between two distances along it (mm), `(k, 2)`; its own points at the ends are not doubled."""
    along = lengths_along(points)
    inside = points[(along > start + SAME) & (along < end - SAME)]
    return np.vstack([point_at(points, start)[0], inside, point_at(points, end)[0]])


def unit(vector: NDArray[np.float64]) -> NDArray[np.float64]:
    """A vector `(2,)` of length 1; one without length stays as it is."""
    size = math.hypot(*vector.tolist())
    return vector / size if size > 0 else vector


def _unit(x: float, y: float) -> tuple[float, float]:
    size = math.hypot(x, y)
    return (x / size, y / size) if size > 0 else (x, y)
