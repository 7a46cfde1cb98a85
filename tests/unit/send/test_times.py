"""The time of a plot before it is sent: the slower of machine and line."""

import pytest

from cutroom.job.sending import machine_seconds
from cutroom.model.motion import Motion
from cutroom.model.profile import Connection, Line
from cutroom.send.language import Contents


def test_a_long_plot_takes_what_it_takes_by_hand() -> None:
    """210 m at 40 cm/s, 60 m at 80, 1,400 lifts of 0.15 s; 480 kB at 9600 and at 4800 baud (worked by hand)."""
    contents = Contents(480_000, 1400, 1400, 8, 0, 6200, 0, 1460, 210_000, 60_000)
    motion = Motion(speed=400, travel_speed=800, acceleration=1e9, lift_s=0.15)
    assert machine_seconds(contents, motion) == pytest.approx(525 + 75 + 210)
    assert Connection(Line.SERIAL, baud=9600).seconds_for(480_000) == 500  # the machine is the slower
    assert Connection(Line.SERIAL, baud=4800).seconds_for(480_000) == 1000  # the line is
