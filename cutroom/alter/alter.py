"""Alterations done one after the other: the stage's one verb."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from cutroom.alter.derive import derive_style, face_style
from cutroom.alter.halves import find_spot
from cutroom.alter.parts import cut_off, merge_style, split_style
from cutroom.alter.pivot import pivot_style
from cutroom.alter.sewn import eased_seams
from cutroom.alter.shape import extend_piece, finish_style, lengthen_piece, mirror_style, true_piece
from cutroom.alter.spread import full_piece, spread_piece
from cutroom.errors import CutroomError, PieceError
from cutroom.model.alteration import (
    Add,
    CutOff,
    Derive,
    Extend,
    Facing,
    Finish,
    Fullness,
    Lengthen,
    Merge,
    Mirror,
    Pivot,
    Recut,
    SetNotch,
    Slash,
    Split,
    Step,
    TrueUp,
)
from cutroom.model.finding import Finding, Severity
from cutroom.model.piece import Cut, EdgeKind, Notch, Piece, Style
from cutroom.units import both_units


def alter(style: Style, steps: Sequence[Step]) -> Style:
    """A style after a list of alterations.

    Args:
        style: On its seam lines.
        steps: What is done, in this order; each finds the pieces as the one before it left them.

    Returns:
        The altered style. Edges keep their names, notches their places on the seam line; darts, cut-outs, drill holes
        and lines go with the cloth they lie on, and construction lines are kept. Edges that are new have no allowance
        yet.

    Raises:
        PieceError: With the number of the step, the piece, and what to do.
    """
    for number, step in enumerate(steps, start=1):
        try:
            style = alter_once(style, step)
        except CutroomError as error:
            raise error.at(place=f"{style.name}, alteration {number}") from None
    return style


def alter_once(style: Style, step: Step) -> Style:
    """A style after one alteration.

    Raises:
        PieceError: It cannot be done.
    """
    match step:
        case Slash() | Fullness() | Lengthen() | TrueUp() | Extend():
            before = style.piece(step.piece)
            after = _reshaped(before, step)
            changed = _with_piece(style, after)
            changed = replace(changed, findings=(*changed.findings, *_notches_gone(before, after)))
            gathers = not isinstance(step, Extend) and step.gathers
            return replace(changed, seams=eased_seams(style, changed)) if gathers else changed
        case Pivot():
            return pivot_style(style, step)
        case Split():
            return split_style(style, step)
        case CutOff():
            return cut_off(style, step)
        case Merge():
            return merge_style(style, step)
        case Mirror():
            return mirror_style(style, step)
        case Finish():
            return finish_style(style, step)
        case Facing():
            return face_style(style, step)
        case Derive():
            return derive_style(style, step)
        case Recut():
            return _with_piece(style, _recut(style.piece(step.piece), step))
        case SetNotch():
            return _with_piece(style, _notched(style.piece(step.piece), step))
        case Add():
            return _added(style, step)


def _reshaped(piece: Piece, step: Slash | Fullness | Lengthen | TrueUp | Extend) -> Piece:
    match step:
        case Slash():
            return spread_piece(piece, step)
        case Fullness():
            return full_piece(piece, step)
        case Lengthen():
            return lengthen_piece(piece, step)
        case TrueUp():
            return true_piece(piece, step)
        case Extend():
            return extend_piece(piece, step)


def _notches_gone(before: Piece, after: Piece) -> Iterator[Finding]:
    """A note of every notch that was on cloth that is no longer there."""
    left = Counter((notch.edge, notch.name, notch.count, notch.kind) for notch in after.notches)
    for notch in before.notches:
        told = notch.edge, notch.name, notch.count, notch.kind
        if left[told]:
            left[told] -= 1
            continue
        called = f' "{notch.name}"' if notch.name else ""
        yield Finding(
            Severity.NOTE,
            f'piece "{before.name}", edge "{notch.edge}"',
            f"its notch{called} {both_units(notch.at)} along the edge as it was is gone with the cloth it stood on",
            "Set another, or take its fellow away",
        )


def _recut(piece: Piece, step: Recut) -> Piece:
    where = f'piece "{piece.name}"'
    if (step.cut is Cut.FOLD) != any(edge.kind is EdgeKind.FOLD for edge in piece.edges):
        raise PieceError("only a piece with a fold edge is cut on the fold", "Finish an edge as a fold", place=where)
    if step.quantity < 1:
        raise PieceError(f"{step.quantity} is none", "Write 1 or more", place=where)
    return replace(piece, cut=step.cut, quantity=step.quantity)


def _notched(piece: Piece, step: SetNotch) -> Piece:
    if not 1 <= step.count <= 3:
        raise PieceError(f"{step.count} is not a number of notches", "Set 1, 2 or 3", place=f'piece "{piece.name}"')
    at = find_spot(piece, step.spot).at
    return replace(piece, notches=(*piece.notches, Notch(step.spot.edge, at, step.count, name=step.name)))


def _added(style: Style, step: Add) -> Style:
    if any(piece.name == step.piece.name for piece in style.pieces):
        raise PieceError(
            f'there is a piece "{step.piece.name}" already', "Give it another name", place=f'style "{style.name}"'
        )
    return replace(style, pieces=(*style.pieces, step.piece), seams=(*style.seams, *step.seams))


def _with_piece(style: Style, piece: Piece) -> Style:
    return replace(style, pieces=tuple(piece if one.name == piece.name else one for one in style.pieces))
