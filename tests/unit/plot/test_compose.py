"""Composing a marker: everything where its placement lays it. Shapely's affinity is the outside pose."""

from collections import Counter

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from shapely.affinity import rotate, scale, translate

from cutroom.errors import PlotError
from cutroom.model.fabric import Fabric, Nap, Spread
from cutroom.model.marker import Placement
from cutroom.model.plot import Role, Stroke
from cutroom.plot.compose import compose, reading_turn
from tests.builders import a_marker, a_placement, a_prepared_piece

LEGEND = ("Blouse for Inés", "usable width 300.0 mm", "½ in allowance")


def _posed(line: NDArray[np.float64], placement: Placement) -> NDArray[np.float64]:
    flipped = scale(shapely.MultiPoint(line), 1, -1 if placement.flipped else 1, origin=(0, 0))
    laid = translate(rotate(flipped, placement.turn_deg, origin=(0, 0)), placement.x, placement.y)
    return np.array(shapely.get_coordinates(laid))


def _of(strokes: tuple[Stroke, ...], role: Role, placement: int) -> list[Stroke]:
    return [stroke for stroke in strokes if stroke.role is role and stroke.placement == placement]


@pytest.mark.parametrize(("flipped", "turn"), [(False, 0.0), (True, 0.0), (False, 37.5), (True, 180.0), (True, 270.0)])
def test_lines_lie_where_the_placement_says(flipped: bool, turn: float) -> None:
    piece = a_prepared_piece()
    placement = a_placement(piece, 1000.0, 700.0, turn_deg=turn, flipped=flipped)
    marker = a_marker(fabric=Fabric("linen", 1500.0), pieces=[piece], placements=[placement], length=2000.0)
    strokes = compose(marker, legend=LEGEND, title="linen").strokes
    for role, lines in (
        (Role.CUT, (piece.cut_line,)),
        (Role.SEAM, (piece.seam_line, *piece.lines)),
        (Role.NOTCH, piece.notches),
        (Role.GRAIN, piece.grain),
    ):
        drawn = _of(strokes, role, 0)
        assert len(drawn) == len(lines)
        for stroke, line in zip(drawn, lines, strict=True):
            wanted = _posed(line, placement)
            assert np.allclose(stroke.points, wanted, atol=1e-9)
    (drill,) = _of(strokes, Role.DRILL, 0)
    x, y, diameter = piece.drills[0]
    centre = _posed(np.array([(x, y)]), placement)[0]
    assert len(drill.points) == 24
    assert np.allclose(np.hypot(*(drill.points - centre).T), diameter / 2)
    assert np.allclose(drill.points[0] - centre, (diameter / 2, 0))


def test_closed_lines_are_the_outlines_the_drills_and_the_cloth() -> None:
    marker = a_marker()
    inside = [
        stroke for stroke in compose(marker, legend=LEGEND, title="linen").strokes if stroke.role is not Role.SHEET
    ]
    closed = Counter(stroke.role for stroke in inside if stroke.closed)
    assert closed == {Role.CUT: 3, Role.SEAM: 3, Role.DRILL: 3, Role.FABRIC: 1}


@pytest.mark.parametrize(
    ("turn", "reads"), [(0, 0), (90, 90), (91, -89), (180, 0), (270, 90), (271, -89), (-90, 90), (360, 0), (-45, -45)]
)
def test_lettering_is_never_upside_down(turn: float, reads: float) -> None:
    assert reading_turn(turn) == reads


@pytest.mark.parametrize("turn", [0.0, 90.0, 180.0, 200.0])
@pytest.mark.parametrize("flipped", [False, True])
def test_lettering_is_turned_but_never_mirrored(flipped: bool, turn: float) -> None:
    piece = a_prepared_piece()
    placement = a_placement(piece, 500.0, 500.0, turn_deg=turn, flipped=flipped)
    marker = a_marker(fabric=Fabric("linen", 1000.0), pieces=[piece], placements=[placement], length=1000.0)
    label = piece.label_mirrored if flipped else piece.label
    drawn = _of(compose(marker, legend=LEGEND, title="linen").strokes, Role.LABEL, 0)
    centre = _posed(np.array([label.centre]), placement)[0]
    angle = np.deg2rad(reading_turn(turn))
    back = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    assert len(drawn) == len(label.strokes)
    for stroke, line in zip(drawn, label.strokes, strict=True):
        assert np.allclose((stroke.points - centre) @ back, line, atol=1e-9)


