"""Lines moved sideways and brought together."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from cutroom.geometry.offset import _outermost, crossings, join, offset_line, offset_lines, reach

BENDS = st.lists(st.sampled_from([0.0, 2.0, -2.0, 15.0, -15.0, 90.0, -90.0, 180.0, -180.0, 179.0]), max_size=6)


def bent(bends: list[float], step: float = 5.0) -> NDArray[np.float64]:
    """A line of even steps that turns by so many degrees from step to step."""
    turns = np.radians(np.cumsum([0.0, *bends]))
    ways = np.round(np.column_stack([np.cos(turns), np.sin(turns)]), 12)  # so that turning back is exact
    return np.vstack([np.zeros((1, 2)), step * np.cumsum(ways, axis=0)])


@settings(max_examples=200, deadline=None)
@given(st.lists(st.tuples(BENDS, st.sampled_from([0.0, 1.0, 6.0, 40.0])), min_size=1, max_size=4))
def test_lines_moved_together_are_as_each_moved_by_itself(asked: list[tuple[list[float], float]]) -> None:
    lines, distances = [bent(bends) for bends, _ in asked], [distance for _, distance in asked]
    for line, distance, moved in zip(lines, distances, offset_lines(lines, distances), strict=True):
        assert moved == pytest.approx(offset_line(line, distance), abs=1e-9)


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 2**32), st.integers(2, 60), st.integers(2, 60))
def test_of_all_crossings_the_one_that_leaves_most_of_both_is_taken(seed: int, first: int, second: int) -> None:
    rng = np.random.default_rng(seed)
    one = np.column_stack([np.arange(first), rng.uniform(-1, 1, first)])
    two = np.column_stack([np.linspace(first, -1, second), rng.uniform(-1, 1, second)])
    found = crossings(one, two)
    met = _outermost(one, two)
    assert (met is None) == (not found)
    if met is not None:
        assert met[0] - met[1] == pytest.approx(max(hit[0] - hit[1] for hit in found))


def test_a_line_far_from_the_end_of_another_is_joined_to_it() -> None:
    across = np.column_stack([np.linspace(0, 100, 101), np.zeros(101)])
    down = np.column_stack([np.full(101, 40.5), np.linspace(50.5, -49.5, 101)])
    joined = join(across, down)
    assert joined is not None
    assert joined[2] == pytest.approx([40.5, 0])
    assert (len(joined[0]), len(joined[1])) == (42, 51)


def test_a_line_reaches_the_first_of_two_places_that_it_crosses() -> None:
    up = np.column_stack([np.zeros(60), np.linspace(-1, 58, 60)])
    there_and_back = np.array([(-5, 20.5), (5, 20.5), (5, 33.5), (-5, 33.5)])
    reached = reach(up, there_and_back)
    assert reached is not None
    assert reached[0][-1] == pytest.approx([0, 20.5])
    assert reached[1] == pytest.approx(np.array([(0, 20.5), (5, 20.5), (5, 33.5), (-5, 33.5)]))
    assert reach(up[:15], there_and_back) is None
