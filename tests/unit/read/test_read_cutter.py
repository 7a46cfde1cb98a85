"""Profiles of cutters: those that ship, one's own, and wrong ones refused with their line."""

from pathlib import Path

import pytest

from cutroom.errors import CutroomError, FaultsError
from cutroom.model.cutter import Language, ToolKind
from cutroom.model.plot import Role
from cutroom.read.cutter import list_cutters, read_cutter
from cutroom.read.profile import list_plotters, read_plotter
from cutroom.read.profile_files import line_of, list_profiles

GOOD = """unit = "mm"
language = "iso 6983"
length = 1300
width = 900

[tools.mark]
kind = "pen"
does = ["seam"]
down = ["M3"]
up = ["M5"]

[tools.knife]
kind = "drag knife"
does = ["cut", "cutout", "notch", "drill"]
offset = 0.25
down = ["M14"]
up = ["M15"]
"""


@pytest.mark.parametrize("name", list_cutters())
def test_every_cutter_that_ships_can_be_read(name: str) -> None:
    cutter = read_cutter(name)
    assert cutter.name == name
    assert cutter.title
    assert {Role.CUT, Role.CUTOUT} <= {role for tool in cutter.tools for role in tool.roles}


def test_all_kinds_of_machine_are_there() -> None:
    cutters = [read_cutter(name) for name in list_cutters()]
    assert {cutter.language for cutter in cutters} == set(Language)
    assert {tool.kind for cutter in cutters for tool in cutter.tools} == set(ToolKind)


@pytest.mark.parametrize("name", list_plotters())
def test_every_plotter_that_ships_says_its_speeds(name: str) -> None:
    assert read_plotter(name).motion is not None


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('unit = "mm"', "", "unit: it is missing"),
        ('"iso 6983"', '"klingon"', 'language: there is no language "klingon"'),
        ("length = 1300", "length = -3", "length: -3 is not more than nothing. Write a length above 0 (line 3)"),
        ("width = 900", "", "width: it is missing"),
        ("offset = 0.25", "", "tools.knife.offset: how far the tip trails behind the pivot is missing"),
        ("offset = 0.25", "offset = 9", "(line 15)"),
        (
            "offset = 0.25",
            "offset = 0.25\nkerf = 0.2",
            "kerf: a drag knife has none. Leave it out (line 16)",
        ),
        ('"drag knife"', '"spoon"', 'tools.knife.kind: there is no word for it "spoon"'),
        ('does = ["seam"]', 'does = ["cut"]', "tools.knife.does: cut is done by mark already"),
        ('does = ["seam"]', 'does = ["lace"]', 'tools.mark.does: there is no kind of line "lace"'),
        ('"cut", "cutout"', '"cut", "seam"', "it would cut seam into the piece"),
        ('"cut", "cutout",', '"cut",', "tools: no tool does cutout"),
        ('down = ["M14"]', 'down = ["go down"]', 'tools.knife.down: "go down" is no instruction of iso 6983'),
        ('down = ["M14"]', "", "tools.knife.down: it is missing: the tool would stay as it is"),
        ('down = ["M14"]', 'down = ["M14 M30"]', "tools.knife.down: M2 and M30 end the program"),
        ("width = 900", 'width = 900\nstart = ["M2"]', "start: M2 and M30 end the program"),
        ("width = 900", 'width = 900\nend = ["M02", "G0 X0 Y0"]', "end: M2 and M30 end the program: what follows is"),
        ("width = 900", "width = 900\ncolour = 3", "colour: there is no such key here"),
        ("width = 900", "width = 900\nturned = 45", "turned: 45 is not a number of quarter turns"),
        (
            "width = 900",
            'width = 900\nshared_lines = "twice"',
            'shared_lines: there is no way to cut shared lines "twice"',
        ),
        ("width = 900", "width = 900\ntolerance = 1", "tolerance: 1 mm is too fine or too coarse"),
        ("width = 900", 'width = 900\nturn_axis = "Q"', 'turn_axis: "Q" is no axis that turns'),
        ("offset = 0.25", 'offset = 0.25\nlayer = "cut line"', '"cut line" is no name of a layer'),
        ("offset = 0.25", "offset = 0.25\nspeed = 0", "tools.knife.speed: 0 is not above 0"),
        ("width = 900", "width = 900\n[motion]\nspeed = 40", "motion.travel_speed: it is missing"),
    ],
)
def test_a_wrong_profile_is_refused_with_its_key(old: str, new: str, said: str) -> None:
    path = Path("mine.toml")
    assert old in GOOD
    path.write_text(GOOD.replace(old, new))
    with pytest.raises(CutroomError) as caught:
        read_cutter("./mine.toml")
    assert said in str(caught.value)


DXF = """unit = "mm"
language = "dxf"
length = 1300
width = 900
splines = true
version = "R2000"

[tools.cut]
kind = "pen"
does = ["cut", "cutout"]
"""


