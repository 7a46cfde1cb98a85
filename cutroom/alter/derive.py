"""Pieces taken off others: facings along any edges, linings and interfacings."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TypedDict

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.ops import linemerge, substring

from cutroom.alter.halves import grain_for, grain_inside, ring_of
from cutroom.alter.shape import clipped, mirrored, offset_either
from cutroom.alter.spread import refuse_crossed, run_length
from cutroom.errors import PieceError
from cutroom.geometry.offset import join, without_repeats
from cutroom.geometry.polygon import contains, distances, signed_area
from cutroom.geometry.polyline import length, lengths_along, point_at
from cutroom.model.alteration import Derive, Facing
from cutroom.model.finding import Finding, Severity
from cutroom.model.piece import Corner, Cut, DrillHole, Edge, EdgeKind, NamedLine, Piece, SewnSeam, Style
from cutroom.units import both_units

Line = NDArray[np.float64]


def face_style(style: Style, step: Facing) -> Style:
    """A style with a facing taken off one of its pieces.

    The facing has the piece's own edges there, with their notches, and what it takes of the edges beside them; the
    edge across is named `outer`, or `outer 2` on a facing of a facing. It is turned over: its right side lies against
    the wearer. A facing that keeps no fold of a fold piece is cut as a pair. Drill holes, drawn lines and cut-outs that
    lie within it are made in it too, a line as far as it does; a drill hole on its very edge is left out, and said to
    be. What pressing takes from the piece is let out of it when it is of the same cloth, and it is no block.

    Raises:
        PieceError: The edges do not follow each other, the piece is too narrow, the name is taken, a dart opens on an
            edge, or a cut-out lies half in the facing.
    """
    piece = style.piece(step.piece)
    _refuse_taken(style, step.name)
    run_length(piece, step.edges)
    count = len(piece.edges)
    at = next(n for n, edge in enumerate(piece.edges) if edge.name == step.edges[0])
    before, after = piece.edges[at - 1], piece.edges[(at + len(step.edges)) % count]
    run = [piece.edge(name) for name in step.edges]
    _refuse_darts_faced(piece, step)
    path = shapely.LineString(np.vstack([run[0].points[:1], *(edge.points[1:] for edge in run)]))
    where = f'piece "{step.name}"'
    if len(step.edges) > count - 2:
        raise PieceError("it leaves no edges beside it", "Face fewer edges", place=where)
    low = _leaves(before.points[::-1], path, step.width, where)[::-1]
    high = _leaves(after.points, path, step.width, where)
    outer = _outer(ring_of(piece), path, step.width, high[-1], low[0], where)
    edges = (
        replace(before, points=low),
        *run,
        replace(after, points=high, corner=Corner.AUTO),
        Edge(_free("outer", [edge.name for edge in (before, *run, after)]), outer),
    )
    ring = np.vstack([edge.points[:-1] for edge in edges])
    folded = any(edge.kind is EdgeKind.FOLD for edge in edges)
    names = {edge.name for edge in run}
    facing = replace(
        piece,
        name=step.name,
        edges=tuple(_sewn(edge) for edge in edges),
        grain=grain_inside(ring, piece.grain[1] - piece.grain[0]),
        cut=Cut.PAIR if piece.cut is Cut.FOLD and not folded else piece.cut,
        cloth=step.cloth,
        notches=tuple(notch for notch in piece.notches if notch.edge in names),
        drills=_drilled_too(piece, ring),
        darts=(),
        cutouts=_cut_too(piece, ring, step.name),
        **_handled_as(piece, step.cloth),
        lines=tuple(part for line in piece.lines for part in clipped(line, ring)),
        construction=(),
    )
    findings = _left_out(piece, facing, [hole for hole in piece.drills if _on_edge(hole, ring)])
    facing = mirrored(refuse_crossed(facing))
    seams = tuple(
        SewnSeam(f"{name} and {step.name}", ((piece.name, name),), ((step.name, name),), second_from_end=True)
        for name in step.edges
    )
    return replace(
        style,
        pieces=(*style.pieces, facing),
        seams=(*style.seams, *seams),
        findings=(*style.findings, *findings),
    )


def derive_style(style: Style, step: Derive) -> Style:
    """A style with a piece derived from another for another cloth.

    Each seam line is the piece's own moved by its offset; corners are mitred; a fold stays on the fold. Notches keep
    their share of their edges, and so do darts; drill holes, cut-outs and lines inside stay, and those that would lie
    outside it are left out and said to be. What pressing takes is let out of it when it is of the same cloth, and it is
    no block. The piece is turned over: a lining's right side is the wearer's side, and so is an interfacing's. A lining
    is sewn to what was derived from the pieces that this one is sewn to, once both are there.

    Raises:
        PieceError: An edge is not there, its offset leaves nothing, or the name is taken.
    """
    piece = style.piece(step.piece)
    _refuse_taken(style, step.name)
    for name in step.offsets:
        piece.edge(name)
    offsets = [step.offsets.get(edge.name, 0.0 if edge.kind is EdgeKind.FOLD else step.offset) for edge in piece.edges]
    sides = [offset_either(edge.points, by) for edge, by in zip(piece.edges, offsets, strict=True)]
    count = len(sides)
    for number in range(count):
        following = (number + 1) % count
        joined = join(sides[number], sides[following])
        if joined is None:
            middle = (sides[number][-1] + sides[following][0]) / 2
            sides[number] = np.vstack([sides[number][:-1], middle])
            sides[following] = np.vstack([middle, sides[following][1:]])
        else:
            sides[number], sides[following] = joined[0], joined[1]
    where = f'piece "{step.name}"'
    drawn = [without_repeats(side) for side in sides]
    ring = np.vstack([side[:-1] for side in drawn])
    if min(len(side) for side in drawn) < 2 or signed_area(ring) <= 1.0 or _overrun(piece, drawn, offsets):
        raise PieceError("its offsets leave nothing of an edge", "Make them smaller", place=where)
    edges = tuple(replace(edge, points=side) for edge, side in zip(piece.edges, drawn, strict=True))
    share = {edge.name: length(new.points) / length(edge.points) for edge, new in zip(piece.edges, edges, strict=True)}
    new = replace(
        piece,
        name=step.name,
        cloth=step.cloth,
        edges=edges,
        notches=tuple(replace(notch, at=notch.at * share[notch.edge]) for notch in piece.notches),
        drills=_drilled_too(piece, ring),
        lines=tuple(part for line in piece.lines for part in clipped(line, ring)),
        construction=(),
        darts=tuple(
            replace(dart, start=dart.start * share[dart.edge], end=dart.end * share[dart.edge]) for dart in piece.darts
        ),
        cutouts=_cut_too(piece, ring, step.name),
        grain=grain_for(ring, piece.grain),
        **_handled_as(piece, step.cloth),
    )
    for dart in new.darts:
        if not contains(ring, np.array([dart.point]))[0]:
            raise PieceError(
                f'the point of its dart "{dart.name}" lies outside it', "Make its offsets smaller", place=where
            )
    new = replace(new, taken_off=piece.name)
    lost = [hole for hole in piece.drills if all(hole is not one for one in new.drills)]
    lost_cuts = [line for line in piece.cutouts if all(line is not one for one in new.cutouts)]
    sewn = step.cloth == "lining" if step.sewn is None else step.sewn
    derived = replace(
        style,
        pieces=(*style.pieces, mirrored(refuse_crossed(new))),
        findings=(*style.findings, *_left_out(piece, new, [*lost, *lost_cuts])),
    )
    return replace(derived, seams=(*style.seams, *_seams_too(derived, piece, new))) if sewn else derived


def _seams_too(style: Style, piece: Piece, new: Piece) -> Iterator[SewnSeam]:
    """The seams of a piece, between the pieces derived for one cloth: their edges run the other way, turned over."""
    fellows = {one.taken_off: one for one in style.pieces if one.cloth == new.cloth and one.taken_off}

    def side(names: tuple[tuple[str, str], ...]) -> tuple[tuple[str, str], ...]:
        found = [(fellows[name], edge) for name, edge in names if name in fellows]
        sewn = tuple((one.name, edge) for one, edge in found if any(line.name == edge for line in one.edges))
        return sewn if len(sewn) == len(names) else ()

    for seam in style.seams:
        if piece.name in {name for name, _ in (*seam.first, *seam.second)}:
            first, second = side(seam.first), side(seam.second)
            if first and second:
                yield replace(
                    seam,
                    name=f"{seam.name} ({new.cloth})",
                    first=first,
                    second=second,
                    first_from_end=not seam.first_from_end,
                    second_from_end=not seam.second_from_end,
                )


def _free(name: str, taken: Sequence[str]) -> str:
    """A name, with a number if it is taken."""
    number = 1
    called = name
    while called in taken:
        number += 1
        called = f"{name} {number}"
    return called


def _sewn(edge: Edge) -> Edge:
    """An edge of a facing: a hem of the piece is sewn there, and not turned again."""
    if edge.kind is not EdgeKind.HEM:
        return edge
    return replace(edge, kind=EdgeKind.SEAM, turns=())


def _refuse_darts_faced(piece: Piece, step: Facing) -> None:
    for dart in piece.darts:
        if dart.edge in step.edges:
            raise PieceError(
                f'its dart "{dart.name}" opens on the edge "{dart.edge}", and a facing lies where it is closed',
                "Take the facing off a piece whose dart is closed, or face another edge",
                place=f'piece "{piece.name}"',
            )


def _drilled_too(piece: Piece, ring: Line) -> tuple[DrillHole, ...]:
    """The drill holes of a piece that lie within a piece taken off it, not on its edge."""
    return tuple(hole for hole in piece.drills if contains(ring, np.array([hole.at]))[0] and not _on_edge(hole, ring))


def _on_edge(hole: DrillHole, ring: Line) -> bool:
    return float(distances(np.array([hole.at]), ring, closed=True)[0]) < hole.diameter / 2


def _left_out(piece: Piece, taken: Piece, lost: Sequence[DrillHole | NamedLine]) -> Iterator[Finding]:
    """What of a piece is not in a piece taken off it, and where it is on the first."""
    for one in lost:
        x, y = one.at if isinstance(one, DrillHole) else one.points.mean(axis=0)
        kind = "drill hole" if isinstance(one, DrillHole) else "cut-out"
        yield Finding(
            Severity.NOTE,
            f'piece "{piece.name}"',
            f'its {kind} "{one.name}" is left out of the piece "{taken.name}": it would not lie inside it',
            f"Move it, or make {taken.name} larger there, if it is wanted in both",
            (float(x), float(y)),
        )


def _cut_too(piece: Piece, ring: Line, name: str) -> tuple[NamedLine, ...]:
    """The cut-outs of a piece that lie within a piece taken off it.

    Raises:
        PieceError: One lies half in it.
    """
    kept = []
    for line in piece.cutouts:
        within = contains(ring, line.points)
        if within.all():
            kept.append(line)
        elif within.any():
            raise PieceError(f'the cut-out "{line.name}" lies half in it', "Move one of them", place=f'piece "{name}"')
    return tuple(kept)


class _Handled(TypedDict):
    press_shrink: tuple[float, float]
    block_margin: float


def _handled_as(piece: Piece, cloth: str) -> _Handled:
    """How a piece taken off another is pressed and cut: steam takes as much of the same cloth, and it is no block."""
    return {"press_shrink": piece.press_shrink if cloth == piece.cloth else (0.0, 0.0), "block_margin": 0.0}


def _refuse_taken(style: Style, name: str) -> None:
    if any(piece.name == name for piece in style.pieces):
        raise PieceError(f'there is a piece "{name}" already', "Give it another name", place=f'style "{style.name}"')


def _overrun(piece: Piece, drawn: list[Line], offsets: list[float]) -> bool:
    """Whether an edge moved in has run past the one across from it: its middle is not as far off as it should be."""
    for edge, side, by in zip(piece.edges, drawn, offsets, strict=True):
        middle = point_at(side, length(side) / 2)[0]
        if abs(float(distances(middle[None], ring_of(piece), closed=True)[0]) - abs(by)) > 0.5 and by < 0:
            return True
        if (side[-1] - side[0]) @ (edge.points[-1] - edge.points[0]) <= 0:
            return True
    return False


def _leaves(points: Line, path: shapely.LineString, width: float, where: str) -> Line:
    """A line that starts at the end of a path, up to where it is as far from the path as the facing is wide."""
    along = lengths_along(points)
    fine = np.unique(np.concatenate([along, np.arange(0.0, along[-1], 1.0)]))
    off: Line = np.array([path.distance(shapely.Point(point_at(points, float(at))[0])) for at in fine])
    beyond = np.flatnonzero(off >= width - 1e-9)
    if not len(beyond):
        raise PieceError(
            f"a facing {both_units(width)} wide is wider than the piece beside it", "Make it narrower", place=where
        )
    last = int(beyond[0])
    at = float(np.interp(width, off[last - 1 : last + 1], fine[last - 1 : last + 1]))
    return np.vstack([points[along < at - 1e-6], point_at(points, at)[0]])


def _outer(ring: Line, path: shapely.LineString, width: float, start: Line, end: Line, where: str) -> Line:
    """The line at the facing's width from a path, inside the piece, from one point on it to another."""
    far = path.buffer(width, quad_segs=64).exterior.intersection(shapely.Polygon(ring).buffer(0.5))
    lines = linemerge(far) if isinstance(far, shapely.MultiLineString) else far
    for line in shapely.get_parts(lines):
        ends = [line.project(shapely.Point(point)) for point in (start, end)]
        apart = [shapely.Point(point).distance(line) for point in (start, end)]
        if max(apart) < 0.6:
            between = np.array(substring(line, *ends).coords)
            found = without_repeats(np.vstack([start, between[1:-1], end]), 0.05)
            found[-1] = end
            return np.array(shapely.LineString(found).simplify(0.01).coords)
    raise PieceError(f"a facing {both_units(width)} wide falls apart inside the piece", "Make it narrower", place=where)
