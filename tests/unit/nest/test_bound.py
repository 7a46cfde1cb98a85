"""The proven bound: its parts held against shapely, SciPy and search by hand, its value against jobs known exactly."""

import itertools
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment
from shapely.geometry import LineString, Polygon

from cutroom.geometry.polygon import signed_area
from cutroom.model.arrays import Points, frozen_points
from cutroom.nest.bound import AREA, BESIDE, FOLD, LOCKED, LONGEST, WIDTHS, assignment_cost, lower_bound
from cutroom.nest.chords import above, chords, grown, least_step
from cutroom.nest.problem import Item, Laid, Match, Pose, Problem
from cutroom.nest.shares import shares
from cutroom.nest.solve import solve
from tests.unit.nest.test_nest_of_known_jobs import BOTH, a_box, a_gore, a_skirt


def a_star(rng: np.random.Generator, corners: int) -> Points:
    """Any simple outline that is starlike, often with hollows."""
    angles = (np.arange(corners) + rng.uniform(0, 0.8, corners)) * (2 * np.pi / corners)
    star = np.column_stack([np.cos(angles), np.sin(angles)]) * rng.uniform(8, 80, corners)[:, None]
    return frozen_points(star if signed_area(star) > 0 else star[::-1])  # three may lie to one side of the middle


def cut(outline: Polygon, x: float) -> float:
    return float(outline.intersection(LineString([(x, -1e4), (x, 1e4)])).length)


def at(runs: Points, x: float) -> float:
    for start, end, left, right in runs:
        if start < x < end:
            return float(left + (x - start) / (end - start) * (right - left))
    return 0.0


@given(st.integers(0, 10**6), st.integers(3, 12))
@example(seed=510509, corners=3)
@settings(max_examples=40, deadline=None)
def test_chords_are_what_shapely_cuts(seed: int, corners: int) -> None:
    rng = np.random.default_rng(seed)
    outline = a_star(rng, corners)
    polygon, runs = Polygon(outline), chords(outline)
    for x in rng.uniform(runs[0, 0], runs[-1, 1], 6):
        assert at(runs, x) == pytest.approx(cut(polygon, x), abs=1e-6)
    over, under = above(runs, np.array([0.0]))
    assert over[0] == pytest.approx(runs[-1, 1] - runs[0, 0])
    assert under[0] == pytest.approx(polygon.area)


@given(st.integers(0, 10**6), st.floats(0.5, 30))
@settings(max_examples=40, deadline=None)
def test_grown_chords_are_never_longer_than_those_of_the_grown_outline(seed: int, radius: float) -> None:
    rng = np.random.default_rng(seed)
    outline = a_star(rng, 7)
    wide, runs = Polygon(outline).buffer(radius, 64), grown(chords(outline), radius)
    for x in rng.uniform(runs[0, 0] + 1e-3, runs[-1, 1] - 1e-3, 8):
        assert at(runs, x) <= cut(wide, x) + 2e-3 * radius + 1e-9  # shapely's circle has corners
    assert above(runs, np.array([0.0]))[1][0] >= Polygon(outline).area
    square = grown(chords(a_box(100, 50)), 10.0)
    assert at(square, 50.0) == 70.0
    assert (square[0, 0], square[-1, 1]) == (-10.0, 110.0)


@given(st.integers(0, 10**6))
@settings(max_examples=40, deadline=None)
def test_no_shorter_step_is_free_and_the_least_one_is(seed: int) -> None:
    rng = np.random.default_rng(seed)
    one, two = chords(a_star(rng, 6)), chords(a_star(rng, 6))
    peaks = [float(runs[:, 2:].max()) for runs in (one, two)]
    height = rng.uniform(max(peaks), sum(peaks))
    step = least_step(one, two, height)

    def highest(apart: float) -> float:
        places = np.unique(np.concatenate([one[:, :2].ravel(), two[:, :2].ravel() + apart]))
        return max(at(one, x + s) + at(two, x + s - apart) for x in places for s in (-1e-9, 1e-9))

    if step > 0:
        assert highest(step + 1e-7) <= height + 1e-4
        assert all(highest(share * step) > height - 1e-4 for share in np.linspace(0, 0.999, 25))


