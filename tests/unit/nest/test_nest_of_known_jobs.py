"""Jobs whose least length is known by hand."""

import numpy as np
import pytest
from shapely.geometry import Polygon, box

from cutroom.errors import NestError
from cutroom.model.arrays import Points, frozen_points
from cutroom.nest.problem import Item, Layout, Pose, Problem, laid_outline
from cutroom.nest.solve import solve

INCH = 25.4
BOTH = (Pose(False, 0.0), Pose(False, 180.0))
ON_FOLD = (Pose(False, 0.0), Pose(True, 180.0))
QUARTERS = (Pose(False, 90.0), Pose(False, 270.0))


def a_box(along: float, across: float) -> Points:
    return frozen_points([[0, 0], [along, 0], [along, across], [0, across]])


def judge(problem: Problem, layout: Layout) -> None:
    """Hold a layout against shapely: all laid once, inside, apart, on the grid, on the fold."""
    assert [laid.item for laid in layout.placed] == list(range(len(problem.items)))
    outlines = [Polygon(laid_outline(problem.items[laid.item], laid)) for laid in layout.placed]
    for laid, outline in zip(layout.placed, outlines, strict=True):
        item = problem.items[laid.item]
        assert laid.pose in item.poses
        for shift in (laid.x, laid.y):
            assert shift == round(shift, 4)
        left, low, right, high = outline.bounds
        assert left >= -1e-6
        assert right <= layout.length + 1e-6
        assert high <= problem.width - (problem.gap if problem.far_fold else 0.0) + 1e-6
        if item.on_fold:
            assert laid.y == 0
            assert low == pytest.approx(0.0, abs=1e-9)
        else:
            assert low >= (problem.gap if problem.fold else 0.0) - 1e-6
    for place, outline in enumerate(outlines):
        for other in outlines[:place]:
            overlap = outline.intersection(other).area
            assert overlap <= 1e-6 * min(outline.area, other.area)
            assert outline.distance(other) >= problem.gap - 1e-6
    if problem.same_way:
        for group in {item.group for item in problem.items}:
            assert len({one.pose.turn_deg for one in layout.placed if problem.items[one.item].group == group}) == 1


def a_skirt(*, folded: bool) -> Problem:
    """The straight skirt: on folded cloth 29 in wide, or opened out on 58 in. Sizes and lengths by hand."""
    back = a_box(28 * INCH, 13.5 * INCH)
    if folded:
        items = (
            Item("front", a_box(28 * INCH, 13 * INCH), ON_FOLD, on_fold=True),
            Item("back", back, BOTH),
            Item("waistband", a_box(3.5 * INCH, 15 * INCH), ON_FOLD, on_fold=True),
        )
        return Problem(29 * INCH, 0.25 * INCH, items, fold=True)
    opened = (
        Item("front", a_box(28 * INCH, 26 * INCH), BOTH),
        Item("back", back, BOTH),
        Item("back", back, (Pose(True, 0.0), Pose(True, 180.0))),
        Item("waistband", a_box(30 * INCH, 3.5 * INCH), BOTH),
    )
    return Problem(58 * INCH, 0.25 * INCH, opened)


def a_gore() -> Points:
    return frozen_points([[0, -150], [800, -50], [800, 50], [0, 150]])


def test_a_skirt_on_folded_cloth_takes_exactly_its_length() -> None:
    problem = a_skirt(folded=True)
    layout = solve(problem, seconds=0, seed=1, tries=30)
    judge(problem, layout)
    assert layout.length == 806.45  # 28 + 0.25 + 3.5 in, provably least: both fold pieces share the fold


def test_a_skirt_on_open_cloth_takes_exactly_its_longest_piece() -> None:
    problem = a_skirt(folded=False)
    layout = solve(problem, seconds=0, seed=1, tries=30)
    judge(problem, layout)
    assert layout.length == 762.0  # 30 in; 26 + 13.5 + 13.5 + 3.5 + 3 x 0.25 = 57.25 of 58 in across


