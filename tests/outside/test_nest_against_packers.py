"""The nest against what is known outside it: a rectangle packer, packings without waste, and exact rational arithmetic.

Rectangles: rectpack, a library of its own, run here by itself. Packings without waste: a sheet cut apart by straight
cuts, whose length is the optimum by construction. Rationals: Python's `fractions`, by the separating axis theorem.
"""

import itertools
from fractions import Fraction

import numpy as np
import pytest
import rectpack
from hypothesis import given, settings
from hypothesis import strategies as st

from cutroom.model.arrays import Points, frozen_points
from cutroom.nest.compact import Compactor
from cutroom.nest.grid import UNITS
from cutroom.nest.ground import lay_out
from cutroom.nest.problem import Item, Pose, Problem, laid_outline
from cutroom.nest.solve import solve
from cutroom.nest.stock import gather
from tests.bench.judging import judge_layout

BOTH = (Pose(), Pose(turn_deg=180.0))
Exact = list[tuple[Fraction, Fraction]]


def box(along: float, across: float) -> Points:
    return frozen_points([[0, 0], [along, 0], [along, across], [0, across]])


def packed_length(sides: list[tuple[int, int]], width: int) -> int:
    """The length that the rectangle packer takes, none of them turned."""
    packer = rectpack.newPacker(pack_algo=rectpack.GuillotineBssfSas, rotation=False)  # a way that the nest never asks
    packer.add_bin(width, sum(along for along, _ in sides))
    for along, across in sides:
        packer.add_rect(across, along)
    packer.pack()
    placed = packer.rect_list()
    assert len(placed) == len(sides)
    return int(max(low + tall for _, _, low, _, tall, _ in placed))


@pytest.mark.parametrize("seed", range(8))
def test_rectangles_take_no_more_than_the_packer_asks(seed: int) -> None:
    rng = np.random.default_rng(seed)
    sides = [(int(a), int(b)) for a, b in rng.integers(5, 60, (14, 2))]
    problem = Problem(100.0, 0.0, tuple(Item(f"{n}", box(*one)) for n, one in enumerate(sides)))
    layout = solve(problem, seconds=0, seed=1, tries=40)
    assert judge_layout(problem, layout.placed, layout.length).sound
    assert layout.length <= packed_length(sides, 100)
    assert layout.length * 100 >= sum(along * across for along, across in sides)


def cut_apart(rng: np.random.Generator, along: int, across: int, cuts: int) -> list[tuple[int, int]]:
    """Sides of the boxes that straight cuts from edge to edge make of a sheet."""
    sheets = [(along, across)]
    for _ in range(cuts):
        sheets.sort(key=lambda one: one[0] * one[1])
        long, wide = sheets.pop()
        if rng.random() < long / (long + wide):
            at = int(rng.integers(long // 4, 3 * long // 4))
            sheets += [(at, wide), (long - at, wide)]
        else:
            at = int(rng.integers(wide // 4, 3 * wide // 4))
            sheets += [(long, at), (long, wide - at)]
    return sheets


@pytest.mark.parametrize("seed", range(6))
def test_a_sheet_cut_apart_is_put_together_again(seed: int) -> None:
    sides = cut_apart(np.random.default_rng(seed), 300, 200, 6)
    problem = Problem(200.0, 0.0, tuple(Item(f"{n}", box(*one), BOTH) for n, one in enumerate(sides)))
    layout = solve(problem, seconds=0, seed=2, tries=150)
    assert layout.length == pytest.approx(300.0, abs=1e-9)
    assert judge_layout(problem, layout.placed, layout.length).sound


def are_apart(one: Exact, two: Exact) -> bool:
    """Two convex outlines share no inner point: some side of one of them has the other wholly outside or along it."""
    for first, second in ((one, two), (two, one)):
        for (x0, y0), (x1, y1) in zip(first, first[1:] + first[:1], strict=True):
            if all((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0) <= 0 for x, y in second):
                return True
    return False


def exact(points: Points) -> Exact:
    return [(Fraction(round(x * UNITS), UNITS), Fraction(round(y * UNITS), UNITS)) for x, y in points.tolist()]


corner = st.integers(2, 60)


@given(corner, corner, corner, corner, corner, corner, st.integers(-80, 80), st.integers(-80, 80))
@settings(max_examples=60)
def test_convex_pieces_overlap_exactly_where_rationals_say_so(
    a: int, b: int, c: int, d: int, e: int, f: int, x: int, y: int
) -> None:
    triangle = frozen_points([[0, 0], [a, 0], [b, c]])
    other = frozen_points([[0, 0], [d, -e], [d + f, 0], [d, e]])
    problem = Problem(1000.0, 0.0, (Item("triangle", triangle), Item("kite", other)))
    ground = lay_out(gather(problem))
    compactor = Compactor(ground)
    worn = np.array([ground.ways[0][0][1].number, ground.ways[1][0][1].number])
    for off in itertools.product((-1, 0, 1), (-1, 0, 1)):  # and one unit, a ten-thousandth of a millimetre, aside
        spots = np.array([[100 * UNITS, 200 * UNITS], [(100 + x) * UNITS + off[0], (200 + y) * UNITS + off[1]]])
        moved = [(Fraction(x) + Fraction(off[0], UNITS), Fraction(y) + Fraction(off[1], UNITS))]
        kite = [(px + moved[0][0], py + moved[0][1]) for px, py in exact(other)]
        assert (compactor.first_overlap(spots, worn) < 0) == are_apart(exact(triangle), kite)


def test_a_layout_of_triangles_is_apart_in_rationals() -> None:
    rng = np.random.default_rng(4)
    items = []
    for number in range(5):
        a, b, c = (int(side) for side in rng.integers(20, 80, 3))
        items.append(Item(f"{number}", frozen_points([[0, 0], [a, 0], [b, c]]), BOTH))
    problem = Problem(120.0, 0.0, tuple(items))
    layout = solve(problem, seconds=0, seed=1, tries=60)
    laid = [exact(laid_outline(problem.items[one.item], one)) for one in layout.placed]
    assert all(are_apart(one, two) for one, two in itertools.combinations(laid, 2))
    assert max(x for outline in laid for x, _ in outline) == Fraction(round(layout.length * UNITS), UNITS)
    assert all(0 <= y <= 120 and x >= 0 for outline in laid for x, y in outline)
