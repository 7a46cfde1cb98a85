"""A piece cut in two along a line, and parts laid together again.

A half is an open run of edges, from where the line ends round to where it starts, with all marks that fell to it.
"""

from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.alter.marks import (
    Inside,
    Mark,
    marks_of,
    middle_of,
    moved_inside,
    moved_marks,
    refuse_run_through,
    set_along,
    shared_inside,
)
from cutroom.errors import PieceError
from cutroom.geometry.polyline import length, lengths_along, point_at
from cutroom.model.alteration import Spot
from cutroom.model.piece import Edge, Notch, Piece
from cutroom.units import both_units

HAIR = 1e-6
"""Places this near each other (mm) are one."""
SLIVER = 1.0
"""A part of a piece that is no larger (mm2) is none."""
AT_THE_CUT = 3.0
"""A notch this near (mm) to a cut is taken by the cut: the new corner is the mark."""

Line = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Place:
    """A spot found on a piece: number of the edge, and the distance along it (mm).

    Attributes:
        edge: Which edge.
        at: Distance from its start (mm).
        whole: Length of the edge (mm).
    """

    edge: int
    at: float
    whole: float


@dataclass(frozen=True, slots=True, eq=False)
class Half:
    """One part of a piece that was cut: an open run of edges, counter-clockwise, and what lies in it.

    Attributes:
        edges: From one end of the cut round to the other.
        marks: Notches and darts on those edges.
        inside: Drill holes, lines and cut-outs.
    """

    edges: tuple[Edge, ...]
    marks: tuple[Mark, ...]
    inside: Inside


@dataclass(frozen=True, slots=True, eq=False)
class Halves:
    """A piece cut along a line.

    Attributes:
        line: `(n, 2)` the cut, from its start to its end (mm).
        right: The part to the right of the line.
        left: The part to its left.
        start: Where the line starts.
        end: Where it ends.
    """

    line: Line
    right: Half
    left: Half
    start: Place
    end: Place


def ring_of(piece: Piece) -> Line:
    """The outline of a piece, `(n, 2)` without its first point repeated (mm)."""
    ring: Line = np.vstack([edge.points[:-1] for edge in piece.edges])
    return ring


def find_spot(piece: Piece, spot: Spot) -> Place:
    """Where a spot is on a piece.

    Raises:
        PieceError: There is no such edge, or it is not that long.
    """
    edge = piece.edge(spot.edge)
    whole = length(edge.points)
    at = spot.share * whole if spot.share is not None else (whole + spot.at if spot.at < 0 else spot.at)
    if not -HAIR <= at <= whole + HAIR:
        raise PieceError(
            f"{both_units(spot.at)} along it is beyond its ends: it is {both_units(whole)} long",
            "Name a place on it",
            place=f'piece "{piece.name}", edge "{spot.edge}"',
        )
    along = lengths_along(edge.points)
    near = int(np.argmin(np.abs(along - at)))
    if abs(along[near] - at) < 1e-4:
        at = float(along[near])
    number = next(n for n, one in enumerate(piece.edges) if one.name == spot.edge)
    return Place(number, at, whole)


def place_point(piece: Piece, place: Place) -> Line:
    """The point `(2,)` of a place (mm)."""
    points = piece.edges[place.edge].points
    spot: Line = points[0]
    if place.at > HAIR:
        spot = points[-1] if place.at >= place.whole - HAIR else point_at(points, place.at)[0]
    return spot


def cut_piece(piece: Piece, start: Place, end: Place, through: Line | None = None) -> Halves:
    """Cut a piece along a line from one place on its outline to another; all it carries goes with the part it lies in.

    Args:
        piece: The piece.
        start: Where the line starts.
        end: Where it ends, on another edge.
        through: `(n, 2)` points of the line between its ends (mm), or None for a straight cut.

    Returns:
        Both parts.

    Raises:
        PieceError: The line starts and ends on one edge, leaves the piece, or runs through a dart, a cut-out or a hole.
    """
    first, last = place_point(piece, start), place_point(piece, end)
    line = np.vstack([first, *([] if through is None else [through]), last])
    where = f'piece "{piece.name}"'
    if start.edge == end.edge or float(np.hypot(*(last - first))) < 1.0:
        raise PieceError(
            f'the line starts and ends on the edge "{piece.edges[start.edge].name}"',
            "Run it from one edge to another",
            place=where,
        )
    shape = shapely.Polygon(ring_of(piece))
    if not shape.is_valid:
        raise PieceError("its seam line crosses or touches itself", "Draw it so that it does not first", place=where)
    outside = shapely.LineString(line).difference(shape.buffer(0.01)).length
    if outside > 0.05:
        raise PieceError(f"the line leaves the piece for {both_units(outside)}", "Run it inside the piece", place=where)
    refuse_run_through(piece, line)
    runs = _run(piece, start, end), _run(piece, end, start)
    for edges, _ in runs:
        if not edges:
            raise PieceError("the line runs along an edge", "Run it across the piece", place=where)
    shapes = _closed(runs[0][0], line[::-1], where), _closed(runs[1][0], line, where)
    inside = shared_inside(piece, line, shapes)
    right, left = (Half(*run, part) for run, part in zip(runs, inside, strict=True))
    return Halves(line, right, left, start, end)


def moved(half: Half, about: Line, angle: float, shift: Line) -> Half:
    """A part turned about a point and then shifted.

    Args:
        half: The part.
        about: `(2,)` pivot (mm).
        angle: Radians, counter-clockwise.
        shift: `(2,)`, mm.
    """
    if angle == 0 and not shift.any():
        return half

    def move(points: Line) -> Line:
        return turn(points, about, angle) + shift

    return Half(
        tuple(replace(edge, points=move(edge.points)) for edge in half.edges),
        moved_marks(half.marks, move),
        moved_inside(half.inside, move),
    )


