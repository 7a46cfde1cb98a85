"""The stand-in: its time by hand, its answers by the manual, its faults as they are planted."""

import math

import numpy as np
import pytest

from cutroom.standin.compare import compare, drawn_by
from cutroom.standin.faults import FaultKind, fault_of
from cutroom.standin.machine import XOFF, XON, Kind, Machine
from cutroom.standin.motion import Motion, Vector, seconds
from cutroom.standin.picture import picture

EASY = Motion(draw=100, travel=200, acceleration=1000, corner=10, lift_s=0.1, change_s=1, advance_s=2)


def ended(machine: Machine) -> float:
    """When it has done all it holds (s)."""
    now = 0.0
    while (change := machine.next_change()) is not None:
        now = change
        machine.advance(now)
    return now


@pytest.mark.parametrize(
    ("length", "time"),
    [
        (100.0, 100 / 100 + 100 / 1000),  # to 100 mm/s and back in 0.1 s each: v/a more than length/v
        (10.0, 2 * math.sqrt(10 / 1000)),  # never at full speed: 2 sqrt(s/a)
        (2.5, 0.1),
    ],
)
def test_a_straight_line_takes_the_time_of_the_textbook(length: float, time: float) -> None:
    """A trapezoid or triangle of speed, by hand."""
    took, after = seconds(Vector((0, 0), (length, 0), down=True), 0.0, 0.0, EASY)
    assert took == pytest.approx(time)
    assert after == 0


def test_it_does_not_slow_down_where_a_line_goes_straight_on() -> None:
    def time(points: list[tuple[int, int]]) -> float:
        machine = Machine(Kind(EASY, 4096))
        row = ",".join(f"{x},{y}" for x, y in points)
        machine.take(f"SP1;PU0,0;PD{row};".encode(), 0.0)
        return ended(machine)

    straight = time([(4000, 0)])
    assert time([(1000, 0), (2000, 0), (3000, 0), (4000, 0)]) == pytest.approx(straight)
    assert time([(1000, 0), (0, 0), (1000, 0), (0, 0)]) > straight + 0.2


def test_the_time_of_a_short_plot_by_hand() -> None:
    machine = Machine(Kind(EASY, 4096))
    machine.take(b"IN;SP1;PU4000,0;PD8000,0;PG;", 0.0)
    travel, drawn = 100 / 200 + 200 / 1000, 100 / 100 + 100 / 1000
    assert ended(machine) == pytest.approx(1 + travel + 0.1 + drawn + 2)
    assert (machine.inked, machine.travelled, machine.frame) == (100, 100, 1)


def test_it_answers_as_the_manual_has_it() -> None:
    """ESC . B free bytes, ESC . E fault, OA place and pen, OS status: HP 7470A and 7475A interfacing manuals.

    The numbers of faults and the status at power-on are from memory.
    """
    machine = Machine(Kind(EASY, 100))
    machine.take(b"\x1b.B", 0.0)
    assert machine.said() == b"100\r"
    machine.take(b"IN;SP1;PU4000,0;", 0.0)
    machine.take(b"\x1b.B", 0.001)
    held = int(machine.said())
    assert 80 < held < 100
    now = ended(machine)
    machine.take(b"OA;OS;OS;", now)
    assert machine.said() == b"4000,0,0\r24\r16\r"  # 24: ready, initialised since last asked
    machine.take(b"\x1b.B\x1b.E\x1b.O", now)
    assert machine.said() == b"100\r0\r8\r"
    machine.take(b"\x1b.I;;17:\x1b.N;19:\x1b.@;0:", now)  # handshake settings are taken and change nothing
    assert machine.faults == []


def test_more_than_it_holds_is_lost_and_said() -> None:
    machine = Machine(Kind(EASY, 60))
    machine.take(b"IN;SP1;PU0,0;PD" + b"4000,4000,0,0," * 10, 0.0)
    assert machine.overflowed > 0
    machine.take(b"\x1b.E", 0.0)
    assert machine.said() == b"16\r"  # input buffer overflow


def test_it_says_stop_before_it_is_full_and_go_when_it_has_room() -> None:
    machine = Machine(Kind(EASY, 300, xon_xoff=True))
    machine.take(b"IN;SP1;PU0,0;PD" + b"4000,4000,0,0," * 15, 0.0)
    assert machine.said() == bytes([XOFF])
    assert not machine.overflowed
    ended(machine)
    assert machine.said() == bytes([XON])


