"""Strokes as PDF operators, each role in its own colour and width."""

from collections.abc import Iterable, Iterator

import numpy as np
from numpy.typing import NDArray

from cutroom.model.plot import Role, Stroke
from cutroom.write.numbers import dot_as_line, lines_as_text

PT = 72 / 25.4
"""Points to the millimetre."""

QUICK = 4
"""How hard strokes are compressed (zlib): a third of the time of the usual 6, for a twentieth more bytes."""

_LOOKS = {
    Role.FABRIC: ("0.54 0.43 0.23", 0.35),
    Role.SHEET: ("0.25 0.29 0.34", 0.25),
    Role.SEAM: ("0.30 0.47 0.66", 0.2),
    Role.GRAIN: ("0.17 0.45 0.32", 0.25),
    Role.NOTCH: ("0.70 0.15 0.12", 0.3),
    Role.DRILL: ("0.52 0.20 0.58", 0.3),
    Role.LABEL: ("0.16 0.21 0.26", 0.3),
    Role.CUTOUT: ("0 0 0", 0.35),
    Role.CUT: ("0 0 0", 0.35),
}
"""Roles in the order they are painted: red, green and blue, and the width of the line (mm)."""

_FIRST, _THEN = "%.3f %.3f m", " %.3f %.3f l"


def stroke_operators(
    strokes: Iterable[Stroke],
    *,
    lower: tuple[float, float],
    scale: tuple[float, float],
    corner: tuple[float, float] = (0.0, 0.0),
) -> Iterator[str]:
    """Operators that draw strokes, one path a stroke.

    Args:
        strokes: The strokes, marker coordinates.
        lower: Marker coordinates (mm) that come to lie at `corner`.
        scale: Page units to the millimetre along x and y.
        corner: Page units from the page's lower-left corner.

    Yields:
        Lines of a content stream.
    """
    by_role: dict[Role, list[Stroke]] = {role: [] for role in _LOOKS}
    for stroke in strokes:
        by_role[stroke.role].append(stroke)
    offset = (corner[0] - lower[0] * scale[0], corner[1] - lower[1] * scale[1])
    yield "1 J 1 j"
    for role, (colour, width) in _LOOKS.items():
        if by_role[role]:
            yield f"{colour} RG {width * scale[1]:.3f} w"
        points = [dot_as_line(stroke.points) for stroke in by_role[role]]
        texts = lines_as_text(points, first=_FIRST, then=_THEN, scale=scale, offset=offset)
        for stroke, text in zip(by_role[role], texts, strict=True):
            yield f"{text} {'s' if stroke.closed else 'S'}"


def line_operators(points: NDArray[np.float64], *, closed: bool) -> str:
    """Operators that draw one line through points `(n, 2)` in page units, to 0.001."""
    (text,) = lines_as_text([dot_as_line(points)], first=_FIRST, then=_THEN)
    return f"{text} {'s' if closed else 'S'}"
