"""Places found before: taken up again where they are free now, and never by a piece that may not lie so."""

import numpy as np
import pytest

from cutroom.geometry.kernels.seek import AT_X, AT_Y, COST, WAY, seek
from cutroom.geometry.kernels.types import Board
from cutroom.model.arrays import frozen_points
from cutroom.nest.grid import UNITS
from cutroom.nest.ground import Ground, lay_out
from cutroom.nest.problem import Item, Pose, Problem, laid_outline
from cutroom.nest.solve import solve
from cutroom.nest.stock import gather
from tests.unit.nest.test_depths_stay_true import scratch_of

UP, DOWN = Pose(turn_deg=0.0), Pose(turn_deg=180.0)
WEDGE = frozen_points([[0, 0], [90, 0], [60, 70], [20, 70]])


def two_wedges(first: tuple[Pose, ...], second: tuple[Pose, ...]) -> Ground:
    return lay_out(gather(Problem(100.0, 0.0, (Item("first", WEDGE, first), Item("second", WEDGE, second)))))


def sought(ground: Ground, kept_way: int) -> np.ndarray:
    """Where the second piece goes from atop the first, with nothing sampled and one place, 300 mm on, kept."""
    ways = [[way.number for _, way in ground.ways[item]] for item in range(2)]
    first, choices = np.array([0, len(ways[0]), len(ways[0]) + len(ways[1])]), np.array(ways[0] + ways[1])
    scratch = scratch_of(ground, 2, 2)
    kept = np.zeros((len(ground.arrays[0]), 3, 4))
    kept[ways[1][0], 1] = 1.0, 300.0 * UNITS, 85.0 * UNITS, kept_way
    spots, worn = np.array([[0.0, 15.0 * UNITS], [0.0, 15.0 * UNITS]]), np.array([ways[0][0], ways[1][0]])
    board: Board = (spots, worn, np.ones((2, 2)), first, choices, scratch, kept)
    place = np.array([5e5, 0.0, 15.0 * UNITS, float(ways[1][0])])
    counts, seed = np.zeros(3, dtype=np.int64), np.array([1], dtype=np.uint64)
    seek(1, 400.0 * UNITS, ground.sizes[1], counts, seed, ground.arrays, board, place)
    return place


def test_a_free_place_found_before_is_taken() -> None:
    ground = two_wedges((UP, DOWN), (UP, DOWN))
    way = ground.ways[1][1][1].number
    place = sought(ground, way)
    assert place[COST] == 0.0
    assert (place[AT_X], place[AT_Y], place[WAY]) == (300.0 * UNITS, 85.0 * UNITS, way)


def test_a_place_of_its_like_that_may_lie_otherwise_is_not() -> None:
    ground = two_wedges((UP, DOWN), (UP,))
    place = sought(ground, ground.ways[0][1][1].number)
    assert place[WAY] == ground.ways[1][0][1].number
    assert place[AT_X] < 299.0 * UNITS


@pytest.mark.parametrize("seed", range(3))
def test_alike_pieces_keep_to_the_poses_of_their_own(seed: int) -> None:
    items = tuple(Item(f"{n}", WEDGE, (UP, DOWN) if n % 2 else (UP,)) for n in range(8))
    layout = solve(Problem(160.0, 2.0, items), seconds=0, seed=seed, tries=40)
    assert all(laid.pose in items[laid.item].poses for laid in layout.placed)
    assert layout.length == pytest.approx(max(laid_outline(items[x.item], x)[:, 0].max() for x in layout.placed))
