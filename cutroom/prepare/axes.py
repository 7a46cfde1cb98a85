"""Pieces set on the grain, opened out from the fold, and let out for shrinkage."""

import math
from dataclasses import replace
from itertools import accumulate

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import PieceError
from cutroom.geometry.affine import Move, align_points, moved_spot
from cutroom.geometry.offset import turning
from cutroom.geometry.polyline import length, lengths_along
from cutroom.model.arrays import frozen_runs
from cutroom.model.piece import Corner, Cut, Dart, Edge, EdgeKind, NamedLine, Notch, Piece

STRAIGHT = 0.05
"""A fold edge may leave the straight line by this much (mm)."""
SMOOTH = np.radians(10.0)
"""Two edges that meet at the fold at more than this stay two, with a corner between them."""
CLOSE = 4.0
"""No centre notch is set by itself nearer (mm) than this to another."""
_OPENED = " (other half)"

Marked = tuple[Edge, tuple[Notch, ...]]


def on_the_cloth(piece: Piece, warp: float, weft: float) -> Piece:
    """The piece set on the grain and let out for shrinkage, in one move where it can be.

    Args:
        piece: In any axes.
        warp: See `let_out`.
        weft: See `let_out`.

    Raises:
        PieceError: As `on_the_grain` and `let_out` raise it.
    """
    if piece.cut is Cut.FOLD:  # its fold is made straight in between
        return let_out(on_the_grain(piece), warp, weft)
    start, end = _axis(piece)
    factors = _factors(piece, warp, weft)
    rigid = bool((factors == 1).all())
    return _mapped(piece, lambda points: align_points(points, start, end) * factors, rigid=rigid)


def on_the_grain(piece: Piece) -> Piece:
    """The piece in its own axes: x along the grain the way the nap runs; a fold edge on y = 0, the piece above it.

    The drafted side stays the side seen, so nothing is mirrored.

    Raises:
        PieceError: The grainline has no length, a fold edge is missing, bent or off the grain, or there is more than
            one of them.
    """
    start, end = _axis(piece)
    moved = _mapped(piece, lambda points: align_points(points, start, end), rigid=True)
    if piece.cut is Cut.FOLD:
        if max(edge.points[:, 1].max() for edge in moved.edges) <= STRAIGHT:
            moved = _other_half(moved)
        moved = replace(moved, edges=tuple(_flattened_fold(edge) for edge in moved.edges))
    return moved


