"""How pieces are to be laid: gaps, tilts, shared lines, and the points by which they meet on the cloth's pattern."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from cutroom.errors import PieceError
from cutroom.geometry.polyline import point_at
from cutroom.model.finding import Finding, Severity
from cutroom.model.laying import BlockAsked, Laying, MatchAsked, Meet, PointAsked, SharedAsked, Shares
from cutroom.model.piece import Cut, EdgeKind, Piece, Style
from cutroom.prepare.placing import edges_of


def with_laying(
    style: Style,
    laying: Mapping[str, Laying],
    matches: tuple[MatchAsked, ...],
    shared_lines: tuple[SharedAsked, ...] = (),
    rough_blocks: tuple[BlockAsked, ...] = (),
) -> Style:
    """The style whose pieces know how they are laid.

    Args:
        style: With its notches.
        laying: By piece.
        matches: What meets on the pattern.
        shared_lines: Pieces that may share cut lines.
        rough_blocks: Pieces that are cut roughly together.

    Raises:
        PieceError: A piece, an edge or a notch is not there, a piece on the fold is to be tilted, or a fold edge is
            to keep a gap.
    """
    pieces = {piece.name: piece for piece in style.pieces}
    for name, said in laying.items():
        piece = style.piece(name)
        if said.tilt_deg and piece.cut is Cut.FOLD:
            raise PieceError(
                "it lies on the fold, so it cannot be tilted",
                "Leave its tilt out",
                place=f'style "{style.name}", piece "{name}"',
            )
        pieces[name] = replace(pieces[name], gap=said.gap, tilt_deg=said.tilt_deg)
        for edge, gap in said.edges.items():
            for where, part in edges_of(style, name, edge):
                pieces[where] = _with_edge_gap(pieces[where], part, gap)
    for shared in shared_lines:
        shares = Shares(f"{style.name}: {' and '.join(shared.pieces)}", shared.gap)
        for name in shared.pieces:
            pieces[name] = replace(pieces[style.piece(name).name], shares=shares)
    for asked_block in rough_blocks:
        for name in asked_block.pieces:
            pieces[name] = replace(pieces[style.piece(name).name], block=asked_block.block)
    for match in matches:
        for asked in match.points:
            name, at = _found(style, asked, f'style "{style.name}", match "{match.name}"')
            meet = Meet(match.name, at, match.stripe, match.along, match.across)
            pieces[name] = replace(pieces[name], meets=(*pieces[name].meets, meet))
    return replace(style, pieces=tuple(pieces.values()))


def _with_edge_gap(piece: Piece, name: str, gap: float) -> Piece:
    """The piece with one of its edges keeping a gap of its own (mm)."""
    if piece.edge(name).kind is EdgeKind.FOLD:
        raise PieceError(
            "it is a fold, which is not cut, so it keeps no gap",
            "Leave its gap out",
            place=f'piece "{piece.name}", edge "{name}"',
        )
    edges = tuple(replace(edge, gap=gap) if edge.name == name else edge for edge in piece.edges)
    return replace(piece, edges=edges)


def unmatched_seams(style: Style, matches: tuple[MatchAsked, ...]) -> Iterator[Finding]:
    """A NOTE of the seams along which nothing meets, for a style of which something does."""
    if not matches:
        return
    together = [{point.piece for point in match.points} for match in matches if len(match.points) > 1]
    left = []
    for seam in style.seams:
        first, second = {piece for piece, _ in seam.first}, {piece for piece, _ in seam.second}
        if not any(first & pieces and second & pieces for pieces in together):
            left.append(seam.name)
    if left:
        yield Finding(
            Severity.NOTE,
            f'style "{style.name}"',
            f"the cloth's pattern is not matched along: {', '.join(left)}",
            "Add a match for each of them that shows, or leave it so",
        )


def _found(style: Style, asked: PointAsked, place: str) -> tuple[str, tuple[float, float]]:
    """The piece that a point asked for stands on, and where (mm, piece frame)."""
    try:
        if asked.notch is not None:
            return _notch(style, asked.piece, *asked.notch)
        piece = style.piece(asked.piece)
        point = _corner(piece, asked.corner) if asked.corner is not None else asked.at or (0.0, 0.0)
    except PieceError as fault:
        raise fault.at(place=place) from None
    return piece.name, point


def _notch(style: Style, name: str, edge_name: str, notch_name: str) -> tuple[str, tuple[float, float]]:
    """A notch by its name; without one of that name, by its number along the edge."""
    parts = edges_of(style, name, edge_name)
    marks = [
        (piece, edge, mark)
        for piece, edge in parts
        for mark in sorted(style.piece(piece).notches, key=lambda mark: mark.at)
        if mark.edge == edge
    ]
    named = [mark for mark in marks if mark[2].name == notch_name]
    if not named and notch_name.isdigit():
        named = marks[int(notch_name) - 1 : int(notch_name)]
    if not named:
        there = ", ".join(f'"{mark.name or number}"' for number, (_, _, mark) in enumerate(marks, start=1))
        raise PieceError(
            f'it has no notch "{notch_name}"',
            f"Name one of {there}" if there else "Add the notch first",
            place=f'piece "{name}", edge "{edge_name}"',
        )
    piece, edge, mark = named[0]
    x, y = point_at(style.piece(piece).edge(edge).points, mark.at)[0]
    return piece, (float(x), float(y))


def _corner(piece: Piece, names: tuple[str, str]) -> tuple[float, float]:
    one, two = (piece.edge(name) for name in names)
    for first, second in ((one, two), (two, one)):
        if np.hypot(*(first.points[-1] - second.points[0])) < 0.01:
            return float(second.points[0, 0]), float(second.points[0, 1])
    raise PieceError(
        f'its edges "{names[0]}" and "{names[1]}" do not meet',
        "Name the two edges on either side of a turn point",
        place=f'piece "{piece.name}"',
    )
