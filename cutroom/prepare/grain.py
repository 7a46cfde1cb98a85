"""The grainline a piece carries: inside it, along x, with its arrow heads."""

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.sections import longest_chords

CLEAR = 8.0
"""Least distance (mm) of the grainline's ends from the seam line."""
SHARE = 0.6
"""Part of the free chord that the grainline takes up."""
HEAD = 8.0
"""Length of an arrow head (mm)."""
BRACKET = 12.0
"""Distance (mm) of a fold piece's grainline from the fold."""
_LONG = 0.6  # a chord of this share of the longest is long enough

Line = NDArray[np.float64]
Point = tuple[float, float]


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
        strokes += [_head((x, 0.0), (0.0, -1.0), size) for x in (left, right)]
    strokes += [_head((x, height), (1.0 if x == right else -1.0, 0.0), size) for x in ends]
    return tuple(strokes)


def _head(tip: Point, along: Point, size: float) -> Line:
    (x, y), (ahead, up) = tip, along
    back_x, back_y, wide_x, wide_y = x - ahead * size, y - up * size, -up * size / 3, ahead * size / 3
    return np.array([[back_x + wide_x, back_y + wide_y], [x, y], [back_x - wide_x, back_y - wide_y]])


def _beside_fold(outline: Line) -> tuple[float, float, float]:
    """A chord near the fold, above the fold edge and no longer than it, so that its bends stay inside."""
    on_fold = outline[np.abs(outline[:, 1]) < 1e-6, 0]
    start, end = float(on_fold.min()), float(on_fold.max())
    height = min(BRACKET, (end - start) / 4)
    left, right = longest_chords(outline, np.array([height]))[0].tolist()
    return _shortened(max(left, start), height, min(right, end))


def _span(outline: Line, wanted: float) -> tuple[float, float, float]:
    """The chord to draw on: at the wanted height if it is long there, else at the height where it is longest."""
    left, right = longest_chords(outline, np.array([wanted]))[0].tolist()
    if right - left >= _LONG * float(outline[:, 0].max() - outline[:, 0].min()):
        return _shortened(left, wanted, right)
    low, high = float(outline[:, 1].min()), float(outline[:, 1].max())
    heights = np.concatenate([[wanted], np.linspace(low, high, 25)[1:-1]])
    chords = longest_chords(outline, heights)
    sizes = chords[:, 1] - chords[:, 0]
    best = 0
    if sizes[0] < _LONG * sizes.max():
        best = int(np.lexsort((np.abs(heights - (low + high) / 2), -np.round(sizes, 3)))[0])
    return _shortened(float(chords[best, 0]), float(heights[best]), float(chords[best, 1]))


def _shortened(left: float, height: float, right: float) -> tuple[float, float, float]:
    clear = min(CLEAR, (right - left) / 6)
    middle, half = (left + right) / 2, (right - left - 2 * clear) * SHARE / 2
    return middle - half, height, middle + half
