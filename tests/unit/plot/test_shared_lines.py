"""Lines that touching pieces share are cut once: nothing missing, nothing twice, no loose piece in the way.

Lengths are worked by hand from the tiles: 60 by 40 mm, so many in a row and in a column.
"""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from cutroom.model.cutter import Cutter, Language, Tool, ToolKind
from cutroom.model.plot import Plot, Role, Stroke
from cutroom.model.toolpath import Toolpath
from cutroom.plot.compose import compose
from cutroom.plot.shared import NEAR, OVERLAP, SHORT, shared_stretches
from cutroom.plot.toolpath import toolpaths
from tests.simulated_tools import Reals, burnt, farthest, fine, tip_of
from tests.tiles import HIGH, WIDE, tiled

CUTS = (Role.CUT, Role.CUTOUT, Role.NOTCH, Role.DRILL)
KERF, OFFSET = 0.3, 0.25
PEN = Tool("pen", ToolKind.PEN, CUTS)
KNIFE = Tool("knife", ToolKind.DRAG_KNIFE, CUTS, offset=OFFSET, overcut=1.0)
TURNED_KNIFE = Tool("knife", ToolKind.TANGENTIAL_KNIFE, CUTS, overcut=1.0)
LASER = Tool("beam", ToolKind.LASER, CUTS, kerf=KERF, lead=2.0, overcut=0.5)
TILE = np.array([(0.0, 0.0), (WIDE, 0.0), (WIDE, HIGH), (0.0, HIGH)])


def paths_of(plot: Plot, tool: Tool, *, once: bool = True) -> tuple[Toolpath, ...]:
    table = Cutter("table", "A table", Language.ISO, 5000.0, 3000.0, (tool,), shared_once=once)
    return toolpaths(plot, table).paths


def tiles(columns: int, rows: int, gap: float = 0.0) -> Plot:
    return compose(tiled(columns, rows, gap), legend=(), title="t")


def bricks(shifts: list[float], columns: int) -> Plot:
    """Rows of tiles that touch, each row shifted along, so that corners meet edges."""
    cloth = np.array([(0.0, 0.0), (900.0, 0.0), (900.0, 400.0), (0.0, 400.0)])
    corners = [
        (60 + shift + column * WIDE, 20 + row * HIGH) for row, shift in enumerate(shifts) for column in range(columns)
    ]
    outlines = [Stroke(Role.CUT, TILE + corner, closed=True, placement=index) for index, corner in enumerate(corners)]
    return Plot("bricks", (-2.0, -2.0), (902.0, 402.0), (Stroke(Role.FABRIC, cloth, closed=True), *outlines))


def outlines(plot: Plot) -> list[Reals]:
    return [stroke.points for stroke in plot.strokes if stroke.role is Role.CUT]


def on_bed(plot: Plot) -> Reals:
    """What to add to a place of the marker for that of the bed: the cloth's corner lies at its origin."""
    corners: Reals = next(stroke.points for stroke in plot.strokes if stroke.role is Role.FABRIC)
    return np.array(-corners.min(axis=0))


def cut_length(paths: tuple[Toolpath, ...]) -> float:
    return sum(float(np.hypot(*np.diff(path.points, axis=0).T).sum()) for path in paths if path.role is Role.CUT)


@pytest.mark.parametrize(("columns", "rows"), [(2, 1), (4, 4), (5, 3)])
def test_each_line_of_a_grid_is_cut_once(columns: int, rows: int) -> None:
    """By hand: rows + 1 lines along and columns + 1 across; the runs of later pieces are 0.5 mm over at both ends."""
    paths = paths_of(tiles(columns, rows), PEN)
    once = (rows + 1) * columns * WIDE + (columns + 1) * rows * HIGH
    runs = len([path for path in paths if path.role is Role.CUT]) - 1
    assert once < cut_length(paths) <= once + 2 * OVERLAP * runs + 1e-6
    each = cut_length(paths_of(tiles(columns, rows), PEN, once=False))
    assert each == pytest.approx(columns * rows * 2 * (WIDE + HIGH))


