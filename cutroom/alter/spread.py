"""Slash and spread: a piece cut from edge to edge and its parts moved apart; fullness is many such slashes."""

from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.alter.halves import (
    HAIR,
    Half,
    Halves,
    Place,
    cut_piece,
    find_spot,
    fused,
    grain_for,
    moved,
    ring_of,
    turn,
)
from cutroom.alter.marks import Inside, Mark, marked, set_along
from cutroom.errors import PieceError
from cutroom.geometry.polygon import crossing_place, signed_area
from cutroom.geometry.polyline import length
from cutroom.model.alteration import Fullness, Slash
from cutroom.model.piece import Edge, EdgeKind, NamedLine, Piece
from cutroom.units import both_units

Line = NDArray[np.float64]


def spread_piece(piece: Piece, step: Slash) -> Piece:
    """A piece slashed and spread.

    The part with the fold, else with the grainline, stays where it is; when the slash runs along the grainline both
    parts move alike. An opening in an edge is bridged straight, and the edge keeps its name; an opening at a turn
    point is shared by both edges. Edges that are not cut keep their lengths.

    Raises:
        PieceError: The slash leaves the piece, or an opening is less than nothing, or the piece crosses itself after.
    """
    opens = step.open_start, step.open_end
    if min(opens) < 0:
        raise PieceError(
            f"an opening of {both_units(min(opens))} is less than nothing",
            "Open it by 0 or more; to take cloth out, shorten the piece",
            place=f'piece "{piece.name}"',
        )
    return _spread(piece, find_spot(piece, step.start), find_spot(piece, step.end), opens)


def full_piece(piece: Piece, step: Fullness) -> Piece:
    """A piece given fullness by slashes that are spread evenly and all opened alike.

    Raises:
        PieceError: As `spread_piece`; or there is no slash, or no room left for any.
    """
    where = f'piece "{piece.name}"'
    if step.slashes < 1:
        raise PieceError("it has no slash", "Ask for 1 slash or more", place=where)
    top, bottom = run_length(piece, step.along), run_length(piece, step.to)
    room = top - step.start - step.end
    if room <= 0:
        raise PieceError(
            f"nothing is left of the {both_units(top)} to be made full", "Leave less of it as it is", place=where
        )
    opens = step.open_along / step.slashes, step.open_to / step.slashes
    for number in reversed(range(step.slashes)):
        at = step.start + room * (number + 0.5) / step.slashes
        across = bottom * at / top  # from the end of `to`, which no slash has moved yet
        start = on_run(piece, step.along, at)
        end = on_run(piece, step.to, run_length(piece, step.to) - across)
        try:
            piece = _spread(piece, start, end, opens)
        except PieceError as error:
            fix = f"{error.fix}, or ask for another number of slashes"
            raise PieceError(error.what, fix, place=f"slash {number + 1} of {step.slashes}, {error.place}") from None
    return piece


def run_length(piece: Piece, names: tuple[str, ...]) -> float:
    """Length of a run of edges (mm).

    Raises:
        PieceError: An edge is not there, or they do not follow each other counter-clockwise.
    """
    count = len(piece.edges)
    numbers = [next(n for n, one in enumerate(piece.edges) if one is piece.edge(name)) for name in names]
    if not numbers or any((one + 1) % count != two for one, two in pairwise(numbers)):
        order = ", ".join(edge.name for edge in piece.edges)
        raise PieceError(
            f"the edges {', '.join(names) or 'named'} do not follow each other",
            f"Name them in their order round the piece: {order}",
            place=f'piece "{piece.name}"',
        )
    return sum(length(piece.edges[number].points) for number in numbers)


def on_run(piece: Piece, names: tuple[str, ...], at: float) -> Place:
    """The place at a distance along a run of edges (mm)."""
    for name in names[:-1]:
        whole = length(piece.edge(name).points)
        if at <= whole:
            break
        at -= whole
    else:
        name = names[-1]
    number = next(n for n, one in enumerate(piece.edges) if one.name == name)
    whole = length(piece.edges[number].points)
    return Place(number, min(max(at, 0.0), whole), whole)


def laid_together(piece: Piece, right: Half, left: Half, lines: Iterable[NamedLine] = ()) -> Piece:
    """A piece made of its two parts, moved and laid beside each other again.

    Args:
        piece: The piece they were cut from.
        right: Its right part, moved.
        left: Its left part, moved.
        lines: Lines of construction that the moving left.

    Raises:
        PieceError: The outline crosses itself, or is turned inside out.
    """
    edges, marks = _rejoined(right, left, piece.edges[0].name)
    inside = right.inside.beside(left.inside).beside(Inside(construction=tuple(lines)))
    new = refuse_crossed(marked(replace(piece, edges=edges), marks, inside))
    return replace(new, grain=grain_for(ring_of(new), piece.grain))


