"""Pieces given outright by points: read, judged, and turned counter-clockwise when they were drawn the other way."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import CutroomError, PieceError
from cutroom.geometry.curve import smooth_curve
from cutroom.geometry.polygon import bounds, contains, crossing_place, distances, signed_area
from cutroom.geometry.polyline import length
from cutroom.model.piece import Cut, DrillHole, Edge, EdgeKind, Hand, NamedLine, Notch, Piece, SewnSeam
from cutroom.read.cloth import read_shares
from cutroom.read.finish import (
    read_dart,
    read_edge_finish,
    read_notch,
    read_row,
    turned_darts,
    turned_edge,
)
from cutroom.read.reading import Reading, joined
from cutroom.read.shapes import DrillShape, EdgeShape, LineShape, PieceShape, SeamShape

MEETS = 0.01
"""Ends of two edges that are no further apart (mm) are one point."""
STRAIGHT = 0.05
"""A fold edge may stray this far (mm) from a straight line."""
_GRAINS = {"up": (0.0, 1.0), "down": (0.0, -1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0)}


@dataclass(frozen=True, slots=True)
class Allowances:
    """What a style says of allowances.

    Attributes:
        named: By edge, or by `piece.edge` (mm).
        plain: Of every other edge (mm).
        hem: Of every other hem (mm).
    """

    named: Mapping[str, float]
    plain: float
    hem: float

    def of(self, piece: str, edge: str, kind: EdgeKind) -> float:
        """The allowance (mm) of an edge that does not say its own."""
        if kind is EdgeKind.FOLD:
            return 0.0
        usual = self.hem if kind is EdgeKind.HEM else self.plain
        return self.named.get(f"{piece}.{edge}", self.named.get(edge, usual))


def read_piece(reading: Reading, raw: object, place: str, number: int, allowances: Allowances) -> Piece | None:
    """One piece, or None after noting what is wrong with it."""
    before = len(reading.found)
    named = raw.get("name") if isinstance(raw, dict) else None
    place = f'{place}, piece "{named}"' if isinstance(named, str) else f"{place}, piece {number}"
    shape = reading.table(PieceShape, raw, place)
    name = reading.asked(shape.name, joined(place, "name"), "sheets and seams call it by its name", 'name = "front"')
    cut = reading.asked(
        reading.word(Cut, shape.cut, joined(place, "cut"), PieceError),
        joined(place, "cut"),
        "without it a left or a right is forgotten",
        'cut = "pair", "single" or "fold"',
    )
    hand = reading.word(Hand, shape.hand, joined(place, "hand"), PieceError)
    if shape.quantity is not None and shape.quantity < 1:
        reading.fault(joined(place, "quantity"), f"{shape.quantity} is none", "Write 1 or more", PieceError)
    lines = [_read_line(reading, line, f"{place}, line {n}") for n, line in enumerate(shape.lines or (), start=1)]
    cutouts = [_read_line(reading, one, f"{place}, cut-out {n}") for n, one in enumerate(shape.cutouts or (), start=1)]
    edges, notches = _read_edges(reading, shape.edges or (), place, name or "", allowances, lines)
    drills = [_read_drill(reading, drill, f"{place}, drill {n}") for n, drill in enumerate(shape.drills or (), start=1)]
    for n, row in enumerate(shape.rows or (), start=1):
        drills += read_row(reading, row, f"{place}, row {n}")
    by_name = {edge.name: edge for edge in edges}
    read_darts = [read_dart(reading, one, f"{place}, dart {n}", by_name) for n, one in enumerate(shape.darts or (), 1)]
    darts = tuple(dart for dart in read_darts if dart is not None)
    pressing = read_shares(reading, shape.pressing, joined(place, "pressing"))
    block = reading.length(shape.block, joined(place, "block"), positive=True)
    reading.asked(
        shape.grain, joined(place, "grain"), "a piece laid off its grain twists", 'grain = "down", up, left or right'
    )
    if name is None or cut is None or len(reading.found) > before or not _judge_ring(reading, edges, place):
        return None
    ring = np.vstack([edge.points[:-1] for edge in edges])
    if signed_area(ring) < 0:
        darts = turned_darts(darts, {edge.name: length(edge.points) for edge in edges})
        edges, notches = _turned_round(edges, notches)
        ring = ring[::-1]
    _judge_fold(reading, edges, ring, cut, place)
    _judge_hems(reading, edges, ring, place)
    _judge_drills(reading, drills, ring, place)
    grain = _read_grain(reading, shape.grain, ring, joined(place, "grain"))
    if grain is None or len(reading.found) > before:
        return None
    return Piece(
        name=name,
        edges=tuple(edges),
        grain=grain,
        cut=cut,
        quantity=shape.quantity or 1,
        cloth=shape.cloth or "self",
        crossways=bool(shape.crossways),
        hand=hand or Hand.LEFT,
        notches=tuple(notches),
        drills=tuple(drill for drill in drills if drill is not None),
        lines=tuple(line for line in lines if line is not None),
        darts=darts,
        cutouts=tuple(line for line in cutouts if line is not None),
        press_shrink=pressing,
        block_margin=block or 0.0,
    )


def read_seam(reading: Reading, raw: object, place: str, edges: Mapping[str, tuple[str, str]]) -> SewnSeam | None:
    """One seam, or None after noting what is wrong with it.

    Args:
        reading: The file being read.
        raw: The table.
        place: Where it stands.
        edges: `(piece, edge)` by `piece.edge`.
    """
    shape = reading.table(SeamShape, raw, place)
    sides = []
    for key, names in (("first", shape.first), ("second", shape.second)):
        reading.asked(names or None, joined(place, key), "a seam has two sides", f'{key} = ["front.side"]')
        good = [edges[one] for one in names or () if reading.known(one, edges, joined(place, key), "edge", PieceError)]
        sides.append(tuple(good) if good and len(good) == len(names or ()) else None)
    ease = reading.length(shape.ease, joined(place, "ease"), negative=True) or 0.0
    within = reading.length(shape.within, joined(place, "within"))
    first, second = sides
    if first is None or second is None:
        return None
    name = (
        shape.name or f"{' + '.join('.'.join(one) for one in first)} and {' + '.join('.'.join(one) for one in second)}"
    )
    return SewnSeam(
        name,
        first,
        second,
        ease,
        1.0 if within is None else within,
        first_from_end=bool(shape.first_from_end),
        second_from_end=bool(shape.second_from_end),
    )


def _read_edges(
    reading: Reading,
    raws: tuple[object, ...],
    place: str,
    piece: str,
    allowances: Allowances,
    lines: list[NamedLine | None],
) -> tuple[list[Edge], list[Notch]]:
    edges: list[Edge] = []
    notches: list[Notch] = []
    for number, raw in enumerate(raws, start=1):
        named = raw.get("name") if isinstance(raw, dict) else None
        here = f'{place}, edge "{named}"' if isinstance(named, str) else f"{place}, edge {number}"
        shape = reading.table(EdgeShape, raw, here)
        name = reading.asked(shape.name, joined(here, "name"), "allowances and seams name it", 'name = "side"')
        points = None if shape.points is None else reading.points(shape.points, here)
        if shape.points is None or (points is not None and len(points) < 2):
            reading.asked(None, joined(here, "points"), "an edge has two ends", "points = [[0, 28], [0, 0]]")
            points = None
        kind = EdgeKind.SEAM
        if shape.kind is not None:
            kind = reading.word(EdgeKind, shape.kind, joined(here, "kind"), PieceError) or kind
        allowance = reading.length(shape.allowance, joined(here, "allowance"))
        corner, turns = read_edge_finish(reading, shape.corner, shape.turns, here)
        if points is None or name is None:
            continue
        if any(edge.name == name for edge in edges):
            reading.fault(here, "the piece has two edges of that name", "Give each its own name", PieceError)
        points = np.vstack([points[:1], points[1:][np.hypot(*np.diff(points, axis=0).T) > MEETS]])
        if len(points) < 2:
            reading.fault(here, "all its points are in one place", "Give it a start and an end", PieceError)
            continue
        try:
            edge = Edge(
                name,
                smooth_curve(points) if shape.curve else points,
                allowances.of(piece, name, kind) if allowance is None else allowance,
                kind,
                corner,
            )
        except CutroomError as error:
            reading.found.append(type(error)(error.what, error.fix, reading.file, joined(here, "allowance")))
            continue
        if turns:
            edge = turned_edge(reading, edge, turns, here)
        edges.append(edge)
        for n, notch in enumerate(shape.notches or (), start=1):
            found = read_notch(reading, notch, f"{here}, notch {n}", edge, lines)
            notches += [] if found is None else [found]
    return edges, notches


def _read_drill(reading: Reading, raw: object, place: str) -> DrillHole | None:
    shape = reading.table(DrillShape, raw, place)
    at = None if shape.at is None else reading.point(shape.at, place)
    reading.asked(shape.at, joined(place, "at"), "it must be somewhere", "at = [3, 4]")
    diameter = reading.length(shape.diameter, joined(place, "diameter"), positive=True)
    return None if at is None else DrillHole(shape.name or "", at, diameter or 2.0)


def _read_line(reading: Reading, raw: object, place: str) -> NamedLine | None:
    shape = reading.table(LineShape, raw, place)
    points = None if shape.points is None else reading.points(shape.points, place)
    if shape.points is None or len(shape.points) < 2:
        reading.asked(None, joined(place, "points"), "a line has two ends", "points = [[0, 0], [1, 4]]")
        return None
    return None if points is None else NamedLine(shape.name or "", points)


def _judge_ring(reading: Reading, edges: list[Edge], place: str) -> bool:
    """Whether the edges close to an outline that does not cross itself."""
    if not edges:
        reading.asked(None, joined(place, "edges"), "a piece has an outline", f"[[...edges]] tables under {place}")
        return False
    good = True
    for edge, following in zip(edges, [*edges[1:], edges[0]], strict=True):
        end, start = edge.points[-1], following.points[0]
        apart = float(np.hypot(*(end - start)))
        if apart > MEETS:
            good = False
            reading.fault(
                f'{place}, edge "{edge.name}"',
                f'it ends at {_at(reading, end)} but edge "{following.name}" starts at {_at(reading, start)}, '
                f"{reading.say(apart)} away",
                "Write the same point for both",
                PieceError,
            )
    if not good:
        return False
    ring = np.vstack([edge.points[:-1] for edge in edges])
    if len(ring) < 3 or abs(signed_area(ring)) < 1.0:
        reading.fault(place, "its outline holds no cloth", "Check its points and their unit", PieceError)
        return False
    crossing = crossing_place(ring)
    if crossing is not None:
        where = _at(reading, np.array(crossing))
        reading.fault(place, f"its outline crosses itself at {where}", "Put the points in order round it", PieceError)
        return False
    return True


def _turned_round(edges: list[Edge], notches: list[Notch]) -> tuple[list[Edge], list[Notch]]:
    """The same outline the other way round; notches keep their places."""
    lengths = {edge.name: length(edge.points) for edge in edges}
    before = [edges[i - 1].corner for i in range(len(edges))]  # what stood at its start now stands at its end
    turned = [
        replace(edge, points=edge.points[::-1], corner=corner.turned)
        for edge, corner in zip(reversed(edges), reversed(before), strict=True)
    ]
    return turned, [replace(notch, at=max(lengths[notch.edge] - notch.at, 0.0)) for notch in notches]


def _judge_fold(reading: Reading, edges: list[Edge], ring: NDArray[np.float64], cut: Cut, place: str) -> None:
    folds = [edge for edge in edges if edge.kind is EdgeKind.FOLD]
    if cut is Cut.FOLD and len(folds) != 1:
        reading.fault(
            joined(place, "cut"),
            f"it is cut on the fold and has {len(folds) or 'no'} fold edge{'s' if len(folds) > 1 else ''}",
            'Give exactly one edge kind = "fold"',
            PieceError,
        )
    for fold in folds:
        here = f'{place}, edge "{fold.name}"'
        if cut is not Cut.FOLD:
            reading.fault(
                here, f"it is a fold edge of a piece cut {cut.value}", 'Write cut = "fold", or another kind', PieceError
            )
            continue
        if fold.allowance:
            reading.fault(
                joined(here, "allowance"),
                "a fold is not cut, so it has no allowance",
                "Leave its allowance out",
                PieceError,
            )
        start, end = fold.points[0], fold.points[-1]
        along = (end - start) / max(float(np.hypot(*(end - start))), MEETS)
        across = (ring - start) @ np.array([-along[1], along[0]])
        astray = float(np.abs((fold.points - start) @ np.array([-along[1], along[0]])).max())
        if astray > STRAIGHT:
            reading.fault(
                here, f"the fold is not straight, it strays {astray:.2f} mm", "Give it its two ends only", PieceError
            )
        elif across.min() < -STRAIGHT:
            reading.fault(
                here, "part of the piece lies beyond its fold", "Draw the half on one side of the fold", PieceError
            )


def _judge_hems(reading: Reading, edges: list[Edge], ring: NDArray[np.float64], place: str) -> None:
    for edge in edges:
        if edge.kind is not EdgeKind.HEM:
            continue
        depth = float(distances(ring, edge.points[[0, -1]]).max())
        if edge.allowance >= depth:
            reading.fault(
                f'{place}, edge "{edge.name}"',
                f"its hem is {reading.say(edge.allowance)}, wider than the piece, which is {reading.say(depth)}",
                "Write a hem that the piece can take up",
                PieceError,
            )


def _judge_drills(reading: Reading, drills: list[DrillHole | None], ring: NDArray[np.float64], place: str) -> None:
    for number, drill in enumerate(drills, start=1):
        if drill is not None and not contains(ring, np.array([drill.at]))[0]:
            where = _at(reading, np.array(drill.at))
            reading.fault(f"{place}, drill {number}", f"{where} is outside the piece", "Put it inside", PieceError)


def _read_grain(reading: Reading, written: object, ring: NDArray[np.float64], place: str) -> NDArray[np.float64] | None:
    if isinstance(written, str):
        if not reading.known(written, _GRAINS, place, "grain", PieceError):
            return None
        return _line_inside(ring, np.array(_GRAINS[written]))
    if not isinstance(written, tuple):
        return None
    grain = reading.points(written, place)
    if grain is not None and np.hypot(*(grain[1] - grain[0])) < 1.0:
        reading.fault(place, "the grainline has no length", "Give it two points apart", PieceError)
        return None
    return grain


def _line_inside(ring: NDArray[np.float64], along: NDArray[np.float64]) -> NDArray[np.float64]:
    """A grainline `(2, 2)` in a direction: near the middle of the piece, well inside, as long as may be."""
    axes = np.array([along, [-along[1], along[0]]])
    turned = ring @ axes.T
    _, low, _, high = bounds(turned)
    best = (0.0, 0.0, 0.0)
    for share in (0.5, 0.45, 0.55, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9):
        y = low + share * (high - low)
        ends = np.roll(turned, -1, axis=0)
        spans = (turned[:, 1] <= y) != (ends[:, 1] <= y)
        first, last = turned[spans], ends[spans]
        meets = np.sort(first[:, 0] + (y - first[:, 1]) * (last[:, 0] - first[:, 0]) / (last[:, 1] - first[:, 1]))
        for start, end in zip(meets[::2], meets[1::2], strict=True):
            if end - start > 1.1 * (best[1] - best[0]):  # off the middle only where that gains a good deal
                best = (float(start), float(end), float(y))
    start, end, y = best
    room = 0.15 * (end - start)
    line: NDArray[np.float64] = np.array([[start + room, y], [end - room, y]]) @ axes
    return line


def _at(reading: Reading, point: NDArray[np.float64]) -> str:
    return f"({reading.say(float(point[0]))}, {reading.say(float(point[1]))})"
