"""Corners by name and hems in zones. Distances are re-derived beside each check (common practice, no source)."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from cutroom.errors import PieceError
from cutroom.model.fabric import Fabric, Spread
from cutroom.model.piece import Corner, Cut, Edge, EdgeKind, Piece
from cutroom.prepare.allowance import cut_line, outline_of
from cutroom.prepare.axes import on_the_grain
from cutroom.prepare.ready import prepare
from tests.drawing import a_polygon_piece

Line = NDArray[np.float64]


def cornered(angle_deg: float, first: float, second: float, corner: Corner) -> Line:
    """The cut line's points near the corner of a big wedge: its first seam runs in along x, its second out again."""
    angle = math.radians(angle_deg)
    points = [(-1000.0, 0.0), (0.0, 0.0), (-1000 * math.cos(angle), 1000 * math.sin(angle))]
    piece = a_polygon_piece(points, [first, second, 10])
    edges = (replace(piece.edges[0], corner=corner), *piece.edges[1:])
    outline, _ = cut_line(replace(piece, edges=edges))
    return np.asarray(outline[np.hypot(*outline.T) < 300])


@pytest.mark.parametrize(("angle", "first", "second"), [(60, 10, 10), (60, 10, 25), (90, 12.7, 40), (120, 10, 10)])
def test_a_corner_squared_to_its_seam_ends_where_the_seam_line_meets_the_next_cut_line(
    angle: int, first: float, second: float
) -> None:
    """q is the seam line run on to the next cut line: second / sin(angle) beyond the corner; the end stands square."""
    near = cornered(angle, first, second, Corner.SQUARED)
    run = second / math.sin(math.radians(angle))
    assert near == pytest.approx(np.array([[run, -first], [run, 0.0]]), abs=1e-9)


def test_squared_to_the_next_is_squared_seen_from_the_other_side() -> None:
    one = cornered(70, 10, 25, Corner.SQUARED_NEXT)
    other = cornered(70, 25, 10, Corner.SQUARED)
    turn = math.radians(70)
    middle = np.array([-math.cos(turn / 2), math.sin(turn / 2)])  # of the corner, inwards
    mirrored = 2 * np.outer(other @ middle, middle) - other
    assert one == pytest.approx(mirrored[::-1], abs=1e-9)


@pytest.mark.parametrize(("angle", "wanted"), [(30, 38.64), (45, 26.13), (60, 20.0), (120, 11.55), (150, 10.35)])
def test_a_continued_corner_runs_out_however_far(angle: int, wanted: float) -> None:
    (tip,) = cornered(angle, 10, 10, Corner.CONTINUED)
    assert np.hypot(*tip) == pytest.approx(10 / math.sin(math.radians(angle / 2)), abs=1e-9)
    assert np.hypot(*tip) == pytest.approx(wanted, abs=0.005)


def test_a_corner_continued_without_end_is_refused_with_its_edges() -> None:
    with pytest.raises(PieceError, match=r'corner of "e0" and "e1": its continued corner would run out 11\d\d? mm'):
        cornered(10, 10, 10, Corner.CONTINUED)


@pytest.mark.parametrize("angle", [20, 45, 90, 150])
def test_a_blunted_corner_comes_no_nearer_than_the_allowance_and_no_further_than_its_middle(angle: int) -> None:
    near = cornered(angle, 10, 10, Corner.BLUNTED)
    middle = shapely.LineString(near).distance(shapely.Point(0, 0))
    assert middle == pytest.approx(10, abs=1e-9)
    assert len(near) == 2


def test_a_corner_folded_back_is_the_next_cut_line_mirrored_in_its_seam_line() -> None:
    """The next seam leans by 20 degrees; folded over y = 0 its cut line must fall on itself."""
    near = cornered(70, 30, 10, Corner.FOLDED)
    lean = math.tan(math.radians(20))
    at_line = 10 / math.cos(math.radians(20))
    assert near == pytest.approx(np.array([[at_line - 30 * lean, -30.0], [at_line, 0.0]]), abs=1e-9)


def test_a_stepped_corner_ends_each_allowance_square_at_the_turn_point() -> None:
    near = cornered(90, 10, 25, Corner.STEPPED)
    assert [0.0, -10.0] in near.round(9).tolist()
    assert [25.0, 0.0] in near.round(9).tolist()


