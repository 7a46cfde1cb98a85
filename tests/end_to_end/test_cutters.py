"""A job that asks for cutters gets their files, proven, with the time they take; or is told why not."""

import json
from pathlib import Path

import pytest

from cutroom.cli import main
from tests.jobs import job_text, make, rectangle

PROFILES = Path(__file__).parents[2] / "profiles" / "cutters"
FABRIC = 'width = 80\nspread = "open"\nface = "up"\nnap = "none"\nshrinkage = "not tested"\n'
BADGE = rectangle("badge", "single", "12 cm", "12 cm")
WRITE = """files = ["cut-gcode", "cut-hpgl", "cut-dxf", "cut-svg"]
cutters = ["{}", "drag-knife-roll-cutter", "exchange-dxf", "gantry-laser-svg"]"""


def job(write: str, copies: int = 3) -> str:
    return job_text(BADGE, FABRIC, unit="cm", copies=copies, write=write)


@pytest.mark.parametrize(("cutter", "down"), [("gantry-laser", b"\nM3\n"), ("flatbed-knife", b"\nM14\n")])
def test_all_languages_are_written_and_proven(cutter: str, down: bytes) -> None:
    code, manifest = make(job(WRITE.format(cutter)), "--tries", "5")
    assert code == 0
    kinds = {file["kind"]: file for file in manifest["files"]}
    assert set(kinds) == {"cut-gcode", "cut-hpgl", "cut-dxf", "cut-svg", "marker-json"}
    assert all(row["passed"] for row in manifest["proof"])
    assert down in Path("out", kinds["cut-gcode"]["path"]).read_bytes()
    assert 0 < kinds["cut-gcode"]["time"]["seconds"] < 300
    assert kinds["cut-gcode"]["time"]["bound_by"] == "machine"
    assert "time" not in kinds["cut-dxf"], "its profile says no speeds"
    assert 0 < kinds["cut-svg"]["time"]["seconds"] < 300


def test_what_an_svg_cannot_say_is_told_once(capsys: pytest.CaptureFixture[str]) -> None:
    """Power, speed and order are set at the machine, a colour for each tool; the usual cautions of a laser as well."""
    code, _ = make(job('files = ["cut-svg"]\ncutters = ["gantry-laser-svg"]'), "--tries", "3")
    assert code == 0
    said = capsys.readouterr().out
    assert "#2f6f8f mark, #8a4b9a inside, #c2571a outline" in said
    assert said.count("Laser: lid shut") == 1


def test_lines_that_touching_pieces_share_are_cut_once_and_what_that_saves_is_said() -> None:
    """By hand: three straps of 30 by 20 cm side by side share two lines of 300 mm; the knife goes 2 mm over every end.

    Each by itself: 3 x 1002 mm. Once: 1002 and 2 x (700 + 2 x 2) mm.
    """
    profile = Path(PROFILES, "flatbed-knife.toml").read_text(encoding="utf-8")
    assert 'shared_lines = "each"' in profile
    Path("ours.toml").write_text(profile.replace('shared_lines = "each"', 'shared_lines = "once"'), encoding="utf-8")
    straps = (
        rectangle("strap", "single", "30 cm", "20 cm") + '[[styles.it.shared_lines]]\npieces = ["strap"]\ngap = 0\n'
    )
    fabric = FABRIC.replace("80", "60").replace('nap = "none"', 'nap = "one-way"')
    write = 'files = ["cut-gcode"]\ncutters = ["ours.toml"]'
    code, manifest = make(job_text(straps, fabric, unit="cm", copies=3, write=write), "--tries", "5")
    assert code == 0
    file = next(file for file in manifest["files"] if file["kind"] == "cut-gcode")
    assert file["shared_lines_once"]["saved_mm"] == pytest.approx(596.0, abs=0.2)
    assert file["shared_lines_once"]["saved_s"] > 1.0
    assert main(["proof", "out"]) == 0


def test_the_time_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    make(job('files = ["cut-gcode"]\ncutters = ["gantry-laser"]'), "--tries", "3")
    assert "about" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("write", "said"),
    [
        ('files = ["cut-gcode"]', "write.cutters: it is missing: each machine takes its own file"),
        (
            'files = ["cut-gcode"]\ncutters = ["gantry-lazer"]',
            'there is no cutter "gantry-lazer". Write "gantry-laser"',
        ),
        ('files = ["cut-hpgl"]\ncutters = ["gantry-laser"]', "none of them takes cut-hpgl"),
        ('files = ["cut-gcode"]\ncutters = ["gantry-laser", "flatbed-knife"]', "two cutters take cut-gcode"),
        ('files = ["cut-gcode"]\ncutters = ["ours.toml"]', "there is no such file"),
    ],
)
def test_what_is_wrong_with_the_cutters_is_said(write: str, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, _ = make(job(write))
    assert code == 1
    assert said in capsys.readouterr().err


def test_a_marker_larger_than_the_bed_is_refused_before_anything_is_written(
    capsys: pytest.CaptureFixture[str],
) -> None:
    code, manifest = make(job('files = ["marker-svg", "cut-gcode"]\ncutters = ["gantry-laser"]', copies=80))
    assert code == 1
    assert manifest == {}
    error = capsys.readouterr().err
    assert "the bed reaches from 0 to 1300.0 mm" in error
    assert "table = '1300 mm'" in error  # what keeps pieces off the ends of beds
    assert 'cut-gcode of fabric "cloth"' in error


def test_a_profile_of_ones_own_comes_first(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    own = tmp_path / "mine" / "cutters"
    own.mkdir(parents=True)
    shipped = Path(__file__).parents[2] / "profiles" / "cutters" / "gantry-laser.toml"
    own.joinpath("gantry-laser.toml").write_text(shipped.read_text().replace("power = 600", "power = 444"))
    monkeypatch.setenv("CUTROOM_PROFILES", str(tmp_path / "mine"))
    code, manifest = make(job('files = ["cut-gcode"]\ncutters = ["gantry-laser"]'), "--tries", "3")
    assert code == 0
    assert b"\nS444\n" in Path("out", manifest["files"][0]["path"]).read_bytes()


def test_machines_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["cutters"]) == 0
    assert "gantry-laser" in capsys.readouterr().out


def test_a_manifest_is_json(capsys: pytest.CaptureFixture[str]) -> None:
    make(job('files = ["cut-dxf"]\ncutters = ["exchange-dxf"]'), "--json", "--tries", "2")
    assert json.loads(capsys.readouterr().out)["files"][0]["kind"] == "cut-dxf"


@pytest.mark.parametrize("kind", ["marker-dxf", "marker-svg", "pieces-dxf"])
def test_drawings_for_any_machine_come_with_cautions_too(kind: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, _ = make(job(f'files = ["{kind}"]', copies=1), "--tries", "2")
    assert code == 0
    said = capsys.readouterr().out
    assert "Drawings that any machine may take" in said
    assert "Never PVC, vinyl or unknown cloth" in said
    assert said.count("First run: no blade, no beam") == 1
