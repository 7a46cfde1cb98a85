"""The cover of a tiled drawing: what it is, a map of its sheets, how to join them, and two squares to measure."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from cutroom.errors import PlotError
from cutroom.geometry.lettering import text_strokes, text_width
from cutroom.model.plot import Role, Tiling
from cutroom.write.pdf_strokes import PT, line_operators

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

GREY = 0.6
"""Grey of everything on a sheet that is not the drawing."""
SQUARE_CM, SQUARE_IN = 100.0, 101.6
"""Sides of the test squares (mm): 10 cm, and 4 in of 25.4 mm."""

_GAP, _TITLE = 8.0, 26.0  # between the things on the page; height of its head (mm)
_NARROWEST = 40.0  # of a column of text (mm)
_MAP = 0.45  # of the height of its column, at most
_STEPS = (
    "1. Print all pages at 100 %, actual size. Never let the printer fit them to the page.",
    "2. Measure both squares on this page before you cut anything. The 10 cm square must be 99.5 to 100.5 mm each way.",
    "3. If it is not, enter what you measured in the job and print again.",
    "4. Trim every sheet along its dashed grey lines, at the left and at the bottom.",
    "5. Join each row from left to right, then the rows from A upwards. Lay the trimmed edge over its neighbour.",
    "6. Tape where the diamonds of the same name lie on each other.",
)


@dataclass(frozen=True, slots=True)
class _Box:
    left: float
    bottom: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class _Layout:
    squares: tuple[tuple[float, float], tuple[float, float]]  # lower-left corners: 4 in, 10 cm
    column: _Box  # the map at its top, text under it
    steps: _Box | None  # where the steps go, if not in the column


def draw_cover(canvas: "Canvas", tiling: Tiling) -> None:
    """Draw the cover on the canvas's page.

    Raises:
        PlotError: The paper is too small for it, or a word cannot be written.
    """
    layout = _layout(tiling)
    _draw_title(canvas, tiling)
    _draw_squares(canvas, tiling, layout)
    column = layout.column
    under = _Box(column.left, column.bottom, column.width, _draw_map(canvas, tiling, column) - column.bottom - _GAP)
    steps, words = [(step, 10.0) for step in _steps(tiling)], [(line, 10.0) for line in tiling.words]
    if layout.steps is None:
        _draw_texts(canvas, [*steps, *words], under)
    else:
        _draw_texts(canvas, steps, layout.steps)
        _draw_texts(canvas, words, under)


def _layout(tiling: Tiling) -> _Layout:
    """Squares one over the other on upright paper, side by side on paper that lies on its side."""
    width, height = tiling.printable
    across, up = (SQUARE_IN * factor for factor in tiling.correction)
    left = bottom = tiling.margin
    body = height - _TITLE
    if width >= across + _GAP + _NARROWEST and body >= 2 * up + _GAP:
        column = _Box(left + across + _GAP, bottom, width - across - _GAP, body)
        return _Layout(((left, bottom), (left, bottom + up + _GAP)), column, None)
    if width >= 2 * across + 2 * _GAP + _NARROWEST and body >= up + _NARROWEST + _GAP:
        right = left + 2 * (across + _GAP)
        column = _Box(right, bottom, left + width - right, body)
        steps = _Box(left, bottom + up + _GAP, right - left - _GAP, body - up - _GAP)
        return _Layout(((left, bottom), (left + across + _GAP, bottom)), column, steps)
    raise PlotError(
        f"its printable area is {width:g} x {height:g} mm, too small for the cover's test squares",
        "Take larger paper such as A4 or Letter, or make the margins smaller",
        place=f'paper "{tiling.paper}"',
    )


def _draw_title(canvas: "Canvas", tiling: Tiling) -> None:
    from reportlab.pdfbase.pdfmetrics import stringWidth

    width, height = tiling.printable
    left, top = tiling.margin, tiling.margin + height
    if not _has_letters(tiling.title):
        _draw_lettered(canvas, tiling.title, left, top - 9, width, 6.0)
    else:
        size = 22.0 * min(1.0, width * PT / max(stringWidth(tiling.title, "Helvetica-Bold", 22), 1.0))
        canvas.setFont("Helvetica-Bold", size)
        canvas.drawString(left * PT, (top - 9) * PT, tiling.title)
    sheets = len(tiling.tiles)
    canvas.setFont("Helvetica", 10)
    canvas.drawString(
        left * PT, (top - 16) * PT, f"{sheets} sheet{'s' * (sheets != 1)} of {tiling.paper}, and this page"
    )
    canvas.setLineWidth(0.6)
    canvas.line(left * PT, (top - 19) * PT, (left + width) * PT, (top - 19) * PT)


def write_small(canvas: "Canvas", text: str, left: float, bottom: float, size: float) -> None:
    """A line of small type (pt) at a place (mm), in strokes when the font lacks a letter of it."""
    if _has_letters(text):
        canvas.setFont("Helvetica", size)
        canvas.drawString(left * PT, bottom * PT, text)
    else:
        _draw_lettered(canvas, text, left, bottom, 1e9, 0.7 * size / PT)


def _draw_lettered(canvas: "Canvas", text: str, left: float, bottom: float, width: float, height: float) -> None:
    """Words that the page's own fonts lack, as strokes."""
    try:
        height *= min(1.0, width / max(text_width(text, height), 1e-9))
        strokes = text_strokes(text, height)
    except ValueError as error:
        raise PlotError(str(error), "Write the title with Latin letters", place="title") from error
    canvas.setLineWidth(height / 12 * PT)
    for stroke in strokes:
        canvas.addLiteral(line_operators((stroke + np.array([left, bottom])) * PT, closed=False))


