"""A whole piece halved, to be cut on the fold: only when its halves are mirror images."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import PieceError
from cutroom.geometry.affine import align_points, reflect_points
from cutroom.geometry.polygon import distances
from cutroom.geometry.polyline import length, lengths_along, part_of, point_at
from cutroom.model.piece import Cut, Edge, EdgeKind, Notch, Piece
from cutroom.prepare.allowance import seam_line

SAME = 0.05
"""Halves are mirror images when no point is further off than this (mm)."""

Line = NDArray[np.float64]


def halved(piece: Piece, axis: Line) -> Piece:
    """The half of a whole piece to the left of an axis, with its fold on the axis.

    Args:
        piece: Whole, its edges counter-clockwise.
        axis: `(2, 2)`, two points of the line it is folded along (mm).

    Returns:
        The same piece cut on the fold: its grainline along the fold, the way it ran before.

    Raises:
        PieceError: Its halves differ, with the place and the distance; or the axis does not cut it in two.
    """
    place = f'piece "{piece.name}"'
    along = axis[1] - axis[0]
    ring = seam_line(piece)
    off = distances(reflect_points(ring, axis[0], along), ring, closed=True)
    worst = int(off.argmax())
    if off[worst] > SAME:
        edge = _edge_at(piece, ring[worst])
        raise PieceError(
            f"its halves differ by {off[worst]:.1f} mm at x {ring[worst, 0]:.1f}, y {ring[worst, 1]:.1f} mm",
            "Cut it single, or make both halves alike",
            place=f'{place}, edge "{edge}"',
        )
    _refuse_odd_marks(piece, axis, along, place)
    marked = [part for edge in piece.edges for part in _left_of(piece, edge, axis, place)]
    starts = [i for i, (edge, _) in enumerate(marked) if not np.allclose(edge.points[0], marked[i - 1][0].points[-1])]
    if len(starts) != 1 and len(marked) > 1:
        raise PieceError(
            f"its axis cuts it {2 * len(starts)} times, wanted twice", "Fold it along a line that cuts it in two",
            place=place,
        )  # fmt: skip
    first = starts[0] if starts else 0
    marked = marked[first:] + marked[:first]
    ends = np.vstack([marked[-1][0].points[-1], marked[0][0].points[0]])
    fold = Edge("fold", ends, kind=EdgeKind.FOLD)
    run = piece.grain[1] - piece.grain[0]
    grain = ends if float((ends[1] - ends[0]) @ run) > 0 else ends[::-1]
    inside = [_side(np.array([hole.at]), axis)[0] >= -SAME for hole in piece.drills]
    return replace(
        piece,
        edges=(*(edge for edge, _ in marked), fold),
        cut=Cut.FOLD,
        grain=grain,
        notches=tuple(notch for _, notches in marked for notch in notches),
        drills=tuple(hole for hole, kept in zip(piece.drills, inside, strict=True) if kept),
        lines=tuple(line for line in piece.lines if _side(line.points, axis).min() >= -SAME),
        cutouts=tuple(line for line in piece.cutouts if _side(line.points, axis).min() >= -SAME),
    )


def _side(points: Line, axis: Line) -> Line:
    """Distance of points to the left of the axis (mm)."""
    return align_points(points, axis[0], axis[1])[:, 1]


def _edge_at(piece: Piece, point: Line) -> str:
    return min(piece.edges, key=lambda edge: float(distances(point[None], edge.points)[0])).name


def _refuse_odd_marks(piece: Piece, axis: Line, along: Line, place: str) -> None:
    """A mark on one half without its mirror image would be lost or doubled."""
    spots = [point_at(piece.edge(notch.edge).points, notch.at)[0] for notch in piece.notches]
    for what, points in (("notch", spots), ("drill hole", [np.array(hole.at) for hole in piece.drills])):
        if not points:
            continue
        every = np.vstack(points)
        mirrored = reflect_points(every, axis[0], along)
        apart = np.hypot(*(mirrored[:, None] - every[None]).transpose(2, 0, 1)).min(axis=1)
        odd = int(apart.argmax())
        if apart[odd] > 10 * SAME:
            raise PieceError(
                f"its {what} at x {every[odd, 0]:.1f}, y {every[odd, 1]:.1f} mm has no fellow on the other half",
                "Mark both halves alike, or cut it single",
                place=place,
            )


def _left_of(piece: Piece, edge: Edge, axis: Line, place: str) -> list[tuple[Edge, tuple[Notch, ...]]]:
    """The parts of an edge to the left of the axis, with their notches."""
    side = _side(edge.points, axis)
    side = np.where(np.abs(side) <= SAME, 0.0, side)
    along = lengths_along(edge.points)
    whole = length(edge.points)
    turns = [i for i in range(len(side) - 1) if side[i] * side[i + 1] < 0]
    cuts = [float(along[i] + (along[i + 1] - along[i]) * side[i] / (side[i] - side[i + 1])) for i in turns]
    cuts += [float(along[i]) for i in range(1, len(side) - 1) if side[i] == 0]
    bounds = [0.0, *sorted(cuts), whole]
    found = []
    for start, end in pairwise(bounds):
        if end - start <= 1e-6 or _side(point_at(edge.points, (start + end) / 2)[0][None], axis)[0] <= SAME:
            continue
        points = part_of(edge.points, start, end)
        notches = tuple(
            Notch(edge.name, min(max(notch.at - start, 0.0), end - start), notch.count, notch.kind, notch.name)
            for notch in piece.notches
            if notch.edge == edge.name and start - SAME <= notch.at <= end + SAME
        )
        found.append((Edge(edge.name, points, edge.allowance, edge.kind, edge.corner, edge.turns, edge.gap), notches))
    if len(found) > 1:
        raise PieceError(
            f'its axis cuts edge "{edge.name}" into {len(found)} parts on one side',
            "Fold it along a line that cuts it in two",
            place=place,
        )
    return found
