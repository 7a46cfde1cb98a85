"""A piece made ready: the stage's one verb."""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import accumulate, pairwise
from typing import TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.errors import PieceError
from cutroom.geometry.offset import offset_lines, without_repeats
from cutroom.geometry.polygon import crossing_place, distances
from cutroom.model.arrays import frozen_runs
from cutroom.model.fabric import Fabric, Face, Nap, Spread
from cutroom.model.laying import EdgeGap
from cutroom.model.order import StyleAsked
from cutroom.model.piece import Cut, EdgeKind, Piece
from cutroom.model.prepared import PreparedPiece
from cutroom.prepare.allowance import outline_of, seam_line
from cutroom.prepare.axes import on_the_cloth, opened_out
from cutroom.prepare.dart import with_darts
from cutroom.prepare.grain import grain_strokes
from cutroom.prepare.inside import block_line, cut_outs
from cutroom.prepare.label import cut_words, place_label
from cutroom.prepare.notches import cut_notches

SAME = 0.05
"""A piece is its own mirror image when no point is further off than this (mm)."""

CLOSEST = 0.005
"""Points of an edge nearer to each other than this (mm) are one point."""
SMALLEST = 1.0
"""A piece smaller than this (mm2) is a slip."""

Line = NDArray[np.float64]
T = TypeVar("T")


def with_allowances(piece: Piece, asked: StyleAsked) -> Piece:
    """The piece with the allowances that a style asks for: by `piece.edge`, by edge, else for its kind.

    Args:
        piece: As drafted.
        asked: The style of the job file.
    """

    def allowance(name: str, kind: EdgeKind) -> float:
        if kind is EdgeKind.FOLD:
            return 0.0
        usual = asked.hem_allowance if kind is EdgeKind.HEM else asked.allowance
        return asked.allowances.get(f"{piece.name}.{name}", asked.allowances.get(name, usual))

    edges = tuple(
        replace(
            edge,
            allowance=allowance(edge.name, edge.kind),
            corner=_said(asked.corners, piece.name, edge.name, edge.corner),
            turns=_said(asked.turns, piece.name, edge.name, edge.turns),
        )
        for edge in piece.edges
    )
    return replace(piece, edges=edges, notch_form=asked.notch_form)


def _said(table: Mapping[str, T], piece: str, edge: str, usual: T) -> T:
    """What a style says of an edge: by piece and edge, by edge, or nothing."""
    return table.get(f"{piece}.{edge}", table.get(edge, usual))


