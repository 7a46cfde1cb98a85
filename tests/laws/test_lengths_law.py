"""Reading a written length gives the length back."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from cutroom.units import MM, Unit, format_length, parse_length

_units = st.sampled_from(list(Unit))
_lengths = st.floats(-20_000, 20_000, allow_nan=False)


@given(_lengths, _units)
def test_a_written_length_is_read_back_within_half_its_last_step(length: float, unit: Unit) -> None:
    back = parse_length(format_length(length, unit))
    imperial = unit in {Unit.INCH, Unit.FOOT, Unit.YARD}
    step = MM[unit] / 16 if imperial else MM[unit] * {Unit.METRE: Fraction(1, 1000)}.get(unit, Fraction(1, 10))
    assert abs(back - length) <= float(step) / 2 + 1e-9


@given(st.integers(-20_000, 20_000))
def test_every_sixteenth_of_an_inch_is_read_back_exactly(sixteenths: int) -> None:
    length = float(Fraction(sixteenths, 16) * MM[Unit.INCH])
    assert parse_length(format_length(length, Unit.INCH)) == length


@given(st.integers(0, 400), st.integers(0, 63), st.sampled_from([2, 4, 8, 16, 32, 64]), _units)
def test_a_fraction_is_its_exact_value_rounded_once(whole: int, top: int, bottom: int, unit: Unit) -> None:
    exact = (Fraction(whole) + Fraction(top, bottom)) * MM[unit]
    assert parse_length(f"{whole} {top}/{bottom} {unit}") == float(exact)
    assert parse_length(f"{whole}-{top}/{bottom}", unit) == float(exact)


@given(st.decimals(min_value=0, max_value=5000, places=3), _units)
def test_a_number_of_a_file_and_its_text_are_one_length(number: object, unit: Unit) -> None:
    plain = float(str(number))
    assert parse_length(repr(plain), unit) == parse_length(f"{number}", unit) or "e" in repr(plain)
