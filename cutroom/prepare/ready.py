"""A piece made ready: the stage's one verb."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import PieceError
from cutroom.geometry.offset import without_repeats
from cutroom.geometry.polygon import crossing_place, distances
from cutroom.model.fabric import Fabric, Face, Nap, Spread
from cutroom.model.order import StyleAsked
from cutroom.model.piece import Cut, EdgeKind, Piece
from cutroom.model.prepared import PreparedPiece
from cutroom.prepare.allowance import cut_line
from cutroom.prepare.axes import let_out, on_the_grain, opened_out
from cutroom.prepare.grain import grain_strokes
from cutroom.prepare.label import cut_words, place_label
from cutroom.prepare.notches import notch_strokes

SAME = 0.05
"""A piece is its own mirror image when no point is further off than this (mm)."""

Line = NDArray[np.float64]


def with_allowances(piece: Piece, asked: StyleAsked) -> Piece:
    """The piece with the allowances that a style asks for: by `piece.edge`, by edge, else for its kind.

    Args:
        piece: As drafted.
        asked: The style of the job file.
    """

    def allowance(name: str, kind: EdgeKind) -> float:
        if kind is EdgeKind.FOLD:
            return 0.0
        usual = asked.hem_allowance if kind is EdgeKind.HEM else asked.allowance
        return asked.allowances.get(f"{piece.name}.{name}", asked.allowances.get(name, usual))

    edges = tuple(replace(edge, allowance=allowance(edge.name, edge.kind)) for edge in piece.edges)
    return replace(piece, edges=edges)


def prepare(piece: Piece, *, garment: str, size: str, fabric: Fabric) -> PreparedPiece:
    """Everything a machine will draw or cut for a piece.

    The piece is set on the grain, let out for the shrinkage of its cloth, opened out when the cloth has no fold to
    lay it on, given its cut line, notches, grainline and label.

    Args:
        piece: On the seam line, with its allowances.
        garment: The order's line, for the label.
        size: A size or a client's code.
        fabric: The cloth it is cut from.

    Returns:
        The piece with its lowest, left-most corner at the origin; a fold piece keeps its fold on y = 0.

    Raises:
        PieceError: With the piece, the edge and what to do.
    """
    where = f'{garment} ({size}), piece "{piece.name}"'
    seam = without_repeats(np.vstack([edge.points[:-1] for edge in piece.edges]), closed=True)
    crossed = crossing_place(seam)
    if crossed is not None:
        raise PieceError(
            f"its seam line crosses itself at x {crossed[0]:.1f}, y {crossed[1]:.1f} mm",
            "Move the points so that it does not",
            place=where,
        )
    _refuse_wide_hems(piece)
    piece = let_out(on_the_grain(piece), fabric.shrink_warp or 0.0, fabric.shrink_weft or 0.0)
    if piece.cut is Cut.FOLD and not fabric.has_fold:
        piece = opened_out(piece)
    cut, turns = cut_line(piece)
    if piece.cut is Cut.FOLD:
        cut, turns = _onto_fold(cut), _onto_fold(turns)
    seam = without_repeats(np.vstack([edge.points[:-1] for edge in piece.edges]), closed=True)
    corners = np.vstack([edge.points[:1] for edge in piece.edges])
    notches = notch_strokes(piece, cut)
    fold = piece.cut is Cut.FOLD
    grain = grain_strokes(seam, piece.grain, one_way=fabric.nap is not Nap.NONE, fold=fold)
    lines = tuple(line.points for line in piece.lines)
    words, mirrored = _words(piece, garment, size, fabric)
    label, label_mirrored = place_label(seam, [*grain, *lines, *_drill_lines(piece)], words, mirrored, where=where)
    shift = -cut.min(axis=0)
    if fold:
        shift[1] = 0.0
    return PreparedPiece(
        garment=garment,
        size=size,
        name=piece.name,
        cut=piece.cut,
        quantity=piece.quantity,
        cloth=piece.cloth,
        crossways=piece.crossways,
        cut_line=cut + shift,
        seam_line=seam + shift,
        turns=np.vstack([turns, corners]) + shift,
        notches=tuple(line + shift for line in notches),
        drills=tuple((hole.at[0] + shift[0], hole.at[1] + shift[1], hole.diameter) for hole in piece.drills),
        grain=tuple(line + shift for line in grain),
        lines=tuple(line + shift for line in lines),
        label=replace(label, centre=(label.centre[0] + shift[0], label.centre[1] + shift[1])),
        label_mirrored=replace(label_mirrored, centre=(label.centre[0] + shift[0], label.centre[1] + shift[1])),
        hand=piece.hand,
        symmetric=piece.cut is not Cut.FOLD and _is_symmetric(cut, notches),
    )


def _words(piece: Piece, garment: str, size: str, fabric: Fabric) -> tuple[tuple[str, ...], tuple[str, ...]]:
    sides = [cut_words(piece), cut_words(piece)]
    if piece.cut is Cut.PAIR and fabric.spread is Spread.OPEN:  # elsewhere both hands come out of one placement
        hands = [piece.hand, piece.hand.other]
        if fabric.face is Face.DOWN:
            hands.reverse()
        sides = [f"{words}: {hand}" for words, hand in zip(sides, hands, strict=True)]
    first, second = ((garment, piece.name, size, side, fabric.name) for side in sides)
    return first, second


def _refuse_wide_hems(piece: Piece) -> None:
    box = np.ptp(np.vstack([edge.points for edge in piece.edges]), axis=0).max()
    for edge in piece.edges:
        if edge.kind is EdgeKind.HEM and edge.allowance > box:
            raise PieceError(
                f"the hem is {edge.allowance:.1f} mm wide and the piece only {box:.1f} mm long",
                "Make the hem narrower than the piece",
                place=f'piece "{piece.name}", edge "{edge.name}"',
            )


def _onto_fold(points: Line) -> Line:
    """Points of a fold piece, those within a hair of the fold set on it exactly."""
    return np.column_stack([points[:, 0], np.where(np.abs(points[:, 1]) < SAME, 0.0, points[:, 1])])


def _drill_lines(piece: Piece) -> list[Line]:
    return [np.array([[x - r, y], [x + r, y]]) for (x, y), r in ((hole.at, hole.diameter / 2) for hole in piece.drills)]


def _is_symmetric(cut: Line, notches: tuple[Line, ...]) -> bool:
    middle = (cut[:, 1].min() + cut[:, 1].max()) / 2

    def mirrored(points: Line) -> Line:
        return np.column_stack([points[:, 0], 2 * middle - points[:, 1]])

    if distances(mirrored(cut), cut, closed=True).max() > SAME:
        return False
    starts = np.array([line[0] for line in notches]).reshape(-1, 2)
    if not len(starts):
        return True
    apart = np.hypot(*(mirrored(starts)[:, None] - starts[None]).transpose(2, 0, 1))
    return bool((apart.min(axis=1) < SAME).all())
