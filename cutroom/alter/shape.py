"""Edges drawn again, moved or called otherwise, and pieces lengthened or turned over."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.alter.halves import HAIR, Half, Place, cut_piece, find_spot, grain_for, moved, ring_of
from cutroom.alter.marks import Mark, inside_of, marked, marks_of, mouth_ends, refuse_lost, set_along, whole_again
from cutroom.alter.sewn import Named, renamed, turned_seams
from cutroom.alter.spread import laid_together, refuse_crossed, run_length, spread_piece
from cutroom.errors import PieceError
from cutroom.geometry.affine import moved_spot, reflect_points
from cutroom.geometry.curve import smooth_curve
from cutroom.geometry.offset import crossings, join, offset_line, without_repeats
from cutroom.geometry.polyline import distance_at, length, lengths_along, point_at
from cutroom.model.alteration import Extend, Finish, Lengthen, Mirror, Slash, TrueUp
from cutroom.model.piece import Corner, Dart, Edge, NamedLine, Piece, Style
from cutroom.units import both_units

Line = NDArray[np.float64]


def lengthen_piece(piece: Piece, step: Lengthen) -> Piece:
    """A piece lengthened at a line, or shortened by as much cloth folded out beyond it.

    When it is shortened, the edges that the fold crosses are redrawn straight for as far as was folded out on either
    side, so that no step is left. A notch in the cloth folded out comes to lie at the fold.

    Raises:
        PieceError: The line leaves the piece, more is folded out than there is, or a dart, a cut-out or a drill hole
            lies in the cloth that is folded out, or opens where an edge is redrawn.
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
    _refuse_folded_out(piece, near.right, rest.left)
    right = _with_folded(near.right, piece, start.edge, far[0].at, start.at)
    left = _with_folded(rest.left, piece, end.edge, end.at, far[1].at)
    left = moved(left, first, 0.0, -across * out)
    new = laid_together(piece, _shorter(right, out, where=piece.name), _shorter(left, out, where=piece.name))
    return replace(new, lines=whole_again(right.inside.lines, left.inside.lines, np.vstack([first, last])))


