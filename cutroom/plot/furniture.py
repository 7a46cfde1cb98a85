"""What a sheet carries beside the cloth: legend, arrows, test squares, scale bar, start line.

All of it stands at x < 0 or y < 0. The head is a strip before the start line. It holds blocks, set in one column or,
on narrow cloth, in several.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.affine import cos_sin, pose_points
from cutroom.geometry.lettering import text_strokes, text_width
from cutroom.model.fabric import Nap
from cutroom.model.marker import Marker
from cutroom.model.plot import Role, Stroke
from cutroom.plot.words import wrapped

COLUMN = 150.0
"""Width of a column of the head (mm)."""
SQUARE_CM, SQUARE_IN = 100.0, 101.6
"""Sides of the test squares (mm): 10 cm, and 4 in of 25.4 mm."""
BAR = 1000.0
"""Longest scale bar (mm)."""

_GAP, _START = 12.0, 16.0  # between blocks; from the head to the start line
_TITLE, _WORDS, _SMALL, _LINE = 9.0, 4.5, 2.6, 1.75  # capital heights (mm), and line spacing in capital heights


@dataclass(frozen=True, slots=True, eq=False)
class _Block:
    height: float
    strokes: tuple[Stroke, ...]  # from (0, 0) at the lower left


def draw_furniture(marker: Marker, *, legend: Sequence[str], title: str) -> list[Stroke]:
    """Everything the sheet carries outside the cloth.

    Args:
        marker: The marker.
        legend: Lines of the legend.
        title: Set large over the legend.

    Returns:
        Strokes of the role SHEET, at x < 0 or y < 0.

    Raises:
        ValueError: A letter cannot be drawn.
    """
    blocks = [_legend(title, legend), _arrows(marker), _squares()]
    return [*_head(blocks, marker.width), *_start_line(marker.width), *_bar(marker.length), *_edge_word(marker)]


def _head(blocks: Sequence[_Block], width: float) -> list[Stroke]:
    tall = max(width, *(block.height for block in blocks))
    columns: list[list[_Block]] = [[]]
    for block in blocks:
        if columns[-1] and sum(one.height + _GAP for one in columns[-1]) + block.height > tall:
            columns.append([])
        columns[-1].append(block)
    strokes: list[Stroke] = []
    for place, column in enumerate(columns):
        left = -_START - (len(columns) - place) * COLUMN - (len(columns) - 1 - place) * _GAP
        top = tall
        for block in column:
            top -= block.height
            strokes.extend(_moved(block.strokes, left, 0.0 if block is blocks[-1] else top))
            top -= _GAP
    return strokes


def _legend(title: str, legend: Sequence[str]) -> _Block:
    strokes: list[Stroke] = []
    y = 0.0
    for text, height in ((title, _TITLE), *((line, _WORDS) for line in legend)):
        for line in wrapped(text, height, COLUMN):
            size = height * min(1.0, COLUMN / max(text_width(line, height), 1e-9))
            y -= height * _LINE
            strokes.extend(_written(line, size, 0.0, y + height * (_LINE - 1.45)))
        if text is title:
            y -= 3.0
            strokes.append(_line((0, y), (COLUMN, y)))
            y -= 2.0
    return _Block(-y, tuple(_moved(strokes, 0, -y)))


def _arrows(marker: Marker) -> _Block:
    words = {Nap.ONE_WAY: "nap: one way", Nap.BY_GARMENT: "nap: each garment one way", Nap.NONE: "nap: either way"}
    along = sum(cos_sin(placement.turn_deg)[0] for placement in marker.placements)
    both = marker.fabric.way is not Nap.ONE_WAY
    word = words[marker.fabric.nap] if marker.fabric.way is marker.fabric.nap else "pattern: one way"
    strokes = [*_written(word, _WORDS, 0.0, 9.0), _line((0, 4), (COLUMN, 4))]
    if both or along >= 0:
        strokes.append(_path((COLUMN - 8, 7), (COLUMN, 4), (COLUMN - 8, 1)))
    if both or along < 0:
        strokes.append(_path((8, 7), (0, 4), (8, 1)))
    return _Block(16.0, tuple(strokes))


def _squares() -> _Block:
    strokes: list[Stroke] = []
    bottom = 0.0
    for side, name, exact in ((SQUARE_IN, "4 in", "101.6 mm"), (SQUARE_CM, "10 cm", "100.0 mm")):
        corners = np.array([(0, bottom), (side, bottom), (side, bottom + side), (0, bottom + side)])
        strokes.append(Stroke(Role.SHEET, corners, closed=True))
        strokes.extend(_written(name, 8.0, side / 2, bottom + side / 2, centred=True))
        strokes.extend(_written(exact, _WORDS, side / 2, bottom + side / 2 - 9, centred=True))
        bottom += side + 8.0
    return _Block(bottom - 8.0, tuple(strokes))


def _start_line(width: float) -> list[Stroke]:
    strokes = [_line((-2, 0), (-2, width))]
    for share in (1, 5):
        y = width * share / 6
        strokes.append(Stroke(Role.SHEET, np.array([(-9, y - 3), (-3.5, y), (-9, y + 3)]), closed=True))
    word = [np.subtract(line, (text_width("start", _WORDS) / 2, 0)) for line in text_strokes("start", _WORDS)]
    strokes.extend(Stroke(Role.SHEET, pose_points(line, turn_deg=90, shift=(-5, width / 2))) for line in word)
    return strokes


def _bar(length: float) -> list[Stroke]:
    tenths = int(np.clip(length // 100, 1, BAR // 100))
    strokes = [_line((0, -4), (tenths * 100, -4))]
    strokes.extend(_line((tick * 10, -4), (tick * 10, -6 if tick == 5 else -5.2)) for tick in range(1, 10))
    for tick in range(tenths + 1):
        strokes.append(_line((tick * 100, -2.5), (tick * 100, -7)))
        text = "0" if tick == 0 else "1 m" if tick == 10 else f"{tick * 10} cm"
        strokes.extend(_written(text, _SMALL, max(tick * 100, 1.5), -10.6, centred=True))
    return strokes


def _edge_word(marker: Marker) -> list[Stroke]:
    text = "fold →" if marker.fabric.has_fold else "selvedge →"
    return _written(text, _SMALL, -3 - text_width(text, _SMALL), -4 - _SMALL / 2)


def _written(text: str, height: float, x: float, y: float, *, centred: bool = False) -> list[Stroke]:
    left = x - text_width(text, height) / 2 if centred else x
    return [Stroke(Role.SHEET, np.add(line, (left, y))) for line in text_strokes(text, height)]


def _line(start: tuple[float, float], end: tuple[float, float]) -> Stroke:
    return _path(start, end)


def _path(*points: tuple[float, float]) -> Stroke:
    return Stroke(Role.SHEET, np.array(points))


def _moved(strokes: Sequence[Stroke], x: float, y: float) -> list[Stroke]:
    shift: NDArray[np.float64] = np.array([x, y])
    return [Stroke(stroke.role, stroke.points + shift, stroke.closed) for stroke in strokes]
