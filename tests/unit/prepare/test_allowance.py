"""Cut lines. Figures without a source are re-derived beside the check (common practice, no source)."""

import math

import numpy as np
import pytest

from cutroom.errors import PieceError
from cutroom.geometry.polygon import area
from cutroom.model.piece import Edge, EdgeKind, Piece
from cutroom.prepare.allowance import MITRE_LIMIT, cut_line
from tests.drawing import INCH, WORKED_SLEEVE, a_polygon_piece, in_inches


def corner_distance(angle_deg: float, first: float, second: float) -> float:
    """Distance from the seam's corner to the cut line's, measured on a big wedge."""
    angle = math.radians(angle_deg)
    points = [(0.0, 0.0), (1000.0, 0.0), (1000 * math.cos(angle), 1000 * math.sin(angle))]
    piece = a_polygon_piece(points, [second, 10, first])
    outline, _ = cut_line(piece)
    near = outline[np.hypot(*outline.T) < 200]
    assert len(near) == 1
    return float(np.hypot(*near[0]))


@pytest.mark.parametrize("angle", [60, 90, 120, 150])
def test_a_mitre_runs_out_by_the_allowance_over_the_sine_of_half_the_angle(angle: int) -> None:
    assert corner_distance(angle, 10, 10) == pytest.approx(10 / math.sin(math.radians(angle) / 2), abs=1e-9)


@pytest.mark.parametrize(("angle", "wanted"), [(90, 41.23), (80, 43.54), (100, 40.12)])
def test_a_mitre_of_unlike_allowances_runs_out_by_the_law_of_cosines(angle: int, wanted: float) -> None:
    turn = math.radians(angle)
    closed_form = math.sqrt(10**2 + 40**2 + 2 * 10 * 40 * math.cos(turn)) / math.sin(turn)
    assert corner_distance(angle, 10, 40) == pytest.approx(closed_form, abs=1e-9)
    assert closed_form == pytest.approx(wanted, abs=0.005)


def test_a_needle_corner_is_blunted_at_the_limit() -> None:
    piece = a_polygon_piece([(0, 0), (400, 0), (400 * math.cos(0.3), 400 * math.sin(0.3))], 10)
    outline, _ = cut_line(piece)
    reach = np.hypot(*outline.T)
    reach = reach[reach < 100]
    assert reach.min() >= MITRE_LIMIT * 10 - 1e-9  # square across at the limit: no corner nearer, none far beyond
    assert reach.max() < 1.1 * MITRE_LIMIT * 10
    assert len(reach) == 2


def test_a_sleeve_with_half_an_inch_all_round_has_the_area_worked_out_by_hand() -> None:
    outline, _ = cut_line(a_polygon_piece(in_inches(WORKED_SLEEVE), 0.5 * INCH))
    assert area(outline) / INCH**2 == pytest.approx(284.110, abs=0.005)


def test_a_wrist_hem_is_folded_back_along_the_seam_it_turns_up_against() -> None:
    hem = [12.7] * 13
    hem[2] = 1.5 * INCH
    outline, _ = cut_line(a_polygon_piece(in_inches(WORKED_SLEEVE), hem, {2: EdgeKind.HEM}))
    raw = outline[np.abs(outline[:, 1] - (-19 * INCH)) < 1e-6]
    lean = math.hypot(1.75, 9.75) / 9.75  # seam allowance measured along the hem, the seam leaning 1.75 in 9.75
    half = (4.5 + 1.5 * 1.75 / 9.75 + 0.5 * lean) * INCH
    assert sorted(raw[:, 0]) == pytest.approx([-half, half], abs=1e-6)
    assert pytest.approx(4.769, abs=0.0005) == 4.5 + 1.5 * 1.75 / 9.75


def test_a_hem_folded_up_lies_inside_the_piece() -> None:
    """Naive straight run-on of a 10 degree leg would be 2 d tan(10 deg) = 14.1 mm off at 40 mm."""
    lean = math.tan(math.radians(10))
    points = [(100.0, 0.0), (100 + 400 * lean, 400.0), (-100 - 400 * lean, 400.0), (-100.0, 0.0)]
    piece = a_polygon_piece(points, [10, 10, 10, 40], {3: EdgeKind.HEM})
    outline, _ = cut_line(piece)
    below = outline[outline[:, 1] < -39.9]
    folded = below * [1, -1]
    at_40 = (100 + 40 * lean + 10 / math.cos(math.radians(10))) * 1.0
    assert np.abs(folded[:, 0]).max() == pytest.approx(at_40, abs=1e-9)
    assert 2 * 40 * lean == pytest.approx(14.1, abs=0.05)


def test_a_hem_wider_than_the_piece_is_refused_with_its_edge() -> None:
    piece = a_polygon_piece([(100, 0), (100, 30), (0, 30), (0, 0)], [10, 10, 10, 60], {3: EdgeKind.HEM}, name="cuff")
    with pytest.raises(PieceError, match=r'piece "cuff", edge "e3": the hem is 60 mm wide, wider than the piece'):
        cut_line(piece)


def test_an_allowance_wider_than_a_hollow_never_crosses_itself() -> None:
    around = np.linspace(0, math.pi, 60)
    hollow = np.column_stack([6 * np.cos(around), 6 * np.sin(around)])[::-1]  # into the piece from above
    line = np.vstack([[60, 0], hollow * [1, -1] * [-1, 1], [-60, 0]])
    edges = (
        Edge("left", np.array([(-60, 0), (-60, -60)]), 12),
        Edge("foot", np.array([(-60, -60), (60, -60)]), 12),
        Edge("right", np.array([(60, -60), (60, 0)]), 12),
        Edge("top", line, 12),
    )
    outline, _ = cut_line(Piece("yoke", edges, np.array([(0.0, 0.0), (0.0, -1.0)])))
    import shapely

    grown = shapely.Polygon(outline)
    assert grown.is_valid
    seam = shapely.Polygon(np.vstack([edge.points[:-1] for edge in edges]))
    assert grown.contains(seam)
    boundary = shapely.LineString(line).distance(grown.exterior)
    assert boundary == pytest.approx(12, abs=0.05)


def test_seams_of_unlike_allowance_in_one_line_step_square() -> None:
    points = [(0.0, 0.0), (100.0, 0.0), (200.0, 0.0), (200.0, 80.0), (0.0, 80.0)]
    outline, _ = cut_line(a_polygon_piece(points, [10, 20, 10, 10, 10]))
    assert [100.0, -10.0] in outline.tolist()
    assert [100.0, -20.0] in outline.tolist()


def test_beside_a_fold_the_cut_line_ends_on_the_fold() -> None:
    points = [(0.0, 0.0), (300.0, 0.0), (280.0, 120.0), (20.0, 100.0)]
    outline, _ = cut_line(a_polygon_piece(points, [0, 10, 10, 10], {0: EdgeKind.FOLD}))
    assert outline[:, 1].min() == pytest.approx(0, abs=1e-9)
