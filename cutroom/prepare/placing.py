"""Notches asked for by name, set on their pieces: by distance, by share, where a line meets the edge, or by walking."""

from dataclasses import replace

import numpy as np

from cutroom.errors import PieceError
from cutroom.geometry.offset import crossings
from cutroom.geometry.polyline import length, lengths_along
from cutroom.model.piece import Edge, Notch, NotchAsked, Piece, Style
from cutroom.prepare.walk import drawn_length, sewn_length


def place_notches(style: Style, asked: tuple[NotchAsked, ...]) -> Style:
    """The style with the notches that were asked for, each in its turn, so that one may be the mate of another.

    Args:
        style: The pieces on the seam line.
        asked: The notches.

    Raises:
        PieceError: A piece, an edge, a line or a mate is not there, or the notch would be off its edge.
    """
    for one in asked:
        piece = style.piece(one.piece)
        edge = piece.edge(one.edge)
        at, whole = _where(style, piece, edge, one), length(edge.points)
        if not -0.01 <= at <= whole + 0.01:
            raise PieceError(
                f"the notch asked for would stand {at:.1f} mm along an edge that is {whole:.1f} mm long",
                "Ask for it on the edge",
                place=f'piece "{piece.name}", edge "{edge.name}"',
            )
        notch = Notch(edge.name, min(max(at, 0.0), whole), one.count, one.kind, one.name)
        dressed = replace(piece, notches=(*piece.notches, notch))
        style = replace(style, pieces=tuple(dressed if other is piece else other for other in style.pieces))
    return style


def _where(style: Style, piece: Piece, edge: Edge, asked: NotchAsked) -> float:
    whole = length(edge.points)
    if asked.at is not None:
        return asked.at
    if asked.from_end is not None:
        return whole - asked.from_end
    if asked.share is not None:
        return asked.share * whole
    if asked.line is not None:
        return _met_by(piece, edge, asked.line)
    if asked.mate is None:
        return 0.0
    return _walked_to(style, (piece.name, edge.name), asked.mate)


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
            along = lengths_along(edge.points)
            place = min(hit[0] for hit in hits)
            segment = min(int(place), len(along) - 2)
            return float(along[segment] + (place - segment) * (along[segment + 1] - along[segment]))
    names = ", ".join(dict.fromkeys(line.name for line in (*piece.lines, *piece.construction)))
    raise PieceError(
        f'its line "{name}" does not meet the edge' if named else f'it has no line "{name}"',
        f"Name a line that crosses the edge; there are {names}" if names else "Draw the line first",
        place=f'piece "{piece.name}", edge "{edge.name}"',
    )


def _walked_to(style: Style, here: tuple[str, str], mate: tuple[str, str, str]) -> float:
    """Where another piece's notch comes to lie on an edge when their seam is walked from its common end."""
    there = mate[:2]
    notches = [n for n in style.piece(there[0]).notches if n.edge == there[1] and n.name == mate[2]]
    if not notches:
        raise PieceError(
            f'it has no notch "{mate[2]}" on edge "{mate[1]}"',
            "Name a notch that is there, or ask for it first",
            place=f'piece "{mate[0]}"',
        )
    for seam in style.seams:
        sides = ((seam.first, seam.first_from_end), (seam.second, seam.second_from_end))
        for (mine, from_end), (other, other_from_end) in (sides, sides[::-1]):
            if here in mine and there in other:
                along = _from_common(style, other, there, notches[0].at, from_end=other_from_end)
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
