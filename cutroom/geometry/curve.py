"""One smooth curve through given points, flattened to straight steps.

The curve is a chain of cubic Bézier arcs, one to each chord between neighbouring points.

*Tangents.* The directions at all points are found together, so that at each point the curve bends as much before it
as behind it. How much an arc over a chord of length c bends where it leaves at the angle a and arrives at the angle
b (both from the chord, positive where it bulges the same way) is taken as (2a - b) / c: the first-order curvature of
Hobby ("Smooth, easy to compute interpolating splines", 1986). This is one linear equation a point. A given direction
at an end is kept; an end left free takes the angle at the other end of its chord, as a circle would.

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
    """Direction of the curve at each point, `(n, 2)`: one row of the system for each, solved together."""
    last = len(along)
    bends = np.zeros(last + 1)
    bends[1:last] = [_angle(along[index - 1], along[index]) for index in range(1, last)]
    system, sides = np.zeros((last + 1, last + 1)), np.zeros(last + 1)
    for index in range(1, last):
        before, after = 1 / sizes[index - 1], 1 / sizes[index]
        system[index, index - 1 : index + 2] = before, 2 * (before + after), after
        sides[index] = -2 * bends[index] * before - bends[index + 1] * after
    system[0, 0] = system[last, last] = 1.0
    if start is not None:
        sides[0] = _angle(along[0], start)
    else:
        system[0, 1], sides[0] = 1.0, -bends[1]
    if end is not None:
        sides[last] = _angle(along[-1], end)
    elif last > 1 or start is not None:
        system[last, last - 1] = 1.0
    turns = np.linalg.solve(system, sides) if last > 1 or start is not None or end is not None else sides
    chords = np.vstack([along, along[-1:]])
    cos, sin = np.cos(turns), np.sin(turns)
    return np.column_stack([chords[:, 0] * cos - chords[:, 1] * sin, chords[:, 0] * sin + chords[:, 1] * cos])


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
