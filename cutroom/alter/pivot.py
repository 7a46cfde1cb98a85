"""Pivot: a dart closed by turning part of the piece about the dart's point, and opened somewhere else."""

from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.alter.halves import HAIR, Half, Halves, Place, cut_piece, find_spot, fused, grain_for, moved, ring_of
from cutroom.alter.marks import (
    Inside,
    Mark,
    dart_shape,
    drafted_darts,
    marked,
    mouth_ends,
    set_along,
    whole_again,
)
from cutroom.alter.sewn import Named, renamed
from cutroom.alter.spread import laid_together, refuse_crossed
from cutroom.errors import PieceError
from cutroom.geometry.affine import reflect_points
from cutroom.geometry.offset import crossings
from cutroom.geometry.polyline import length
from cutroom.model.alteration import Leave, Pivot
from cutroom.model.piece import Corner, Dart, DrillHole, Edge, EdgeKind, NamedLine, Piece, Pressed, Style
from cutroom.units import both_units

SET_BACK = 13.0
"""A dart's drill hole is this far (mm) short of its point (common practice, no source)."""
LEGS_WITHIN = 0.5
"""Legs of a dart that differ by more (mm) do not close."""

Line = NDArray[np.float64]


def pivot_style(style: Style, step: Pivot) -> Style:
    """A style with a dart of one piece moved: the angle of the dart stays the same.

    The part with the fold, else with the grainline, stays; the other turns about the dart's point until the legs
    meet, and all that lies on it turns with it. A dart that preparing is still to open out comes to lie on the other
    edge as it is, and both edges keep their names. A drafted dart, two legs and a cap, is drawn anew: the edge that is
    opened becomes two, `… 1` and `… 2` counter-clockwise, with the dart cap between them. Left as fullness, the edge
    keeps its name and gains the opening. Of a dart that is moved in part, the rest stays open where it was.

    Raises:
        PieceError: There is no such dart open at an edge, its legs differ, the new place is on the dart itself, or the
            way from its point to the new place runs through another dart, a cut-out or a drill hole.
    """
    piece = style.piece(step.piece)
    _refuse_share(piece, step)
    dart = next((one for one in piece.darts if one.name == step.dart), None)
    if dart is None:
        new, names = _pivot_drafted(piece, step)
    else:
        new, names = _pivot_dart(piece, step, dart), {}
    return renamed(style, (new if one is piece else one for one in style.pieces), names)


def _pivot_dart(piece: Piece, step: Pivot, dart: Dart) -> Piece:
    """A piece with a dart moved that is still to be opened out."""
    where = f'piece "{piece.name}"'
    if dart.pleat:
        raise PieceError(f'"{dart.name}" is a pleat, which has no point to pivot about', "Name a dart", place=where)
    mouth = next(n for n, edge in enumerate(piece.edges) if edge.name == dart.edge)
    tip, to, whole = np.array(dart.point), find_spot(piece, step.to), length(piece.edges[mouth].points)
    opened = piece.edges[to.edge]
    if to.edge == mouth:
        raise PieceError("the dart is there already", "Name another edge", place=where)
    if not HAIR < to.at < to.whole - HAIR:
        raise PieceError(f'"{opened.name}" ends there', "Open it within an edge", place=where)
    if step.leave is Leave.DART and any(n.edge == opened.name and abs(n.at - to.at) < HAIR for n in piece.notches):
        raise PieceError(
            "a notch stands where the dart is to be opened",
            "Open it beside the notch",
            place=f'{where}, edge "{opened.name}"',
        )
    first, last = mouth_ends(piece.edges[mouth].points, dart)
    _refuse_unequal(piece, dart.name, first - tip, last - tip)
    _refuse_taken_in(piece, dart)
    if step.share < 1 and not HAIR < dart.start < dart.end < whole - HAIR:
        what = f'its mouth reaches an end of the edge "{dart.edge}", so that none of it can stay there'
        raise PieceError(what, "Move the whole dart", place=f'{where}, dart "{dart.name}"')
    bare = replace(piece, darts=tuple(one for one in piece.darts if one is not dart))
    halves = replace(
        cut_piece(bare, to, Place(mouth, dart.start, whole), tip[None]),
        left=cut_piece(bare, to, Place(mouth, dart.end, whole), tip[None]).left,
    )
    right, left, stays = _turned(piece, halves, tip, step.share * _angle(last - tip, first - tip))
    leg, other = right.edges[-1].points[-1], left.edges[0].points[0]
    closed = NamedLine(f"{dart.name} closed", np.vstack([leg, tip]))
    new = laid_together(bare, right, left, (closed,) if step.share == 1 else ())
    new = replace(new, lines=whole_again(right.inside.lines, left.inside.lines, closed.points))
    darts = list(new.darts)
    if step.share < 1:
        darts.append(replace(dart, end=dart.start + float(np.hypot(*(other - leg)))))
    if step.leave is Leave.DART:
        start = length(left.edges[-1].points)
        gap = float(np.hypot(*(right.edges[0].points[0] - left.edges[-1].points[-1])))
        pressed = Pressed.START if stays else Pressed.END
        darts.append(replace(dart, name=_called(step), edge=opened.name, start=start, end=start + gap, pressed=pressed))
    return replace(new, darts=tuple(darts))


