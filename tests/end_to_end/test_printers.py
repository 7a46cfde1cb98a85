"""Desktop printers: profiles of their own, tiles with their margins, measured and put right axis by axis."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from cutroom.cli import main
from cutroom.errors import CutroomError
from cutroom.model.plot import Plot, Role, Stroke
from cutroom.plot.compose import compose
from cutroom.plot.tile import tile
from cutroom.proof.prove import prove_file
from cutroom.proof.read_pdf import read_pdf
from cutroom.read.printer import list_printers, read_printer, read_sheet
from cutroom.write.tiles_pdf import write_tiles
from tests.builders import a_marker
from tests.jobs import job_text, make, rectangle

FABRIC = 'width = 80\nspread = "open"\nface = "up"\nnap = "none"\nshrinkage = "not tested"\n'
OURS = 'unit = "mm"\nlanguage = "pdf"\npaper = "Letter"\nmargin = 6\noverlap = 15\n'


@pytest.fixture(autouse=True)
def own_profiles(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "own" / "printers"
    folder.mkdir(parents=True)
    folder.joinpath("ours.toml").write_text(OURS)
    monkeypatch.setenv("CUTROOM_PROFILES", str(tmp_path / "own"))
    return folder


def test_printers_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert {"a4-desktop-printer", "letter-desktop-printer", "ours"} == set(list_printers())
    assert main(["printers"]) == 0
    said = capsys.readouterr().out
    assert "a4-desktop-printer       A4, 210 x 297 mm; margins 10 mm, overlap 10 mm" in said  # ISO 216
    assert "ours                     Letter, 215.9 x 279.4 mm; margins 6 mm, overlap 15 mm" in said  # ANSI Y14.1, A


def test_a_job_names_a_printer_in_place_of_a_paper(own_profiles: Path) -> None:
    manifest: dict[str, Any] = {}
    for name in ("ours", str(own_profiles / "ours.toml")):
        text = job_text(
            rectangle("badge", "pair", "12 cm", "9 cm"), FABRIC, unit="cm",
            write=f'files = ["tiles-pdf"]\npaper = "{name}"',
        )  # fmt: skip
        code, manifest = make(text, "--tries", "2")
        assert code == 0
        paper = manifest["machines"]["paper"]
        assert (paper["name"], paper["margin"], paper["overlap"], paper["printer"]) == ("Letter", 6, 15, name)
    assert main(["proof", "out"]) == 0
    kept = next(file["path"] for file in manifest["files"] if file["kind"] == "marker-json")
    tiles = manifest["files"][0]["path"]
    assert main(["proof", f"out/{tiles}", "--against", f"out/{kept}", "--paper", "ours"]) == 0
    assert main(["proof", f"out/{tiles}", "--against", f"out/{kept}", "--paper", "A4"]) == 3


def test_a_wrong_printer_is_told_with_the_job(own_profiles: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write = 'files = ["tiles-pdf"]\npaper = "ours"'
    text = job_text(rectangle("badge", "pair", "12 cm", "9 cm"), FABRIC, unit="cm", write=write)
    own_profiles.joinpath("ours.toml").write_text(OURS.replace("margin = 6", "margin = 90"))
    assert make(text)[0] == 1
    assert "ours.toml: margin: 90 mm leaves too little of the sheet" in capsys.readouterr().err
    assert make(text.replace('"ours"', '"none.toml"'))[0] == 1
    assert "job.toml: write.paper: there is no such file: none.toml" in capsys.readouterr().err
    assert make(text.replace('"ours"', '"B5"'))[0] == 1
    assert 'write.paper: there is no paper "B5"' in capsys.readouterr().err


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('paper = "Letter"', "", "paper: it is missing"),
        ('"Letter"', '"B5"', 'paper: there is no paper "B5"'),
        ('"pdf"', '"hpgl"', "language"),
        ("margin = 6", "margin = 90", "margin: 90 mm leaves too little of the sheet. Write 54 mm or less (line 4)"),
        ("overlap = 15", "overlap = -1", "overlap: -1 is less than nothing"),
        ("overlap = 15", "colour = 1", "colour: there is no such key here"),
    ],
)
def test_a_wrong_profile_is_refused(own_profiles: Path, old: str, new: str, said: str) -> None:
    own_profiles.joinpath("ours.toml").write_text(OURS.replace(old, new))
    with pytest.raises(CutroomError) as caught:
        read_sheet("ours")
    assert said in str(caught.value)


def spans(path: Path) -> tuple[float, float, float, float]:
    """Of a calibration sheet as pdfium reads it: its width and height, the longest level and upright line (mm)."""
    (sheet,), _ = read_pdf(path.read_bytes())
    sides = np.array([np.ptp(line.points, axis=0) for line in sheet.lines if len(line.points) == 2])
    level, upright = sides[sides[:, 1] < 0.01, 0].max(), sides[sides[:, 0] < 0.01, 1].max()
    return sheet.width, sheet.height, float(level), float(upright)


def test_a_printer_is_measured_and_put_right(capsys: pytest.CaptureFixture[str]) -> None:
    """A printer that feeds 1 % short and prints 2 % wide; along is the way the sheet runs, its height."""
    assert main(["profile", "check", "a4-desktop-printer", "--out", "check"]) == 0
    assert "Measure the bar along" in capsys.readouterr().out
    path = Path("check/a4-desktop-printer-check.pdf")
    assert spans(path) == pytest.approx((210, 297, 100, 200), abs=0.01)
    assert main(["profile", "correct", "a4-desktop-printer", "--along", "198mm", "--across", "102mm"]) == 0
    sheet = read_printer("a4-desktop-printer")
    assert sheet.correction == pytest.approx((100 / 102, 200 / 198), abs=1e-6)  # across, then along
    assert main(["profile", "check", "a4-desktop-printer", "--out", "check"]) == 0
    assert spans(path) == pytest.approx((210, 297, 100 / 1.02, 200 / 0.99), abs=0.01)
    marker = a_marker()
    plot = compose(marker, legend=(), title="linen")
    data = write_tiles(tile(plot, sheet))

    def refused(correction: tuple[float, float]) -> bool:
        paper = replace(sheet, correction=correction)
        return prove_file("tiles-pdf", data, marker, lower=plot.lower, upper=plot.upper, paper=paper).refused

    assert not refused(sheet.correction)
    assert refused((1.0, 1.0))
    assert refused(sheet.correction[::-1])
    assert main(["profile", "correct", "a4-desktop-printer", "--forget"]) == 0
    assert read_printer("a4-desktop-printer").correction == (1.0, 1.0)


@pytest.mark.parametrize(("size", "lying"), [((150.0, 240.0), False), ((240.0, 150.0), True)])
def test_a_sheet_on_its_side_is_put_right_the_other_way_about(size: tuple[float, float], lying: bool) -> None:
    """It is turned in the printer: the factor along its height then belongs to the width of the page."""
    line = Stroke(Role.CUT, np.array([(0.0, 0.0), size]))
    paper = replace(read_sheet("a4"), correction=(0.98, 1.01))
    found = tile(Plot("t", (0.0, 0.0), size, (line,)), paper)
    assert found.sheet == ((297.0, 210.0) if lying else (210.0, 297.0))
    assert found.correction == ((1.01, 0.98) if lying else (0.98, 1.01))
