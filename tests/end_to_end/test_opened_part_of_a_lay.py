"""A folded lay with a part opened out behind it: pairs on the fold, singles in the open, and every count exact.

The yield of a placement through the spread is common practice, no source.
"""

import json
from pathlib import Path

import pytest

from tests.jobs import job_text, make, rectangle

PIECES = (
    rectangle("front", "pair", "30", "15")
    + rectangle("back", "fold", "30", "12", fold=True)
    + rectangle("tab", "single", "12", "5")  # its halves are alike: folded, one placement gives two
    + """
[[styles.it.pieces]]
name = "fly"
cut = "single"
grain = "right"
edges = [
  { name = "lower", points = [[0, 0], [20, 0]] },
  { name = "slope", points = [[20, 0], [16, 6]] },
  { name = "upper", points = [[16, 6], [0, 6]] },
  { name = "start", points = [[0, 6], [0, 0]] },
]
"""
)
CLOTH = """
width = 80
selvedge = 1
spread = "{spread}"
nap = "one-way"
gap = "0.5"
plies = {plies}
shrinkage = "not tested"
open_part = true
"""


@pytest.mark.parametrize("spread", ["folded", "tubular"])
@pytest.mark.parametrize(("plies", "copies"), [(1, 1), (1, 3), (4, 4), (4, 8)])
def test_every_piece_comes_out_in_exact_numbers(spread: str, plies: int, copies: int) -> None:
    write = 'files = ["marker-json", "marker-dxf", "report-html"]'
    text = job_text(PIECES, CLOTH.format(spread=spread, plies=plies), unit="cm", copies=copies, write=write)
    code, manifest = make(text, "--tries", "3")
    assert code == 0
    assert not [one for one in manifest["findings"] if one["severity"] != "note"]
    for line in manifest["cut_list"]:
        assert line["comes_out"] == line["needed"], line
    folded, opened = manifest["markers"]
    assert (folded["name"], opened["name"]) == ("cloth", "cloth opened")
    assert (folded["spread"], opened["spread"]) == (spread, "open")
    assert opened["width_mm"] == pytest.approx(2 * folded["width_mm"])
    assert {one["piece"] for one in opened["pieces"]} >= {"fly"}
    assert {one["piece"] for one in folded["pieces"]} >= {"front", "back"}
    assert all(file["passed"] for file in manifest["proof"])


def test_without_an_opened_part_the_single_is_refused_and_the_way_out_named(capsys: pytest.CaptureFixture[str]) -> None:
    cloth = CLOTH.format(spread="folded", plies=1).replace("open_part = true", "")
    code, _ = make(job_text(PIECES, cloth, unit="cm"))
    assert code == 1
    assert "open_part = true" in capsys.readouterr().err


def test_the_opened_part_is_gone_on_from_as_well() -> None:
    text = job_text(
        PIECES, CLOTH.format(spread="folded", plies=1), unit="cm", copies=3, write='files = ["marker-json"]'
    )
    _, first = make(text, "--tries", "5")
    for name in ("cloth", "cloth-opened"):
        Path(f"out/{name}-marker.json").rename(f"{name}.json")
    locked = json.loads(Path("cloth-opened.json").read_text(encoding="utf-8"))
    locked["pieces"][0]["locked"] = True
    Path("cloth-opened.json").write_text(json.dumps(locked), encoding="utf-8")
    code, second = make(text, "--tries", "1", "--from", "cloth.json", "--from", "cloth-opened.json")
    assert code == 0
    for before, after in zip(first["markers"], second["markers"], strict=True):
        assert after["length_mm"] <= before["length_mm"] + 1e-6
    assert second["markers"][1]["pieces"][0] == locked["pieces"][0]
