"""The marker itself: overlap, gap, cloth, fold and nap, against figures known beforehand."""

from dataclasses import replace

import numpy as np
import pytest

from cutroom.model.fabric import Fabric, Nap, Spread
from cutroom.model.marker import Marker, Placement
from cutroom.model.piece import Cut
from cutroom.model.prepared import PreparedPiece
from cutroom.proof import figures, prove_marker
from tests.unit.proof import emitters as emit


def a_square(*, cut: Cut = Cut.SINGLE, crossways: bool = False) -> PreparedPiece:
    """100 mm, with its lower left corner at the origin."""
    outline = np.array([(0, 0), (100, 0), (100, 100), (0, 100.0)])
    return replace(emit.a_piece(), name="square", cut=cut, crossways=crossways, cut_line=outline)


def laid(*places: tuple[float, float, float, bool], piece: PreparedPiece | None = None, **cloth: object) -> Marker:
    piece = piece or a_square()
    placements = tuple(Placement("square", "blouse", "12", 1, flipped, turn, x, y) for x, y, turn, flipped in places)
    fabric = Fabric("linen", **({"width": 300.0} | cloth))  # type: ignore[arg-type]
    return emit.settled(Marker("linen", fabric, 1.0, placements, (piece,)))


def told(marker: Marker) -> str:
    return "\n".join(str(finding) for finding in prove_marker(marker))


def test_squares_side_by_side_pass_and_their_figures_are_known() -> None:
    marker = laid((0, 0, 0, False), (100, 0, 0, False), (0, 100, 0, False))
    assert prove_marker(marker) == ()
    seen = figures(marker)
    assert (seen.length, seen.area, seen.utilisation) == pytest.approx((200.0, 30000.0, 0.5))


@pytest.mark.parametrize(("deep", "caught"), [(0.0, False), (0.009, False), (0.02, True), (0.5, True), (30.0, True)])
def test_an_overlap_is_told_with_its_depth(deep: float, caught: bool) -> None:
    text = told(laid((0, 0, 0, False), (100 - deep, 0, 0, False)))
    assert (f"they overlap by about {deep:.2f} mm" in text) is caught
    assert bool(text) is caught


def test_a_piece_inside_another_is_an_overlap() -> None:
    small = replace(a_square(), name="small", cut_line=a_square().cut_line * 0.2)
    marker = laid((0, 0, 0, False))
    inner = Placement("small", "blouse", "12", 1, False, 0.0, 40.0, 40.0)
    marker = replace(marker, placements=(*marker.placements, inner), pieces=(*marker.pieces, small))
    assert "they overlap" in told(marker)


@pytest.mark.parametrize(("apart", "caught"), [(2.0, False), (1.995, False), (1.98, True), (0.0, True)])
def test_the_gap_is_kept_to_a_hundredth(apart: float, caught: bool) -> None:
    text = told(laid((0, 0, 0, False), (100 + apart, 0, 0, False), gap=2.0))
    assert ("apart, wanted 2 mm" in text) is caught


def test_corners_are_held_apart_by_their_true_distance() -> None:
    # 3-4-5: corners 3 mm and 4 mm apart are 5 mm apart.
    assert told(laid((0, 0, 0, False), (103, 104, 0, False), gap=5.0)) == ""
    assert "they lie 5.00 mm apart, wanted 5.1 mm" in told(laid((0, 0, 0, False), (103, 104, 0, False), gap=5.1))


@pytest.mark.parametrize(
    ("x", "y", "side"),
    [(-1.0, 0.0, "1.00 mm before the start line"), (0.0, -1.0, "1.00 mm below the lower edge"),
     (0.0, 201.0, "1.00 mm beyond the usable width")],
)  # fmt: skip
def test_a_piece_off_the_cloth_is_told_by_how_much(x: float, y: float, side: str) -> None:
    assert side in told(laid((x, y, 0, False)))


def test_a_piece_beyond_the_end_and_a_length_that_is_too_long_are_told() -> None:
    marker = laid((0, 0, 0, False))
    assert "beyond the end of the marker" in told(replace(marker, length=99.0))
    assert "the pieces end at 100.0 mm" in told(replace(marker, length=102.0))


