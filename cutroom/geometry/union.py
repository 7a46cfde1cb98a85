"""Several outlines taken together."""

from collections.abc import Callable, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

Reals = NDArray[np.float64]


def union_border(outlines: Sequence[NDArray[np.int64]]) -> Reals:
    """The border of the union of convex outlines, where rounding defeats the kernels' own. It proposes, never judges.

    Args:
        outlines: Each `(n, 2)`, in any unit.

    Returns:
        `(e, 4)`, x0 y0 x1 y1 of each edge, in closed loops.
    """
    union = shapely.union_all([shapely.Polygon(outline) for outline in outlines])
    rings = []
    for polygon in shapely.get_parts(union):
        for ring in (polygon.exterior, *polygon.interiors):
            corners = shapely.get_coordinates(ring)
            rings.append(np.hstack([corners[:-1], corners[1:]]))
    return np.ascontiguousarray(np.vstack(rings))


def grown_by_sides(outline: Reals, reaches: Sequence[float], figure: Callable[[float], Reals]) -> Reals:
    """An outline grown by a distance of its own on each side: all that is no further from a side than its distance.

    Two outlines grown so share no inside exactly where every side of one is at least the sum of both distances from
    every side of the other; hollows that the growth closes are filled.

    Args:
        outline: `(n, 2)`, mm, counter-clockwise, simple.
        reaches: `(n,)`, of the side from each corner to the next (mm).
        figure: A convex figure that holds a circle of a radius (mm) about (0, 0).

    Returns:
        `(m, 2)`, mm, counter-clockwise; what the figure is too large by, it is too large by.
    """
    figures = {reach: figure(reach) for reach in set(reaches)}
    bands = [
        shapely.MultiPoint(np.vstack([figures[reach] + start, figures[reach] + end])).convex_hull
        for start, end, reach in zip(outline, np.roll(outline, -1, axis=0), reaches, strict=True)
        if reach > 0
    ]
    whole = shapely.union_all([shapely.Polygon(outline), *bands])
    assert isinstance(whole, shapely.Polygon)
    ring = shapely.orient_polygons(shapely.Polygon(whole.exterior)).exterior
    grown: Reals = shapely.get_coordinates(ring)[:-1]
    return np.ascontiguousarray(grown)
