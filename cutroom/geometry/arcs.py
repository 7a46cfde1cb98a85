"""Arcs between points: `bulge` is the tangent of a quarter of the sweep, positive when counter-clockwise (DXF, 42)."""

import math

import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]

_QUARTER_TURN = math.tan(math.pi / 8) + 1e-9


def bulge_of(sweep: float) -> float:
    """The bulge of a sweep (radians)."""
    return math.tan(sweep / 4)


def sweep_of(bulge: float) -> float:
    """The sweep (radians) of a bulge."""
    return 4 * math.atan(bulge)


def centre_of(start: Reals, end: Reals, bulge: float) -> Reals:
    """The middle `(2,)` of the circle of an arc from one point to another; the bulge is not 0."""
    along = end - start
    across = np.array([-along[1], along[0]])
    middle: Reals = (start + end) / 2 + across * (1 - bulge * bulge) / (4 * bulge)
    return middle


def straightened(points: Reals, bulges: Reals, within: float) -> Reals:
    """A line of arcs as a line of straight bits whose corners lie on it.

    Args:
        points: `(n, 2)`, mm.
        bulges: `(n - 1,)`.
        within: Greatest distance from the arcs (mm).

    Returns:
        `(m, 2)`, the points included.
    """
    if not bulges.any():
        return points
    parts = [points[:1]]
    for start, end, bulge in zip(points[:-1], points[1:], bulges.tolist(), strict=True):
        if bulge:
            centre, sweep = centre_of(start, end, bulge), sweep_of(bulge)
            radius = math.hypot(*(start - centre).tolist())
            step = 2 * math.acos(max(1 - within / max(radius, 1e-12), 0.0)) or math.pi / 2
            count = max(1, math.ceil(abs(sweep) / step - 1e-9))
            first = math.atan2(start[1] - centre[1], start[0] - centre[0])
            angles = first + sweep * np.arange(1, count) / count
            parts.append(centre + radius * np.column_stack([np.cos(angles), np.sin(angles)]))
        parts.append(end[None])
    return np.concatenate(parts)


def in_quarters(points: Reals, bulges: Reals) -> tuple[Reals, Reals]:
    """A line of arcs `(n, 2)` and `(n - 1,)`; those that sweep more than a quarter turn halved until none does."""
    while len(long := np.flatnonzero(np.abs(bulges) > _QUARTER_TURN)):
        chords = points[long + 1] - points[long]
        right = np.column_stack((chords[:, 1], -chords[:, 0]))
        middles = (points[long] + points[long + 1] + right * bulges[long, None]) / 2
        halves = np.tan(np.arctan(bulges[long]) / 2)
        points, bulges = np.insert(points, long + 1, middles, axis=0), np.insert(bulges, long, halves)
        bulges[long + 1 + np.arange(len(long))] = halves
    return points, bulges


def fit_arcs(points: Reals, bulges: Reals, ends: Wholes, within: float) -> tuple[Reals, Reals, Wholes]:
    """Straight bits that lie on circles put together to arcs, in many lines at once.

    Args:
        points: `(n, 2)`, mm: the lines end to end.
        bulges: `(n,)`: of the bit from each point to the next; bits that are arcs already are kept. That of the last
            point of a line says nothing.
        ends: `(k,)`: where each line ends.
        within: Greatest distance (mm) of the corners, and of the middles of the bits, from an arc.

    Returns:
        Fewer points, the bulges between them, and where each line ends now.
    """
    from cutroom.geometry.kernels.arcs import fitted  # loads numba

    return fitted(np.ascontiguousarray(points), np.ascontiguousarray(bulges), ends.astype(np.int64), within)