def prepare(piece: Piece, *, garment: str, size: str, fabric: Fabric, number: int | None = None) -> PreparedPiece:
    """Everything a machine will draw or cut for a piece.

    The piece is set on the grain, let out for the shrinkage of its cloth and for pressing, opened out when the cloth
    has no fold to lay it on, given its cut line, notches, grainline and label.

    Args:
        piece: On the seam line, with its allowances.
        garment: The order's line, for the label.
        size: A size or a client's code.
        fabric: The cloth it is cut from.
        number: Its number in the cut list, which it carries when it is too small for its name; None refuses that.

    Returns:
        The piece with its lowest, left-most corner at the origin; a fold piece keeps its fold on y = 0.

    Raises:
        PieceError: With the piece, the edge and what to do.
    """
    where = f'{garment} ({size}), piece "{piece.name}"'
    piece = _cleaned(piece)
    _refuse_crossed(piece, where)
    _refuse_wide_hems(piece)
    piece = on_the_cloth(piece, fabric.shrink_warp or 0.0, fabric.shrink_weft or 0.0)
    if piece.darts:
        piece = with_darts(piece)
    if piece.cut is Cut.FOLD and not fabric.has_fold:
        piece = opened_out(piece)
    fold = piece.cut is Cut.FOLD
    outlined = outline_of(piece)
    if fold:
        outlined = replace(outlined, outline=_onto_fold(outlined.outline), corners=_onto_fold(outlined.corners))
    notched = cut_notches(piece, outlined)
    seam = outlined.seam
    corners = np.concatenate([edge.points[:1] for edge in piece.edges])
    grain = grain_strokes(seam, piece.grain, one_way=fabric.nap is not Nap.NONE, fold=fold)
    cutouts = cut_outs(piece, seam, where)
    lines = (*(line.points for line in piece.lines), *outlined.turn_lines)
    cut, turns = notched.outline, notched.corners
    words, mirrored = _words(piece, garment, size, fabric)
    if piece.block_margin:
        lines = (*lines, np.vstack([cut, cut[:1]]))
        cut = turns = block_line(cut, piece.block_margin)
    obstacles = [*grain, *lines, *notched.strokes, *_closed(cutouts), *_drill_lines(piece)]
    shift = -float(cut[:, 0].min()), 0.0 if fold else -float(cut[:, 1].min())
    label, label_mirrored = place_label(seam, obstacles, words, mirrored, where=where, number=number, shift=shift)
    inside = [notched.strokes, grain, lines, cutouts]
    notches, grain, lines, cutouts = _shifted_together(inside, shift)
    return PreparedPiece(
        garment=garment,
        size=size,
        name=piece.name,
        cut=piece.cut,
        quantity=piece.quantity,
        cloth=piece.cloth,
        crossways=piece.crossways,
        cut_line=cut + shift,
        seam_line=seam + shift,
        turns=np.concatenate([turns, corners]) + shift,
        notches=notches,
        drills=tuple((hole.at[0] + shift[0], hole.at[1] + shift[1], hole.diameter) for hole in piece.drills),
        grain=grain,
        lines=lines,
        label=label,
        label_mirrored=label_mirrored,
        hand=piece.hand,
        symmetric=not fold and _is_symmetric(cut, notched.strokes),
        notch_kinds=notched.kinds,
        cutouts=cutouts,
        number=number or 0 if label.words == (str(number),) else 0,
        gap=piece.gap,
        tilt_deg=piece.tilt_deg,
        meets=tuple(replace(meet, at=(meet.at[0] + shift[0], meet.at[1] + shift[1])) for meet in piece.meets),
        edge_gaps=_edge_gaps(piece, cut),
        shares=piece.shares,
        block=piece.block,
    )


def _edge_gaps(piece: Piece, cut: Line) -> tuple[EdgeGap, ...]:
    """The gaps of single edges; a side of the cut line is that edge's to whose own line its middle is nearest."""
    if all(edge.gap is None for edge in piece.edges):
        return ()
    own = offset_lines([edge.points for edge in piece.edges], [edge.allowance for edge in piece.edges])
    middles = (cut + np.roll(cut, -1, axis=0)) / 2
    nearest = np.argmin([distances(middles, line, closed=False) for line in own], axis=0)
    found = []
    for number, edge in enumerate(piece.edges):
        sides = tuple(np.flatnonzero(nearest == number).tolist())
        if edge.gap is not None and sides:
            found.append(EdgeGap(edge.name, edge.gap, sides))
    return tuple(found)


def _shifted_together(groups: Sequence[Sequence[Line]], shift: tuple[float, float]) -> list[tuple[Line, ...]]:
    """Lines of several kinds, shifted (mm), each kind by itself: one long array costs little more than a short one."""
    lines = [line for group in groups for line in group]
    moved = frozen_runs(np.concatenate(lines) + shift, map(len, lines))
    stops = list(accumulate(map(len, groups), initial=0))
    return [moved[start:stop] for start, stop in pairwise(stops)]


def _cleaned(piece: Piece) -> Piece:
    """The piece without points that stand on their neighbours, as tracing and curves leave them."""
    together = np.concatenate([edge.points for edge in piece.edges])
    x, y = (together[1:] - together[:-1]).T
    apart = np.hypot(x, y) > CLOSEST
    apart[np.cumsum([len(edge.points) for edge in piece.edges])[:-1] - 1] = True  # from edge to edge they touch
    if apart.all():
        return piece
    edges = []
    for edge in piece.edges:
        points = without_repeats(edge.points, CLOSEST)
        if len(points) > 1 and math.dist(points[-1], edge.points[-1]) > 0:
            points = np.vstack([points[:-1] if len(points) > 2 else points[:1], edge.points[-1:]])
        if len(points) < 2 or math.dist(points[0], points[1]) <= CLOSEST / 2:
            raise PieceError(
                f"it is shorter than {CLOSEST:g} mm",
                "Leave the edge out, or move its ends apart",
                place=f'piece "{piece.name}", edge "{edge.name}"',
            )
        edges.append(edge if points is edge.points else replace(edge, points=points))
    return replace(piece, edges=tuple(edges))


