"""A program ends, once, whatever the profile says at its end (ISO 6983-1, from memory: M02 and M30)."""

from dataclasses import replace

import pytest

from tests.cutters import a_cutter, proved, written


@pytest.mark.parametrize(
    ("end", "last"),
    [
        ((), ["M30"]),
        (("M9", "G0 X0 Y0"), ["M9", "G0 X0 Y0", "M30"]),
        (("M9", "M2"), ["M9", "M2"]),
        (("M9", "G0 X0 Y0 M30"), ["M9", "G0 X0 Y0 M30"]),
        (("M20", "M302"), ["M20", "M302", "M30"]),  # words that only begin alike
    ],
)
def test_a_program_ends_whatever_its_profile_says(end: tuple[str, ...], last: list[str]) -> None:
    cutter = replace(a_cutter("gantry-laser"), end=end)
    data = written(cutter)
    assert data.decode().splitlines()[-len(last) - 1 :] == [*last, "%"]
    assert not proved(cutter, data).refused


def test_words_of_the_profile_are_not_judged_and_others_are() -> None:
    """A shop's own start may choose its work offset (G54); a program that says so unasked is refused."""
    own = replace(a_cutter("gantry-laser"), start=("G54", "G90"))
    assert not proved(own, written(own)).refused
    assert proved(a_cutter("gantry-laser"), written(own)).refused