def test_what_it_had_not_begun_is_lost_when_it_is_switched_off() -> None:
    machine = Machine(Kind(EASY, 400))
    data = b"IN;SP1;PU0,0;PD4000,0;PU0,400;PD4000,400;PU0,800;PD4000,800;"
    machine.take(data, 0.0)
    machine.switch_off_and_on(3.0)
    assert machine.free == 400
    difference = compare(machine.drawn, drawn_by(data))
    assert difference.lost
    assert not difference.twice
    assert not difference.strange
    machine.take(b"OS;", 3.0)
    assert int(machine.said()) & 8  # switched on since last asked


def test_a_jam_keeps_everything_until_it_is_cleared() -> None:
    machine = Machine(Kind(EASY, 400))
    data = b"IN;SP1;PU0,0;PD4000,0;PU0,400;PD4000,400;"
    machine.take(data, 0.0)
    machine.jam(1.5)
    machine.advance(100.0)
    assert not machine.drawn
    machine.clear(100.0)
    machine.advance(200.0)
    assert compare(machine.drawn, drawn_by(data)).none
    assert machine.drawn[0].ended > 100


def test_half_a_command_is_forgotten_when_it_is_told_to() -> None:
    machine = Machine(Kind(EASY, 400))
    machine.take(b"IN;SP1;PU0,0;PD4000,4", 0.0)
    ended(machine)
    machine.take(b"\x1b.K", 50.0)
    assert machine.free == 400
    machine.take(b"PU0,400;PD400,400;", 50.0)
    ended(machine)
    assert [run.points for run in machine.drawn] == [[(0.0, 10.0), (10.0, 10.0)]]


def test_distances_and_encoded_lines_are_drawn_like_plain_ones() -> None:
    plain = drawn_by(b"IN;SP1;PU400,400;PD4400,400,4400,4400,400,4400,400,400;")
    relative = drawn_by(b"IN;SP1;PU400,400;PR;PD4000,0,0,4000,-4000,0,0,-4000;")
    encoded = drawn_by(b"IN;SP1;PE7<=?x?x?Yf__?Yf@Yf__@Yf;")  # 100 mm, base 32: as ezdxf and hp2xx both read it
    assert compare(relative, plain).none
    assert compare(encoded, plain).none


def test_the_comparison_sees_every_kind_of_fault() -> None:
    data = b"IN;SP1;PU0,0;PD400,0;PU0,400;PD400,400,800,400;PU0,800;PD400,800;"
    wanted = drawn_by(data)
    first, second, third = wanted
    assert compare(wanted, wanted).none
    assert len(compare([first, third], wanted).lost) == 1
    assert len(compare([first, first, second, third], wanted).twice) == 1
    moved = drawn_by(data.replace(b"PD400,0;", b"PD400,1;"))
    found = compare(moved, wanted)
    assert (len(found.lost), len(found.strange)) == (1, 1)
    begun = drawn_by(data.replace(b",800,400;", b";"))
    assert (len(compare(begun, wanted).broken), len(compare(begun, wanted).lost)) == (1, 1)
    other_pen = drawn_by(data.replace(b"SP1", b"SP2"))
    assert len(compare(other_pen, wanted).strange) == 3
    assert "1 lost" in str(found)


def test_a_fault_follows_from_its_seed() -> None:
    faults = [fault_of(seed, within=1000) for seed in range(60)]
    assert faults == [fault_of(seed, within=1000) for seed in range(60)]
    assert {fault.kind for fault in faults} == set(FaultKind)
    assert all(0 <= fault.byte < 1000 for fault in faults)


def test_the_picture_shows_every_stroke_and_no_more() -> None:
    svg = picture(drawn_by(b"IN;SP1;PU0,0;PD400,0;PG;SP2;PU0,400;PD400,400;"), frame=100.0, title="a < b").decode()
    assert svg.count("<polyline") == 2
    assert 'viewBox="0 0 130.000 30.000"' in svg  # 110 mm of paper by 10, and 10 all round
    assert "a &lt; b" in svg
    assert picture((), frame=100.0).startswith(b"<svg")


def test_arcs_of_a_program_stay_on_their_circle() -> None:
    (run,) = drawn_by(b"G21\nG90\nG0 X10 Y0\nM3\nG3 X0 Y10 I-10 J0\nM5\n", language="gcode")
    assert np.hypot(*np.array(run.points).T) == pytest.approx(10)
    assert run.points[-1] == (0, 10)
