"""Small constructions every draft uses."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.affine import cos_sin
from cutroom.geometry.polyline import length
from cutroom.model.piece import NamedLine, Piece


def point(x: float, y: float) -> NDArray[np.float64]:
    """A point or a direction `(2,)`."""
    return np.array([x, y], dtype=np.float64)


def unit(vector: NDArray[np.float64]) -> NDArray[np.float64]:
    """A direction of length 1, `(2,)`."""
    size = float(np.hypot(vector[0], vector[1]))
    return vector / size


def left_of(vector: NDArray[np.float64]) -> NDArray[np.float64]:
    """The direction a quarter turn counter-clockwise, `(2,)`."""
    return point(-float(vector[1]), float(vector[0]))


def turned(points: NDArray[np.float64], about: NDArray[np.float64], angle_deg: float) -> NDArray[np.float64]:
    """Points turned counter-clockwise about a pivot.

    Args:
        points: `(n, 2)` or `(2,)`, mm.
        about: `(2,)`, mm.
        angle_deg: Degrees.

    Returns:
        As `points`.
    """
    cos, sin = cos_sin(angle_deg)
    moved: NDArray[np.float64] = (points - about) @ np.array([[cos, sin], [-sin, cos]]) + about
    return moved


def reflected(vector: NDArray[np.float64], axis: NDArray[np.float64]) -> NDArray[np.float64]:
    """A direction mirrored in an axis direction, `(2,)`."""
    along = unit(axis)
    mirrored: NDArray[np.float64] = 2 * (vector @ along) * along - vector
    return mirrored


def meeting(
    start: NDArray[np.float64], way: NDArray[np.float64], other: NDArray[np.float64], other_way: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Where two endless lines, each a point and a direction `(2,)`, meet."""
    bend = way[0] * other_way[1] - way[1] * other_way[0]
    gap = other - start
    share = (gap[0] * other_way[1] - gap[1] * other_way[0]) / bend
    place: NDArray[np.float64] = start + share * way
    return place


def named(name: str, *points: NDArray[np.float64]) -> NamedLine:
    """A named line through points."""
    return NamedLine(name, np.vstack(points))


def mirrored_piece(piece: Piece) -> Piece:
    """The piece turned over about x = 0, still counter-clockwise; its notches stay where they were on the body."""
    flip = np.array([-1.0, 1.0])
    notches = tuple(replace(notch, at=length(piece.edge(notch.edge).points) - notch.at) for notch in piece.notches)
    edges = tuple(replace(edge, points=edge.points[::-1] * flip) for edge in reversed(piece.edges))
    return _scaled(replace(piece, edges=edges, notches=notches), flip)


def turned_piece(piece: Piece) -> Piece:
    """The piece turned by half a turn about (0, 0)."""
    half = np.array([-1.0, -1.0])
    edges = tuple(replace(edge, points=edge.points * half) for edge in piece.edges)
    return _scaled(replace(piece, edges=edges), half)


def _scaled(piece: Piece, scale: NDArray[np.float64]) -> Piece:
    """Everything of a piece but its edges, multiplied."""

    def lines(lines: tuple[NamedLine, ...]) -> tuple[NamedLine, ...]:
        return tuple(replace(line, points=line.points * scale) for line in lines)

    drills = tuple(
        replace(drill, at=(drill.at[0] * float(scale[0]), drill.at[1] * float(scale[1]))) for drill in piece.drills
    )
    return replace(
        piece,
        grain=piece.grain * scale,
        drills=drills,
        lines=lines(piece.lines),
        construction=lines(piece.construction),
    )
