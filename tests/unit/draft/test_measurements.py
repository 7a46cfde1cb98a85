"""Measurements are looked over before anything is drafted from them."""

import pytest

from cutroom.draft.bodies import ANSUR_WOMEN, misses_body
from cutroom.draft.measurements import MEASURES, check_measures
from cutroom.errors import DraftError
from cutroom.model.finding import Severity

ARM = {"bicep": 304.0, "elbow": 263.0, "wrist": 154.0, "sleeve length": 542.0}


def test_everything_missing_is_named_at_once() -> None:
    with pytest.raises(DraftError) as caught:
        check_measures({"bicep": 304.0}, ("bicep", "elbow", "wrist"), place="Ines")
    assert "elbow, wrist" in caught.value.what
    assert MEASURES["wrist"].taken in caught.value.fix
    assert caught.value.place == "Ines"


@pytest.mark.parametrize("value", [0.0, -10.0, float("nan")])
def test_a_girth_of_nothing_is_refused(value: float) -> None:
    with pytest.raises(DraftError, match="wanted more than 0"):
        check_measures({**ARM, "wrist": value}, ())


def test_an_ordinary_arm_passes_without_a_word() -> None:
    assert check_measures(ARM, tuple(ARM)) == ()


@pytest.mark.parametrize(
    ("name", "value", "place"), [("wrist", 270.0, "wrist"), ("elbow", 310.0, "elbow"), ("wrist", 17 * 25.4, "wrist")]
)
def test_an_odd_arm_is_doubted_and_not_changed(name: str, value: float, place: str) -> None:
    measures = {**ARM, name: value}
    found = check_measures(measures, tuple(ARM))
    assert any(finding.place.endswith(place) and finding.severity is Severity.WARN for finding in found)
    assert measures[name] == value


def test_inches_typed_as_millimetres_are_doubted() -> None:
    found = check_measures({"sleeve length": 23.0}, ())
    assert [finding.severity for finding in found] == [Severity.WARN]


def test_a_name_nobody_asks_for_is_noted() -> None:
    assert check_measures({"bicpe": 300.0}, ())[0].severity is Severity.NOTE


def test_names_may_be_written_with_underscores() -> None:
    assert check_measures({"sleeve_length": 542.0}, ("sleeve length",)) == ()


def test_the_open_tables_pass_the_check() -> None:
    # ANSUR II women (US Army 2012) and ASTM D5585-11e1 misses
    for place in range(3):
        row = {name: values[place] for name, values in ANSUR_WOMEN.items()}
        assert check_measures(row, ()) == ()
    for size in ("00", "10", "20"):
        assert check_measures(misses_body(size), ()) == ()


def test_a_misses_size_is_the_standards_own() -> None:
    body = misses_body("10")
    assert body["bust"] == pytest.approx(37.25 * 25.4, abs=0.05)  # ASTM D5585-11e1 table 1
    assert body["waist"] == pytest.approx(30.5 * 25.4, abs=0.05)
    with pytest.raises(DraftError, match="no misses' size 11"):
        misses_body("11")
