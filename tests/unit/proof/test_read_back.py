"""The proof's own readers, on small texts written out by hand."""

import numpy as np
import pytest

from cutroom.model.plot import Role
from cutroom.model.profile import Plotter
from cutroom.proof.expected import reading_turn, ring, turned
from cutroom.proof.lines import Line, Within, clip, cut_at, tidy
from cutroom.proof.match import lie_on, match
from cutroom.proof.read_hpgl import read_hpgl
from cutroom.proof.read_svg import read_path
from cutroom.proof.tiles import row_letters

PEN = Plotter("pen", "a pen plotter", 1000.0, 819.175, dict.fromkeys(Role, 1))


def read(text: str, plotter: Plotter = PEN) -> tuple[list[list[tuple[float, float]]], str]:
    reading = read_hpgl(text.encode(), plotter, (0.0, 0.0))
    lines = [[(float(x), float(y)) for x, y in line.points] for line in reading.lines]
    return lines, "\n".join(str(finding) for finding in reading.findings)


def test_a_square_of_100_mm_reads_as_the_language_manuals_have_it() -> None:
    # 40 plotter units to the millimetre (HP-GL, from memory); the file of a square at (10, 10) mm written out by hand.
    lines, faults = read("IN;SP1;PU400,400;PD4400,400,4400,4400,400,4400,400,400;PU;SP0;")
    assert lines == [[(10, 10), (110, 10), (110, 110), (10, 110)]]
    assert faults == ""


@pytest.mark.parametrize(
    "text",
    [
        "IN;SP1;PA400,400;PD;PA4400,400;PU;SP0;",
        "IN;SP1;PU400,400;PR;PD4000,0;PU;PA;SP0;",
        "IN SP1 PU400 400 PD4400 400 PU SP0;",
        "in;sp1;pu400,400;pd4400,400;pu;sp0;",
        "IN;VS20;LT;PS4000,4000;RO0;SP1;PU400,400;PD4400,400;PU;SP0;",
    ],
)
def test_the_same_line_said_otherwise_is_the_same_line(text: str) -> None:
    lines, faults = read(text)
    assert [(line[0], line[-1]) for line in lines] == [((10, 10), (110, 10))]
    assert faults == ""


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("IN;SP1;RO90;PU0,0;PD9,9;PU;SP0;", "RO90 turns"),
        ("IN;SP1;SC0,1,0,1;PU0,0;PD9,9;PU;SP0;", "scales"),
        ("IN;SP1;ZZ3;PU0,0;PD9,9;PU;SP0;", "'ZZ' is not one"),
        ("IN;SP1;PU0,0;PE7<=?x?x;PU;SP0;", "'PE' is not one"),
        ("IN;SP1;PU0,0;LBfront\x03PD9,9;PU;SP0;", "own letters"),
        ("IN;SP1;PU0,0;PD9,9,9;PU;SP0;", "an x without its y"),
        ("IN;SP1;PU0,0;PD9.5,9;PU;SP0;", "not a whole number"),
        ("IN;PU0,0;PD9,9;PU;SP0;", "without a pen"),
        ("IN;SP1;PD9,9;PU;SP0;", "before it stands anywhere"),
        ("IN;SP1;PU0,0;PD9,9;SP0;", "the pen is not up"),
        ("IN;SP1;PU0,0;PD9,9;PU;", "the pen is not up and put away"),
        ("IN;SP1;PU0,0;PD9,9;PG;PU;SP0;", "moved on with the pen down"),
        ("IN;SP1;PU0,0;PD32768,9;PU;SP0;", "the machine reaches"),
        ("IN;SP1;PU0,0;PD-1,9;PU;SP0;", "the machine reaches"),
        ("IN;SP1;LT2;PU0,0;PD9,9;PU;SP0;", "broken line"),
    ],
)
def test_what_a_marker_has_no_need_of_is_told(text: str, what: str) -> None:
    assert what in read(text)[1]


