"""Outlines of thousands of points, needles, no time and thousands of pieces: laid whole, and the loss is stated."""

import numpy as np
import pytest
from shapely.geometry import Polygon

from cutroom.nest.problem import Item, Layout, Pose, Problem, laid_outline
from cutroom.nest.solve import solve
from cutroom.nest.stock import gather
from cutroom.nest.working import COARSER, MOST, simplify_outwards
from tests.unit.nest.test_rules_of_cloth import BOTH, assert_sound, box


def toothed(points: int, lobes: int, *, deep: float) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    angles = np.linspace(0, 2 * np.pi, points, endpoint=False)
    radii = 100.0 + deep * np.sin(lobes * angles)
    return np.column_stack([radii * np.cos(angles), radii * np.sin(angles)])


def test_five_thousand_points_are_simplified_outwards_and_the_loss_is_stated() -> None:
    outline = toothed(5000, 12, deep=4.0)
    simple = simplify_outwards(outline, coarser=COARSER, most=MOST)
    assert len(simple) < 150
    assert Polygon(simple).buffer(1e-6).covers(Polygon(outline))
    assert Polygon(simple).exterior.hausdorff_distance(Polygon(outline).exterior) <= COARSER[-1] + 1e-6
    problem = Problem(450.0, 1.0, (Item("lace", outline, BOTH),) * 2)
    layout = solve(problem, seconds=0, seed=1, tries=2)
    assert_sound(problem, layout)
    lost = Polygon(simple).area / Polygon(outline).area - 1.0
    assert layout.larger == pytest.approx(lost)
    assert 0.0 < layout.larger < 0.02


@pytest.mark.parametrize("thick", [0.03, 0.001])
def test_a_needle_is_laid_as_it_is(thick: float) -> None:
    needle = np.array([[0.0, 0.0], [1000.0, 0.02], [1000.0, 0.02 + thick], [0.0, thick]])
    problem = Problem(100.0, 1.0, (Item("needle", needle, BOTH),) * 3)
    layout = solve(problem, seconds=0, seed=1, tries=3)
    assert layout.length == pytest.approx(1000.0)
    assert layout.larger == 0.0
    shapes = [Polygon(laid_outline(problem.items[laid.item], laid)) for laid in layout.placed]
    assert all(one.distance(other) >= 1.0 - 1e-6 for n, one in enumerate(shapes) for other in shapes[:n])


def test_with_no_seconds_one_order_is_laid_all_the_same() -> None:
    problem = Problem(300.0, 2.0, tuple(Item(f"{n}", box(40 + n, 30), BOTH) for n in range(20)))
    layout: Layout = solve(problem, seconds=0.0, seed=1)
    assert_sound(problem, layout)
    assert layout.length <= layout.boxes_length


def test_boxes_stand_exactly() -> None:
    assert gather(Problem(100.0, 3.0, (Item("box", box(40, 30), (Pose(),)),))).larger == 0.0
