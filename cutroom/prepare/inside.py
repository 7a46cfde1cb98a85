"""What lies inside or round a piece: cut-outs, and the rough block it is first cut as."""

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from cutroom.errors import PieceError
from cutroom.geometry.polygon import signed_area
from cutroom.model.piece import Piece

Line = NDArray[np.float64]


def cut_outs(piece: Piece, seam: Line, where: str) -> tuple[Line, ...]:
    """The closed lines inside a piece that are cut, clockwise, so that the cloth lies on the same hand as outside.

    Args:
        piece: In its own axes.
        seam: `(n, 2)`, its seam line (mm).
        where: The piece, for messages.

    Raises:
        PieceError: A cut-out crosses itself, another one or the seam line.
    """
    if not piece.cutouts:
        return ()
    free: BaseGeometry = shapely.Polygon(seam)
    found: list[Line] = []
    for cutout in piece.cutouts:
        points = cutout.points[:-1] if np.allclose(cutout.points[0], cutout.points[-1]) else cutout.points
        hole = shapely.Polygon(points) if len(points) > 2 else shapely.Polygon()
        if hole.is_empty or not hole.is_valid:
            what = f'its cut-out "{cutout.name}" crosses itself or has no area'
            raise PieceError(what, "Draw it as one closed line", place=where)
        if not free.contains_properly(hole):
            what = f'its cut-out "{cutout.name}" is not wholly inside the seam line and clear of other cut-outs'
            raise PieceError(what, "Move it inside, or make it part of the outline", place=where)
        free = shapely.difference(free, hole)
        found.append(points[::-1] if signed_area(points) > 0 else points)
    return tuple(found)


def block_line(cut_line: Line, margin: float) -> Line:
    """The rough block round a cut line `(n, 2)`: every point of it at least `margin` (mm) away, counter-clockwise."""
    grown = shapely.Polygon(cut_line).buffer(margin, join_style="mitre", mitre_limit=2.0)
    return np.asarray(shapely.orient_polygons(shapely.Polygon(grown.exterior)).exterior.coords)[:-1]
