"""Gaps of single sides, and lines that pieces share: kept in every layout, judged by shapely.

How a room gives gaps to edges and shares lines is common practice, no source; the figures follow by arithmetic.
"""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from cutroom.model.laying import Shares
from cutroom.nest.bound import lower_bound
from cutroom.nest.problem import Item, Laid, Layout, Pose, Problem, laid_outline
from cutroom.nest.solve import solve
from tests.unit.nest.test_rules_of_cloth import BOTH, assert_sound, box, some_items

FLIPS = (*BOTH, Pose(True, 0.0), Pose(True, 180.0))


def kept(problem: Problem, laid: Laid, share: float = 0.5) -> BaseGeometry:
    """What an item keeps clear: straight out from each side a share of its gap, round each corner the less."""
    item = problem.items[laid.item]
    points = np.array(item.outline) * [1.0, -1.0 if laid.pose.flipped else 1.0]
    angle = np.radians(laid.pose.turn_deg)
    points = points @ np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]]) + [laid.x, laid.y]
    usual = problem.gap if item.gap is None else item.gap
    halves = np.array(item.side_gaps or (usual,) * len(points)) * share
    lines = [LineString([one, two]) for one, two in zip(points, np.roll(points, -1, axis=0), strict=True)]
    out = 1.0 if laid.pose.flipped else -1.0
    strips = [line.buffer(out * half, single_sided=True) for line, half in zip(lines, halves, strict=True) if half]
    rounds = [Point(at).buffer(min(halves[k - 1], halves[k])) for k, at in enumerate(points)]
    return unary_union([Polygon(points), *strips, *rounds])


def assert_kept(problem: Problem, layout: Layout) -> None:
    """What items keep does not overlap, or they keep the gap of a line they share; nothing overlaps."""
    shapes = [
        (problem.items[one.item], one, Polygon(laid_outline(problem.items[one.item], one))) for one in layout.placed
    ]
    for (one, laid, shape), (two, against, other) in itertools.combinations(shapes, 2):
        assert shape.intersection(other).area <= 1e-6 * min(shape.area, other.area)
        if one.shares is not None and one.shares == two.shares:
            assert shape.distance(other) >= one.shares.gap - 1e-6
        else:
            common = kept(problem, laid).intersection(kept(problem, against))
            assert common.buffer(-1e-4).is_empty


@given(st.integers(0, 1000))
@settings(max_examples=12, deadline=None)
def test_every_side_keeps_its_gap_and_only_those_that_share_a_line_come_nearer(seed: int) -> None:
    rng = np.random.default_rng(seed)
    shares = (None, Shares("strap", float(rng.choice([0.0, 0.4]))), Shares("loop", 1.0))
    items = tuple(
        replace(
            item,
            poses=FLIPS,
            side_gaps=tuple(rng.choice([0.0, 2.0, 9.0], len(item.outline)).tolist()) if number % 2 else (),
            shares=shares[int(rng.integers(0, 3))],
        )
        for number, item in enumerate(some_items(seed, 8))
    )
    problem = Problem(320.0, 3.0, items, fold=bool(seed % 2))
    layout = solve(problem, seconds=0, seed=seed, tries=8)
    assert_kept(problem, layout)
    assert lower_bound(problem).length <= layout.length + 1e-6
    if problem.fold:
        assert all(kept(problem, laid, 1.0).bounds[1] >= -1e-6 for laid in layout.placed)


def test_a_gap_on_one_side_is_exact_there_and_takes_nothing_elsewhere() -> None:
    """Two strips of 100 by 40, lying one way: the mean of 6 and of nothing is between them; turned about, nothing."""
    item = Item("strip", box(100, 40), side_gaps=(6.0, 0.0, 0.0, 0.0))
    problem = Problem(83.0, 0.0, (item, item))
    layout = solve(problem, seconds=0, seed=1, tries=20)
    assert_kept(problem, layout)
    assert layout.length == pytest.approx(100.0)
    assert solve(replace(problem, width=82.9), seconds=0, seed=1, tries=20).length == pytest.approx(200.0)
    either = replace(problem, width=80.0, items=(replace(item, poses=BOTH),) * 2)
    assert solve(either, seconds=0, seed=1, tries=20).length == pytest.approx(100.0)


def test_a_line_is_shared_without_a_gap_while_others_keep_theirs() -> None:
    """Five straps of 30 by 20, gap 4, on 100: sharing they fill the width; one that does not share lies 4 off them."""
    strap = Item("strap", box(30, 20), shares=Shares("straps"))
    layout = solve(Problem(100.0, 4.0, (strap,) * 5), seconds=0, seed=1, tries=20)
    assert layout.length == pytest.approx(30.0)
    mixed = Problem(100.0, 4.0, (*(strap,) * 5, Item("other", box(30, 100))))
    layout = solve(mixed, seconds=0, seed=1, tries=20)
    assert_kept(mixed, layout)
    assert layout.length == pytest.approx(64.0)
    alone = Problem(100.0, 4.0, (replace(strap, shares=None),) * 5)
    apart = solve(alone, seconds=0, seed=1, tries=20)
    assert_sound(alone, apart)
    assert apart.length == pytest.approx(64.0)  # four of them and a second row


def test_a_beam_shares_a_line_its_own_width_wide() -> None:
    items = (Item("tile", box(50, 50), shares=Shares("tiles", 0.3)),) * 4
    layout = solve(Problem(100.3, 5.0, items), seconds=0, seed=1, tries=20)
    assert layout.length == pytest.approx(100.3)


def test_a_gap_for_every_side_or_none() -> None:
    with pytest.raises(ValueError, match="3 gaps for 4 sides"):
        Item("odd", box(10, 10), side_gaps=(1.0, 2.0, 3.0))
