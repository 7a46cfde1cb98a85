"""What tools leave when they are led as the program leads them: simulated step by step, held against the wanted line.

The sample of 200 badges and its figures are worked by hand: a square of 120 mm with a hole of 20 mm.
"""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from cutroom.errors import PlotError
from cutroom.geometry.arcs import fit_arcs, straightened
from cutroom.model.cutter import Cutter, Language, Tool, ToolKind
from cutroom.model.plot import Plot, Role, Stroke
from cutroom.model.toolpath import Toolpath
from cutroom.plot.compensate import moved_aside, with_overcut
from cutroom.plot.compose import compose
from cutroom.plot.toolpath import toolpaths
from tests.builders import a_marker
from tests.simulated_tools import Reals, burnt, farthest, fine, kept_inside, tip_of

ANGLES = np.linspace(0, 2 * np.pi, 100, endpoint=False)
SQUARE = np.array([(0.0, 0.0), (120.0, 0.0), (120.0, 120.0), (0.0, 120.0)])
HOLE = np.array([(60 + 10 * math.cos(a), 60 - 10 * math.sin(a)) for a in ANGLES])
CUTS = (Role.CUT, Role.CUTOUT, Role.NOTCH, Role.DRILL)
OFFSET, KERF = 0.25, 0.30


def a_tool(kind: ToolKind, roles: tuple[Role, ...] = CUTS, **more: object) -> Tool:
    return replace(Tool("tool", kind, roles), **more)  # type: ignore[arg-type]


def a_cutter(*tools: Tool, length: float = 1300.0, width: float = 900.0, **more: object) -> Cutter:
    cutter = Cutter("bed", "A bed", Language.ISO, length, width, tools, origin=(10.0, 10.0))
    return replace(cutter, **more)  # type: ignore[arg-type]


KNIFE = a_tool(ToolKind.DRAG_KNIFE, offset=OFFSET, overcut=1.0)
LASER = a_tool(ToolKind.LASER, kerf=KERF, lead=2.0, overcut=0.5)


def shifted(line: Reals, along: float) -> Reals:
    return np.add(line, (along, 0.0))


def badges(count: int = 1) -> Plot:
    """Badges with a hole in a row, 3 mm apart, on their cloth."""
    strokes = [Stroke(Role.FABRIC, np.array([(0.0, 0), (1280, 0), (1280, 880), (0, 880)]), closed=True)]
    for index in range(count):
        strokes += [
            Stroke(Role.CUT, shifted(SQUARE, 123.0 * index), closed=True, placement=index),
            Stroke(Role.CUTOUT, shifted(HOLE, 123.0 * index), closed=True, placement=index),
        ]
    return Plot("badges", (-2.0, -2.0), (1282.0, 882.0), tuple(strokes))


def length_of(path: Toolpath) -> float:
    return float(np.hypot(*np.diff(fine(path.points, path.bulges, 0.01), axis=0).T).sum())


def of(paths: tuple[Toolpath, ...], role: Role) -> Toolpath:
    return next(path for path in paths if path.role is role)


def test_laser_is_led_half_its_kerf_off_in_the_waste() -> None:
    """By hand: 120 + 0.30 mm outside, 20 - 0.30 mm in the hole; 481.2 mm round the badge, pi times 19.7 in the hole."""
    bare = replace(LASER, lead=0.0, overcut=0.0)
    paths = toolpaths(badges(), a_cutter(bare)).paths
    outer, hole = of(paths, Role.CUT), of(paths, Role.CUTOUT)
    assert np.ptp(outer.points, axis=0) == pytest.approx((120.30, 120.30), abs=1e-9)
    assert length_of(outer) == pytest.approx(481.2, abs=1e-6)
    assert np.ptp(fine(hole.points, hole.bulges), axis=0) == pytest.approx((19.70, 19.70), abs=0.01)
    assert length_of(hole) == pytest.approx(math.pi * 19.7, abs=0.05)
    assert 200 * length_of(outer) / 40 == pytest.approx(2406, abs=1), "seconds at 40 mm/s"
    assert 200 * length_of(hole) / 40 == pytest.approx(309, abs=1)
    assert [path.role for path in paths] == [Role.CUTOUT, Role.CUT], "the hole first"


def test_beam_leaves_the_wanted_edge() -> None:
    plot = badges()
    paths = toolpaths(plot, a_cutter(LASER)).paths
    badge = kept_inside(burnt(of(paths, Role.CUT), KERF))
    for wanted, edge in (
        (SQUARE + 10, np.array(badge.exterior.coords)),
        (HOLE + 10, np.array(burnt(of(paths, Role.CUTOUT), KERF).exterior.coords)),
    ):
        assert farthest(edge, wanted, closed=True) <= 0.05
        assert farthest(wanted, edge, closed=True) <= 0.05