def _pivot_drafted(piece: Piece, step: Pivot) -> tuple[Piece, dict[Named, tuple[Named, ...]]]:
    """A piece with a drafted dart moved, and what its edges have become."""
    mouth, tip = _find_dart(piece, step.dart)
    to = find_spot(piece, step.to)
    if to.edge == mouth:
        raise PieceError("the dart is there already", "Name another edge", place=f'piece "{piece.name}"')
    cap = piece.edges[mouth]
    bare = replace(
        piece,
        drills=tuple(hole for hole in piece.drills if hole.name != step.dart),
        lines=tuple(line for line in piece.lines if line.name != f"{step.dart} leg"),
    )
    halves = cut_piece(bare, to, Place(mouth, length(cap.points) / 2, length(cap.points)), tip[None])
    angle = _angle(cap.points[-1] - tip, cap.points[0] - tip)  # turns the second leg onto the first
    closed, opened, stays = _turned(piece, halves, tip, step.share * angle)
    closed, opened = (replace(half, edges=_less(half, cap.name)) for half in (closed, opened))
    if not closed.edges or not opened.edges:
        raise PieceError(
            "the new place is a leg's end", "Name a place away from the dart", place=f'piece "{piece.name}"'
        )
    last = replace(closed.edges[-1], corner=Corner.AUTO)  # what it met is gone, or drawn anew
    edges = [*opened.edges, *closed.edges[:-1], last]  # from the closed dart to the opening, and on
    if step.share == 1:
        edges[-1], edges[0] = _met(edges[-1], edges[0])
    marks = [*opened.marks, *closed.marks]
    counts = len(opened.edges), len(opened.marks)
    edges, marks, names, more = _opening(piece, step, edges, marks, counts, tip, first=stays)
    if step.share < 1:
        rest, drawn = _drafted(step.dart, replace(last, name=cap.name), last, edges[0], tip, first=not stays)
        edges.append(rest)
    else:
        drawn = Inside(construction=(NamedLine(f"{step.dart} closed", np.vstack([edges[0].points[0], tip])),))
    inside = closed.inside.beside(opened.inside).beside(more).beside(drawn)
    kept = (mark for mark in marks if mark.edge != cap.name or step.leave is Leave.DART)
    new = refuse_crossed(marked(replace(piece, edges=tuple(edges)), kept, inside))
    return replace(new, grain=grain_for(ring_of(new), piece.grain)), names


def _turned(piece: Piece, halves: Halves, tip: Line, angle: float) -> tuple[Half, Half, bool]:
    """Both parts, one of them turned about the dart's point until its legs meet; and whether the left one stayed.

    Args:
        piece: As it was.
        halves: To the right of the way from the new place by the point to the mouth, and to its left.
        tip: `(2,)` the point (mm).
        angle: What turns the second leg onto the first (radians).
    """
    stays, still = _grain_left(piece, halves), np.zeros(2)
    right = moved(halves.right, tip, -angle if stays else 0.0, still)
    return right, moved(halves.left, tip, 0.0 if stays else angle, still), stays


def _met(before: Edge, after: Edge) -> tuple[Edge, Edge]:
    """Two edges that end where one leg is laid on the other, led to one point between both legs' ends."""
    point = (before.points[-1] + after.points[0]) / 2
    return (
        replace(before, points=np.vstack([before.points[:-1], point])),
        replace(after, points=np.vstack([point, after.points[1:]])),
    )


def _called(step: Pivot) -> str:
    """What the dart is called where it is opened."""
    return step.name or (step.dart if step.share == 1 else f"{step.dart} 2")


def _refuse_share(piece: Piece, step: Pivot) -> None:
    where = f'piece "{piece.name}"'
    if not 0 < step.share <= 1:
        what = f"{step.share:.0%} of a dart cannot be moved"
        raise PieceError(what, "Move more than nothing, and no more than all of it", place=where)
    taken = {dart.name for dart in piece.darts} | {name for name, _, _ in drafted_darts(piece)}
    if step.leave is Leave.DART and _called(step) in taken - ({step.dart} if step.share == 1 else set()):
        raise PieceError(f'it has a dart "{_called(step)}" already', "Give it another name", place=where)


