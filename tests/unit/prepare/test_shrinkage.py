"""A denim panel let out for the wash: factors from a swatch, before allowance (closed forms; common practice)."""

import math
from dataclasses import replace

import numpy as np
import pytest

from cutroom.geometry.polygon import area
from cutroom.model.fabric import Fabric
from cutroom.model.piece import EdgeKind, Notch, Piece
from cutroom.model.prepared import PreparedPiece
from cutroom.prepare.axes import let_out, on_the_grain
from cutroom.prepare.ready import prepare
from tests.drawing import a_polygon_piece

WARP, WEFT = (50.0 - 48.5) / 50.0, (50.0 - 49.0) / 50.0
DENIM = Fabric("denim", 1500.0, shrink_warp=WARP, shrink_weft=WEFT)


def ready(piece: Piece) -> PreparedPiece:
    return prepare(piece, garment="trousers", size="32", fabric=DENIM)


def panel(grain: tuple[tuple[float, float], tuple[float, float]] = ((250.0, 900.0), (250.0, 100.0))) -> Piece:
    """1000 along the grain by 500 across, its hem at the foot."""
    return a_polygon_piece(
        [(0, 0), (500, 0), (500, 1000), (0, 1000)], 10, grain=grain, notches=(Notch("e1", 400.0, name="knee"),)
    )


def test_the_panel_is_let_out_before_its_allowance_is_added() -> None:
    done = ready(panel())
    net, cut = np.ptp(done.seam_line, axis=0), np.ptp(done.cut_line, axis=0)
    assert net == pytest.approx([1000 / 0.97, 500 / 0.98], abs=1e-9)
    assert net == pytest.approx([1030.93, 510.20], abs=0.005)
    assert cut == pytest.approx(net + 20, abs=1e-9)
    after_adding = np.array([1020 / 0.97, 520 / 0.98])
    assert after_adding[0] - cut[0] == pytest.approx(0.62, abs=0.005)  # the two must not be taken for each other
    assert area(done.seam_line) / (1000 * 500) == pytest.approx(1.051967, abs=1e-6)


def test_a_notch_stays_on_its_spot_of_the_cloth() -> None:
    piece = let_out(on_the_grain(panel()), WARP, WEFT)
    assert piece.notches[0].at == pytest.approx(412.37, abs=0.005)


def test_a_yoke_across_the_grain_has_the_factors_exchanged() -> None:
    yoke = a_polygon_piece([(0, 0), (500, 0), (500, 200), (0, 200)], 0, grain=[(50.0, 100.0), (450.0, 100.0)])
    assert np.ptp(ready(yoke).seam_line, axis=0) == pytest.approx([515.46, 204.08], abs=0.005)


def test_a_bias_square_becomes_the_parallelogram_of_its_diagonals() -> None:
    """At 45 degrees the diagonals lie along warp and weft: a rhombus with them let out."""
    square = a_polygon_piece([(0, 0), (200, 0), (200, 200), (0, 200)], 0, grain=[(150.0, 150.0), (50.0, 50.0)])
    seam = ready(square).seam_line
    diagonal = 200 * math.sqrt(2)
    assert np.ptp(seam, axis=0) == pytest.approx([diagonal / 0.97, diagonal / 0.98], abs=1e-9)
    sides = np.hypot(*(seam - np.roll(seam, 1, axis=0)).T)
    assert sides == pytest.approx(np.full(4, math.hypot(diagonal / 0.97, diagonal / 0.98) / 2), abs=1e-9)


def test_steam_takes_its_share_besides_the_wash() -> None:
    piece = replace(panel(), press_shrink=(0.01, 0.005))
    assert np.ptp(ready(piece).seam_line, axis=0) == pytest.approx([1000 / 0.97 / 0.99, 500 / 0.98 / 0.995], abs=1e-9)


def test_a_hem_keeps_its_width_whatever_the_cloth_loses() -> None:
    piece = panel()
    hem = replace(piece.edges[0], kind=EdgeKind.HEM, allowance=40.0)
    done = ready(replace(piece, edges=(hem, *piece.edges[1:])))
    assert np.ptp(done.cut_line[:, 0]) - np.ptp(done.seam_line[:, 0]) == pytest.approx(50)
