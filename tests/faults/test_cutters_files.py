"""One planted fault a case in the files of cutters: the proof names it, and refuses the file."""

import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from cutroom.model.cutter import Cutter, Language
from cutroom.model.fabric import Fabric
from cutroom.model.marker import Marker
from cutroom.model.piece import NamedLine
from cutroom.model.plot import Role
from cutroom.model.toolpath import Toolpath
from cutroom.prepare.ready import prepare
from tests.builders import a_marker, a_placement
from tests.cutters import MARKER, SHIPPED, a_cutter, a_finely_curved_marker, proved, with_tool, written
from tests.drawing import a_polygon_piece
from tests.planting import planted
from tests.tiles import tiled

Paths = tuple[Toolpath, ...]
FINE = a_finely_curved_marker()


def told(cutter: Cutter, data: bytes) -> str:
    found = proved(cutter, data)
    assert found.refused
    return "\n".join(str(finding) for finding in found.findings)


def told_after(name: str, old: bytes, new: bytes) -> str:
    """What is told of a machine's file in which something was replaced."""
    cutter = a_cutter(name)
    return told(cutter, planted(written(cutter), old, new))


def first(paths: Paths, role: Role) -> int:
    return next(index for index, path in enumerate(paths) if path.role is role)


@pytest.mark.parametrize("name", SHIPPED)
def test_a_machine_one_percent_out_is_out_of_scale(name: str) -> None:
    cutter = a_cutter(name)
    text = told(cutter, written(replace(cutter, correction=(1.01, 1.01))))
    assert "out of scale" in text or "times in x" in text or "moved" in text


@pytest.mark.parametrize("name", SHIPPED)
def test_a_missing_notch_is_named(name: str) -> None:
    def without(paths: Paths) -> Paths:
        index = first(paths, Role.NOTCH)
        return paths[:index] + paths[index + 1 :]

    assert "missing: notch" in told(a_cutter(name), written(a_cutter(name), change=without))


@pytest.mark.parametrize("name", SHIPPED)
def test_a_line_too_many_is_told(name: str) -> None:
    def more(paths: Paths) -> Paths:
        path = paths[first(paths, Role.NOTCH)]
        extra = replace(path, points=np.array([(60.0, 60.0), (70.0, 60.0)]), bulges=np.zeros(1))
        index = first(paths, Role.CUT)
        return (*paths[:index], extra, *paths[index:])

    assert "extra" in told(a_cutter(name), written(a_cutter(name), change=more))


@pytest.mark.parametrize("name", SHIPPED)
def test_a_piece_cut_with_the_wrong_hand_is_mirrored(name: str) -> None:
    placements = [*MARKER.placements]
    flipped = a_placement(MARKER.pieces[0], 12.0, 288.0 - 140.0, flipped=False)
    other = a_marker(placements=[placements[0], flipped, placements[2]])
    cutter = a_cutter(name)
    assert "mirror" in told(cutter, written(cutter, other))


@pytest.mark.parametrize("name", SHIPPED)
def test_an_outline_cut_before_its_notches_is_told(name: str) -> None:
    """Of one tool the notch comes late; where notches have a tool of their own, that tool does."""

    def late(paths: Paths) -> Paths:
        tool = paths[first(paths, Role.NOTCH)].tool
        if tool != paths[first(paths, Role.CUT)].tool:
            return tuple(sorted(paths, key=lambda path: path.tool == tool))
        index = first(paths, Role.NOTCH)
        last = max(i for i, path in enumerate(paths) if path.tool == tool)
        moved = paths[index]
        return (*paths[:index], *paths[index + 1 : last + 1], moved, *paths[last + 1 :])

    text = told(a_cutter(name), written(a_cutter(name), change=late))
    wanted = "its outline is cut before all that lies inside it"
    if name == "drag-knife-roll-cutter":  # its blade then also starts the notch as the outline left it
        wanted += "|missing: notch|a notch is moved"
    assert re.search(wanted, text)


@pytest.mark.parametrize("name", ["exchange-dxf", "gantry-laser-svg"])
def test_tools_by_the_wrong_turn_are_told(name: str) -> None:
    cutter = a_cutter(name)
    text = told(cutter, written(cutter, change=lambda paths: (*paths[-1:], *paths[:-1])))
    assert "its tools come by turns" in text