@given(st.lists(st.one_of(st.fractions(0, 1, max_denominator=24), st.floats(0.001, 1)), min_size=1, max_size=12))
@settings(max_examples=200, deadline=None)
def test_what_adds_up_to_a_whole_still_does_after_every_share(parts: list[Fraction | float]) -> None:
    room, left, kept = 720.0, Fraction(1), []
    for part in parts:
        own = Fraction(part)
        if 0 < own <= left:
            kept.append(own)
            left -= own
    tried = shares(room, [float(part) * room for part in parts] + [room])
    rows = tried.of(np.array([float(part) * room for part in kept])).sum(axis=1)
    assert len(rows) > 20
    assert (rows <= 1 + 1e-9).all()
    rising = tried.of(np.linspace(0, room, 500))
    assert (np.diff(rising, axis=1) >= -1e-12).all()
    assert (rising >= -1e-12).all()


@given(st.integers(0, 10**6), st.integers(2, 9))
@settings(max_examples=40, deadline=None)
def test_the_cheapest_assignment_costs_what_scipy_says(seed: int, count: int) -> None:
    pay = np.random.default_rng(seed).uniform(0, 9, (count, count)).round(seed % 3)
    rows, columns = linear_sum_assignment(np.where(np.eye(count) > 0, 1e9, pay))
    assert assignment_cost(np.where(np.eye(count) > 0, np.inf, pay)) == pytest.approx(pay[rows, columns].sum())


def test_the_skirt_on_folded_cloth_cannot_be_shorter() -> None:
    """28 + 1/4 + 3 1/2 in: both fold pieces share the fold. Arithmetic, no source."""
    bound = lower_bound(a_skirt(folded=True))
    assert (bound.length, bound.by) == (806.45, FOLD)


def test_the_opened_skirt_cannot_be_shorter_than_its_waistband() -> None:
    bound = lower_bound(a_skirt(folded=False))
    assert (bound.length, bound.by) == (762.0, LONGEST)


@pytest.mark.parametrize(("gores", "length"), [(7, 800.0), (14, 1493.3334)])
def test_gores(gores: int, length: float) -> None:
    """Seven take the length of one; fourteen 2 x 7 x 1600 cm2 over 150 cm, up to the next place of the grid."""
    assert lower_bound(Problem(1500.0, 0.0, tuple(Item("", a_gore(), BOTH) for _ in range(gores)))).length == length


def striped(width: float, start: float = 415.0) -> Problem:
    """Front and back of a striped jacket; see the rules of cloth."""
    back = Item("back", a_box(740, 90), match=Match((415.0, 45.0), (70.0, 0.0), (start, 0.0)))
    front = Item("front", a_box(720, 90), match=Match((400.0, 45.0), (70.0, 0.0), (start, 0.0)))
    return Problem(width, 5.0, (front, back))


def test_a_jacket_on_narrow_cloth_needs_both_lengths_and_the_stripe() -> None:
    """740 + 5 + 720. The front must be 15 mm on from the back, up to whole stripes of 70: behind it at 785, 40 lost; or
    the back at 755 behind the front, 30 lost, where the stripe may lie so at the start. Each may be half a mm off.
    """
    plain = Problem(100.0, 5.0, tuple(replace(item, match=None) for item in striped(100.0).items))
    assert (lower_bound(plain).length, lower_bound(plain).by) == (1465.0, BESIDE)
    assert lower_bound(striped(100.0)).length == 1494.0
    found = solve(striped(100.0, start=400.0), seconds=0, seed=1, tries=30)
    assert found.length == pytest.approx(1495.0, abs=1.0)
    assert (lower_bound(striped(200.0)).length, lower_bound(striped(200.0)).by) == (740.0, LONGEST)


