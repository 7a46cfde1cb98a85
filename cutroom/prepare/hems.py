"""Hems that lie flat when they are turned up: their ends are the seams beside them, mirrored in every turn."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import PieceError
from cutroom.geometry.affine import reflect_points
from cutroom.geometry.offset import join, reach
from cutroom.model.piece import Edge, Piece

Line = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class TurnMark:
    """Where a turn of a hem meets the cut line at one of its ends.

    Attributes:
        edge: The hem.
        depth: Distance of the turn outwards from the seam line (mm); 0 for the hem line itself.
        at: `(2,)`, on the cut line (mm).
        inwards: `(2,)`, unit direction along the turn into the hem.
        allowance: Of the seam beside it (mm), in which the turn is marked.
    """

    edge: str
    depth: float
    at: Line
    inwards: Line
    allowance: float


def folded_back(
    piece: Piece, hem: Edge, side: Edge, corner: Line, along: Line, cut_side: Line, cut_hem: Line
) -> tuple[Line, Line, Line, tuple[TurnMark, ...]]:
    """A corner where a side's cut line runs towards a hem, and the hem's cut line runs away from it.

    The side's cut line runs on to the hem line; from there its mirror image in the hem line runs down to the next
    turn, is mirrored again, and so on to the hem's own cut line.

    Args:
        piece: For messages.
        hem: The edge that is turned up.
        side: The edge beside it.
        corner: `(2,)`, their turn point (mm).
        along: `(2,)`, from it along the hem, of any length but 0.
        cut_side: `(n, 2)`, ends near the corner.
        cut_hem: `(m, 2)`, starts near it.

    Returns:
        The side as it is kept, the points of the hem's end, the hem's cut line, and the marks of its turns.

    Raises:
        PieceError: The hem is wider than the piece beside it is long.
    """
    reached = join(cut_side, np.array([corner, corner + along]))
    if reached is None:
        return cut_side, np.zeros((0, 2)), cut_hem, ()
    kept = reached[0]
    inwards = along / math.hypot(*along.tolist())
    marks = [TurnMark(hem.name, 0.0, kept[-1], inwards, side.allowance)]
    end = reflect_points(kept, corner, along)[::-1]
    if hem.turns:
        end, turned = _turned_again(piece, hem, side, corner, inwards, end)
        marks += turned
    met = reach(end, cut_hem)
    if met is None:
        raise PieceError(
            f"the hem is {hem.allowance:g} mm wide, wider than the piece is long beside it",
            "Make the hem narrower, or lengthen the piece",
            place=f'piece "{piece.name}", edge "{hem.name}"',
        )
    return kept, met[0][1:], met[1], tuple(marks)


def _turned_again(
    piece: Piece, hem: Edge, side: Edge, corner: Line, inwards: Line, end: Line
) -> tuple[Line, list[TurnMark]]:
    """The end of a hem that is turned more than once, in zones from turn to turn.

    Within a zone the end follows the side's mirror image; every turn changes the way it is followed.
    """
    outwards = np.array([inwards[1], -inwards[0]])
    if float((end[-1] - corner) @ outwards) < 0:
        outwards = -outwards
    x, down = (end - corner) @ inwards, (end - corner) @ outwards
    if len(down) < 2 or np.diff(down).min() <= 0:
        raise PieceError(
            "the seam beside it bends back, so it cannot be turned more than once",
            "Turn the hem once, or straighten the seam beside it",
            place=f'piece "{piece.name}", edge "{hem.name}"',
        )
    slope = (x[1] - x[0]) / (down[1] - down[0])
    x, down = np.append(x[0] - slope * hem.allowance, x), np.append(-hem.allowance, down)  # run on past the hem line
    zones: list[Line] = []
    marks: list[TurnMark] = []
    start, source, sense = 0.0, 0.0, 1.0
    for stop in (*hem.turns, 2 * hem.allowance):
        last = stop == 2 * hem.allowance
        reached = source + sense * (stop - start)
        reached = min(max(reached, down[0]), down[-1])
        low, high = min(source, reached), max(source, reached)
        inside = (down > low) & (down < high)
        places = np.concatenate([[source], down[inside][:: int(sense)], [reached]])
        zone = np.column_stack([np.interp(places, down, x), start + (places - source) * sense])
        zones.append(zone if not zones else zone[1:])
        if not last:
            at = corner + zone[-1, 0] * inwards + zone[-1, 1] * outwards
            marks.append(TurnMark(hem.name, stop, at, inwards, side.allowance))
        start, source, sense = stop, reached, -sense
    local = np.vstack(zones)
    keep = np.append(True, np.hypot(*np.diff(local, axis=0).T) > 1e-9)
    local = local[keep]
    return corner + local[:, :1] * inwards + local[:, 1:] * outwards, marks
