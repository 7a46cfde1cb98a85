"""Notches asked for by name, set on their pieces: by distance, by share, where a line meets the edge, or by walking."""

from dataclasses import replace

import numpy as np

from cutroom.errors import PieceError
from cutroom.geometry.offset import crossings
from cutroom.geometry.polyline import distance_at, length
from cutroom.model.piece import Edge, Notch, NotchAsked, Piece, Style
from cutroom.prepare.walk import drawn_length, sewn_length
from cutroom.units import both_units

Named = tuple[str, str]


def place_notches(style: Style, asked: tuple[NotchAsked, ...]) -> Style:
    """The style with the notches that were asked for, each in its turn, so that one may be the mate of another.

    An edge is found by the name it was given even when an alteration has called it otherwise or made several of it:
    distances then run over all of these, in their order counter-clockwise.

    Args:
        style: The pieces on the seam line.
        asked: The notches.

    Raises:
        PieceError: A piece, an edge, a line or a mate is not there, or the notch would be off its edge.
    """
    for one in asked:
        piece_name, edge_name, at = _where(style, edges_of(style, one.piece, one.edge), one)
        piece = style.piece(piece_name)
        notch = Notch(edge_name, at, one.count, one.kind, one.name)
        dressed = replace(piece, notches=(*piece.notches, notch))
        style = replace(style, pieces=tuple(dressed if other is piece else other for other in style.pieces))
    return style


def edges_of(style: Style, piece: str, edge: str) -> tuple[Named, ...]:
    """The edges `(piece, edge)` that are called so, or that the alterations have made of the one that was.

    Raises:
        PieceError: There is none, and never was; or it is gone.
    """
    named = piece, edge
    if any(one.name == piece and any(line.name == edge for line in one.edges) for one in style.pieces):
        return (named,)
    if named not in style.became:
        style.piece(piece).edge(edge)  # says what there is
    parts = style.became[named]
    if not parts:
        raise PieceError(
            "the alterations have cut it off, or merged it into the piece",
            "Leave it out, or name an edge that is there",
            place=f'piece "{piece}", edge "{edge}"',
        )
    return parts


def _where(style: Style, parts: tuple[Named, ...], asked: NotchAsked) -> tuple[str, str, float]:
    """The piece, the edge, and the distance along it (mm) of a notch asked for on an edge or on what it has become."""
    sizes = [length(style.piece(piece).edge(edge).points) for piece, edge in parts]
    whole = sum(sizes)
    if asked.line is not None or asked.mate is not None:
        return _met(style, parts, asked)
    at = 0.0
    if asked.at is not None:
        at = asked.at
    elif asked.from_end is not None:
        at = whole - asked.from_end
    elif asked.share is not None:
        at = asked.share * whole
    if not -0.01 <= at <= whole + 0.01:
        raise PieceError(
            f"the notch asked for would stand {both_units(at)} along an edge that is {both_units(whole)} long",
            "Ask for it on the edge",
            place=_place(*parts[0]),
        )
    for (piece, edge), size in zip(parts[:-1], sizes, strict=False):
        if at <= size:
            return piece, edge, max(at, 0.0)
        at -= size
    return *parts[-1], min(max(at, 0.0), sizes[-1])


def _met(style: Style, parts: tuple[Named, ...], asked: NotchAsked) -> tuple[str, str, float]:
    """Where a line or a mate sets a notch, on the first of several edges that it meets.

    Raises:
        PieceError: It meets none of them.
    """
    faults = []
    for piece_name, edge_name in parts:
        piece = style.piece(piece_name)
        edge = piece.edge(edge_name)
        whole = length(edge.points)
        try:
            at = (
                _met_by(piece, edge, asked.line)
                if asked.line is not None
                else _walked_to(style, (piece_name, edge_name), asked.mate or ("", "", ""))
            )
        except PieceError as fault:
            faults.append(fault)
            continue
        if -0.01 <= at <= whole + 0.01:
            return piece_name, edge_name, min(max(at, 0.0), whole)
        what = f"the notch asked for would stand {both_units(at)} along an edge that is {both_units(whole)} long"
        faults.append(PieceError(what, "Ask for it on the edge", place=_place(piece_name, edge_name)))
    raise faults[0]


def _place(piece: str, edge: str) -> str:
    return f'piece "{piece}", edge "{edge}"'


def _met_by(piece: Piece, edge: Edge, name: str) -> float:
    """Where a named line, its ends run on by a hair, meets an edge (mm along it)."""
    named = [line for line in (*piece.lines, *piece.construction) if line.name == name]
    for line in named:
        points = line.points.copy()
        for end, beside in ((0, 1), (-1, -2)):
            step = line.points[end] - line.points[beside]
            points[end] = line.points[end] + step / np.hypot(*step) * 0.1
        hits = crossings(edge.points, points)
        if hits:
            return distance_at(edge.points, min(hit[0] for hit in hits))
    names = ", ".join(dict.fromkeys(line.name for line in (*piece.lines, *piece.construction)))
    raise PieceError(
        f'its line "{name}" does not meet the edge' if named else f'it has no line "{name}"',
        f"Name a line that crosses the edge; there are {names}" if names else "Draw the line first",
        place=f'piece "{piece.name}", edge "{edge.name}"',
    )


def _walked_to(style: Style, here: Named, mate: tuple[str, str, str]) -> float:
    """Where another piece's notch comes to lie on an edge when their seam is walked from its common end."""
    mates = edges_of(style, *mate[:2])
    found = [
        ((piece, edge), notch)
        for piece, edge in mates
        for notch in style.piece(piece).notches
        if notch.edge == edge and notch.name == mate[2]
    ]
    if not found:
        raise PieceError(
            f'it has no notch "{mate[2]}" on edge "{mate[1]}"',
            "Name a notch that is there, or ask for it first",
            place=f'piece "{mate[0]}"',
        )
    there, notch = found[0]
    for seam in style.seams:
        sides = ((seam.first, seam.first_from_end), (seam.second, seam.second_from_end))
        for (mine, from_end), (other, other_from_end) in (sides, sides[::-1]):
            if here in mine and there in other:
                along = _from_common(style, other, there, notch.at, from_end=other_from_end)
                before = sum(_size(style, one) for one in mine[: mine.index(here)])
                at = along - before
                return drawn_length(style.piece(here[0]), here[1], _size(style, here) - at if from_end else at)
    raise PieceError(
        f'no seam joins edge "{here[1]}" to "{there[1]}" of piece "{there[0]}"',
        "Name both edges in a seam of the style, so that it can be walked",
        place=f'piece "{here[0]}"',
    )


def _from_common(
    style: Style, side: tuple[tuple[str, str], ...], edge: tuple[str, str], at: float, *, from_end: bool
) -> float:
    size, at = _size(style, edge), sewn_length(style.piece(edge[0]), edge[1], at)
    return sum(_size(style, one) for one in side[: side.index(edge)]) + (size - at if from_end else at)


def _size(style: Style, named: tuple[str, str]) -> float:
    return sewn_length(style.piece(named[0]), named[1])