def test_beam_comes_in_through_the_waste() -> None:
    paths = toolpaths(badges(), a_cutter(LASER)).paths
    square, hole = shapely.Polygon(SQUARE + 10), shapely.Polygon(HOLE + 10)
    assert square.distance(shapely.Point(of(paths, Role.CUT).points[0])) == pytest.approx(2.15)
    start = shapely.Point(of(paths, Role.CUTOUT).points[0])
    assert hole.contains(start)
    assert hole.exterior.distance(start) == pytest.approx(2.15, abs=0.01)


def test_drag_knife_swings_round_its_tip_at_corners() -> None:
    """By hand: an arc of 0.25 * pi / 2 = 0.393 mm at each corner; the pivot runs 0.25 mm ahead."""
    paths = toolpaths(badges(), a_cutter(KNIFE)).paths
    outer = of(paths, Role.CUT)
    arcs = np.flatnonzero(outer.bulges)
    corners = [index for index in arcs if index > 0]
    assert len(corners) == 4
    for index in corners:
        sweep = 4 * math.atan(outer.bulges[index])
        assert sweep == pytest.approx(math.pi / 2)
        chord = float(np.hypot(*(outer.points[index + 1] - outer.points[index])))
        assert chord / 2 / math.sin(abs(sweep) / 2) * abs(sweep) == pytest.approx(0.393, abs=0.0005)


def test_tip_of_a_drag_knife_follows_the_badge() -> None:
    heading = 0.0
    for path in toolpaths(badges(3), a_cutter(KNIFE)).paths:
        tips, heading = tip_of(path, OFFSET, heading)
        assert path.placement is not None
        ring = (SQUARE if path.role is Role.CUT else HOLE) + (10 + 123 * path.placement, 10)
        assert farthest(tips, ring, closed=True) < 0.05
        assert farthest(ring, tips, closed=False) < 0.05
        over = shapely.LineString(tips).length - shapely.LinearRing(ring).length
        assert over == pytest.approx(1.0, abs=0.1), "it goes on beyond its start, so that the last fibre is cut"


def test_a_knife_led_as_a_pen_is_found_out() -> None:
    """The simulation tells: without compensation the tip cuts every corner short."""
    pen = a_tool(ToolKind.PEN)
    path = of(toolpaths(badges(), a_cutter(pen)).paths, Role.CUT)
    tips, _ = tip_of(path, 2.0, 0.0)
    assert farthest(SQUARE + 10, tips, closed=False) > 0.5


def test_pen_file_of_the_same_badges_has_no_swings() -> None:
    paths = toolpaths(badges(), a_cutter(a_tool(ToolKind.PEN))).paths
    assert not of(paths, Role.CUT).bulges.any()
    assert np.ptp(of(paths, Role.CUT).points, axis=0) == pytest.approx((120, 120))


@pytest.mark.parametrize(
    ("radius", "led"),
    [(10.0, 10.003125), (1.0, 1.030776)],
)
def test_round_a_circle_the_pivot_keeps_to_the_root_of_the_squares(radius: float, led: float) -> None:
    """Geometry: the pivot lies on a tangent of length d, so at sqrt(r^2 + d^2) from the middle."""
    ring = radius * np.column_stack([np.cos(ANGLES), np.sin(ANGLES)])
    plot = replace(badges(), strokes=(badges().strokes[0], Stroke(Role.CUT, ring + 50, closed=True, placement=0)))
    path = of(toolpaths(plot, a_cutter(KNIFE, arcs=False)).paths, Role.CUT)
    reach = np.hypot(*(path.points[4:-4] - 60).T)
    assert reach == pytest.approx(led, abs=0.003 * radius)


def placed(role: Role) -> list[Reals]:
    """The lines of a role as the sample marker has them, on the bed."""
    plot = compose(a_marker(), legend=(), title="t")
    return [stroke.points + 10 for stroke in plot.strokes if stroke.role is role]


def test_knife_on_a_marker_keeps_to_the_line_away_from_corners() -> None:
    """Greatest error 0.1 mm, away from a corner's own blade length."""
    heading = 0.0
    for path in toolpaths(compose(a_marker(), legend=(), title="t"), a_cutter(KNIFE)).paths:
        tips, heading = tip_of(path, OFFSET, heading)
        wanted = min(
            placed(path.role), key=lambda line: shapely.LineString(line).hausdorff_distance(shapely.LineString(tips))
        )
        closed = path.role in {Role.CUT, Role.DRILL}
        assert farthest(tips, wanted, closed=closed, but_near=wanted if len(wanted) < 20 else (), within=OFFSET) <= 0.1
        assert farthest(wanted, tips, closed=False) <= 0.1


