"""What a piece carries besides its outline: marks on its edges, and what lies inside; all of it goes with the cloth.

Marks along an edge are notches and the mouths of darts and pleats. Inside lie drill holes, lines, cut-outs, and the
darts that a draft has drawn itself, as two legs and an edge over the mouth.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry
from shapely.ops import split

from cutroom.errors import PieceError
from cutroom.geometry.affine import Move, moved_spot
from cutroom.geometry.polyline import length, part_of, point_at
from cutroom.model.piece import Dart, DrillHole, NamedLine, Notch, Piece

Line = NDArray[np.float64]
Mark = Notch | Dart

ONE_PLACE = 0.01
"""Ends of lines this near each other (mm) are one: a line that was cut is whole again."""
_TOUCHES = 5e-4
"""A line that runs no farther (mm) into a dart runs along its leg, or to its point, and leaves it whole."""


@dataclass(frozen=True, slots=True, eq=False)
class Inside:
    """What lies inside a piece or a part of one.

    Attributes:
        drills: Drill holes.
        lines: Lines drawn inside.
        cutouts: Closed lines that are cut.
        construction: Construction lines.
    """

    drills: tuple[DrillHole, ...] = ()
    lines: tuple[NamedLine, ...] = ()
    cutouts: tuple[NamedLine, ...] = ()
    construction: tuple[NamedLine, ...] = ()

    def beside(self, other: "Inside") -> "Inside":
        """What lies in both parts."""
        return Inside(
            (*self.drills, *other.drills),
            (*self.lines, *other.lines),
            (*self.cutouts, *other.cutouts),
            (*self.construction, *other.construction),
        )


def inside_of(piece: Piece) -> Inside:
    """What lies inside a piece; the points of its darts are kept with their mouths."""
    return Inside(piece.drills, piece.lines, piece.cutouts, piece.construction)


def marks_of(piece: Piece) -> tuple[Mark, ...]:
    """What is measured along the edges of a piece."""
    return (*piece.notches, *piece.darts)


def marked(piece: Piece, marks: Iterable[Mark], inside: Inside) -> Piece:
    """A piece with other marks, and other things inside."""
    marks = tuple(marks)
    return replace(
        piece,
        notches=tuple(mark for mark in marks if isinstance(mark, Notch)),
        darts=tuple(mark for mark in marks if isinstance(mark, Dart)),
        drills=inside.drills,
        lines=inside.lines,
        cutouts=inside.cutouts,
        construction=inside.construction,
    )


def middle_of(mark: Mark) -> float:
    """Where a mark stands along its edge: a dart, where the middle of its mouth is (mm)."""
    return (mark.start + mark.end) / 2 if isinstance(mark, Dart) else mark.at


def set_along(mark: Mark, where: Callable[[float], float], edge: str = "") -> Mark:
    """A mark measured anew along its edge, or along an edge of another name.

    Args:
        mark: The mark.
        where: The new distance for an old one (mm).
        edge: The name of its edge now; empty for as it was.
    """
    edge = edge or mark.edge
    if isinstance(mark, Dart):
        return replace(mark, edge=edge, start=where(mark.start), end=where(mark.end))
    return replace(mark, edge=edge, at=where(mark.at))


def moved_marks(marks: Iterable[Mark], move: Move) -> tuple[Mark, ...]:
    """Marks of edges that have moved: the points of the darts have moved with them."""
    return tuple(
        replace(mark, point=moved_spot(move, mark.point)) if isinstance(mark, Dart) else mark for mark in marks
    )


def moved_inside(inside: Inside, move: Move) -> Inside:
    """What lies inside, moved."""

    def lines(given: tuple[NamedLine, ...]) -> tuple[NamedLine, ...]:
        return tuple(replace(line, points=move(line.points)) for line in given)

    return Inside(
        tuple(replace(hole, at=moved_spot(move, hole.at)) for hole in inside.drills),
        lines(inside.lines),
        lines(inside.cutouts),
        lines(inside.construction),
    )


def dart_shape(piece: Piece, dart: Dart) -> shapely.Polygon:
    """The cloth that a dart or a pleat takes in, between its legs (mm)."""
    mouth = part_of(piece.edge(dart.edge).points, dart.start, dart.end)
    point = np.array([dart.point])
    if dart.pleat:
        deep = point - (mouth[0] + mouth[-1]) / 2
        return shapely.Polygon(np.vstack([mouth, mouth[-1] + deep, mouth[0] + deep]))
    return shapely.Polygon(np.vstack([mouth, point]))


def drafted_darts(piece: Piece) -> Iterator[tuple[str, int, Line]]:
    """Darts that a draft has drawn itself: name, number of the edge over the mouth, and the point `(2,)` (mm)."""
    legs = [line for line in piece.lines if line.name.endswith(" leg")]
    for name in dict.fromkeys(line.name.removesuffix(" leg") for line in legs):
        mine = [line.points for line in legs if line.name == f"{name} leg"]
        for number, edge in enumerate(piece.edges):
            found = [
                next((leg for leg in mine if np.hypot(*(leg[0] - end)) < 0.1), None)
                for end in (edge.points[0], edge.points[-1])
            ]
            if len(edge.points) <= 4 and found[0] is not None and found[1] is not None:
                yield name, number, found[0][-1]


def _drawn_darts(piece: Piece) -> Iterator[tuple[str, shapely.Polygon]]:
    """The cloth of darts that a draft has drawn itself, those pointed at both ends too."""
    for name, number, tip in drafted_darts(piece):
        yield name, shapely.Polygon(np.vstack([piece.edges[number].points, tip]))
    for one, two in combinations([line for line in piece.lines if line.name.endswith(" leg")], 2):
        ends = np.abs(one.points[[0, -1]] - two.points[[0, -1]]).max()
        if one.name == two.name and ends < ONE_PLACE and len(one.points) > 2:
            yield one.name.removesuffix(" leg"), shapely.Polygon(np.vstack([one.points, two.points[-2:0:-1]]))


def refuse_run_through(piece: Piece, line: Line) -> None:
    """Nothing is cut that cannot be: a dart, a pleat, a cut-out.

    Raises:
        PieceError: The line runs through one, with where.
    """
    blade = shapely.LineString(line)
    where = f'piece "{piece.name}"'
    mouths = [(dart.name, dart_shape(piece, dart), "pleat" if dart.pleat else "dart") for dart in piece.darts]
    mouths += [(name, shape, "dart") for name, shape in _drawn_darts(piece)]
    for name, shape, kind in mouths:
        met = blade.intersection(shape.buffer(-_TOUCHES))
        if met.length > 0:
            raise PieceError(
                f'the line runs through its {kind} "{name}" {_about(met)}',
                "Move the line beside it, or close the dart first by pivoting it elsewhere"
                if kind == "dart"
                else "Move the line beside it, or take the pleat out first",
                place=where,
            )
    for cutout in piece.cutouts:
        met = blade.intersection(shapely.Polygon(cutout.points).buffer(ONE_PLACE))
        if met.length > 0:
            what = f'the line runs through its cut-out "{cutout.name}" {_about(met)}'
            raise PieceError(what, "Move the line or the cut-out", place=where)


def refuse_holes_on(piece: Piece, line: Line) -> None:
    """No drill hole lies on a line that is to be an edge.

    Raises:
        PieceError: One does, with where.
    """
    blade, where = shapely.LineString(line), f'piece "{piece.name}"'
    for hole in piece.drills:
        if blade.distance(shapely.Point(hole.at)) < hole.diameter / 2:
            what = f'the line runs through its drill hole "{hole.name}" {_about(shapely.Point(hole.at))}'
            raise PieceError(what, "Move the line or the hole", place=where)


def refuse_lost(before: Piece, after: Piece) -> None:
    """An outline that was moved in leaves nothing behind that is to be cut, drilled or sewn.

    Raises:
        PieceError: What lay inside lies outside now.
    """
    old, new = (
        shapely.Polygon(np.vstack([edge.points[:-1] for edge in piece.edges])).buffer(ONE_PLACE)
        for piece in (before, after)
    )
    things: list[tuple[str, BaseGeometry]] = [
        (f'drill hole "{hole.name}"', shapely.Point(hole.at)) for hole in after.drills
    ]
    things += [(f'cut-out "{line.name}"', shapely.Polygon(line.points)) for line in after.cutouts]
    things += [(f'dart "{dart.name}"', shapely.Point(dart.point)) for dart in after.darts]
    for name, thing in things:
        if old.contains(thing) and not new.contains(thing):
            raise PieceError(
                f"its {name} would lie outside it {_about(thing)}",
                "Ask for less, or move it first",
                place=f'piece "{after.name}"',
            )


def shared_inside(piece: Piece, line: Line, shapes: tuple[shapely.Polygon, shapely.Polygon]) -> tuple[Inside, Inside]:
    """What lies inside a piece, each thing with the part it lies in; a line that crosses the cut is cut too.

    Args:
        piece: The piece.
        line: `(n, 2)` the cut (mm).
        shapes: Both parts.
    """
    reach = 1e4
    ways = line[0] - line[1], line[-1] - line[-2]
    ends = [end + way / np.hypot(*way) * reach for end, way in zip((line[0], line[-1]), ways, strict=True)]
    blade = shapely.LineString(np.vstack([ends[0], line, ends[1]]))

    def side(point: shapely.Point) -> int:
        return int(shapes[1].distance(point) < shapes[0].distance(point))

    def share(lines: tuple[NamedLine, ...]) -> tuple[tuple[NamedLine, ...], tuple[NamedLine, ...]]:
        both: tuple[list[NamedLine], list[NamedLine]] = ([], [])
        for one in lines:
            for part in _cut_line(shapely.LineString(one.points), blade):
                middle = shapely.line_interpolate_point(part, 0.5, normalized=True)
                both[side(middle)].append(NamedLine(one.name, np.array(part.coords)))
        return tuple(both[0]), tuple(both[1])

    drills = [tuple(hole for hole in piece.drills if side(shapely.Point(hole.at)) == n) for n in (0, 1)]
    cutouts = [
        tuple(one for one in piece.cutouts if side(shapely.Polygon(one.points).representative_point()) == n)
        for n in (0, 1)
    ]
    lines, kept = share(piece.lines), share(piece.construction)
    return Inside(drills[0], lines[0], cutouts[0], kept[0]), Inside(drills[1], lines[1], cutouts[1], kept[1])


def whole_again(lines: tuple[NamedLine, ...], others: tuple[NamedLine, ...], seam: Line) -> tuple[NamedLine, ...]:
    """Lines of two parts that are laid together; those of one name that meet on the seam between them are one.

    Args:
        lines: Those of the first part.
        others: Those of the second.
        seam: `(n, 2)` what was the seam (mm).
    """
    found, rest = list(lines), []
    between = shapely.LineString(seam)
    for other in others:
        for number, line in enumerate(found):
            joined = _end_to_end(line, other, between)
            if joined is not None:
                found[number] = joined
                break
        else:
            rest.append(other)
    return (*found, *rest)


def _end_to_end(one: NamedLine, two: NamedLine, between: shapely.LineString) -> NamedLine | None:
    if one.name != two.name:
        return None
    for first in (one.points, one.points[::-1]):
        for second in (two.points, two.points[::-1]):
            meets = np.hypot(*(first[-1] - second[0])) < ONE_PLACE
            if meets and between.distance(shapely.Point(first[-1])) < ONE_PLACE:
                points = np.vstack([first[:-1], second[1:]])
                drawn = shapely.LineString(points)
                if drawn.distance(shapely.Point(first[-1])) > 1e-6:
                    points = np.vstack([first, second[1:]])
                return NamedLine(one.name, points if first is one.points else points[::-1])
    return None


def _cut_line(line: shapely.LineString, blade: shapely.LineString) -> list[shapely.LineString]:
    if not line.crosses(blade):
        return [line]
    try:
        parts = [
            part for part in split(line, blade).geoms if isinstance(part, shapely.LineString) and part.length > 0.01
        ]
    except ValueError:  # it runs along the cut for a while
        return [line]
    return parts or [line]


def _about(thing: BaseGeometry) -> str:
    middle = thing.centroid
    return f"at x {middle.x:.1f}, y {middle.y:.1f} mm"


def mouth_ends(line: Line, dart: Dart) -> tuple[Line, Line]:
    """Both ends `(2,)` of a mouth on the line of its edge (mm)."""
    whole = length(line)
    first, last = (point_at(line, min(max(at, 0.0), whole))[0] for at in (dart.start, dart.end))
    return first, last
