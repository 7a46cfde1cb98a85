"""Read-only arrays inside frozen values."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
"""`(n, 2)` float64, C order, read-only, mm."""


def frozen_points(points: NDArray[np.float64] | Sequence[Sequence[float]]) -> Points:
    """A read-only `(n, 2)` copy of some points (mm).

    Raises:
        ValueError: The points are not pairs, or one is not a number.
    """
    array = np.array(points, dtype=np.float64, order="C").reshape(-1, 2)
    if not np.isfinite(array).all():
        msg = "a point is not a number"
        raise ValueError(msg)
    array.flags.writeable = False
    return array


def frozen_many(lines: Sequence[NDArray[np.float64] | Sequence[Sequence[float]]]) -> tuple[Points, ...]:
    """Several lines, each a read-only `(n, 2)` copy."""
    return tuple(frozen_points(line) for line in lines)
