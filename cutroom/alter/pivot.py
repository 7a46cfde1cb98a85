"""Pivot: a dart closed by turning part of the piece about the dart's point, and opened somewhere else."""

from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.alter.halves import HAIR, Half, Halves, Place, cut_piece, find_spot, fused, grain_for, moved, ring_of
from cutroom.alter.sewn import Named, renamed_seams
from cutroom.alter.spread import refuse_crossed
from cutroom.errors import PieceError
from cutroom.geometry.affine import reflect_points
from cutroom.geometry.offset import crossings
from cutroom.geometry.polyline import length
from cutroom.model.alteration import Leave, Pivot
from cutroom.model.piece import Corner, DrillHole, Edge, EdgeKind, NamedLine, Notch, Piece, Style
from cutroom.units import both_units

SET_BACK = 13.0
"""A dart's drill hole is this far (mm) short of its point (common practice)."""
LEGS_WITHIN = 0.5
"""Legs of a dart that differ by more (mm) do not close."""

Line = NDArray[np.float64]


def pivot_style(style: Style, step: Pivot) -> Style:
    """A style with a dart of one piece moved: the angle of the dart stays the same.

    The part with the fold, else with the grainline, stays; the other turns about the dart's point until the legs
    meet. Left as a dart, the edge that is opened becomes two, `… 1` and `… 2` counter-clockwise, with the dart cap
    between them; left as fullness, the edge keeps its name and gains the opening.

    Raises:
        PieceError: There is no such dart open at an edge, its legs differ, or the new place is on the dart itself.
    """
    piece = style.piece(step.piece)
    mouth, tip = _find_dart(piece, step.dart)
    to = find_spot(piece, step.to)
    if to.edge == mouth:
        raise PieceError("the dart is there already", "Name another edge", place=f'piece "{piece.name}"')
    cap = piece.edges[mouth]
    halves = cut_piece(piece, to, Place(mouth, length(cap.points) / 2, length(cap.points)), np.array([tip]))
    angle = _angle(cap.points[-1] - tip, cap.points[0] - tip)  # turns the second leg onto the first
    keeps_left = _grain_left(piece, halves)
    still = np.zeros(2)
    right = moved(halves.right, tip, -angle if keeps_left else 0.0, still)
    left = moved(halves.left, tip, 0.0 if keeps_left else angle, still)
    closed = Half(_less(right, cap.name), right.notches, right.drills, right.lines, right.construction)
    opened = Half(_less(left, cap.name), left.notches, left.drills, left.lines, left.construction)
    if not closed.edges or not opened.edges:
        raise PieceError(
            "the new place is a leg's end", "Name a place away from the dart", place=f'piece "{piece.name}"'
        )
    last = replace(closed.edges[-1], corner=Corner.AUTO)  # it met the dart, which is gone
    edges = [*opened.edges, *closed.edges[:-1], last]  # from the closed dart to the opening, and on
    notches = [*opened.notches, *closed.notches]
    counts = len(opened.edges), len(opened.notches)
    edges, notches, names, more = _opening(piece, step, edges, notches, counts, tip, first=keeps_left)
    new = replace(
        piece,
        edges=tuple(edges),
        notches=tuple(notch for notch in notches if notch.edge != cap.name or step.leave is Leave.DART),
        drills=(*(hole for half in (closed, opened) for hole in half.drills if hole.name != step.dart), *more[0]),
        lines=(
            *(line for half in (closed, opened) for line in half.lines if line.name != f"{step.dart} leg"),
            *more[1],
        ),
        construction=(
            *closed.construction,
            *opened.construction,
            NamedLine(f"{step.dart} closed", np.vstack([edges[0].points[0], tip])),
        ),
    )
    refuse_crossed(new)
    new = replace(new, grain=grain_for(ring_of(new), piece.grain))
    pieces = tuple(new if one.name == piece.name else one for one in style.pieces)
    return replace(style, pieces=pieces, seams=renamed_seams(style.seams, names))


def _find_dart(piece: Piece, name: str) -> tuple[int, Line]:
    """Number of the edge across a dart's mouth, and its point `(2,)`."""
    legs = [line.points for line in piece.lines if line.name == f"{name} leg"]
    for number, edge in enumerate(piece.edges):
        ends = edge.points[0], edge.points[-1]
        starts = [any(np.hypot(*(leg[0] - end)) < 0.1 for leg in legs) for end in ends]
        if not all(starts) or len(edge.points) > 4:
            continue
        tip = next(leg[-1] for leg in legs if np.hypot(*(leg[0] - ends[0])) < 0.1)
        sizes = [float(np.hypot(*(end - tip))) for end in ends]
        if abs(sizes[0] - sizes[1]) > LEGS_WITHIN:
            raise PieceError(
                f'the legs of "{name}" are {both_units(sizes[0])} and {both_units(sizes[1])} long',
                "Make them equal first",
                place=f'piece "{piece.name}"',
            )
        return number, tip
    darts = sorted({line.name.removesuffix(" leg") for line in piece.lines if line.name.endswith(" leg")})
    raise PieceError(
        f'it has no dart "{name}" that is open at an edge',
        f"Name one of: {', '.join(darts)}" if darts else "Draft it with a dart",
        place=f'piece "{piece.name}"',
    )


