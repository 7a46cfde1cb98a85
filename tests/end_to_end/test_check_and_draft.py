"""`check` and `draft` as a person meets them."""

from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from cutroom.cli import main
from cutroom.job.pieces import read_order
from cutroom.write.svg import write_svg
from tests.jobs import SAMPLES, job_text, rectangle
from tests.pictures import sleeve

CLOTH = 'width = 60\nselvedge = 0\nspread = "open"\nface = "up"\nnap = "none"\ngap = 0\nshrinkage = "not tested"'
TWO = rectangle("long", "single", "20", "10") + rectangle("short", "single", "18", "10")
SEAM = '\n[[styles.it.seams]]\nname = "edge"\nfirst = ["long.lower"]\nsecond = ["short.upper"]\n'


@pytest.fixture(autouse=True)
def _a_job(own_folder: Path) -> None:
    own_folder.joinpath("job.toml").write_text(job_text(TWO + SEAM, CLOTH), encoding="utf-8")


def test_check_prints_a_table_and_marks_what_it_found(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "job.toml", "--out", "sheets"]) == 1
    said = capsys.readouterr().out
    row = next(line for line in said.splitlines() if line.strip().startswith("edge "))
    assert row.split("  ")[-1] == "2 in too short"  # 20 in against 18 in, wanted alike
    assert "STOP: seam edge" in said
    picture = ET.parse("sheets/it-one-check.svg").getroot()
    groups = {group.get("id"): group for group in picture.iter("{http://www.w3.org/2000/svg}g")}
    rings = [path for path in groups["NOTCH"] if path.attrib["d"].endswith("Z")]
    assert len(rings) == 2  # one on each side of the seam
    assert Path("sheets/it-one-check.pdf").read_bytes().startswith(b"%PDF-1.6")


def test_check_without_a_folder_writes_nothing() -> None:
    assert main(["check", "job.toml"]) == 1
    assert [path.name for path in Path().iterdir()] == ["job.toml"]


def test_the_table_is_aligned(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", f"{SAMPLES / 'blouses' / 'job.toml'}"]) == 0
    lines = capsys.readouterr().out.splitlines()
    heads = [line for line in lines if line.strip().startswith("seam ")]
    rows = [line for line in lines if line.endswith("as wanted")]
    assert len(heads) == 2
    assert len(rows) == 14
    ends = {line.index("as wanted") for line in rows}
    assert len(ends) <= 2  # one place to each of both styles


@pytest.mark.parametrize(
    ("options", "names"),
    [
        ((), {"it-one-draft.pdf", "it-one-draft.svg"}),
        (("--scale", "4"), {"it-one-draft-1-to-4.pdf", "it-one-draft-1-to-4.svg"}),
    ],
)
def test_draft_writes_a_sheet_at_the_scale_asked_for(options: tuple[str, ...], names: set[str]) -> None:
    assert main(["draft", "job.toml", "--out", "sheets", *options]) == 0
    assert {path.name for path in Path("sheets").iterdir()} == names


def test_a_scale_that_enlarges_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draft", "job.toml", "--out", "sheets", "--scale", "0.5"]) == 2
    assert "--scale 1" in capsys.readouterr().err


def test_one_size_cannot_be_nested(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draft", "job.toml", "--out", "sheets", "--nested"]) == 1
    assert "only one size" in capsys.readouterr().err


def test_sizes_are_nested() -> None:
    job = f"{SAMPLES / 'blouses' / 'job.toml'}"
    assert main(["draft", job, "--out", "sheets", "--nested", "--meet", "centre front"]) == 0
    assert {path.name for path in Path("sheets").iterdir()} == {"blouse-sizes.pdf", "blouse-sizes.svg"}


def test_the_pictures_of_the_readme_are_there_and_small() -> None:
    readme = (SAMPLES.parent / "README.md").read_text(encoding="utf-8")
    for name in ("marker", "sleeve", "nested"):
        picture = SAMPLES / "pictures" / f"{name}.svg"
        assert f"samples/pictures/{name}.svg" in readme
        assert picture.stat().st_size < 200_000
        assert ET.parse(picture).getroot().tag.endswith("svg")


def test_a_picture_is_drawn_the_same_again() -> None:
    order = read_order(SAMPLES / "blouses" / "job.toml")
    assert write_svg(sleeve(order)) == write_svg(sleeve(order))
