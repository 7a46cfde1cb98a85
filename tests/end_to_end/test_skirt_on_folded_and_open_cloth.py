"""A skirt's cut sizes laid on folded and on open cloth, to lengths that no lay can beat.

Sizes in inches (common practice, no source): front half 13 x 28 on the fold, back 13 1/2 x 28 as a pair, waistband
half 15 x 3 1/2 on the fold, cloth 60 in with 58 usable, gap 1/4. Folded: both fold pieces share the fold, so
28 + 1/4 + 3 1/2 = 31 3/4 is least. Open: 26 + 13 1/2 + 13 1/2 + 3 1/2 + 3 x 1/4 = 57 1/4 side by side, 30 long.
"""

import pytest

from tests.jobs import SKIRT, SKIRT_OPEN, job_text, make

CLOTH = """
width = 60
selvedge = 1
spread = "{spread}"
face = "up"
nap = "none"
gap = "1/4"
end_allowance = "0.4"
shrinkage = "not tested"
"""


def test_on_a_fold_it_takes_31_and_three_quarter_inches_and_not_a_hair_more() -> None:
    code, manifest = make(job_text(SKIRT, CLOTH.format(spread="folded")))
    assert code == 0
    (marker,) = manifest["markers"]
    assert marker["width_mm"] == pytest.approx(29 * 25.4)
    assert marker["length_mm"] == pytest.approx(31.75 * 25.4, abs=1e-9)
    assert marker["utilisation"] == pytest.approx(794.5 / 920.75, abs=1e-6)
    assert sorted(placement["piece"] for placement in marker["pieces"]) == ["back", "front", "waistband"]
    assert all(p["y_mm"] == 0 for p in marker["pieces"] if p["piece"] != "back")


def test_its_cut_list_is_front_1_back_left_and_right_waistband_1() -> None:
    _, manifest = make(job_text(SKIRT, CLOTH.format(spread="folded")))
    counted = {line["piece"]: (line["needed"], line["comes_out"]) for line in manifest["cut_list"]}
    for need, got in counted.values():
        assert need == got
    assert counted["front"][0] == {"left": 0, "right": 0, "whole": 1}
    assert counted["waistband"][0] == {"left": 0, "right": 0, "whole": 1}
    assert sum(counted["back"][0].values()) == 2


def test_open_it_takes_30_inches_with_57_and_a_quarter_across() -> None:
    code, manifest = make(job_text(SKIRT_OPEN, CLOTH.format(spread="open")), seconds=1)
    assert code == 0
    (marker,) = manifest["markers"]
    assert marker["length_mm"] == pytest.approx(30.0 * 25.4, abs=1e-9)
    assert marker["utilisation"] == pytest.approx(1589 / 1740, abs=1e-6)
    assert len(marker["pieces"]) == 4


def test_the_manifest_and_the_terminal_say_that_it_cannot_be_shorter(capsys: pytest.CaptureFixture[str]) -> None:
    for spread, pieces, inches, why in (
        ("folded", SKIRT, 31.75, "the fold, which fold pieces share"),
        ("open", SKIRT_OPEN, 30.0, "the longest piece"),
    ):
        _, manifest = make(job_text(pieces, CLOTH.format(spread=spread)))
        (marker,) = manifest["markers"]
        assert marker["bound_mm"] == pytest.approx(inches * 25.4, abs=1e-5)
        assert marker["bound_mm"] <= marker["length_mm"] + 1e-6
        assert marker["bound_by"] == why
        assert "no marker of these pieces by these rules can be shorter" in capsys.readouterr().out
