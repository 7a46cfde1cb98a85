"""A machine is measured by its calibration plot; what is stored puts every later file right, and the proof knows it."""

import re
from pathlib import Path

import numpy as np
import pytest

from cutroom.cli import main
from cutroom.job.calibrating import read_machine
from cutroom.model.cutter import Language, ToolKind
from cutroom.model.profile import Plotter
from cutroom.proof.read_hpgl import run_of
from cutroom.read.cutter import list_cutters, read_cutter
from cutroom.read.profile import list_plotters, read_plotter
from tests.jobs import job_text, make, rectangle

FABRIC = 'width = 80\nspread = "open"\nface = "up"\nnap = "none"\nshrinkage = "not tested"\n'


@pytest.fixture(autouse=True)
def own_profiles(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CUTROOM_PROFILES", str(tmp_path / "own"))


def runs_of(path: Path) -> list[np.ndarray[tuple[int, int], np.dtype[np.float64]]]:
    return [np.array(points) / 40 for _, _, points in run_of(path.read_text("latin-1"), encoded=True).runs]


def bars(path: Path) -> tuple[float, float]:
    """Lengths of the longest straight lines along and across."""
    lines = [run for run in runs_of(path) if len(run) == 2]
    spans = np.array([np.ptp(line, axis=0) for line in lines])
    return float(spans[spans[:, 1] < 1e-9, 0].max()), float(spans[spans[:, 0] < 1e-9, 1].max())


@pytest.mark.parametrize("name", [*list_plotters(), *list_cutters()])
def test_every_machine_has_a_calibration_plot(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["profile", "check", name, "--out", "check"]) == 0
    (path,) = Path("check").iterdir()
    assert path.stat().st_size > 1000
    said = capsys.readouterr().out
    assert "Measure the bar along" in said
    assert "First run" in said
    tools = {tool.kind for tool in read_cutter(name).tools} if name in list_cutters() else set()
    for_any = name in list_cutters() and read_cutter(name).language is Language.DXF
    assert ("Never PVC, vinyl or unknown cloth" in said) == (ToolKind.LASER in tools or for_any)
    assert ("Blade: " in said) == (bool(tools & {ToolKind.DRAG_KNIFE, ToolKind.TANGENTIAL_KNIFE}) or for_any)


def test_bars_ticks_diagonals_and_marks_are_there() -> None:
    main(["profile", "check", "roll-pen-plotter", "--out", "check"])
    path = Path("check/roll-pen-plotter-check.plt")
    assert bars(path) == (1000.0, 1000.0)
    runs = runs_of(path)
    assert np.array_equal(runs[0], runs[-4]), "the repeat marks are drawn first and last"
    sloping = [run for run in runs if len(run) == 2 and np.ptp(run, axis=0).min() > 100]
    lengths = [float(np.hypot(*(run[1] - run[0]))) for run in sloping]
    assert lengths == pytest.approx([500 * 2**0.5] * 2, abs=0.05), "two diagonals of one length"


def test_what_was_measured_puts_later_files_right() -> None:
    name = "roll-pen-plotter"
    assert main(["profile", "correct", name, "--along", "998mm", "--across", "1005mm"]) == 0
    plotter = read_plotter(name)
    assert plotter.correction == pytest.approx((1000 / 998, 1000 / 1005), abs=1e-6)
    assert main(["profile", "check", name, "--out", "check"]) == 0
    along, across = bars(Path(f"check/{name}-check.plt"))
    assert (along * 0.998, across * 1.005) == pytest.approx((1000, 1000), abs=0.03), "as the machine will draw them"
    write = f'files = ["marker-hpgl", "marker-json"]\nplotter = "{name}"'
    code, manifest = make(job_text(rectangle("it", "single", "50 cm", "30 cm"), FABRIC, unit="cm", write=write))
    assert code == 0
    assert manifest["proof"][0]["passed"]
    found = max(float(np.ptp(run[:, 0])) for run in runs_of(Path("out", manifest["files"][0]["path"])))
    assert found * 0.998 >= 500
    assert main(["proof", "out"]) == 0
    main(["profile", "correct", name, "--along", "1001mm"])
    twice = read_plotter(name).correction
    assert twice == pytest.approx((1000 / 998 * 1000 / 1001, 1000 / 1005), abs=1e-5), "measured again, put right again"
    assert main(["profile", "correct", name, "--forget"]) == 0
    assert read_plotter(name).correction == (1.0, 1.0)
    assert main(["proof", "out"]) == 0, "the folder remembers what it was written for"


def test_a_cutter_is_put_right_too() -> None:
    main(["profile", "correct", "gantry-laser", "--along", "1003 mm"])
    assert read_cutter("gantry-laser").correction[0] != 1.0
    write = 'files = ["cut-gcode"]\ncutters = ["gantry-laser"]'
    code, manifest = make(job_text(rectangle("it", "single", "20 cm", "30 cm"), FABRIC, unit="cm", write=write))
    assert code == 0
    text = Path("out", manifest["files"][0]["path"]).read_text()
    reach = [float(x) for x in re.findall(r"X(-?[\d.]+)", text)]
    factor = read_cutter("gantry-laser").correction[0]
    assert max(reach) - min(x for x in reach if x > 5) == pytest.approx((200 + 0.3) * factor, abs=2.1)


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["roll-pen-plotter", "--along", "39in", "--across", "1000"], 1, "unit"),
        (["roll-pen-plotter", "--along", "500mm"], 1, "the bar along should be 1000 mm"),
        (["roll-pen-plotter"], 2, "Nothing was measured"),
        (["loom", "--along", "1000mm"], 1, 'there is no machine "loom"'),
    ],
)
def test_bad_measures_are_refused(words: list[str], code: int, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["profile", "correct", *words]) == code
    assert said in capsys.readouterr().err


def test_corrections_edited_by_hand_are_judged(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own = tmp_path / "own"
    own.mkdir()
    own.joinpath("corrections.toml").write_text('["roll-pen-plotter"]\nalong = 3\n')
    assert main(["profile", "check", "roll-pen-plotter"]) == 1
    assert "not two numbers between 0.9 and 1.1" in capsys.readouterr().err


def test_a_machine_of_ones_own_by_its_path(tmp_path: Path) -> None:
    shipped = Path(__file__).parents[2] / "profiles" / "plotters" / "roll-pen-plotter.toml"
    mine = tmp_path / "mine.toml"
    mine.write_text(shipped.read_text())
    assert isinstance(read_machine(str(mine)), Plotter)
    assert main(["profile", "check", str(mine), "--out", "check"]) == 0
    assert Path("check/mine-check.plt").is_file()
