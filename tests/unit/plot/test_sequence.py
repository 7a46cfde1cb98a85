"""Order of drawing and of cutting: every line kept, short ways, and nothing cut from a loose piece."""

from itertools import pairwise, permutations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from cutroom.model.plot import Role, Stroke
from cutroom.plot.compose import compose
from cutroom.plot.cut_order import CLEAR, CutRules, cut_order, quiet_starts
from cutroom.plot.sequence import Doors, sequence
from tests.bench.travel_bound import Lines, assignment_bound, free_bound, tree_bound
from tests.builders import a_marker

Line = NDArray[np.float64]
SQUARE = np.array([(0.0, 0.0), (120.0, 0.0), (120.0, 120.0), (0.0, 120.0)])
RING = np.array([(60 + 10 * np.cos(a), 60 + 10 * np.sin(a)) for a in np.linspace(0, 2 * np.pi, 24, endpoint=False)])


def as_set(line: Line) -> tuple[tuple[float, ...], ...]:
    """A line whatever its direction and, when it is closed, its start."""
    rows = [tuple(point) for point in line.tolist()]
    if len(rows) > 3 and rows[0] == rows[-1]:
        rows = rows[:-1]
        turns = [tuple(way[k:] + way[:k]) for way in (rows, rows[::-1]) for k in range(len(rows))]
        return min(turns)
    return min(tuple(rows), tuple(rows[::-1]))


def travel(lines: list[Line], start: tuple[float, float] = (0.0, 0.0)) -> float:
    places = [start, *(tuple(point) for line in lines for point in (line[0], line[-1]))]
    return sum(float(np.hypot(*np.subtract(one, two))) for one, two in zip(places[::2], places[1::2], strict=False))


def nearest_way(lines: list[Line]) -> float:
    """Always on to the nearest end or corner, by trying all."""
    left, at, total = list(lines), np.zeros(2), 0.0
    while left:
        ends = [
            (float(np.hypot(*(line[door] - at))), index, door)
            for index, line in enumerate(left)
            for door in (range(len(line)) if as_set(line) and (line[0] == line[-1]).all() else (0, len(line) - 1))
        ]
        apart, index, door = min(ends)
        line = left.pop(index)
        at = line[door] if (line[0] == line[-1]).all() else line[-1 if door == 0 else 0]
        total += apart
    return total


@given(st.data())
@settings(max_examples=60, deadline=None)
def test_sequence_keeps_every_line(data: st.DataObject) -> None:
    whole = st.integers(-50, 50).map(float)
    some = st.lists(st.lists(st.tuples(whole, whole), min_size=1, max_size=6), min_size=1, max_size=25)
    lines = [np.array(line) for line in data.draw(some)]
    lines += [np.vstack([line, line[:1]]) for line in lines if len(line) > 2]
    ordered = sequence(lines, (3.0, -4.0))
    assert sorted(map(as_set, ordered)) == sorted(map(as_set, lines))


@pytest.mark.parametrize("seed", range(5))
def test_sequence_beats_a_nearest_neighbour_way(seed: int) -> None:
    rng = np.random.default_rng(seed)
    lines = [np.cumsum(np.vstack([rng.uniform(0, 1000, 2), rng.normal(0, 9, (5, 2))]), axis=0) for _ in range(150)]
    lines += [np.vstack([SQUARE, SQUARE[:1]]) / 10 + rng.uniform(0, 1000, 2) for _ in range(50)]
    assert travel(sequence(lines)) < 0.95 * nearest_way(lines)


def test_a_row_of_strokes_is_drawn_from_one_end_to_the_other() -> None:
    lines = [np.array([(x, 0.0), (x + 4.0, 0.0)]) for x in (30.0, 10.0, 0.0, 20.0)]
    assert travel(sequence(lines)) == pytest.approx(3 * 6.0)


def cuts(*shifts: tuple[float, float]) -> list[Stroke]:
    """Squares of 120 mm with a hole of 20 mm and a notch, one a shift."""
    strokes = []
    for index, shift in enumerate(shifts):
        strokes += [
            Stroke(Role.CUT, SQUARE + shift, closed=True, placement=index),
            Stroke(Role.CUTOUT, RING + shift, closed=True, placement=index),
            Stroke(Role.NOTCH, np.array([(60.0, 0.0), (60.0, 5.0)]) + shift, placement=index),
        ]
    return strokes


def test_what_lies_inside_a_piece_is_cut_before_its_outline() -> None:
    """Common practice, no source: an outline cut first leaves the piece loose, and its holes shift."""
    ordered = cut_order(cuts(*((123.0 * x, 123.0 * y) for x in range(5) for y in range(4))))
    assert len(ordered) == 60
    for index in range(20):
        places = [place for place, stroke in enumerate(ordered) if stroke.placement == index]
        assert places == list(range(places[0], places[0] + 3)), "a piece is done in one go"
        assert ordered[places[-1]].role is Role.CUT


