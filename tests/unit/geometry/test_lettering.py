"""Letters for pens: all drawn or refused by name."""

import string

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutroom.geometry.lettering import text_strokes, text_width

ACCENTED = "éèêëáàâäãåíìîïóòôöõøúùûüñçßæœłőűšžčřýÿąęğşțďťđ"
SIGNS = "½¼¾⅛⅜⅝⅞⅓⅔×°–—’“”→±€"
EVERY = string.printable[:95] + ACCENTED + ACCENTED.replace("ß", "").upper() + SIGNS


@pytest.mark.parametrize("letter", sorted(set(EVERY) - {" "}))
def test_every_letter_is_drawn_within_its_box(letter: str) -> None:
    points = np.vstack(text_strokes(letter, 21.0))
    assert len(points) >= 2
    assert points[:, 1].min() >= -0.45 * 21
    assert points[:, 1].max() <= 1.5 * 21
    assert points[:, 0].min() >= -2
    assert points[:, 0].max() <= text_width(letter, 21.0) + 2


def test_capitals_stand_on_the_baseline_at_the_height_asked_for() -> None:
    points = np.vstack(text_strokes("HEIN", 7.0))
    assert points[:, 1].min() == 0
    assert points[:, 1].max() == 7.0


@pytest.mark.parametrize("letter", ["漢", "Ж", "\n", "\t", "😀"])
def test_a_letter_that_cannot_be_drawn_is_refused_by_name(letter: str) -> None:
    with pytest.raises(ValueError, match=f"U\\+{ord(letter):04X}"):
        text_strokes(f"ab{letter}", 5.0)
    with pytest.raises(ValueError, match=f"U\\+{ord(letter):04X}"):
        text_width(letter, 5.0)


@pytest.mark.parametrize(("accented", "plain"), list(zip("éÉñçÅřłø½", "eEncArlo1", strict=True)))
def test_an_accent_adds_strokes_to_its_letter(accented: str, plain: str) -> None:
    assert len(text_strokes(accented, 5.0)) > len(text_strokes(plain, 5.0))


def test_an_accented_i_loses_its_dot() -> None:
    assert len(text_strokes("í", 5.0)) == len(text_strokes("i", 5.0)) == 2


def test_letters_written_with_a_separate_accent_are_the_same_letters() -> None:
    one, two = text_strokes("é", 5.0), text_strokes("e\N{COMBINING ACUTE ACCENT}", 5.0)
    assert [line.tolist() for line in one] == [line.tolist() for line in two]


@given(st.text(alphabet=EVERY, max_size=12), st.text(alphabet=EVERY, max_size=12))
def test_words_set_side_by_side_are_the_words_together(first: str, second: str) -> None:
    together = text_strokes(first + second, 5.0)
    shift = text_width(first, 5.0)
    apart = [*text_strokes(first, 5.0), *(np.add(line, (shift, 0.0)) for line in text_strokes(second, 5.0))]
    assert len(together) == len(apart)
    for one, two in zip(together, apart, strict=True):
        assert np.allclose(one, two, atol=0.003)
