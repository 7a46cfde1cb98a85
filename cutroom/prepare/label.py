"""Lettering that finds its own place inside a piece."""

import math
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache, partial
from itertools import product

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.errors import PieceError
from cutroom.geometry.affine import moved_spot, pose_points
from cutroom.geometry.lettering import text_box, text_points
from cutroom.model.arrays import frozen_runs
from cutroom.model.piece import Cut, Piece
from cutroom.model.prepared import Label, LabelLine
from cutroom.prepare.room import Room

HEIGHTS = (14.0, 11.0, 9.0, 7.0, 6.0, 5.0, 4.0)
"""Capital heights tried (mm)."""
SMALL = (4.0, 3.0)
"""Heights for the short wording of a small piece; below 3 mm nobody reads a plot."""
CLEAR = 3.0
"""Least distance of the text box from the seam line and from other lines (mm),"""
BESIDE = (0.8, 0.4)
"""or so many capital heights, if that is more: where there is room as far as its own lines stand apart, else half."""
TIGHT = 1.0
"""The same (mm) for the number of a piece that is too small for words."""
STRAIGHT = 1.0
"""A piece whose length leaves the grain by no more than this (degrees) has all its lettering along the grain."""
LEADING = 1.8
"""Distance of baselines in capital heights."""

Line = NDArray[np.float64]
_Arrange = Callable[[Sequence[str]], Iterator[tuple[str, ...]]]
_Place = tuple[tuple[tuple[float, float], tuple[float, float], float], float, float]
_Try = tuple[float, Room, tuple[float, ...], _Arrange]


def cut_words(piece: Piece) -> str:
    """How many to cut, in the words of a cutter: `cut 1 pair`."""
    many = f"cut {piece.quantity}"
    if piece.cut is Cut.PAIR:
        return f"{many} pair{'s' if piece.quantity > 1 else ''}"
    return f"{many} on the fold" if piece.cut is Cut.FOLD else many


def place_label(
    outline: Line,
    obstacles: Sequence[Line],
    words: Sequence[str],
    mirrored_words: Sequence[str],
    *,
    where: str,
    number: int | None = None,
    shift: tuple[float, float] = (0.0, 0.0),
) -> tuple[Label, Label]:
    """Lettering for a piece as drawn and for the same piece laid flipped, in the same place.

    The words are run together into fewer lines, and the letters made smaller, until the text fits inside the seam
    line and well clear of everything drawn there: along the grain, or else along the piece's length, as on a band cut
    across the grain. A piece too small for all of it carries its name alone; one too small for its name, a number,
    whose words stand in the cut list.

    Args:
        outline: `(n, 2)`, the seam line in piece axes (mm).
        obstacles: Lines to keep clear of (mm).
        words: Garment, piece, size, how many to cut, fabric: most telling word second.
        mirrored_words: The same for the piece laid flipped.
        where: The piece, for messages.
        number: Its number in the cut list, or None when it has none.
        shift: What the labels are moved by once they have their place (mm).

    Returns:
        Both labels; without strokes where not even a number has room.

    Raises:
        PieceError: A letter cannot be drawn, or not even the piece's name fits and it has no number.
    """
    try:
        for turn_deg, room, heights, arrange in _tries(outline, obstacles):
            for height, beside in product(heights, BESIDE):
                for lines, mirrored in zip(arrange(words), arrange(mirrored_words), strict=True):
                    pair = _lettering(lines), _lettering(mirrored)
                    width, tall = (max(sides) * height for sides in zip(pair[0].box, pair[1].box, strict=True))
                    centre = room.place(width, tall, max(CLEAR, beside * height))
                    if centre is not None:
                        return _labels(pair, _moved(_turned(centre, turn_deg), shift), height, turn_deg)
    except ValueError as unknown:
        raise PieceError(
            f"its label cannot be lettered: {unknown}", "Spell the name with other letters", place=where
        ) from unknown
    if number is not None:
        return _numbered(outline, list(obstacles), number, shift)
    raise PieceError(
        "it is too small for its own name in letters 3 mm high",
        "Give the piece a shorter name, such as a number",
        place=where,
    )