def test_a_piece_as_wide_as_the_cloth_keeps_its_gap_along_it() -> None:
    problem = Problem(436.5625, 3.0, (Item("panel", a_box(200, 436.5625)), Item("tab", a_box(50, 60), BOTH)))
    assert (lower_bound(problem).length, lower_bound(problem).by) == (253.0, BESIDE)


def test_two_of_three_widths_leave_cloth_beside_them() -> None:
    """Three of 40 on 100: two lie side by side, 20 are left over, so that each counts one half."""
    bound = lower_bound(Problem(100.0, 0.0, tuple(Item("", a_box(300, 40)) for _ in range(4))))
    assert (bound.length, bound.by) == (600.0, WIDTHS)


def test_wide_pieces_may_stick_into_each_other_but_not_pass() -> None:
    """Two arrowheads, 100 long and 90 wide, one into the other's notch of 40: 160, and columns alone do not see it."""
    arrow = frozen_points([[0, 0], [60, 0], [100, 45], [60, 90], [0, 90], [40, 45]])
    bound = lower_bound(Problem(90.0, 0.0, (Item("a", arrow), Item("b", arrow))))
    found = solve(Problem(90.0, 0.0, (Item("a", arrow), Item("b", arrow))), seconds=0, seed=1, tries=20)
    assert bound.length <= found.length == pytest.approx(160.0)
    assert bound.length >= 2 * 60 + 40


def test_three_fold_pieces_on_a_tube_need_one_fold_twice() -> None:
    items = tuple(Item("", a_box(300, 60), (Pose(), Pose(flipped=True)), on_fold=True) for _ in range(3))
    tube = Problem(150.0, 5.0, items, fold=True, far_fold=True)
    assert (lower_bound(tube).length, lower_bound(tube).by) == (605.0, FOLD)
    near = tuple(replace(item, poses=(Pose(),)) for item in items)
    assert lower_bound(replace(tube, items=near)).length == 910.0  # none of them can lie on the other fold
    assert lower_bound(replace(tube, items=items * 6)).length == 9 * 305.0 - 5.0


def test_what_is_used_is_not_used_again() -> None:
    used = frozen_points([[0, 0], [300, 0], [300, 100], [0, 100]])
    bound = lower_bound(Problem(100.0, 0.0, (Item("", a_box(150, 60)), Item("", a_box(150, 40))), forbidden=(used,)))
    assert bound.length == 450.0
    half = frozen_points([[0, -50], [300, -50], [300, 50], [0, 50]])  # half of it beside the cloth
    bound = lower_bound(Problem(100.0, 0.0, (Item("", a_box(50, 50)), Item("", a_box(150, 100))), forbidden=(half,)))
    assert (bound.length, bound.by) == (325.0, AREA)  # (2500 + 15000 + 15000) / 100


def test_a_locked_piece_holds_the_end() -> None:
    items = (Item("", a_box(50, 50)), Item("", a_box(50, 50)))
    bound = lower_bound(Problem(100.0, 0.0, items, locked=(Laid(0, Pose(), 777.77, 3.0),)))
    assert (bound.length, bound.by) == (827.77, LOCKED)


def test_pieces_that_fit_but_for_their_last_digits_do_fit() -> None:
    """Three thirds of a width in inches: the sum of the floats is above the width."""
    third = 10.1 * 25.4
    width = 3 * 10.1 * 25.4
    assert lower_bound(Problem(width - 1e-7, 0.0, tuple(Item("", a_box(300, third)) for _ in range(3)))).length == 300.0
    half = tuple(Item("", a_box(300, width / 2 + 4e-8)) for _ in range(2))
    assert lower_bound(Problem(width, 0.0, half)).length == 300.0


def test_nothing_to_lay_needs_nothing() -> None:
    assert lower_bound(Problem(100.0, 0.0, ())).length == 0.0


def test_the_area_is_said_to_be_what_forbids_a_shorter_one() -> None:
    sides = (18, 15, 14, 10, 9, 8, 7, 4, 1)  # Moron's rectangle, 33 x 32 (1925; from memory, they tile exactly)
    problem = Problem(320.0, 0.0, tuple(Item(f"{side}", a_box(side * 10, side * 10)) for side in sides))
    assert (lower_bound(problem).length, lower_bound(problem).by) == (330.0, AREA)


