"""No-fit polygons and working shapes against shapely, which the nest itself never uses."""

from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from shapely.affinity import translate
from shapely.geometry import Point, Polygon
from shapely.ops import unary_union

from cutroom.geometry.kernels.convex import sum_convex, triangulate, turn_at
from cutroom.geometry.kernels.edges import cover, take_out
from cutroom.geometry.kernels.nofit import no_fit
from cutroom.geometry.kernels.spots import is_free, is_inside, look_up
from cutroom.model.arrays import Points, frozen_points
from cutroom.nest.grid import UNITS
from cutroom.nest.problem import Item, Pose, Problem
from cutroom.nest.stock import gather, sum_parts
from cutroom.nest.working import convex_parts, gap_figure, simplify_outwards, snap_outwards

Wholes = NDArray[np.int64]


@st.composite
def stars(draw: st.DrawFn, corners: int = 12) -> Points:
    """A simple outline: corners at growing angles about the origin, at any distance."""
    count = draw(st.integers(3, corners))
    radii = draw(st.lists(st.integers(20, 200), min_size=count, max_size=count))
    turn = draw(st.floats(0, 1))
    angles = (np.arange(count) + 0.4 * turn) * (2 * np.pi / count)
    return frozen_points(np.round(np.column_stack([np.cos(angles), np.sin(angles)]) * np.array(radii)[:, None], 1))


def as_written(loop: Any) -> Any:
    """A loop that is not compiled."""
    return loop.py_func


def whole(outline: Points) -> Wholes:
    return snap_outwards(outline)


@given(stars(20))
@settings(max_examples=60, deadline=None)
def test_convex_parts_fill_the_outline_and_no_more(outline: Points) -> None:
    corners = whole(outline)
    parts = convex_parts(corners)
    for part in parts:
        assert all(turn_at(part, k - 1 if k else len(part) - 1, k, (k + 1) % len(part)) > 0 for k in range(len(part)))
    area = sum(Polygon(part).area for part in parts)
    assert np.isclose(area, Polygon(corners).area, rtol=1e-12)
    assert np.isclose(unary_union([Polygon(part) for part in parts]).area, area, rtol=1e-9)


@given(stars(24), st.floats(0.05, 3.0))
@settings(max_examples=60, deadline=None)
def test_a_working_shape_contains_its_outline_and_stands_out_no_further_than_told(
    outline: Points, tolerance: float
) -> None:
    simple = simplify_outwards(outline, tolerance)
    working = Polygon(snap_outwards(simple) / UNITS)
    true = Polygon(outline)
    assert working.is_valid
    assert true.difference(working).area <= 1e-6
    assert (
        working.hausdorff_distance(true) <= tolerance + 0.001
        or working.buffer(-tolerance - 0.001).difference(true).area <= 1e-3
    )
    assert len(simple) <= len(outline)


def test_a_curved_piece_keeps_few_corners() -> None:
    angles = np.linspace(0, np.pi, 200)
    arc = np.column_stack([300 - 200 * np.cos(angles), 400 - 150 * np.sin(angles)])
    outline = frozen_points([[0, 0], [600, 0], [600, 400], *arc[::-1], [0, 400]])
    simple = simplify_outwards(outline)
    assert len(simple) < 60  # less than a third
    assert Polygon(simple).contains(Polygon(outline).buffer(-1e-9))
    for corner in ([0, 0], [600, 0], [600, 400], [0, 400]):
        assert (simple == corner).all(axis=1).any()


@given(
    stars(),
    stars(),
    st.sampled_from([0.0, 3.0]),
    st.sampled_from([1, -1]),
    st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=30, max_size=30),
)
@settings(max_examples=60, deadline=None)
def test_outlines_meet_inside_the_no_fit_polygon_and_only_there(
    fixed: Points, moving: Points, gap: float, sign: int, places: list[tuple[float, float]]
) -> None:
    """The region is judged at points all over it, at its corners and at the middles of its border."""
    mover = Item("moving", moving, (Pose(turn_deg=180.0 if sign < 0 else 0.0),))
    stock = gather(Problem(5000.0, gap, (Item("fixed", fixed), mover)))
    table, parts, starts, points, boxes, _, around, borders, edges = stock.book
    (_, stays), (_, moves) = stock.choices[0][0], stock.choices[1][0]
    pair, way = look_up(stays.form, stays.sign, moves.form, moves.sign, table)
    one, two = Polygon(whole(simplify_outwards(fixed))), Polygon(whole(simplify_outwards(moving)) * sign)
    border = edges[borders[pair] : borders[pair + 1]] * way
    low, high = border[:, :2].min(axis=0), border[:, :2].max(axis=0)
    tried = [*(low + np.array(places) * (high - low)), *border[:, :2], *(border[:, :2] + border[:, 2:]) / 2]
    laid = np.array([[stays.form, stays.sign, 0, 0]])
    for place in tried:
        x, y = round(float(place[0])), round(float(place[1]))
        moved = translate(two, x, y)
        if is_free(x, y, laid, 1, moves.form, moves.sign, table, parts, starts, points, boxes, around):
            assert one.intersection(moved).area < 1.0
            assert one.distance(moved) >= gap * UNITS - 1.0
        else:
            assert one.distance(moved) <= 1.03 * gap * UNITS + 2.0  # the point tried was rounded
    for x, y in border[:, :2]:  # on the border the outlines touch, or are the gap apart
        assert one.distance(translate(two, x, y)) <= 1.03 * gap * UNITS + 2.0