@pytest.mark.parametrize("name", SHIPPED)
@pytest.mark.parametrize("share", [0.3, 0.7, 0.98])
def test_a_file_that_is_cut_off_is_refused(name: str, share: float) -> None:
    data = written(a_cutter(name))
    told(a_cutter(name), data[: int(len(data) * share)])


@pytest.mark.parametrize("name", SHIPPED)
def test_bytes_of_another_language_are_refused(name: str) -> None:
    for data in (b"", b"\x00\xff" * 50, b"%PDF-1.6\n", b"hello\nworld\n"):
        told(a_cutter(name), data)


def test_a_beam_led_on_the_line_itself_leaves_a_small_piece() -> None:
    laser = a_cutter("gantry-laser")
    found = proved(laser, written(with_tool(laser, "beam", kerf=0.0)))
    assert found.refused
    assert any("cut line" in str(finding) for finding in found.findings)


def test_a_beam_led_within_the_line_is_refused() -> None:
    laser = a_cutter("gantry-laser")
    told(laser, written(with_tool(laser, "beam", kerf=0.6)))


@pytest.mark.parametrize("name", ["gantry-laser", "gantry-laser-svg"])
def test_a_beam_that_comes_from_afar_is_told(name: str) -> None:
    """Its way in lies in the waste only as far as the profile says; a longer one runs through what lies beside."""

    def from_afar(paths: Paths) -> Paths:
        index = first(paths, Role.CUT)
        points = paths[index].points.copy()
        points[0] += 20 * (points[0] - points[1])
        return (*paths[:index], replace(paths[index], points=points), *paths[index + 1 :])

    assert "cut line" in told(a_cutter(name), written(a_cutter(name), change=from_afar))


def with_cut_outs() -> Marker:
    """A piece with a window of 30 by 20 mm."""
    window = NamedLine("window", np.array([(120.0, 40.0), (150.0, 40.0), (150.0, 60.0), (120.0, 60.0)]))
    piece = a_polygon_piece([(0, 0), (200, 0), (200, 150), (0, 150)], 12.0, name="flap", cutouts=(window,))
    prepared = prepare(piece, garment="tent", size="one", fabric=Fabric("canvas", 300.0))
    return a_marker(pieces=(prepared,), placements=(a_placement(prepared, 20.0, 20.0),))


def led_in(paths: Paths, role: Role, start: Callable[[np.ndarray], np.ndarray]) -> Paths:
    """The first run of a role begun elsewhere, told from its two first points."""
    index = first(paths, role)
    points = paths[index].points.copy()
    points[0] = start(points[:2])
    return (*paths[:index], replace(paths[index], points=points), *paths[index + 1 :])


@pytest.mark.parametrize("name", ["gantry-laser", "gantry-laser-svg"])
def test_a_way_in_through_the_piece_itself_is_told(name: str) -> None:
    """It comes from the other side of the line: 2 mm less what the beam takes anyway."""
    cutter = a_cutter(name)
    data = written(cutter, change=lambda paths: led_in(paths, Role.CUT, lambda two: 2 * two[1] - two[0]))
    assert re.search(r"it is burnt 1\.\d\d mm deep by the way in of run \d+", told(cutter, data))


@pytest.mark.parametrize("role", [Role.DRILL, Role.CUTOUT])
def test_a_way_into_a_hole_from_outside_it_is_told(role: Role) -> None:
    cutter, marker = a_cutter("gantry-laser"), with_cut_outs() if role is Role.CUTOUT else MARKER
    assert not proved(cutter, written(cutter, marker), marker).refused
    data = written(cutter, marker, lambda paths: led_in(paths, role, lambda two: 2 * two[1] - two[0]))
    assert re.search(
        r"it is burnt \d\.\d\d mm deep by the way in", "\n".join(map(str, proved(cutter, data, marker).findings))
    )


@pytest.mark.parametrize("gap", [0.3, 0.6, 1.0, 2.0, 3.0])
@pytest.mark.parametrize("turned", [0, 90])
def test_ways_in_stay_in_the_waste_between_pieces_that_lie_close(gap: float, turned: int) -> None:
    """With 2 mm of waste and less beside it a beam comes in from nearer by; one that does not is told by the proof."""
    laser = replace(a_cutter("gantry-laser"), turned=turned)
    marker = tiled(3, 3, gap)
    assert proved(laser, written(laser, marker), marker).findings == ()
    straight = replace(laser, arcs=False)

    def all_from_2_mm(paths: Paths) -> Paths:
        made = []
        for path in paths:
            if path.role is Role.CUT and path.points.shape[0] > 4:
                along = path.points[2] - path.points[1]
                away = path.points[1] + 2 * np.array((along[1], -along[0])) / np.hypot(*along)
                path = replace(path, points=np.vstack([away, path.points[1:]]))
            made.append(path)
        return tuple(made)

    data = written(straight, marker, all_from_2_mm)
    assert proved(straight, data, marker).refused == (gap < 2.15)