def turn(points: Line, about: Line, angle: float) -> Line:
    """Points `(n, 2)` or `(2,)` turned about a point by radians, counter-clockwise."""
    cos, sin = np.cos(angle), np.sin(angle)
    turned: Line = (points - about) @ np.array([[cos, sin], [-sin, cos]]) + about
    return turned


def fused(first: Edge, second: Edge, marks: tuple[Mark, ...]) -> tuple[Edge, tuple[Mark, ...]]:
    """Two parts of one edge laid end to end, any gap between them bridged straight.

    Args:
        first: Its first part.
        second: Its second part.
        marks: Those of the second part, measured from its start.

    Returns:
        The whole edge, and the marks measured from its start. A notch within a hair of the joint stands in the middle
        of the bridge.

    Raises:
        PieceError: The parts are not finished alike.
    """
    if (first.kind, first.allowance, first.turns) != (second.kind, second.allowance, second.turns):
        raise PieceError(
            f"one part of it is {_finish(first)}, the other {_finish(second)}",
            "Give both the same allowance and turns, or give one of them another name",
            place=f'edge "{first.name}"',
        )
    gap = float(np.hypot(*(second.points[0] - first.points[-1])))
    points = np.vstack([first.points, second.points[1:] if gap < HAIR else second.points])
    before = length(first.points) + (gap if gap >= HAIR else 0.0)
    return replace(first, points=points, corner=second.corner), tuple(
        replace(mark, at=before - gap / 2)
        if isinstance(mark, Notch) and mark.at < HAIR
        else set_along(mark, lambda at: at + before)
        for mark in marks
    )


def _finish(edge: Edge) -> str:
    turned = f" turned at {', '.join(both_units(at) for at in edge.turns)}" if edge.turns else ""
    return f"a {edge.kind} of {both_units(edge.allowance)}{turned}"


def grain_inside(ring: Line, way: Line) -> Line:
    """A grainline `(2, 2)` in a direction, well inside an outline (mm)."""
    along = way / np.hypot(*way)
    across = np.array([-along[1], along[0]])
    reach = ring @ along
    low, high = float((ring @ across).min()), float((ring @ across).max())
    shape = shapely.make_valid(shapely.Polygon(ring))
    best = np.zeros((2, 2))
    size = 0.0
    for share in (0.5, 0.45, 0.55, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8):
        at = (low + share * (high - low)) * across
        line = shapely.LineString([at + (reach.min() - 1) * along, at + (reach.max() + 1) * along])
        for part in shapely.get_parts(line.intersection(shape)):
            if part.geom_type == "LineString" and part.length > 1.1 * size:
                size, best = part.length, np.array(part.coords)[[0, -1]]
    room = 0.15 * (best[1] - best[0])
    return np.vstack([best[0] + room, best[1] - room])


def grain_for(ring: Line, grain: Line) -> Line:
    """The grainline of an outline that has changed: the same where it lies inside, else another of its direction."""
    inside = shapely.LineString(grain).intersection(shapely.Polygon(ring).buffer(-5.0))
    if inside.length > 0.98 * shapely.LineString(grain).length:
        return grain
    return grain_inside(ring, grain[1] - grain[0])


def _run(piece: Piece, start: Place, end: Place) -> tuple[tuple[Edge, ...], tuple[Mark, ...]]:
    """Edges and the marks on them from one place round to another, counter-clockwise."""
    count = len(piece.edges)
    edges: list[Edge] = []
    marks: list[Mark] = []
    for step in range(count + 1):
        number = (start.edge + step) % count
        edge = piece.edges[number]
        whole = length(edge.points)
        low = start.at if step == 0 else 0.0
        last = number == end.edge and step > 0
        high = end.at if last else whole
        if high - low > HAIR:
            edges.append(replace(edge, points=_between(edge.points, low, high)))
            marks += (
                _set_within(mark, low, high)
                for mark in marks_of(piece)
                if mark.edge == edge.name and _falls(middle_of(mark), low, high, whole)
            )
        if last:
            break
    return tuple(edges), tuple(marks)


def _set_within(mark: Mark, low: float, high: float) -> Mark:
    """A mark measured from the start of the part of its edge from low to high."""
    return set_along(mark, lambda at: min(max(at - low, 0.0), high - low))


def _falls(at: float, low: float, high: float, whole: float) -> bool:
    """Whether a mark falls to the part of an edge from low to high; one on the cut falls to the part after it."""
    return low - HAIR <= at < high - HAIR or (high >= whole - HAIR and at >= low - HAIR)


def _between(points: Line, low: float, high: float) -> Line:
    along = lengths_along(points)
    inside = points[(along > low + HAIR) & (along < high - HAIR)]
    first = points[0] if low <= HAIR else point_at(points, low)[0]
    last = points[-1] if high >= along[-1] - HAIR else point_at(points, high)[0]
    return np.vstack([first, inside, last])


def _closed(edges: tuple[Edge, ...], line: Line, where: str) -> shapely.Polygon:
    """The shape of a part: its edges, and back along the cut.

    Raises:
        PieceError: It is no more than a line.
    """
    ring = np.vstack([*(edge.points for edge in edges), line[1:-1]])
    shape = shapely.Polygon(ring) if len(ring) > 2 else shapely.Polygon()
    if shape.area < SLIVER:
        raise PieceError("the line runs along an edge", "Run it across the piece", place=where)
    return shape
