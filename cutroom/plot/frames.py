"""A drawing cut into frames for a pen plotter, in plotter units.

A line that leaves a frame is broken exactly on the frame's edge, and the broken end is the same rounded point in both
frames.
"""

import math
from collections.abc import Iterator, Mapping
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import PlotError
from cutroom.geometry.plotter_units import PLU_TO_MM, in_plotter_units, rounded, without_repeats
from cutroom.model.plot import Framed, PenRun, Plot, Role
from cutroom.model.profile import Plotter
from cutroom.plot.own_letters import in_own_letters
from cutroom.plot.sequence import sequence

_Line = NDArray[np.int64]


def frame(plot: Plot, plotter: Plotter) -> Framed:
    """Cut a drawing into frames and put the strokes of each in an order with little travel.

    Args:
        plot: The drawing.
        plotter: Its width, frame length, pens and greatest coordinate. Roles of pen 0 are left out.

    Returns:
        Frame after frame along the paper; in each, pen after pen.

    Raises:
        PlotError: The drawing is wider than the plotter, or a coordinate is greater than it takes.
    """
    _check_width(plot, plotter)
    length = (plot.upper[0] - plot.lower[0]) * plotter.correction[0]
    count = max(1, math.ceil(length / plotter.frame - 1e-9))
    edges = in_plotter_units(np.arange(count + 1, dtype=np.float64) * plotter.frame)
    _check_range(plot, plotter, edges)
    pens = {role: plotter.pens.get(role, 0) for role in Role}
    plot, texts = in_own_letters(plot, plotter, edges)
    lines: list[dict[int, list[_Line]]] = [{} for _ in range(count)]
    for pen, at, line in _broken(plot, pens, edges, plotter.correction):
        lines[at].setdefault(pen, []).append(line)
    frames = []
    for by_pen in lines:
        runs: list[PenRun] = []
        place = (0.0, 0.0)
        for pen in sorted(by_pen):
            ordered = sequence(by_pen[pen], place)
            runs.extend(PenRun(pen, line) for line in ordered)
            place = (float(ordered[-1][-1, 0]), float(ordered[-1][-1, 1]))
        frames.append(tuple(runs))
    return Framed(plot.title, tuple(edges[:-1].tolist()), tuple(frames), texts)


def _check_width(plot: Plot, plotter: Plotter) -> None:
    width = (plot.upper[1] - plot.lower[1]) * plotter.correction[1]
    over = width - plotter.width
    if over > 0:
        raise PlotError(
            f"the drawing is {width:.1f} mm wide and the plotter draws {plotter.width:.1f} mm: {over:.1f} mm too wide",
            f"Lay the marker on cloth at least {over:.1f} mm narrower, or choose a wider plotter",
            place=f'plotter "{plotter.name}"',
        )


def _check_range(plot: Plot, plotter: Plotter, edges: NDArray[np.int64]) -> None:
    length, width = in_plotter_units(np.subtract(plot.upper, plot.lower) * plotter.correction)
    longest = min(int(length), int(np.diff(edges).max()))
    for name, reach in (("along the paper", longest), ("across the paper", int(width))):
        if reach > plotter.largest:
            raise PlotError(
                f"{name} a coordinate would be {reach}, and the plotter takes at most {plotter.largest}",
                f"Give the plotter a frame and a width of at most {plotter.largest / PLU_TO_MM:.3f} mm in its profile",
                place=f'plotter "{plotter.name}"',
            )


def _broken(
    plot: Plot, pens: Mapping[Role, int], edges: NDArray[np.int64], correction: tuple[float, float]
) -> Iterator[tuple[int, int, _Line]]:
    """`(pen, frame, line)` of every part of every stroke; lines in units from the start of their frame."""
    strokes = [stroke for stroke in plot.strokes if pens[stroke.role]]
    if not strokes:
        return
    runs = [part for stroke in strokes for part in (stroke.points, stroke.points[: int(stroke.closed)])]
    plu = (np.concatenate(runs) - plot.lower) * np.multiply(correction, PLU_TO_MM)
    ends = np.cumsum([len(stroke.points) + int(stroke.closed) for stroke in strokes])
    starts = np.concatenate([[0], ends[:-1]])
    last = len(edges) - 2
    lows, highs = np.minimum.reduceat(plu[:, 0], starts), np.maximum.reduceat(plu[:, 0], starts)
    frames = np.minimum(np.searchsorted(edges, lows, side="right") - 1, last)
    within = (frames == last) | (highs <= edges[frames + 1])
    whole = rounded(plu)
    new = np.ones(len(whole), dtype=np.bool_)  # points that do not repeat the one before
    new[1:] = (whole[1:] != whole[:-1]).any(axis=1)
    new[starts] = True
    whole[:, 0] -= np.repeat(edges[frames], ends - starts)
    thinned = whole[new]
    thinned.flags.writeable = False
    thin_ends = np.cumsum(new)[ends - 1]
    thin_starts = np.concatenate([[0], thin_ends[:-1]])
    spans = zip(strokes, frames.tolist(), within.tolist(), thin_starts.tolist(), thin_ends.tolist(), strict=True)
    for index, (stroke, at, is_within, start, end) in enumerate(spans):
        pen = pens[stroke.role]
        if is_within:
            yield pen, at, thinned[start:end]
        else:
            for place, line in _parts(plu[starts[index] : ends[index]], edges, closed=stroke.closed):
                yield pen, place, line - (edges[place], 0)


def _parts(plu: NDArray[np.float64], edges: NDArray[np.int64], *, closed: bool) -> list[tuple[int, _Line]]:
    crossed = _with_crossings(plu, edges)
    middles = (crossed[:-1, 0] + crossed[1:, 0]) / 2
    places = np.clip(np.searchsorted(edges, middles, side="right") - 1, 0, len(edges) - 2)
    whole = rounded(crossed)
    changes = np.flatnonzero(np.diff(places)) + 1
    if closed and len(changes) and places[0] == places[-1]:  # start the outline where it first enters another frame
        whole = np.vstack([whole[changes[0] :], whole[1 : changes[0] + 1]])
        places = np.roll(places, -changes[0])
        changes = np.flatnonzero(np.diff(places)) + 1
    ends = [0, *changes.tolist(), len(places)]
    lines = [(int(places[first]), without_repeats(whole[first : final + 1])) for first, final in pairwise(ends)]
    return [(place, line) for place, line in lines if len(line) > 1]  # a lone point on the edge is in the other frame


def _with_crossings(plu: NDArray[np.float64], edges: NDArray[np.int64]) -> NDArray[np.float64]:
    """A line with a point more wherever it crosses the edge of a frame."""
    start, run = plu[:-1], np.diff(plu, axis=0)
    low, high = np.minimum(plu[:-1, 0], plu[1:, 0]), np.maximum(plu[:-1, 0], plu[1:, 0])
    first, after = np.searchsorted(edges, low, side="right"), np.searchsorted(edges, high, side="left")
    crossed = np.maximum(after - first, 0)
    bits = np.repeat(np.arange(len(run)), crossed)
    nth = np.arange(len(bits)) - np.repeat(np.cumsum(crossed) - crossed, crossed)
    edge = edges[np.where(run[bits, 0] > 0, first[bits] + nth, after[bits] - 1 - nth)].astype(np.float64)
    share = (edge - start[bits, 0]) / run[bits, 0]
    return np.insert(plu, bits + 1, np.column_stack([edge, start[bits, 1] + share * run[bits, 1]]), axis=0)
