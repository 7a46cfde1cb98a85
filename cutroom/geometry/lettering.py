"""Lettering as single strokes, for pens: every letter is drawn, or refused by name; none is dropped.

The plain letters are Hershey's (see `cutroom.geometry.hershey`); accents, fractions and a few signs are added here.
Accents rise to about 1.5 capital heights above the baseline, tails fall to about 0.4 below it.
"""

import unicodedata
from collections.abc import Iterable
from functools import cache, lru_cache
from itertools import accumulate
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.hershey import SIMPLEX

_CAPITAL, _SMALL = 21.0, 14.0  # heights of `H` and `x` in the units of the data

_Line = tuple[tuple[float, float], ...]
_Glyph = tuple[float, tuple[_Line, ...]]  # advance, strokes; y up from the baseline, x from the left side


def text_strokes(text: str, height: float) -> tuple[NDArray[np.float64], ...]:
    """One line of text as pen strokes.

    Args:
        text: The words; no line breaks.
        height: Height of the capitals (mm).

    Returns:
        Strokes, each `(n, 2)` in mm to 0.001, open; the baseline is y = 0 and the text starts at x = 0.

    Raises:
        ValueError: A letter cannot be drawn; the message names it.
    """
    strokes: list[NDArray[np.float64]] = []
    x, scale = 0.0, height / _CAPITAL
    for letter in unicodedata.normalize("NFC", text):
        advance, lines = _glyph(letter)
        strokes.extend(np.round(np.add(line, (x, 0.0)) * scale, 3) for line in lines)
        x += advance
    return tuple(strokes)


@lru_cache(maxsize=4096)
def text_points(text: str) -> tuple[NDArray[np.float64], tuple[int, ...]]:
    """One line of text as the points of its pen strokes, stroke after stroke, in capital heights.

    Args:
        text: The words; no line breaks.

    Returns:
        `(n, 2)` read-only, as `text_strokes` has them, and how many points each stroke has.

    Raises:
        ValueError: A letter cannot be drawn; the message names it.
    """
    letters = [_packed(letter) for letter in unicodedata.normalize("NFC", text)]
    starts = np.cumsum([0.0, *(letter.advance for letter in letters)])[:-1]
    points = np.concatenate([letter.points for letter in letters] or [np.zeros((0, 2))])
    points[:, 0] += np.repeat(starts, [len(letter.points) for letter in letters])
    points /= _CAPITAL
    points.flags.writeable = False
    return points, tuple(size for letter in letters for size in letter.sizes)


@lru_cache(maxsize=4096)
def text_box(text: str) -> tuple[tuple[float, float], tuple[float, float], float]:
    """The least and the greatest x and y of a line of text, and its width, in capital heights.

    Raises:
        ValueError: A letter cannot be drawn; the message names it.
    """
    letters = [_packed(letter) for letter in unicodedata.normalize("NFC", text)]
    *starts, width = accumulate((letter.advance for letter in letters), initial=0.0)
    drawn = [(letter.low, letter.high, x) for letter, x in zip(letters, starts, strict=True) if letter.sizes]
    if not drawn:
        return (0.0, 0.0), (0.0, 0.0), width / _CAPITAL
    left, right = min([low[0] + x for low, _, x in drawn]), max([high[0] + x for _, high, x in drawn])
    bottom, top = min([low[1] for low, _, _ in drawn]), max([high[1] for _, high, _ in drawn])
    return (left / _CAPITAL, bottom / _CAPITAL), (right / _CAPITAL, top / _CAPITAL), width / _CAPITAL


class _Packed(NamedTuple):
    """A letter's strokes in one array of points, and its box, in the units of the data."""

    advance: float
    points: NDArray[np.float64]
    sizes: tuple[int, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]


@cache
def _packed(letter: str) -> _Packed:
    advance, lines = _glyph(letter)
    points = np.array([point for line in lines for point in line], dtype=np.float64).reshape(-1, 2)
    low, high = (points.min(axis=0), points.max(axis=0)) if len(points) else (np.zeros(2), np.zeros(2))
    return _Packed(advance, points, tuple(len(line) for line in lines), tuple(low.tolist()), tuple(high.tolist()))


def text_width(text: str, height: float) -> float:
    """How far a line of text reaches from x = 0 (mm).

    Raises:
        ValueError: A letter cannot be drawn; the message names it.
    """
    advances = (_glyph(letter)[0] for letter in unicodedata.normalize("NFC", text))
    return round(sum(advances) * height / _CAPITAL, 3)


