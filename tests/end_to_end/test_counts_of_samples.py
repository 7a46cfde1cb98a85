"""Cut quantities come out right for every sample and every spread that can take it."""

import json
import re
from pathlib import Path

import pytest

from cutroom.cli import main
from tests.jobs import SAMPLES

JOBS = sorted(SAMPLES.glob("*/job.toml"))
SPREADS = ("open", "folded", "face-to-face", "tubular")


@pytest.mark.parametrize("spread", SPREADS)
@pytest.mark.parametrize("job", JOBS, ids=lambda job: job.parent.name)
def test_what_comes_out_is_what_is_needed(job: Path, spread: str, capsys: pytest.CaptureFixture[str]) -> None:
    text = re.sub(r"^face = .*\n", "", job.read_text(encoding="utf-8"), flags=re.MULTILINE)
    face = '\nface = "up"' if spread == "open" else ""
    text = re.sub(r'spread = "[\w-]+"(.*)', rf'spread = "{spread}"\1{face}', text)
    text = re.sub(r"files = \[[^]]*\]", 'files = ["marker-dxf"]', text)
    text = re.sub(r"plies = \d+", "plies = 2" if spread == "face-to-face" else "plies = 1", text)
    Path("job.toml").write_text(text, encoding="utf-8")
    code = main(["make", "job.toml", "--out", "out", "--tries", "1"])
    said = capsys.readouterr().err
    if code == 1:  # a single piece cannot come from cloth that gives two of it, or a piece is wider than the fold
        assert spread != "open"
        assert "it is a single piece" in said or "too wide" in said
        return
    assert code == 0, said
    manifest = json.loads(Path("out/manifest.json").read_text(encoding="utf-8"))
    assert manifest["cut_list"]
    for line in manifest["cut_list"]:
        need, got = line["needed"], line["comes_out"]
        assert all(got[hand] >= need[hand] for hand in need), line
        assert got == need or spread in {"folded", "tubular", "face-to-face"}, line
    laid = sum(len(marker["pieces"]) for marker in manifest["markers"])
    kinds = [row["kind"] for row in manifest["proof"]]
    assert kinds.count("marker-dxf") == kinds.count("marker-json") == len(manifest["markers"])
    assert all(row["passed"] for row in manifest["proof"])
    assert laid > 0
