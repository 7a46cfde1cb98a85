"""Where an outline crosses itself, against shapely: on outlines drawn at random, and on one of thousands of points."""

import itertools

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from shapely import LinearRing, LineString, Point

from cutroom.geometry import polygon
from cutroom.geometry.polygon import crossing_place


@pytest.mark.parametrize("at_once", [3, 1 << 20])
@example([(0.0, 0.0), (0.0, 0.004), (0.0, 1.0), (1.0, 0.0)])  # its first two points are one when rounded
@given(st.lists(st.tuples(st.floats(0, 100), st.floats(0, 100)), min_size=3, max_size=24, unique=True))
def test_a_crossing_is_found_where_there_is_one(at_once: int, corners: list[tuple[float, float]]) -> None:
    points = np.round(np.array(corners), 2)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(polygon, "_AT_ONCE", at_once)
        place = crossing_place(points)
    ring = LinearRing(points)
    assert place is None or (not ring.is_simple and ring.distance(Point(place)) <= 1e-9)
    sides = [LineString([points[k], points[(k + 1) % len(points)]]) for k in range(len(points))]
    pairs = itertools.combinations(range(len(points)), 2)
    assert place is not None or not any(sides[one].crosses(sides[two]) for one, two in pairs)


def test_thousands_of_points_that_cross_once() -> None:
    angles = np.linspace(0, 2 * np.pi, 4000, endpoint=False)
    ring = np.column_stack([np.cos(angles), np.sin(angles)]) * 100
    assert crossing_place(ring) is None
    ring[2000] = (101.0, 0.01)  # a spike through the far side
    place = crossing_place(ring)
    assert place is not None
    assert place[0] == pytest.approx(100.0, abs=0.01)
    assert place[1] == pytest.approx(0.01, abs=0.01)
