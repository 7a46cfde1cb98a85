"""Trousers with a fly, a shield and a band: seven placements, counted from the job to the file.

Two fronts of one hand must stop the job before a file is written (common practice, no source).
"""

from dataclasses import replace
from pathlib import Path

import pytest

from cutroom.job import make as making
from cutroom.job.markers import make_marker
from tests.jobs import job_text, make, rectangle

LEG = """
[[styles.it.pieces]]
name = "{name}"
cut = "{cut}"
grain = "right"
edges = [
  {{ name = "a", points = [[0, 0], [{long}, 0]] }},
  {{ name = "b", points = [[{long}, 0], [{long}, {wide}]] }},
  {{ name = "c", points = [[{long}, {wide}], [0, {narrow}]] }},
  {{ name = "d", points = [[0, {narrow}], [0, 0]] }},
]
"""
TROUSERS = (
    LEG.format(name="front", cut="pair", long=104, wide=34, narrow=22)
    + LEG.format(name="back", cut="pair", long=106, wide=40, narrow=25)
    + LEG.format(name="fly", cut="single", long=20, wide=5, narrow=4)
    + LEG.format(name="fly shield", cut="single", long=21, wide=6, narrow=5)
    + rectangle("waistband", "single", "92", "8")
)
CLOTH = (
    'width = 150\nspread = "open"\nface = "up"\nnap = "one-way"\nshrinkage = "not tested"\nprice = 12\nplies = {plies}'
)


@pytest.mark.parametrize(("plies", "copies"), [(1, 1), (20, 20)])
def test_seven_placements_give_every_piece_of_every_pair(plies: int, copies: int) -> None:
    code, manifest = make(job_text(TROUSERS, CLOTH.format(plies=plies), unit="cm", copies=copies))
    assert code == 0
    (marker,) = manifest["markers"]
    assert len(marker["pieces"]) == 7
    for line in manifest["cut_list"]:
        assert line["comes_out"] == line["needed"]
        sides = [line["needed"]["left"], line["needed"]["right"]]
        assert sides == [copies, copies] or line["piece"] in {"fly", "fly shield", "waistband"}


def test_two_fronts_of_one_hand_stop_the_job_before_a_file_is_written(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    sound = make_marker

    def forgetful(*given: object, **more: object) -> object:
        """The marker with every front laid the drawn hand up: the planted slip."""
        marker, layout = sound(*given, **more)  # type: ignore[arg-type]
        laid = tuple(replace(p, flipped=False) if p.piece == "front" else p for p in marker.placements)
        return replace(marker, placements=laid), layout

    monkeypatch.setattr(making, "make_marker", forgetful)
    code, manifest = make(job_text(TROUSERS, CLOTH.format(plies=1), unit="cm"))
    said = capsys.readouterr().err
    assert code != 0
    assert manifest == {}
    assert not Path("out").exists()
    assert 'piece "front": 2 L, 0 R come out; need 1 L, 1 R (1 short)' in said
