"""Forms of HP-GL: the encoded polyline digit by digit, as its maker publishes it.

Source: PCL 5 Printer Language Technical Reference Manual, part II, HP-GL/2, polyline encoded.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutroom.proof.read_hpgl import encoded_moves
from cutroom.write.hpgl_forms import _digits, runs_as_hpgl

SQUARE = np.array([(400, 400), (4400, 400), (4400, 4400), (400, 4400), (400, 400)])


@pytest.mark.parametrize(
    ("value", "base_64", "base_32"),
    [
        (10525, "7947c4", "595073"),  # HP's own worked example: 21050 in digits 5 8 58, and 20 17 26 (pages 20-39, 40)
        (0, "bf", "5f"),
        (1, "c1", "61"),
        (-1, "c2", "62"),
        (31, "fd", "5d60"),
        (32, "3fc0", "3f61"),
        (-32, "40c0", "4061"),
        (400, "5fcb", "3f78"),
        (-4000, "407cc0", "405966"),
        (200000, "3f6960c0", "3f53456b"),
        (8388607, "7d7e7efe", "5d5e5e5e6e"),
        (-8388608, "403f3f3fc0", "403f3f3f6f"),
    ],
)
def test_numbers_have_the_published_digits(value: int, base_64: str, base_32: str) -> None:
    assert _digits(np.array([value]), 64)[0].hex() == base_64
    assert _digits(np.array([value]), 32)[0].hex() == base_32


def test_a_square_of_100_mm_is_the_file_that_two_readers_agree_on() -> None:
    """The whole file as ezdxf and hp2xx agree on it: corner at (10, 10) mm."""
    assert runs_as_hpgl([SQUARE], "encoded 7-bit") == b"PE7<=?x?x?Yf__?Yf@Yf__@Yf;"
    encoded = "50453c3d5fcb5fcb3f7cc0bfbf3f7cc0407cc0bfbf407cc03b"
    assert runs_as_hpgl([SQUARE], "encoded").hex() == encoded
    assert runs_as_hpgl([SQUARE], "absolute") == b"PU400,400;PD4400,400,4400,4400,400,4400,400,400;"
    assert runs_as_hpgl([SQUARE], "relative") == b"PA;PU400,400;PR;PD4000,0,0,4000,-4000,0,0,-4000;PA;"


@given(st.lists(st.tuples(st.integers(-(2**23), 2**23 - 1), st.integers(-(2**23), 2**23 - 1)), min_size=1, max_size=60))
def test_what_is_encoded_is_read_back(places: list[tuple[int, int]]) -> None:
    for form in ("encoded", "encoded 7-bit"):
        text = runs_as_hpgl([np.array(places)], form).decode("latin-1")[2:-1]
        at, found = (0, 0), []
        for up, absolute, (x, y) in encoded_moves(text):
            at = (x, y) if absolute else (at[0] + x, at[1] + y)
            found.append((up, at))
        assert [place for _, place in found] == (places if len(places) > 1 else places * 2)
        assert [up for up, _ in found] == [True, *[False] * (len(found) - 1)]