def test_all_that_a_marker_cuts_is_kept() -> None:
    plot = compose(a_marker(), legend=(), title="t")
    some = [stroke for stroke in plot.strokes if stroke.role in {Role.CUT, Role.NOTCH, Role.DRILL, Role.FABRIC}]
    ordered = cut_order(some)
    assert sorted(stroke.role for stroke in ordered) == sorted(stroke.role for stroke in some)
    for stroke in some:
        twin = [one for one in ordered if one.role is stroke.role and one.placement == stroke.placement]
        assert any(_same_length(one, stroke) for one in twin)


def _same_length(one: Stroke, other: Stroke) -> bool:
    lengths = [
        float(np.hypot(*np.diff(np.vstack([s.points, s.points[: s.closed]]), axis=0).T).sum()) for s in (one, other)
    ]
    return abs(lengths[0] - lengths[1]) < 1e-9


def test_a_piece_in_a_cut_out_is_cut_before_the_piece_around_it() -> None:
    window = (SQUARE - 60) * 0.8 + 60
    outer = [
        Stroke(Role.CUT, SQUARE, closed=True, placement=0),
        Stroke(Role.CUTOUT, window, closed=True, placement=0),
    ]
    inner = Stroke(Role.CUT, (SQUARE - 60) * 0.5 + 60, closed=True, placement=1)
    assert [stroke.placement for stroke in cut_order([*outer, inner])] == [1, 0, 0]


def test_strips_go_forward_and_small_pieces_come_first() -> None:
    small = [Stroke(Role.CUT, SQUARE / 6 + (x, 130.0), closed=True, placement=9 + x) for x in (0, 150, 500)]
    ordered = cut_order([*cuts((0, 0), (200, 0), (480, 0)), *small], rules=CutRules(strip=400.0, small=1000.0))
    strips = [stroke.points[:, 0].max() > 400 for stroke in ordered]
    assert strips == sorted(strips)
    assert [stroke.placement for stroke in ordered[:2]] == [9, 159]


def test_an_outline_begins_away_from_its_corners_and_notches() -> None:
    notch = np.array([(60.0, 0.0), (60.0, 5.0)])
    points, starts = quiet_starts(SQUARE, [notch])
    assert len(starts) >= 3
    for x, y in points[starts]:
        assert np.hypot(*(SQUARE - (x, y)).T).min() >= CLEAR
        assert np.hypot(60 - x, y) >= CLEAR


@pytest.mark.parametrize("seed", range(12))
def test_the_bound_lies_below_the_best_way(seed: int) -> None:
    """The bound that the bench measures by, held against every order of a few lines."""
    rng = np.random.default_rng(seed)
    ends = rng.uniform(0, 100, (6, 2, 2))
    ends[0, 1] = ends[0, 0]
    ends[3, 1] = ends[3, 0]
    best = np.inf
    for order in permutations(range(1, 6)):
        for flips in product((False, True), repeat=5):
            way = [ends[0], *(ends[k][::-1] if flip else ends[k] for k, flip in zip(order, flips, strict=True))]
            best = min(best, sum(float(np.hypot(*(b[0] - a[1]))) for a, b in pairwise(way)))
    lines = Lines(ends, np.arange(6), np.zeros(6, dtype=np.bool_))
    bound = tree_bound(lines, rule=False, near=2 + seed % 3)
    assert bound <= best + 1e-6
    assert assignment_bound(lines) <= best + 1e-6
    assert tree_bound(lines, rule=False) >= 0.8 * best


@pytest.mark.parametrize("seed", range(12))
def test_the_bound_for_any_starts_lies_below_the_best_way(seed: int) -> None:
    """Three open lines and two closed ones of four doors, held against every order and every door."""
    rng = np.random.default_rng(seed)
    offered = np.array([1, 2, 4, 2, 4, 2])
    owner = np.repeat(np.arange(6), offered)
    back = np.array([0, 2, 1, 3, 4, 5, 6, 8, 7, 9, 10, 11, 12, 14, 13])
    loose = offered[owner] == 4
    spread = np.where(loose, 25.0, 5.0)[:, None]  # a tool gains by crossing a closed line, if it might
    places = rng.uniform(0, 100, (6, 2))[owner] + spread * rng.normal(size=(len(owner), 2))
    gaps = np.hypot(*(places[back][:, None] - places[None]).transpose(2, 0, 1))
    best = np.inf
    for order in permutations(range(1, 6)):
        for way in product(*(np.flatnonzero(owner == line).tolist() for line in order)):
            best = min(best, sum(gaps[one, two] for one, two in pairwise((0, *way))))
    doors = Doors(places, back, owner, np.zeros(len(owner), dtype=np.int64), loose)
    bound = free_bound(doors, best, rounds=300, near=2 + seed % 3)
    assert 0.6 * best <= bound <= best + 1e-6
