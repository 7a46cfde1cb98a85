"""Poses: flip, turn, shift."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Move = Callable[[NDArray[np.float64]], NDArray[np.float64]]
"""What moves points `(n, 2)` (mm)."""

_QUARTERS = {0: (1.0, 0.0), 1: (0.0, 1.0), 2: (-1.0, 0.0), 3: (0.0, -1.0)}


def cos_sin(turn_deg: float) -> tuple[float, float]:
    """Cosine and sine of a turn (degrees), exact at quarter turns."""
    quarters = turn_deg / 90.0
    if quarters == round(quarters):
        return _QUARTERS[round(quarters) % 4]
    angle = np.deg2rad(turn_deg)
    return float(np.cos(angle)), float(np.sin(angle))


def moved_spot(move: Move, at: tuple[float, float]) -> tuple[float, float]:
    """A single point moved (mm)."""
    x, y = move(np.array([at]))[0]
    return float(x), float(y)


def pose_points(
    points: NDArray[np.float64],
    *,
    flipped: bool = False,
    turn_deg: float = 0.0,
    shift: tuple[float, float] = (0, 0),
) -> NDArray[np.float64]:
    """Points of a piece where a placement lays them.

    Args:
        points: `(n, 2)`, piece axes (mm).
        flipped: y becomes -y first.
        turn_deg: Then turned counter-clockwise about the origin (degrees).
        shift: Then shifted (mm).

    Returns:
        `(n, 2)`, mm. The order of the points is kept, so a flipped outline runs the other way round.
    """
    cos, sin = cos_sin(turn_deg)
    x, y = points[:, 0], -points[:, 1] if flipped else points[:, 1]
    return np.column_stack([x * cos - y * sin + shift[0], x * sin + y * cos + shift[1]])


def align_points(
    points: NDArray[np.float64], start: NDArray[np.float64], end: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Points seen in axes whose origin is `start` and whose x axis points to `end`.

    Args:
        points: `(n, 2)`, mm.
        start: `(2,)`.
        end: `(2,)`, not the same as `start`.

    Returns:
        `(n, 2)`, mm.
    """
    along = (end - start) / np.hypot(*(end - start))
    moved = points - start
    return np.column_stack([moved @ along, moved @ np.array([-along[1], along[0]])])


def reflect_points(
    points: NDArray[np.float64], on: NDArray[np.float64], along: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Mirror image of points in the line through `on` in direction `along`.

    Args:
        points: `(n, 2)`, mm.
        on: `(2,)`, mm.
        along: `(2,)`, of any length but 0.

    Returns:
        `(n, 2)`, mm, in the same order.
    """
    unit = along / np.hypot(along[0], along[1])
    moved = points - on
    mirrored: NDArray[np.float64] = on + 2 * (moved @ unit)[:, None] * unit - moved
    return mirrored
