"""The way to a machine, as its profile says it."""

from pathlib import Path

import pytest

from cutroom.errors import CutroomError
from cutroom.model.profile import Connection, Flow, Line, Parity
from cutroom.read.profile import list_plotters, read_plotter
from tests.jobs import PLOTTER


def _read(tmp_path: Path, connection: str) -> Connection | None:
    path = tmp_path / "ours.toml"
    path.write_text(f"{PLOTTER}[connection]\n{connection}", encoding="utf-8")
    return read_plotter(path).connection


def test_a_serial_line_is_read_with_all_that_is_said_of_it(tmp_path: Path) -> None:
    said = """line = "serial"
address = "/dev/ttyUSB0"
baud = 19200
parity = "even"
flow = "enquiry"
buffer_bytes = 1024
answer_s = 5
patience_s = 60
"""
    expected = Connection(Line.SERIAL, "/dev/ttyUSB0", 19200, Parity.EVEN, Flow.ENQUIRY, 1024, 5.0, 60.0)
    assert _read(tmp_path, said) == expected


def test_a_profile_without_a_line_has_none() -> None:
    assert all(read_plotter(name).connection is None for name in list_plotters())


def test_a_network_line_needs_no_more_than_its_address(tmp_path: Path) -> None:
    assert _read(tmp_path, 'line = "network"\naddress = "plotter:9100"') == Connection(Line.NETWORK, "plotter:9100")


@pytest.mark.parametrize(
    ("said", "fault"),
    [
        ('address = "x"', "connection.line: it is missing: nothing is sent without knowing on what line"),
        ('line = "pigeon"', 'connection.line: there is no word for it "pigeon"'),
        ('line = "serial"', "connection.flow: it is missing: a machine that cannot say stop loses strokes"),
        ('line = "serial"\nflow = "shout"', 'connection.flow: there is no word for it "shout"'),
        ('line = "serial"\nflow = "none"\nbaud = 9601', "connection.baud: 9601 is no speed of a serial line"),
        ('line = "serial"\nflow = "none"\nbuffer_bytes = 0', "connection.buffer_bytes: 0 is no size of a memory"),
        ('line = "serial"\nflow = "none"\nanswer_s = 0', "connection.answer_s: 0 is not a time in seconds"),
        ('line = "network"\nbaud = 9600', "connection.baud: a network line has none"),
        ('line = "spool"\nflow = "xon-xoff"', "connection.flow: a spool line has no xon-xoff"),
        ('line = "spool"\nflow = "enquiry"', "connection.flow: a spool line has no enquiry"),
        ('line = "network"\nspeed = 3', "connection.speed: there is no such key here"),
    ],
)
def test_a_wrong_connection_is_refused_with_its_key(tmp_path: Path, said: str, fault: str) -> None:
    with pytest.raises(CutroomError) as caught:
        _read(tmp_path, said)
    assert fault in str(caught.value)