def _rejoined(right: Half, left: Half, first_edge: str) -> tuple[tuple[Edge, ...], tuple[Mark, ...]]:
    """The outline of two parts laid beside each other again, and the marks on it.

    Args:
        right: Its right part, moved.
        left: Its left part, moved.
        first_edge: The edge the outline is to start with.
    """
    edges: list[Edge] = []
    marks: list[Mark] = []
    for half in (right, left):
        for number, edge in enumerate(half.edges):
            mine = [mark for mark in half.marks if mark.edge == edge.name]
            if number == 0 and edges:
                _join_on(edges, marks, edge, mine)
            else:
                edges.append(edge)
                marks += mine
    first, last = edges[0], edges[-1]
    if first.name == last.name and len(edges) > 1:
        mine_first = tuple(mark for mark in right.marks if mark.edge == first.name)
        whole, carried = fused(last, first, mine_first)
        marks = [mark for mark in marks if not any(mark is one for one in mine_first)] + list(carried)
        edges = [*edges[1:-1], whole]
    else:
        _bridge(edges, marks, len(edges) - 1, 0)
    at = next((n for n, edge in enumerate(edges) if edge.name == first_edge), 0)
    return tuple(edges[at:] + edges[:at]), tuple(marks)


def refuse_crossed(piece: Piece) -> Piece:
    """The piece, if its outline does not cross itself.

    Raises:
        PieceError: It does, with where; or it is turned inside out.
    """
    if shapely.LinearRing(ring_of(piece)).is_simple:
        if signed_area(ring_of(piece)) > 0:
            return piece
        raise PieceError("after this its outline is turned inside out", "Ask for less", place=f'piece "{piece.name}"')
    crossed = crossing_place(ring_of(piece))
    if crossed is not None:
        raise PieceError(
            f"after this its seam line crosses itself at x {crossed[0]:.1f}, y {crossed[1]:.1f} mm",
            "Ask for less, or elsewhere",
            place=f'piece "{piece.name}"',
        )
    return piece


def _spread(piece: Piece, start: Place, end: Place, opens: tuple[float, float]) -> Piece:
    halves = cut_piece(piece, start, end)
    if max(opens) < HAIR:
        return piece
    first, last = halves.line
    away = last - first
    size = float(np.hypot(*away))
    widest = (opens[1] - opens[0]) / (2 * size)
    if abs(widest) > 0.7:
        raise PieceError(
            f"an opening of {both_units(max(opens))} is too wide for a slash of {both_units(size)}",
            "Open it less, or slash more often",
            place=f'piece "{piece.name}"',
        )
    angle = 2 * float(np.arcsin(widest))
    share = _share(piece, halves)  # how much of the motion the right part takes
    across = turn(np.array([-away[1], away[0]]) / size, np.zeros(2), (0.5 - share) * angle)
    mirrored = -share * angle, -share * opens[0] * across
    rest = (1 - share) * angle, (1 - share) * opens[0] * across
    right, left = moved(halves.right, first, *mirrored), moved(halves.left, first, *rest)
    return laid_together(piece, right, left, _slash_lines(halves.line, mirrored, rest))


def _share(piece: Piece, halves: Halves) -> float:
    """How much of the motion the right part takes.

    A fold stays where it is, for the grain runs along it; else the grainline stays: 1 when it lies in the left part, 0
    in the right, half when the cut runs along it.
    """
    for share, half in ((0.0, halves.right), (1.0, halves.left)):
        if any(edge.kind is EdgeKind.FOLD for edge in half.edges):
            return share
    middle = piece.grain.mean(axis=0)
    way = halves.line[-1] - halves.line[0]
    off = middle - halves.line[0]
    side = float(way[0] * off[1] - way[1] * off[0]) / float(np.hypot(*way))
    if abs(side) < 1.0:
        return 0.5
    return 1.0 if side > 0 else 0.0


def _slash_lines(line: Line, *motions: tuple[float, Line]) -> tuple[NamedLine, ...]:
    """Both edges of the slash, where they lie now."""
    return tuple(NamedLine("slash", turn(line, line[0], angle) + shift) for angle, shift in motions)


def _join_on(edges: list[Edge], marks: list[Mark], edge: Edge, mine: list[Mark]) -> None:
    if edges[-1].name == edge.name:
        edges[-1], carried = fused(edges[-1], edge, tuple(mine))
        marks += carried
    else:
        edges.append(edge)
        marks += mine
        _bridge(edges, marks, len(edges) - 2, len(edges) - 1)


def _bridge(edges: list[Edge], marks: list[Mark], before: int, after: int) -> None:
    """Bridge an opening at a turn point; both edges get half of it."""
    one, two = edges[before].points[-1], edges[after].points[0]
    gap = float(np.hypot(*(two - one)))
    if gap < HAIR:
        return
    middle = (one + two) / 2
    edges[before] = replace(edges[before], points=np.vstack([edges[before].points, middle]))
    edges[after] = replace(edges[after], points=np.vstack([middle, edges[after].points]))
    name = edges[after].name
    marks[:] = [set_along(mark, lambda at: at + gap / 2) if mark.edge == name else mark for mark in marks]
