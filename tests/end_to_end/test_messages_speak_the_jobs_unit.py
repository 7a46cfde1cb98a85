"""A centimetre job is told centimetres, a millimetre job millimetres, an inch job inches with their millimetres."""

import json
import re
from pathlib import Path

import pytest

from cutroom.cli import main
from cutroom.job.pieces import draft_order, read_order
from tests.jobs import SAMPLES, job_text, rectangle

CLOTH = 'width = "1500mm"\nselvedge = 0\nspread = "open"\nface = "up"\nnap = "none"\ngap = 0\nshrinkage = "not tested"'
PIECES = rectangle("long", "single", "400mm", "300mm") + rectangle("short", "single", "394.5mm", "300mm")
SEAM = '\n[[styles.it.seams]]\nname = "edge"\nfirst = ["long.lower"]\nsecond = ["short.upper"]\n'
STEP = 'do = "slash and spread", piece = "long", from = ["lower", "900mm"], to = ["upper", 0], open = 1'
SLASH = f"alterations = [{{ {STEP} }}]"


def _job(unit: str, more: str = "") -> Path:
    path = Path("job.toml")
    text = job_text(PIECES + SEAM, CLOTH, unit=unit).replace("[styles.it]\n", f"[styles.it]\n{more}\n")
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("unit", "words"),
    [
        ("cm", "its sides are 40.0 cm and 39.45 cm: the second is -5.5 mm longer, wanted 0.0 mm"),
        ("mm", "its sides are 400.0 mm and 394.5 mm: the second is -5.5 mm longer, wanted 0.0 mm"),
        ("in", "its sides are 15 3/4 in (400.0 mm) and 15 9/16 in (394.5 mm): the second is -3/16 in (-5.5 mm) longer"),
    ],
)  # fmt: skip
def test_findings(unit: str, words: str, capsys: pytest.CaptureFixture[str]) -> None:
    (found,) = draft_order(read_order(_job(unit))).findings
    assert found.what.startswith(words)
    assert main(["check", "job.toml"]) == 0
    assert words in capsys.readouterr().out


@pytest.mark.parametrize(
    ("unit", "words"),
    [
        ("cm", "90.0 cm along it is beyond its ends: it is 40.0 cm long"),
        ("mm", "900.0 mm along it is beyond its ends: it is 400.0 mm long"),
        ("in", "35 7/16 in (900.0 mm) along it is beyond its ends: it is 15 3/4 in (400.0 mm) long"),
    ],
)
def test_refusals(unit: str, words: str, capsys: pytest.CaptureFixture[str]) -> None:
    _job(unit, SLASH)
    assert main(["check", "job.toml"]) == 1
    assert words in capsys.readouterr().err


@pytest.mark.parametrize(
    ("unit", "words"),
    [
        ("cm", 'the line runs through its dart "bust dart" at x 15.0 cm, y '),
        ("mm", 'the line runs through its dart "bust dart" at x 150.0, y '),
        ("in", 'the line runs through its dart "bust dart" at x 5 7/8 in (150.0 mm), y '),
    ],
)
def test_places(unit: str, words: str, capsys: pytest.CaptureFixture[str]) -> None:
    dart = 'darts = [{ name = "bust dart", edge = "upper", at = "250mm", width = "20mm", point = ["150mm", "200mm"] }]'
    path = _job(unit, SLASH.replace('"900mm"', '"150mm"').replace('["upper", 0]', '["upper", "250mm"]'))
    path.write_text(path.read_text(encoding="utf-8").replace('name = "long"\n', f'name = "long"\n{dart}\n', 1), "utf-8")
    assert main(["check", "job.toml"]) == 1
    assert words in capsys.readouterr().err


def test_what_is_made_is_told_in_the_jobs_unit(capsys: pytest.CaptureFixture[str]) -> None:
    for unit, size in (("cm", r"\d+\.\d+ cm of 150\.0 cm"), ("mm", r"\d+\.\d mm of 1500\.0 mm"), ("in", r"in \(")):
        _job(unit)
        assert main(["make", "job.toml", "--out", unit, "--tries", "1"]) == 0
        told = capsys.readouterr().out
        assert re.search(rf"^cloth: .*{size}", told, re.MULTILINE), told
        found = json.loads(Path(unit, "manifest.json").read_text(encoding="utf-8"))["findings"]
        assert any(("5.5 mm" in one["what"]) for one in found)
        assert unit == "in" or not any(" in (" in one["what"] for one in found)


def test_the_facts_of_a_draft_are_in_the_jobs_unit() -> None:
    """The skirt's job is in centimetres, the blouses' in inches."""
    for sample, unit in (("skirt", " cm"), ("blouses", " in (")):
        drafted = draft_order(read_order(SAMPLES / sample / "job.toml"))
        facts = [text for style in drafted.styles.values() for _, text in style.facts]
        assert sum(unit in text for text in facts) >= 3
        if unit == " cm":
            assert not any(" in (" in text for text in facts)