@given(stars(8), stars(8))
@settings(max_examples=25, deadline=None)
def test_the_border_encloses_the_area_of_the_region(one: Points, two: Points) -> None:
    fixed, moving = convex_parts(whole(one)), [np.ascontiguousarray(-part) for part in convex_parts(whole(two))]

    def starts(parts: list[Wholes]) -> Wholes:
        return np.concatenate([[0], np.cumsum([len(part) for part in parts])]).astype(np.int64)

    order = np.arange(len(fixed) * len(moving))
    points, firsts, edges = no_fit(np.vstack(fixed), starts(fixed), np.vstack(moving), starts(moving), order)
    sums = unary_union([Polygon(sum_parts(a, b)) for a in fixed for b in moving])
    kept = unary_union([Polygon(points[firsts[k] : firsts[k + 1]]) for k in range(len(firsts) - 1)])
    assert np.isclose(sums.area, kept.area, rtol=1e-12)
    green = float((edges[:, 0] * edges[:, 3] - edges[:, 2] * edges[:, 1]).sum()) / 2  # Green's theorem
    assert np.isclose(green, sums.area, rtol=1e-6)


@given(st.floats(0.3, 12.0))
def test_the_gap_figure_holds_a_circle_and_is_exact_along_and_across(gap: float) -> None:
    gap = round(gap, 3)
    figure = Polygon(gap_figure(gap) / UNITS)
    assert figure.contains(Point(0, 0).buffer(gap - 1e-7, quad_segs=64))
    assert np.allclose(figure.bounds, (-gap, -gap, gap, gap), rtol=0, atol=1e-9)
    assert figure.hausdorff_distance(Point(0, 0).buffer(gap, quad_segs=64)) < 0.02 * gap + 0.0003


@given(stars(10), stars(10), st.integers(-3_000_000, 3_000_000), st.integers(-3_000_000, 3_000_000))
@settings(max_examples=30, deadline=None)
def test_compiled_and_plain_kernels_agree(one: Points, two: Points, x: int, y: int) -> None:
    if not hasattr(triangulate, "py_func"):  # compiled loops are switched off
        return
    a = whole(one)
    assert (triangulate(a) == as_written(triangulate)(a)).all()
    first, second = convex_parts(a)[0], convex_parts(whole(two))[0]
    out, plain = (
        np.zeros((len(first) + len(second), 2), dtype=np.int64),
        np.zeros((len(first) + len(second), 2), dtype=np.int64),
    )
    arguments = (first, 0, len(first), second, 0, len(second))
    assert sum_convex(*arguments, out, 0) == as_written(sum_convex)(*arguments, plain, 0)
    assert (out == plain).all()
    book = gather(Problem(5000.0, 0.0, (Item("one", one),))).book
    planes = book[5]
    edge = (float(x), float(y), float(y), float(x))
    assert cover(*edge, planes, 0, int(book[2][1]), False) == as_written(cover)(
        *edge, planes, 0, int(book[2][1]), False
    )
    judged = (book[3], book[4], book[1], book[2], 0)
    assert is_inside(x, y, *judged) == as_written(is_inside)(x, y, *judged)


@given(st.lists(st.tuples(st.integers(0, 20), st.integers(0, 20)), max_size=8))
def test_what_is_taken_out_of_an_edge_is_gone_and_the_rest_is_left(covers: list[tuple[int, int]]) -> None:
    spans = np.zeros((20, 2))
    spans[0, 1], count = 1.0, 1
    for low, high in covers:
        count = take_out(spans, count, low / 20, high / 20)
    for half in range(40):
        place = (half + 0.5) / 40
        covered = any(low / 20 < place < high / 20 for low, high in covers)
        assert covered != any(low <= place <= high for low, high in spans[:count])
