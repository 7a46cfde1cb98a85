"""Draws every corner and every notch once: `python -m tests.corners_picture` writes samples/pictures/corners.svg."""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.lettering import text_strokes
from cutroom.model.piece import Corner, EdgeKind, Notch, NotchKind, Piece
from cutroom.model.plot import Plot, Role, Stroke
from cutroom.prepare.allowance import outline_of, seam_line
from cutroom.prepare.notches import cut_notches
from cutroom.write.svg import write_svg
from tests.drawing import a_polygon_piece

WIDE, HIGH, ACROSS = 175.0, 165.0, 4
LETTERS = 5.0
PICTURE = Path(__file__).parents[1] / "samples" / "pictures" / "corners.svg"

Line = NDArray[np.float64]


def outer(corner: Corner) -> Piece:
    """A sharp outer corner of two unlike seams, at the lower right; sharper still where it may run far out."""
    far = corner in {Corner.MITRED, Corner.CONTINUED}
    points = [(0, 0), (80, 0), (50, 75), (0, 75)] if not far else [(0, 0), (60, 0), (0, 45)]
    widths = [15, 25, 10, 10] if not far else [10, 14, 8]
    piece = a_polygon_piece(points, widths)
    return replace(piece, edges=(replace(piece.edges[0], corner=corner), *piece.edges[1:]))


def hollow(corner: Corner) -> Piece:
    """A hollow corner in the middle of an L."""
    piece = a_polygon_piece([(0, 0), (90, 0), (90, 40), (40, 40), (40, 80), (0, 80)], 15)
    return replace(piece, edges=(*piece.edges[:2], replace(piece.edges[2], corner=corner), *piece.edges[3:]))


def in_line(corner: Corner) -> Piece:
    """Two unlike seams in one line, along the foot."""
    piece = a_polygon_piece([(0, 0), (45, 0), (90, 0), (90, 70), (0, 70)], [12, 25, 10, 10, 10])
    return replace(piece, edges=(replace(piece.edges[0], corner=corner), *piece.edges[1:]))


def hemmed(turns: tuple[float, ...], allowance: float) -> Piece:
    """A leg that narrows to its hem."""
    piece = a_polygon_piece([(15, 0), (75, 0), (95, 75), (-5, 75)], [allowance, 10, 10, 10], {0: EdgeKind.HEM})
    return replace(piece, edges=(replace(piece.edges[0], turns=turns), *piece.edges[1:]))


def notched(kind: NotchKind) -> Piece:
    """One notch, and two beside it, along the foot."""
    marks = (Notch("e0", 28.0, kind=kind), Notch("e0", 68.0, 2, kind=kind))
    return a_polygon_piece([(0, 0), (90, 0), (90, 60), (0, 60)], 15, notches=marks)


def panels() -> list[tuple[str, Piece]]:
    """Every corner, hem and notch with its name."""
    outers = (
        Corner.MITRED, Corner.CONTINUED, Corner.SQUARED, Corner.SQUARED_NEXT,
        Corner.FOLDED, Corner.FOLDED_NEXT, Corner.BLUNTED,
    )  # fmt: skip
    drawn = [(corner.value, outer(corner)) for corner in outers]
    drawn += [(Corner.STEPPED.value, in_line(Corner.STEPPED))]
    drawn += [(corner.value, hollow(corner)) for corner in (Corner.CLEARED, Corner.CLIPPED)]
    drawn += [("hem, turned once", hemmed((), 25)), ("hem, turned twice", hemmed((20,), 30))]
    drawn += [("turn-up", hemmed((18, 36), 50))]
    return drawn + [(f"notch: {kind.value}", notched(kind)) for kind in NotchKind]


def picture() -> bytes:
    """The picture as SVG."""
    strokes: list[Stroke] = []
    drawn = panels()
    rows = -(-len(drawn) // ACROSS)
    for place, (name, piece) in enumerate(drawn):
        at = np.array([place % ACROSS * WIDE + 40, (rows - 1 - place // ACROSS) * HIGH + 54])
        outlined = outline_of(piece)
        done = cut_notches(piece, outlined)

        def put(role: Role, line: Line, *, closed: bool = False, at: Line = at) -> None:
            strokes.append(Stroke(role, line + at, closed))

        put(Role.CUT, done.outline, closed=True)
        put(Role.SEAM, seam_line(piece), closed=True)
        for line in outlined.turn_lines:
            put(Role.SEAM, line)
        for line in done.strokes:
            put(Role.NOTCH, line)
        for line in text_strokes(name, LETTERS):
            put(Role.LABEL, line + np.array([-15.0, 102.0]))
    size = (ACROSS * WIDE, rows * HIGH)
    return write_svg(Plot("Corners, hems and notches", (0.0, 0.0), size, tuple(strokes)))


def main() -> int:
    """Write the picture."""
    PICTURE.parent.mkdir(parents=True, exist_ok=True)
    PICTURE.write_bytes(picture())
    return 0


if __name__ == "__main__":
    sys.exit(main())
