"""Paths of PDF pages as PDFium reads them."""

import ctypes
from dataclasses import dataclass

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_c
from numpy.typing import NDArray

MM = 25.4 / 72  # millimetres to the point


@dataclass(frozen=True)
class DrawnPath:
    """One stroked path: `(n, 2)` points in mm from the page's lower-left corner."""

    points: NDArray[np.float64]
    closed: bool
    colour: tuple[int, int, int]


def read_paths(page: pdfium.PdfPage) -> list[DrawnPath]:
    """Every path of a page, its own matrix applied."""
    return [_path(thing.raw) for thing in page.get_objects(filter=[pdfium_c.FPDF_PAGEOBJ_PATH])]


def _path(raw: object) -> DrawnPath:
    x, y = ctypes.c_float(), ctypes.c_float()
    matrix = pdfium_c.FS_MATRIX()
    pdfium_c.FPDFPageObj_GetMatrix(raw, matrix)
    points, closed = [], False
    for place in range(pdfium_c.FPDFPath_CountSegments(raw)):
        segment = pdfium_c.FPDFPath_GetPathSegment(raw, place)
        pdfium_c.FPDFPathSegment_GetPoint(segment, x, y)
        closed = closed or bool(pdfium_c.FPDFPathSegment_GetClose(segment))
        points.append(
            (x.value * matrix.a + y.value * matrix.c + matrix.e, x.value * matrix.b + y.value * matrix.d + matrix.f)
        )
    parts = [ctypes.c_uint() for _ in range(4)]
    pdfium_c.FPDFPageObj_GetStrokeColor(raw, *parts)
    red, green, blue, _ = (part.value for part in parts)
    return DrawnPath(np.array(points) * MM, closed, (red, green, blue))


def read_words(page: pdfium.PdfPage) -> str:
    """All text of a page."""
    text: str = page.get_textpage().get_text_range()
    return text