def _draw_squares(canvas: "Canvas", tiling: Tiling, layout: _Layout) -> None:
    canvas.setLineWidth(0.5)
    named = ((SQUARE_IN, "4 in", "101.6 mm"), (SQUARE_CM, "10 cm", "100.0 mm"))
    for (left, bottom), (side, name, exact) in zip(layout.squares, named, strict=True):
        width, height = (side * factor * PT for factor in tiling.correction)
        canvas.rect(left * PT, bottom * PT, width, height)
        x, y = left * PT + width / 2, bottom * PT + height / 2
        canvas.setFont("Helvetica-Bold", 24)
        canvas.drawCentredString(x, y, name)
        canvas.setFont("Helvetica", 10)
        canvas.drawCentredString(x, y - 6 * PT, f"{exact} each way: measure it")


def _draw_map(canvas: "Canvas", tiling: Tiling, box: _Box) -> float:
    """Where each sheet goes, with the pieces small on it; a blank sheet has no name. Returns its lower edge (mm)."""
    window, step = np.array(tiling.window), np.array(tiling.window) - tiling.overlap
    whole = step * (tiling.columns, tiling.rows) + tiling.overlap
    scale = min(box.width / whole[0], box.height * _MAP / whole[1])
    left, bottom = box.left, float(box.bottom + box.height - whole[1] * scale)
    there = {(tile.row, tile.column): tile for tile in tiling.tiles}
    corner = np.array([left, bottom])
    canvas.setStrokeGray(GREY)
    canvas.setLineWidth(0.4)
    for row in range(tiling.rows):
        for column in range(tiling.columns):
            x, y = (corner + (column, row) * step * scale) * PT
            last = np.array([column == tiling.columns - 1, row == tiling.rows - 1])
            width, height = np.where(last, window, step) * scale * PT
            canvas.rect(float(x), float(y), float(width), float(height))
    if tiling.tiles:
        origin = np.array(tiling.tiles[0].lower) - (tiling.tiles[0].column, tiling.tiles[0].row) * step
        canvas.setStrokeColorRGB(0.30, 0.47, 0.66)
        canvas.setLineWidth(0.3)
        for stroke in (stroke for tile in tiling.tiles for stroke in tile.strokes if stroke.role is Role.CUT):
            small = np.round(((stroke.points - origin) * scale + corner) * PT, 1)
            moved = np.append(True, (small[1:] != small[:-1]).any(axis=1))
            canvas.addLiteral(line_operators(small[moved], closed=stroke.closed))
    canvas.setFillGray(0)
    size = float(min(9.0, step[0] * scale * PT / 3))
    canvas.setFont("Helvetica-Bold", size)
    for (row, column), tile in there.items():
        x, y = (corner + (np.array([column, row]) + 0.5) * step * scale) * PT
        canvas.drawCentredString(float(x), float(y) - size * 0.35, tile.name)
    canvas.setStrokeGray(0)
    return bottom


def _steps(tiling: Tiling) -> list[str]:
    if tiling.correction == (1.0, 1.0):
        return list(_STEPS)
    x, y = tiling.correction
    return [f"Corrected for this printer: {x:.2%} across the page, {y:.2%} up the page, squares and all.", *_STEPS]


def _draw_texts(canvas: "Canvas", texts: Sequence[tuple[str, float]], box: _Box) -> None:
    """Paragraphs, each with its size of type (points), made smaller together until they fit their box."""
    lines: list[tuple[str, float, float]] = []
    for smaller in (1.0, 0.9, 0.8, 0.7, 0.6, 0.5):
        lines = [line for text, size in texts for line in _split(text, size * smaller, box.width * PT)]
        if sum(size * 1.3 + space for _, size, space in lines) <= box.height * PT:
            break
    y = (box.bottom + box.height) * PT
    for line, size, space in lines:
        y -= size * 1.3
        if _has_letters(line):
            canvas.setFont("Helvetica", size)
            canvas.drawString(box.left * PT, y, line)
        else:
            _draw_lettered(canvas, line, box.left, y / PT, box.width, size / PT * 0.7)
        y -= space


def _split(text: str, size: float, width_pt: float) -> list[tuple[str, float, float]]:
    """Lines of a paragraph: words, size of type and space after (points)."""
    from reportlab.lib.utils import simpleSplit

    lines = simpleSplit(text, "Helvetica", size, width_pt) if _has_letters(text) else [text]
    return [(line, size, size * 0.5 if place == len(lines) else 0.0) for place, line in enumerate(lines, start=1)]


def _has_letters(text: str) -> bool:
    """The page's own fonts have every letter of a text."""
    return text.encode("cp1252", "replace").decode("cp1252") == text
