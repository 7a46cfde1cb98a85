"""Ease is printed as it is cut and as it is sewn after shrinking; lengths by closed form: drafted / (1 - shrinkage)."""

from pathlib import Path

import pytest

from cutroom.cli import main
from cutroom.job.pieces import draft_order, read_order, walk_as_cut
from cutroom.job.style_sheets import style_sheet
from tests.jobs import job_text, rectangle

DENIM = 'width = 1500\nselvedge = 0\nspread = "open"\nface = "up"\nnap = "none"\ngap = 0\nshrinkage = '
SEAM = """
[[styles.it.seams]]
name = "armhole and cap"
first = ["front.lower"]
second = ["sleeve.lower"]
ease = "20mm"
[[styles.it.seams]]
name = "end"
first = ["front.end"]
second = ["sleeve.end"]
"""
PIECES = rectangle("front", "single", "400mm", "300mm") + rectangle("sleeve", "single", "420mm", "300mm")


def _job(shrinkage: str, unit: str = "mm") -> Path:
    path = Path("job.toml")
    path.write_text(job_text(PIECES + SEAM, DENIM + shrinkage, unit=unit), encoding="utf-8")
    return path


def test_the_table_has_both(capsys: pytest.CaptureFixture[str]) -> None:
    _job('{ warp = "3 %", weft = "2 %" }')
    assert main(["check", "job.toml"]) == 0
    rows = {line.split("  ")[1]: line.split() for line in capsys.readouterr().out.splitlines() if line.startswith("  ")}
    assert rows["armhole and cap"][3:] == ["400.0", "mm", "420.0", "mm", "20.0", "mm", "20.0", "mm", "as", "wanted"]
    lines = [" ".join(line.split()) for line in _check(capsys) if "let out for cloth" in line]
    # 400 / 0.97 = 412.37, 420 / 0.97 = 432.99, 20 / 0.97 = 20.62; 300 / 0.98 = 306.12
    assert lines[0] == "let out for cloth 412.4 mm 433.0 mm 20.6 mm before the wash"
    assert lines[1] == "let out for cloth 306.1 mm 306.1 mm 0.0 mm before the wash"


def _check(capsys: pytest.CaptureFixture[str]) -> list[str]:
    main(["check", "job.toml"])
    return capsys.readouterr().out.splitlines()


def test_the_sheet_has_both_for_the_seam_that_is_eased() -> None:
    order = read_order(_job('{ warp = "3 %", weft = "2 %" }'))
    drafted = draft_order(order)
    sheet = style_sheet(
        order, order.garments[0], drafted.styles["it", "one"], drafted.findings, scale=4.0, construction=False
    )
    assert [line for line in sheet.words if line.startswith("ease of")] == [
        "ease of armhole and cap: 20.6 mm as cut, 20.0 mm after shrinking"
    ]


def test_cloth_that_does_not_shrink_has_one_ease(capsys: pytest.CaptureFixture[str]) -> None:
    for shrinkage in ('{ warp = "0 %", weft = "0 %" }', '"not tested"'):
        order = read_order(_job(shrinkage))
        assert walk_as_cut(order, order.garments[0], draft_order(order).styles["it", "one"]) == ()
        assert not any("let out" in line for line in _check(capsys))


def test_inches_are_decimal_where_a_sixteenth_would_hide_the_difference() -> None:
    order = read_order(_job('{ warp = "3 %", weft = "2 %" }', unit="in"))
    sheet = style_sheet(
        order, order.garments[0], draft_order(order).styles["it", "one"], (), scale=4.0, construction=False
    )
    assert "ease of armhole and cap: 0.812 in as cut, 0.787 in after shrinking" in sheet.words
