"""Reads the lines and the words of a PDF back, page by page, in millimetres of the page, with pypdfium2."""

import ctypes
import re
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from itertools import accumulate, repeat
from typing import Any, cast

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium

from cutroom.errors import ProofError
from cutroom.model.finding import Finding
from cutroom.proof.lines import Array, Line, tidy_all
from cutroom.proof.words import WRITE_AGAIN, stop

POINT = 25.4 / 72
"""Millimetres to the point of a page whose UserUnit is 1."""
_MOVE, _LINE = pdfium.FPDF_SEGMENT_MOVETO, pdfium.FPDF_SEGMENT_LINETO
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
    paths = _Paths()
    for index in range(pdfium.FPDFPage_CountObjects(page.raw)):
        thing = pdfium.FPDFPage_GetObject(page.raw, index)
        kind = pdfium.FPDFPageObj_GetType(thing)
        if kind == pdfium.FPDF_PAGEOBJ_PATH:
            paths.take(thing)
        elif kind != pdfium.FPDF_PAGEOBJ_TEXT:
            findings.append(stop(f"page {number + 1}", "it holds something that is neither a line nor text"))
    lines = paths.lines(np.array([left, bottom]), scale)
    text = page.get_textpage()
    words = str(text.get_text_bounded())
    text.close()
    page.close()
    return Sheet((right - left) * scale, (top - bottom) * scale, lines, words)


def _by_address(name: str, result: Any, *arguments: Any) -> Callable[..., int]:
    """A function of the PDF reader that is given bare addresses: the wrapping of each takes longer than the call."""
    address = ctypes.cast(getattr(pdfium, name), ctypes.c_void_p).value or 0
    return cast("Callable[..., int]", ctypes.CFUNCTYPE(result, *arguments)(address))


_WHOLE, _ADDRESS = ctypes.c_int, ctypes.c_void_p
_SEGMENT = _by_address("FPDFPath_GetPathSegment", _ADDRESS, _ADDRESS, _WHOLE)
_POINT = _by_address("FPDFPathSegment_GetPoint", _WHOLE, _ADDRESS, _ADDRESS, _ADDRESS)
_KIND = _by_address("FPDFPathSegment_GetType", _WHOLE, _ADDRESS)
_CLOSE = _by_address("FPDFPathSegment_GetClose", _WHOLE, _ADDRESS)
_DRAW_MODE = _by_address("FPDFPath_GetDrawMode", _WHOLE, _ADDRESS, _ADDRESS, _ADDRESS)
_COLOUR = _by_address("FPDFPageObj_GetStrokeColor", _WHOLE, *[_ADDRESS] * 5)
_MATRIX = _by_address("FPDFPageObj_GetMatrix", _WHOLE, _ADDRESS, _ADDRESS)


class _Paths:
    """The subpaths of a page that are stroked in a colour that can be seen."""

    def __init__(self) -> None:
        self._looks = np.zeros(6, dtype=np.uint32)  # filled, stroked, red, green, blue, alpha
        self._matrix = np.zeros(6, dtype=np.float32)
        first = self._looks.ctypes.data
        self._look_at = [first + 4 * place for place in range(6)]
        self._matrix_at = self._matrix.ctypes.data
        self._runs: list[Array] = []
        self._closed: list[bool] = []
        self._quiet: list[bool] = []
        self._matrices: list[list[float]] = []
        self._grow(1024)

    def _grow(self, count: int) -> None:
        self._places = np.zeros((count, 2), dtype=np.float32)
        self._places_at = self._places.ctypes.data

    def take(self, thing: object) -> None:
        """One path of the page."""
        address = ctypes.cast(cast("Any", thing), ctypes.c_void_p).value
        _DRAW_MODE(address, *self._look_at[:2])
        _COLOUR(address, *self._look_at[2:])
        _, stroked, *colour, alpha = self._looks.tolist()
        if not stroked or not alpha or min(colour) >= 255:
            return
        _MATRIX(address, self._matrix_at)
        quiet = max(abs(part - QUIET_GREY) for part in colour) <= 1
        for points, closed in self._subpaths(address, pdfium.FPDFPath_CountSegments(thing)):
            self._runs.append(points)
            self._closed.append(closed)
            self._quiet.append(quiet)
            self._matrices.append(self._matrix.tolist())

    def _subpaths(self, path: int | None, count: int) -> list[tuple[Array, bool]]:
        """The subpaths of a path of so many segments, curves as short straight bits."""
        if count > len(self._places):
            self._grow(2 * count)
        segments = [*map(_SEGMENT, repeat(path), range(count))]
        x, y = self._places_at, self._places_at + 4
        deque(map(_POINT, segments, range(x, x + 8 * count, 8), range(y, y + 8 * count, 8)), maxlen=0)
        kinds, closes = [*map(_KIND, segments)], [*map(_CLOSE, segments)]
        points = self._places[:count].astype(np.float64)
        if kinds[:1] == [_MOVE] and kinds.count(_LINE) == count - 1:
            return [(points, any(closes))]
        return _split(points, kinds, closes)

    def lines(self, origin: Array, scale: float) -> tuple[Line, ...]:
        """The lines, mm from the lower left corner of the page."""
        if not self._runs:
            return ()
        ends = [*accumulate(map(len, self._runs))]
        x, y = np.concatenate(self._runs).T
        matrices = np.array(self._matrices)
        alike = bool((matrices == matrices[0]).all())
        a, b, c, d, e, f = matrices[0] if alike else np.repeat(matrices, np.diff(ends, prepend=0), axis=0).T
        page = (np.column_stack((a * x + c * y + e, b * x + d * y + f)) - origin) * scale
        parts = [page[start:end] for start, end in zip([0, *ends[:-1]], ends, strict=True)]
        tidied = tidy_all(parts, self._closed, same=_SAME)
        return tuple(Line(*one, quiet=quiet) for one, quiet in zip(tidied, self._quiet, strict=True))


def _split(places: Array, kinds: list[int], closes: list[int]) -> list[tuple[Array, bool]]:
    runs: list[tuple[list[tuple[float, float]], bool]] = []
    bend: list[tuple[float, float]] = []
    for (x, y), kind, close in zip(places.tolist(), kinds, closes, strict=True):
        at = (x, y)
        if kind == _MOVE:
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
        if close:
            runs[-1] = (runs[-1][0], True)
    return [(np.array(points), closed) for points, closed in runs]


def _bent(
    start: tuple[float, float], one: tuple[float, float], two: tuple[float, float], end: tuple[float, float]
) -> list[tuple[float, float]]:
    steps = np.linspace(0, 1, _CURVE_STEPS + 1)[1:, None]
    rest = 1 - steps
    corners = np.array([start, one, two, end])
    points = rest**3 * corners[0] + 3 * rest**2 * steps * corners[1] + 3 * rest * steps**2 * corners[2]
    return [(float(x), float(y)) for x, y in points + steps**3 * corners[3]]