def _refuse_crossed(piece: Piece, where: str) -> None:
    seam = seam_line(piece)
    if len(seam) < 3:
        raise PieceError("it has no area", "Give it three points or more", place=where)
    polygon = shapely.Polygon(seam)
    if polygon.is_valid:
        if polygon.area < SMALLEST:
            raise PieceError(f"it is only {polygon.area:.2f} mm2 large", "Check its points and their unit", place=where)
        if not polygon.exterior.is_ccw:
            raise PieceError("its edges run clockwise", "Draw it the other way round", place=where)
        return
    place = crossing_place(seam)
    if place is None:  # it runs along itself
        told = re.findall(r"[-+0-9.e]+", shapely.is_valid_reason(polygon).partition("[")[2])
        place = (float(told[0]), float(told[1])) if len(told) >= 2 else (float(seam[0, 0]), float(seam[0, 1]))
    raise PieceError(
        f"its seam line crosses itself at x {place[0]:.1f}, y {place[1]:.1f} mm",
        "Move the points so that it does not",
        place=where,
    )


def _words(piece: Piece, garment: str, size: str, fabric: Fabric) -> tuple[tuple[str, ...], tuple[str, ...]]:
    sides = [cut_words(piece), cut_words(piece)]
    if piece.cut is Cut.PAIR and fabric.spread is Spread.OPEN:  # elsewhere both hands come out of one placement
        hands = [piece.hand, piece.hand.other]
        if fabric.face is Face.DOWN:
            hands.reverse()
        sides = [f"{words}: {hand}" for words, hand in zip(sides, hands, strict=True)]
    if piece.block_margin:
        sides = [f"{words} - block: cut again" for words in sides]
    first, second = ((garment, piece.name, size, side, fabric.name) for side in sides)
    return first, second


def _refuse_wide_hems(piece: Piece) -> None:
    hems = [edge for edge in piece.edges if edge.kind is EdgeKind.HEM]
    if not hems:
        return
    x, y = np.concatenate([edge.points for edge in piece.edges]).T
    box = max(x.max() - x.min(), y.max() - y.min())
    for edge in hems:
        if edge.allowance > box:
            raise PieceError(
                f"the hem is {edge.allowance:.1f} mm wide and the piece only {box:.1f} mm long",
                "Make the hem narrower than the piece",
                place=f'piece "{piece.name}", edge "{edge.name}"',
            )


def _onto_fold(points: Line) -> Line:
    """Points of a fold piece, those within a hair of the fold set on it exactly."""
    return np.column_stack([points[:, 0], np.where(np.abs(points[:, 1]) < SAME, 0.0, points[:, 1])])


def _closed(lines: tuple[Line, ...]) -> list[Line]:
    return [np.vstack([line, line[:1]]) for line in lines]


def _drill_lines(piece: Piece) -> list[Line]:
    """The boxes round its drill holes."""
    corners = np.array([(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5), (-0.5, -0.5)])
    return [hole.at + hole.diameter * corners for hole in piece.drills]


def _is_symmetric(cut: Line, notches: tuple[Line, ...]) -> bool:
    middle = (cut[:, 1].min() + cut[:, 1].max()) / 2

    def mirrored(points: Line) -> Line:
        return np.column_stack([points[:, 0], 2 * middle - points[:, 1]])

    for some in (cut[:1], cut[:: max(1, len(cut) // 8)], cut):  # most pieces are told by a few points
        if distances(mirrored(some), cut, closed=True).max() > SAME:
            return False
    starts = np.array([line[0] for line in notches]).reshape(-1, 2)
    if not len(starts):
        return True
    apart = np.hypot(*(mirrored(starts)[:, None] - starts[None]).transpose(2, 0, 1))
    return bool((apart.min(axis=1) < SAME).all())
