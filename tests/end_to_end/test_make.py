"""`make` as a person meets it: what it leaves behind when all is well, when it is not, and when it is stopped."""

import hashlib
import json
import os
import pty
import select
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from cutroom.cli import main
from cutroom.job import output
from cutroom.job.interrupt import put_off
from cutroom.write.svg import write_svg
from tests.jobs import SAMPLES, job_text, make, rectangle

OPEN = 'width = "60 in"\nspread = "open"\nface = "up"\nnap = "none"\nshrinkage = "not tested"'
BLOUSES = SAMPLES / "blouses" / "job.toml"


def test_every_file_asked_for_is_there_proven_and_hashed() -> None:
    assert main(["make", str(BLOUSES), "--out", "out", "--tries", "1"]) == 0
    manifest = json.loads(Path("out/manifest.json").read_text(encoding="utf-8"))
    asked = {"pieces-dxf", "marker-dxf", "marker-hpgl", "marker-pdf", "tiles-pdf", "marker-svg", "report-html"}
    assert asked <= {file["kind"] for file in manifest["files"]}
    for file in manifest["files"]:
        assert hashlib.sha256(Path("out", file["path"]).read_bytes()).hexdigest() == file["sha256"]
    assert all(row["passed"] for row in manifest["proof"])
    limits = {"marker-dxf": 0.01, "marker-svg": 0.01, "marker-hpgl": 0.0125 * 2**0.5, "marker-pdf": 0.05}
    measured = {row["kind"]: row["largest_deviation_mm"] for row in manifest["proof"]}
    assert all(measured[kind] <= limit + 1e-6 for kind, limit in limits.items())


def test_the_same_seed_and_tries_give_the_same_bytes() -> None:
    for folder in ("one", "two"):
        assert main(["make", str(BLOUSES), "--out", folder, "--tries", "2", "--seed", "7"]) == 0
    for file in sorted(Path("one").iterdir()):
        assert file.read_bytes() == Path("two", file.name).read_bytes(), file.name


def test_json_prints_the_manifest(capsys: pytest.CaptureFixture[str]) -> None:
    code, manifest = make(job_text(rectangle("front", "pair", "20", "10"), OPEN), "--json")
    assert code == 0
    assert json.loads(capsys.readouterr().out) == manifest


def test_a_piece_wider_than_the_cloth_is_refused_with_how_much_and_what_would_do(
    capsys: pytest.CaptureFixture[str],
) -> None:
    code, manifest = make(job_text(rectangle("curtain", "single", "40", "62"), OPEN))
    said = capsys.readouterr().err
    assert (code, manifest) == (1, {})
    assert "curtain" in said
    assert "50.80 mm too wide" in said  # 62 in on 60 in
    assert "1574.8" in said  # the width that would do
    assert not Path("out").exists()


def test_a_fold_piece_on_open_cloth_is_opened_out() -> None:
    code, manifest = make(job_text(rectangle("front", "fold", "20", "10", fold=True), OPEN))
    assert code == 0
    (line,) = manifest["cut_list"]
    assert line["comes_out"] == {"left": 0, "right": 0, "whole": 1}
    (marker,) = manifest["markers"]
    assert marker["utilisation"] == pytest.approx(20 * 20 / (60 * marker["length_mm"] / 25.4), abs=1e-6)


def test_a_marker_too_wide_for_the_plotter_is_refused_and_nothing_is_written(
    capsys: pytest.CaptureFixture[str],
) -> None:
    wide = OPEN.replace("60 in", "3 m")
    write = 'files = ["marker-dxf", "marker-hpgl"]\nplotter = "roll-pen-plotter"'
    code, _ = make(job_text(rectangle("front", "pair", "20", "10"), wide, write=write))
    assert code == 1
    assert 'marker-hpgl of fabric "cloth"' in capsys.readouterr().err
    assert not Path("out").exists()


