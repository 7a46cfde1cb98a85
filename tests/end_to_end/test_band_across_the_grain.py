"""A band cut across the grain is lettered along its length, and every file that says so is proven."""

import json
from pathlib import Path

import pytest

from cutroom.job.pieces import draft_order, prepare_order, read_order
from tests.jobs import job_text, make, rectangle

CLOTH = 'width = 150\nselvedge = 0\nspread = "open"\nface = "up"\nnap = "none"\ngap = 0\nshrinkage = "not tested"'
FILES = '"pieces-dxf", "marker-dxf", "marker-svg", "marker-pdf", "marker-hpgl", "tiles-pdf"'
WRITE = f'files = [{FILES}]\nplotter = "roll-pen-plotter"\npaper = "A4"'


@pytest.mark.parametrize("cut", ["pair", "single"])
def test_it_is_made_and_proven(cut: str) -> None:
    bands = rectangle("waistband", cut, "4", "70") + rectangle("loop", cut, "3.4", "55")
    code, manifest = make(job_text(bands, CLOTH, unit="cm", write=WRITE))
    assert code == 0
    assert len(manifest["proof"]) >= 6
    assert all(row["passed"] for row in manifest["proof"]), json.dumps(manifest["proof"], indent=1)
    order = read_order(Path("job.toml"))
    for piece in prepare_order(order, draft_order(order)):
        assert abs(piece.label.turn_deg) == pytest.approx(90.0)
        assert piece.label.height >= 4.0


def test_on_a_cloth_that_lies_one_way_bands_across_it_lie_alike_and_their_pairs_mirrored(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Two bands round each other would shade differently (common practice, no source). Only across do they fit here."""
    bands = rectangle("band", "pair", "140", "9", crossways=True).replace('[[0, "9"], [0, 0]]', '[[0, "9"], [1, 0]]')
    bands = bands.replace('[[0, 0], ["140", 0]]', '[[1, 0], ["140", 0]]')
    cloth = CLOTH.replace('nap = "none"', 'nap = "one-way"')
    code, manifest = make(job_text(bands, cloth, unit="cm", copies=4), "--tries", "30")
    assert code == 0
    pieces = json.loads(Path("out/cloth-marker.json").read_text(encoding="utf-8"))["pieces"]
    assert {(one["flipped"], one["turn_deg"]) for one in pieces} == {(False, 90.0), (True, 270.0)}
    assert manifest["markers"][0]["length_mm"] == pytest.approx(8 * 90.0, abs=0.01)  # 1440 and more along it
    marker = json.loads(Path("out/cloth-marker.json").read_text(encoding="utf-8"))
    marker["pieces"][0]["turn_deg"] = (marker["pieces"][0]["turn_deg"] + 180.0) % 360.0
    Path("turned.json").write_text(json.dumps(marker), encoding="utf-8")
    capsys.readouterr()
    code, _ = make(job_text(bands, cloth, unit="cm", copies=4), "--tries", "1", "--from", "turned.json")
    assert code == 1
    assert "which grain, nap, fold or pattern do not allow" in capsys.readouterr().err
