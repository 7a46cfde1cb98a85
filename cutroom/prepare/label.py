"""Lettering that finds its own place inside a piece."""

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from cutroom.errors import PieceError
from cutroom.geometry.lettering import text_strokes, text_width
from cutroom.model.piece import Cut, Piece
from cutroom.model.prepared import Label

HEIGHTS = (14.0, 11.0, 9.0, 7.0, 6.0, 5.0, 4.0)
"""Capital heights tried (mm)."""
SMALL = (4.0, 3.0)
"""Heights for the short wording of a small piece; below 3 mm nobody reads a plot."""
CLEAR = 3.0
"""Distance of the text box from the seam line and from other lines (mm)."""
LEADING = 1.8
"""Distance of baselines in capital heights."""
_FINE = 1000.0

Line = NDArray[np.float64]


def cut_words(piece: Piece) -> str:
    """How many to cut, in the words of a cutter: `cut 1 pair`."""
    many = f"cut {piece.quantity}"
    if piece.cut is Cut.PAIR:
        return f"{many} pair{'s' if piece.quantity > 1 else ''}"
    return f"{many} on the fold" if piece.cut is Cut.FOLD else many


def place_label(
    outline: Line, obstacles: Sequence[Line], words: Sequence[str], mirrored_words: Sequence[str], *, where: str
) -> tuple[Label, Label]:
    """Lettering for a piece as drawn and for the same piece laid flipped, in the same place.

    The words are run together into fewer lines, and the letters made smaller, until the text fits inside the seam
    line and clear of everything drawn there; a piece too small for all of it carries its name alone.

    Args:
        outline: `(n, 2)`, the seam line in piece axes (mm).
        obstacles: Lines to keep clear of (mm).
        words: Garment, piece, size, how many to cut, fabric: most telling word second.
        mirrored_words: The same for the piece laid flipped.
        where: The piece, for messages.

    Returns:
        Both labels.

    Raises:
        PieceError: A letter cannot be drawn, or not even the piece's name fits.
    """
    free: BaseGeometry = shapely.Polygon(outline).buffer(-CLEAR)
    if obstacles:
        free = free.difference(shapely.union_all([shapely.LineString(line).buffer(CLEAR) for line in obstacles]))
    shapely.prepare(free)
    for heights, arrange in ((HEIGHTS, _full), (SMALL, _short)):
        pairs = [
            (_Lettering(lines, where), _Lettering(mirrored, where))
            for lines, mirrored in zip(arrange(words), arrange(mirrored_words), strict=True)
        ]
        for height in heights:
            for pair in pairs:
                width, tall = (max(sides) * height for sides in zip(pair[0].box, pair[1].box, strict=True))
                centre = _room(free, width, tall)
                if centre is not None:
                    return pair[0].label(centre, height), pair[1].label(centre, height)
    raise PieceError(
        "it is too small for its own name in letters 3 mm high",
        "Give the piece a shorter name, such as a number",
        place=where,
    )


class _Lettering:
    """Lines of text about their middle, in capital heights."""

    def __init__(self, lines: Sequence[str], where: str) -> None:
        self.lines = tuple(lines)
        try:
            self.strokes = [
                stroke / _FINE + np.array([-text_width(line, _FINE) / _FINE / 2, -k * LEADING])
                for k, line in enumerate(lines)
                for stroke in text_strokes(line, _FINE)
            ]
        except ValueError as unknown:
            raise PieceError(
                f"its label cannot be lettered: {unknown}", "Spell the name with other letters", place=where
            ) from unknown
        every = np.vstack(self.strokes)
        low, high = every.min(axis=0), every.max(axis=0)
        self.middle = (low + high) / 2
        self.box = (float(high[0] - low[0]), float(high[1] - low[1]))

    def label(self, centre: tuple[float, float], height: float) -> Label:
        strokes = tuple(np.round((stroke - self.middle) * height, 3) for stroke in self.strokes)
        return Label(self.lines, centre, strokes, height)


def _full(words: Sequence[str]) -> Iterator[tuple[str, ...]]:
    garment, name, size, cut, fabric = words
    yield garment, f"{name} - {size}", cut, fabric
    yield f"{garment} - {name} - {size}", f"{cut} - {fabric}"
    yield (f"{name} - {size} - {garment} - {cut} - {fabric}",)


def _short(words: Sequence[str]) -> Iterator[tuple[str, ...]]:
    _, name, size, cut, _ = words
    yield name, size, cut
    yield (f"{name} {size} {cut}",)
    yield (f"{name} {size}",)
    yield (name,)


def _room(free: BaseGeometry, width: float, tall: float) -> tuple[float, float] | None:
    """Middle of a place for a box (mm), the nearest to the middle of the free part of the piece."""
    if free.is_empty:
        return None
    left, low, right, high = free.bounds
    if right - left < width or high - low < tall:
        return None
    along = np.linspace(left + width / 2, right - width / 2, 17)
    up = np.linspace(low + tall / 2, high - tall / 2, 17)
    x, y = (grid.ravel() for grid in np.meshgrid(along, up))
    fits = shapely.covers(free, shapely.box(x - width / 2, y - tall / 2, x + width / 2, y + tall / 2))
    if not fits.any():
        return None
    middle = free.centroid
    away = np.where(fits, (x - middle.x) ** 2 + (y - middle.y) ** 2, np.inf)
    best = int(np.argmin(away))
    return float(x[best]), float(y[best])