def test_a_file_that_its_proof_refuses_is_left_as_refused_with_exit_code_3(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def spoilt(*given: Any) -> bytes:
        return write_svg(*given).replace(b'<g id="NOTCH"', b'<g id="SEAM2"')

    monkeypatch.setattr(output, "write_svg", spoilt)
    assert main(["make", str(BLOUSES), "--out", "out", "--tries", "1"]) == 3
    assert Path("out/linen-marker.svg.refused").exists()
    assert not Path("out/linen-marker.svg").exists()
    assert Path("out/linen-marker.dxf").exists()
    manifest = json.loads(Path("out/manifest.json").read_text(encoding="utf-8"))
    (row,) = [row for row in manifest["proof"] if not row["passed"]]
    assert row["path"] == "linen-marker.svg.refused"
    assert "REFUSED" in capsys.readouterr().out


def test_an_earlier_runs_refused_file_does_not_stay_beside_the_sound_one() -> None:
    Path("out").mkdir()
    Path("out/cloth-marker.dxf.refused").write_bytes(b"old")
    code, _ = make(job_text(rectangle("front", "pair", "20", "10"), OPEN))
    assert code == 0
    assert not Path("out/cloth-marker.dxf.refused").exists()


def test_every_fault_of_a_job_is_reported_at_once(capsys: pytest.CaptureFixture[str]) -> None:
    text = BLOUSES.read_text(encoding="utf-8")
    for sound, faulty in (
        ('waist = "28 1/2"\n', ""),  # a missing measurement of one
        ('bust = "38 3/4"', "bust = -3"),  # a girth below nothing of the other
        ("width = 58", "wdth = 58"),  # a key that is not known
        ('unit = "in"', 'unit = "ells"'),  # a unit that is none
    ):
        assert sound in text
        text = text.replace(sound, faulty)
    code, manifest = make(text)
    said = capsys.readouterr().err
    assert (code, manifest) == (1, {})
    assert "ines: missing waist" in said
    assert "sizes.12.bust" in said
    assert "fabrics.linen.wdth" in said
    assert 'unit "ells"' in said
    assert all(line.startswith("job.toml: ") and line.endswith(".") for line in said.strip().splitlines())


def test_a_figure_in_doubt_is_named_beside_the_refusal_it_causes(capsys: pytest.CaptureFixture[str]) -> None:
    text = (SAMPLES / "skirt" / "job.toml").read_text(encoding="utf-8").replace("hip = 97", "hip = 9.7")
    code, _ = make(text)
    said = capsys.readouterr().err
    assert code == 1
    assert "hip" in said
    assert "Check" in said


def test_two_fabrics_whose_names_make_one_file_name_keep_their_files_apart() -> None:
    text = job_text(rectangle("front", "single", "20", "10"), OPEN)
    second = text[text.index("[[garments]]") : text.index("[fabrics.cloth]")].replace('"it"\nstyle', '"too"\nstyle')
    text = text.replace("[fabrics.cloth]", second.replace('fabric = "cloth"', 'fabric = "Clo/th"') + "[fabrics.cloth]")
    text = text.replace('fabric = "cloth"', 'fabric = "clo-th"', 1).replace("[fabrics.cloth]", '[fabrics."clo-th"]')
    text = text.replace("[write]", f'[fabrics."Clo/th"]\n{OPEN}\n[write]')
    code, manifest = make(text)
    assert code == 0
    paths = [file["path"] for file in manifest["files"]]
    assert len({path.casefold() for path in paths}) == len(paths) == 4  # of each the drawing and the marker itself
    for file in manifest["files"]:
        assert hashlib.sha256(Path("out", file["path"]).read_bytes()).hexdigest() == file["sha256"]


def test_a_fabric_with_a_very_long_name_still_gets_its_file() -> None:
    text = job_text(rectangle("front", "single", "20", "10"), OPEN)
    code, manifest = make(
        text.replace('"cloth"', f'"{"w" * 300}"').replace("[fabrics.cloth]", f'[fabrics."{"w" * 300}"]')
    )
    assert code == 0
    assert Path("out", manifest["files"][0]["path"]).exists()


def test_an_order_of_a_hundred_thousand_is_taken_for_a_slip(capsys: pytest.CaptureFixture[str]) -> None:
    code, _ = make(job_text(rectangle("front", "pair", "20", "10"), OPEN, copies=100_000))
    assert code == 1
    assert "more than 3000 pieces" in capsys.readouterr().err


def test_empty_names_are_refused(capsys: pytest.CaptureFixture[str]) -> None:
    code, _ = make(job_text(rectangle("", "pair", "20", "10"), OPEN))
    assert code == 1
    assert "it is empty" in capsys.readouterr().err
    code, _ = make(job_text(rectangle("a", "pair", "20", "10"), OPEN).replace("[fabrics.cloth]", '[fabrics.""]'))
    assert code == 1
    assert "fabrics: one of them has no name" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("cloth", "facts"),
    [
        (
            OPEN,
            ["face up", "no nap", "shrinkage not tested", "Usable width 60 in of the narrowest roll", "spread open"],
        ),
        (
            'width = "58 in"\nspread = "folded"\nnap = "one-way"\nshrinkage = { warp = "3 %", weft = "2 %" }',
            [
                "right sides together",
                "nap one way",
                "shrinkage 3.0% along, 2.0% across",
                "Usable width 29 in",
                "folded",
            ],
        ),
    ],
)
def test_the_facts_that_spoil_cloth_when_forgotten_stand_on_the_sheets(cloth: str, facts: list[str]) -> None:
    write = 'files = ["tiles-pdf", "report-html"]\npaper = "A4"'
    code, _ = make(job_text(rectangle("front", "pair", "20", "10"), cloth, write=write))
    assert code == 0
    sheets = pypdfium2.PdfDocument(Path("out/cloth-tiles.pdf").read_bytes())
    for sheet in sheets:
        words = " ".join(sheet.get_textpage().get_text_range().split())
        for fact in facts:
            assert fact in words