def test_a_quarter_inch_too_little_width_is_noticed() -> None:
    open_skirt = a_skirt(folded=False)
    problem = Problem(57.0 * INCH, open_skirt.gap, open_skirt.items)
    layout = solve(problem, seconds=0, seed=1, tries=30)
    judge(problem, layout)
    assert layout.length > 762.0


def test_seven_gores_any_way_lie_in_one_row() -> None:
    problem = Problem(1500.0, 0.0, tuple(Item(f"gore {n}", a_gore(), BOTH) for n in range(7)))
    layout = solve(problem, seconds=0, seed=1, tries=60)
    judge(problem, layout)
    assert layout.length == 800.0  # 20 x 7 + 10 = 150 cm: one alternating row


def test_seven_gores_one_way_need_a_second_row() -> None:
    problem = Problem(1500.0, 0.0, tuple(Item(f"gore {n}", a_gore(), BOTH[:1]) for n in range(7)))
    layout = solve(problem, seconds=0, seed=1, tries=60)
    judge(problem, layout)
    assert 800.0 < layout.length <= 1600.0
    assert len({laid.pose.turn_deg for laid in layout.placed}) == 1


def test_two_skirts_up_and_down_lie_in_two_rows() -> None:
    gores = tuple(Item(f"gore {n}", a_gore(), BOTH, group=f"skirt {n % 2}") for n in range(14))
    problem = Problem(1500.0, 0.0, gores, same_way=True)
    layout = solve(problem, seconds=0, seed=1, tries=60)
    judge(problem, layout)
    assert layout.length == 1600.0  # 80 cm a skirt


def test_a_piece_exactly_as_wide_as_the_cloth_is_laid() -> None:
    width = 436.5625  # 17 3/16 in, not a multiple of the grid
    problem = Problem(width, 3.0, (Item("panel", a_box(200, width), BOTH[:1]), Item("tab", a_box(50, 60), BOTH)))
    layout = solve(problem, seconds=0, seed=1, tries=5)
    judge(problem, layout)
    assert layout.length == 253.0


def test_boxes_cut_from_a_sheet_fill_it_again() -> None:
    rng = np.random.default_rng(7)
    for _ in range(5):
        cuts = np.sort(rng.choice(np.arange(10, 490), 3, replace=False)).astype(float)
        across = np.diff([0.0, *cuts, 500.0])
        problem = Problem(500.0, 0.0, tuple(Item(f"{n}", a_box(300.0, size), BOTH) for n, size in enumerate(across)))
        layout = solve(problem, seconds=0, seed=1, tries=5)
        judge(problem, layout)
        assert layout.length == 300.0


def test_a_perfect_square_of_boxes_is_found() -> None:
    # the smallest simple perfect rectangle, 33 x 32, of nine squares (Moron 1925; sides from memory, they tile exactly)
    sides = (18, 15, 14, 10, 9, 8, 7, 4, 1)
    assert sum(side**2 for side in sides) == 33 * 32
    problem = Problem(320.0, 0.0, tuple(Item(f"{side}", a_box(side * 10, side * 10)) for side in sides))
    layout = solve(problem, seconds=0, seed=3, tries=1500)
    judge(problem, layout)
    assert layout.length == 330.0


def test_a_key_is_laid_in_its_hole_without_room_to_spare() -> None:
    lock = frozen_points([[0, 0], [300, 0], [300, 100], [200, 100], [200, 40], [100, 40], [100, 100], [0, 100]])
    problem = Problem(100.0, 0.0, (Item("lock", lock), Item("key", a_box(100, 60))))
    layout = solve(problem, seconds=0, seed=1, tries=2)
    judge(problem, layout)
    assert layout.length == 300.0


def test_the_gap_is_kept_between_slanted_pieces() -> None:
    problem = Problem(1000.0, 6.35, tuple(Item(f"gore {n}", a_gore(), BOTH) for n in range(8)))
    layout = solve(problem, seconds=0, seed=1, tries=20)
    judge(problem, layout)
    assert layout.length == 1606.35  # two rows of four; their boxes need three rows


