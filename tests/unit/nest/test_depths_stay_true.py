"""What the local search keeps as it goes is what an engine built afresh, and shapely, say of the same pieces."""

from collections.abc import Callable

import numpy as np
import pytest
import shapely
from shapely.geometry import Point, Polygon

from cutroom.geometry.kernels.depth import depth, depth_from, least_depth, way_out
from cutroom.geometry.kernels.seek import TOUCH, cost_at, fence
from cutroom.geometry.kernels.separate import measure
from cutroom.geometry.kernels.types import Scratch
from cutroom.model.arrays import frozen_points
from cutroom.nest.compact import Compactor
from cutroom.nest.grid import UNITS
from cutroom.nest.ground import Ground, lay_out
from cutroom.nest.problem import Item, Laid, Pose, Problem, laid_outline
from cutroom.nest.stock import gather

POSES = (Pose(False, 0.0), Pose(False, 180.0), Pose(True, 0.0), Pose(False, 90.0))
AWAY = 9.0e7
"""Units; where a piece lies that has been taken off the strip."""


def some_problem(rng: np.random.Generator, count: int) -> Problem:
    items = []
    for number in range(count):
        corners = int(rng.integers(3, 10))
        angles = (np.arange(corners) + rng.uniform(0, 0.6)) * (2 * np.pi / corners)
        radii = rng.uniform(20, 90, corners)
        outline = frozen_points(np.column_stack([np.cos(angles) * radii, np.sin(angles) * radii]))
        items.append(Item(f"{number}", outline, POSES))
    flaw = frozen_points([[200, 100], [240, 100], [240, 160], [200, 160]])
    return Problem(400.0, 0.0, tuple(items), forbidden=(flaw,))


def afresh(ground: Ground, spots: np.ndarray, worn: np.ndarray) -> np.ndarray:
    depths = np.zeros((len(worn), len(worn)))
    for piece in range(len(worn)):
        measure(piece, ground.arrays, spots, worn, depths)
    return depths


@pytest.mark.parametrize("seed", [1, 2])
def test_thousands_of_moves_leave_the_depths_of_an_engine_built_afresh(seed: int) -> None:
    rng = np.random.default_rng(seed)
    problem = some_problem(rng, 9)
    ground = lay_out(gather(problem))
    ways, count = ground.ways, ground.items
    fixture = ground.stock.fixtures[0]
    spots = np.array([[rng.uniform(0, 6e6), rng.uniform(0, 3e6)] for _ in range(count)] + [[fixture.x, fixture.y]])
    worn = np.array([ways[item][0][1].number for item in range(count)] + [fixture.variant.number], dtype=np.int64)
    depths = afresh(ground, spots, worn)
    kept: list[tuple[np.ndarray, np.ndarray, np.ndarray]] = []

    def move(piece: int) -> None:
        spots[piece] = np.rint(rng.uniform(0, [6e6, 3e6]))

    def turn(piece: int) -> None:
        worn[piece] = ways[piece][int(rng.integers(len(ways[piece])))][1].number

    def take_away(piece: int) -> None:
        spots[piece] = AWAY + piece * 1e7

    doings: list[Callable[[int], None]] = [move, turn, take_away]
    for step in range(3000):
        kind, piece = int(rng.integers(5)), int(rng.integers(count))
        if kind == 3:
            kept.append((spots.copy(), worn.copy(), depths.copy()))
        elif kind == 4 and kept:
            saved = kept[int(rng.integers(len(kept)))]
            spots[:], worn[:], depths[:] = saved
        elif kind < 3:
            doings[kind](piece)
            measure(piece, ground.arrays, spots, worn, depths)
        if step % 100 == 0:
            assert np.array_equal(depths, afresh(ground, spots, worn))
            assert_overlaps_are_those_of_shapely(problem, ground, spots, worn, depths)
            piece_cost(ground, spots, worn, depths, piece)


