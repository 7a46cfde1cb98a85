"""Grading by rules: turn points move by so much a size, and everything between them moves along.

A point between two turn points of an edge moves by what these move, weighed by how far along the edge it lies. A point
inside a piece moves by what all turn points move, weighed by the square of the distance inverted. The grainline and
straight lines keep their direction where both their ends move alike.
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cutroom.alter.spread import refuse_crossed
from cutroom.errors import PieceError
from cutroom.geometry.affine import moved_spot
from cutroom.geometry.polyline import length, lengths_along
from cutroom.model.grading import GradeRule, Grading, NotchGrade
from cutroom.model.piece import NamedLine, Piece, Style
from cutroom.units import both_units

Line = NDArray[np.float64]


def grade_style(style: Style, grading: Grading, size: str) -> Style:
    """A style in another size.

    Args:
        style: In the base size.
        grading: The rules.
        size: One of their sizes.

    Returns:
        The style in that size; in the base size it is unchanged.

    Raises:
        PieceError: There is no such size, piece or turn point, or a piece crosses itself in that size.
    """
    place = f'style "{style.name}"'
    if size not in grading.sizes or grading.base not in grading.sizes:
        wanted = size if size not in grading.sizes else grading.base
        raise PieceError(f'it is not graded to size "{wanted}"', f"Name one of {', '.join(grading.sizes)}", place=place)
    for rule in grading.rules:
        style.piece(rule.piece)
    pieces = []
    for piece in style.pieces:
        rules = [rule for rule in grading.rules if rule.piece == piece.name]
        moves = {turn_point(piece, rule): moved_by(rule, grading, size) for rule in rules}
        try:
            pieces.append(grade_piece(piece, moves, grading.notches))
        except PieceError as error:
            raise error.at(place=f"{place}, size {size}") from None
    return replace(style, size=size, pieces=tuple(pieces))


def turn_point(piece: Piece, rule: GradeRule) -> int:
    """Number of the edge that starts in a rule's turn point.

    Raises:
        PieceError: Its edges do not meet.
    """
    numbers = [next(n for n, one in enumerate(piece.edges) if one is piece.edge(name)) for name in rule.point]
    count = len(piece.edges)
    for one, two in (numbers, numbers[::-1]):
        if (one + 1) % count == two:
            return two
    raise PieceError(
        f'its edges "{rule.point[0]}" and "{rule.point[1]}" do not meet',
        "Name the two edges on either side of a turn point",
        place=f'piece "{piece.name}"',
    )


def moved_by(rule: GradeRule, grading: Grading, size: str) -> tuple[float, float]:
    """How far a rule moves its point from the base size to another, `(dx, dy)` (mm)."""
    base, at = grading.sizes.index(grading.base), grading.sizes.index(size)
    steps = rule.steps[min(base, at) : max(base, at)]
    sign = 1.0 if at >= base else -1.0
    return sign * sum(step[0] for step in steps), sign * sum(step[1] for step in steps)


def grade_piece(piece: Piece, moves: Mapping[int, tuple[float, float]], notches: NotchGrade) -> Piece:
    """A piece whose turn points have moved.

    Args:
        piece: The piece.
        moves: `(dx, dy)` (mm) by the number of the edge that starts in the turn point.
        notches: What of the notches' places is kept.

    Raises:
        PieceError: It crosses itself then.
    """
    if not any(any(move) for move in moves.values()):
        return piece
    count = len(piece.edges)
    steps = np.array([moves.get(number, (0.0, 0.0)) for number in range(count)])
    turns = np.vstack([edge.points[:1] for edge in piece.edges])

    def inside(points: Line) -> Line:
        apart = ((points[:, None, :] - turns[None]) ** 2).sum(axis=2)
        weights = 1 / np.maximum(apart, 1e-6)
        moved: Line = points + (weights @ steps) / weights.sum(axis=1)[:, None]
        return moved

    def lines(given: tuple[NamedLine, ...]) -> tuple[NamedLine, ...]:
        return tuple(replace(line, points=inside(line.points)) for line in given)

    edges = []
    share = {}
    for number, edge in enumerate(piece.edges):
        along = lengths_along(edge.points)
        part = (along / along[-1])[:, None]
        points = edge.points + (1 - part) * steps[number] + part * steps[(number + 1) % count]
        edges.append(replace(edge, points=points))
        share[edge.name] = length(points) / float(along[-1])
    sizes = {edge.name: length(edge.points) for edge in piece.edges}
    darts = []
    for dart in piece.darts:
        start, end = dart.start * share[dart.edge], dart.end * share[dart.edge]
        darts.append(replace(dart, start=start, end=end, point=moved_spot(inside, dart.point)))
    middle = piece.grain.mean(axis=0)[None]
    new = replace(
        piece,
        edges=tuple(edges),
        notches=tuple(
            replace(notch, at=_kept(notch.at, sizes[notch.edge], share[notch.edge], notches)) for notch in piece.notches
        ),
        drills=tuple(replace(hole, at=moved_spot(inside, hole.at)) for hole in piece.drills),
        lines=lines(piece.lines),
        construction=lines(piece.construction),
        darts=tuple(darts),
        cutouts=lines(piece.cutouts),
        grain=piece.grain + (inside(middle) - middle),
    )
    for notch in new.notches:
        whole = length(new.edge(notch.edge).points)
        if not 0 <= notch.at <= whole:
            raise PieceError(
                f"a notch {both_units(notch.at)} along it is beyond its end, it is {both_units(whole)} long",
                'Keep the share of the notches: notches = "share"',
                place=f'piece "{piece.name}", edge "{notch.edge}"',
            )
    return refuse_crossed(new)


def _kept(at: float, whole: float, share: float, notches: NotchGrade) -> float:
    """Where a notch stands on an edge (mm) that has become longer by a share.

    A distance is kept from the nearer turn point, whichever way the edge runs, so that notches of both sides of a seam
    still meet; one in the middle stays in the middle.
    """
    if notches is NotchGrade.SHARE or abs(2 * at - whole) < 1.0:
        return at * share
    return at if 2 * at < whole else whole * share - (whole - at)