def _angle(one: Line, two: Line) -> float:
    return float(np.arctan2(one[0] * two[1] - one[1] * two[0], one @ two))


def _grain_left(piece: Piece, halves: Halves) -> bool:
    """Whether the fold, or else the grainline, falls to the part from the dart round to the new place."""
    for left, half in ((False, halves.right), (True, halves.left)):
        if any(edge.kind is EdgeKind.FOLD for edge in half.edges):
            return left
    middle = shapely.Point(piece.grain.mean(axis=0))
    near, away = (
        shapely.Polygon(np.vstack([*(edge.points for edge in half.edges), line[1:-1]])).distance(middle)
        for half, line in ((halves.right, halves.line[::-1]), (halves.left, halves.line))
    )
    return away <= near


def _less(half: Half, name: str) -> tuple[Edge, ...]:
    return tuple(edge for edge in half.edges if edge.name != name)


_More = tuple[tuple[DrillHole, ...], tuple[NamedLine, ...]]


def _opening(
    piece: Piece,
    step: Pivot,
    edges: list[Edge],
    notches: list[Notch],
    counts: tuple[int, int],
    tip: Line,
    *,
    first: bool,
) -> tuple[list[Edge], list[Notch], dict[Named, tuple[Named, ...]], _More]:
    """The edges with the opening made a dart or bridged.

    Args:
        piece: As it was.
        step: What is asked.
        edges: All edges.
        notches: All notches.
        counts: How many of the edges, and of the notches, come before the opening.
        tip: `(2,)` the dart's point (mm).
        first: The dart is pressed towards the edge before it.
    """
    at, count = counts
    before, after = edges[at - 1], edges[at]
    cut = before.name == after.name
    if step.leave is Leave.FULLNESS:
        if not cut:
            raise PieceError(
                f'"{before.name}" and "{after.name}" meet there',
                "Open it within an edge",
                place=f'piece "{piece.name}"',
            )
        late = [notch for notch in notches[count:] if notch.edge == after.name]
        whole, carried = fused(before, after, tuple(late))
        rest = [notch for notch in notches[count:] if notch.edge != after.name]
        notches = [*notches[:count], *rest, *carried]
        return [*edges[: at - 1], whole, *edges[at + 1 :]], notches, {}, ((), ())
    names: dict[Named, tuple[Named, ...]] = {}
    one, two = before.points[-1], after.points[0]
    if cut:
        called = f"{before.name} 1", f"{before.name} 2"
        notches = [
            replace(notch, edge=called[n >= count]) if notch.edge == before.name else notch
            for n, notch in enumerate(notches)
        ]
        before, after = replace(before, name=called[0]), replace(after, name=called[1])
        names[piece.name, edges[at].name] = ((piece.name, called[0]), (piece.name, called[1]))
    beyond = before.points[-2] - one if first else after.points[1] - two
    apex = _apex(one if first else two, beyond, tip, (one + two) / 2)
    number, _ = _find_dart(piece, step.dart)
    cap = replace(after, name=piece.edges[number].name, points=np.vstack([one, apex, two]), corner=Corner.AUTO)
    before = replace(before, corner=Corner.AUTO)
    middle = (one + two) / 2 - tip
    drill = tip + middle / np.hypot(*middle) * SET_BACK
    legs = tuple(NamedLine(f"{step.dart} leg", np.vstack([end, tip])) for end in (one, two))
    hole = DrillHole(step.dart, (float(drill[0]), float(drill[1])))
    return [*edges[: at - 1], before, cap, after, *edges[at + 1 :]], notches, names, ((hole,), legs)


def _apex(end: Line, beyond: Line, tip: Line, middle: Line) -> Line:
    """Apex of a dart cap: where the fold meets the mirror image of the seam beyond the leg it is pressed towards."""
    image = reflect_points((end + beyond)[None], tip, end - tip)[0]
    fold = (middle - tip) / np.hypot(*(middle - tip))
    way = (image - end) / max(float(np.hypot(*(image - end))), HAIR)
    size = float(np.hypot(*(end - tip)))
    found = crossings(np.vstack([tip + fold * size * 0.5, tip + fold * size * 2]), np.vstack([end, end + way * size]))
    return found[0][2] if found else middle