def assert_overlaps_are_those_of_shapely(
    problem: Problem,
    ground: Ground,
    spots: np.ndarray,
    worn: np.ndarray,
    depths: np.ndarray,
) -> None:
    outlines = []
    for item in range(ground.items):
        pose = next(pose for pose, way in ground.ways[item] if way.number == worn[item])
        outlines.append(
            Polygon(laid_outline(problem.items[item], Laid(item, pose, spots[item, 0] / UNITS, spots[item, 1] / UNITS)))
        )
    outlines.append(Polygon(problem.forbidden[0]))
    for one in range(len(outlines)):
        for two in range(one):
            area = outlines[one].intersection(outlines[two]).area
            if area > 1.0:  # working shapes only grow: what shapely sees, the engine sees
                assert depths[one, two] > 0
            if depths[one, two] > 1.0 * UNITS:  # and it sees nothing that is not nearly there
                assert outlines[one].distance(outlines[two]) == 0.0


def scratch_of(ground: Ground, pieces: int, ways: int) -> Scratch:
    """What a search of so many pieces reckons on, none of which may lie in more ways."""
    slots, words = np.zeros(len(ground.arrays[0]), dtype=np.int64), np.zeros((pieces + 7) // 8, dtype=np.uint64)
    rows, fences = np.zeros((pieces + 4, 4)), np.zeros((ways, 4, pieces))
    return rows, fences, slots, words.view(np.bool_)[:pieces], words, np.zeros(3, dtype=np.int64)


def piece_cost(
    ground: Ground,
    spots: np.ndarray,
    worn: np.ndarray,
    depths: np.ndarray,
    piece: int,
) -> None:
    weights = np.full((len(worn), len(worn)), 2.0)
    first = (np.arange(len(worn) + 1) > piece).astype(np.int64)
    scratch = scratch_of(ground, len(worn), 1)
    kept = np.zeros((len(ground.arrays[0]), 1, 4))
    board = (spots, worn, weights, first, worn[[piece]], scratch, kept)
    fence(piece, ground.arrays, board)
    cost = cost_at(piece, worn[piece], spots[piece, 0], spots[piece, 1], np.inf, ground.arrays, board)
    assert cost == pytest.approx(2.0 * depths[piece].sum())


def test_the_depth_is_the_distance_to_the_border_and_the_way_out_leads_there() -> None:
    rng = np.random.default_rng(5)
    ground = lay_out(gather(some_problem(rng, 6)))
    field = ground.arrays[4]
    table, parts, part_starts, points, _, _, boxes, _, _ = ground.stock.book
    assert len(field[0]) == len(parts)
    seen, glanced = 0, 0
    for pair in range(len(parts) - 1):
        rows = [points[part_starts[k] : part_starts[k + 1]] for k in range(parts[pair], parts[pair + 1])]
        region = shapely.union_all([Polygon(row) for row in rows])
        low, high = boxes[pair, :2], boxes[pair, 2:]
        for _ in range(5):
            x, y = (float(value) for value in rng.uniform(low, high))
            least = least_depth(field, pair, x, y)
            deep = depth(field, pair, x, y)
            assert deep == depth_from(field, pair, x, y, 0)  # what the glance says is never more than the truth
            assert least <= deep
            glanced += least != 0
            inside = region.contains(Point(x, y))
            assert (deep > TOUCH) == (inside and region.boundary.distance(Point(x, y)) > TOUCH)
            if inside:
                seen += 1
                assert deep == pytest.approx(region.boundary.distance(Point(x, y)), rel=1e-3, abs=3.0)
                out = np.zeros(2)
                way_out(field, pair, x, y, out)
                assert np.hypot(*out) == pytest.approx(deep, rel=1e-9)
    assert seen > 100
    assert glanced > 100
    assert table.min() >= -1


def test_the_programme_moves_pieces_apart_and_its_answer_is_proven() -> None:
    square = frozen_points([[0, 0], [100, 0], [100, 100], [0, 100]])
    problem = Problem(100.0, 0.0, tuple(Item(f"{n}", square) for n in range(3)))
    ground = lay_out(gather(problem))
    spots = np.array([[0.0, 0.0], [98.0, 0.0], [199.0, 0.0]]) * UNITS
    worn = np.zeros(3, dtype=np.int64)
    compactor = Compactor(ground)
    assert compactor.settled(spots, worn) is None
    found = compactor.shorten(spots, worn)
    assert found is not None
    assert found[0] == 300.0 * UNITS
    assert compactor.settled(found[1], worn) is not None
