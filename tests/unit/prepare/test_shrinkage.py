"""A denim panel let out for the wash: factors from a swatch, before allowance.

Closed forms; common practice, no source.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from cutroom.draft.blocks import draft
from cutroom.draft.bodies import misses_body
from cutroom.geometry.polygon import area
from cutroom.model.fabric import Fabric
from cutroom.model.order import StyleAsked, Wearer
from cutroom.model.piece import EdgeKind, Notch, Piece, SewnSeam, Style
from cutroom.model.prepared import PreparedPiece
from cutroom.prepare.axes import let_out, on_the_grain
from cutroom.prepare.ready import prepare, with_allowances
from cutroom.prepare.walk import walk
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


def test_the_yoke_cut_across_has_its_depth_let_out_too() -> None:
    """A yoke cut across: 50 cm along the warp become 51.546 cm, 20 cm along the weft 20.408 cm."""
    yoke = a_polygon_piece([(0, 0), (500, 0), (500, 200), (0, 200)], 10, grain=[(50.0, 100.0), (450.0, 100.0)])
    done = ready(yoke)
    assert np.ptp(done.seam_line, axis=0) == pytest.approx([500 / 0.97, 200 / 0.98], abs=1e-9)
    assert np.ptp(done.cut_line, axis=0) == pytest.approx([500 / 0.97 + 20, 200 / 0.98 + 20], abs=1e-9)


def test_the_factors_the_net_and_the_cut_are_those_of_the_swatch() -> None:
    """A swatch of 50.0 cm came out 48.5 by 49.0: factors 1.030928 and 1.020408; cut 105.093 by 53.020 cm."""
    done = ready(panel())
    net, cut = np.ptp(done.seam_line, axis=0), np.ptp(done.cut_line, axis=0)
    assert net / [1000, 500] == pytest.approx([1.030928, 1.020408], abs=5e-7)
    assert net == pytest.approx([1030.93, 510.20], abs=0.005)
    assert cut == pytest.approx([1050.93, 530.20], abs=0.005)
    added_first = ready(
        a_polygon_piece([(0, 0), (520, 0), (520, 1020), (0, 1020)], 0, grain=[(250.0, 900.0), (250.0, 100.0)])
    )
    wrong = np.ptp(added_first.cut_line, axis=0)
    assert wrong[0] == pytest.approx(1051.55, abs=0.005)
    assert abs(wrong[0] - cut[0]) > 0.5  # the order of the two can be told


def test_a_notch_lies_where_the_shrunk_cloth_brings_it_back() -> None:
    """The notch 40.0 cm from the hem is cut 41.237 cm from it, square out of the side's own allowance."""
    done = ready(panel())
    knee = next(notch for notch in done.notches if len(notch) == 2)
    hem = float(done.seam_line[:, 0].max())  # grain along x, from top to hem
    assert hem - knee[0, 0] == pytest.approx(412.37, abs=0.005)
    assert pytest.approx(400.0, abs=0.001) == 0.97 * 412.371


def test_a_cap_and_its_armhole_are_walked_again_after_letting_out() -> None:
    """Lines along the warp and lines along the weft grow by their own factors: ease is 20 before and 20.62 after."""
    cap = a_polygon_piece(
        [(0, 0), (300, 0), (300, 420), (0, 420)], 10, name="sleeve", grain=[(150.0, 400.0), (150.0, 20.0)]
    )
    armhole = a_polygon_piece(
        [(0, 0), (300, 0), (300, 400), (0, 400)], 10, name="front", grain=[(150.0, 380.0), (150.0, 20.0)]
    )
    seam = SewnSeam("armhole and cap", (("front", "e1"),), (("sleeve", "e1"),), ease=20.0, second_from_end=False)
    (before,) = walk(Style("blouse", "12", (armhole, cap), (seam,)))
    shrunk = tuple(let_out(on_the_grain(piece), WARP, WEFT) for piece in (armhole, cap))
    (after,) = walk(Style("blouse", "12", shrunk, (seam,)))
    assert before.difference == pytest.approx(20.0, abs=1e-9)
    assert (after.first, after.second) == pytest.approx((400 / 0.97, 420 / 0.97), abs=1e-9)
    assert after.difference == pytest.approx(20.6186, abs=5e-5)
    assert after.difference * 0.97 == pytest.approx(
        before.difference
    )  # what is sewn after the wash is what was drafted


@pytest.mark.parametrize("size", ["00", "12", "14"])
def test_a_skirt_front_opened_out_and_let_out_is_its_own_mirror_image(size: str) -> None:
    """Its hip notch stands at a point of the side where the curve meets the straight: both halves draw it alike."""
    asked = StyleAsked("skirt", "skirt", {"skirt length": 620.0})
    front = with_allowances(draft(asked, Wearer(size, misses_body(size))).piece("front"), asked)
    wool = Fabric("wool", 1500.0, shrink_warp=0.02, shrink_weft=0.01)
    assert prepare(front, garment="skirt", size=size, fabric=wool).symmetric
