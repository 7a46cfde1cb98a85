"""The figures of a lay. Expected numbers are worked out by hand from the inches given."""

from dataclasses import replace
from fractions import Fraction

import pytest

from cutroom.model.fabric import Fabric
from cutroom.report.figures import (
    areas_laid,
    money,
    not_enough,
    round_up,
    saving_left,
    say_metres,
    say_money,
    say_yards,
    to_buy,
    utilisation,
)
from tests.builders import a_marker, a_placement, a_prepared_piece

INCH = 25.4


def test_a_skirt_of_31_3_4_inches_with_its_ends_needs_a_whole_yard() -> None:
    """31.75 in and 0.4 in at both ends are 32.55 in; 7/8 yd is 31.5 in, a yard is 36 in."""
    buy = to_buy(31.75 * INCH, 0.4 * INCH, 1)
    assert buy.ply == Fraction(3255, 100) * Fraction(254, 10)
    assert buy.yards == 1
    assert say_yards(buy.yards) == "1 yd"
    assert not_enough(buy) == "7/8 yd"
    assert say_metres(buy.metric) == "0.90 m"  # 826.77 mm


def test_a_lay_that_comes_out_even_buys_no_eighth_more() -> None:
    assert to_buy(914.4 - 20, 10.0, 1).yards == 1
    assert to_buy(914.4 - 20 + 0.002, 10.0, 1).yards == Fraction(9, 8)
    assert to_buy(880.0, 10.0, 1).metric == 900


def test_sixty_plies_of_6_20_m_with_1_cm_ends_need_373_20_m() -> None:
    buy = to_buy(6200.0, 10.0, 60)
    assert buy.needed == 373200
    assert say_metres(buy.metric) == "373.20 m"


def test_all_plies_are_rounded_once_not_ply_by_ply() -> None:
    """18 plies of 8.54 m are 153.72 m, so 153.80 m; ply by ply it would be 154.80 m."""
    assert to_buy(8520.0, 10.0, 18).metric == 153800


@pytest.mark.parametrize(
    ("eighths", "text"), [(0, "0 yd"), (3, "3/8 yd"), (8, "1 yd"), (19, "2 3/8 yd"), (12, "1 1/2 yd")]
)
def test_yards_are_said_in_eighths(eighths: int, text: str) -> None:
    assert say_yards(Fraction(eighths, 8)) == text


def test_rounding_up_is_never_to_the_nearest() -> None:
    assert round_up(Fraction(1001, 10), Fraction(100)) == 200
    assert round_up(Fraction(100), Fraction(100)) == 100
    assert round_up(Fraction(0), Fraction(100)) == 0


def test_four_metres_67_at_12_a_metre_cost_56_04() -> None:
    assert say_money(money(12.0, Fraction(4670))) == "56.04"
    assert say_money(money(19.99, Fraction(1))) == "0.02"


def test_the_share_used_is_area_inside_cut_lines_over_usable_width_and_length() -> None:
    """The skirt on folded cloth: 794.5 of 920.75 square inches, 86.29 %."""
    square = a_prepared_piece()
    marker = a_marker(
        fabric=Fabric("linen", 29 * INCH), pieces=[square], placements=[a_placement(square, 0, 0)], length=31.75 * INCH
    )
    area = areas_laid(marker)
    # the L by Green's theorem from its corners and quarter circle: 220 x 80 + 100 x 60 less (1 - pi/4) of 40 squared,
    # the quarter circle being drawn as 8 chords: pi/4 becomes 4 sin(pi/16)
    assert area == pytest.approx(220 * 80 + 100 * 60 - 1600 + 1600 * 4 * 0.19509032201612825, rel=1e-9)
    assert utilisation(marker) == pytest.approx(area / (29 * INCH * 31.75 * INCH))
    assert pytest.approx(0.8629, abs=5e-5) == 794.5 / (29 * 31.75)


def test_what_could_still_be_saved_is_the_length_over_what_is_proven() -> None:
    marker = a_marker(length=31.75 * INCH)
    assert saving_left(marker) == 0  # nothing is proven of it
    assert saving_left(replace(marker, bound=31.75 * INCH)) == 0
    assert saving_left(replace(marker, bound=31.75 * INCH - 0.009)) == 0  # too little to be told
    assert saving_left(replace(marker, bound=31.25 * INCH)) == Fraction(127, 10)
