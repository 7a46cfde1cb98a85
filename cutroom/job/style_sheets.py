"""Style sheets of a job: which pieces are shown, and where its findings are marked."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from cutroom.errors import CutroomError, FaultsError
from cutroom.geometry.polyline import length, point_at
from cutroom.job.pieces import Drafted, draft_order, prepare_order, walk_as_cut
from cutroom.model.arrays import Points
from cutroom.model.finding import Finding, Severity
from cutroom.model.order import Garment, Order
from cutroom.model.piece import Cut, NamedLine, Piece, Style
from cutroom.model.plot import Plot
from cutroom.model.prepared import PreparedPiece
from cutroom.plot.piece_view import Shown
from cutroom.plot.style_sheet import compose_style, look_at
from cutroom.prepare.axes import let_out, on_the_grain
from cutroom.prepare.label import cut_words
from cutroom.prepare.walk import walk
from cutroom.units import format_length

_PIECE, _EDGE, _DART = (re.compile(f'{word} "([^"]+)"') for word in ("piece", "edge", "dart"))

_EASE = 0.5
"""A seam whose sides differ by no more than this (mm) has no ease worth a word."""

Point = tuple[float, float]


def style_sheets(order: Order, *, scale: float, construction: bool) -> Iterator[tuple[tuple[str, str], Plot]]:
    """One sheet for each style and wearer of an order, as the first garment of that style is cut.

    Args:
        order: The order.
        scale: 1 for full size, 4 for a quarter.
        construction: Construction lines are drawn.

    Yields:
        `(style, wearer)` and the sheet.

    Raises:
        CutroomError: All that cannot be drafted, together.
    """
    for key, style in draft_order(order).styles.items():
        garment = next(garment for garment in order.garments if (garment.style, garment.wearer) == key)
        findings = draft_order(replace(order, garments=(garment,))).findings  # those of this style alone
        yield key, style_sheet(order, garment, style, findings, scale=scale, construction=construction)


def style_sheet(
    order: Order, garment: Garment, style: Style, findings: tuple[Finding, ...], *, scale: float, construction: bool
) -> Plot:
    """The sheet of one style.

    Args:
        order: The order.
        garment: The line of it that says which fabrics the style is cut from.
        style: The style, with its allowances; a piece that cannot be prepared is drawn on its seam line.
        findings: What was found about it.
        scale: 1 for full size, 4 for a quarter.
        construction: Construction lines are drawn.
    """
    made = [_ready(order, garment, style, piece) for piece in style.pieces]
    findings += tuple(finding for _, finding in made if finding is not None and finding not in findings)
    marks = [(number, name, at) for number, found in enumerate(findings, 1) for name, at in places_of(found, style)]
    shown = [
        _shown(order, garment, piece, ready, [(number, at) for number, name, at in marks if name == piece.name])
        for piece, (ready, _) in zip(style.pieces, made, strict=True)
    ]
    return compose_style(
        shown,
        look_at(scale, order.unit, construction=construction),
        title=f"{order.title}: {style.name}, {style.size}",
        facts=[f"{name}: {text}" for name, text in (*style.facts, *_eases(order, garment, style))],
        findings=findings,
    )


def _eases(order: Order, garment: Garment, style: Style) -> Iterator[tuple[str, str]]:
    """Ease of the seams whose pieces are let out for shrinkage: as it is cut, and as it is sewn after the wash."""
    sewn = {seam.seam: seam.difference for seam in walk(style)}
    for seam in walk_as_cut(order, garment, style):
        before, after = seam.difference, sewn[seam.seam]
        if max(abs(before), abs(after)) > _EASE:
            said = [format_length(one, order.unit, sixteenths=False) for one in (before, after)]
            yield f"ease of {seam.seam}", f"{said[0]} as cut, {said[1]} after shrinking"


def places_of(finding: Finding, style: Style) -> Iterator[tuple[str, Point]]:
    """Pieces that a finding is about, and where on each: the point it gives, else the middle of its edge or seam.

    Args:
        finding: Its place names a piece, a piece and an edge, or a seam.
        style: The style it was found in.

    Yields:
        Name of the piece, and a point in its own frame (mm).
    """
    if finding.spots:
        yield from finding.spots
        return
    named = _PIECE.search(finding.place)
    piece = next((piece for piece in style.pieces if named and piece.name == named[1]), None)
    if piece is not None:
        yield piece.name, finding.at or _named_place(finding.place, piece)
        return
    for seam in style.seams:
        if finding.place == f"seam {seam.name}" or finding.place.startswith(f"seam {seam.name}:"):
            for side in (seam.first, seam.second):
                name, edge = side[len(side) // 2]
                yield name, _middle(style.piece(name).edge(edge).points)


def _named_place(place: str, piece: Piece) -> Point:
    """The point of the dart, or the middle of the edge, that a place names; else the middle of the grainline."""
    edge, dart = _EDGE.search(place), _DART.search(place)
    for one in piece.darts:
        if dart and one.name == dart[1]:
            return one.point
    for line in piece.edges:
        if line.name in {found[1] for found in (edge, dart) if found}:
            return _middle(line.points)
    return _middle(piece.grain)


def _middle(line: Points) -> Point:
    x, y = point_at(line, length(line) / 2)[0]
    return float(x), float(y)


def _ready(order: Order, garment: Garment, style: Style, piece: Piece) -> tuple[PreparedPiece | None, Finding | None]:
    """The piece made ready, or what keeps it from being so."""
    key = garment.style, garment.wearer
    alone = Drafted({key: replace(style, pieces=(piece,))}, {}, ())
    try:
        return prepare_order(replace(order, garments=(garment,)), alone)[0], None
    except CutroomError as fault:
        first = fault.faults[0] if isinstance(fault, FaultsError) else fault
        place = first.place if _PIECE.search(first.place) else f'piece "{piece.name}"'
        return None, Finding(Severity.STOP, place, first.what, first.fix)


def _shown(
    order: Order, garment: Garment, piece: Piece, ready: PreparedPiece | None, marks: Sequence[tuple[int, Point]]
) -> Shown:
    """The piece in the axes it was prepared in, its marks carried there as lines of no length."""
    words = cut_words(piece)
    if ready is None:
        return Shown(piece, None, words, tuple(marks))
    fabric = order.fabrics[garment.fabrics[piece.cloth]]
    marked = tuple(NamedLine(f"{number}", np.array([at, at])) for number, at in marks)
    moved = on_the_grain(replace(piece, construction=(*piece.construction, *marked)))
    moved = let_out(moved, fabric.shrink_warp or 0.0, fabric.shrink_weft or 0.0)
    kept = len(piece.construction)
    places = tuple(
        (int(line.name), (float(line.points[0, 0]), float(line.points[0, 1]))) for line in moved.construction[kept:]
    )
    opened = ", opened out" if piece.cut is Cut.FOLD and ready.cut is not Cut.FOLD else ""
    if opened:
        words = f"cut {piece.quantity}"
    drafted = {edge.name: length(edge.points) for edge in piece.edges}
    shown = replace(moved, construction=moved.construction[:kept])
    return Shown(shown, ready, f"{words}{opened}, {fabric.name}", places, drafted)
