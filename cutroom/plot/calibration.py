"""A drawing to measure a machine by: long bars both ways, a square with its diagonals, marks made twice, pen crosses.

The bars run between two short ticks, so that a steel rule finds their ends. The two diagonals of the square are of one
length when the axes stand square to each other. The repeat marks are drawn first of all and again last of all: they
look like one when nothing has slipped. A pen cross has its upright from one pen and its other line from another.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import PlotError
from cutroom.geometry.lettering import text_strokes, text_width

Reals = NDArray[np.float64]

MARGIN = 15.0
"""Free strip round the drawing (mm)."""
LONGEST, SHORTEST, STEP = 1000.0, 100.0, 100.0
"""A bar is a whole multiple of `STEP` and lies between these (mm)."""
_TICK, _CROSS, _LETTERS = 12.0, 8.0, 5.0
_SQUARE = 100.0


@dataclass(frozen=True, slots=True, eq=False)
class Mark:
    """A line of the drawing: `(n, 2)` mm from its lower corner, and the number of the pen that draws it."""

    pen: int
    points: Reals


@dataclass(frozen=True, slots=True, eq=False)
class Calibration:
    """A drawing to measure a machine by.

    Attributes:
        along: Length of the bar along x (mm).
        across: Length of the bar along y (mm).
        marks: In the order in which they must be drawn.
        size: Length and width of the whole (mm).
    """

    along: float
    across: float
    marks: tuple[Mark, ...]
    size: tuple[float, float]


def calibration(length: float, width: float, pens: Sequence[int], *, title: str, place: str = "") -> Calibration:
    """The drawing, as large as a machine allows.

    Args:
        length: What the machine reaches along x (mm).
        width: What it reaches along y (mm).
        pens: Numbers of its pens; the first draws what is measured.
        title: What it says.
        place: Names the machine, for messages.

    Raises:
        PlotError: The machine is too small to be measured so.
    """
    along, across = (_bar_length(side, place) for side in (length, width))
    pen = pens[0]
    low = left = 2 * MARGIN + _TICK  # where the square's corner lies
    repeat = [_cross((MARGIN + _CROSS, MARGIN + _CROSS), pen), _cross((left + along, low + across), pen)]
    marks = [line for cross in repeat for line in cross]
    marks += _bar((left, MARGIN + _TICK / 2), (left + along, MARGIN + _TICK / 2), pen)
    marks += _bar((MARGIN + _TICK / 2, low), (MARGIN + _TICK / 2, low + across), pen)
    side = min(along, across) if min(along, across) < 2 * _SQUARE else min(along, across, 500.0)
    corners = np.array([(left, low), (left + side, low), (left + side, low + side), (left, low + side), (left, low)])
    marks += [Mark(pen, corners), Mark(pen, corners[[0, 2]]), Mark(pen, corners[[1, 3]])]
    small = np.array([(0, 0), (_SQUARE, 0), (_SQUARE, _SQUARE), (0, _SQUARE), (0, 0)]) * 0.5
    marks.append(Mark(pen, np.add(small, (left + side / 2 - _SQUARE / 4, low + side / 2 - _SQUARE / 4))))
    for number, other in enumerate(pens[1:]):
        spot = (left + side / 8 * (number % 6 + 1), low + side - 2 * _CROSS - 3 * _CROSS * (number // 6))
        marks += [_cross(spot, pen)[0], _cross(spot, other)[1]]
    words = f"{title}: {along:g} mm along, {across:g} mm across"
    marks += [
        Mark(pen, np.add(stroke, (left, low + side + 5))) for stroke in text_strokes(words, _fitting(words, side))
    ]
    marks += [line for cross in repeat for line in cross]
    return Calibration(along, across, tuple(marks), (left + along + MARGIN, low + across + MARGIN))


def _bar_length(reach: float, place: str) -> float:
    room = reach - 3 * MARGIN - _TICK - 2 * _CROSS
    bar = min(LONGEST, float(np.floor(room / STEP)) * STEP)
    if bar < SHORTEST:
        raise PlotError(
            f"it reaches {reach:.0f} mm, and a bar of {SHORTEST:.0f} mm needs {SHORTEST + reach - room:.0f} mm",
            "Measure it by the test square of a marker instead",
            place=place,
        )
    return bar


def _fitting(words: str, side: float) -> float:
    return min(_LETTERS, _LETTERS * (side - 10) / text_width(words, _LETTERS))


def _bar(start: tuple[float, float], end: tuple[float, float], pen: int) -> list[Mark]:
    """A line with a tick square across each of its ends."""
    line = np.array([start, end])
    run = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    tick = np.array([-run[1], run[0]]) * _TICK / 2
    return [Mark(pen, line), *(Mark(pen, np.array([spot - tick, spot + tick])) for spot in line)]


def _cross(spot: tuple[float, float], pen: int) -> list[Mark]:
    """The upright and the level line of a cross."""
    reach = _CROSS / 2
    return [
        Mark(pen, np.add([(0.0, -reach), (0.0, reach)], spot)),
        Mark(pen, np.add([(-reach, 0.0), (reach, 0.0)], spot)),
    ]