def test_a_tube_keeps_pieces_from_both_folds() -> None:
    items = (
        Item("front", a_box(300, 200), ON_FOLD, on_fold=True),
        *(Item(f"tab {n}", a_box(100, 90), BOTH) for n in range(4)),
    )
    problem = Problem(300.0, 5.0, items, fold=True, far_fold=True)
    judge(problem, solve(problem, seconds=0, seed=1, tries=10))


@pytest.mark.parametrize(
    ("problem", "says"),
    [
        (Problem(1000.0, 0.0, ()), "nothing to lay"),
        (Problem(0.0, 0.0, (Item("tab", a_box(10, 10)),)), "width"),
        (Problem(500.0, 0.0, (Item("coat back", a_box(100, 620.5)),)), "620.50 mm and has 500.00: 120.50 mm too wide"),
        (Problem(500.0, 6.0, (Item("back", a_box(100, 497)),), fold=True), "503.00"),
        (Problem(500.0, 0.0, (Item("front", a_box(100, 100), ON_FOLD, on_fold=True),)), "fold"),
        (Problem(500.0, 0.0, (Item("bow", frozen_points([[0, 0], [10, 10], [10, 0], [0, 11]])),)), "crosses"),
        (
            Problem(500.0, 0.0, (Item("a", a_box(9, 9), BOTH[:1]), Item("b", a_box(9, 9), BOTH[1:])), same_way=True),
            "no turn in common",
        ),
        (Problem(500.0, 0.0, (Item("f", a_box(9, 9) + 5.0, ON_FOLD, on_fold=True),), fold=True), "fold edge"),
    ],
)
def test_what_cannot_be_laid_is_refused_with_a_way_out(problem: Problem, says: str) -> None:
    with pytest.raises(NestError) as caught:
        solve(problem, seconds=0, seed=1)
    assert says in str(caught.value)
    assert caught.value.fix


@pytest.mark.parametrize("low", [1.5875, 0.005, 0.00005, 10 / 3])
def test_a_piece_as_wide_as_the_cloth_is_laid_whatever_its_corners_are_counted_from(low: float) -> None:
    """Where no place of the grid is its own, at the nearest: not past the edge by a millionth of its area."""
    panel = Item("panel", a_box(200, 1143.0) + np.array([0.0, low]), BOTH)
    problem = Problem(1143.0, 3.0, (panel, Item("tab", a_box(50, 60), BOTH)))
    layout = solve(problem, seconds=0, seed=1, tries=5)
    assert layout.length == 253.0
    one, other = (Polygon(laid_outline(problem.items[laid.item], laid)) for laid in layout.placed)
    for outline in (one, other):
        assert outline.difference(box(0.0, 0.0, layout.length, 1143.0)).area <= 1e-6 * outline.area
    assert one.distance(other) >= 3.0 - 1e-9


@pytest.mark.parametrize("eighths", [(179, 179), (125, 117, 116), (61, 60, 60, 59, 59, 59)])
def test_panels_to_the_eighth_of_an_inch_fill_the_width(eighths: tuple[int, ...]) -> None:
    widths = [one / 8 * 25.4 for one in eighths]
    problem = Problem(358 / 8 * 25.4, 0.0, tuple(Item(f"{n}", a_box(300, wide), BOTH) for n, wide in enumerate(widths)))
    layout = solve(problem, seconds=0, seed=1, tries=5)
    judge(problem, layout)
    assert layout.length == 300.0


def test_a_panel_a_hair_too_wide_is_refused_in_words() -> None:
    with pytest.raises(NestError, match=r"needs a width of 100\.0010 mm and has 100\.0000: 0\.0010 mm"):
        solve(Problem(100.0, 0.0, (Item("tab", a_box(10, 100.001), BOTH),)), seconds=0, seed=1)


def test_a_wide_piece_is_measured_in_its_narrowest_pose() -> None:
    problem = Problem(500.0, 0.0, (Item("coat back", a_box(700, 620), (*BOTH, *QUARTERS)),))
    with pytest.raises(NestError, match=r"needs a width of 620\.00"):
        solve(problem, seconds=0, seed=1)