def test_a_knife_led_as_a_pen_is_refused() -> None:
    cutter = with_tool(a_cutter("drag-knife-roll-cutter"), "knife", offset=0.75)
    told(cutter, written(with_tool(cutter, "knife", offset=0.0)))


def test_an_arc_the_wrong_way_round_is_refused() -> None:
    laser = a_cutter("gantry-laser")
    data = written(laser)
    assert b"G2 " in data
    told(laser, data.replace(b"G2 ", b"G3 ", 1))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (rb"G21", b"G20", "not the unit of the machine"),
        (rb"F2400", b"F4800", "runs at 80 mm/s, wanted 40 mm/s"),
        (rb"M5\nG0 X(\S+) Y(\S+)\nM3", rb"G0 X\1 Y\2", "a rapid move has the"),
        (rb"S600\n", b"S120\n", "the mark runs at 40 mm/s, wanted 150"),
        (rb"M5\nM9", b"M9", "rapid move has the beam down|not lifted"),
        (rb"G17 G40 G90 G94", b"G17 G40 G91 G94", "G91 is not one"),
        (rb"I(-?)([\d.]+) J", rb"I\g<1>99\2 J", "unlike distances"),
        (rb"\nM30\n", b"\n", "the program does not end"),
    ],
)
def test_faults_of_a_program(old: bytes, new: bytes, said: str) -> None:
    assert re.search(said, told_after("gantry-laser", old, new))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (rb"SP2;", b"SP3;", "takes tool 3"),
        (rb"FS3;", b"FS8;", "its force is not the 3"),
        (rb"VS20;", b"VS40;", "its speed is not the 20"),
        (rb"PD", b"PU", "missing"),
        (rb"PR;", b"", "missing|extra|beyond|goes from"),
        (rb"SP0;", b"", "not up and put away"),
    ],
)
def test_faults_of_hpgl(old: bytes, new: bytes, said: str) -> None:
    assert re.search(said, told_after("drag-knife-roll-cutter", old, new))


