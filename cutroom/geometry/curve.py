"""One smooth curve through given points, flattened to straight steps.

The curve is a chain of cubic Bézier arcs, one to each chord between neighbouring points.

*Tangents.* At a point between two chords the direction is that of the circle through the point and its two
neighbours: the chord directions, each weighted by the length of the *other* chord (the parabola rule on the
chord-length parameter). At an end whose direction is not given, the neighbour's direction is mirrored in the chord,
as a circle would have it. Points of a circle therefore give back its directions exactly.

*Handles.* A handle that leaves its chord of length c at the angle a is 2c / 3(1 + cos a) long: the length that draws
a circular arc. Its shadow on the chord is c/3 or less, so every arc runs forward along its chord and cannot loop as
long as its directions lie within 90 degrees of the chord. Where both handles bend the same way a handle stops where
the two directions meet (but is never shorter than c/6), so that an arc does not bulge past the corner they make.

*Flattening.* An arc with second derivative M or less, cut in n equal steps of its parameter, lies within M / 8n² of
its chords; n is the least number that keeps this within the chord error asked for.
"""

import math

import numpy as np
from numpy.typing import NDArray

CHORD_ERROR = 0.02
"""How far (mm) a flattened curve may lie from the true one unless told otherwise."""


def smooth_curve(
    points: NDArray[np.float64],
    *,
    start: NDArray[np.float64] | None = None,
    end: NDArray[np.float64] | None = None,
    chord_error: float = CHORD_ERROR,
) -> NDArray[np.float64]:
    """A smooth curve through points, as a line of straight steps.

    Args:
        points: `(n, 2)`, mm, n at least 2, no two neighbours the same.
        start: `(2,)` direction in which the curve leaves the first point, any length; None to leave it free.
        end: `(2,)` direction in which it arrives at the last point, likewise.
        chord_error: Greatest distance (mm) between the curve and its steps.

    Returns:
        `(m, 2)`, mm; every given point is one of them, exactly.
    """
    arcs = cubic_arcs(points, start=start, end=end)
    steps = [flatten_arc(arc, chord_error=chord_error)[:-1] for arc in arcs]
    return np.vstack([*steps, points[-1:]])


def cubic_arcs(
    points: NDArray[np.float64],
    *,
    start: NDArray[np.float64] | None = None,
    end: NDArray[np.float64] | None = None,
) -> NDArray[np.float64]:
    """The cubic Bézier arcs of the smooth curve through points.

    Args:
        points: `(n, 2)`, mm.
        start: `(2,)` direction at the first point, or None.
        end: `(2,)` direction at the last point, or None.

    Returns:
        `(n - 1, 4, 2)`, mm: start, two handles' ends, end of each arc.
    """
    chords = np.diff(points, axis=0)
    sizes = np.hypot(chords[:, 0], chords[:, 1])
    along = chords / sizes[:, None]
    directions = _directions(along, sizes, start, end)
    arcs = np.zeros((len(chords), 4, 2))
    for index, chord in enumerate(along):
        leaving, arriving = directions[index], directions[index + 1]
        first, second = _handles(chord, leaving, arriving)
        arcs[index] = (
            points[index],
            points[index] + leaving * first * sizes[index],
            points[index + 1] - arriving * second * sizes[index],
            points[index + 1],
        )
    return arcs


def flatten_arc(arc: NDArray[np.float64], *, chord_error: float = CHORD_ERROR) -> NDArray[np.float64]:
    """A cubic Bézier arc as straight steps.

    Args:
        arc: `(4, 2)`: start, two handles' ends, end (mm).
        chord_error: Greatest distance (mm) between the arc and its steps.

    Returns:
        `(n + 1, 2)`, mm, from the arc's start to its end exactly.
    """
    bends = 6 * np.vstack([arc[0] - 2 * arc[1] + arc[2], arc[1] - 2 * arc[2] + arc[3]])
    most = float(np.hypot(bends[:, 0], bends[:, 1]).max())
    count = max(1, math.ceil(math.sqrt(most / (8 * chord_error))))
    share = np.linspace(0.0, 1.0, count + 1)[:, None]
    rest = 1 - share
    steps: NDArray[np.float64] = (
        rest**3 * arc[0] + 3 * rest**2 * share * arc[1] + 3 * rest * share**2 * arc[2] + share**3 * arc[3]
    )
    steps[0], steps[-1] = arc[0], arc[3]
    return steps


def _directions(
    along: NDArray[np.float64],
    sizes: NDArray[np.float64],
    start: NDArray[np.float64] | None,
    end: NDArray[np.float64] | None,
) -> NDArray[np.float64]:
    directions = np.zeros((len(along) + 1, 2))
    for index in range(1, len(along)):
        directions[index] = _unit(along[index - 1] * sizes[index] + along[index] * sizes[index - 1])
    if start is not None:
        directions[0] = _unit(start)
    if end is not None:
        directions[-1] = _unit(end)
    alone = len(along) == 1
    if start is None:
        near = directions[1] if end is not None or not alone else along[0]
        directions[0] = 2 * (along[0] @ near) * along[0] - near
    if end is None:
        near = directions[-2]
        directions[-1] = 2 * (along[-1] @ near) * along[-1] - near
    return directions


def _handles(
    chord: NDArray[np.float64], leaving: NDArray[np.float64], arriving: NDArray[np.float64]
) -> tuple[float, float]:
    """Lengths of both handles as shares of the chord."""
    out, back = _angle(chord, leaving), _angle(arriving, chord)
    first, second = (2 / (3 * (1 + max(math.cos(angle), 0.0))) for angle in (out, back))
    if out * back > 0 and abs(out) + abs(back) < math.pi:
        both = math.sin(abs(out) + abs(back))
        first = min(first, max(math.sin(abs(back)) / both, 1 / 6))
        second = min(second, max(math.sin(abs(out)) / both, 1 / 6))
    return first, second


def _angle(one: NDArray[np.float64], two: NDArray[np.float64]) -> float:
    return math.atan2(float(one[0] * two[1] - one[1] * two[0]), float(one @ two))


def _unit(vector: NDArray[np.float64]) -> NDArray[np.float64]:
    size = float(np.hypot(vector[0], vector[1]))
    return vector / size