@cache
def _glyph(letter: str) -> _Glyph:
    plain = _plain()
    if letter in _MADE:
        return _MADE[letter]()
    if letter in plain:
        return plain[letter]
    if letter in _SAME:
        return _glyph(_SAME[letter])
    base, *marks = list(unicodedata.normalize("NFD", letter))
    if base in plain and base.isalpha() and marks and all(mark in _ABOVE or mark in _BELOW for mark in marks):
        return _accented(base, marks)
    raise ValueError(f"the letter '{letter}' (U+{ord(letter):04X}) cannot be drawn")


@cache
def _plain() -> dict[str, _Glyph]:
    letters = [chr(code) for code in range(32, 127)] + ["°"]
    return {letter: _read_row(row) for letter, row in zip(letters, SIMPLEX.split("\n"), strict=True)}


def _read_row(row: str) -> _Glyph:
    numbers = [ord(character) - ord("R") for character in row]
    left, right = numbers[:2]
    pairs = [row[at : at + 2] for at in range(2, len(row), 2)]
    strokes: list[list[tuple[float, float]]] = [[]]
    for pair in pairs:
        if pair == " R":
            strokes.append([])
        else:
            x, y = ord(pair[0]) - ord("R"), ord(pair[1]) - ord("R")
            strokes[-1].append((float(x - left), float(9 - y)))
    return float(right - left), tuple(tuple(stroke) for stroke in strokes if stroke)


# Marks, drawn about x = 0 with the letter's top (or its baseline, for those below) at y = 0.

_DOT: _Line = ((0.0, 0.0), (-1.0, 1.0), (0.0, 2.0), (1.0, 1.0), (0.0, 0.0))
_RING: _Line = (
    (0, 0), (-1.6, 0.6), (-2.2, 2.2), (-1.6, 3.8), (0, 4.4), (1.6, 3.8), (2.2, 2.2), (1.6, 0.6), (0, 0),
)  # fmt: skip
_ABOVE: dict[str, tuple[_Line, ...]] = {
    "\N{COMBINING GRAVE ACCENT}": (((-2, 4.5), (1.5, 0)),),
    "\N{COMBINING ACUTE ACCENT}": (((2, 4.5), (-1.5, 0)),),
    "\N{COMBINING CIRCUMFLEX ACCENT}": (((-3.5, 0), (0, 4), (3.5, 0)),),
    "\N{COMBINING CARON}": (((-3.5, 4), (0, 0), (3.5, 4)),),
    "\N{COMBINING TILDE}": (
        ((-4.5, 0.5), (-3.5, 2.2), (-2, 3), (-0.5, 2.5), (0.5, 1.5), (2, 1), (3.5, 1.8), (4.5, 3.5)),
    ),
    "\N{COMBINING MACRON}": (((-4, 1.5), (4, 1.5)),),
    "\N{COMBINING BREVE}": (((-3.5, 3.5), (-2.6, 1.2), (-1, 0), (1, 0), (2.6, 1.2), (3.5, 3.5)),),
    "\N{COMBINING DOT ABOVE}": (_DOT,),
    "\N{COMBINING DIAERESIS}": (tuple((x - 3, y) for x, y in _DOT), tuple((x + 3, y) for x, y in _DOT)),
    "\N{COMBINING RING ABOVE}": (_RING,),
    "\N{COMBINING DOUBLE ACUTE ACCENT}": (((-1, 4.5), (-4, 0)), ((4, 4.5), (1, 0))),
}  # fmt: skip
_BELOW: dict[str, tuple[_Line, ...]] = {
    "\N{COMBINING CEDILLA}": (((0.5, 0), (0, -2), (1.8, -2.6), (2.4, -4), (1.6, -5.4), (0, -6), (-2, -5.6)),),
    "\N{COMBINING OGONEK}": (((0.5, 0), (-1.2, -1.8), (-1.5, -4), (-0.4, -5.6), (1.5, -5.8), (2.8, -5)),),
    "\N{COMBINING COMMA BELOW}": (((1, -2.5), (0.8, -4.5), (-1, -6.8)),),
    "\N{COMBINING DOT BELOW}": (tuple((x, y - 5) for x, y in _DOT),),
}


def _accented(base: str, marks: list[str]) -> _Glyph:
    advance, strokes = _plain()[base]
    if base in "ij" and any(mark in _ABOVE for mark in marks):
        strokes = _dotless(base)[1]
    xs = [x for line in strokes for x, _ in line]
    middle = (min(xs) + max(xs)) / 2
    top = max(y for line in strokes for _, y in line)
    extra: list[_Line] = []
    for mark in marks:
        if mark in _ABOVE:
            lines = _moved(_ABOVE[mark], middle, top + 2.5)
            top = max(y for line in lines for _, y in line)
        elif mark == "\N{COMBINING OGONEK}" and base not in "iIoO":
            lines = _moved(_BELOW[mark], max(xs) - 1.5, 0)
        else:
            lines = _moved(_BELOW[mark], middle, 0)
        extra.extend(lines)
    return advance, strokes + tuple(extra)