@pytest.mark.parametrize(
    ("nap", "turn", "crossways", "what"),
    [
        (Nap.ONE_WAY, 0.0, False, ""),
        (Nap.ONE_WAY, 180.0, False, "against the nap"),
        (Nap.ONE_WAY, 180.0, True, "against the nap"),
        (Nap.ONE_WAY, 90.0, True, ""),
        (Nap.ONE_WAY, 270.0, True, "the other way round than its like"),
        (Nap.NONE, 270.0, True, ""),
        (Nap.ONE_WAY, 90.0, False, "across the grain"),
        (Nap.NONE, 180.0, False, ""),
        (Nap.NONE, 270.0, False, "across the grain"),
        (Nap.NONE, 3.0, False, "off the grain"),
    ],
)
def test_turns_are_held_against_the_nap(nap: Nap, turn: float, crossways: bool, what: str) -> None:
    text = told(laid((150, 150, turn, False), piece=a_square(crossways=crossways), nap=nap))
    assert what in text
    assert bool(what) is bool(text)


def test_across_a_cloth_that_lies_one_way_the_other_hand_lies_mirrored() -> None:
    band = a_square(crossways=True)
    assert told(laid((150, 150, 270.0, True), piece=band, nap=Nap.ONE_WAY)) == ""
    assert "the other way round" in told(laid((150, 150, 90.0, True), piece=band, nap=Nap.ONE_WAY))
    alike = replace(band, symmetric=True)  # flipped it is the same: it points as it is turned
    assert told(laid((150, 150, 90.0, True), piece=alike, nap=Nap.ONE_WAY)) == ""
    assert "the other way round" in told(laid((150, 150, 270.0, True), piece=alike, nap=Nap.ONE_WAY))
    assert "must each lie one way" in told(laid((150, 150, 90.0, False), piece=band, nap=Nap.BY_GARMENT))


def test_flipping_about_the_grain_keeps_the_direction() -> None:
    assert told(laid((0, 150, 0, True), nap=Nap.ONE_WAY)) == ""


def test_by_garment_all_pieces_of_one_garment_lie_one_way() -> None:
    assert "lie both ways" in told(laid((0, 0, 0, False), (300, 200, 180, False), nap=Nap.BY_GARMENT))
    assert told(laid((100, 100, 180, False), (300, 200, 180, False), nap=Nap.BY_GARMENT)) == ""


@pytest.mark.parametrize(
    ("place", "spread", "what"),
    [
        ((0.0, 0.0, 0.0, False), Spread.FOLDED, ""),
        ((100.0, 0.0, 180.0, True), Spread.FOLDED, ""),  # mirrored lengthwise: allowed without nap
        ((0.0, 0.2, 0.0, False), Spread.FOLDED, "its fold edge is 0.20 mm off the fold"),
        ((100.0, 0.0, 90.0, False), Spread.FOLDED, "its fold edge is 100.00 mm off the fold"),
        ((0.0, 0.0, 0.0, True), Spread.FOLDED, "below the lower edge"),
        ((0.0, 0.0, 0.0, False), Spread.OPEN, "a open spread has none"),
        ((0.0, 300.0, 0.0, True), Spread.TUBULAR, ""),  # on the other fold; a tube is measured flat
        ((0.0, 150.0, 0.0, True), Spread.FOLDED, "its fold edge is 150.00 mm off the fold"),
    ],
)
def test_a_fold_piece_lies_with_its_fold_edge_on_a_fold(
    place: tuple[float, float, float, bool], spread: Spread, what: str
) -> None:
    text = told(laid(place, piece=a_square(cut=Cut.FOLD), spread=spread, nap=Nap.NONE))
    assert what in text
    assert bool(what) is bool(text)


def test_a_fold_piece_mirrored_lengthwise_lies_against_the_nap() -> None:
    marker = laid((100, 0, 180, True), piece=a_square(cut=Cut.FOLD), spread=Spread.FOLDED, nap=Nap.ONE_WAY)
    assert "against the nap" in told(marker)


def test_a_cut_line_that_crosses_itself_and_a_piece_that_was_not_prepared_are_told() -> None:
    bow = replace(a_square(), cut_line=np.array([(0, 0), (100, 100), (100, 0), (0, 100.0)]))
    assert "crosses itself" in told(laid((0, 0, 0, False), piece=bow))
    marker = laid((0, 0, 0, False))
    assert "was not prepared" in told(replace(marker, pieces=()))