def test_one_digit_of_an_encoded_polyline() -> None:
    cutter = replace(a_cutter("drag-knife-roll-cutter"), form="encoded 7-bit")
    data = written(cutter)
    start = data.index(b"PE7") + len(b"PE7<=") + 9
    place = next(place for place in range(start, len(data)) if data[place] >= 95 > data[place - 1])  # not the least
    other = bytes([data[place] + 2])
    told(cutter, data[:place] + other + data[place + 1 :])


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (rb"AC1009", b"AC1015", "the version is AC1015"),
        (rb"UNITS MILLIMETRES", b"UNITS INCHES", "does not say UNITS MILLIMETRES"),
        (rb"8\nHOLES\n66", b"8\nOTHER\n66", "no tool of the machine has that layer"),
        (rb"VERTEX\n8\nCUT\n10\n(\d+)", rb"VERTEX\n8\nCUT\n10\n9\1", "missing|extra|moved"),
    ],
)
def test_faults_of_a_dxf(old: bytes, new: bytes, said: str) -> None:
    assert re.search(said, told_after("exchange-dxf", old, new))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (rb'stroke="#8a4b9a"', b'stroke="#8a4b9b"', "colour #8a4b9b: no tool of the machine has that colour"),
        (rb'stroke="#8a4b9a"', b'stroke="#2f6f8f"', "missing"),
        (rb'stroke="#8a4b9a"', b"", "colour none: no tool of the machine has that colour"),
        (rb'(<path d="[^"]*")', rb'\1 stroke="#c2571a"', "extra"),
        (rb'(<path d="[^"]*")', rb'\1 fill="#c2571a"', "filled with #c2571a"),
        (rb' fill="none"', b"", "filled with black"),
        (rb' stroke-width="0.01"', b"", "a line is 1 wide"),
        (rb'(<path d="[^"]*")', rb'\1 stroke-width="0.4"', "a line is 0.4 wide"),
        (rb'(<path d="[^"]*")', rb'\1 style="stroke:#c2571a"', '"style" of a <path> may change what is cut'),
        (rb'<g id="OUTLINE"', b'<g class="x" id="OUTLINE"', '"class" of a <g> may change what is cut'),
        (rb'<g id="OUTLINE"', b'<g transform="scale(1.01)" id="OUTLINE"', "an element is transformed"),
        (rb"<title>", b"<style>path{fill:red}</style><title>", "<style> is extra"),
        (rb"</svg>", b'<circle r="5"/></svg>', "<circle> is extra"),
        (rb'<path d="[^"]*"/>', b"", "missing"),
        (rb'(<path d="[^"]*"/>)', rb"\1\1", "drawn twice"),
        (rb'(OUTLINE(?:.|\n)*?<path d="M)(\d+)', rb"\g<1>1\2", "moved|missing|extra|goes from"),
        (rb" L(\d)", rb" L9\1", "moved|missing|extra|goes from"),
        (rb" L(\d)", rb" Q\1", "a path is damaged"),
        (rb" L(\d+)", rb" L\g<1>e999", "a path is damaged"),
        (rb'width="1300mm"', b'width="1313mm"', "the page is 1313.00 x 900.00 mm"),
        (rb'width="1300mm"', b'width="1300"', "not in mm"),
        (rb'width="1300mm"', b'width="0mm"', "not in mm, or it has no view box"),
        (rb'viewBox="0 0 1300 900"', b'viewBox="0 0 1300 909"', "its unit is 1.00000 mm in x and 0.99010 mm in y"),
        (rb'viewBox="0 0 1300 900"', b'viewBox="0 0 1313 909"', "out of scale"),
        (rb'viewBox="0 0 1300 900"', b'viewBox="5 0 1300 900"', "moved|missing"),
        (rb'viewBox="0 0 1300 900"', b'viewBox="0 0 inf 900"', "no view box"),
        (rb"<svg ", b'<?xml-stylesheet href="x.css"?><svg ', "takes its looks from elsewhere"),
        (rb"<svg ", b"<!DOCTYPE svg><svg ", "declares entities"),
    ],
)
def test_faults_of_an_svg(old: bytes, new: bytes, said: str) -> None:
    assert re.search(said, told_after("gantry-laser-svg", old, new))


ROUND = re.compile(rb"A([\d.]+),[\d.]+ 0 0 ([01]) ")


@pytest.mark.parametrize(
    "bend",
    [
        lambda radius, sweep: b"A%f,%f 0 0 %d " % (radius, radius, 1 - sweep),
        lambda radius, sweep: b"A%f,%f 0 1 %d " % (radius, radius, sweep),
        lambda radius, sweep: b"A%f,%f 0 0 %d " % (radius / 2, radius / 2, sweep),
        lambda radius, sweep: b"A%f,%f 0 0 %d " % (radius, radius * 1.1, sweep),
    ],
    ids=["the other way round", "the long way round", "a smaller circle", "an ellipse"],
)
def test_an_arc_that_bends_otherwise_is_told(bend: Callable[[float, int], bytes]) -> None:
    """The roundest arc of a cut line in the finely curved marker."""
    laser = a_cutter("gantry-laser-svg")
    data = written(laser, FINE)
    start = data.index(b"OUTLINE")
    arc = max(ROUND.finditer(data, start), key=lambda found: -abs(float(found[1]) - 60.0))
    other = data[: arc.start()] + bend(float(arc[1]), int(arc[2])) + data[arc.end() :]
    found = proved(laser, other, FINE)
    assert found.refused


def test_a_line_of_an_svg_moved_by_a_fifth_of_a_millimetre_is_told() -> None:
    def moved(paths: Paths) -> Paths:
        index = first(paths, Role.CUT)
        return (
            *paths[:index],
            replace(paths[index], points=np.add(paths[index].points, (0.2, 0.0))),
            *paths[index + 1 :],
        )

    cutter = a_cutter("gantry-laser-svg")
    assert "0.20" in told(cutter, written(cutter, change=moved))