def test_beam_on_a_marker_leaves_every_outline() -> None:
    for path in toolpaths(compose(a_marker(), legend=(), title="t"), a_cutter(LASER)).paths:
        if path.role is not Role.CUT:
            continue
        left = kept_inside(burnt(path, KERF)).exterior
        wanted = min(placed(Role.CUT), key=lambda line: float(shapely.LinearRing(line).hausdorff_distance(left)))
        edge = np.array(left.coords)
        # a round beam leaves a speck in a hollow corner: (sqrt(2) - 1) of half its kerf at a square one, by hand
        assert farthest(edge, wanted, closed=True, but_near=wanted, within=KERF) <= 0.05
        assert farthest(edge, wanted, closed=True) <= (math.sqrt(2) - 1) * KERF / 2 + 0.005
        assert farthest(wanted, edge, closed=True) <= (math.sqrt(2) - 1) * KERF / 2 + 0.005


def test_tangential_knife_is_lifted_at_corners_only() -> None:
    tool = a_tool(ToolKind.TANGENTIAL_KNIFE, corner_deg=30.0, overcut=1.0)
    paths = toolpaths(badges(), a_cutter(tool)).paths
    assert [path.role for path in paths] == [Role.CUTOUT, *[Role.CUT] * 5]
    ends = [path.points[[0, -1]] for path in paths[1:]]
    for before, after in pairwise(ends):
        assert after[0] == pytest.approx(before[1])
    assert np.hypot(*(ends[-1][1] - ends[0][0])) == pytest.approx(1.0), "overcut"


def test_what_a_pen_marks_comes_before_what_is_cut() -> None:
    pen = replace(a_tool(ToolKind.PEN, (Role.SEAM, Role.LABEL, Role.GRAIN)), name="pen")
    paths = toolpaths(compose(a_marker(), legend=(), title="t"), a_cutter(pen, LASER)).paths
    tools = [path.tool for path in paths]
    assert tools == sorted(tools, key=["pen", "tool"].index)
    marks = [path for path in paths if path.tool == "pen"]
    assert {path.role for path in marks} == {Role.SEAM, Role.LABEL, Role.GRAIN}


def test_a_marker_that_does_not_fit_the_bed_is_refused_with_both_sizes() -> None:
    with pytest.raises(PlotError, match=r"9\.8 to 130\.2 mm.*0 to 100\.0 mm"):
        toolpaths(badges(), a_cutter(replace(LASER, lead=0.0), width=100.0))


@pytest.mark.parametrize("turned", [0, 90, 180, 270])
def test_a_turned_marker_lies_with_its_corner_at_the_origin(turned: int) -> None:
    plot = replace(badges(), strokes=(Stroke(Role.FABRIC, SQUARE * (2, 1), closed=True), *badges().strokes[1:]))
    paths = toolpaths(plot, a_cutter(a_tool(ToolKind.PEN), turned=turned)).paths
    low, high = of(paths, Role.CUT).points.min(axis=0), of(paths, Role.CUT).points.max(axis=0)
    assert high - low == pytest.approx((120, 120))
    wanted = {0: (10, 10), 90: (10, 10), 180: (130, 10), 270: (10, 130)}[turned]
    assert low == pytest.approx(wanted)


@given(st.floats(0.05, 60), st.floats(0.1, 3.1), st.floats(0.005, 0.05), st.booleans())
@settings(max_examples=80, deadline=None)
def test_arcs_that_are_fitted_lie_on_the_line(radius: float, sweep: float, within: float, left: bool) -> None:
    angles = np.linspace(0, sweep if left else -sweep, 30)
    assume(radius * (1 - math.cos(sweep / 58)) < within / 2)  # the bits lie near enough to the circle themselves
    points = radius * np.column_stack([np.cos(angles), np.sin(angles)])
    kept, bulges, ends = fit_arcs(points, np.zeros(30), np.array([30]), within)
    assert ends.tolist() == [len(kept)]
    assert len(kept) <= 3
    back = straightened(kept, bulges[:-1], within / 4)
    assert farthest(back, points, closed=False) <= 2 * within
    assert farthest(points, back, closed=False) <= 2 * within


@given(st.floats(0.01, 2.0), st.lists(st.floats(20, 60), min_size=5, max_size=24))
@settings(max_examples=80, deadline=None)
def test_a_line_moved_aside_keeps_its_distance(distance: float, radii: list[float]) -> None:
    """Held against the same offset by GEOS."""
    angles = np.linspace(0, 2 * np.pi, len(radii), endpoint=False)
    ring = np.column_stack([radii * np.cos(angles), radii * np.sin(angles)])
    moved = moved_aside(ring, distance)
    wanted = shapely.Polygon(ring).buffer(distance, join_style="mitre", mitre_limit=4.0)
    found = shapely.Polygon(moved)
    assert found.is_valid
    assert found.symmetric_difference(wanted).area <= 1e-3 * wanted.area + 0.5 * distance**2 * len(radii)
    assert shapely.Polygon(ring).buffer(0.99 * distance).within(found.buffer(1e-6))


def test_overcut_follows_the_line_round_a_corner() -> None:
    run = with_overcut(np.roll(SQUARE, -3, axis=0) * 0.01, 1.5)
    assert run[-1] == pytest.approx((0.3, 0.0))
    assert len(run) == 7
