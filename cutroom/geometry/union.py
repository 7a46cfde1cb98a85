"""The border of several outlines taken together, where rounding defeats the kernels' own. It proposes, never judges."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

Reals = NDArray[np.float64]


def union_border(outlines: Sequence[NDArray[np.int64]]) -> Reals:
    """The border of the union of convex outlines.

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
