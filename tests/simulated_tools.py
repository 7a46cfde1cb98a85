"""What a tool really does along a run, worked out step by step, knowing nothing of how the run was made."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.model.toolpath import Toolpath

Reals = NDArray[np.float64]
STEP = 0.004
"""The pivot of a blade is moved so far (mm) at a time."""


def fine(points: Reals, bulges: Reals, step: float = STEP) -> Reals:
    """Places along a run no further apart than a step (mm), arcs followed by their angle."""
    found = [points[:1]]
    for start, end, bulge in zip(points[:-1], points[1:], bulges, strict=True):
        chord = end - start
        if bulge == 0:
            share = np.linspace(0, 1, max(2, int(np.ceil(np.hypot(*chord) / step)) + 1))[1:, None]
            found.append(start + share * chord)
            continue
        sweep = 4 * np.arctan(bulge)
        radius = np.hypot(*chord) / 2 / np.sin(abs(sweep) / 2)
        left = np.array([-chord[1], chord[0]]) / np.hypot(*chord)
        centre = (start + end) / 2 + left * radius * np.cos(sweep / 2) * np.sign(sweep)
        first = np.arctan2(*(start - centre)[::-1])
        angles = first + np.linspace(0, sweep, max(2, int(np.ceil(radius * abs(sweep) / step)) + 1))[1:]
        found.append(centre + radius * np.column_stack([np.cos(angles), np.sin(angles)]))
    return np.vstack(found)


def tip_of(path: Toolpath, offset: float, heading: float) -> tuple[Reals, float]:
    """Where the tip of a drag knife goes (the tractrix of its pivot, step by step), and where the blade points after.

    The blade goes down pointing to `heading` (radians); the tip is pulled towards the pivot and is always one offset
    away from it.
    """
    pivots = fine(path.points, path.bulges)
    tip = pivots[0] - offset * np.array([np.cos(heading), np.sin(heading)])
    tips = [tip]
    for pivot in pivots[1:]:
        pull = pivot - tip
        tip = pivot - offset * pull / np.hypot(*pull)
        tips.append(tip)
    last = pivots[-1] - tips[-1]
    return np.array(tips), float(np.arctan2(last[1], last[0]))


def burnt(path: Toolpath, kerf: float) -> shapely.Polygon:
    """The cloth that a round beam of this width burns away along a run."""
    return shapely.LineString(fine(path.points, path.bulges, 0.05)).buffer(kerf / 2, quad_segs=32)


def kept_inside(burn: shapely.Polygon) -> shapely.Polygon:
    """What falls out of the cloth inside a cut that closes."""
    rings = [shapely.Polygon(ring) for ring in burn.interiors]
    return max(rings, key=lambda ring: ring.area)


def farthest(
    points: Reals, wanted: Reals, *, closed: bool, but_near: Sequence[Sequence[float]] | Reals = (), within: float = 0
) -> float:
    """Greatest distance (mm) of some points from a wanted line, those within a distance of given places left out."""
    line = shapely.LinearRing(wanted) if closed else shapely.LineString(wanted)
    spots = np.atleast_1d(np.asarray(shapely.points(points)))
    if len(but_near):
        spots = spots[shapely.distance(spots, shapely.MultiPoint(list(but_near))) > within]
    return float(shapely.distance(spots, line).max()) if len(spots) else 0.0
