"""Checks on the pieces of a style before any cloth is spent: corners that true up, darts, grain, size."""

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.geometry.affine import pose_points
from cutroom.geometry.lettering import text_box
from cutroom.geometry.offset import turning
from cutroom.geometry.polyline import length, point_at
from cutroom.model.finding import Finding, Severity
from cutroom.model.piece import Edge, EdgeKind, Piece, SewnSeam, Style
from cutroom.model.prepared import PreparedPiece
from cutroom.prepare.allowance import seam_line
from cutroom.prepare.label import CLEAR, SMALL, longest_way
from cutroom.prepare.room import Room
from cutroom.prepare.walk import Walked
from cutroom.units import both_units

TRUE_WITHIN = 3.0
"""Two corners that are joined make a straight edge to within this (degrees); hems, `HEM_WITHIN`."""
HEM_WITHIN = 5.0
LEGS_WITHIN = 1.0
"""Dart legs may differ by this (mm) without a word."""
HEM_FULL = 0.03
"""A curved hem with more fullness than this share of its length will not lie flat (common practice, no source)."""
FRONT_SHARE = (0.35, 0.60)
"""Share of a cap's ease that lies in front of the shoulder (common practice, no source: 0.45)."""
_EASE_WORTH = 5.0
_TRUED = ("hem", "waist", "neck", "armhole", "cap")

Line = NDArray[np.float64]


def check_pieces(style: Style, walked: Sequence[Walked] = ()) -> tuple[Finding, ...]:
    """What is wrong with the pieces of a style, on the seam line.

    Args:
        style: The style, with its allowances.
        walked: Its seams as `walk` found them, for the split of a cap's ease.

    Returns:
        STOP for what spoils cloth, WARN for what a fitting may well show, NOTE for what is good to know.
    """
    found: list[Finding] = []
    for piece in style.pieces:
        found += [*_crossed(piece), *_grain(piece), *_darts(piece), *_hems(piece), *_small(piece)]
    joints = [joint for seam in style.seams for joint in _joints(style, seam)]
    found += _untrue(joints)
    for one in walked:
        found += _ease_split(one)
    return tuple(found)


def check_labels(pieces: Sequence[PreparedPiece]) -> tuple[Finding, ...]:
    """A note for every piece that carries a number for its name: the table by which it is told."""
    return tuple(
        Finding(
            Severity.NOTE,
            f'{piece.garment} ({piece.size}), piece "{piece.name}"',
            f"too small for its name, it carries the number {piece.number}",
            "Look the number up here when bundling",
        )
        for piece in pieces
        if piece.number
    )


def _crossed(piece: Piece) -> Iterator[Finding]:
    polygon = shapely.Polygon(seam_line(piece)) if len(seam_line(piece)) > 2 else shapely.Polygon()
    if polygon.is_empty or not polygon.is_valid:
        where = shapely.is_valid_reason(polygon).partition("[")[2].rstrip("]")
        x, _, y = where.partition(" ")
        yield Finding(
            Severity.STOP,
            f'piece "{piece.name}"',
            f"its seam line crosses or touches itself{f' at {where} mm' if where else ''}",
            "Move the points so that it does not",
            (float(x), float(y)) if y else None,
        )


def _grain(piece: Piece) -> Iterator[Finding]:
    place = f'piece "{piece.name}", grain'
    run = piece.grain[1] - piece.grain[0]
    long = float(np.hypot(*run))
    if long < 1:
        yield Finding(Severity.STOP, place, "it has no grainline", "Draw one the way the nap runs")
        return
    along = seam_line(piece) @ (run / long)
    room = float(np.ptp(along))
    if long > room + 0.5:
        what = f"its grainline is {both_units(long)} and the piece only {both_units(room)} long that way"
        yield Finding(Severity.WARN, place, what, "Shorten it, or check that it belongs to this piece")


def _darts(piece: Piece) -> Iterator[Finding]:
    """Legs of darts: of those still closed, and of those drawn as two edges one after the other."""
    legs: list[tuple[str, float, float, tuple[float, float]]] = []
    for dart in piece.darts:
        if not dart.pleat:
            ends = [point_at(piece.edge(dart.edge).points, at)[0] for at in (dart.start, dart.end)]
            legs.append((dart.name, math.dist(ends[0], dart.point), math.dist(ends[1], dart.point), dart.point))
    for edge, after in zip(piece.edges, (*piece.edges[1:], piece.edges[0]), strict=True):
        if "dart" in edge.name and "dart" in after.name:
            legs.append((edge.name, length(edge.points), length(after.points), _spot(after.points[0])))
    for name, first, last, point in legs:
        if abs(first - last) > LEGS_WITHIN:
            yield Finding(
                Severity.WARN,
                f'piece "{piece.name}", dart "{name}"',
                f"its legs are {both_units(first)} and {both_units(last)}",
                "Move its point or one end of its mouth until both are alike",
                point,
            )


def _hems(piece: Piece) -> Iterator[Finding]:
    for edge in piece.edges:
        if edge.kind is not EdgeKind.HEM or len(edge.points) < 3:
            continue
        steps = np.diff(edge.points, axis=0)
        angles = np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
        full = 2 * edge.allowance * float(angles[-1] - angles[0])
        share = abs(full) / length(edge.points)
        if share > HEM_FULL:
            word = "fuller" if full > 0 else "shorter"
            yield Finding(
                Severity.NOTE,
                f'piece "{piece.name}", edge "{edge.name}"',
                f"turned up, the curved hem is {both_units(abs(full))} ({share:.0%}) {word} than the cloth it lies on",
                "Make the hem narrower, or face it",
            )