def test_no_such_file_and_wrong_usage(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["make", "nowhere.toml", "--out", "out"]) == 1
    assert "nowhere.toml" in capsys.readouterr().err
    assert main(["make", "job.toml", "--out", "out", "--speed", "9"]) == 2
    assert main(["make", "job.toml", "--out", "out", "--seconds", "-1"]) == 2


LISTENING = """
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell may have started us deaf to it
from cutroom.cli import main
sys.exit(main(sys.argv[1:]))
"""


def start_long_job() -> tuple[subprocess.Popen[bytes], int]:
    """A process that lays the sample for a minute, its standard error a terminal, and our end of that."""
    ours, theirs = pty.openpty()
    command = [sys.executable, "-c", LISTENING, "make", str(BLOUSES), "--out", "out", "--seconds", "60"]
    environment = os.environ | {"PYTHONPATH": str(SAMPLES.parent), "TERM": "xterm"}
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=theirs, env=environment)
    os.close(theirs)
    return process, ours


def read_until(terminal: int, words: bytes, seconds: float = 60.0) -> bytes:
    """What a terminal shows until the words stand there, or it falls silent for good."""
    shown = b""
    end = time.monotonic() + seconds
    while words not in shown and time.monotonic() < end:
        if select.select([terminal], [], [], 0.2)[0]:
            try:
                shown += os.read(terminal, 65536)
            except OSError:  # the other end is closed
                break
    return shown


def test_ctrl_c_keeps_the_best_marker_and_writes_it() -> None:
    process, terminal = start_long_job()
    assert b"best" in read_until(terminal, b"best")  # the progress bar tells of a first complete marker
    process.send_signal(signal.SIGINT)
    rest = read_until(terminal, b"never said")
    out, _ = process.communicate(timeout=60)
    os.close(terminal)
    assert process.returncode == 130, rest.decode(errors="replace")
    assert b"Traceback" not in rest
    assert b"best marker so far was written" in out
    manifest = json.loads(Path("out/manifest.json").read_text(encoding="utf-8"))
    assert len(manifest["markers"][0]["pieces"]) == 16
    assert all(row["passed"] for row in manifest["proof"])


def test_ctrl_c_while_files_are_written_waits_for_them() -> None:
    with put_off() as pressed:
        signal.raise_signal(signal.SIGINT)
        signal.raise_signal(signal.SIGINT)
    assert pressed.times in {0, 2}  # 0 where the tests themselves are deaf to it


def test_a_killed_run_leaves_no_half_file() -> None:
    process, terminal = start_long_job()
    read_until(terminal, b"laying")
    process.kill()
    process.communicate(timeout=20)
    os.close(terminal)
    assert not Path("out").exists() or not [file for file in Path("out").iterdir() if not file.name.endswith(".part")]
