"""Reads the lines and the words of a PDF back, page by page, in millimetres of the page, with pypdfium2."""

import ctypes
import re
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import chain, repeat
from typing import Any, cast

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
from numpy.typing import NDArray

from cutroom.errors import ProofError
from cutroom.model.finding import Finding
from cutroom.proof.lines import Array, Flags, Ints, Lines, lines_of, tidy_all
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
    lines: Lines
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
    things = [*map(_OBJECT, repeat(_address(page.raw)), range(pdfium.FPDFPage_CountObjects(page.raw)))]
    kinds = [*map(_OBJECT_KIND, things)]
    strange = [kind for kind in kinds if kind not in {pdfium.FPDF_PAGEOBJ_PATH, pdfium.FPDF_PAGEOBJ_TEXT}]
    findings += [stop(f"page {number + 1}", "it holds something that is neither a line nor text") for _ in strange]
    paths = [thing for thing, kind in zip(things, kinds, strict=True) if kind == pdfium.FPDF_PAGEOBJ_PATH]
    lines = _lines(paths, np.array([left, bottom]), scale)
    text = page.get_textpage()
    words = str(text.get_text_bounded())
    text.close()
    page.close()
    return Sheet((right - left) * scale, (top - bottom) * scale, lines, words)


def _address(handle: object) -> int:
    return ctypes.cast(cast("Any", handle), ctypes.c_void_p).value or 0


def _by_address(name: str, result: Any, *arguments: Any) -> Callable[..., int]:
    """A function of the PDF reader that is given bare addresses: the wrapping of each takes longer than the call."""
    return cast("Callable[..., int]", ctypes.CFUNCTYPE(result, *arguments)(_address(getattr(pdfium, name))))


_WHOLE, _ADDRESS = ctypes.c_int, ctypes.c_void_p
_OBJECT = _by_address("FPDFPage_GetObject", _ADDRESS, _ADDRESS, _WHOLE)
_OBJECT_KIND = _by_address("FPDFPageObj_GetType", _WHOLE, _ADDRESS)
_COUNT = _by_address("FPDFPath_CountSegments", _WHOLE, _ADDRESS)
_SEGMENT = _by_address("FPDFPath_GetPathSegment", _ADDRESS, _ADDRESS, _WHOLE)
_POINT = _by_address("FPDFPathSegment_GetPoint", _WHOLE, _ADDRESS, _ADDRESS, _ADDRESS)
_KIND = _by_address("FPDFPathSegment_GetType", _WHOLE, _ADDRESS)
_CLOSE = _by_address("FPDFPathSegment_GetClose", _WHOLE, _ADDRESS)
_DRAW_MODE = _by_address("FPDFPath_GetDrawMode", _WHOLE, _ADDRESS, _ADDRESS, _ADDRESS)
_COLOUR = _by_address("FPDFPageObj_GetStrokeColor", _WHOLE, *[_ADDRESS] * 5)
_MATRIX = _by_address("FPDFPageObj_GetMatrix", _WHOLE, _ADDRESS, _ADDRESS)
_SEEN = np.dtype([("place", "<f4", 2), ("kind", "u1"), ("close", "?"), ("rest", "V2")])
"""A segment as the reader holds it: those of a path lie one after the other."""


def _asked(function: Callable[..., int], things: Sequence[int], count: int, kind: type[np.generic]) -> NDArray[Any]:
    """`(k, count)`: what a function writes of each of several things."""
    told = np.zeros((len(things), count), dtype=kind)
    size = told.itemsize
    first, row = told.ctypes.data, size * count
    ends = first + row * len(things)
    deque(map(function, things, *(range(first + size * n, ends + size * n, row) for n in range(count))), maxlen=0)
    return told


