"""Machines and papers by name."""

from pathlib import Path

import pytest

from cutroom.errors import CutroomError, FaultsError, ProfileError
from cutroom.model.plot import Role
from cutroom.read.profile import list_plotters, read_paper, read_plotter
from tests.jobs import PLOTTER


@pytest.mark.parametrize("name", list_plotters())
def test_every_profile_that_ships_can_be_read_and_said_by_its_machine(name: str) -> None:
    plotter = read_plotter(name)
    assert plotter.name == name
    assert plotter.title
    assert set(plotter.pens) == set(Role)
    assert max(plotter.width, plotter.frame) * 40 <= plotter.largest  # 0.025 mm to the plotter unit (HP-GL)


def test_the_three_kinds_of_machine_are_there() -> None:
    assert {"roll-pen-plotter", "old-flat-pen-plotter", "wide-ink-plotter"} <= set(list_plotters())


def test_an_old_machine_takes_no_frame_above_819_175_mm() -> None:
    old = read_plotter("old-flat-pen-plotter")
    assert old.largest == 32767  # 16-bit coordinates of the first HP-GL machines, from memory
    assert old.frame <= 819.175
    assert read_plotter("roll-pen-plotter").largest == 8388607  # 2**23 - 1, HP-GL/2, from memory


def test_a_profile_of_ones_own_is_read_by_its_path(tmp_path: Path) -> None:
    path = tmp_path / "ours.toml"
    path.write_text(PLOTTER, encoding="utf-8")
    plotter = read_plotter(path)
    assert (plotter.name, plotter.title, plotter.width, plotter.frame) == ("ours", "ours", 800.0, 800.0)
    assert (plotter.pens[Role.LABEL], plotter.pens[Role.FABRIC]) == (3, 0)
    assert (plotter.largest, plotter.between, plotter.end) == (32767, "PG;", "PU;SP0;")
    assert plotter.pen_speed is None


def test_an_unknown_plotter_lists_those_there_are() -> None:
    with pytest.raises(ProfileError, match=r"there is no plotter .loom.* copy-shop-ink-plotter, old-flat-pen-plotter"):
        read_plotter("loom")
    with pytest.raises(ProfileError, match='Write "wide-ink-plotter" if that is meant'):
        read_plotter("wide-ink-ploter")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('unit = "mm"', "", "unit: it is missing"),
        ("width = 800", "", "width: it is missing: a marker wider than the machine draws is spoilt."),
        ("frame = 800", "", "frame: it is missing"),
        ("width = 800", "width = 0", "width: 0 is not more than nothing."),
        ("width = 800", 'width = "90 x"', "width: 'x' is not a unit of length."),
        ("frame = 800", "frame = 820", "frame: 820 mm is 32800 plotter units, and it takes no more than 32767."),
        ("width = 800", "width = 800\nspeed = 3", "speed: there is no such key here."),
        ("width = 800", "width = 800\npen_speed = 0", "pen_speed: 0 is not a speed in cm/s."),
        ("width = 800", 'width = 800\nend = "PU"', 'end: "PU" is not a row of HPGL instructions.'),
        ("width = 800", 'width = 800\nletters = "neat"', 'letters: there is no kind of letters "neat".'),
        ("sheet = 4", 'sheet = 4\n[colours]\n1 = "red"', 'colours.1: "red" is not a colour.'),
        ("sheet = 4", 'sheet = 4\n[colours]\npen = "#000000"', 'colours.pen: "pen" is not the number of a pen.'),
        ("cut = 1", "cut = 0", "pens.cut: the cut lines have no pen."),
        ("cut = 1", "cut = -1", "pens.cut: -1 is not the number of a pen."),
        ("cut = 1", "", "pens.cut: it is missing"),
        ("sheet = 4", "sheet = 4\nhem = 1", "pens.hem: there is no such key here."),
    ],
)
def test_a_wrong_value_is_refused_with_its_key(tmp_path: Path, old: str, new: str, said: str) -> None:
    path = tmp_path / "ours.toml"
    path.write_text(PLOTTER.replace(old, new), encoding="utf-8")
    with pytest.raises(ProfileError) as caught:
        read_plotter(path)
    assert f"{path}: {said}" in str(caught.value)


def test_all_wrong_values_are_refused_together(tmp_path: Path) -> None:
    path = tmp_path / "ours.toml"
    path.write_text('unit = "mm"\nwidth = 0\n', encoding="utf-8")
    with pytest.raises(FaultsError) as caught:
        read_plotter(path)
    assert len(caught.value.faults) == 2 + len(set(Role) - {Role.CUTOUT})


def test_a_profile_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(CutroomError, match="there is no such file"):
        read_plotter(tmp_path / "none.toml")


@pytest.mark.parametrize(
    ("name", "size"),
    [
        ("A4", (210, 297)),  # ISO 216
        ("a3", (297, 420)),
        ("A0", (841, 1189)),
        ("Letter", (215.9, 279.4)),  # ANSI/ASME Y14.1 size A, 8.5 by 11 in
        ("legal", (215.9, 355.6)),  # 8.5 by 14 in
        ("tabloid", (279.4, 431.8)),
    ],
)
def test_papers_have_their_standard_size(name: str, size: tuple[float, float]) -> None:
    paper = read_paper(name)
    assert (paper.width, paper.height) == pytest.approx(size, abs=1e-9)


def test_an_unknown_paper_lists_those_there_are() -> None:
    with pytest.raises(ProfileError, match=r'there is no paper "B5"\. Write one of A0, A1, A2, A3, A4, Letter'):
        read_paper("B5")
