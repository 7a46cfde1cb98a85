"""The printed test square, from the tape to corrected sheets (common practice, no source)."""

import json
from pathlib import Path

import pypdfium2
import pytest

from cutroom.cli import main
from tests.jobs import job_text, make, rectangle

CLOTH = 'width = 60\nspread = "open"\nface = "up"\nnap = "none"\nshrinkage = "not tested"'
FRONT = rectangle("front", "pair", "20", "10")


def test_a_square_of_97_stops_with_scale_correction_and_what_it_would_do(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["square", "97.0mm"]) == 1
    said = capsys.readouterr().out
    for words in ("scale 0.970", "103.09 %", "970 mm", "30 mm too tight", "12.32 mm", "STOP"):
        assert words in said


def test_after_reprinting_99_8_passes_with_a_note(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["square", "99.8mm"]) == 0
    said = capsys.readouterr().out
    assert "within 0.5 %" in said
    assert "NOTE" in said


def test_a_number_without_a_unit_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["square", "97"]) == 1
    assert "97mm" in capsys.readouterr().err


def test_the_sheets_of_a_measured_square_are_corrected_and_proven() -> None:
    """100 mm drawn by a printer at scale 0.970 must be sent as 103.0928 mm."""
    code, manifest = make(
        job_text(FRONT, CLOTH, write='files = ["tiles-pdf"]\npaper = "A4"\nsquare_measured = "97 mm"')
    )
    assert code == 0
    assert all(row["passed"] for row in manifest["proof"])
    cover = pypdfium2.PdfDocument(Path("out/cloth-tiles.pdf").read_bytes())[0]
    squares = []
    for item in cover.get_objects():
        left, low, right, high = item.get_bounds()
        width, height = ((right - left) / 72 * 25.4, (high - low) / 72 * 25.4)
        if abs(width - height) < 0.1 and width > 90:
            squares.append(width)
    assert any(width == pytest.approx(100 / 0.97, abs=0.5) for width in squares)  # bounds include the pen's width
    assert any(width == pytest.approx(101.6 / 0.97, abs=0.5) for width in squares)


def test_the_report_says_that_the_sheets_are_corrected() -> None:
    write = 'files = ["tiles-pdf", "report-html"]\npaper = "A4"\nsquare_measured = "97 mm"'
    code, manifest = make(job_text(FRONT, CLOTH, write=write))
    assert code == 0
    page = Path("out/report.html").read_text(encoding="utf-8")
    assert "103.09 %" in page
    assert json.loads(Path("out/manifest.json").read_text(encoding="utf-8")) == manifest