def test_a_hollow_corner_is_cut_clear_and_marked_to_be_clipped() -> None:
    points = [(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (100.0, 100.0), (100.0, 200.0), (0.0, 200.0)]
    outlined = outline_of(a_polygon_piece(points, 10))
    assert [110.0, 110.0] in outlined.outline.round(9).tolist()
    (clip,) = outlined.clips
    assert clip[0] == pytest.approx([110, 110])
    assert math.dist(clip[1], (100, 100)) == pytest.approx(3, abs=1e-9)
    bare = [replace(edge, corner=Corner.CLEARED) for edge in a_polygon_piece(points, 10).edges]
    assert outline_of(replace(a_polygon_piece(points, 10), edges=tuple(bare))).clips == ()


def legs(turns: tuple[float, ...], allowance: float, lean_deg: float = 10.0) -> Piece:
    """A trouser leg that widens upwards by 10 degrees a side, its hem along y = 0, its seams without allowance."""
    lean = math.tan(math.radians(lean_deg))
    points = [(100.0, 0.0), (100 + 400 * lean, 400.0), (-100 - 400 * lean, 400.0), (-100.0, 0.0)]
    piece = a_polygon_piece(points, [0, 0, 0, allowance], {3: EdgeKind.HEM})
    return replace(piece, edges=(*piece.edges[:3], replace(piece.edges[3], turns=turns)))


def half_width(outline: Line, depth: float) -> float:
    """Half the width (mm) of a cut line at a depth below the hem line."""
    ring = shapely.Polygon(outline)
    return float(ring.intersection(shapely.LineString([(-900, -depth), (900, -depth)])).length / 2)


def test_a_turn_up_follows_the_leg_up_down_and_up_again() -> None:
    """Cuff 40, hem 25: zones +40, -40, +25. At every depth the width is the leg's where that cloth comes to lie."""
    outlined = outline_of(legs((40, 80), 105))
    lean = math.tan(math.radians(10))
    for depth, height in ((10, 10), (39, 39), (50, 30), (75, 5), (90, 10), (104, 24)):
        assert half_width(outlined.outline, depth) == pytest.approx(100 + height * lean, abs=1e-6)
    assert sorted({round(mark.depth) for mark in outlined.turns}) == [0, 40, 80]
    assert len(outlined.turns) == 6
    assert [len(line) for line in outlined.turn_lines] == [2, 2]
    assert np.abs(outlined.turn_lines[0][:, 0]).max() == pytest.approx(100 + 40 * lean, abs=1e-9)


def test_a_hem_turned_twice_widens_and_narrows_again() -> None:
    outline, _ = cut_line(legs((30,), 40))
    lean = math.tan(math.radians(10))
    assert half_width(outline, 30) == pytest.approx(100 + 30 * lean, abs=1e-6)
    assert half_width(outline, 39.9) == pytest.approx(100 + 20.1 * lean, abs=1e-6)


def test_turns_beyond_the_allowance_are_refused() -> None:
    with pytest.raises(PieceError, match=r'edge "e3": its hem is 40 mm wide and turns at 30, 50 mm'):
        legs((30, 50), 40)


def test_the_two_ends_of_a_hem_are_marked_unless_switched_off() -> None:
    piece = a_polygon_piece([(100, 0), (110, 400), (-110, 400), (-100, 0)], [10, 10, 10, 40], {3: EdgeKind.HEM})
    cloth = Fabric("linen", 1500)
    done = prepare(piece, garment="g", size="s", fabric=cloth)
    assert len(done.notches) == 2
    for stroke in done.notches:
        assert abs(stroke[0, 0] - stroke[1, 0]) < 1e-9  # the grain runs down: the hem line lies across x
    off = replace(piece, notch_form=replace(piece.notch_form, hems=False))
    assert prepare(off, garment="g", size="s", fabric=cloth).notches == ()


def test_corners_keep_their_sense_when_a_half_is_mirrored() -> None:
    """Opened out, the right-hand corner is the left one's mirror image, so the whole cut line is symmetric."""
    points = [(0.0, 0.0), (300.0, 0.0), (280.0, 120.0), (20.0, 100.0)]
    piece = a_polygon_piece(points, [0, 10, 25, 12], {0: EdgeKind.FOLD}, cut=Cut.FOLD, grain=[(0.0, 0.0), (9.0, 0.0)])
    edges = (piece.edges[0], replace(piece.edges[1], corner=Corner.SQUARED), *piece.edges[2:])
    done = prepare(replace(piece, edges=edges), garment="g", size="s", fabric=Fabric("linen", 1500))
    assert done.symmetric
    folded = prepare(
        replace(piece, edges=edges), garment="g", size="s", fabric=Fabric("linen", 1500, spread=Spread.FOLDED)
    )
    assert shapely.Polygon(done.cut_line).area == pytest.approx(2 * shapely.Polygon(folded.cut_line).area, rel=1e-9)


def test_a_half_drawn_below_its_fold_is_the_same_piece() -> None:
    above = [(0.0, 0.0), (300.0, 0.0), (280.0, 120.0), (20.0, 100.0)]
    piece = a_polygon_piece(above, [0, 10, 25, 12], {0: EdgeKind.FOLD}, cut=Cut.FOLD, grain=[(0.0, 0.0), (9.0, 0.0)])
    one = replace(piece, edges=(*piece.edges[:2], replace(piece.edges[2], corner=Corner.SQUARED), piece.edges[3]))
    mirrored = [Edge(edge.name, edge.points[::-1] * [1, -1], edge.allowance, edge.kind) for edge in reversed(one.edges)]
    mirrored[0] = replace(mirrored[0], corner=Corner.SQUARED_NEXT)
    two = replace(one, edges=tuple(mirrored))
    first, second = (cut_line(on_the_grain(each))[0] for each in (one, two))
    assert shapely.Polygon(first).symmetric_difference(shapely.Polygon(second)).area < 1e-6