def test_splines_take_the_place_of_arcs() -> None:
    Path("mine.toml").write_text(DXF)
    assert read_cutter("./mine.toml").splines
    assert not read_cutter("./mine.toml").arcs


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('version = "R2000"', "", "splines: a DXF R12 holds no splines."),
        ('version = "R2000"', 'version = "R12"', "splines: a DXF R12 holds no splines."),
        ('version = "R2000"', 'version = "R2000"\narcs = true', "splines: a curve is written as arcs or as a spline"),
        ('language = "dxf"', 'language = "hpgl"', "splines: only a DXF holds splines."),
    ],
)
def test_splines_where_none_can_be_are_refused_with_their_line(old: str, new: str, said: str) -> None:
    Path("mine.toml").write_text(DXF.replace(old, new))
    with pytest.raises(CutroomError) as caught:
        read_cutter("./mine.toml")
    assert said in str(caught.value)
    assert "(line 5)" in str(caught.value)


SVG = """unit = "mm"
language = "svg"
length = 1300
width = 900

[tools.mark]
kind = "pen"
does = ["seam"]
colour = "#2F6F8F"

[tools.beam]
kind = "laser"
does = ["cut", "cutout"]
kerf = 0.3
colour = "#c2571a"
"""


def test_tools_are_known_by_their_colours() -> None:
    Path("mine.toml").write_text(SVG)
    assert [tool.rgb for tool in read_cutter("./mine.toml").tools] == ["#2f6f8f", "#c2571a"]


@pytest.mark.parametrize(
    ("old", "new", "said", "line"),
    [
        ('"#c2571a"', '"#2f6f8F"', "tools.beam.colour: #2f6f8f is the colour of mark already", 15),
        ('colour = "#c2571a"', "", "tools.beam.colour: it is missing: the machine tells tools by their colour", 11),
        ('"#c2571a"', '"red"', 'tools.beam.colour: "red" is not a colour', 15),
        ('"#c2571a"', "1", "tools.beam.colour: 1 is not a colour", 15),
        ('"#c2571a"', "true", "tools.beam.colour: true is not the number of a colour, or red, green and blue", 15),
        ("kerf = 0.3", 'kerf = 0.3\ndown = ["M3"]', "tools.beam.down: an SVG holds no instructions", 15),
        ("width = 900", 'width = 900\nend = ["M5"]', "end: an SVG holds no instructions", 5),
        ("width = 900", "width = 900\ninches = true", "inches: an SVG for a cutter is in true millimetres", 5),
        ("width = 900", "width = 900\nsplines = true", "splines: only a DXF holds splines", 5),
        ('language = "svg"', 'language = "dxf"', 'tools.mark.colour: "#2F6F8F" is not the number of a colour', 9),
    ],
)
def test_colours_that_name_no_tool_are_refused_with_their_line(old: str, new: str, said: str, line: int) -> None:
    assert old in SVG
    Path("mine.toml").write_text(SVG.replace(old, new))
    with pytest.raises(CutroomError) as caught:
        read_cutter("./mine.toml")
    assert said in str(caught.value)
    assert f"(line {line})" in str(caught.value)


def test_two_tools_that_cannot_be_told_apart_are_refused() -> None:
    """The proof must know from the file alone which tool is down."""
    Path("mine.toml").write_text(GOOD.replace("M14", "M3").replace("M15", "M5"))
    with pytest.raises(CutroomError, match="cannot be told apart"):
        read_cutter("./mine.toml")


def test_all_faults_are_told_together() -> None:
    Path("mine.toml").write_text('unit = "mm"\n[tools.knife]\n')
    with pytest.raises(FaultsError) as caught:
        read_cutter("./mine.toml")
    assert len(caught.value.faults) >= 5


def test_ones_own_folder_adds_and_comes_first(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    folder = tmp_path / "own" / "cutters"
    folder.mkdir(parents=True)
    folder.joinpath("my-table.toml").write_text(GOOD)
    folder.joinpath("gantry-laser.toml").write_text(GOOD)
    monkeypatch.setenv("CUTROOM_PROFILES", str(tmp_path / "own"))
    assert "my-table" in list_profiles("cutters")
    assert read_cutter("my-table").length == 1300
    assert read_cutter("gantry-laser").tools[1].kind is ToolKind.DRAG_KNIFE


def test_without_a_variable_the_folder_is_in_the_users_configuration(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.delenv("CUTROOM_PROFILES")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    folder = tmp_path / "cutroom" / "profiles" / "cutters"
    folder.mkdir(parents=True)
    folder.joinpath("mine.toml").write_text(GOOD)
    assert read_cutter("mine").name == "mine"


def test_lines_of_keys_are_found() -> None:
    rows = GOOD.splitlines()
    assert line_of(rows, "length") == 3
    assert line_of(rows, "tools.knife.offset") == 15
    assert line_of(rows, "tools.knife.nothing") == 12, "where its table begins"
    assert line_of(rows, "nothing") is None