def _axis(piece: Piece) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Two points of the line that its x axis lies along, from the first to the second: the grain, or the fold."""
    place = f'piece "{piece.name}"'
    start, end = piece.grain
    if math.dist(start, end) < 1:
        raise PieceError("its grainline has no length", "Give the grainline two points", place=place)
    folds = [edge for edge in piece.edges if edge.kind is EdgeKind.FOLD]
    if piece.cut is Cut.FOLD:
        if len(folds) != 1:
            raise PieceError(
                f"it is cut on the fold and has {len(folds)} fold edges, wanted 1",
                "Make one straight edge of it the fold",
                place=place,
            )
        return _fold_axis(folds[0], end - start, place)
    if folds:
        raise PieceError(
            f'edge "{folds[0].name}" is a fold but the piece is cut as a {piece.cut}',
            'Cut the piece on the fold (cut = "fold"), or make the edge a seam',
            place=place,
        )
    return start, end


def let_out(piece: Piece, warp: float, weft: float) -> Piece:
    """The piece, already on the grain, grown so that it comes out right after the cloth has shrunk.

    Args:
        piece: In its own axes, on the seam line.
        warp: Shrinkage along the grain as a fraction: 3 % is 0.03.
        weft: Shrinkage across the grain.

    Returns:
        Lengths along the grain times 1 / (1 - warp), across it times 1 / (1 - weft); allowances as they were; notches
        on the same spot of the cloth.

    Raises:
        PieceError: A shrinkage of more than 15 %, which is more likely a slip.
    """
    factors = _factors(piece, warp, weft)
    if (factors == 1).all():
        return piece
    return _mapped(piece, lambda points: points * factors)


def _factors(piece: Piece, warp: float, weft: float) -> NDArray[np.float64]:
    """What lengths along the grain and across it are multiplied by `(2,)`."""
    pressed_warp, pressed_weft = piece.press_shrink
    for name, share in (
        ("warp shrinkage", warp),
        ("weft shrinkage", weft),
        ("loss along the grain in pressing", pressed_warp),
        ("loss across the grain in pressing", pressed_weft),
    ):
        if abs(share) > 0.15:
            raise PieceError(
                f"the {name} is {share:.1%}, wanted no more than 15 %",
                "Measure the washed swatch again",
                place=f'piece "{piece.name}"',
            )
    return np.array([1 / (1 - warp) / (1 - pressed_warp), 1 / (1 - weft) / (1 - pressed_weft)])


def opened_out(piece: Piece) -> Piece:
    """A fold piece, already on the grain, drawn whole: to be cut once from open cloth."""
    fold = next(i for i, edge in enumerate(piece.edges) if edge.kind is EdgeKind.FOLD)
    half = [_with_notches(piece, edge) for edge in piece.edges[fold + 1 :] + piece.edges[:fold]]
    corners = [Corner.AUTO, *(edge.corner for edge, _ in half[:-1])]
    other = [_mirrored_edge(half[i], corners[i], _OPENED) for i in reversed(range(len(half)))]
    whole = _joined(half[-1], other[0], centre=piece.notch_form.folds)  # where the halves meet at the fold's start
    ring = half[:-1] + whole + other[1:]
    if len(half) > 1:
        ring = [*ring[1:-1], *_joined(ring[-1], ring[0], centre=piece.notch_form.folds)]  # and at its end
    edges = tuple(edge for edge, _ in ring)
    notches = tuple(replace(notch, edge=edge.name) for edge, marks in ring for notch in marks)
    return replace(
        piece,
        edges=edges,
        cut=Cut.SINGLE,
        notches=notches,
        drills=piece.drills + tuple(replace(hole, at=(hole.at[0], -hole.at[1])) for hole in piece.drills if hole.at[1]),
        lines=piece.lines + _mirrored_lines(piece.lines),
        cutouts=piece.cutouts + _mirrored_lines(piece.cutouts),
    )


def _fold_axis(fold: Edge, grain: NDArray[np.float64], place: str) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    first, last = fold.points[0], fold.points[-1]
    across = align_points(fold.points, first, last)[:, 1]
    if np.abs(across).max() > STRAIGHT:
        raise PieceError(
            f'its fold edge "{fold.name}" is bent by {np.abs(across).max():.1f} mm',
            "Draw the fold edge straight",
            place=place,
        )
    lean = align_points(np.vstack([first, first + grain]), first, last)[1]
    if abs(lean[1]) > 0.001 * abs(lean[0]):
        raise PieceError(
            f'its fold edge "{fold.name}" does not lie along the grain',
            "Lay the grainline along the fold edge",
            place=place,
        )
    return (first, last) if float((last - first) @ grain) > 0 else (last, first)


def _flattened_fold(edge: Edge) -> Edge:
    """The fold edge with y exactly 0, and the ends of its neighbours with it."""
    points = edge.points.copy()
    if edge.kind is EdgeKind.FOLD:
        points[:, 1] = 0.0
    for end in (0, -1):
        if abs(points[end, 1]) <= STRAIGHT and edge.kind is not EdgeKind.FOLD:
            points[end, 1] = 0.0
    return replace(edge, points=points)


def _mapped(piece: Piece, move: Move, *, rigid: bool = False) -> Piece:
    """The piece with every point moved; notches stay on the same spot of their edge, which a rigid move leaves."""
    drawn = [*(edge.points for edge in piece.edges), piece.grain]
    *lines, grain = frozen_runs(move(np.concatenate(drawn)), map(len, drawn))  # in one long array: quicker than many
    edges = tuple(
        Edge(edge.name, points, edge.allowance, edge.kind, edge.corner, edge.turns, edge.gap)
        for edge, points in zip(piece.edges, lines, strict=True)
    )
    notches, darts = piece.notches, tuple(replace(dart, point=moved_spot(move, dart.point)) for dart in piece.darts)
    if not rigid:
        carry = _Carry(piece, edges)
        notches = tuple(
            Notch(notch.edge, carry(notch.edge, notch.at), notch.count, notch.kind, notch.name) for notch in notches
        )
        darts = tuple(
            replace(dart, start=carry(dart.edge, dart.start), end=carry(dart.edge, dart.end)) for dart in darts
        )
    return replace(
        piece,
        edges=edges,
        grain=grain,
        notches=notches,
        drills=tuple(replace(hole, at=moved_spot(move, hole.at)) for hole in piece.drills),
        lines=tuple(NamedLine(line.name, move(line.points)) for line in piece.lines),
        construction=tuple(NamedLine(line.name, move(line.points)) for line in piece.construction),
        darts=darts,
        cutouts=tuple(NamedLine(line.name, move(line.points)) for line in piece.cutouts),
        meets=tuple(replace(meet, at=moved_spot(move, meet.at)) for meet in piece.meets),
    )


class _Carry:
    """Distances along the edges of a piece after its edges were moved: the same spots of them."""

    def __init__(self, piece: Piece, moved: tuple[Edge, ...]) -> None:
        stops = accumulate(len(edge.points) for edge in piece.edges)
        self._runs = {edge.name: (stop - len(edge.points), stop) for edge, stop in zip(piece.edges, stops, strict=True)}
        self._old, self._new = (  # right round: only differences within an edge are used
            lengths_along(np.concatenate([edge.points for edge in edges])) for edges in (piece.edges, moved)
        )

    def __call__(self, name: str, at: float) -> float:
        start, stop = self._runs[name]
        at += float(self._old[start])
        passed = start + int(self._old[start:stop].searchsorted(at, side="right")) - 1
        segment = min(max(passed, start), stop - 2)
        old, reached = self._old[segment : segment + 2].tolist()
        new, ended = self._new[segment : segment + 2].tolist()
        return float(new + (at - old) / (reached - old) * (ended - new) - self._new[start])


def _with_notches(piece: Piece, edge: Edge) -> Marked:
    return edge, tuple(notch for notch in piece.notches if notch.edge == edge.name)


def _mirrored_edge(marked: Marked, corner: Corner, suffix: str = "") -> Marked:
    """The mirror image of an edge, run the other way; `corner` is what stood at its start and now stands at its end."""
    edge, notches = marked
    whole = length(edge.points)
    turned = replace(edge, name=edge.name + suffix, points=_mirrored(edge.points)[::-1], corner=corner.turned)
    return turned, tuple(replace(notch, edge=turned.name, at=whole - notch.at) for notch in reversed(notches))


def _joined(first: Marked, second: Marked, *, centre: bool) -> list[Marked]:
    """Two edges that meet at the fold as one, when they are finished alike; the fold's end is marked if asked."""
    (one, marks), (two, more) = first, second
    bend = turning(one.points[-1] - one.points[-2], two.points[1] - two.points[0])
    if one.kind is not two.kind or one.allowance != two.allowance or abs(bend) > SMOOTH:
        return [first, second]
    whole = length(one.points)
    name = one.name.removesuffix(_OPENED)
    at_the_fold = any(abs(notch.at - whole) < 0.01 for notch in marks)  # its mirror image is the same notch
    later = [replace(notch, at=whole + notch.at) for notch in more if notch.at >= 0.01 or not at_the_fold]
    merged = replace(two, name=name, points=np.vstack([one.points, two.points[1:]]))
    middle = [Notch(name, whole, name="centre")] if centre and one.allowance > 0 else []
    middle = [mark for mark in middle if all(abs(mark.at - notch.at) >= CLOSE for notch in (*marks, *later))]
    return [(merged, (*marks, *middle, *later))]


