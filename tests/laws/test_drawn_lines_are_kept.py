"""Laws of the plot room: cutting up and putting in order keep every line."""

from collections import Counter
from itertools import pairwise

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from numpy.typing import NDArray

from cutroom.geometry.plotter_units import PLU_TO_MM
from cutroom.model.plot import Plot, Role, Stroke
from cutroom.plot.clip import clip_line
from cutroom.plot.frames import frame
from cutroom.plot.sequence import sequence
from tests.builders import a_plotter

grid_lines = hnp.arrays(
    np.float64, st.tuples(st.integers(2, 9), st.just(2)), elements=st.integers(0, 40).map(lambda step: step * 5.0)
)
free_lines = hnp.arrays(np.float64, st.tuples(st.integers(2, 9), st.just(2)), elements=st.floats(0.5, 199.5))


def _length(line: NDArray[np.float64], *, closed: bool) -> float:
    points = np.vstack([line, line[:1]]) if closed else line
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


@settings(deadline=None)
@given(free_lines, st.booleans())
def test_windows_side_by_side_hold_the_whole_line_once(line: NDArray[np.float64], closed: bool) -> None:
    parts = []
    for x in (0.0, 70.0, 140.0):
        for y in (0.0, 110.0):
            low = np.array([x, y])
            parts += clip_line(line, low, np.add(low, (70.0, 110.0)), closed=closed)
    assert abs(sum(_length(part, closed=False) for part in parts) - _length(line, closed=closed)) < 1e-6


@settings(deadline=None)
@given(grid_lines, st.booleans())
def test_clipping_agrees_with_shapely(line: NDArray[np.float64], closed: bool) -> None:
    low, high = np.array([50.0, 50.0]), np.array([130.0, 150.0])
    parts = clip_line(line, low, high, closed=closed)
    ring = np.vstack([line, line[:1]]) if closed else line
    window = shapely.box(*low, *high)
    wanted = [shapely.LineString(pair).intersection(window) for pair in pairwise(ring)]
    got = [shapely.LineString(part) for part in parts if _length(part, closed=False) > 0]
    assert abs(sum(part.length for part in wanted) - sum(part.length for part in got)) < 1e-6
    assert all(window.buffer(1e-9).covers(part) for part in got)
    assert all(shapely.LineString(ring).buffer(1e-6).covers(part) for part in got)


def _moves(line: NDArray[np.int64]) -> Counter[frozenset[tuple[int, ...]]]:
    points = [tuple(point) for point in line.tolist()]
    return Counter(frozenset(pair) for pair in zip(points, points[1:] or points, strict=False))


@settings(max_examples=50, deadline=None)
@given(
    st.lists(
        st.tuples(
            hnp.arrays(np.int64, st.tuples(st.integers(1, 12), st.just(2)), elements=st.integers(0, 3000)),
            st.booleans(),
        ),
        max_size=25,
    )
)
def test_a_sequence_draws_the_same_lines(given_lines: list[tuple[NDArray[np.int64], bool]]) -> None:
    lines = [np.vstack([line, line[:1]]) if closed else line for line, closed in given_lines]
    ordered = sequence(lines)
    assert len(ordered) == len(lines)
    before = Counter(frozenset(_moves(line).items()) for line in lines)
    after = Counter(frozenset(_moves(line).items()) for line in ordered)
    assert before == after


def test_a_sequence_travels_less_than_the_order_given() -> None:
    places = np.random.default_rng(7).integers(0, 30000, (400, 1, 2))
    lines = list(places + np.array([(0, 0), (60, 0), (60, 40), (0, 0)]))
    ordered = sequence(lines)

    def travel(sequenced: list[NDArray[np.int64]]) -> float:
        ends = [line[-1] for line in sequenced[:-1]]
        starts = [line[0] for line in sequenced[1:]]
        return float(np.hypot(*(np.array(starts) - np.array(ends)).T).sum())

    assert travel(ordered) < 0.1 * travel(lines)


@settings(max_examples=50, deadline=None)
@given(st.lists(st.tuples(free_lines, st.booleans()), min_size=1, max_size=5), st.sampled_from([50.0, 66.601, 819.175]))
def test_frames_joined_are_the_whole_drawing(
    drawn: list[tuple[NDArray[np.float64], bool]], frame_length: float
) -> None:
    strokes = tuple(Stroke(Role.CUT, line, closed) for line, closed in drawn)
    framed = frame(Plot("drawing", (0.0, 0.0), (200.0, 200.0), strokes), a_plotter(frame=frame_length))
    joined = [
        np.add(run.points, (start, 0))
        for start, runs in zip(framed.edges_plu, framed.frames, strict=True)
        for run in runs
    ]
    got = shapely.MultiLineString([np.vstack([line, line[-1:]]) if len(line) == 1 else line for line in joined])
    rings = [np.vstack([line, line[:1]]) if closed else line for line, closed in drawn]
    wanted = shapely.MultiLineString([ring * PLU_TO_MM for ring in rings])
    assert shapely.hausdorff_distance(wanted, got) < 1.0  # rounding of both ends moves a line by 0.71 at most