@pytest.mark.parametrize("width", [60.0, 300.0, 900.0, 1500.0])
@pytest.mark.parametrize("length", [150.0, 600.0, 6200.0])
@pytest.mark.parametrize("spread", [Spread.OPEN, Spread.FOLDED])
def test_furniture_stands_outside_the_cloth_and_inside_the_sheet(width: float, length: float, spread: Spread) -> None:
    fabric = Fabric("linen", width * (2 if spread is Spread.FOLDED else 1), spread=spread)
    plot = compose(a_marker(fabric=fabric, placements=[], length=length), legend=LEGEND, title="A title")
    for stroke in plot.strokes:
        assert (stroke.points > plot.lower).all()
        assert (stroke.points < plot.upper).all()
        if stroke.role is Role.SHEET:
            assert stroke.points[:, 0].max() < 0 or stroke.points[:, 1].max() < 0
    assert np.all(np.mod([*plot.lower, *plot.upper], 1) == 0)


def test_the_sheet_has_both_test_squares_exactly() -> None:
    plot = compose(a_marker(), legend=LEGEND, title="linen")
    squares = [
        np.ptp(stroke.points, axis=0).tolist()
        for stroke in plot.strokes
        if stroke.role is Role.SHEET and stroke.closed and len(stroke.points) == 4
    ]
    assert np.allclose([side for side in squares if min(side) > 50], [[101.6, 101.6], [100.0, 100.0]], atol=1e-9)


@pytest.mark.parametrize(("length", "bar"), [(80.0, 100.0), (650.0, 600.0), (6200.0, 1000.0)])
def test_the_scale_bar_is_as_long_as_the_cloth_allows(length: float, bar: float) -> None:
    plot = compose(a_marker(placements=[], length=length), legend=LEGEND, title="linen")
    below = [s.points for s in plot.strokes if s.role is Role.SHEET and len(s.points) == 2 and s.points[:, 1].max() < 0]
    level = [points for points in below if points[0, 1] == points[1, 1]]
    assert max(np.ptp(points[:, 0]) for points in level) == bar
    ticks = sorted(points[0, 0] for points in below if np.ptp(points[:, 1]) == 4.5)
    assert ticks == [100.0 * tick for tick in range(round(bar / 100) + 1)]


@pytest.mark.parametrize(("nap", "turn", "heads"), [(Nap.ONE_WAY, 0.0, 1), (Nap.ONE_WAY, 180.0, 1), (Nap.NONE, 0.0, 2)])
def test_the_nap_arrow_points_the_way_the_pieces_do(nap: Nap, turn: float, heads: int) -> None:
    piece = a_prepared_piece()
    placement = a_placement(piece, 250.0, 150.0, turn_deg=turn)
    marker = a_marker(fabric=Fabric("velvet", 300.0, nap=nap), pieces=[piece], placements=[placement])
    plot = compose(marker, legend=(), title="velvet")
    drawn = [s.points for s in plot.strokes if s.role is Role.SHEET and not s.closed and len(s.points) == 3]
    arrows = [points for points in drawn if np.allclose(np.ptp(points, axis=0), (8, 6))]
    assert len(arrows) == heads
    tip = np.sign(arrows[0][1, 0] - arrows[0][0, 0])
    assert tip == (1 if turn == 0 else -1)


def test_a_long_title_and_legend_stay_in_their_column() -> None:
    long = ("An order of very many words that goes on and on", "x" * 120, *(f"line {row}" for row in range(30)))
    plot = compose(a_marker(), legend=long, title="W" * 60)
    head = np.vstack([s.points for s in plot.strokes if s.role is Role.SHEET and s.points[:, 0].max() < -16])
    assert head[:, 0].max() < -15
    assert plot.lower[0] >= -16 - 3 * 162 - 3


def test_a_legend_that_cannot_be_lettered_is_refused() -> None:
    with pytest.raises(PlotError, match=r"U\+6F22"):
        compose(a_marker(), legend=("漢",), title="linen")
