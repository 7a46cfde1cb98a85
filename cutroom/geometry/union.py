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
    """An outline grown by a distance of its own on each side: straight out from it, and round each corner by the less.

    Where all distances are alike that is all that is no further away than they are. Hollows that the growth closes are
    filled.

    Args:
        outline: `(n, 2)`, mm, counter-clockwise, simple.
        reaches: `(n,)`, of the side from each corner to the next (mm).
        figure: A convex figure that holds a circle of a radius (mm) about (0, 0); what it is too large by, the corners
            are too large by.

    Returns:
        `(m, 2)`, mm, counter-clockwise.
    """
    far = np.asarray(reaches)[:, None]
    ends = np.roll(outline, -1, axis=0)
    along = ends - outline
    out = np.column_stack([along[:, 1], -along[:, 0]]) / np.hypot(*along.T)[:, None] * far
    strips = [
        shapely.Polygon(corners)
        for corners, (reach,) in zip(np.stack([outline, outline + out, ends + out, ends], axis=1), far, strict=True)
        if reach > 0
    ]
    less = np.minimum(far[:, 0], np.roll(far[:, 0], 1))
    rounds = [shapely.Polygon(corner + figure(reach)) for corner, reach in zip(outline, less, strict=True) if reach > 0]
    whole = shapely.union_all([shapely.Polygon(outline), *strips, *rounds])
    assert isinstance(whole, shapely.Polygon)
    ring = shapely.orient_polygons(shapely.Polygon(whole.exterior)).exterior
    grown: Reals = shapely.get_coordinates(ring)[:-1]
    return np.ascontiguousarray(grown)
