"""From the seam line to the cut line: each edge moved out by its allowance, corners finished, hems folded back."""

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import PieceError
from cutroom.geometry.affine import reflect_points
from cutroom.geometry.offset import free_of_loops, join, offset_line, reach, turning, without_repeats
from cutroom.model.piece import Edge, EdgeKind, Piece

MITRE_LIMIT = 2.5
"""A corner runs out no further from its turn point than this many times the wider allowance; then it is blunted."""
_SHALLOW = np.radians(60.0)
_RUN_OUT = 1.5

Line = NDArray[np.float64]


def cut_line(piece: Piece) -> tuple[Line, Line]:
    """The cut line of a piece.

    Corners are mitred to `MITRE_LIMIT`; where seams of unlike allowance run into each other at a shallow corner the
    cut line steps square; a hem's ends are the seams beside it mirrored in the hem line, so that the hem lies flat when
    turned up; beside a fold the cut line ends on the fold line.

    Args:
        piece: Its edges in any axes.

    Returns:
        The cut line `(n, 2)` without its first point repeated, counter-clockwise, and its turn points `(k, 2)` (mm).

    Raises:
        PieceError: A hem is wider than the piece beside it is long, or nothing is left of the outline.
    """
    sides = [offset_line(edge.points, edge.allowance) for edge in piece.edges]
    count = len(sides)
    corners: list[Line] = [np.zeros((0, 2))] * count
    for i, edge in enumerate(piece.edges):
        after = (i + 1) % count
        sides[i], corners[i], sides[after] = _corner(piece, edge, piece.edges[after], sides[i], sides[after])
    ring = np.vstack([part for i in range(count) for part in (sides[i], corners[i])])
    ring = without_repeats(ring, closed=True)
    try:
        outline = free_of_loops(ring)
    except ValueError:
        raise PieceError(
            "its cut line folds over itself entirely",
            "Check the allowances against the size of the piece",
            place=f'piece "{piece.name}"',
        ) from None
    turns = np.vstack([part for i in range(count) for part in (sides[i][-1:], corners[i], sides[(i + 1) % count][:1])])
    return outline, without_repeats(turns, closed=True)


def _corner(piece: Piece, before: Edge, after: Edge, first: Line, second: Line) -> tuple[Line, Line, Line]:
    """The two moved edges as they end at their corner, and the points between them."""
    nothing = np.zeros((0, 2))
    corner = before.points[-1]
    bend = turning(before.points[-1] - before.points[-2], after.points[1] - after.points[0])
    if _steps(bend, before.allowance, after.allowance) and EdgeKind.FOLD not in {before.kind, after.kind}:
        return first, nothing, second
    kinds = {before.kind, after.kind}
    if kinds == {EdgeKind.HEM, EdgeKind.SEAM}:
        if after.kind is EdgeKind.HEM:
            return _folded_back(piece, after, corner, after.points[1] - corner, first, second)
        lines = _folded_back(piece, before, corner, before.points[-2] - corner, second[::-1], first[::-1])
        side, between, hem = (line[::-1] for line in lines)
        return hem, between, side
    joined = join(first, second)
    if joined is None:
        return first, nothing, second
    kept, started, tip = joined
    limit = MITRE_LIMIT * max(before.allowance, after.allowance)
    away = tip - corner
    reach = float(np.hypot(*away))
    if bend > 0 and reach > limit and EdgeKind.FOLD not in kinds:
        return _blunted(first, second, corner + away / reach * limit, away)
    return kept, nothing, started


def _steps(bend: float, first: float, second: float) -> bool:
    """Whether unlike allowances step square where a shallow corner would make one run far into the other."""
    if first == second or abs(bend) >= _SHALLOW:
        return False
    across = abs(np.sin(bend)) * max(first, second) * _RUN_OUT
    return bool(max(abs(first * np.cos(bend) - second), abs(second * np.cos(bend) - first)) > across)


def _blunted(first: Line, second: Line, middle: Line, away: Line) -> tuple[Line, Line, Line]:
    """A long corner cut off square at a point."""
    across = np.array([-away[1], away[0]]) / np.hypot(*away)
    stop = np.vstack([middle - across, middle + across])
    one, two = join(first, stop), join(stop, second)
    if one is None or two is None:
        return first, np.zeros((0, 2)), second
    return one[0], np.zeros((0, 2)), two[1]


def _folded_back(
    piece: Piece, hem: Edge, corner: Line, along: Line, cut_side: Line, cut_hem: Line
) -> tuple[Line, Line, Line]:
    """A corner where a side's cut line runs towards a hem, and the hem's cut line runs away from it.

    The side's cut line runs on to the hem line; from there its mirror image in the hem line runs down to the hem's
    own cut line.
    """
    reached = join(cut_side, np.vstack([corner, corner + along]))
    if reached is None:
        return cut_side, np.zeros((0, 2)), cut_hem
    kept = reached[0]
    met = reach(reflect_points(kept, corner, along)[::-1], cut_hem)
    if met is None:
        raise PieceError(
            f"the hem is {hem.allowance:g} mm wide, wider than the piece is long beside it",
            "Make the hem narrower, or lengthen the piece",
            place=f'piece "{piece.name}", edge "{hem.name}"',
        )
    return kept, met[0][1:], met[1]
