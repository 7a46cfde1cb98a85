"""A drawing as a one-page PDF at true size."""

import math
import zlib
from collections.abc import Iterator, Sequence

import numpy as np

from cutroom.model.plot import Plot
from cutroom.write.numbers import number_as_text
from cutroom.write.pdf_strokes import PT, QUICK, stroke_operators

LARGEST_SIDE = 14400
"""Greatest side of a page in its own units (PDF 1.6, annex C); a longer page has larger units."""


_FIRST_LAYER = 5  # number of the first object that is a layer


def write_pdf(plot: Plot, layers: Sequence[str] = ()) -> bytes:
    """The drawing as a PDF whose one page is as large as the drawing.

    Args:
        plot: The drawing.
        layers: Name of the layer of each placement, such as its size. With two names or more each is a layer that a
            viewer can switch off (PDF 1.5, optional content); all are on, and the cloth and the sheet always show.

    Returns:
        PDF 1.6, the drawing's lower corner at the page's lower-left corner. Viewers are told not to scale it in print.
    """
    size = np.subtract(plot.upper, plot.lower) * PT
    unit = math.ceil(float(size.max()) / LARGEST_SIDE)
    names = sorted(set(layers))
    names = names if len(names) > 1 else []
    content = "\n".join(_content(plot, layers, names, PT / unit))
    width, height = (number_as_text(side / unit) for side in size.tolist())
    user_unit = f" /UserUnit {unit}" if unit > 1 else ""
    stream = zlib.compress(content.encode("ascii"), QUICK)
    title = _as_text(plot.title)
    groups = [f"{_FIRST_LAYER + index} 0 R" for index in range(len(names))]
    switches = ""
    resources = "<< >>"
    if names:
        every = " ".join(groups)
        switches = f" /OCProperties << /OCGs [{every}] /D << /Order [{every}] /ON [{every}] /BaseState /ON >> >>"
        properties = " ".join(f"/L{index} {group}" for index, group in enumerate(groups))
        resources = f"<< /Properties << {properties} >> >>"
    objects = [
        f"<< /Type /Catalog /Pages 2 0 R /ViewerPreferences << /PrintScaling /None >>{switches} >>".encode(),
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {width} {height}]{user_unit} /Resources {resources} "
        f"/Contents 4 0 R >>".encode(),
        b"<< /Length %d /Filter /FlateDecode >>\nstream\n%s\nendstream" % (len(stream), stream),
        *(f"<< /Type /OCG /Name <{_as_text(name)}> >>".encode() for name in names),
        f"<< /Title <{title}> >>".encode(),
    ]
    return _file(objects)


def _as_text(words: str) -> str:
    """A text string of a PDF, in hexadecimal."""
    return f"\ufeff{words}".encode("utf-16-be").hex().upper()


def _content(plot: Plot, layers: Sequence[str], names: Sequence[str], scale: float) -> Iterator[str]:
    """What is drawn: first what is on no layer, then layer after layer."""

    def drawn(name: str | None) -> Iterator[str]:
        strokes = (
            stroke for stroke in plot.strokes
            if (layers[stroke.placement] if names and stroke.placement is not None else None) == name
        )  # fmt: skip
        return stroke_operators(strokes, lower=plot.lower, scale=(scale, scale))

    yield from drawn(None)
    for index, name in enumerate(names):
        yield f"/OC /L{index} BDC"
        yield from drawn(name)
        yield "EMC"


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
