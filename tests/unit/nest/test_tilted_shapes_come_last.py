"""Tilted shapes are worked out last and only in time, and what was worked out once is not worked out again."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from cutroom.nest.known import Known
from cutroom.nest.problem import Item, Laid, Pose, Problem
from cutroom.nest.solve import solve
from cutroom.nest.stock import Stock, gather
from tests.unit.nest.test_rules_of_cloth import assert_sound, some_items

UPRIGHT = (Pose(False, 0.0), Pose(False, 180.0))
TILTED = (*UPRIGHT, *(Pose(False, turn) for turn in (2.0, 182.0, 358.0, 178.0)))


def a_problem(count: int = 6) -> Problem:
    return Problem(300.0, 2.0, tuple(replace(item, poses=TILTED) for item in some_items(3, count)))


def looks(count: int) -> Callable[[], float]:
    """Seconds left: ten for so many looks at the clock, then none."""
    seen = iter(range(count))
    return lambda: 10.0 if next(seen, None) is not None else 0.0


def poses_of(stock: Stock) -> list[tuple[Pose, ...]]:
    return [tuple(pose for pose, _ in choices) for choices in stock.choices]


def test_without_time_all_lie_untilted_and_without_a_clock_all_may_be_tilted() -> None:
    problem = a_problem()
    assert poses_of(gather(problem)) == [TILTED] * 6
    assert poses_of(gather(problem, left=lambda: 0.0)) == [UPRIGHT] * 6
    assert poses_of(gather(problem, left=looks(2))) == [UPRIGHT] * 6


def test_time_for_some_goes_to_the_largest_pieces() -> None:
    items = tuple(Item(f"{n}", np.array([[0, 0], [n, 0], [n, n], [0, n]]), TILTED) for n in (30.0, 90.0, 60.0))
    problem = Problem(300.0, 2.0, items)
    found = {tuple(poses == TILTED for poses in poses_of(gather(problem, left=looks(count)))) for count in range(2, 90)}
    assert found == {(False, False, False), (False, True, False), (False, True, True), (True, True, True)}


def test_a_pose_that_something_lies_in_is_there_in_any_case() -> None:
    lying = tuple(Laid(number, TILTED[2], 100.0 * number, 100.0) for number in range(2))
    found = gather(a_problem(), start=lying, left=lambda: 0.0)
    assert poses_of(found) == [(*UPRIGHT, TILTED[2])] * 2 + [UPRIGHT] * 4


def test_an_item_that_fits_only_tilted_is_tilted_whatever_the_time() -> None:
    item = Item("facing", np.array([[0.0, 0.0], [400.0, 14.0], [400.0, 100.0], [0.0, 86.0]]), TILTED)
    found = gather(Problem(90.0, 0.0, (item,)), left=lambda: 0.0)
    assert {pose.turn_deg for pose in poses_of(found)[0]} == {358.0, 178.0}


def test_what_is_known_is_not_worked_out_again_and_changes_nothing() -> None:
    problem, known = a_problem(), Known()
    gather(replace(problem, items=tuple(replace(item, poses=UPRIGHT) for item in problem.items)), known=known)
    before = dict(known.regions)
    kept, fresh = gather(problem, known=known), gather(problem)
    assert all(known.regions[pair] is region for pair, region in before.items())
    assert kept.variants == fresh.variants
    for one, other in zip(kept.book, fresh.book, strict=True):
        assert np.array_equal(one, other)
    count = len(known.regions)
    gather(problem, known=known)
    assert len(known.regions) == count


def test_tilted_pieces_are_laid_sound_and_no_longer_than_what_they_went_on_from() -> None:
    problem = a_problem(8)
    straight = replace(problem, items=tuple(replace(item, poses=UPRIGHT) for item in problem.items))
    first = solve(straight, seconds=0, seed=2, tries=10)
    tilted = solve(problem, seconds=0, seed=2, tries=10, start=first.placed)
    assert_sound(problem, tilted)
    assert tilted.length <= first.length