@given(st.integers(0, 10**6))
@settings(max_examples=12, deadline=None)
def test_no_layout_that_is_found_is_shorter(seed: int) -> None:
    rng = np.random.default_rng(seed)
    kind = seed % 4
    shapes = [
        a_star(rng, int(rng.integers(3, 8))) if rng.integers(2) else a_box(*rng.uniform(20, 150, 2)) for _ in range(5)
    ]
    items = tuple(Item(f"{n}", shape, BOTH, gap=float(rng.choice([0, 2, 9]))) for n, shape in enumerate(shapes))
    if kind in {1, 2}:
        folded = Item(
            "fold", a_box(*rng.uniform(40, 140, 2)), (Pose(), Pose(flipped=True, turn_deg=180.0)), on_fold=True
        )
        items = (*items, folded, replace(folded, outline=a_box(*rng.uniform(40, 140, 2))))
    if kind == 3:
        items = tuple(replace(item, match=Match((1.0, 2.0), (30.0, 0.0), (5.0, 0.0))) for item in items)
    flaws = (frozen_points(a_box(40, 60) + np.array([30.0, 100.0])),) if seed % 3 == 0 else ()
    problem = Problem(190.0, 2.0, items, fold=kind in {1, 2}, far_fold=kind == 2, forbidden=flaws)
    found = solve(problem, seconds=0, seed=seed, tries=6)
    assert lower_bound(problem).length <= found.length + 1e-6


def test_layouts_of_boxes_laid_in_every_order_are_never_shorter() -> None:
    """All ways to lay four boxes, each as far left as it goes at one of a few heights: none beats the bound."""
    rng = np.random.default_rng(3)
    for _ in range(10):
        sizes = rng.integers(10, 60, (4, 2)).astype(float)
        width = float(rng.integers(60, 90))
        bound = lower_bound(Problem(width, 0.0, tuple(Item("", a_box(*size)) for size in sizes))).length
        best, covered = np.inf, 0.0
        for order in itertools.permutations(range(4)):
            laid: list[tuple[float, float, float, float]] = []
            for box in order:
                along, across = sizes[box]
                tops = [0.0, *(one[3] for one in laid), *(one[1] - across for one in laid)]
                spots = []
                for low in (top for top in tops if 0 <= top <= width - across):
                    left = max((one[2] for one in laid if one[1] < low + across and one[3] > low), default=0.0)
                    spots.append((left + along, left, low))
                _, left, low = min(spots)
                laid.append((left, low, left + along, low + across))
            best = min(best, max(one[2] for one in laid))
            covered = shapely.union_all([shapely.box(*one) for one in laid]).area
        assert covered == pytest.approx(sizes.prod(axis=1).sum())
        assert bound <= best + 1e-9


def test_of_a_piece_that_leans_only_the_area_counts() -> None:
    """Drawn 1 degree off its grain and tilted by as much it is 600 long, and longer in each pose tried."""
    corners = np.array([[0.0, 0.0], [600.0, 0.0], [600.0, 100.0], [0.0, 100.0]])
    angle = np.radians(1.0)
    leaning = corners @ np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    poses = tuple(Pose(turn_deg=turn) for turn in (0.0, 0.75, 359.25))
    item = Item("facing", leaning, poses)
    assert lower_bound(Problem(130.0, 4.0, (item,))).length > 600.1
    bound = lower_bound(Problem(130.0, 4.0, (replace(item, leans=True),)))
    assert 600.0 * 100.0 / 130.0 - 1.0 < bound.length < 600.0
    assert bound.by == "the area of the pieces"
    straight = Item("belt", frozen_points([[0, 0], [590, 0], [590, 90], [0, 90]]))
    assert lower_bound(Problem(130.0, 0.0, (straight, replace(item, leans=True)))).length >= 590.0
