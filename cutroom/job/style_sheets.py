"""Style sheets of a job: which pieces are shown, and where its findings are marked."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from cutroom.errors import CutroomError, FaultsError
from cutroom.geometry.polyline import length, point_at
from cutroom.job.pieces import Drafted, prepare_order
from cutroom.model.finding import Finding, Severity
from cutroom.model.order import Garment, Order
from cutroom.model.piece import Cut, NamedLine, Piece, Style
from cutroom.model.plot import Plot
from cutroom.model.prepared import PreparedPiece
from cutroom.plot.piece_view import Shown
from cutroom.plot.style_sheet import compose_style, look_at
from cutroom.prepare.axes import let_out, on_the_grain
from cutroom.prepare.label import cut_words
from cutroom.prepare.walk import check_walk

_PIECE, _EDGE, _SEAM = re.compile(r'piece "([^"]+)"'), re.compile(r'edge "([^"]+)"'), re.compile(r"seam (.+)")

Point = tuple[float, float]


def style_sheets(
    order: Order, drafted: Drafted, *, scale: float, construction: bool
) -> Iterator[tuple[tuple[str, str], Plot]]:
    """One sheet for each style and wearer of an order, as the first garment of that style is cut.

    Args:
        order: The order.
        drafted: Its styles.
        scale: 1 for full size, 4 for a quarter.
        construction: Construction lines are drawn.

    Yields:
        `(style, wearer)` and the sheet.
    """
    for key, style in drafted.styles.items():
        garment = next(garment for garment in order.garments if (garment.style, garment.wearer) == key)
        findings = findings_of(drafted, key)
        made = [_ready(order, garment, drafted, piece) for piece in style.pieces]
        findings += tuple(finding for _, finding in made if finding is not None and finding not in findings)
        marks = [(number, name, at) for number, found in enumerate(findings, 1) for name, at in places_of(found, style)]
        shown = [
            _shown(order, garment, piece, ready, [(number, at) for number, name, at in marks if name == piece.name])
            for piece, (ready, _) in zip(style.pieces, made, strict=True)
        ]
        yield (
            key,
            compose_style(
                shown,
                look_at(scale, order.unit, construction=construction),
                title=f"{order.title}: {style.name}, {style.size}",
                facts=[f"{name}: {text}" for name, text in style.facts],
                findings=findings,
            ),
        )


def findings_of(drafted: Drafted, key: tuple[str, str]) -> tuple[Finding, ...]:
    """The findings that are about one style in one size; what names neither is on every sheet."""
    own = check_walk(drafted.walked[key])
    others = [finding for other, walked in drafted.walked.items() if other != key for finding in check_walk(walked)]
    codes = {size for _, size in drafted.styles if size != key[1]}
    return tuple(
        finding
        for finding in drafted.findings
        if finding in own or (finding not in others and not any(_names(finding.place, code) for code in codes))
    )


def _names(place: str, code: str) -> bool:
    return re.search(rf"(?<!\w){re.escape(code)}(?!\w)", re.sub(r'"[^"]*"', "", place)) is not None


def places_of(finding: Finding, style: Style) -> Iterator[tuple[str, Point]]:
    """Pieces that a finding is about, and where on each: the point it gives, else the middle of its edge or seam.

    Args:
        finding: Its place names a piece, a piece and an edge, or a seam.
        style: The style it was found in.

    Yields:
        Name of the piece, and a point in its own frame (mm).
    """
    named = _PIECE.search(finding.place)
    piece = next((piece for piece in style.pieces if named and piece.name == named[1]), None)
    if piece is not None:
        edge = _EDGE.search(finding.place)
        line = next((one.points for one in piece.edges if edge and one.name == edge[1]), None)
        if finding.at is not None:
            yield piece.name, finding.at
        elif line is not None:
            yield piece.name, _middle(line)
        else:
            yield piece.name, _centre(piece)
        return
    sewn = _SEAM.fullmatch(finding.place)
    for seam in style.seams:
        if sewn and seam.name == sewn[1]:
            for side in (seam.first, seam.second):
                name, edge_name = side[len(side) // 2]
                yield name, _middle(style.piece(name).edge(edge_name).points)


def _middle(line: np.ndarray[tuple[int, int], np.dtype[np.float64]]) -> Point:
    x, y = point_at(line, length(line) / 2)[0]
    return float(x), float(y)


def _centre(piece: Piece) -> Point:
    x, y = piece.grain.mean(axis=0)
    return float(x), float(y)


def _ready(
    order: Order, garment: Garment, drafted: Drafted, piece: Piece
) -> tuple[PreparedPiece | None, Finding | None]:
    """The piece made ready, or what keeps it from being so."""
    key = garment.style, garment.wearer
    alone = replace(drafted, styles={key: replace(drafted.styles[key], pieces=(piece,))})
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
    return Shown(
        replace(moved, construction=moved.construction[:kept]), ready, f"{words}{opened}, {fabric.name}", places
    )