def _dotless(base: str) -> _Glyph:
    advance, strokes = _plain()[base]
    return advance, tuple(line for line in strokes if min(y for _, y in line) <= _SMALL)


def _moved(lines: Iterable[_Line], x: float, y: float, *, scale: float = 1.0) -> tuple[_Line, ...]:
    return tuple(tuple((px * scale + x, py * scale + y) for px, py in line) for line in lines)


# Letters and signs made of others.


def _crossed(base: str, *bars: _Line) -> _Glyph:
    advance, strokes = _plain()[base]
    return advance, strokes + bars


def _joined(first: str, second: str, overlap: float) -> _Glyph:
    (reach, left), (advance, right) = _plain()[first], _plain()[second]
    return reach + advance - overlap, left + _moved(right, reach - overlap, 0)


def _side_by_side(letter: str, *, apart: float, lift: float = 0.0) -> _Glyph:
    advance, strokes = _plain()[letter]
    return advance + apart, _moved(strokes, 0, lift) + _moved(strokes, apart, lift)


def _raised(letter: str) -> _Glyph:
    advance, strokes = _plain()[letter]
    return advance * 0.55, _moved(strokes, 0, _CAPITAL * 0.5, scale=0.55)


def _fraction(top: str, bottom: str) -> _Glyph:
    (over, upper), (under, lower) = _plain()[top], _plain()[bottom]
    bar: _Line = ((7.5, -1.0), (18.5, 22.0))
    strokes = (*_moved(upper, 0, _CAPITAL - 11.5, scale=0.55), bar, *_moved(lower, 14.5, 0, scale=0.55))
    return max(14.5 + under * 0.55, over * 0.55), strokes


def _turned_over(letter: str) -> _Glyph:
    advance, strokes = _plain()[letter]
    return advance, tuple(tuple((advance - x, _SMALL - y) for x, y in line) for line in strokes)


def _drawn(advance: float, *lines: _Line) -> _Glyph:
    return advance, lines