def _refuse_taken_in(piece: Piece, dart: Dart) -> None:
    """Nothing that is cut or drilled lies in the cloth that a dart takes in."""
    shape = dart_shape(piece, dart)
    things = [f'drill hole "{hole.name}"' for hole in piece.drills if shape.covers(shapely.Point(hole.at))]
    things += [f'cut-out "{one.name}"' for one in piece.cutouts if shape.intersects(shapely.Polygon(one.points))]
    if things:
        raise PieceError(
            f"in the cloth it takes in lies the {', '.join(things)}",
            "Move what lies there first",
            place=f'piece "{piece.name}", dart "{dart.name}"',
        )


def _refuse_unequal(piece: Piece, name: str, first: Line, last: Line) -> None:
    sizes = [float(np.hypot(*leg)) for leg in (first, last)]
    if abs(sizes[0] - sizes[1]) > LEGS_WITHIN:
        raise PieceError(
            f'the legs of "{name}" are {both_units(sizes[0])} and {both_units(sizes[1])} long',
            "Make them equal first",
            place=f'piece "{piece.name}"',
        )


def _find_dart(piece: Piece, name: str) -> tuple[int, Line]:
    """Number of the edge across a drafted dart's mouth, and its point `(2,)`."""
    drafted = {one: (number, tip) for one, number, tip in drafted_darts(piece)}
    if name in drafted:
        number, tip = drafted[name]
        mouth = piece.edges[number].points
        _refuse_unequal(piece, name, mouth[0] - tip, mouth[-1] - tip)
        return number, tip
    darts = sorted({*drafted, *(dart.name for dart in piece.darts if not dart.pleat)})
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


def _opening(
    piece: Piece,
    step: Pivot,
    edges: list[Edge],
    marks: list[Mark],
    counts: tuple[int, int],
    tip: Line,
    *,
    first: bool,
) -> tuple[list[Edge], list[Mark], dict[Named, tuple[Named, ...]], Inside]:
    """The edges with the opening made a dart or bridged.

    Args:
        piece: As it was.
        step: What is asked.
        edges: All edges.
        marks: All marks on them.
        counts: How many of the edges, and of the marks, come before the opening.
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
        late = [mark for mark in marks[count:] if mark.edge == after.name]
        whole, carried = fused(before, after, tuple(late))
        rest = [mark for mark in marks[count:] if mark.edge != after.name]
        marks = [*marks[:count], *rest, *carried]
        return [*edges[: at - 1], whole, *edges[at + 1 :]], marks, {}, Inside()
    names: dict[Named, tuple[Named, ...]] = {}
    if cut:
        called = f"{before.name} 1", f"{before.name} 2"
        marks = [
            set_along(mark, lambda at: at, called[n >= count]) if mark.edge == before.name else mark
            for n, mark in enumerate(marks)
        ]
        before, after = replace(before, name=called[0]), replace(after, name=called[1])
        names[piece.name, edges[at].name] = ((piece.name, called[0]), (piece.name, called[1]))
    number, _ = _find_dart(piece, step.dart)
    name = piece.edges[number].name if step.share == 1 else f"{piece.edges[number].name} 2"
    cap, drawn = _drafted(_called(step), replace(after, name=name), before, after, tip, first=first)
    before = replace(before, corner=Corner.AUTO)
    return [*edges[: at - 1], before, cap, after, *edges[at + 1 :]], marks, names, drawn


def _drafted(name: str, like: Edge, before: Edge, after: Edge, tip: Line, *, first: bool) -> tuple[Edge, Inside]:
    """A dart drawn between two edges: the cap over its mouth, its legs, and its drill hole.

    Args:
        name: What the dart is called.
        like: What the cap is called and how it is finished.
        before: The edge that ends at its first leg.
        after: The edge that starts at its second leg.
        tip: `(2,)` its point (mm).
        first: It is pressed towards the edge before it.
    """
    one, two = before.points[-1], after.points[0]
    beyond = before.points[-2] - one if first else after.points[1] - two
    apex = _apex(one if first else two, beyond, tip, (one + two) / 2)
    middle = (one + two) / 2 - tip
    drill = tip + middle / np.hypot(*middle) * SET_BACK
    legs = tuple(NamedLine(f"{name} leg", np.vstack([end, tip])) for end in (one, two))
    hole = DrillHole(name, (float(drill[0]), float(drill[1])))
    return replace(like, points=np.vstack([one, apex, two]), corner=Corner.AUTO), Inside((hole,), legs)


def _apex(end: Line, beyond: Line, tip: Line, middle: Line) -> Line:
    """Apex of a dart cap: where the fold meets the mirror image of the seam beyond the leg it is pressed towards."""
    image = reflect_points((end + beyond)[None], tip, end - tip)[0]
    fold = (middle - tip) / np.hypot(*(middle - tip))
    way = (image - end) / max(float(np.hypot(*(image - end))), HAIR)
    size = float(np.hypot(*(end - tip)))
    found = crossings(np.vstack([tip + fold * size * 0.5, tip + fold * size * 2]), np.vstack([end, end + way * size]))
    return found[0][2] if found else middle
