"""How long a machine takes: by hand for single lines, and for a long plot whose figures are worked out beside it."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutroom.model.estimate import Estimate
from cutroom.model.motion import Motion
from cutroom.model.profile import Connection, Line
from cutroom.plot.timing import over_line, time_cut, time_runs
from tests.cutters import SHIPPED, a_cutter, paths_of

AT_ONCE = Motion(speed=400, travel_speed=800, acceleration=1e9, lift_s=0.15, corner=1e9)


def long_plot() -> Estimate:
    """210 m drawn at 40 cm/s in 1400 strokes, 60 m travelled at 80 cm/s, 0.15 s to a lift."""
    lines, at = [], 0.0
    for _ in range(1400):
        start = at + 60_000 / 1400
        lines.append(np.array([(start, 0.0), (start + 150, 0.0)]))
        at = start + 150
    return time_runs(lines, [400.0] * 1400, AT_ONCE)


def test_a_long_plot_takes_810_s() -> None:
    """By hand: 525 + 75 + 210 = 810 s."""
    found = long_plot()
    assert found.working_s == pytest.approx(525, abs=0.5)
    assert found.travel_s == pytest.approx(75, abs=0.5)
    assert found.lift_s == pytest.approx(210)
    assert found.total_s == pytest.approx(810, abs=1)


@pytest.mark.parametrize(("baud", "line_s", "total_s", "bound"), [(9600, 500, 810, False), (4800, 1000, 1000, True)])
def test_a_slow_line_holds_the_machine_up(baud: int, line_s: float, total_s: float, bound: bool) -> None:
    """480 kB at ten signals a letter: 500 s at 9600 baud, 13.5 min in all; 1000 s at 4800, 16.7 min."""
    found = over_line(long_plot(), 480_000, Connection(Line.SERIAL, baud=baud))
    assert found.line_s == pytest.approx(line_s)
    assert found.total_s == pytest.approx(total_s, abs=1)
    assert found.line_bound is bound
    assert over_line(long_plot(), 480_000, Connection(Line.NETWORK)).line_s == 0


def one(points: list[tuple[float, float]], motion: Motion) -> float:
    return time_runs([np.array(points)], [motion.speed], motion).working_s


def test_a_straight_line_speeds_up_and_slows_down() -> None:
    """By hand: 100 mm/s after 0.1 s and 5 mm at 1000 mm/s2; 90 mm at full speed; 0.1 s to stop: 1.1 s."""
    motion = Motion(speed=100, travel_speed=100, acceleration=1000)
    assert one([(0, 0), (100, 0)], motion) == pytest.approx(1.1)
    assert one([(0, 0), (50, 0), (100, 0)], motion) == pytest.approx(1.1), "a point on the way costs nothing"
    assert one([(0, 0), (5, 0)], motion) == pytest.approx(2 * math.sqrt(5 / 1000)), "too short for full speed"


def test_a_corner_is_run_through_slowly() -> None:
    """By hand: round a square corner at corner / sqrt(2); with none allowed the machine stops there."""
    motion = Motion(speed=100, travel_speed=100, acceleration=1000, corner=1e-9)
    bent = [(0.0, 0.0), (100.0, 0.0), (100.0, 100.0)]
    assert one(bent, motion) == pytest.approx(2.2, rel=1e-6)
    easy = 10 * math.sqrt(2)
    slow = replace(motion, corner=easy)
    at_corner = easy / math.sqrt(2)
    wanted = 2 * (1.1 - at_corner / 1000 + at_corner**2 / 2000 / 100)
    assert one(bent, slow) == pytest.approx(wanted)


@given(st.lists(st.tuples(st.floats(-500, 500), st.floats(-500, 500)), min_size=2, max_size=12), st.floats(50, 5000))
def test_time_lies_between_full_speed_and_stopping_at_every_corner(
    points: list[tuple[float, float]], acceleration: float
) -> None:
    motion = Motion(speed=200, travel_speed=200, acceleration=acceleration, corner=20)
    stops = replace(motion, corner=1e-9)
    length = float(np.hypot(*np.diff(np.array(points), axis=0).T).sum())
    found = one(points, motion)
    assert length / 200 - 1e-9 <= found <= one(points, stops) + 1e-9


@pytest.mark.parametrize("name", SHIPPED)
def test_every_cutter_that_ships_with_speeds_can_be_timed(name: str) -> None:
    cutter = a_cutter(name)
    found = time_cut(paths_of(cutter), cutter, 10_000)
    assert (found is None) == (cutter.motion is None)
    if found is not None:
        assert 0 < found.working_s < found.total_s < 600
