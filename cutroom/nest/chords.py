"""How wide an outline is across the strip, at every place along it: its chords, exactly, as straight runs.

Runs are `(n, 4)` arrays (mm), from left to right without holes: where a run starts and ends, and the chord at its start
and at its end, both seen from inside the run. Where the outline has a step, so have the chords.
"""

import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.float64]

SLANTS = np.deg2rad([0.0, -90.0, 90.0, -60.0, 60.0, -30.0, 30.0])
"""Directions in which an outline is grown by its gap, from straight across."""


def chords(outline: Reals) -> Reals:
    """The chords of an outline across the strip.

    A chord is the sum of the heights of the sides that bound it from above, less those of the sides that bound it from
    below; in a simple outline that is the measure of what it covers there, in however many parts.

    Args:
        outline: `(n, 2)`, mm, counter-clockwise.
    """
    ends = np.roll(outline, -1, axis=0)
    places = np.unique(outline[:, 0])
    first, last = np.searchsorted(places, outline[:, 0]), np.searchsorted(places, ends[:, 0])
    low, high = np.minimum(first, last), np.maximum(first, last)
    side = np.repeat(np.arange(len(outline)), high - low)
    run = np.arange(len(side)) - np.repeat(np.cumsum(high - low) - (high - low), high - low) + low[side]
    above = np.where(first > last, 1.0, -1.0)[side]
    (x, y), (along, up) = outline[side].T, (ends - outline)[side].T
    heights = [np.bincount(run, above * (y + up * (places[run + k] - x) / along), len(places) - 1) for k in (0, 1)]
    return np.column_stack([places[:-1], places[1:], *heights])


def chords_at(runs: Reals, places: Reals) -> Reals:
    """Chords at some places along the strip, `(n,)`; 0 beside the outline."""
    x0, x1, left, right = runs[np.clip(np.searchsorted(runs[:, 0], places, side="right") - 1, 0, len(runs) - 1)].T
    inside = (places > runs[0, 0]) & (places < runs[-1, 1])
    found: Reals = np.where(inside, left + (places - x0) / (x1 - x0) * (right - left), 0.0)
    return found


def grown(runs: Reals, radius: float, sides: float = 2.0) -> Reals:
    """Chords that the outline has at least when it is grown by a radius.

    The grown outline holds every chord of the outline moved aside by `a` and lengthened by `h` at both ends, as long as
    a² + h² is no more than the radius squared. Of a few such `a` the longest is taken, run by run.

    Args:
        runs: Of the outline.
        radius: By how much it is grown (mm).
        sides: At how many ends a chord is lengthened: 1 where the other lies on a fold.
    """
    if radius <= 0:
        return runs
    starts = np.append(runs[:, 0], runs[-1, 1])
    moves = radius * np.sin(SLANTS)
    places = np.unique(np.add.outer(moves, starts))
    middles = (places[1:] + places[:-1]) / 2
    best = np.full((len(middles), 2), -np.inf)
    for move, longer in zip(moves, sides * radius * np.cos(SLANTS), strict=True):
        here = middles - move
        x0, x1, left, right = runs[np.clip(np.searchsorted(starts, here, side="right") - 1, 0, len(runs) - 1)].T
        share = (np.column_stack([places[:-1], places[1:]]) - move - x0[:, None]) / (x1 - x0)[:, None]
        found = left[:, None] + np.clip(share, 0.0, 1.0) * (right - left)[:, None] + longer
        better = (here > starts[0]) & (here < starts[-1]) & (found.sum(axis=1) > best.sum(axis=1))
        best[better] = found[better]
    best[np.isneginf(best)] = 0.0
    return np.column_stack([places[:-1], places[1:], best])


def above(runs: Reals, heights: Reals) -> tuple[Reals, Reals]:
    """For how long chords are longer than each height (mm), and the area under them there (mm2).

    Args:
        runs: The chords.
        heights: `(m,)`, mm, none below 0.

    Returns:
        Two arrays `(m,)`.
    """
    low, top = runs[:, 2:].min(axis=1)[:, None], runs[:, 2:].max(axis=1)[:, None]
    rise = top - low
    share = np.where(rise > 0, np.clip((top - heights) / np.where(rise > 0, rise, 1.0), 0.0, 1.0), top > heights)
    length = (runs[:, 1] - runs[:, 0])[:, None] * share
    return length.sum(axis=0), (length * (top + np.maximum(low, heights)) / 2).sum(axis=0)


def least_step(one: Reals, two: Reals, height: float) -> float:
    """How far outlines must stand apart along the strip so that their chords together are nowhere above a height.

    For two runs, the places in both at which the chords together are too high fill a rectangle cut by a straight line.
    Its corners give the steps that are barred by these runs: an open interval. Those of all runs are put together, and
    the step sought is where the first of them that is not below 0 ends.

    Args:
        one: Chords of the outline on the left, x counted from where it is held.
        two: Chords of the other, likewise.
        height: mm.

    Returns:
        No step from 0 up to this one (mm) is free; 0 when 0 is.
    """
    one = one[one[:, 2:].max(axis=1) > height - two[:, 2:].max()]
    two = two[two[:, 2:].max(axis=1) > height - one[:, 2:].max()] if len(one) else two[:0]
    if len(one) == 0 or len(two) == 0:
        return 0.0
    a, b = one[:, None], two[None]
    low = np.full((len(one), len(two)), np.inf)
    high = -low
    for along in (0, 1):
        for across in (0, 1):
            corner = a[..., 2 + along] + b[..., 2 + across] - height
            at = a[..., along] - b[..., across]
            barred = corner > 0
            beside = a[..., 3 - along] + b[..., 2 + across] - height  # the other end of the left run
            cut = at + (a[..., 1 - along] - a[..., along]) * _share(corner, beside)
            ahead = a[..., 2 + along] + b[..., 3 - across] - height  # the other end of the right run
            turned = at - (b[..., 1 - across] - b[..., across]) * _share(corner, ahead)
            for step, holds in ((at, barred), (cut, barred & (beside < 0)), (turned, barred & (ahead < 0))):
                low = np.where(holds, np.minimum(low, step), low)
                high = np.where(holds, np.maximum(high, step), high)
    kept = high > np.maximum(low, 0.0)
    order = np.argsort(low[kept])
    starts, reach = low[kept][order], np.maximum.accumulate(high[kept][order])
    if len(starts) == 0 or not starts[0] < 0:
        return 0.0
    open_at = np.flatnonzero(np.maximum(starts[1:], 0.0) >= reach[:-1] - 1e-9)
    return float(reach[open_at[0]] if len(open_at) else reach[-1])


def _share(here: Reals, there: Reals) -> Reals:
    """How far on the way from a value above 0 to one below it 0 is passed."""
    fall = here - there
    return np.where(fall > 0, here / np.where(fall > 0, fall, 1.0), 0.0)
