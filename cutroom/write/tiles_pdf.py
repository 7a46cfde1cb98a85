"""A drawing on sheets of paper: a cover with test squares, then every sheet that is not blank."""

import io
import zlib
from typing import TYPE_CHECKING

from cutroom.model.plot import Tile, Tiling
from cutroom.write.pdf_strokes import PT, QUICK, stroke_operators
from cutroom.write.tiles_cover import GREY, draw_cover, write_small

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

_DIAMOND = 3.5  # from the middle of a join mark to its corners (mm)
_RIGHT, _UP = (0, 1), (1, 0)


def write_tiles(tiling: Tiling) -> bytes:
    """The sheets as a PDF at true size, or corrected for the printer.

    Args:
        tiling: The sheets, each with its strokes cut off at the printable area.

    Returns:
        The cover, then row after row from the bottom. Sheets carry their name, a grey frame, and grey join marks that
        meet their like on the neighbouring sheet.

    Raises:
        PlotError: The paper is too small for the cover's test squares, or a word cannot be written.
    """
    from reportlab import rl_config
    from reportlab.pdfbase import pdfdoc
    from reportlab.pdfgen.canvas import Canvas

    class Quickly(pdfdoc.PDFStreamFilterZCompress):
        """Compresses pages less hard than reportlab does."""

        def encode(self, text: str | bytes) -> bytes:
            return zlib.compress(text.encode() if isinstance(text, str) else text, QUICK)

    rl_config.useA85 = 0  # bytes as they are: letters for seven-bit lines take a fifth more room, and time
    pdfdoc.PDFZCompress = Quickly()
    stream = io.BytesIO()
    size = (tiling.sheet[0] * PT, tiling.sheet[1] * PT)
    canvas = Canvas(stream, pagesize=size, pageCompression=1, invariant=1)
    canvas.setTitle(tiling.title)
    canvas.setCreator("cutroom")
    canvas.setViewerPreference("PrintScaling", "None")
    draw_cover(canvas, tiling)
    canvas.showPage()
    there = {(tile.row, tile.column): tile for tile in tiling.tiles}
    for tile in tiling.tiles:
        _draw_frame(canvas, tiling, tile, there)
        scale = (tiling.correction[0] * PT, tiling.correction[1] * PT)
        corner = (tiling.margin * PT, tiling.margin * PT)
        canvas.addLiteral("\n".join(stroke_operators(tile.strokes, lower=tile.lower, scale=scale, corner=corner)))
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _draw_frame(canvas: "Canvas", tiling: Tiling, tile: Tile, there: dict[tuple[int, int], Tile]) -> None:
    width, height = (side * PT for side in tiling.printable)
    left = bottom = tiling.margin * PT
    canvas.setStrokeGray(GREY)
    canvas.setFillGray(GREY)
    canvas.setLineWidth(0.5)
    canvas.line(left, bottom + height, left + width, bottom + height)
    canvas.line(left + width, bottom, left + width, bottom + height)
    for step, end in ((_RIGHT, (0.0, height)), (_UP, (width, 0.0))):
        to_trim = (tile.row - step[0], tile.column - step[1]) in there
        canvas.setDash([4, 3] if to_trim else [])
        canvas.line(left, bottom, left + end[0], bottom + end[1])
    canvas.setDash([])
    canvas.setFont("Helvetica-Bold", 11)
    canvas.drawString(left + 2 * PT, bottom + height - 6 * PT, f"Sheet {tile.name}")
    for row, words in enumerate(tiling.words, start=1):  # a sheet that lies alone still says what it is for
        write_small(canvas, words, tiling.margin + 2, tiling.margin + tiling.printable[1] - 6 - 2.6 * row, 6)
    for step in (_RIGHT, _UP):
        before = there.get((tile.row - step[0], tile.column - step[1]))
        after = there.get((tile.row + step[0], tile.column + step[1]))
        if before is not None:
            _draw_joins(canvas, tiling, step, f"{before.name} {tile.name}", at_far_side=False)
        if after is not None:
            _draw_joins(canvas, tiling, step, f"{tile.name} {after.name}", at_far_side=True)


def _draw_joins(canvas: "Canvas", tiling: Tiling, step: tuple[int, int], name: str, *, at_far_side: bool) -> None:
    """Two diamonds in the middle of the strip that this sheet shares with a neighbour."""
    along = 1 if step == _UP else 0
    strip = tiling.overlap * tiling.correction[along]
    across = tiling.printable[along] - strip / 2 if at_far_side else strip / 2
    half = min(_DIAMOND, strip / 2) or _DIAMOND
    canvas.setFont("Helvetica", 5)
    for share in (0.25, 0.75):
        place = [tiling.printable[1 - along] * share] * 2
        place[along] = across
        x, y = ((side + tiling.margin) * PT for side in place)
        path = canvas.beginPath()
        path.moveTo(x - half * PT, y)
        for dx, dy in ((0, half), (half, 0), (0, -half)):
            path.lineTo(x + dx * PT, y + dy * PT)
        path.close()
        canvas.drawPath(path)
        canvas.drawCentredString(x, y - 1.7, name)