def test_an_svg_written_otherwise_passes() -> None:
    """Relative, with H, V and Z, other units, nested groups, other capitals: the same lines."""
    cutter = a_cutter("exchange-dxf")
    tools = tuple(replace(t, rgb=rgb) for t, rgb in zip(cutter.tools, ("#aa0000", "#00aa00", "#0000aa"), strict=True))
    cutter = replace(cutter, language=Language.SVG, tools=tools, arcs=True)
    data = written(cutter)
    box = re.search(rb'viewBox="0 0 (\d+) (\d+)"', data)
    assert box is not None

    def ten_times(found: re.Match[bytes]) -> bytes:
        return b"%.2f" % (float(found[0]) * 10)

    def path(found: re.Match[bytes]) -> bytes:
        return re.sub(rb"\d+\.\d+", ten_times, found[0]).replace(b"L", b"\nL ").replace(b",", b" ")

    other = re.sub(rb'd="[^"]*"', path, data).replace(box[0], b'viewBox="0,0,%d0,%d0"' % (int(box[1]), int(box[2])))
    other = other.replace(b'stroke-width="0.01"', b'stroke-width="0.1"').replace(b"#00aa00", b"#00AA00")
    other = other.replace(b"<path", b"<g><path").replace(b"/>", b"/></g>")
    assert proved(cutter, data).findings == ()
    assert proved(cutter, other).findings == ()


SPLINES = replace(a_cutter("exchange-dxf"), version="R2000", arcs=False, splines=True, tolerance=0.02)


@pytest.mark.parametrize("inches", [False, True])
@pytest.mark.parametrize("tolerance", [0.005, 0.02, 0.05])
def test_a_dxf_of_splines_passes(tolerance: float, inches: bool) -> None:
    cutter = replace(SPLINES, tolerance=tolerance, inches=inches)
    data = written(cutter, FINE)
    assert (data.count(b"\nSPLINE\n") >= 2) == (tolerance >= 0.02)  # its bits leave the curve by up to 0.02 mm
    found = proved(cutter, data, FINE)
    assert not found.refused, found.findings
    assert found.deviation <= tolerance + 0.005


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (rb"(AcDbSpline(?:\n.*)+?\n10\n)(\d)", rb"\g<1>9\2", "missing|extra|moved|beyond|goes from"),
        (rb"(AcDbSpline(?:\n.*){8}\n71\n)3", rb"\g<1>2", "a SPLINE is damaged, or is no plain line"),
        (rb"(AcDbSpline(?:\n.*){6}\n70\n)8", rb"\g<1>2", "a SPLINE is damaged"),
        (rb"(AcDbSpline(?:\n.*)+?\n73\n)(\d)", rb"\g<1>\g<2>1", "a SPLINE is damaged"),
        (rb"(AcDbSpline(?:\n.*)+?\n40\n0.0000)00", rb"\g<1>90", "a SPLINE is damaged"),
        (rb"(AcDbSpline(?:\n.*)+?\n30\n)0.0", rb"\g<1>5.0", "a SPLINE is damaged"),
        (rb"(AcDbSpline(?:\n.*)+?)\n10\n", rb"\g<1>\n41\n2.0\n10\n", "a SPLINE is damaged"),
        (rb"(AcDbSpline(?:\n.*)+?)\n10\n[\d.]+\n20\n[\d.]+\n30\n0.0", rb"\g<1>", "a SPLINE is damaged"),
    ],
)
def test_faults_of_a_spline(old: bytes, new: bytes, said: str) -> None:
    found = proved(SPLINES, planted(written(SPLINES, FINE), old, new), FINE)
    assert found.refused
    assert re.search(said, "\n".join(map(str, found.findings)))


def test_one_point_of_a_spline_that_is_off_by_a_fifth_of_a_millimetre_is_told() -> None:
    """Of the cut line of a piece, a control point in the middle of its curve."""
    data = written(SPLINES, FINE).decode()
    start = data.index("AcDbSpline", data.index("\nCUT\n100\nAcDbSpline"))
    places = [found.start(1) for found in re.finditer(r"\n10\n(\d)", data[start : data.index("\nSPLINE", start)])]
    place = start + places[4]
    number = re.match(r"[\d.]+", data[place:])
    assert number is not None
    moved = f"{float(number[0]) + 0.4:.5f}"
    found = proved(SPLINES, (data[:place] + moved + data[place + len(number[0]) :]).encode(), FINE)
    assert found.refused
    assert any("cut line" in str(finding) for finding in found.findings)


