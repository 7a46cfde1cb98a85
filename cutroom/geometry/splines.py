"""Cubic B-splines through lines of straight bits: smooth stretches within a tolerance, corners and straight bits kept.

A whole line becomes one spline. At a corner, and at both ends, its knots stand three together (four at the ends), so
that it goes through that point and may bend there sharply (Piegl and Tiller, The NURBS Book, chapters 2 and 9; from
memory).
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.float64]

DEGREE = 3
CORNER_DEG = 18.0
"""A bend sharper than this is a corner; what curves so much between two points is less than 1.6 mm round."""
_APART = 4.0
"""A long straight bit is looked at in places no further apart than this (mm)."""
_STRAIGHT = 4.0
"""A bit so many times as long as the one beside it is straight."""
_SURE = 0.8
"""What is allowed of the tolerance where it is looked at, so that it holds between those places, too."""
_ROUNDS = 12
_PLACES = 4


@dataclass(frozen=True, slots=True, eq=False)
class Spline:
    """A cubic B-spline.

    Attributes:
        knots: `(n + 4,)`, never falling.
        control: `(n, 2)`, mm.
    """

    knots: Reals
    control: Reals


def fit_spline(points: Reals, within: float) -> Spline | None:
    """A line as one spline.

    Args:
        points: `(n, 2)`, mm.
        within: Greatest distance (mm) of the line from the spline.

    Returns:
        The spline; None when it would take no fewer points, so that a polyline says it better: the line has little
        that is smooth, or its bits leave their own curve by more than the tolerance.
    """
    steps = np.diff(points, axis=0)
    if len(points) <= DEGREE + 1:
        return None
    corners = [0, *(np.flatnonzero(_ends_of_stretches(steps)) + 1).tolist(), len(points) - 1]
    if DEGREE * (len(corners) - 1) + 1 >= len(points):
        return None
    knots: list[Reals] = [np.zeros(1)]
    control: list[Reals] = [points[:1]]
    along = 0.0
    for start, end in pairwise(corners):
        shape = np.round(points[start : end + 1] - points[start], _PLACES)
        inner, places = _fitted(shape.tobytes(), within)
        long = _length(shape)
        between = places[1:-1] + points[start]
        knots += [np.full(DEGREE, along), inner + along]
        control += [between, points[end : end + 1]]
        along += long
    spline = Spline(np.concatenate([*knots, np.full(DEGREE + 1, along)]), np.concatenate(control))
    return spline if len(spline.control) < len(points) else None


def _ends_of_stretches(steps: Reals) -> NDArray[np.bool_]:
    """Which points between bits are corners, or where a long straight bit meets a curve."""
    ways = np.arctan2(steps[:, 1], steps[:, 0])
    bends = np.abs((np.diff(ways) + np.pi) % (2 * np.pi) - np.pi)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    shorter, longer = np.minimum(lengths[:-1], lengths[1:]), np.maximum(lengths[:-1], lengths[1:])
    ends: NDArray[np.bool_] = (bends > np.radians(CORNER_DEG)) | (longer > np.maximum(_STRAIGHT * shorter, _APART))
    return ends


def _length(points: Reals) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


@lru_cache(maxsize=8192)
def _fitted(shape: bytes, within: float) -> tuple[Reals, Reals]:
    """Inner knots and control points of a stretch without corners; pieces laid alike ask for the same one."""
    points = np.frombuffer(shape, dtype=np.float64).reshape(-1, 2)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    marks = _marks(along)
    wanted = np.column_stack([np.interp(marks, along, points[:, axis]) for axis in (0, 1)])
    inner = np.zeros(0)
    for _ in range(_ROUNDS if len(points) > 2 else 1):
        control, apart = _least_squares(inner, marks, wanted, along[-1])
        if apart.max() <= _SURE * within:
            return inner, control
        more = _more_knots(inner, marks, apart, _SURE * within, along[-1])
        if len(more) == len(inner) or len(more) >= len(points) - 2:
            break
        inner = more
    thirds = np.arange(1, DEGREE)[:, None] / DEGREE  # no spline is simpler: bit after bit straight
    parts = [point + (to - point) * thirds for point, to in pairwise(points)]
    rows = [row for part, to in zip(parts, points[1:], strict=True) for row in (part, to[None])]
    return np.repeat(along[1:-1], DEGREE), np.concatenate([points[:1], *rows])


def _marks(along: Reals) -> Reals:
    """Where a stretch is looked at: its points, the quarters of its bits, more on long ones."""
    steps = np.diff(along)
    counts = np.maximum(4, np.ceil(steps / _APART)).astype(np.int64)
    share = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    return np.append(np.repeat(along[:-1], counts) + np.repeat(steps / counts, counts) * share, along[-1])


def _least_squares(inner: Reals, marks: Reals, wanted: Reals, long: float) -> tuple[Reals, Reals]:
    """Control points of the spline nearest to some places, its ends on theirs; and how far it is from each."""
    knots = np.concatenate([np.zeros(DEGREE + 1), inner, np.full(DEGREE + 1, long)])
    basis = basis_of(knots, marks)
    middles = np.column_stack([knots[place : place + basis.shape[1]] for place in range(1, DEGREE + 1)])
    straight = wanted[0] + (wanted[-1] - wanted[0]) * (middles.mean(axis=1) / long)[:, None]
    off = np.linalg.lstsq(basis[:, 1:-1], wanted - basis @ straight, rcond=None)[0]
    control = straight + np.vstack([np.zeros((1, 2)), off, np.zeros((1, 2))])
    apart: Reals = np.hypot(*(basis @ control - wanted).T)
    return control, apart


def _more_knots(inner: Reals, marks: Reals, apart: Reals, within: float, long: float) -> Reals:
    """A knot more in the middle of every span that is off, where enough places lie to hold it."""
    ends = np.concatenate([[0.0], inner, [long]])
    spans = np.clip(np.searchsorted(ends, marks, side="right") - 1, 0, len(ends) - 2)
    added = []
    for span in np.unique(spans[apart > within]).tolist():
        own = marks[spans == span]
        if len(own) > 2 * DEGREE:
            added.append(float(own[len(own) // 2]))
    return np.sort(np.concatenate([inner, added]))


def basis_of(knots: Reals, places: Reals) -> Reals:
    """`(len(places), n)`: the cubic basis functions of some knots (Cox and de Boor's recursion)."""
    last = len(knots) - DEGREE - 2
    spans = np.clip(np.searchsorted(knots, places, side="right") - 1, DEGREE, last)
    found = np.zeros((len(places), len(knots) - 1))
    found[np.arange(len(places)), spans] = 1.0
    for degree in range(1, DEGREE + 1):
        count = len(knots) - 1 - degree
        left, right = knots[:count], knots[degree + 1 :]
        low, high = knots[degree : degree + count] - left, right - knots[1 : count + 1]
        with np.errstate(divide="ignore", invalid="ignore"):
            rise = np.where(low > 0, (places[:, None] - left) / low, 0.0)
            fall = np.where(high > 0, (right - places[:, None]) / high, 0.0)
        found = rise * found[:, :count] + fall * found[:, 1 : count + 1]
    return found