def test_pieces_that_do_not_touch_are_cut_as_ever() -> None:
    plot = tiles(3, 3, gap=1.0)
    some, others = paths_of(plot, KNIFE), paths_of(plot, KNIFE, once=False)
    assert all((one.points == other.points).all() for one, other in zip(some, others, strict=True))


def test_a_short_stretch_is_not_worth_lifting_for() -> None:
    (first, _, short, _) = (bricks([0.0, shift], 1) for shift in (0.0, 50.0, WIDE - SHORT + 0.1, 59.0))
    assert any(shared_stretches(outlines(first)))
    assert not any(shared_stretches(outlines(short)))


@pytest.mark.parametrize("apart", [0.0, NEAR / 2, 2 * NEAR])
def test_lines_are_one_when_they_lie_near_enough(apart: float) -> None:
    both = [TILE, np.add(TILE, (WIDE + apart, 0.0))]
    found = shared_stretches(both)
    assert [len(stretches) for stretches in found] == ([1, 1] if apart <= NEAR else [0, 0])
    for stretches in found:
        for stretch in stretches:
            assert stretch.end - stretch.start == pytest.approx(HIGH)


@pytest.mark.parametrize("points", [47, 60, 61, 93])
def test_curves_that_are_flattened_otherwise_are_one(points: int) -> None:
    """A round hollow and a round piece in it, each with corners of its own, no more than 0.02 mm off the circle."""
    bend = np.linspace(0, np.pi, 60)
    bowl = np.vstack(
        [
            [(-40.0, 0.0)],
            [(-40.0, -40.0)],
            [(40.0, -40.0)],
            [(40.0, 0.0)],
            30 * np.column_stack([np.cos(bend), -np.sin(bend)]),
        ]
    )
    bend = np.linspace(np.pi, 2 * np.pi, points)
    ball = 30 * np.column_stack([np.cos(bend), np.sin(bend)])
    for stretches in shared_stretches([bowl, ball]):
        assert sum(stretch.end - stretch.start for stretch in stretches) == pytest.approx(30 * np.pi, abs=0.3)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.integers(0, 110).map(float), min_size=2, max_size=4), st.integers(1, 4))
def test_whatever_way_rows_meet_all_is_cut_and_little_twice(shifts: list[float], columns: int) -> None:
    plot = bricks(shifts, columns)
    runs = [shapely.LineString(path.points) for path in paths_of(plot, PEN)]
    cut = shapely.union_all(runs)
    for outline in outlines(plot):
        assert shapely.difference(shapely.LinearRing(outline), shapely.buffer(cut, 1e-6)).length < 1e-3
    wanted = shapely.union_all([shapely.LinearRing(outline) for outline in outlines(plot)]).length
    allowed = 2 * OVERLAP * len(runs) + SHORT * 2 * len(runs)
    assert sum(run.length for run in runs) <= wanted + allowed


def hangs(cloth: shapely.Polygon, paths: list[Toolpath], outline: Reals) -> bool:
    """Whether a piece still hangs on the border of the cloth when some runs are cut."""
    cuts = shapely.buffer(shapely.union_all([shapely.LineString(path.points) for path in paths]), 1e-4)
    middle = shapely.Polygon(outline).representative_point()
    parts = shapely.get_parts(shapely.difference(cloth, cuts))
    return any(part.contains(middle) and part.intersects(cloth.exterior) for part in parts)


@pytest.mark.parametrize(
    "plot",
    [tiles(3, 3), tiles(5, 5), bricks([0.0, 30.0, 10.0], 3), bricks([20.0, 0.0, 20.0, 50.0], 4)],
    ids=["3 x 3", "5 x 5", "three rows", "four rows"],
)
def test_no_piece_is_loose_before_its_last_run(plot: Plot) -> None:
    """Common practice, no source: what is loose moves when the tool comes."""
    corners = next(stroke.points for stroke in plot.strokes if stroke.role is Role.FABRIC)
    shift = on_bed(plot)
    cloth = shapely.Polygon(corners + shift)
    paths = paths_of(plot, PEN)
    lines = {stroke.placement: stroke.points + shift for stroke in plot.strokes if stroke.role is Role.CUT}
    for number, path in enumerate(paths):
        assert path.placement is not None
        before = list(paths[:number])
        if before:
            assert hangs(cloth, before, lines[path.placement]), f"run {number + 1}"
    assert not any(hangs(cloth, list(paths), outline) for outline in lines.values())