def _lines(paths: Sequence[int], origin: Array, scale: float) -> Lines:
    """The lines of some paths that are stroked in a colour that can be seen, mm from a corner of the page."""
    stroked = _asked(_DRAW_MODE, paths, 2, np.int32)[:, 1] != 0
    colours = _asked(_COLOUR, paths, 4, np.uint32).astype(np.int64)
    seen = np.flatnonzero(stroked & (colours[:, 3] > 0) & (colours[:, :3].min(axis=1, initial=255) < 255))
    paths = [paths[index] for index in seen.tolist()]
    quiet = np.abs(colours[seen, :3] - QUIET_GREY).max(axis=1, initial=0) <= 1
    told = np.zeros((len(paths), 6), dtype=np.float32)
    deque(map(_MATRIX, paths, range(told.ctypes.data, told.ctypes.data + told.nbytes, 24)), maxlen=0)
    counts = np.fromiter(map(_COUNT, paths), dtype=np.int64, count=len(paths))
    segments = _segments(paths, counts)
    places, kinds, closes = segments["place"].astype(np.float64), segments["kind"], segments["close"]
    starts = np.cumsum(counts) - counts
    begins = np.zeros(len(segments), dtype=np.bool_)
    begins[starts[counts > 0]] = True
    plain = bool(((kinds == _MOVE) == begins).all() and ((kinds == _LINE) != begins).all())
    whose = np.arange(len(paths))[counts > 0]
    if plain:
        counts = counts[whose]
        closed = np.logical_or.reduceat(closes, starts[whose]) if len(whose) else closes
    else:
        runs = [
            (index, *run)
            for index, start, count in zip(whose.tolist(), starts[whose].tolist(), counts[whose].tolist(), strict=True)
            for part in [slice(start, start + count)]
            for run in _split(places[part], kinds[part], closes[part])
        ]
        whose = np.array([index for index, _, _ in runs], dtype=np.int64)
        counts = np.array([len(points) for _, points, _ in runs], dtype=np.int64)
        closed = np.array([is_closed for _, _, is_closed in runs], dtype=np.bool_)
        places = np.concatenate([points for _, points, _ in runs]) if runs else np.zeros((0, 2))
    x, y = places.T
    matrices = told.astype(np.float64)[whose]
    alike = len(matrices) > 0 and bool((matrices == matrices[0]).all())
    a, b, c, d, e, f = matrices[0] if alike else np.repeat(matrices, counts, axis=0).T
    page = (np.column_stack((a * x + c * y + e, b * x + d * y + f)) - origin) * scale
    return lines_of(*tidy_all(page, counts, closed, same=_SAME), quiet=quiet[whose])


def _segments(paths: Sequence[int], counts: Ints) -> NDArray[Any]:
    """The segments of all paths.

    They are taken as they lie in memory, one look a path instead of four calls a segment; the last of each path is
    asked for as well, and where that says otherwise all are.
    """
    full = [path for path, count in zip(paths, counts.tolist(), strict=True) if count]
    counts = counts[counts > 0]
    firsts = [*map(_SEGMENT, full, repeat(0))]
    lasts = [*map(_SEGMENT, full, (counts - 1).tolist())]
    if np.array_equal(np.subtract(lasts, firsts), (counts - 1) * _SEEN.itemsize):
        held = b"".join(map(ctypes.string_at, firsts, (counts * _SEEN.itemsize).tolist()))
        segments = np.frombuffer(held, dtype=_SEEN)
        looked, asked = segments[np.cumsum(counts) - 1], _one_by_one(lasts)
        if all((looked[name] == asked[name]).all() for name in ("place", "kind", "close")):
            return segments
    every = (map(_SEGMENT, repeat(path), range(count)) for path, count in zip(full, counts.tolist(), strict=True))
    return _one_by_one([*chain.from_iterable(every)])


def _one_by_one(segments: Sequence[int]) -> NDArray[Any]:
    """Segments as the reader tells them when it is asked for each."""
    told = np.zeros(len(segments), dtype=_SEEN)
    told["place"] = _asked(_POINT, segments, 2, np.float32)
    told["kind"] = [*map(_KIND, segments)]
    told["close"] = [*map(_CLOSE, segments)]
    return told


def _split(places: Array, kinds: NDArray[Any], closes: Flags) -> list[tuple[Array, bool]]:
    """The subpaths of a path, curves as short straight bits."""
    runs: list[tuple[list[tuple[float, float]], bool]] = []
    bend: list[tuple[float, float]] = []
    for (x, y), kind, close in zip(places.tolist(), kinds.tolist(), closes.tolist(), strict=True):
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