_MADE = {
    "½": lambda: _fraction("1", "2"), "¼": lambda: _fraction("1", "4"), "¾": lambda: _fraction("3", "4"),
    "⅛": lambda: _fraction("1", "8"), "⅜": lambda: _fraction("3", "8"), "⅝": lambda: _fraction("5", "8"),
    "⅞": lambda: _fraction("7", "8"), "⅓": lambda: _fraction("1", "3"), "⅔": lambda: _fraction("2", "3"),
    "¹": lambda: _raised("1"), "²": lambda: _raised("2"), "³": lambda: _raised("3"),
    "ø": lambda: _crossed("o", ((3.0, -1.5), (16.0, 15.5))), "Ø": lambda: _crossed("O", ((3.5, -1.5), (18.5, 22.5))),
    "ł": lambda: _crossed("l", ((0.5, 8.0), (7.5, 13.0))), "Ł": lambda: _crossed("L", ((-0.5, 7.5), (8.0, 12.5))),
    "đ": lambda: _crossed("d", ((9.0, 17.5), (18.5, 17.5))), "Đ": lambda: _crossed("D", ((1.0, 11.0), (10.0, 11.0))),
    "Ð": lambda: _crossed("D", ((1.0, 11.0), (10.0, 11.0))), "ħ": lambda: _crossed("h", ((1.0, 17.5), (9.0, 17.5))),
    "ı": lambda: _dotless("i"), "ȷ": lambda: _dotless("j"),
    "æ": lambda: _joined("a", "e", 6.0), "œ": lambda: _joined("o", "e", 6.0),
    "Æ": lambda: _drawn(
        25.0, ((1.0, 0.0), (12.0, 21.0)), ((12.0, 21.0), (12.0, 0.0), (23.0, 0.0)), ((12.0, 21.0), (23.0, 21.0)),
        ((12.0, 11.0), (20.0, 11.0)), ((4.67, 7.0), (12.0, 7.0)),
    ),
    "Œ": lambda: _drawn(
        28.0, ((15.0, 21.0), (9.0, 21.0), (6.0, 19.0), (4.0, 16.0), (3.0, 13.0), (3.0, 8.0), (4.0, 5.0), (6.0, 2.0),
        (9.0, 0.0), (15.0, 0.0)), ((15.0, 21.0), (15.0, 0.0), (26.0, 0.0)), ((15.0, 21.0), (26.0, 21.0)),
        ((15.0, 11.0), (23.0, 11.0)),
    ),
    "ß": lambda: _drawn(
        18.0,
        ((4.0, 0.0), (4.0, 16.0), (5.0, 19.0), (7.0, 21.0), (10.0, 21.0), (12.0, 20.0), (13.0, 18.0), (13.0, 16.0),
        (12.0, 14.0), (10.0, 12.5), (9.0, 11.0), (10.0, 9.5), (13.0, 7.5), (14.0, 5.5), (14.0, 3.5), (13.0, 1.5),
        (11.0, 0.0), (9.0, 0.0), (7.5, 1.0)),
    ),
    "þ": lambda: _crossed("p", ((4.0, 14.0), (4.0, 21.0))),
    "^": lambda: _drawn(16.0, ((3.0, 14.0), (8.0, 21.0), (13.0, 14.0))),
    "¿": lambda: _turned_over("?"), "¡": lambda: _turned_over("!"),
    "×": lambda: _drawn(18.0, ((3.5, 3.5), (14.5, 14.5)), ((3.5, 14.5), (14.5, 3.5))),
    "÷": lambda: _drawn(
        24.0, ((3.0, 9.0), (21.0, 9.0)), *_moved((_DOT,), 12, 13), *_moved((_DOT,), 12, 3),
    ),
    "±": lambda: _drawn(24.0, ((12.0, 20.0), (12.0, 6.0)), ((4.0, 13.0), (20.0, 13.0)), ((4.0, 2.0), (20.0, 2.0))),
    "–": lambda: _drawn(20.0, ((2.0, 8.0), (18.0, 8.0))), "—": lambda: _drawn(30.0, ((1.0, 8.0), (29.0, 8.0))),
    "·": lambda: _drawn(10.0, *_moved((_DOT,), 5, 7)), "…": lambda: _drawn(
        30.0, *_moved((_DOT,), 5, 0), *_moved((_DOT,), 15, 0), *_moved((_DOT,), 25, 0),
    ),
    "“": lambda: _side_by_side("`", apart=5.0), "”": lambda: _side_by_side("'", apart=5.0),
    "„": lambda: _side_by_side(",", apart=5.0),
    "«": lambda: _drawn(18.0, ((8.0, 13.0), (3.0, 8.0), (8.0, 3.0)), ((15.0, 13.0), (10.0, 8.0), (15.0, 3.0))),
    "»": lambda: _drawn(18.0, ((3.0, 13.0), (8.0, 8.0), (3.0, 3.0)), ((10.0, 13.0), (15.0, 8.0), (10.0, 3.0))),
    "′": lambda: _drawn(8.0, ((5.5, 21.0), (3.0, 15.0))),
    "″": lambda: _drawn(13.0, ((5.5, 21.0), (3.0, 15.0)), ((10.5, 21.0), (8.0, 15.0))),
    "→": lambda: _drawn(26.0, ((2.0, 9.0), (24.0, 9.0)), ((18.0, 14.0), (24.0, 9.0), (18.0, 4.0))),
    "←": lambda: _drawn(26.0, ((24.0, 9.0), (2.0, 9.0)), ((8.0, 14.0), (2.0, 9.0), (8.0, 4.0))),
    "↑": lambda: _drawn(16.0, ((8.0, -2.0), (8.0, 21.0)), ((3.0, 15.0), (8.0, 21.0), (13.0, 15.0))),
    "↓": lambda: _drawn(16.0, ((8.0, 21.0), (8.0, -2.0)), ((3.0, 4.0), (8.0, -2.0), (13.0, 4.0))),
    "€": lambda: _drawn(
        22.0,
        ((19.0, 18.5), (17.0, 20.5), (14.0, 21.0), (11.0, 20.5), (8.0, 18.0), (6.5, 14.5), (6.0, 10.5), (6.5, 6.5),
        (8.0, 3.0), (11.0, 0.5), (14.0, 0.0), (17.0, 0.5), (19.0, 2.5)), ((3.0, 12.5), (15.0, 12.5)),
        ((3.0, 8.5), (14.0, 8.5)),
    ),
    "£": lambda: _drawn(
        20.0,
        ((16.0, 17.5), (15.0, 19.5), (12.5, 21.0), (10.0, 20.5), (8.0, 18.5), (7.5, 16.0), (8.0, 12.0), (8.5, 8.0),
        (7.5, 4.0), (4.0, 0.0), (17.0, 0.0)), ((4.0, 10.5), (14.0, 10.5)),
    ),
}  # fmt: skip
_SAME = {"’": "'", "‘": "`", "‚": ",", "−": "–", "‐": "-", "‑": "-", "º": "°", "\N{NO-BREAK SPACE}": " "}
