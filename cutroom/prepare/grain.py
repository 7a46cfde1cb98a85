"""The grainline a piece carries: inside it, along x, with its arrow heads."""

import numpy as np
import shapely
from numpy.typing import NDArray

CLEAR = 8.0
"""Least distance (mm) of the grainline's ends from the seam line."""
SHARE = 0.6
"""Part of the free chord that the grainline takes up."""
HEAD = 8.0
"""Length of an arrow head (mm)."""
BRACKET = 12.0
"""Distance (mm) of a fold piece's grainline from the fold."""

Line = NDArray[np.float64]


def grain_strokes(outline: Line, drafted: Line, *, one_way: bool, fold: bool) -> tuple[Line, ...]:
    """The grainline of a piece in its own axes.

    Args:
        outline: `(n, 2)`, the seam line (mm).
        drafted: `(2, 2)`, where the draft has its grainline; its height is kept when it crosses the piece well.
        one_way: An arrow head at the end only, the way the nap runs; otherwise at both ends.
        fold: The piece lies on the fold at y = 0: the line stands near it, its ends bent to the fold.

    Returns:
        The line itself `(2, 2)`, then arrow heads and bends.
    """
    left, height, right = _beside_fold(outline) if fold else _span(outline, float(drafted[:, 1].mean()))
    size = min(HEAD, (right - left) / 4)
    line = np.array([[left, height], [right, height]])
    ends = [right] if one_way else [left, right]
    strokes = [line]
    if fold:
        strokes += [np.array([[x, height], [x, 0.0]]) for x in (left, right)]
        strokes += [_head(np.array([x, 0.0]), np.array([0.0, -1.0]), size) for x in (left, right)]
    strokes += [_head(np.array([x, height]), np.array([1.0 if x == right else -1.0, 0.0]), size) for x in ends]
    return tuple(strokes)


def _head(tip: Line, along: Line, size: float) -> Line:
    across = np.array([-along[1], along[0]])
    return np.vstack([tip - along * size + across * size / 3, tip, tip - along * size - across * size / 3])


def _beside_fold(outline: Line) -> tuple[float, float, float]:
    """A chord near the fold, above the fold edge and no longer than it, so that its bends stay inside."""
    polygon = shapely.Polygon(outline)
    on_fold = outline[np.abs(outline[:, 1]) < 1e-6, 0]
    start, end = float(on_fold.min()), float(on_fold.max())
    height = min(BRACKET, (end - start) / 4)
    left, right = _longest_chord(polygon, height)
    return _shortened(max(left, start), height, min(right, end))


def _span(outline: Line, wanted: float) -> tuple[float, float, float]:
    """The chord to draw on: at the wanted height if it is long there, else at the height where it is longest."""
    polygon = shapely.Polygon(outline)
    low, high = float(outline[:, 1].min()), float(outline[:, 1].max())
    tries = {height: _longest_chord(polygon, height) for height in (wanted, *np.linspace(low, high, 25)[1:-1].tolist())}
    longest = max(right - left for left, right in tries.values())
    height = wanted
    if tries[wanted][1] - tries[wanted][0] < 0.6 * longest:
        height = max(tries, key=lambda key: (round(tries[key][1] - tries[key][0], 3), -abs(key - (low + high) / 2)))
    left, right = tries[height]
    return _shortened(left, height, right)


def _shortened(left: float, height: float, right: float) -> tuple[float, float, float]:
    clear = min(CLEAR, (right - left) / 6)
    middle, half = (left + right) / 2, (right - left - 2 * clear) * SHARE / 2
    return middle - half, height, middle + half


def _longest_chord(polygon: shapely.Polygon, height: float) -> tuple[float, float]:
    low_x, _, high_x, _ = polygon.bounds
    chord = polygon.intersection(shapely.LineString([(low_x - 1, height), (high_x + 1, height)]))
    parts = [part.bounds for part in shapely.get_parts(chord) if part.length > 0]
    if not parts:
        return 0.0, 0.0
    left, _, right, _ = max(parts, key=lambda bounds: bounds[2] - bounds[0])
    return left, right