class _Lettering:
    """Lines of text about their middle, in capital heights; drawn only when they are wanted."""

    def __init__(self, lines: Sequence[str]) -> None:
        self.lines = tuple(lines)
        boxes = [text_box(line) for line in lines]
        self._left = [-width / 2 for _, _, width in boxes]
        self._down = [-k * LEADING for k in range(len(boxes))]
        places = list(zip(boxes, self._left, self._down, strict=True))
        left, low = min(box[0][0] + x for box, x, _ in places), min(box[0][1] + y for box, _, y in places)
        right, high = max(box[1][0] + x for box, x, _ in places), max(box[1][1] + y for box, _, y in places)
        self._places = places
        self._middle = np.array([(left + right) / 2, (low + high) / 2])
        self.box = (right - left, high - low)

    def label(self, centre: tuple[float, float], height: float, turn_deg: float = 0.0) -> Label:
        drawn = [text_points(line) for line in self.lines]
        packed = np.concatenate(
            [np.add(points, (x, y)) for (points, _), x, y in zip(drawn, self._left, self._down, strict=True)]
        )
        sizes = [size for _, sizes in drawn for size in sizes]
        strokes = frozen_runs(np.round((packed - self._middle) * height, 3), sizes)
        lines = tuple(
            self._line(place, height, len(sizes)) for place, (_, sizes) in zip(self._places, drawn, strict=True)
        )
        return Label(self.lines, centre, strokes, height, turn_deg, lines)

    def _line(self, place: _Place, height: float, strokes: int) -> LabelLine:
        """Where one of the lines stands about the middle of all."""
        (low, high, _), x, y = place
        x, y = (low[0] + x - self._middle[0]) * height, (y - self._middle[1]) * height
        return LabelLine((round(float(x), 3), round(float(y), 3)), round((high[0] - low[0]) * height, 3), strokes)


@lru_cache(maxsize=1024)
def _lettering(lines: tuple[str, ...]) -> _Lettering:
    """Lines of text set out, once for all the heights that are tried and for both hands of a piece."""
    return _Lettering(lines)


def _moved(centre: tuple[float, float], shift: tuple[float, float]) -> tuple[float, float]:
    return centre[0] + shift[0], centre[1] + shift[1]


def _labels(
    pair: tuple[_Lettering, _Lettering], centre: tuple[float, float], height: float, turn_deg: float
) -> tuple[Label, Label]:
    """The lettering as drawn, and that of the piece laid flipped, along whose length it reads the other way about."""
    first = pair[0].label(centre, height, turn_deg)
    if pair[1].lines == pair[0].lines and not turn_deg:
        return first, first
    return first, pair[1].label(centre, height, -turn_deg)


def longest_way(outline: Line) -> float:
    """The direction of the long side of the smallest box round an outline `(n, 2)`: degrees, above -90 to 90."""
    corners = shapely.get_coordinates(shapely.oriented_envelope(shapely.MultiPoint(outline)))
    sides = np.diff(corners[:3], axis=0)
    if not len(sides):
        return 0.0
    along = sides[int(np.hypot(*sides.T).argmax())]
    turn = math.degrees(math.atan2(along[1], along[0])) % 180.0
    return turn - 180.0 if turn > 90.0 else turn


def _tries(outline: Line, obstacles: Sequence[Line]) -> Iterator[_Try]:
    """What is tried, best first: all the words before the name alone, and along the grain before along the length."""
    along = Room(outline, list(obstacles))
    yield 0.0, along, HEIGHTS, _full
    turn_deg, turned = longest_way(outline), None
    if abs(turn_deg) > STRAIGHT:
        lines = [pose_points(line, turn_deg=-turn_deg) for line in (outline, *obstacles)]
        turned = Room(lines[0], lines[1:])
        yield turn_deg, turned, HEIGHTS, _full
    yield 0.0, along, SMALL, _short
    if turned is not None:
        yield turn_deg, turned, SMALL, _short


def _turned(spot: tuple[float, float], turn_deg: float) -> tuple[float, float]:
    return moved_spot(partial(pose_points, turn_deg=turn_deg), spot) if turn_deg else spot


def _numbered(outline: Line, obstacles: list[Line], number: int, shift: tuple[float, float]) -> tuple[Label, Label]:
    """The piece's number as large as there is room for, clear of what is drawn, or else across it."""
    words = _lettering((str(number),))
    for lines in (obstacles, []):
        room = Room(outline, lines)
        for height in SMALL:
            centre = room.place(words.box[0] * height, words.box[1] * height, TIGHT)
            if centre is not None:
                label = words.label(_moved(centre, shift), height)
                return label, label
    middle = outline.mean(axis=0)
    bare = Label((str(number),), _moved((float(middle[0]), float(middle[1])), shift), (), SMALL[-1])
    return bare, bare


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
