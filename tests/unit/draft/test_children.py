"""Children's measurements raise no false alarm, slips of the pen still do, and trousers fit from two years old.

The children are from memory, in round numbers, near the middle of European children's size tables; nobody's own. An
adult's are the open tables of `draft/bodies` (ANSUR II, ASTM D5585-11e1).
"""

import pytest

from cutroom.draft.blocks import draft
from cutroom.draft.bodies import ANSUR_WOMEN, misses_body
from cutroom.draft.measurements import MEASURES, body_scale, check_measures
from cutroom.draft.options import Value
from cutroom.geometry.polyline import length
from cutroom.model.finding import Severity
from cutroom.model.order import StyleAsked, Wearer
from cutroom.model.piece import Style
from cutroom.prepare.check import check_pieces
from cutroom.prepare.walk import check_walk, walk

NAMES = ("bust", "waist", "hip", "neck", "back length", "back width", "shoulder", "bicep", "elbow", "wrist",
         "sleeve length", "inside leg", "body rise", "thigh", "knee", "ankle")  # fmt: skip
CHILDREN = {
    2: (530, 510, 550, 250, 225, 225, 70, 165, 160, 125, 320, 375, 180, 310, 220, 155),
    6: (600, 550, 630, 275, 270, 255, 85, 185, 178, 135, 405, 525, 205, 370, 265, 180),
    10: (690, 600, 740, 300, 315, 290, 100, 215, 205, 145, 485, 640, 235, 440, 305, 200),
    14: (800, 660, 860, 325, 365, 330, 115, 245, 235, 153, 560, 755, 262, 510, 345, 215),
}
TROUSERS = ("waist", "hip", "body rise", "inside leg")


def _child(age: int, *names: str) -> dict[str, float]:
    whole = {name: float(value) for name, value in zip(NAMES, CHILDREN[age], strict=True)}
    return {name: whole[name] for name in names or NAMES}


def _trousers(measures: dict[str, float], **options: Value) -> Style:
    return draft(StyleAsked("trousers", "trousers", options), Wearer("child", measures))


@pytest.mark.parametrize("age", CHILDREN)
def test_a_childs_list_raises_no_alarm(age: int) -> None:
    assert check_measures(_child(age), ()) == ()
    assert check_measures(_child(age, *TROUSERS), TROUSERS) == ()
    assert check_measures(_child(age, "bust", "bicep", "elbow", "wrist", "sleeve length"), ()) == ()


@pytest.mark.parametrize("age", [2, 6, 10])
@pytest.mark.parametrize(
    ("name", "factor"),
    [("waist", 10.0), ("sleeve length", 0.1), ("bust", 25.4 / 10), ("inside leg", 10 / 25.4), ("body rise", 25.4 / 10)],
)
def test_a_slip_in_a_childs_list_is_doubted(age: int, name: str, factor: float) -> None:
    child = _child(age)
    found = check_measures({**child, name: child[name] * factor}, ())
    (doubt,) = (one for one in found if one.place == f"measurements, {name}" and "is not" in one.what)
    assert doubt.severity is Severity.WARN
    assert doubt.what.endswith("as on a child of this size")


@pytest.mark.parametrize(
    ("name", "inches"),
    [("neck", 4.5), ("wrist", 2.0), ("shoulder", 1.0), ("sleeve length", 8.0), ("bust", 8.0), ("back length", 8.0)],
)
def test_a_digit_lost_from_an_adults_list_is_doubted(name: str, inches: float) -> None:
    """Such as 8 for 18: one small figure does not make a child of an adult."""
    found = check_measures({**misses_body("12"), name: inches * 25.4}, ())
    assert any(one.place == f"measurements, {name}" and one.severity is Severity.WARN for one in found)
    few = {name: inches * 25.4}
    assert any(one.severity is Severity.WARN for one in check_measures(few, ()))


def test_a_whole_list_in_the_wrong_unit_is_doubted() -> None:
    inches_as_cm = {name: value / 2.54 for name, value in misses_body("10").items()}
    found = check_measures(inches_as_cm, ())
    assert sum(one.severity is Severity.WARN for one in found) >= 10
    large = {name: values[1] * 1.25 / 2.54 for name, values in ANSUR_WOMEN.items()}
    (note,) = (one for one in check_measures(large, ()) if one.place == "measurements")
    assert (note.severity, "check the unit" in note.fix) == (Severity.NOTE, True)


def test_an_adult_is_held_against_an_adults_ranges() -> None:
    for place in range(3):
        assert body_scale({name: values[place] for name, values in ANSUR_WOMEN.items()}) == 1.0
    assert body_scale({"waist": 400.0, "hip": 500.0}) == 1.0  # too few to tell a child by
    least = MEASURES["waist"].least
    (found,) = check_measures({**misses_body("8"), "waist": least - 1}, ())
    assert "as on a child" not in found.what


@pytest.mark.parametrize("age", CHILDREN)
@pytest.mark.parametrize("names", [TROUSERS, NAMES], ids=["four measurements", "all"])
def test_childrens_trousers_are_drafted_with_nothing_said_of_the_fly(age: int, names: tuple[str, ...]) -> None:
    style = _trousers(_child(age, *names))
    assert check_walk(walk(style)) == ()
    assert all(one.severity is not Severity.STOP for one in check_pieces(style))
    fly = style.piece("fly").edge("front")
    opening = style.piece("front").edge("centre front")
    assert 60 < length(fly.points) <= 170
    assert length(opening.points) == pytest.approx(length(fly.points))
    hip = next(float(line.points[0, 1]) for line in style.piece("front").construction if line.name == "hip line")
    assert opening.points[0, 1] > hip  # upright: the fly ends above the hip line
    assert any(name == "waist to hip" and "not measured" in text for name, text in style.facts)


def test_an_adults_fly_is_as_it_was() -> None:
    style = _trousers(misses_body("10"))
    assert length(style.piece("fly").edge("front").points) == pytest.approx(170)
    assert length(style.piece("fly").edge("waist").points) == pytest.approx(40)
    asked = _trousers(_child(6), **{"fly length": 90.0, "fly width": 28.0})
    assert length(asked.piece("fly").edge("front").points) == pytest.approx(90)
    assert length(asked.piece("fly").edge("waist").points) == pytest.approx(28)
