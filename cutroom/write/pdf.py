"""A drawing as a one-page PDF at true size."""

import math
import zlib

import numpy as np

from cutroom.model.plot import Plot
from cutroom.write.numbers import number_as_text
from cutroom.write.pdf_strokes import PT, stroke_operators

LARGEST_SIDE = 14400
"""Greatest side of a page in its own units (PDF 1.6, annex C); a longer page has larger units."""


def write_pdf(plot: Plot) -> bytes:
    """The drawing as a PDF whose one page is as large as the drawing.

    Args:
        plot: The drawing.

    Returns:
        PDF 1.6, the drawing's lower corner at the page's lower-left corner. Viewers are told not to scale it in print.
    """
    size = np.subtract(plot.upper, plot.lower) * PT
    unit = math.ceil(float(size.max()) / LARGEST_SIDE)
    content = "\n".join(stroke_operators(plot.strokes, lower=plot.lower, scale=(PT / unit, PT / unit)))
    width, height = (number_as_text(side / unit) for side in size.tolist())
    user_unit = f" /UserUnit {unit}" if unit > 1 else ""
    stream = zlib.compress(content.encode("ascii"), 6)
    title = f"\ufeff{plot.title}".encode("utf-16-be").hex().upper()
    objects = [
        b"<< /Type /Catalog /Pages 2 0 R /ViewerPreferences << /PrintScaling /None >> >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {width} {height}]{user_unit} /Resources << >> "
        f"/Contents 4 0 R >>".encode(),
        b"<< /Length %d /Filter /FlateDecode >>\nstream\n%s\nendstream" % (len(stream), stream),
        f"<< /Title <{title}> >>".encode(),
    ]
    return _file(objects)


def _file(objects: list[bytes]) -> bytes:
    """Numbered objects with their table; the first is the catalogue, the last the information."""
    body = b"%PDF-1.6\n%\xe2\xe3\xcf\xd3\n"
    starts = []
    for number, content in enumerate(objects, start=1):
        starts.append(len(body))
        body += b"%d 0 obj\n%s\nendobj\n" % (number, content)
    rows = [b"0000000000 65535 f \n", *(b"%010d 00000 n \n" % start for start in starts)]
    count = len(rows)
    trailer = b"<< /Size %d /Root 1 0 R /Info %d 0 R >>" % (count, count - 1)
    return b"%sxref\n0 %d\n%strailer\n%s\nstartxref\n%d\n%%%%EOF\n" % (body, count, b"".join(rows), trailer, len(body))
