"""Laws of seam allowance over random pieces."""

import math

import numpy as np
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from cutroom.geometry.polygon import area
from cutroom.prepare.allowance import cut_line
from tests.drawing import a_polygon_piece

Points = list[tuple[float, float]]


@st.composite
def stars(draw: st.DrawFn) -> Points:
    """Outlines round a middle, hollow and pointed, 80 to 600 mm across."""
    count = draw(st.integers(4, 14))
    radii = draw(st.lists(st.floats(40, 300), min_size=count, max_size=count))
    return [
        (round(r * math.cos(2 * math.pi * k / count), 2), round(r * math.sin(2 * math.pi * k / count), 2))
        for k, r in enumerate(radii)
    ]


@st.composite
def ovals(draw: st.DrawFn) -> Points:
    """Convex outlines."""
    hull = shapely.orient_polygons(shapely.MultiPoint(draw(stars())).convex_hull)
    return [(float(x), float(y)) for x, y in shapely.get_coordinates(hull)][:-1]


@given(ovals(), st.floats(1, 40))
def test_a_convex_piece_grows_by_steiners_formula(points: Points, s: float) -> None:
    """Area = A + s P + s^2 sum tan(delta / 2) with mitred corners (Steiner 1840, with mitres in place of arcs)."""
    outline, _ = cut_line(a_polygon_piece(points, s))
    ring = np.array(points)
    steps = np.roll(ring, -1, axis=0) - ring
    perimeter = float(np.hypot(*steps.T).sum())
    before = np.roll(steps, 1, axis=0)
    turns = np.arctan2(before[:, 0] * steps[:, 1] - before[:, 1] * steps[:, 0], (before * steps).sum(axis=1))
    mitred = 2 * np.arctan(np.sqrt(2.5**2 - 1))  # sharper corners are blunted at the limit
    assume(turns.max() < mitred)
    wanted = area(ring) + s * perimeter + s * s * float(np.tan(turns / 2).sum())
    assert math.isclose(area(outline), wanted, rel_tol=1e-9)


@given(stars(), st.lists(st.sampled_from([0.0, 6.0, 10.0, 12.7, 25.0, 40.0]), min_size=14, max_size=14))
def test_the_cut_line_is_simple_and_its_allowance_away_from_each_edge(points: Points, widths: list[float]) -> None:
    """Away from corners, the cut line straight out from an edge is its allowance away, to 0.05 mm.

    A spot is away from corners when no other edge comes so near that its own allowance could cover it.
    """
    piece = a_polygon_piece(points, widths[: len(points)])
    outline, _ = cut_line(piece)
    cut, seam = shapely.Polygon(outline), shapely.Polygon(points)
    assert cut.is_valid
    assert cut.buffer(1e-6).contains(seam)
    lines = {edge.name: shapely.LineString(edge.points) for edge in piece.edges}
    for edge in piece.edges:
        along = edge.points[1] - edge.points[0]
        outward = np.array([along[1], -along[0]]) / np.hypot(*along)
        for share in np.linspace(0.05, 0.95, 10):
            spot = edge.points[0] + share * along
            out = spot + outward * edge.allowance
            near = [other for other in piece.edges if other is not edge]
            if any(lines[other.name].distance(shapely.Point(out)) < 2.6 * max(other.allowance, edge.allowance) + 1
                   for other in near):  # fmt: skip
                continue
            assert cut.exterior.distance(shapely.Point(out)) < 0.05


@given(stars(), st.floats(0.5, 30), st.floats(0.5, 10))
def test_area_grows_with_the_allowance(points: Points, s: float, more: float) -> None:
    """A wider allowance takes more cloth."""
    narrow, _ = cut_line(a_polygon_piece(points, s))
    wide, _ = cut_line(a_polygon_piece(points, s + more))
    assert area(wide) > area(narrow)


@given(stars(), st.floats(1, 30))
def test_away_from_corners_it_is_shapelys_uniform_offset(points: Points, s: float) -> None:
    """Shapely's buffer with mitred joins and the same limit is the outside reference for one allowance all round."""
    ours = shapely.Polygon(cut_line(a_polygon_piece(points, s))[0])
    theirs = shapely.Polygon(points).buffer(s, join_style="mitre", mitre_limit=2.5)
    round_joins = shapely.Polygon(points).buffer(s - 1e-6, quad_segs=64)
    assert ours.buffer(0.05).contains(round_joins)
    filled = shapely.Polygon(theirs.exterior)
    corners = shapely.MultiPoint(points).buffer(2.7 * s)
    assert ours.difference(filled.buffer(0.01)).difference(corners).area < 0.5
