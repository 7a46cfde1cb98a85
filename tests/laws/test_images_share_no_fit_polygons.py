"""The no-fit polygons of a lay with both hands, against the same lay with every shape worked out by itself."""

from unittest.mock import patch

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from cutroom.model.arrays import Points, frozen_points
from cutroom.nest import stock
from cutroom.nest.problem import Item, Pose, Problem
from cutroom.nest.stock import Book, gather


@st.composite
def outlines(draw: st.DrawFn) -> Points:
    count = draw(st.integers(3, 9))
    radii = draw(st.lists(st.integers(20, 200), min_size=count, max_size=count))
    angles = np.arange(count) * (2 * np.pi / count) + 0.1
    # whole tenths, so that rounding outwards changes neither hand
    return frozen_points(np.round(np.column_stack([np.cos(angles), np.sin(angles)]) * np.array(radii)[:, None], 1))


def regions(book: Book) -> list[BaseGeometry]:
    _, parts, part_starts, corners, *_ = book
    return [
        unary_union(
            [Polygon(corners[part_starts[k] : part_starts[k + 1]]) for k in range(parts[pair], parts[pair + 1])]
        )
        for pair in range(len(parts) - 1)
    ]


@given(outlines(), outlines(), st.sampled_from([0.0, 3.0]))
@settings(max_examples=25, deadline=None)
def test_a_mirrored_pairs_region_is_the_mirror_image_of_the_pairs(one: Points, two: Points, gap: float) -> None:
    """Both hands and both ends: every region taken from an image is the one that is worked out."""
    poses = tuple(Pose(flipped=flipped, turn_deg=turn) for turn in (0.0, 180.0) for flipped in (False, True))
    problem = Problem(2000.0, gap, (Item("one", one, poses), Item("two", two, poses)))
    shared = gather(problem).book
    with patch.object(stock, "_from_images", lambda *_: None):
        alone = gather(problem).book
    assert (shared[0] == alone[0]).all()
    for first, second in zip(regions(shared), regions(alone), strict=True):
        assert first.symmetric_difference(second).area <= 1e-9 * second.area
    # the border encloses the region: its signed area, edge by edge, is the same
    for pair in range(len(shared[1]) - 1):
        areas = []
        for book in (shared, alone):
            edges = book[8][book[7][pair] : book[7][pair + 1]]
            areas.append(float((edges[:, 0] * edges[:, 3] - edges[:, 2] * edges[:, 1]).sum()) / 2)
        assert np.isclose(areas[0], areas[1], rtol=1e-7)