def test_splines_that_nobody_asked_for_are_refused() -> None:
    plain = replace(SPLINES, splines=False)
    found = proved(plain, written(SPLINES, FINE), FINE)
    assert any("a SPLINE is damaged, or is no plain line" in str(finding) for finding in found.findings)


def once(name: str) -> tuple[Cutter, Marker]:
    """A machine that cuts shared lines once, and pieces that share them."""
    cutter = replace(a_cutter(name), shared_once=True)
    kerf = max(tool.kerf for tool in cutter.tools)
    return cutter, tiled(3, 3, kerf)


def open_runs(paths: Paths) -> list[int]:
    """Runs of outlines that do not come back to where they began."""
    cut = [index for index, path in enumerate(paths) if path.role is Role.CUT]
    return [index for index in cut if np.hypot(*(paths[index].points[0] - paths[index].points[-1])) > 20.0]


def told_once(name: str, change: Callable[[Paths], Paths]) -> str:
    cutter, marker = once(name)
    found = proved(cutter, written(cutter, marker, change), marker)
    assert found.refused
    return "\n".join(str(finding) for finding in found.findings)


@pytest.mark.parametrize("name", SHIPPED)
def test_sound_files_with_shared_lines_pass(name: str) -> None:
    cutter, marker = once(name)
    assert proved(cutter, written(cutter, marker), marker).findings == ()
    turned = replace(cutter, turned=90, length=3000.0, width=3000.0, correction=(1.01, 0.985))
    assert proved(turned, written(turned, marker), marker).findings == ()


@pytest.mark.parametrize("name", SHIPPED)
def test_a_shared_stretch_that_is_not_cut_is_told(name: str) -> None:
    def without(paths: Paths) -> Paths:
        index = open_runs(paths)[-1]
        return paths[:index] + paths[index + 1 :]

    assert "not whole: cut line" in told_once(name, without)


@pytest.mark.parametrize("name", SHIPPED)
def test_an_open_run_that_ends_too_soon_is_told(name: str) -> None:
    cutter, _ = once(name)

    def shorter(paths: Paths) -> Paths:
        index = open_runs(paths)[-1]
        path = paths[index]
        along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path.points, axis=0).T))])
        end = along[-1] - max(cutter.tool(path.tool).overcut, 0.5) - 2.0
        kept = int(np.searchsorted(along, end))
        last = [np.interp(end, along, path.points[:, axis]) for axis in (0, 1)]
        run = replace(path, points=np.vstack([path.points[:kept], [last]]), bulges=path.bulges[:kept])
        return (*paths[:index], run, *paths[index + 1 :])

    assert "mm of its cut line are not cut" in told_once(name, shorter)


@pytest.mark.parametrize("name", SHIPPED)
def test_a_stretch_cut_twice_is_told_when_it_was_asked_once(name: str) -> None:
    cutter, marker = once(name)
    found = proved(cutter, written(replace(cutter, shared_once=False), marker), marker)
    assert found.refused
    text = "\n".join(str(finding) for finding in found.findings)
    assert "shared lines are to be cut once" in text
    assert "not whole" not in text


@pytest.mark.parametrize("name", SHIPPED)
def test_a_run_cut_again_is_told(name: str) -> None:
    def again(paths: Paths) -> Paths:
        index = open_runs(paths)[-1]
        return (*paths[: index + 1], paths[index], *paths[index + 1 :])

    assert "shared lines are to be cut once" in told_once(name, again)


@pytest.mark.parametrize("name", ["flatbed-knife", "gantry-laser"])
def test_a_notch_after_the_last_run_of_its_piece_is_told(name: str) -> None:
    def late(paths: Paths) -> Paths:
        index = first(paths, Role.NOTCH)
        last = max(i for i, path in enumerate(paths) if path.tool == paths[index].tool)
        return (*paths[:index], *paths[index + 1 : last + 1], paths[index], *paths[last + 1 :])

    assert "its outline is cut before all that lies inside it" in told_once(name, late)


@pytest.mark.parametrize("name", SHIPPED)
def test_an_open_run_that_is_moved_is_told(name: str) -> None:
    def moved(paths: Paths) -> Paths:
        index = open_runs(paths)[-1]
        path = paths[index]
        return (*paths[:index], replace(path, points=np.add(path.points, 0.4)), *paths[index + 1 :])

    assert "cut line" in told_once(name, moved)
