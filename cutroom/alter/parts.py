"""Pieces split along a line, cut off at one, and merged along a seam."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cutroom.alter.halves import (
    AT_THE_CUT,
    HAIR,
    Half,
    Halves,
    cut_piece,
    find_spot,
    fused,
    grain_for,
    grain_inside,
    moved,
    place_point,
    ring_of,
    turn,
)
from cutroom.alter.marks import (
    Mark,
    drafted_darts,
    inside_of,
    marked,
    marks_of,
    refuse_holes_on,
    set_along,
    whole_again,
)
from cutroom.alter.sewn import Named, renamed
from cutroom.alter.spread import refuse_crossed
from cutroom.errors import PieceError
from cutroom.geometry.curve import smooth_curve
from cutroom.geometry.polygon import distances
from cutroom.geometry.polyline import length
from cutroom.model.alteration import CutOff, Merge, Split, Spot
from cutroom.model.piece import Corner, Cut, Dart, Edge, EdgeKind, Notch, Piece, SewnSeam, Style
from cutroom.units import both_units

FITS = 0.5
"""Edges that lie no further apart (mm) all along can be merged."""

Line = NDArray[np.float64]


def split_style(style: Style, step: Split) -> Style:
    """A style with one piece split in two; the line is a seam on both.

    Edges that were cut keep their name on both pieces, and seams they are part of run over both. Notches within 3 mm
    of the cut are dropped: the new corner is the mark. A part of a fold piece that has no fold is cut as a pair.

    Raises:
        PieceError: The line leaves the piece, or a name is taken.
    """
    piece = style.piece(step.piece)
    halves = _cut_along(piece, step.start, step.end, step.through)
    _refuse_taken(style, step.names, piece.name)
    if any(edge.name == step.seam for edge in piece.edges):
        raise PieceError(
            f'it has an edge "{step.seam}" already', "Give the seam another name", place=f'piece "{piece.name}"'
        )
    size = length(halves.line)
    for at in step.notches:
        if not AT_THE_CUT < at < size - AT_THE_CUT:
            raise PieceError(
                f"a notch {both_units(at)} along a seam of {both_units(size)} is not between its ends",
                "Set it further in",
                place=f'seam "{step.seam}"',
            )
    names = _dict_of_names(piece, halves, step.names)
    right = _part(piece, halves.right, Edge(step.seam, halves.line[::-1]), step.names[0])
    left = _part(piece, halves.left, Edge(step.seam, halves.line), step.names[1])
    right = replace(right, notches=(*right.notches, *(Notch(step.seam, size - at) for at in step.notches)))
    left = replace(left, notches=(*left.notches, *(Notch(step.seam, at) for at in step.notches)))
    seam = SewnSeam(step.seam, ((right.name, step.seam),), ((left.name, step.seam),), first_from_end=True)
    return renamed(
        style, (part for one in style.pieces for part in ((right, left) if one is piece else (one,))), names, seam
    )


def cut_off(style: Style, step: CutOff) -> Style:
    """A style with a part of one piece cut off along a line and gone.

    Raises:
        PieceError: The line leaves the piece, or it is not clear which part is kept.
    """
    piece = style.piece(step.piece)
    piece.edge(step.keep)
    halves = _cut_along(piece, step.start, step.end, step.through)
    has = [any(edge.name == step.keep for edge in half.edges) for half in (halves.right, halves.left)]
    if all(has):
        raise PieceError(
            f'both parts have some of the edge "{step.keep}"',
            "Name an edge that the line does not cut",
            place=f'piece "{piece.name}"',
        )
    half, line = (halves.right, halves.line[::-1]) if has[0] else (halves.left, halves.line)
    if any(edge.name == step.edge for edge in half.edges):
        raise PieceError(
            f'it has an edge "{step.edge}" already', "Call the new edge otherwise", place=f'piece "{piece.name}"'
        )
    kept = _part(piece, half, Edge(step.edge, line, kind=step.kind), piece.name)
    names: dict[Named, tuple[Named, ...]] = {
        (piece.name, edge.name): () for edge in piece.edges if all(edge.name != one.name for one in half.edges)
    }
    return renamed(style, (kept if one is piece else one for one in style.pieces), names)


def merge_style(style: Style, step: Merge) -> Style:
    """A style with two pieces laid edge to edge and made one, with all that lies on both.

    The first piece stays where it is; the grain runs half way between both. Where edges of one name meet at an end
    of the seam they become one edge; an edge of the second piece whose name is taken gets the piece's name in front,
    and so does a dart. Lines of one name that meet on the seam become one line.

    Raises:
        PieceError: The edges do not lie together, the pieces are not of one cloth and cut, they overlap, or a dart
            opens on the seam between them.
    """
    one, two = style.piece(step.first), _told_apart(style.piece(step.first), style.piece(step.second))
    where = f'pieces "{one.name}" and "{two.name}"'
    if one.name == two.name or (one.cut, one.cloth, one.quantity) != (two.cut, two.cloth, two.quantity):
        raise PieceError("they are not cut alike", "Merge two pieces of one cloth and one cut", place=where)
    _refuse_made_otherwise(one, two, where)
    _refuse_taken(style, (step.name,), one.name, two.name)
    here, there = one.edge(step.first_edge), two.edge(step.second_edge)
    _refuse_darts_between(one, here, two, there)
    second, angle = _laid_against(two, there, here, where)
    turned_grain = turn(two.grain, np.zeros(2), angle)
    runs = _after(one, here.name), _after(two, there.name, second.edges)
    edges, marks, called = _joined_rings((one.name, two.name), runs, (marks_of(one), second.marks))
    names: dict[Named, tuple[Named, ...]] = {
        (one.name, edge.name): ((step.name, edge.name),) for edge in one.edges if edge.name != here.name
    }
    names |= {(two.name, edge): ((step.name, new),) for edge, new in called.items()}
    gone = {(one.name, here.name), (two.name, there.name)}
    seams = []
    for seam in style.seams:
        both = {*seam.first, *seam.second}
        if both == gone:
            continue
        if both & gone:
            raise PieceError(
                f'the edge merged is sewn in the seam "{seam.name}" too', "Take that seam apart first", place=where
            )
        seams.append(seam)
    inside = replace(
        inside_of(one).beside(second.inside),
        lines=whole_again(one.lines, second.inside.lines, here.points),
        construction=whole_again(one.construction, second.inside.construction, here.points),
    )
    merged = refuse_crossed(marked(replace(one, name=step.name, edges=edges), marks, inside))
    merged = replace(merged, grain=_shared_grain(merged, one.grain, turned_grain))
    names |= {(one.name, here.name): (), (two.name, there.name): ()}
    pieces = (merged if piece.name == one.name else piece for piece in style.pieces if piece.name != two.name)
    return renamed(replace(style, seams=tuple(seams)), pieces, names)


def _cut_along(piece: Piece, start: Spot, end: Spot, through: Line) -> Halves:
    first, last = find_spot(piece, start), find_spot(piece, end)
    between = None
    if len(through):
        points = np.vstack([place_point(piece, first), through, place_point(piece, last)])
        between = smooth_curve(points)[1:-1]
    halves = cut_piece(piece, first, last, between)
    refuse_holes_on(piece, halves.line)
    return halves


def _part(piece: Piece, half: Half, closing: Edge, name: str) -> Piece:
    edges = (*half.edges[:-1], replace(half.edges[-1], corner=Corner.AUTO), closing)
    first, last = half.edges[0], half.edges[-1]
    marks = tuple(mark for mark in half.marks if isinstance(mark, Dart) or not _near(mark, first, last))
    ring = np.vstack([edge.points[:-1] for edge in edges])
    folded = any(edge.kind is EdgeKind.FOLD for edge in edges)
    part = replace(
        piece,
        name=name,
        edges=edges,
        cut=Cut.PAIR if piece.cut is Cut.FOLD and not folded else piece.cut,
        grain=grain_for(ring, piece.grain),
    )
    return refuse_crossed(marked(part, marks, half.inside))


def _near(notch: Notch, first: Edge, last: Edge) -> bool:
    """Whether a notch is taken by the cut at the start of the first edge or at the end of the last."""
    if notch.edge == first.name and notch.at < AT_THE_CUT:
        return True
    return notch.edge == last.name and notch.at > length(last.points) - AT_THE_CUT


def _dict_of_names(piece: Piece, halves: Halves, names: tuple[str, str]) -> Mapping[Named, tuple[Named, ...]]:
    """What the edges of a split piece have become, counter-clockwise."""
    found: dict[Named, tuple[Named, ...]] = {}
    for number, edge in enumerate(piece.edges):
        sides = [(names[0], halves.right), (names[1], halves.left)]
        if number == halves.start.edge:
            sides.reverse()
        found[piece.name, edge.name] = tuple(
            (name, edge.name) for name, half in sides if any(one.name == edge.name for one in half.edges)
        )
    return found


def _refuse_taken(style: Style, names: tuple[str, ...], *free: str) -> None:
    taken = {piece.name for piece in style.pieces} - set(free)
    for name in names:
        if name in taken or names.count(name) > 1:
            raise PieceError(
                f'there is a piece "{name}" already', "Give it another name", place=f'style "{style.name}"'
            )


def _refuse_made_otherwise(one: Piece, two: Piece, where: str) -> None:
    """What is said of a whole piece can only be said of both alike."""
    for what, first, second in (
        ("laid across the grain", one.crossways, two.crossways),
        ("notched", one.notch_form, two.notch_form),
        ("let out for pressing", one.press_shrink, two.press_shrink),
        ("cut roughly as a block", one.block_margin, two.block_margin),
    ):
        if first != second:
            raise PieceError(f"they are not {what} alike", "Say the same of both pieces", place=where)


def _told_apart(one: Piece, two: Piece) -> Piece:
    """The second piece, its darts called otherwise where the first has darts of their names."""
    taken = {dart.name for dart in one.darts} | {name for name, _, _ in drafted_darts(one)}
    own = [dart.name for dart in two.darts] + [name for name, _, _ in drafted_darts(two)]
    called = {name: f"{two.name} {name}" for name in own if name in taken}
    legs = {f"{name} leg": f"{new} leg" for name, new in called.items()}
    return replace(
        two,
        darts=tuple(replace(dart, name=called.get(dart.name, dart.name)) for dart in two.darts),
        lines=tuple(replace(line, name=legs.get(line.name, line.name)) for line in two.lines),
        drills=tuple(replace(hole, name=called.get(hole.name, hole.name)) for hole in two.drills),
    )


def _refuse_darts_between(one: Piece, here: Edge, two: Piece, there: Edge) -> None:
    for piece, edge in ((one, here), (two, there)):
        for dart in piece.darts:
            if dart.edge == edge.name:
                kind, fix = ("pleat", "Take it out first") if dart.pleat else ("dart", "Pivot it to another edge first")
                what = f'its {kind} "{dart.name}" opens on the edge "{edge.name}", which is merged'
                raise PieceError(what, fix, place=f'piece "{piece.name}"')


def _laid_against(piece: Piece, edge: Edge, other: Edge, where: str) -> tuple[Half, float]:
    """A piece moved so that one of its edges lies against another piece's, and how it was turned (radians)."""
    start, end = edge.points[-1], edge.points[0]
    ways = end - start, other.points[-1] - other.points[0]
    angle = float(np.arctan2(ways[1][1], ways[1][0]) - np.arctan2(ways[0][1], ways[0][0]))
    whole = Half(piece.edges, marks_of(piece), inside_of(piece))
    laid = moved(whole, start, angle, other.points[0] - start)
    against = next(one.points for one in laid.edges if one.name == edge.name)
    off = max(distances(against, other.points).max(), distances(other.points, against).max())
    if off > FITS or abs(length(edge.points) - length(other.points)) > FITS:
        raise PieceError(
            f'their edges "{other.name}" and "{edge.name}" do not lie together: they part by {both_units(float(off))}',
            "True both up to one line first",
            place=where,
        )
    return laid, angle


