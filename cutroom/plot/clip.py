"""Cutting strokes off at the border of a window."""

import numpy as np
from numpy.typing import NDArray

from cutroom.model.plot import Stroke


def clip_line(
    points: NDArray[np.float64], low: NDArray[np.float64], high: NDArray[np.float64], *, closed: bool
) -> list[NDArray[np.float64]]:
    """The parts of a line inside a window.

    Args:
        points: `(n, 2)`, mm.
        low: `(2,)`, lower-left corner of the window.
        high: `(2,)`, its upper-right corner.
        closed: The line's last point is joined to its first.

    Returns:
        Open lines `(k, 2)`, in the sense of the line; their ends lie on the border or are ends of the line. A single
        point stays where it is. Parts that only touch the border in one point are left out.
    """
    if len(points) == 1:
        return [points] if bool(((points >= low) & (points <= high)).all()) else []
    starts = points if closed else points[:-1]
    ends = np.roll(points, -1, axis=0) if closed else points[1:]
    enters, leaves = _shares(starts, ends - starts, low, high)
    inside = (enters < leaves) | ((starts == ends).all(axis=1) & (enters <= leaves))
    kept = np.flatnonzero(inside)
    if len(kept) == 0:
        return []
    steps = ends - starts
    firsts = np.where(enters[:, None] > 0, np.clip(starts + enters[:, None] * steps, low, high), starts)
    lasts = np.where(leaves[:, None] < 1, np.clip(starts + leaves[:, None] * steps, low, high), ends)
    broken = (np.diff(kept) > 1) | (leaves[kept[:-1]] < 1) | (enters[kept[1:]] > 0)
    parts = [np.vstack([firsts[run[:1]], lasts[run]]) for run in np.split(kept, np.flatnonzero(broken) + 1)]
    goes_round = closed and kept[0] == 0 and kept[-1] == len(starts) - 1 and enters[0] <= 0 and leaves[-1] >= 1
    if goes_round and len(parts) > 1:
        parts = [np.vstack([parts[-1], parts[0][1:]]), *parts[1:-1]]
    return parts


def _shares(
    starts: NDArray[np.float64], steps: NDArray[np.float64], low: NDArray[np.float64], high: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Shares of each segment at which it enters and leaves a window; outside, the first is greater (Liang, Barsky)."""
    flat = steps == 0
    safe = np.where(flat, 1.0, steps)
    one, two = (low - starts) / safe, (high - starts) / safe
    outside = flat & ((starts < low) | (starts > high))
    near = np.where(flat, np.where(outside, 2.0, 0.0), np.minimum(one, two))
    far = np.where(flat, np.where(outside, -1.0, 1.0), np.maximum(one, two))
    return np.maximum(near.max(axis=1), 0.0), np.minimum(far.min(axis=1), 1.0)


def clip_strokes(
    strokes: tuple[Stroke, ...],
    boxes: NDArray[np.float64],
    low: NDArray[np.float64],
    high: NDArray[np.float64],
) -> tuple[Stroke, ...]:
    """The strokes cut off at the border of a window, in their order; whole ones are left as they are.

    Args:
        strokes: The strokes.
        boxes: `(n, 4)`, least x and y and greatest x and y of each (mm), as `stroke_boxes` gives them.
        low: `(2,)`, lower-left corner of the window.
        high: `(2,)`, its upper-right corner.

    Returns:
        What is inside.
    """
    meets = np.flatnonzero((boxes[:, :2] <= high).all(axis=1) & (boxes[:, 2:] >= low).all(axis=1))
    near = boxes[meets]
    whole = np.logical_and((near[:, :2] >= low).all(axis=1), (near[:, 2:] <= high).all(axis=1))
    kept: list[Stroke] = []
    for index, is_whole in zip(meets.tolist(), np.atleast_1d(whole).tolist(), strict=True):
        stroke = strokes[index]
        if is_whole:
            kept.append(stroke)
        else:
            parts = clip_line(stroke.points, low, high, closed=stroke.closed)
            kept.extend(Stroke(stroke.role, part, False, stroke.placement) for part in parts)
    return tuple(kept)


def stroke_boxes(strokes: tuple[Stroke, ...]) -> NDArray[np.float64]:
    """Least x and y and greatest x and y of each stroke, `(n, 4)`, mm."""
    starts = np.cumsum([0, *(len(stroke.points) for stroke in strokes)])[:-1]
    points = np.vstack([stroke.points for stroke in strokes])
    return np.hstack([np.minimum.reduceat(points, starts, axis=0), np.maximum.reduceat(points, starts, axis=0)])