def test_a_piece_is_done_in_one_go_its_notch_and_hole_first() -> None:
    paths = paths_of(tiles(4, 4), KNIFE)
    order = [path.placement for path in paths]
    assert sum(one != other for one, other in pairwise(order)) == 15
    for piece in range(16):
        roles = [path.role for path in paths if path.placement == piece]
        assert roles[-1] is Role.CUT
        assert sorted(roles[:2]) == sorted((Role.NOTCH, Role.DRILL))


def test_beam_leaves_every_edge_of_pieces_one_kerf_apart() -> None:
    plot = tiles(3, 3, gap=KERF)
    paths = paths_of(plot, LASER)
    shift = on_bed(plot)
    burn = shapely.union_all([burnt(path, KERF) for path in paths if path.role is Role.CUT])
    cloth = shapely.box(0, 0, 500, 500)
    kept = [part for part in shapely.get_parts(shapely.difference(cloth, burn)) if part.area > 100]
    assert len(kept) == 10, "nine pieces and the cloth around them"
    for outline in outlines(plot):
        wanted = outline + shift
        piece = next(part for part in kept if part.contains(shapely.Polygon(wanted).representative_point()))
        edge = np.array(piece.exterior.coords)
        assert farthest(fine(edge, np.zeros(len(edge) - 1), 0.5), wanted, closed=True) <= 0.05
        assert farthest(fine(np.vstack([wanted, wanted[:1]]), np.zeros(4), 0.5), edge, closed=False) <= 0.05


def test_beam_comes_in_where_no_piece_lies() -> None:
    plot = tiles(3, 3, gap=KERF)
    shift = on_bed(plot)
    pieces = shapely.union_all([shapely.Polygon(outline + shift) for outline in outlines(plot)])
    for path in paths_of(plot, LASER):
        if path.role is Role.CUT:
            assert shapely.intersection(burnt(path, KERF), pieces).area < 0.01


@pytest.mark.parametrize("tool", [KNIFE, TURNED_KNIFE], ids=["drag", "turned"])
def test_knife_leaves_every_edge_of_pieces_that_touch(tool: Tool) -> None:
    plot = tiles(3, 3)
    shift = on_bed(plot)
    cut, heading = [], 0.0
    for path in paths_of(plot, tool):
        way = path.points
        if tool.kind is ToolKind.DRAG_KNIFE:
            way, heading = tip_of(path, tool.offset, heading)
        if path.role is Role.CUT:
            cut.append(way)
    corners = [outline + shift for outline in outlines(plot)]
    all_corners = np.vstack(corners)
    wanted = shapely.union_all([shapely.LinearRing(outline) for outline in corners])
    left = shapely.MultiLineString(cut)
    for outline in corners:
        ring = fine(np.vstack([outline, outline[:1]]), np.zeros(4), 0.5)
        assert float(shapely.distance(shapely.points(ring), left).max()) <= 0.1
    tips = np.asarray(shapely.points(np.vstack(cut)))
    away = tips[shapely.distance(tips, shapely.MultiPoint(all_corners)) > OFFSET]
    assert float(shapely.distance(away, wanted).max()) <= 0.1
    for outline in corners:  # its corners come free: cloth is cut right up to them and a little beyond
        assert float(shapely.distance(shapely.points(outline), left).max()) <= 0.05
    cloth = shapely.difference(shapely.box(0, 0, 500, 500), shapely.buffer(left, 0.02))
    assert len([part for part in shapely.get_parts(cloth) if part.area > 100]) == 10


def test_small_pieces_first_also_where_they_touch() -> None:
    plot = bricks([0.0], 4)
    small = Stroke(Role.CUT, TILE / 4 + (60.0, 60.0), closed=True, placement=99)
    plot = replace(plot, strokes=(*plot.strokes, small))
    table = Cutter("table", "A table", Language.ISO, 5000.0, 3000.0, (PEN,), shared_once=True, small=1000.0)
    assert toolpaths(plot, table).paths[0].placement == 99
