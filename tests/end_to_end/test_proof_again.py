"""A folder is proved again by its manifest on any day; a file that comes back is proved against the marker."""

import json
from pathlib import Path

import pytest

from cutroom.cli import main
from cutroom.model.marker import Marker
from cutroom.model.profile import Plotter
from cutroom.read.plain import plain_of, value_of
from cutroom.read.profile import list_plotters, read_plotter
from tests.builders import a_marker
from tests.jobs import SAMPLES, job_text, make, rectangle

FABRIC = 'width = 80\nspread = "open"\nface = "up"\nnap = "none"\nshrinkage = "not tested"\n'
KINDS = (
    '["pieces-dxf", "marker-dxf", "marker-svg", "marker-pdf", "tiles-pdf", "marker-hpgl", "marker-json", '
    '"cut-gcode", "cut-dxf", "cut-svg", "report-html"]'
)
MACHINES = 'plotter = "roll-pen-plotter"\npaper = "A4"\ncutters = ["gantry-laser", "exchange-dxf", "gantry-laser-svg"]'
OUT = Path("out")


def made(write: str = f"files = {KINDS}\n{MACHINES}") -> dict[str, str]:
    """A folder of all kinds of file: names by kind."""
    text = job_text(rectangle("badge", "pair", "12 cm", "9 cm"), FABRIC, unit="cm", copies=2, write=write)
    code, manifest = make(text, "--tries", "3")
    assert code == 0
    return {file["kind"]: file["path"] for file in manifest["files"]}


def said(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str]:
    capsys.readouterr()
    code = main(["proof", *words])
    both = capsys.readouterr()
    return code, both.out + both.err


def test_a_sound_folder_passes_on_any_day(capsys: pytest.CaptureFixture[str]) -> None:
    kinds = made()
    for word in ("out", "out/manifest.json"):
        code, text = said(capsys, word)
        assert code == 0, text
        assert text.count("proven ") == len(kinds)


def test_a_changed_profile_does_not_matter(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """What the files were written for is kept in the manifest."""
    made()
    own = Path("changed/cutters")
    own.mkdir(parents=True)
    own.joinpath("gantry-laser.toml").write_text("nonsense")
    monkeypatch.setenv("CUTROOM_PROFILES", "changed")
    assert said(capsys, "out")[0] == 0


@pytest.mark.parametrize(
    "kind", ["marker-dxf", "marker-svg", "marker-hpgl", "marker-pdf", "cut-gcode", "cut-svg", "pieces-dxf"]
)
def test_a_file_that_was_changed_is_refused(kind: str, capsys: pytest.CaptureFixture[str]) -> None:
    path = OUT / made()[kind]
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2] + data[len(data) // 2 + 40 :])
    code, text = said(capsys, "out")
    assert code == 3
    assert f"REFUSED {path.name}" in text
    assert "its bytes are not those that were written" in text


def test_a_missing_file_and_an_edited_report_are_told(capsys: pytest.CaptureFixture[str]) -> None:
    kinds = made()
    (OUT / kinds["marker-svg"]).unlink()
    (OUT / kinds["report-html"]).write_text("hello")
    code, text = said(capsys, "out")
    assert code == 3
    assert text.count("REFUSED") == 2
    assert "there is no such file" in text


def test_a_folder_keeps_its_markers_without_being_asked(capsys: pytest.CaptureFixture[str]) -> None:
    kinds = made('files = ["pieces-dxf", "marker-dxf"]')
    assert set(kinds) == {"pieces-dxf", "marker-dxf", "marker-json"}
    code, text = said(capsys, "out")
    assert code == 0, text
    assert text.count("proven ") == 3


def test_a_folder_of_an_earlier_version_without_its_markers_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    made('files = ["marker-dxf"]')
    path = OUT / "manifest.json"
    raw = json.loads(path.read_text())
    raw["files"] = [file for file in raw["files"] if file["kind"] != "marker-json"]
    path.write_text(json.dumps(raw))
    code, text = said(capsys, "out")
    assert code == 1
    assert "make the job again" in text


@pytest.mark.parametrize(
    ("kind", "more"),
    [
        ("marker-dxf", []),
        ("marker-svg", []),
        ("marker-pdf", []),
        ("marker-hpgl", ["--machine", "roll-pen-plotter"]),
        ("tiles-pdf", ["--paper", "A4"]),
        ("cut-gcode", ["--machine", "gantry-laser"]),
        ("cut-dxf", ["--machine", "exchange-dxf"]),
        ("cut-svg", ["--machine", "gantry-laser-svg"]),
    ],
)
def test_one_file_is_proved_against_a_marker(kind: str, more: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    kinds = made()
    back = Path("came-back.bin")
    back.write_bytes((OUT / kinds[kind]).read_bytes())
    against = ["--against", str(OUT / kinds["marker-json"])]
    code, text = said(capsys, str(back), *against, *more)
    assert code == 0, text
    assert f"({kind})" in text
    data = back.read_bytes()
    back.write_bytes(data[: len(data) * 2 // 3])
    assert said(capsys, str(back), *against, *more)[0] == 3


def test_a_marker_edited_by_hand_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    kinds = made()
    path = OUT / kinds["marker-json"]
    raw = json.loads(path.read_text())
    raw["pieces"][0]["x_mm"] += 5
    path.write_text(json.dumps(raw))
    code, text = said(capsys, str(OUT / kinds["marker-dxf"]), "--against", str(path))
    assert code == 1
    assert "moved by hand" in text


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"whole": 3}, "does not hold its marker whole"),
        ({"whole": {"name": "x"}}, "is not whole"),
        ({"drawing_mm": [[0, 0], [1, "a"]]}, "drawing_mm"),
        ([], "holds no table"),
    ],
)
def test_a_damaged_marker_is_refused_with_its_place(
    change: object, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    kinds = made()
    path = OUT / kinds["marker-json"]
    raw = json.loads(path.read_text())
    path.write_text(json.dumps(raw | change if isinstance(change, dict) else change))
    code, text = said(capsys, str(OUT / kinds["marker-dxf"]), "--against", str(path))
    assert code == 1
    assert words in text


def test_a_manifest_that_leads_out_of_its_folder_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    made()
    path = OUT / "manifest.json"
    raw = json.loads(path.read_text())
    raw["files"][0]["path"] = "../job.toml"
    path.write_text(json.dumps(raw))
    code, text = said(capsys, "out")
    assert code == 1
    assert "leads out of its folder" in text


def test_bad_paths_are_told(capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["nowhere"], ["nowhere", "--against", "none.json"]):
        code, text = said(capsys, *words)
        assert code == 1
        assert "there is no such file" in text


def test_a_marker_comes_back_from_plain_json_as_it_was() -> None:
    marker = a_marker()
    back = value_of(Marker, json.loads(json.dumps(plain_of(marker))))
    assert plain_of(back) == plain_of(marker)


@pytest.mark.parametrize("name", list_plotters())
def test_a_profile_comes_back_from_plain_json_as_it_was(name: str) -> None:
    plotter = read_plotter(name)
    assert value_of(Plotter, json.loads(json.dumps(plain_of(plotter)))) == plotter


def test_the_sample_passes_again(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = SAMPLES / "blouses" / "job.toml"
    assert main(["make", str(job), "--out", str(tmp_path / "out"), "--seconds", "0", "--tries", "1"]) == 0
    code, text = said(capsys, str(tmp_path / "out"))
    assert code == 0, text
