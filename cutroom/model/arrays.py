"""Read-only arrays inside frozen values."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
"""`(n, 2)` float64, C order, read-only, mm."""


def frozen_points(points: NDArray[np.float64] | Sequence[Sequence[float]]) -> Points:
    """A read-only `(n, 2)` copy of some points (mm); what is read-only already is kept as it is.

    Raises:
        ValueError: The points are not pairs, or one is not a number.
    """
    if isinstance(points, np.ndarray) and _is_frozen(points):
        return points
    array = np.array(points, dtype=np.float64, order="C")
    if array.ndim != 2 or array.shape[1] != 2:
        array = array.reshape(-1, 2).copy()
    if not np.isfinite(array).all():
        msg = "a point is not a number"
        raise ValueError(msg)
    array.flags.writeable = False
    return array


def _is_frozen(points: NDArray[np.float64]) -> bool:
    """Whether they are such a copy already, or a run of one."""
    owner = points if points.base is None else points.base
    return (
        owner.base is None
        and not owner.flags.writeable
        and not points.flags.writeable
        and points.dtype == np.float64
        and points.ndim == 2
        and points.shape[1] == 2
        and points.flags.c_contiguous
    )


def frozen_many(lines: Sequence[NDArray[np.float64] | Sequence[Sequence[float]]]) -> tuple[Points, ...]:
    """Several lines, each a read-only `(n, 2)` copy."""
    return tuple(frozen_points(line) for line in lines)
