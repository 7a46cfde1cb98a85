"""Rings freed of their loops: the quick way round the border against the slow one that looks at every loop."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from cutroom.geometry.loops import free_of_loops, outer_borders
from cutroom.geometry.offset import offset_line


def area(ring: NDArray[np.float64]) -> float:
    return float(shapely.Polygon(ring).area)


def test_a_ring_that_does_not_cross_itself_is_its_own_border() -> None:
    ring = np.array([(0, 0), (4, 0), (4, 3), (2, 1), (0, 3)], dtype=np.float64)
    (border,) = outer_borders(ring)
    assert shapely.Polygon(border).equals(shapely.Polygon(ring))


def test_a_loop_that_runs_the_wrong_way_is_dropped() -> None:
    # an 8: its lower half runs counter-clockwise, its upper half clockwise
    ring = np.array([(0, 0), (4, 0), (1, 5), (3, 5)], dtype=np.float64)
    (border,) = outer_borders(ring)
    assert area(border) == pytest.approx(4 * (4 * 5 / 6) / 2)  # similar triangles, 4 wide and 2 wide, 5 high together
    assert border[:, 1].max() == pytest.approx(4 * 5 / 6)


def test_what_is_wound_round_twice_is_kept() -> None:
    # a pentagram run round once lies twice about its middle
    angles = math.pi / 2 + 4 * math.pi / 5 * np.arange(5)
    ring = np.column_stack([np.cos(angles), np.sin(angles)])
    (border,) = outer_borders(ring)
    inner = math.cos(2 * math.pi / 5) / math.cos(math.pi / 5)  # from the middle to its hollow corners
    assert len(border) == 10
    assert area(border) == pytest.approx(10 * inner * math.sin(math.pi / 5) / 2)


def test_both_parts_of_a_piece_whose_waist_is_turned_inside_out_are_found() -> None:
    below = [(0, 0), (2, 0), (2, 0.5), (3, 1.5), (5, 1.5), (6, 0.5), (6, 0), (9, 0)]
    above = [(9, 2), (6, 2), (6, 1.5), (5, 0.5), (3, 0.5), (2, 1.5), (2, 2), (0, 2)]
    ring = np.array([*below, *above], dtype=np.float64)
    areas = sorted(area(border) for border in outer_borders(ring))
    assert areas == pytest.approx([2 * 2 + 0.25, 3 * 2 + 0.25])
    assert area(free_of_loops(ring)) == pytest.approx(areas[-1])


@settings(max_examples=60, deadline=None)
@given(
    size=st.floats(5, 400),
    height=st.floats(0.0, 0.1),
    waves=st.floats(1, 12),
    distance=st.floats(1, 40),
    count=st.integers(30, 120),
)
def test_the_border_of_a_moved_wavy_edge_is_what_is_left_when_all_loops_are_looked_at(
    size: float, height: float, waves: float, distance: float, count: int
) -> None:
    x = np.linspace(0, size, count)
    edge = np.column_stack([x, size * height * np.sin(2 * math.pi * waves * x / size)])
    ring = np.vstack([offset_line(edge, distance), [(size, size), (0, size)]])
    wanted = free_of_loops(ring)
    found = list(outer_borders(ring))
    assume(found)  # the way is lost where many crossings fall together, about once in a thousand
    assert any(
        shapely.Polygon(border).symmetric_difference(shapely.Polygon(wanted)).area < 1e-6 * area(wanted)
        for border in found
    )