def _small(piece: Piece) -> Iterator[Finding]:
    outline = seam_line(piece)
    if len(outline) < 3 or np.ptp(outline, axis=0).min() > 100:
        return
    try:
        low, high, _ = text_box(piece.name)
    except ValueError:
        return  # preparing refuses it, and names the letter
    start, end = piece.grain
    along = (end - start) / max(float(np.hypot(*(end - start))), 1e-9)
    turned = outline @ np.column_stack([along, [-along[1], along[0]]])
    box = (high[0] - low[0]) * SMALL[-1], (high[1] - low[1]) * SMALL[-1]
    ways = (turned, pose_points(turned, turn_deg=-longest_way(turned)))
    if all(Room(way, []).place(*box, CLEAR) is None for way in ways):
        yield Finding(
            Severity.NOTE,
            f'piece "{piece.name}"',
            f"it is too small for its name in letters {SMALL[-1]:g} mm high",
            "Look for its number in the cut list",
        )


class _Joint(NamedTuple):
    """Two corners that a seam joins: its name, what is joined, the angle they make (degrees), both edges and spots."""

    seam: str
    sides: str
    angle: float
    edges: tuple[Edge, Edge]
    spots: tuple[tuple[str, tuple[float, float]], ...]


def _joints(style: Style, seam: SewnSeam) -> Iterator[_Joint]:
    """The corners joined at both ends of a seam, where they make one edge."""
    ends = ((0, seam.first_from_end, seam.second_from_end), (-1, not seam.first_from_end, not seam.second_from_end))
    for which, first_end, second_end in ends:
        one = _corner(style, seam.first[which], at_end=first_end)
        two = _corner(style, seam.second[which], at_end=second_end)
        if one is not None and two is not None and _one_line(one[1], two[1]):
            sides = f"{seam.first[which][0]}, {one[1].name} and {seam.second[which][0]}, {two[1].name}"
            spots = (seam.first[which][0], one[2]), (seam.second[which][0], two[2])
            yield _Joint(seam.name, sides, one[0] + two[0], (one[1], two[1]), spots)


def _untrue(joints: Sequence[_Joint]) -> Iterator[Finding]:
    """Corners that are joined and do not make one smooth edge.

    Round a tube that narrows, such as a sleeve at its wrist or a trouser leg, custom leaves the hem straight: that is
    passed over, and one drawn otherwise is only noted.
    """
    for joint in joints:
        one, two = joint.edges
        tube = one is two or sum({one, two} == set(other.edges) for other in joints) > 1
        if tube and len(one.points) == len(two.points) == 2:
            continue
        within = HEM_WITHIN if one.kind is two.kind is EdgeKind.HEM else TRUE_WITHIN
        if abs(joint.angle - 180) > within:
            yield Finding(
                Severity.NOTE if tube else Severity.WARN,
                f"seam {joint.seam}: {joint.sides}",
                f"joined, they make {joint.angle:.1f} degrees, wanted 180 to within {within:g}",
                "Draw both as one smooth line across the seam",
                spots=joint.spots,
            )


def _corner(style: Style, named: tuple[str, str], *, at_end: bool) -> tuple[float, Edge, tuple[float, float]] | None:
    """The angle inside a piece at one end of an edge (degrees), the edge beside it there, and where that is (mm)."""
    edges = style.piece(named[0]).edges
    place = next(i for i, edge in enumerate(edges) if edge.name == named[1])
    before, after = (edges[place], edges[(place + 1) % len(edges)]) if at_end else (edges[place - 1], edges[place])
    bend = turning(before.points[-1] - before.points[-2], after.points[1] - after.points[0])
    beside = after if at_end else before
    return None if beside.kind is EdgeKind.FOLD else (180 - math.degrees(bend), beside, _spot(after.points[0]))


def _spot(point: Line) -> tuple[float, float]:
    return float(point[0]), float(point[1])


def _one_line(one: Edge, two: Edge) -> bool:
    """Whether two edges run on into each other across a seam: both hems, or of one kind by name."""
    if one.kind is EdgeKind.HEM and two.kind is EdgeKind.HEM:
        return True
    words = one.name.split()[0], two.name.split()[0]
    return words[0] == words[1] and words[0] in _TRUED


def _ease_split(seam: Walked) -> Iterator[Finding]:
    """Ease of a cap that lies too much in front or at the back of the shoulder."""
    if seam.difference < _EASE_WORTH or not ("cap" in seam.seam or "sleeve" in seam.seam):
        return
    for met in seam.marks:
        if met.first is None or met.second is None or "shoulder" not in {met.first.name, met.second.name}:
            continue
        front, share = met.difference, met.difference / seam.difference
        if not FRONT_SHARE[0] <= share <= FRONT_SHARE[1]:
            yield Finding(
                Severity.WARN,
                f"seam {seam.seam}",
                f"of its ease {both_units(front)} lies in front and {both_units(seam.difference - front)} at the back",
                "Move the shoulder notch of the cap, or reshape the cap",
            )