def extend_piece(piece: Piece, step: Extend) -> Piece:
    """A piece with one edge moved out parallel to itself; the edges beside it run on straight to meet it.

    Notches keep their share of the edge that was moved, and their places on the others. The legs of darts that open on
    it run on straight to meet it; drawn lines end where the cloth ends, and what notches stood beyond are gone with it.

    Raises:
        PieceError: The edges beside it do not meet it there, or something would lie outside it.
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
    drawn = {name: without_repeats(points) for name, points in drawn.items()}
    for name, points in drawn.items():
        if len(points) < 2:
            what = f'nothing is left of the edge "{name}"'
            raise PieceError(what, "Move it less", place=f'piece "{piece.name}"')
    edges = tuple(replace(one, points=drawn.get(one.name, one.points)) for one in piece.edges)
    gained = length(drawn[after.name]) - length(after.points)
    grown = length(drawn[edge.name]) / length(edge.points)

    def set_anew(mark: Mark) -> Mark:
        if mark.edge == edge.name:
            if isinstance(mark, Dart):
                return _legs_run_on(mark, edge.points, drawn[edge.name], f'piece "{piece.name}", dart "{mark.name}"')
            return set_along(mark, lambda at: at * grown)
        return set_along(mark, lambda at: at + gained) if mark.edge == after.name else mark

    marks = _within(edges, map(set_anew, marks_of(piece)), f'piece "{piece.name}"')
    new = refuse_crossed(marked(replace(piece, edges=edges), marks, inside_of(piece)))
    new = replace(new, lines=tuple(part for line in new.lines for part in clipped(line, ring_of(new))))
    refuse_lost(piece, new)
    return replace(new, grain=grain_for(ring_of(new), piece.grain))


def _within(edges: tuple[Edge, ...], marks: Iterable[Mark], where: str) -> Iterator[Mark]:
    """The marks that still stand on their edges.

    Raises:
        PieceError: A dart or a pleat would open beyond the end of its edge.
    """
    sizes = {edge.name: length(edge.points) for edge in edges}
    for mark in marks:
        low, high = (mark.start, mark.end) if isinstance(mark, Dart) else (mark.at, mark.at)
        if -HAIR <= low <= high <= sizes[mark.edge] + HAIR:
            yield mark
        elif isinstance(mark, Dart):
            what = f'its {"pleat" if mark.pleat else "dart"} "{mark.name}" would open beyond the end of its edge'
            raise PieceError(what, "Move the edge less", place=f'{where}, edge "{mark.edge}"')


def _legs_run_on(dart: Dart, old: Line, new: Line, where: str) -> Dart:
    """A dart whose legs, or whose sides if it is a pleat, run on straight to where its edge lies now."""
    ends = mouth_ends(old, dart)
    point = np.array(dart.point)
    deep = (ends[0] + ends[1]) / 2 - point
    places = []
    for end in ends:
        way = deep if dart.pleat else end - point
        unit = way / np.hypot(*way)
        start = end - deep if dart.pleat else point
        hits = crossings(new, np.vstack([start, start + unit * 1e4]))
        if not hits:
            raise PieceError("its legs do not meet its edge any more", "Move the edge less", place=where)
        apart = [float(np.hypot(*(hit[2] - end))) for hit in hits]
        places.append(distance_at(new, hits[int(np.argmin(apart))][0]))
    return replace(dart, start=places[0], end=places[1])


def clipped(line: NamedLine, ring: Line) -> tuple[NamedLine, ...]:
    """A drawn line, as far as it lies on the cloth inside an outline `(n, 2)` (mm)."""
    shape = shapely.make_valid(shapely.Polygon(ring))
    drawn = shapely.LineString(line.points)
    if shape.buffer(HAIR).covers(drawn):
        return (line,)
    parts = shapely.get_parts(drawn.intersection(shape))
    return tuple(
        NamedLine(line.name, np.array(part.coords))
        for part in parts
        if part.geom_type == "LineString" and part.length > 0.1
    )


def offset_either(points: Line, distance: float) -> Line:
    """A line moved to its right, or by less than 0 to its left (mm)."""
    return offset_line(points, distance) if distance >= 0 else offset_line(points[::-1], -distance)[::-1]


def true_piece(piece: Piece, step: TrueUp) -> Piece:
    """A piece with a run of edges drawn again as one smooth curve; its ends and the turn points stay.

    Notches and the mouths of darts keep their share of the run between the points that stay.

    Raises:
        PieceError: The edges do not follow each other, nothing is left to draw, or something would lie outside.
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
    edges, marks = list(piece.edges), list(marks_of(piece))
    kept = [0.0, *stay, whole] if low > HAIR or high < whole - HAIR else stay
    kept = sorted({round(mark, 9) for mark in (0.0, *kept, whole)})
    spots = [point_at(path, mark)[0] for mark in kept]
    becomes = [_distance(drawn, spot) for spot in spots]
    for number, edge in enumerate(run):
        begins = joints[number]
        start, end = (float(np.interp(at, kept, becomes)) for at in joints[number : number + 2])
        place = next(n for n, one in enumerate(edges) if one.name == edge.name)
        edges[place] = replace(edge, points=_cut_out(drawn, start, end))

        def carried(at: float, begins: float = begins, start: float = start) -> float:
            return float(np.interp(at + begins, kept, becomes)) - start

        marks = [set_along(mark, carried) if mark.edge == edge.name else mark for mark in marks]
    new = refuse_crossed(marked(replace(piece, edges=tuple(edges)), marks, inside_of(piece)))
    refuse_lost(piece, new)
    return new


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
    return renamed(style, (new if one is piece else one for one in style.pieces), names)


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

    sizes = {edge.name: length(edge.points) for edge in piece.edges}
    return replace(
        piece,
        edges=tuple(
            replace(edge, points=over(edge.points)[::-1], corner=before.corner.turned)
            for edge, before in zip(piece.edges[::-1], (*piece.edges[-2::-1], piece.edges[-1]), strict=True)
        ),
        notches=tuple(replace(notch, at=max(sizes[notch.edge] - notch.at, 0.0)) for notch in piece.notches),
        drills=tuple(replace(hole, at=moved_spot(over, hole.at)) for hole in piece.drills),
        lines=tuple(replace(line, points=over(line.points)) for line in piece.lines),
        cutouts=tuple(replace(line, points=over(line.points)) for line in piece.cutouts),
        darts=tuple(
            replace(
                dart,
                start=sizes[dart.edge] - dart.end,
                end=sizes[dart.edge] - dart.start,
                point=moved_spot(over, dart.point),
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
    ats = [distance_at(edge.points, hit[0]) for hit in hits]
    return Place(place.edge, min(ats, key=lambda at: abs(at - place.at)), place.whole)


def _refuse_folded_out(piece: Piece, right: Half, left: Half) -> None:
    """What lies between two parts of a piece is folded out: nothing but lines and notches may lie there."""
    kept = [*right.inside.drills, *left.inside.drills, *right.inside.cutouts, *left.inside.cutouts]
    darts = {mark.name for half in (right, left) for mark in half.marks if isinstance(mark, Dart)}
    lost = [f'drill hole "{hole.name}"' for hole in piece.drills if all(hole is not one for one in kept)]
    lost += [f'cut-out "{line.name}"' for line in piece.cutouts if all(line is not one for one in kept)]
    lost += [f'dart "{dart.name}"' for dart in piece.darts if dart.name not in darts]
    if lost:
        raise PieceError(
            f"in the cloth folded out lies its {', '.join(lost)}",
            "Fold it out elsewhere, or move what lies there first",
            place=f'piece "{piece.name}"',
        )


def _with_folded(half: Half, piece: Piece, number: int, low: float, high: float) -> Half:
    """A part with the notches of the cloth folded out beside it, which come to lie at the fold, where it starts."""
    edge = piece.edges[number]
    folded = (
        replace(notch, at=0.0)
        for notch in piece.notches
        if notch.edge == edge.name and low - HAIR <= notch.at < high - HAIR
    )
    return replace(half, marks=(*half.marks, *folded))


def _shorter(half: Half, by: float, *, where: str) -> Half:
    """A part with both its end edges drawn back from the cut, so that a straight line trues them."""
    edges, marks = list(half.edges), list(half.marks)
    for number in {0, len(edges) - 1}:
        edge = edges[number]
        whole = length(edge.points)
        back = min(by, whole / 3)
        low, high = (back, whole) if number == 0 else (0.0, whole - back)
        for mark in marks:
            if isinstance(mark, Dart) and mark.edge == edge.name and not low <= mark.start < mark.end <= high:
                what = f'its dart "{mark.name}" opens within {both_units(back)} of the fold, where it is drawn again'
                raise PieceError(what, "Fold the cloth out elsewhere", place=f'piece "{where}", edge "{edge.name}"')
        edges[number] = replace(edge, points=_cut_out(edge.points, low, high))
        if number == 0:

            def drawn_back(at: float, back: float = back) -> float:
                return max(at - back, 0.0)

            marks = [set_along(mark, drawn_back) if mark.edge == edge.name else mark for mark in marks]
    return replace(half, edges=tuple(edges), marks=tuple(marks))


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
