"""Lengths as people write them. Factors: international yard and pound agreement of 1959, 1 in = 25.4 mm exactly."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutroom.errors import UnitError
from cutroom.units import Unit, both_units, format_length, in_unit, in_words, length_words, parse_length, parse_unit


@pytest.mark.parametrize(
    ("text", "millimetres"),
    [
        ("14 3/8 in", 365.125),
        ("36.5cm", 365.0),
        ("58in", 1473.2),  # 1473.1999999999998 in plain floats
        ('13-5/8"', 346.075),
        ("5 3/4 inches", 146.05),
        ("5¾ in", 146.05),
        ("5 ¾ in", 146.05),
        ("½in", 12.7),
        ("1 m", 1000.0),
        ("2 yd", 1828.8),
        ("1 ft", 304.8),
        (".8 in", 20.32),
        ("7. mm", 7.0),
        ("-0.5 in", -12.7),
        ("−1/4 in", -6.35),
        ("  97 mm ", 97.0),
        ("3 CM", 30.0),
    ],
)
def test_a_length_with_its_unit_is_read_exactly(text: str, millimetres: float) -> None:
    assert parse_length(text) == millimetres


@pytest.mark.parametrize(("text", "millimetres"), [("6.5", 165.1), ("36 1/2", 927.1), ("1/8", 3.175), ("0", 0.0)])
def test_a_bare_number_stands_in_the_unit_of_its_file(text: str, millimetres: float) -> None:
    assert parse_length(text, Unit.INCH) == millimetres


def test_a_unit_that_is_written_wins_over_that_of_the_file() -> None:
    assert parse_length("36.5cm", Unit.INCH) == 365.0


@pytest.mark.parametrize(
    "text",
    ["14.3/8", "", "in", "5 3", "3,5 cm", "1e3 mm", "nan", "inf", "5 1/2/3", "--1 mm", "5 -3/4 in", "1 1/2½ in", "six"],
)
def test_what_is_not_a_length_is_echoed(text: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_length(text, Unit.INCH)
    assert f"'{text}'" in caught.value.what
    assert caught.value.fix


def test_a_bare_number_without_a_unit_is_never_guessed() -> None:
    with pytest.raises(UnitError, match=r"'36' has no unit\. Write 36in, 36cm or 36mm"):
        parse_length("36")


def test_a_fraction_over_nothing_is_refused() -> None:
    with pytest.raises(UnitError, match="'1/0 in' divides by nothing"):
        parse_length("1/0 in")


def test_a_length_that_no_roll_has_is_refused() -> None:
    with pytest.raises(UnitError, match="is longer than 1000 km"):
        parse_length(f"1{'0' * 400} mm")


def test_an_unknown_unit_lists_those_there_are() -> None:
    with pytest.raises(UnitError, match=r"'ell' is not a unit of length\. Write in, cm, mm, m, ft or yd"):
        parse_length("3 ell")
    assert parse_unit("Inches") is Unit.INCH


@pytest.mark.parametrize(
    ("length", "unit", "text"),
    [
        (146.05, Unit.INCH, "5 3/4 in"),
        (12.7, Unit.INCH, "1/2 in"),
        (0.0, Unit.INCH, "0 in"),
        (0.1, Unit.INCH, "0 in"),
        (-12.7, Unit.INCH, "-1/2 in"),
        (25.4, Unit.INCH, "1 in"),
        (146.05, Unit.CENTIMETRE, "14.6 cm"),
        (3.14159, Unit.MILLIMETRE, "3.1 mm"),
        (1425.0, Unit.METRE, "1.425 m"),
        (914.4, Unit.YARD, "1 yd"),
    ],
)
def test_a_length_is_written_as_the_trade_reads_it(length: float, unit: Unit, text: str) -> None:
    assert format_length(length, unit) == text


def test_decimals_are_written_when_asked_for() -> None:
    assert format_length(146.05, Unit.INCH, sixteenths=False) == "5.750 in"
    assert in_unit(146.05, Unit.INCH) == pytest.approx(5.75)


def test_both_units_are_written_for_sheets() -> None:
    assert both_units(806.45) == "31 3/4 in (806.5 mm)"


@pytest.mark.parametrize(
    ("length", "unit", "words"),
    [
        (146.05, Unit.INCH, "5 3/4 in (146.1 mm)"),
        (146.05, Unit.YARD, "5 3/4 in (146.1 mm)"),
        (146.05, Unit.CENTIMETRE, "14.61 cm"),
        (200.0, Unit.CENTIMETRE, "20.0 cm"),
        (9.96, Unit.CENTIMETRE, "1.0 cm"),
        (9.94, Unit.CENTIMETRE, "9.9 mm"),
        (-0.7, Unit.CENTIMETRE, "-0.7 mm"),
        (-0.01, Unit.CENTIMETRE, "0.0 mm"),
        (146.05, Unit.MILLIMETRE, "146.1 mm"),
        (1425.0, Unit.METRE, "1.425 m"),
        (806.45, Unit.METRE, "80.65 cm"),
    ],
)
def test_a_length_in_a_sentence_is_in_the_readers_unit(length: float, unit: Unit, words: str) -> None:
    assert length_words(length, unit) == words


@given(
    lengths=st.lists(st.floats(-30_000, 30_000), min_size=1, max_size=4),
    unit=st.sampled_from([Unit.CENTIMETRE, Unit.MILLIMETRE, Unit.METRE]),
)
def test_every_length_of_a_message_is_said_in_the_readers_unit(lengths: list[float], unit: Unit) -> None:
    text = "; ".join(f"seam 5 is {both_units(length)} long, wanted 3/4 of that" for length in lengths)
    words = "; ".join(f"seam 5 is {length_words(round(one, 1), unit)} long, wanted 3/4 of that" for one in lengths)
    assert in_words(text, unit) == words
    assert in_words(text, Unit.INCH) == text


@pytest.mark.parametrize(
    ("text", "centimetres", "inches"),
    [
        ("its notch is 14.0 mm deep", "its notch is 1.4 cm deep", "its notch is 9/16 in (14.0 mm) deep"),
        ("from 190.0 to 210.0 mm of it", "from 19.0 cm to 21.0 cm of it",
         "from 7 1/2 in (190.0 mm) to 8 1/4 in (210.0 mm) of it"),
        ("at x -110.0, y 250.0 mm", "at x -11.0 cm, y 25.0 cm", "at x -4 5/16 in (-110.0 mm), y 9 13/16 in (250.0 mm)"),
        ("turns at 10, 20 mm", "turns at 1.0 cm, 2.0 cm", "turns at 3/8 in (10.0 mm), 13/16 in (20.0 mm)"),
        ("letters 3 mm high", "letters 3.0 mm high", "letters 1/8 in (3.0 mm) high"),
        ("only 0.25 mm2 large", "only 0.25 mm2 large", "only 0.25 mm2 large"),
        ('piece "B-12 mm"', 'piece "B-12 mm"', 'piece "B-12 mm"'),
        ("2 notches, 3 wanted", "2 notches, 3 wanted", "2 notches, 3 wanted"),
    ],
)  # fmt: skip
def test_millimetres_alone_or_in_a_row_are_said_too(text: str, centimetres: str, inches: str) -> None:
    assert in_words(text, Unit.CENTIMETRE) == centimetres
    assert in_words(text, Unit.INCH) == inches
    assert in_words(text, Unit.MILLIMETRE) == text
    assert in_words(inches, Unit.INCH) == inches  # said once is said
