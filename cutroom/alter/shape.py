"""Edges drawn again, moved or called otherwise, and pieces lengthened or turned over."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cutroom.alter.halves import HAIR, Half, Place, cut_piece, find_spot, grain_for, moved, ring_of
from cutroom.alter.sewn import Named, renamed_seams, turned_seams
from cutroom.alter.spread import laid_together, refuse_crossed, run_length, spread_piece
from cutroom.errors import PieceError
from cutroom.geometry.affine import reflect_points
from cutroom.geometry.curve import smooth_curve
from cutroom.geometry.offset import crossings, join, offset_line
from cutroom.geometry.polyline import length, lengths_along, point_at
from cutroom.model.alteration import Extend, Finish, Lengthen, Mirror, Slash, TrueUp
from cutroom.model.piece import Corner, Edge, Piece, Style
from cutroom.units import both_units

Line = NDArray[np.float64]


def lengthen_piece(piece: Piece, step: Lengthen) -> Piece:
    """A piece lengthened at a line, or shortened by as much cloth folded out beyond it.

    When it is shortened, the edges that the fold crosses are redrawn straight for as far as was folded out on either
    side, so that no step is left.

    Raises:
        PieceError: The line leaves the piece, or more is folded out than there is.
    """
    if step.by >= 0:
        return spread_piece(piece, Slash(piece.name, step.start, step.end, step.by, step.by))
    start, end = find_spot(piece, step.start), find_spot(piece, step.end)
    out = -step.by
    first, last = cut_piece(piece, start, end).line
    way = (last - first) / np.hypot(*(last - first))
    across = np.array([-way[1], way[0]])
    far = [_beyond(piece, place, first + across * out, way, out) for place in (start, end)]
    near = cut_piece(piece, start, end)
    rest = cut_piece(piece, far[0], far[1])
    left = moved(rest.left, first, 0.0, -across * out)
    right = _shorter(near.right, out)
    return laid_together(piece, right, _shorter(left, out))


def extend_piece(piece: Piece, step: Extend) -> Piece:
    """A piece with one edge moved out parallel to itself; the edges beside it run on straight to meet it.

    Notches keep their share of the edge that was moved, and their places on the others.

    Raises:
        PieceError: The edges beside it do not meet it there.
    """
    edge = piece.edge(step.edge)
    at = next(n for n, one in enumerate(piece.edges) if one is edge)
    count = len(piece.edges)
    before, after = piece.edges[at - 1], piece.edges[(at + 1) % count]
    first = join(before.points, offset_either(edge.points, step.by))
    second = None if first is None else join(first[1], after.points)
    if first is None or second is None or count < 3:
        raise PieceError(
            f'the edges beside "{edge.name}" do not meet it {both_units(step.by)} away',
            "Move it less",
            place=f'piece "{piece.name}"',
        )
    drawn = {before.name: first[0], edge.name: second[0], after.name: second[1]}
    edges = tuple(replace(one, points=drawn.get(one.name, one.points)) for one in piece.edges)
    gained = length(second[1]) - length(after.points)
    grown = length(second[0]) / length(edge.points)
    notches = []
    for notch in piece.notches:
        if notch.edge == edge.name:
            notch = replace(notch, at=notch.at * grown)
        elif notch.edge == after.name:
            notch = replace(notch, at=notch.at + gained)
        notches.append(notch)
    new = refuse_crossed(replace(piece, edges=edges, notches=tuple(notches)))
    return replace(new, grain=grain_for(ring_of(new), piece.grain))


def offset_either(points: Line, distance: float) -> Line:
    """A line moved to its right, or by less than 0 to its left (mm)."""
    return offset_line(points, distance) if distance >= 0 else offset_line(points[::-1], -distance)[::-1]


def true_piece(piece: Piece, step: TrueUp) -> Piece:
    """A piece with a run of edges drawn again as one smooth curve; its ends and the turn points stay.

    Notches keep their share of the run between the points that stay.

    Raises:
        PieceError: The edges do not follow each other, or nothing is left to draw.
    """
    whole = run_length(piece, step.edges)
    low, high = step.start, whole - step.end
    if high - low < 1.0 or step.start < 0 or step.end < 0:
        raise PieceError(
            f"nothing is left of {both_units(whole)} to be trued", "Leave less of it", place=f'piece "{piece.name}"'
        )
    run = [piece.edge(name) for name in step.edges]
    path = np.vstack([run[0].points[:1], *(edge.points[1:] for edge in run)])
    joints = np.cumsum([0.0, *(length(edge.points) for edge in run)])
    stay = [low, *(float(at) for at in joints[1:-1] if low + 1 < at < high - 1), high]
    room = (high - low) / (step.points + 1)
    more = (low + room * n for n in range(1, step.points + 1)) if step.points else ()
    knots = sorted([*stay, *(at for at in more if min(abs(at - one) for one in stay) > room * 0.4)])
    places = np.array([point_at(path, at)[0] for at in knots])
    curve = places
    if step.points:
        ways = _way(path, low, before=low > HAIR), _way(path, high, before=high > whole - HAIR)
        if step.square:
            ways = _squared(piece, step, ways, starts=low <= HAIR, ends=high >= whole - HAIR)
        curve = smooth_curve(places, start=ways[0], end=ways[1])
    drawn = _drawn(path, curve, low, high)
    edges, notches = list(piece.edges), list(piece.notches)
    marks = [0.0, *stay, whole] if low > HAIR or high < whole - HAIR else stay
    marks = sorted({round(mark, 9) for mark in (0.0, *marks, whole)})
    spots = [point_at(path, mark)[0] for mark in marks]
    becomes = [_distance(drawn, spot) for spot in spots]
    for number, edge in enumerate(run):
        start, end = (float(np.interp(at, marks, becomes)) for at in joints[number : number + 2])
        place = next(n for n, one in enumerate(edges) if one.name == edge.name)
        edges[place] = replace(edge, points=_cut_out(drawn, start, end))
        notches = [
            replace(notch, at=float(np.interp(notch.at + joints[number], marks, becomes)) - start)
            if notch.edge == edge.name
            else notch
            for notch in notches
        ]
    return refuse_crossed(replace(piece, edges=tuple(edges), notches=tuple(notches)))


def finish_style(style: Style, step: Finish) -> Style:
    """A style with an edge of one piece called otherwise, or finished otherwise.

    An edge that becomes something else loses what was said of it as it was: its allowance, its turns, and corners
    folded back with it.

    Raises:
        PieceError: There is no such edge, or the new name is taken.
    """
    piece = style.piece(step.piece)
    edge = piece.edge(step.edge)
    name = step.name or edge.name
    if name != edge.name and any(one.name == name for one in piece.edges):
        raise PieceError(f'it has an edge "{name}" already', "Give it another name", place=f'piece "{piece.name}"')
    edges = _finished(piece.edges, edge, replace(edge, name=name, kind=step.kind))
    notches = tuple(replace(one, edge=name) if one.edge == edge.name else one for one in piece.notches)
    darts = tuple(replace(one, edge=name) if one.edge == edge.name else one for one in piece.darts)
    new = replace(piece, edges=edges, notches=notches, darts=darts)
    names: dict[Named, tuple[Named, ...]] = {(piece.name, edge.name): ((piece.name, name),)}
    pieces = tuple(new if one is piece else one for one in style.pieces)
    return replace(style, pieces=pieces, seams=renamed_seams(style.seams, names))


def _finished(edges: tuple[Edge, ...], edge: Edge, new: Edge) -> tuple[Edge, ...]:
    """The edges with one of them finished otherwise."""
    if new.kind is edge.kind:
        return tuple(new if one is edge else one for one in edges)
    new = replace(new, allowance=0.0, turns=(), corner=Corner.AUTO if new.corner is Corner.FOLDED else new.corner)
    found = [new if one is edge else one for one in edges]
    before = next(n for n, one in enumerate(edges) if one is edge) - 1
    if found[before].corner is Corner.FOLDED_NEXT:
        found[before] = replace(found[before], corner=Corner.AUTO)
    return tuple(found)


def mirror_style(style: Style, step: Mirror) -> Style:
    """A style with pieces turned over in their grainlines; they belong to the other side of the body.

    Raises:
        PieceError: There is no such piece, or a side of a seam is turned over in part.
    """
    for name in step.pieces:
        style.piece(name)
    pieces = tuple(mirrored(piece) if piece.name in step.pieces else piece for piece in style.pieces)
    return replace(style, pieces=pieces, seams=turned_seams(style.seams, step.pieces))


def mirrored(piece: Piece) -> Piece:
    """A piece turned over in its grainline, still counter-clockwise; all its marks stay where they were on the body."""
    on, along = piece.grain[0], piece.grain[1] - piece.grain[0]

    def over(points: Line) -> Line:
        return reflect_points(points, on, along)

    def spot(at: tuple[float, float]) -> tuple[float, float]:
        x, y = over(np.array([at]))[0]
        return float(x), float(y)

    sizes = {edge.name: length(edge.points) for edge in piece.edges}
    return replace(
        piece,
        edges=tuple(
            replace(edge, points=over(edge.points)[::-1], corner=before.corner.turned)
            for edge, before in zip(piece.edges[::-1], (*piece.edges[-2::-1], piece.edges[-1]), strict=True)
        ),
        notches=tuple(replace(notch, at=max(sizes[notch.edge] - notch.at, 0.0)) for notch in piece.notches),
        drills=tuple(replace(hole, at=spot(hole.at)) for hole in piece.drills),
        lines=tuple(replace(line, points=over(line.points)) for line in piece.lines),
        cutouts=tuple(replace(line, points=over(line.points)) for line in piece.cutouts),
        darts=tuple(
            replace(
                dart,
                start=sizes[dart.edge] - dart.end,
                end=sizes[dart.edge] - dart.start,
                point=spot(dart.point),
                pressed=dart.pressed.turned,
            )
            for dart in piece.darts
        ),
        construction=tuple(replace(line, points=over(line.points)) for line in piece.construction),
        hand=piece.hand.other,
    )


def _beyond(piece: Piece, place: Place, on: Line, way: Line, out: float) -> Place:
    """Where a line parallel to a cut meets the edge the cut met."""
    edge = piece.edges[place.edge]
    reach = way * 1e4
    hits = crossings(edge.points, np.vstack([on - reach, on + reach]))
    if not hits:
        raise PieceError(
            f'the edge "{edge.name}" does not reach {both_units(out)} beyond the line',
            "Shorten it less, or set the line elsewhere",
            place=f'piece "{piece.name}"',
        )
    along = lengths_along(edge.points)
    ats = [float(np.interp(hit[0], np.arange(len(along)), along)) for hit in hits]
    return Place(place.edge, min(ats, key=lambda at: abs(at - place.at)), place.whole)


def _shorter(half: Half, by: float) -> Half:
    """A part with both its end edges drawn back from the cut, so that a straight line trues them."""
    edges, notches = list(half.edges), list(half.notches)
    for number in {0, len(edges) - 1}:
        edge = edges[number]
        whole = length(edge.points)
        back = min(by, whole / 3)
        if number == 0:
            edges[0] = replace(edge, points=_cut_out(edge.points, back, whole))
            notches = [replace(one, at=max(one.at - back, 0.0)) if one.edge == edge.name else one for one in notches]
        else:
            edges[number] = replace(edge, points=_cut_out(edge.points, 0.0, whole - back))
    return replace(half, edges=tuple(edges), notches=tuple(notches))


def _way(path: Line, at: float, *, before: bool) -> Line:
    """Direction of a line just before a place, or just after it."""
    step = -1.0 if before else 1.0
    away: Line = (point_at(path, at + step)[0] - point_at(path, at)[0]) * step
    return away


def _squared(piece: Piece, step: TrueUp, ways: tuple[Line, Line], *, starts: bool, ends: bool) -> tuple[Line, Line]:
    """Directions at both ends of a run, square to the edges beside it where the run starts or ends at a turn point."""
    numbers = [n for n, edge in enumerate(piece.edges) if edge.name in step.edges]
    first = next(n for n in numbers if piece.edges[n].name == step.edges[0])
    last = next(n for n in numbers if piece.edges[n].name == step.edges[-1])
    before = piece.edges[first - 1].points
    after = piece.edges[(last + 1) % len(piece.edges)].points
    arrives, leaves = before[-1] - before[-2], after[1] - after[0]
    return (
        np.array([-arrives[1], arrives[0]]) if starts else ways[0],
        np.array([leaves[1], -leaves[0]]) if ends else ways[1],
    )


def _drawn(path: Line, curve: Line, low: float, high: float) -> Line:
    whole = length(path)
    parts = [_cut_out(path, 0.0, low)[:-1]] if low > HAIR else []
    parts.append(curve)
    if high < whole - HAIR:
        parts.append(_cut_out(path, high, whole)[1:])
    return np.vstack(parts)


def _distance(line: Line, spot: Line) -> float:
    """Distance along a line of one of its own points (mm)."""
    return float(lengths_along(line)[int(np.argmin(np.hypot(*(line - spot).T)))])


def _cut_out(line: Line, low: float, high: float) -> Line:
    along = lengths_along(line)
    inside = line[(along > low + HAIR) & (along < high - HAIR)]
    return np.vstack([point_at(line, low)[0], inside, point_at(line, high)[0]])
