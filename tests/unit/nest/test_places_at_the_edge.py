"""Pieces that fit exactly, or but for the last digits of their lengths, have a place wherever one is asked for.

The lengths are arithmetic; no source.
"""

import itertools

import pytest
from shapely import box
from shapely.geometry import Polygon

from cutroom.errors import NestError
from cutroom.model.arrays import Points, frozen_points
from cutroom.nest.problem import Item, Laid, Layout, Match, Pose, Problem, laid_outline
from cutroom.nest.solve import solve

UP, DOWN, ACROSS = Pose(), Pose(turn_deg=180.0), Pose(turn_deg=90.0)
WIDTH = 1143.0


def a_box(along: float, across: float, *, left: float = 0.0, low: float = 0.0) -> Points:
    high, right = low + across, left + along
    return frozen_points([[left, low], [right, low], [right, high], [left, high]])


def judge(problem: Problem, layout: Layout) -> None:
    """Shapely: all on the cloth and apart, to a millionth of a piece."""
    outlines = [Polygon(laid_outline(problem.items[laid.item], laid)) for laid in layout.placed]
    cloth = box(0.0, 0.0, layout.length, problem.width)
    assert len(outlines) == len(problem.items)
    assert all(outline.difference(cloth).area <= 1e-6 * outline.area for outline in outlines)
    for one, other in itertools.combinations(outlines, 2):
        assert one.intersection(other).area <= 1e-6 * min(one.area, other.area)


@pytest.mark.parametrize("repeat", [(50.0, 0.0), (0.0, 50.0), (50.0, 50.0)])
@pytest.mark.parametrize("low", [1.5875, 10 / 3, 0.00005])
def test_a_matched_panel_as_wide_as_the_cloth_is_laid(repeat: tuple[float, float], low: float) -> None:
    match = Match((10.0, low + 100.0), repeat, (10.0, 100.0))
    panel = Item("panel", a_box(200.0, WIDTH, low=low), (UP,), match=match)
    problem = Problem(WIDTH, 0.0, (panel, Item("tab", a_box(50.0, 60.0), (UP, DOWN))))
    layout = solve(problem, seconds=0, seed=1, tries=3)
    judge(problem, layout)
    assert match.off_by(layout.placed[0]) <= match.tolerance


def test_a_panel_that_meets_the_line_within_its_tolerance_only_is_laid() -> None:
    match = Match((0.0, 0.0), (0.0, 50.0), (0.0, 0.2), 0.25)
    problem = Problem(WIDTH, 0.0, (Item("panel", a_box(200.0, WIDTH), (UP,), match=match),))
    assert solve(problem, seconds=0, seed=1, tries=3).placed[0].y == 0.0


def as_long_as_the_table(left: float) -> Problem:
    pieces = tuple(Item(f"{n}", a_box(1000.0, 400.0, left=left), (UP,)) for n in range(3))
    return Problem(900.0, 0.0, pieces, table=1000.0)


@pytest.mark.parametrize("left", [0.0, 3.175, 1.5875])
def test_a_piece_as_long_as_the_table_is_laid(left: float) -> None:
    layout = solve(as_long_as_the_table(left), seconds=0, seed=1, tries=3)
    judge(as_long_as_the_table(left), layout)
    assert [round(laid.x + left, 4) % 1000.0 for laid in layout.placed] == [0.0, 0.0, 0.0]


@pytest.mark.parametrize("left", [0.00003, 10 / 3])
def test_one_that_is_so_but_for_the_grid_is_refused_in_words(left: float) -> None:
    with pytest.raises(NestError, match=r"1000\.0001 mm long, the table 1000\.0000"):
        solve(as_long_as_the_table(left), seconds=0, seed=1, tries=3)


def test_a_piece_longer_than_the_table_lies_across() -> None:
    problem = Problem(2500.0, 0.0, (Item("strip", a_box(2000.0, 500.0), (UP, ACROSS)),), table=1500.0)
    layout = solve(problem, seconds=0, seed=1, tries=2)
    assert (layout.placed[0].pose, layout.length) == (ACROSS, 500.0)


