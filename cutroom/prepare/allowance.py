"""From the seam line to the cut line: each edge moved out by its allowance, corners finished, loops dropped."""

from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.errors import PieceError
from cutroom.geometry.loops import free_of_loops, outer_borders
from cutroom.geometry.offset import offset_line, offset_lines, without_repeats
from cutroom.geometry.polygon import area, distances
from cutroom.model.piece import Corner, Edge, Piece
from cutroom.prepare.corners import MITRE_LIMIT, Met, meet
from cutroom.prepare.hems import TurnMark

__all__ = ["MITRE_LIMIT", "Outlined", "cut_line", "outline_of", "seam_line"]

_HAIR = 1e-6
_MANY = 300  # a cut line of more points may cross itself so often that only its border can be looked at

Line = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Outlined:
    """A cut line and what its corners ask to be marked.

    Attributes:
        outline: `(n, 2)`, without its first point repeated, counter-clockwise (mm).
        seam: `(m, 2)`, the seam line, likewise.
        corners: `(k, 2)`, its turn points.
        turns: Where hems turn, at both their ends.
        turn_lines: `(n, 2)` each: the second and later turns of hems, drawn from end to end.
        clips: `(2, 2)` each: slits to clip hollow corners by.
    """

    outline: Line
    seam: Line
    corners: Line
    turns: tuple[TurnMark, ...]
    turn_lines: tuple[Line, ...]
    clips: tuple[Line, ...]


def cut_line(piece: Piece) -> tuple[Line, Line]:
    """The cut line of a piece `(n, 2)` and its turn points `(k, 2)` (mm); see `outline_of`."""
    outlined = outline_of(piece)
    return outlined.outline, outlined.corners


def seam_line(piece: Piece) -> Line:
    """The seam line of a piece as one outline `(n, 2)`, without its first point repeated (mm)."""
    return without_repeats(np.concatenate([edge.points[:-1] for edge in piece.edges]), closed=True)


def outline_of(piece: Piece) -> Outlined:
    """The cut line of a piece, each edge at its own allowance and each corner finished in its own way.

    Args:
        piece: Its edges in any axes.

    Returns:
        The cut line; it never crosses the seam line.

    Raises:
        PieceError: A hem is wider than the piece beside it is long, a corner cannot be made as it is asked for, or
            nothing is left of the outline.
    """
    if len(piece.edges) == 1:
        piece = _halved_edge(piece)
    sides = offset_lines([edge.points for edge in piece.edges], [edge.allowance for edge in piece.edges])
    count = len(sides)
    met: list[Met] = []
    for i, edge in enumerate(piece.edges):
        after = (i + 1) % count
        found = meet(piece, edge, piece.edges[after], sides[i], sides[after])
        sides[i], sides[after] = found.first, found.second
        met.append(found)
    ring = np.concatenate([part for side, corner in zip(sides, met, strict=True) for part in (side, corner.between)])
    ring = without_repeats(ring, closed=True)
    seam = seam_line(piece)
    outline = _settled(piece, ring, seam)
    corners = np.concatenate(
        [part for i, corner in enumerate(met) for part in (sides[i][-1:], corner.between, sides[(i + 1) % count][:1])]
    )
    turns = tuple(mark for corner in met for mark in corner.turns)
    clips = tuple(corner.clip for corner in met if corner.clip is not None)
    if outline is not ring:  # what stood on a loop is gone with it
        turns = tuple(mark for mark in turns if _on(outline, mark.at))
        clips = tuple(clip for clip in clips if _on(outline, clip[0]))
    return Outlined(
        outline,
        seam,
        without_repeats(corners, closed=True),
        turns,
        tuple(line for edge in piece.edges for line in _turn_lines(edge, turns)),
        clips,
    )


def _halved_edge(piece: Piece) -> Piece:
    """A piece of one edge all round as two, so that it has two ends to meet."""
    (edge,) = piece.edges
    half = len(edge.points) // 2
    first = replace(edge, name=f"{edge.name} 1", points=edge.points[: half + 1], corner=Corner.MITRED)
    return replace(piece, edges=(first, replace(edge, points=edge.points[half:])))


def _settled(piece: Piece, ring: Line, seam: Line) -> Line:
    """The ring without its loops, holding the whole of the seam line."""
    if len(ring) < 3:
        raise _folds_over(piece)
    grown, sewn = shapely.Polygon(ring), shapely.Polygon(seam)
    if grown.is_valid and grown.exterior.is_ccw and grown.covers(sewn):
        return ring
    try:
        outline = _cleared(ring, sewn)
    except ValueError:
        raise _folds_over(piece) from None
    grown = shapely.Polygon(outline)
    if _holds(grown, sewn):
        return outline
    # a needle whose joined corner cut into the seam
    whole = shapely.union_all([shapely.make_valid(grown), sewn], grid_size=_HAIR)
    if not isinstance(whole, shapely.Polygon) or not whole.buffer(10 * _HAIR).covers(sewn):
        raise _folds_over(piece)
    return np.asarray(shapely.orient_polygons(whole).exterior.coords)[:-1]


def _cleared(ring: Line, sewn: shapely.Polygon) -> Line:
    """The ring without its loops; of the parts it may fall into, the one that holds the seam line, else the largest."""
    if len(ring) > _MANY:
        borders = [border for border in outer_borders(ring) if shapely.Polygon(border).is_valid]
        if borders:
            return max(borders, key=lambda border: (_holds(shapely.Polygon(border), sewn), area(border)))
    return free_of_loops(ring)


def _holds(grown: shapely.Polygon, sewn: shapely.Polygon) -> bool:
    """Whether a cut line is simple and the whole of the seam line lies within it, but for a hair."""
    return grown.is_valid and (grown.covers(sewn) or grown.buffer(_HAIR).covers(sewn))


def _on(outline: Line, point: Line) -> bool:
    return bool(distances(point[None], outline, closed=True)[0] < 0.01)


def _folds_over(piece: Piece) -> PieceError:
    return PieceError(
        "its cut line folds over itself entirely",
        "Check the allowances against the size of the piece",
        place=f'piece "{piece.name}"',
    )


def _turn_lines(edge: Edge, marks: tuple[TurnMark, ...]) -> list[Line]:
    lines = []
    for depth in edge.turns:
        ends = [mark.at for mark in marks if mark.edge == edge.name and mark.depth == depth]
        if len(ends) == 2:
            first, last = sorted(ends, key=lambda at: float((at - edge.points[0]) @ (edge.points[-1] - edge.points[0])))
            lines.append(np.vstack([first, offset_line(edge.points, depth)[1:-1], last]))
    return lines
