"""Read-only arrays inside frozen values."""

from collections.abc import Iterable, Sequence
from itertools import accumulate, pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
"""`(n, 2)` float64, C order, read-only, mm."""


def frozen_points(points: NDArray[np.float64] | Sequence[Sequence[float]]) -> Points:
    """A read-only `(n, 2)` copy of some points (mm); what is read-only already is kept as it is.

    Raises:
        ValueError: The points are not pairs, or one is not a number.
    """
    if isinstance(points, np.ndarray) and _is_frozen(points, np.float64):
        return points
    array = np.array(points, dtype=np.float64, order="C")
    if array.ndim != 2 or array.shape[1] != 2:
        array = array.reshape(-1, 2).copy()
    if not np.isfinite(array).all():
        msg = "a point is not a number"
        raise ValueError(msg)
    array.flags.writeable = False
    return array


def frozen_wholes(points: NDArray[np.int64] | Sequence[Sequence[int]]) -> NDArray[np.int64]:
    """A read-only `(n, 2)` copy of points in whole units; what is read-only already is kept as it is."""
    if isinstance(points, np.ndarray) and _is_frozen(points, np.int64):
        return points
    array = np.array(points, dtype=np.int64, order="C").reshape(-1, 2)
    array.flags.writeable = False
    return array


def _is_frozen(points: NDArray[Any], kind: type[np.generic]) -> bool:
    """Whether they are such a copy already, or a run of one."""
    owner: Any = points if points.base is None else points.base
    return (
        isinstance(owner, np.ndarray)  # compiled loops own theirs otherwise
        and owner.base is None
        and not owner.flags.writeable
        and not points.flags.writeable
        and points.dtype == kind
        and points.ndim == 2
        and points.shape[1] == 2
        and points.flags.c_contiguous
    )


class _Frozen(tuple[Points, ...]):
    """Lines known to be read-only, so that no value looks through them again."""

    __slots__ = ()


def frozen_many(lines: Sequence[NDArray[np.float64] | Sequence[Sequence[float]]]) -> tuple[Points, ...]:
    """Several lines, each a read-only `(n, 2)` copy; what is read-only already is kept as it is."""
    return lines if isinstance(lines, _Frozen) else _Frozen(frozen_points(line) for line in lines)


def frozen_runs(points: NDArray[np.float64], sizes: Iterable[int]) -> tuple[Points, ...]:
    """One array of points `(n, 2)` as several read-only lines of so many points each (mm)."""
    packed = frozen_points(points)
    stops = list(accumulate(sizes, initial=0))
    return _Frozen([packed[start:stop] for start, stop in pairwise(stops)])
