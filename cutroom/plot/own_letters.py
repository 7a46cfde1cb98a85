"""Words on the pieces in a plotter's own letters, in place of the strokes that draw them.

Such letters stand in cells of one width: a line of words is made as long as its strokes would be, and as high.
"""

import math
import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.plotter_units import PLU_TO_MM, in_plotter_units
from cutroom.model.plot import Lettered, PenText, Plot, Role
from cutroom.model.profile import Plotter
from cutroom.plot.sequence import sequence

CELL = 1.5
"""From one letter of a plotter to the next, in widths of a letter (HP-GL, fixed-space letters; from memory)."""
_WRITABLE = re.compile(r"[!-~](?:[ -~]*[!-~])?")
"""Words of letters that every plotter has: printable ASCII."""
_REACH = (-0.5, 1.5)
"""How far below and above its baseline a line of words may reach, in capital heights."""


def in_own_letters(
    plot: Plot, plotter: Plotter, edges: NDArray[np.int64]
) -> tuple[Plot, tuple[tuple[PenText, ...], ...]]:
    """Words that a plotter writes itself.

    Args:
        plot: The drawing.
        plotter: The machine; where its profile does not ask for its letters, nothing changes.
        edges: Where each frame starts along the paper, and where the last ends (plotter units).

    Returns:
        The drawing without the strokes of those words, and the words of each frame. Words that two frames share, or
        with letters that no plotter has, stay strokes.
    """
    if not plotter.own_letters or not plotter.pens.get(Role.LABEL, 0):
        return plot, ()
    frames: list[list[PenText]] = [[] for _ in edges[:-1]]
    gone: set[int] = set()
    for line in plot.lettered:
        at = _frame_of(line, plot, plotter, edges) if _WRITABLE.fullmatch(line.words) else None
        if at is not None:
            frames[at].append(_as_text(line, plot, plotter, int(edges[at])))
            gone |= set(range(*line.strokes))
    kept = tuple(stroke for index, stroke in enumerate(plot.strokes) if index not in gone)
    return replace(plot, strokes=kept), tuple(map(_in_order, frames))


def _ways(line: Lettered) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Which way words read, and which way their letters stand."""
    turn = math.radians(line.turn_deg)
    along = np.array([math.cos(turn), math.sin(turn)])
    return along, np.array([-along[1], along[0]])


def _frame_of(line: Lettered, plot: Plot, plotter: Plotter, edges: NDArray[np.int64]) -> int | None:
    """The frame in which a line of words lies whole, or None."""
    along, up = _ways(line)
    start = np.subtract(line.at, plot.lower)
    corners = [start + along * reach + up * rise * line.height for reach in (0.0, line.width) for rise in _REACH]
    places = np.array(corners) * plotter.correction * PLU_TO_MM
    at = int(np.searchsorted(edges, places[:, 0].min(), side="right")) - 1
    return at if places.min() >= 0 and places[:, 0].max() <= edges[min(at + 1, len(edges) - 1)] else None


def _as_text(line: Lettered, plot: Plot, plotter: Plotter, edge: int) -> PenText:
    """A line of words in a frame that starts at an edge; a correction stretches it with all the rest."""
    along, up = (way * plotter.correction for way in _ways(line))
    longer, taller = float(np.hypot(*along)), float(np.hypot(*up))
    x, y = in_plotter_units(np.subtract(line.at, plot.lower) * plotter.correction).tolist()
    width = line.width * longer / (1 + CELL * (len(line.words) - 1))
    way = (float(along[0]) / longer, float(along[1]) / longer)
    return PenText(plotter.pens[Role.LABEL], (x - edge, y), line.words, (width, line.height * taller), way)


def _in_order(texts: Sequence[PenText]) -> tuple[PenText, ...]:
    """Words in an order with little travel."""
    by_place: dict[tuple[int, int], list[PenText]] = {}
    for text in texts:
        by_place.setdefault(text.at, []).append(text)
    ordered = sequence([np.array([place]) for place in by_place])
    return tuple(text for spot in ordered for text in by_place[int(spot[0, 0]), int(spot[0, 1])])
