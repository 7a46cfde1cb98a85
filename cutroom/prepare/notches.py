"""Notches, drawn square to the seam line from the cut line inwards."""

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import PieceError
from cutroom.geometry.offset import crossings
from cutroom.geometry.polyline import length, point_at
from cutroom.model.piece import Notch, Piece

DEEPEST = 6.0
"""Depth of a slit (mm) where the allowance is wide enough: 1/4 in at most, as handbooks have it (NIMI, CITS Dress
Making, p. 29: 1/8 to 1/4 in)."""
CLEAR = 3.0
"""A notch ends this far (mm) short of the seam line, at least (common practice, no source)."""
PITCH = 6.0
"""Distance between the slits of a double notch (mm) (common practice, no source)."""

Line = NDArray[np.float64]


def notch_depth(allowance: float) -> float:
    """How deep a slit is cut into an allowance (mm): never more than half of it, and clear of the seam line."""
    return min(DEEPEST, max(allowance - CLEAR, allowance / 4), allowance / 2)


def notch_strokes(piece: Piece, cut_line: Line) -> tuple[Line, ...]:
    """The slits of a piece.

    Args:
        piece: With its edges and notches.
        cut_line: `(n, 2)`, its cut line in the same axes (mm).

    Returns:
        A `(2, 2)` line a slit, from the cut line inwards, square to the seam line.

    Raises:
        PieceError: A notch is off its edge, on an edge without allowance, or reaches no cut line.
    """
    closed = np.vstack([cut_line, cut_line[:1]])
    return tuple(stroke for notch in piece.notches for stroke in _slits(piece, notch, closed))


def _slits(piece: Piece, notch: Notch, cut_line: Line) -> list[Line]:
    edge = piece.edge(notch.edge)
    place = f'piece "{piece.name}", edge "{edge.name}"'
    whole = length(edge.points)
    if not -0.01 <= notch.at <= whole + 0.01:
        raise PieceError(
            f"its notch at {notch.at:.1f} mm is off the edge, which is {whole:.1f} mm long",
            "Put the notch on the edge",
            place=place,
        )
    if edge.allowance == 0:
        raise PieceError(
            f"it has a notch at {notch.at:.1f} mm and no seam allowance to cut it in",
            "Give the edge an allowance, or leave the notch out",
            place=place,
        )
    depth = notch_depth(edge.allowance)
    slits = []
    for k in range(notch.count):
        at = notch.at + (k - (notch.count - 1) / 2) * PITCH
        point, along = point_at(edge.points, at)
        outward = np.array([along[1], -along[0]])
        ray = np.vstack([point, point + outward * (3 * edge.allowance + 1)])
        hits = crossings(ray, cut_line)
        if not hits:
            raise PieceError(
                f"its notch at {at:.1f} mm does not reach the cut line", "Move the notch off the corner", place=place
            )
        start = min(hits, key=lambda hit: hit[0])[2]
        slits.append(np.vstack([start, start - outward * depth]))
    return slits