def _shared_grain(merged: Piece, first: Line, second: Line) -> Line:
    """A grainline half way between those of both pieces as they lie now."""
    ways = [line[1] - line[0] for line in (first, second)]
    units = [way / np.hypot(*way) for way in ways]
    if float(units[0] @ units[1]) > 1 - HAIR:
        return grain_for(ring_of(merged), first)
    return grain_inside(ring_of(merged), units[0] + units[1])


def _after(piece: Piece, name: str, edges: tuple[Edge, ...] | None = None) -> list[Edge]:
    """The edges of a piece after one, round to the one before it."""
    edges = piece.edges if edges is None else edges
    at = next(n for n, edge in enumerate(edges) if edge.name == name)
    return [*edges[at + 1 :], *edges[:at]]


def _joined_rings(
    names: tuple[str, str], runs: tuple[list[Edge], list[Edge]], marks: tuple[Sequence[Mark], Sequence[Mark]]
) -> tuple[tuple[Edge, ...], tuple[Mark, ...], dict[str, str]]:
    """Two open runs of edges made one outline: the edges, their marks, and what the second's edges are called now.

    Args:
        names: Of both pieces.
        runs: Edges of each, from one end of the seam between them round to the other.
        marks: Of each, on all its edges; those on the seam between them are gone.
    """
    first, second = runs
    taken = {edge.name for edge in first}
    fuse_low = first[-1].name == second[0].name
    fuse_high = second[-1].name == first[0].name
    joints = {second[0].name} if fuse_low else set()
    joints |= {second[-1].name} if fuse_high else set()
    called = {
        edge.name: edge.name if edge.name in joints or edge.name not in taken else f"{names[1]} {edge.name}"
        for edge in second
    }
    mine = {edge.name: [mark for mark in marks[0] if mark.edge == edge.name] for edge in first}
    more = {
        called[edge.name]: [
            set_along(mark, lambda at: at, called[edge.name]) for mark in marks[1] if mark.edge == edge.name
        ]
        for edge in second
    }
    second = [replace(edge, name=called[edge.name]) for edge in second]
    first = [*first[:-1], replace(first[-1], corner=Corner.AUTO)]  # what it met there lies inside now
    second = [*second[:-1], replace(second[-1], corner=Corner.AUTO)]
    edges, found = [*first], [mark for some in mine.values() for mark in some]
    if fuse_low:
        edges[-1], carried = fused(edges[-1], second[0], tuple(more[second[0].name]))
        found += carried
        rest = second[1:]
    else:
        rest = [replace(second[0], points=np.vstack([edges[-1].points[-1], second[0].points[1:]])), *second[1:]]
        found += more[second[0].name]
    for edge in rest[(0 if fuse_low else 1) :]:
        found += more[edge.name]
    edges += rest
    if fuse_high and len(edges) > 1:
        last = edges.pop()
        early = mine[last.name]
        edges[0], carried = fused(last, edges[0], tuple(early))
        found = [mark for mark in found if all(mark is not one for one in early)] + list(carried)
    elif float(np.hypot(*(edges[-1].points[-1] - edges[0].points[0]))) > HAIR:
        edges[-1] = replace(edges[-1], points=np.vstack([edges[-1].points[:-1], edges[0].points[0]]))
    return tuple(edges), tuple(found), called
