"""Darts and pleats opened out on an edge: legs, fold, drill hole, and a mouth shaped by the way they are pressed."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import PieceError
from cutroom.geometry.affine import reflect_points
from cutroom.geometry.offset import crossings
from cutroom.geometry.polyline import length, part_of, point_at
from cutroom.model.piece import Dart, DrillHole, Edge, NamedLine, Notch, Piece, Pressed

DRILL = 2.0
"""Diameter of the hole at a dart's point (mm)."""

Line = NDArray[np.float64]


def with_darts(piece: Piece) -> Piece:
    """The piece with its darts and pleats drawn and their mouths shaped.

    The cloth between the legs, folded and pressed, must reach the seam that the edge is sewn in: over each half of
    the mouth the seam line is the edge beside it, mirrored in the leg and then in the fold.

    Args:
        piece: On the seam line, in any axes; the edge runs on over each mouth in any way.

    Returns:
        The piece without darts: with their edges, lines, a hole short of each point, and a notch at each leg.

    Raises:
        PieceError: A dart's mouth is not on its edge, or a notch stands inside it.
    """
    for dart in sorted(piece.darts, key=lambda dart: -dart.start):  # from the end, so that distances stay true
        piece = _opened(piece, dart)
    return replace(piece, darts=())


def _opened(piece: Piece, dart: Dart) -> Piece:
    edge = piece.edge(dart.edge)
    whole = length(edge.points)
    place = f'piece "{piece.name}", dart "{dart.name}"'
    if not 0 <= dart.start < dart.end <= whole + 0.01:
        raise PieceError(
            f"it opens from {dart.start:.1f} to {dart.end:.1f} mm of an edge that is {whole:.1f} mm long",
            "Put its mouth on the edge",
            place=place,
        )
    if any(notch.edge == edge.name and dart.start < notch.at < dart.end for notch in piece.notches):
        raise PieceError("a notch stands inside its mouth", "Move the notch beside the dart", place=place)
    first, last, point = point_at(edge.points, dart.start)[0], point_at(edge.points, dart.end)[0], np.array(dart.point)
    fold = _fold_direction(first, last, point, pleat=dart.pleat, place=place)
    mouth = _mouth(edge, dart, (first, last, point), fold)
    points = np.vstack([part_of(edge.points, 0.0, dart.start)[:-1], mouth, part_of(edge.points, dart.end, whole)[1:]])
    longer = length(mouth) - (dart.end - dart.start)
    notches = [
        replace(notch, at=notch.at + longer) if notch.edge == edge.name and notch.at >= dart.end else notch
        for notch in piece.notches
    ]
    if edge.allowance > 0:
        notches += [Notch(edge.name, at, name=dart.name) for at in (dart.start, dart.end + longer)]
    return replace(
        piece,
        edges=tuple(replace(edge, points=points) if one is edge else one for one in piece.edges),
        notches=tuple(notches),
        lines=(*piece.lines, *_drawn(dart, (first, last, point), fold, mouth)),
        drills=piece.drills if dart.pleat else (*piece.drills, _hole(dart, point, fold)),
    )


def _fold_direction(first: Line, last: Line, point: Line, *, pleat: bool, place: str) -> Line:
    """The unit direction of the fold from the point outwards: between the legs, or to the middle of a pleat."""
    legs = [leg - point for leg in (first, last)]
    sizes = [float(np.hypot(*leg)) for leg in legs]
    if min(sizes) < 1:
        raise PieceError("its point lies on its mouth", "Put the point inside the piece", place=place)
    along = (first + last) / 2 - point if pleat else legs[0] / sizes[0] + legs[1] / sizes[1]
    unit: Line = along / np.hypot(*along)
    return unit


def _mouth(edge: Edge, dart: Dart, corners: tuple[Line, Line, Line], fold: Line) -> Line:
    """The seam line over the mouth, from leg to leg."""
    first, last, point = corners
    whole = length(edge.points)
    from_start = dart.pressed is Pressed.START
    leg = first if from_start else last
    beside = part_of(edge.points, 0.0, dart.start)[::-1] if from_start else part_of(edge.points, dart.end, whole)
    if len(beside) < 2 or length(beside) < 1e-6:
        beside = np.vstack([first, last]) if from_start else np.vstack([last, first])
        half = np.vstack([beside[0], beside.mean(axis=0)])
    else:
        half = reflect_points(beside, leg, fold if dart.pleat else leg - point)
    run_on = half[-1] + (half[-1] - half[-2]) / np.hypot(*(half[-1] - half[-2])) * 1e4
    hits = crossings(np.vstack([half, run_on]), np.vstack([point, point + fold * 1e5]))
    if hits:
        where, _, tip = min(hits, key=lambda hit: hit[0])
        half = np.vstack([half[: int(where) + 1], tip])
    else:
        half = np.vstack([leg, (first + last) / 2])
    other = reflect_points(half, point, fold)[::-1]
    other[-1] = last if from_start else first
    ring = np.vstack([half, other[1:]])
    ring = ring if from_start else ring[::-1]
    apart = np.append(True, np.hypot(*np.diff(ring, axis=0).T) > 1e-6)
    kept: Line = ring[apart]
    return kept


def _drawn(dart: Dart, corners: tuple[Line, Line, Line], fold: Line, mouth: Line) -> list[NamedLine]:
    first, last, point = corners
    tip = mouth[int(np.argmax((mouth - point) @ fold))]
    lines = [NamedLine(f"{dart.name} fold", np.vstack([tip, point]))]
    if not dart.pleat:
        return [NamedLine(dart.name, np.vstack([first, point, last])), *lines]
    deep = float(np.hypot(*((first + last) / 2 - point)))
    return [*(NamedLine(dart.name, np.vstack([leg, leg - fold * deep])) for leg in (first, last)), *lines]


def _hole(dart: Dart, point: Line, fold: Line) -> DrillHole:
    x, y = point + fold * dart.set_back
    return DrillHole(f"{dart.name} point", (float(x), float(y)), DRILL)