def _other_half(piece: Piece) -> Piece:
    """A fold piece drawn below its fold, drawn above it: the halves are mirror images."""
    count = len(piece.edges)
    marked = [
        _mirrored_edge(_with_notches(piece, piece.edges[i]), piece.edges[i - 1].corner) for i in reversed(range(count))
    ]
    return replace(
        piece,
        edges=tuple(edge for edge, _ in marked),
        notches=tuple(notch for _, notches in marked for notch in notches),
        grain=_mirrored(piece.grain),
        drills=tuple(replace(hole, at=(hole.at[0], -hole.at[1])) for hole in piece.drills),
        lines=_mirrored_lines(piece.lines),
        construction=_mirrored_lines(piece.construction),
        darts=tuple(_mirrored_dart(dart, piece) for dart in piece.darts),
        cutouts=_mirrored_lines(piece.cutouts),
        meets=tuple(replace(meet, at=(meet.at[0], -meet.at[1])) for meet in piece.meets),
    )


def _mirrored_dart(dart: Dart, piece: Piece) -> Dart:
    whole = length(piece.edge(dart.edge).points)
    point = (dart.point[0], -dart.point[1])
    return replace(dart, start=whole - dart.end, end=whole - dart.start, point=point, pressed=dart.pressed.turned)


def _mirrored_lines(lines: tuple[NamedLine, ...]) -> tuple[NamedLine, ...]:
    return tuple(NamedLine(line.name, _mirrored(line.points)) for line in lines)


def _mirrored(points: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.column_stack([points[:, 0], -points[:, 1]])
