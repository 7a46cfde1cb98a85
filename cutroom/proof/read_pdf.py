"""Reads the lines and the words of a PDF back, page by page, in millimetres of the page, with pypdfium2."""

import ctypes
import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium

from cutroom.errors import ProofError
from cutroom.model.finding import Finding
from cutroom.proof.lines import Array, Line, tidy
from cutroom.proof.words import WRITE_AGAIN, stop

POINT = 25.4 / 72
"""Millimetres to the point of a page whose UserUnit is 1."""
QUIET_GREY = 153
"""The grey (0 to 255) of a sheet's own furniture."""
_CURVE_STEPS = 16
_SAME = 1e-3
"""Points of a page no further apart than this (mm) are one; the reader works in single precision."""


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """One page as read.

    Attributes:
        width: mm.
        height: mm.
        lines: Everything stroked, mm from the lower left corner of the page.
        words: The text on it.
    """

    width: float
    height: float
    lines: tuple[Line, ...]
    words: str


def read_pdf(data: bytes) -> tuple[tuple[Sheet, ...], list[Finding]]:
    """The pages of a PDF, and what is not as it should be in the file itself.

    Raises:
        ProofError: It is no PDF, or is damaged.
    """
    if not data.startswith(b"%PDF-") or b"%%EOF" not in data[-1024:]:
        raise ProofError("it cannot be read as PDF: it is cut off or damaged", WRITE_AGAIN, place="file")
    try:
        document = pypdfium2.PdfDocument(data)
    except pypdfium2.PdfiumError as error:
        raise ProofError("it cannot be read as PDF: it is cut off or damaged", WRITE_AGAIN, place="file") from error
    try:
        findings: list[Finding] = []
        if pdfium.FPDF_VIEWERREF_GetPrintScaling(document.raw):
            findings.append(stop("file", "it does not ask the viewer to print without scaling"))
        if re.search(rb"/OFF\s*\[\s*\d|/BaseState\s*/(?!ON)", data):
            findings.append(stop("file", "one of its layers is switched off, so that its pieces would not be printed"))
        units = _user_units(data, len(document))
        sheets = [_sheet(document, number, unit, findings) for number, unit in enumerate(units)]
    except pypdfium2.PdfiumError as error:
        raise ProofError("a page of the PDF cannot be read", WRITE_AGAIN, place="file") from error
    finally:
        document.close()
    return tuple(sheets), findings


def _user_units(data: bytes, pages: int) -> list[float]:
    """How many points one unit of each page stands for; pages that do not say count in points."""
    said = [float(found) for found in re.findall(rb"/UserUnit\s+(\d+\.?\d*|\.\d+)", data)]
    if len(set(said)) > 1 or (said and len(said) != pages):
        raise ProofError("its pages count in different units", WRITE_AGAIN, place="file")
    return [said[0] if said else 1.0] * pages


def _sheet(document: pypdfium2.PdfDocument, number: int, unit: float, findings: list[Finding]) -> Sheet:
    page = document[number]
    left, bottom, right, top = page.get_mediabox()
    if page.get_cropbox() != page.get_mediabox() or page.get_rotation():
        findings.append(stop(f"page {number + 1}", "it is cropped or turned, which printers treat differently"))
    scale = unit * POINT
    lines: list[Line] = []
    origin = np.array([left, bottom])
    for index in range(pdfium.FPDFPage_CountObjects(page.raw)):
        thing = pdfium.FPDFPage_GetObject(page.raw, index)
        kind = pdfium.FPDFPageObj_GetType(thing)
        if kind == pdfium.FPDF_PAGEOBJ_PATH:
            lines += _path(thing, origin, scale)
        elif kind != pdfium.FPDF_PAGEOBJ_TEXT:
            findings.append(stop(f"page {number + 1}", "it holds something that is neither a line nor text"))
    text = page.get_textpage()
    words = str(text.get_text_bounded())
    text.close()
    page.close()
    return Sheet((right - left) * scale, (top - bottom) * scale, tuple(lines), words)


def _path(thing: object, origin: Array, scale: float) -> Iterator[Line]:
    """The lines of a path that is stroked in a colour that can be seen."""
    fill, stroke = ctypes.c_int(), ctypes.c_int()
    pdfium.FPDFPath_GetDrawMode(thing, fill, stroke)
    red, green, blue, alpha = (ctypes.c_uint() for _ in range(4))
    pdfium.FPDFPageObj_GetStrokeColor(thing, red, green, blue, alpha)
    colour = (red.value, green.value, blue.value)
    if not stroke.value or not alpha.value or min(colour) >= 255:
        return
    matrix = pdfium.FS_MATRIX()
    pdfium.FPDFPageObj_GetMatrix(thing, matrix)
    turn = np.array([[matrix.a, matrix.c], [matrix.b, matrix.d]])
    shift = np.array([matrix.e, matrix.f])
    quiet = max(abs(part - QUIET_GREY) for part in colour) <= 1
    for points, closed in _runs(thing):
        page = (np.array(points) @ turn.T + shift - origin) * scale
        tidied, is_closed = tidy(page, closed=closed, same=_SAME)
        yield Line(tidied, is_closed, quiet=quiet)


def _runs(thing: object) -> list[tuple[list[tuple[float, float]], bool]]:
    """The subpaths of a path, curves as short straight bits."""
    runs: list[tuple[list[tuple[float, float]], bool]] = []
    bend: list[tuple[float, float]] = []
    x, y = ctypes.c_float(), ctypes.c_float()
    for index in range(pdfium.FPDFPath_CountSegments(thing)):
        bit = pdfium.FPDFPath_GetPathSegment(thing, index)
        pdfium.FPDFPathSegment_GetPoint(bit, x, y)
        at, kind = (x.value, y.value), pdfium.FPDFPathSegment_GetType(bit)
        if kind == pdfium.FPDF_SEGMENT_MOVETO:
            runs.append(([at], False))
        elif not runs:
            continue
        elif kind == pdfium.FPDF_SEGMENT_BEZIERTO:
            bend.append(at)
            if len(bend) == 3:
                runs[-1][0].extend(_bent(runs[-1][0][-1], *bend))
                bend = []
        else:
            runs[-1][0].append(at)
        if pdfium.FPDFPathSegment_GetClose(bit):
            runs[-1] = (runs[-1][0], True)
    return runs


def _bent(
    start: tuple[float, float], one: tuple[float, float], two: tuple[float, float], end: tuple[float, float]
) -> list[tuple[float, float]]:
    steps = np.linspace(0, 1, _CURVE_STEPS + 1)[1:, None]
    rest = 1 - steps
    corners = np.array([start, one, two, end])
    points = rest**3 * corners[0] + 3 * rest**2 * steps * corners[1] + 3 * rest * steps**2 * corners[2]
    return [(float(x), float(y)) for x, y in points + steps**3 * corners[3]]
