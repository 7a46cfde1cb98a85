"""Places along a line: at a vertex its direction is the mean of both sides, whatever rounding makes of the distance."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutroom.geometry.polyline import length, lengths_along, point_at

BENT = np.array([[0.0, 0.0], [100.0, 0.0], [200.0, 100.0 * math.tan(math.radians(10.0))]])


@pytest.mark.parametrize("off", [0.0, 2e-10, -2e-10])
def test_at_a_vertex_the_direction_is_half_way_between_its_sides(off: float) -> None:
    point, along = point_at(BENT, 100.0 + off)
    assert point == pytest.approx([100.0, 0.0], abs=1e-9)
    assert math.degrees(math.atan2(along[1], along[0])) == pytest.approx(5.0)


@pytest.mark.parametrize(("off", "degrees"), [(-1e-3, 0.0), (1e-3, 10.0)])
def test_beside_a_vertex_it_is_that_of_its_own_side(off: float, degrees: float) -> None:
    _, along = point_at(BENT, 100.0 + off)
    assert math.degrees(math.atan2(along[1], along[0])) == pytest.approx(degrees)


@given(
    st.lists(st.tuples(st.floats(0.5, 60), st.floats(-30, 30)), min_size=2, max_size=12),
    st.integers(1, 11),
)
def test_measured_from_the_other_end_of_its_mirror_image_a_vertex_is_the_same_place(
    steps: list[tuple[float, float]], vertex: int
) -> None:
    line = np.concatenate([[(0.0, 0.0)], np.cumsum(np.array(steps), axis=0)])
    at = float(lengths_along(line)[min(vertex, len(line) - 2)])
    image = np.column_stack([line[:, 0], -line[:, 1]])[::-1]
    point, along = point_at(line, at)
    mirrored, back = point_at(image, length(line) - at)
    assert mirrored == pytest.approx([point[0], -point[1]], abs=1e-6)
    assert back == pytest.approx([-along[0], along[1]], abs=1e-6)