def test_a_table_off_the_grid_has_its_ends_where_the_search_has_them() -> None:
    table = 1000.0 / 3
    pieces = tuple(Item(f"{n}", a_box(333.3333, 900.0), (UP,)) for n in range(9))
    problem = Problem(900.0, 0.0, pieces, table=table)
    layout = solve(problem, seconds=0, seed=1, tries=3)
    judge(problem, layout)
    assert layout.length <= 3000.0
    for laid in layout.placed:
        end = round((laid.x + 333.3333) / table) * table
        assert laid.x + 333.3333 <= end + 1e-4
        assert laid.x >= end - table - 1e-4


def test_a_garment_takes_the_turn_in_which_all_its_pieces_have_a_place() -> None:
    long, short = a_box(400.0, 900.0), a_box(900.0, 400.0)
    items = (
        Item("long", long, (ACROSS, UP), group="coat"),
        Item("short", short, (ACROSS, UP), group="coat"),
        Item("other", short, (ACROSS, UP), group="skirt"),
    )
    problem = Problem(1000.0, 0.0, items, same_way=True, table=800.0)
    with pytest.raises(NestError, match="coat"):
        solve(problem, seconds=0, seed=1, tries=2)
    wider = Problem(1000.0, 0.0, items, same_way=True, table=900.0)
    judge(wider, solve(wider, seconds=0, seed=1, tries=4))


@pytest.mark.parametrize("step", range(0, 4000, 173))
def test_a_piece_is_locked_where_the_grid_has_it_and_refused_beside_the_cloth(step: int) -> None:
    low = step * 0.0007
    panel = Item("panel", a_box(200.0, 500.0, left=low, low=low), (UP, DOWN))
    tab = Item("tab", a_box(50.0, 60.0), (UP, DOWN))
    for x, y in ((round(-low, 4), round(-low, 4)), (round(300.0 - low, 4), round(WIDTH - 500.0 - low, 4))):
        locked = Laid(0, UP, x, y)
        problem = Problem(WIDTH, 0.0, (panel, tab), locked=(locked,))
        layout = solve(problem, seconds=0, seed=1, tries=2)
        assert layout.placed[0] == locked
    for x, y in ((-low - 0.0002, -low), (-low, -low - 0.0002), (-low, WIDTH - 500.0 - low + 0.0002)):
        locked = Laid(0, UP, round(x, 4), round(y, 4))
        with pytest.raises(NestError, match="beside the cloth"):
            solve(Problem(WIDTH, 0.0, (panel, tab), locked=(locked,)), seconds=0, seed=1, tries=1)


def test_a_lock_in_a_pose_a_hair_too_wide_is_refused_in_words() -> None:
    strip = Item("strip", a_box(50.0, 100.00015), (UP, ACROSS))
    with pytest.raises(NestError, match="beside the cloth"):
        solve(Problem(100.0, 0.0, (strip,), locked=(Laid(0, UP, 0.0, -0.0001),)), seconds=0, seed=1, tries=1)


def test_a_start_on_narrower_cloth_is_refused_in_words() -> None:
    strip = Item("strip", a_box(80.0, 150.0), (UP, ACROSS))
    with pytest.raises(NestError, match="too large here"):
        solve(Problem(100.0, 0.0, (strip,)), seconds=0, seed=1, tries=2, start=(Laid(0, UP, 0.0, 0.0),))


def test_a_layout_that_fits_exactly_is_gone_on_from_as_it_is() -> None:
    panels = tuple(Item(f"{n}", a_box(300.0, WIDTH / 2), (UP, DOWN)) for n in range(4))
    problem = Problem(WIDTH, 0.0, panels)
    first = solve(problem, seconds=0, seed=1, tries=3)
    again = solve(problem, seconds=0, seed=2, tries=1, start=first.placed)
    assert (first.length, again.placed) == (600.0, first.placed)