def test_frames_are_joined_again() -> None:
    plotter = Plotter("pen", "", 1000.0, 100.0, {}, start="PG;", between="PU;SP0;FR;FR;")
    lines, faults = read("IN;PG;SP1;PU0,0;PD4000,40;PU;SP0;FR;FR;SP1;PU0,40;PD400,80;PU;SP0;", plotter)
    assert lines == [[(0, 0), (100, 1)], [(100, 1), (110, 2)]]
    assert faults == ""


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("M 1,2 L 3,4 L 5,6 Z", [([(1, 2), (3, 4), (5, 6)], True)]),
        ("M1 2 3 4", [([(1, 2), (3, 4)], False)]),
        ("m1,2 l2,2 h-1 v3", [([(1, 2), (3, 4), (2, 4), (2, 7)], False)]),
        ("M0,0 L1,0 Z M5,5 L6,6", [([(0, 0), (1, 0)], True), ([(5, 5), (6, 6)], False)]),
        ("M1.5.25L-3-4", [([(1.5, 0.25), (-3, -4)], False)]),
        ("M1.2.3.4 L5,6", None),
        ("M0,0 C1,1 2,2 3,3", None),
        ("M0,0 L1", None),
        ("L1,1", None),
        ("nonsense", None),
    ],
)
def test_paths_of_straight_lines_are_read(
    text: str, wanted: list[tuple[list[tuple[float, float]], bool]] | None
) -> None:
    found = read_path(text)
    if wanted is None:
        assert found is None
    else:
        assert found is not None
        assert [([(float(x), float(y)) for x, y in points], closed) for points, closed in found] == wanted


@pytest.mark.parametrize(("turn", "wanted"), [(0, 0), (90, 90), (180, 0), (270, 90), (-90, 90), (360, 0)])
def test_lettering_is_never_upside_down(turn: float, wanted: float) -> None:
    assert reading_turn(turn) == wanted


def test_quarter_turns_are_exact() -> None:
    point = np.array([(0.1, 0.7)])
    assert turned(point, 90).tolist() == [[-0.7, 0.1]]
    assert turned(point, 180).tolist() == [[-0.1, -0.7]]
    assert turned(point, 30)[0] == pytest.approx(complex_turn(0.1 + 0.7j, 30))


def complex_turn(number: complex, degrees: float) -> tuple[float, float]:
    product = number * np.exp(1j * np.radians(degrees))
    return float(product.real), float(product.imag)


def test_rows_are_lettered_like_a_spreadsheet() -> None:
    assert [row_letters(row) for row in (0, 1, 25, 26, 51, 52, 702)] == ["A", "B", "Z", "AA", "AZ", "BA", "AAA"]


def test_the_limit_is_per_coordinate_or_by_distance() -> None:
    line = Line(np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)]), closed=False)
    off = Line(line.points + 0.01, closed=False)
    assert lie_on([line], off, Within(0.011, per_coordinate=True))[0]
    extra = Line(np.vstack((off.points[:1], (off.points[0] + off.points[1]) / 2, off.points[1:])), closed=False)
    assert lie_on([line], extra, Within(0.011, per_coordinate=True))[0]
    assert not match([line], [off], Within(0.01 * 2**0.5 + 1e-6)).missing
    assert match([line], [off], Within(0.0139)).missing


def test_a_line_run_twice_over_is_not_the_line() -> None:
    line = Line(np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)]), closed=False)
    twice = Line(np.vstack((line.points, line.points[1::-1])), closed=False)
    assert not lie_on([line], twice, Within(0.01))[0]


def test_claims_make_room_for_each_other() -> None:
    """The first line could take either found line, the second only the one that is nearer to the first."""

    def at(y: float) -> Line:
        return Line(np.array([(0.0, y), (10.0, y)]), closed=False)

    matched = match([at(0.0), at(0.015)], [at(0.007), at(-0.009)], Within(0.01))
    assert matched.found_for == {0: 1, 1: 0}
    assert matched.deviation == pytest.approx(0.009)


def test_bits_are_clipped_and_cut_where_they_cross() -> None:
    bits, owners = np.array([[(0.0, 0.0), (10.0, 5.0)], [(0.0, 9.0), (1.0, 9.0)]]), np.array([0, 1])
    inside, whose = clip(bits, owners, (2.0, 0.0, 4.0, 10.0))
    assert inside.tolist() == [[[2.0, 1.0], [4.0, 2.0]]]
    assert whose.tolist() == [0]
    parts, whose = cut_at(bits, owners, [4.0])
    assert sorted(parts.tolist()) == [[[0.0, 0.0], [4.0, 2.0]], [[0.0, 9.0], [1.0, 9.0]], [[4.0, 2.0], [10.0, 5.0]]]
    assert sorted(whose.tolist()) == [0, 0, 1]


def test_points_are_tidied() -> None:
    points, closed = tidy(np.array([(0, 0), (0, 0), (1, 0), (1, 1), (0, 0.0)]), closed=False)
    assert closed
    assert points.tolist() == [[0, 0], [1, 0], [1, 1]]
    assert len(ring(0, 0, 2)) == 24
