"""What every kind of line must do, given a line and its peer; `tests/unit/send` runs it on every kind there is.

The peers are real: pseudo-terminals of the operating system, sockets on the loopback, pipes, files.
"""

import fcntl
import os
import pty
import select
import socket
import time
import tty
from abc import ABC, abstractmethod
from collections.abc import Callable
from pathlib import Path

import pytest

from cutroom.errors import DeviceError
from cutroom.model.profile import Connection, Flow, Line
from cutroom.send.files import Node, Output, WholeFile, open_spool
from cutroom.send.network import NetworkLine
from cutroom.send.serial_line import SerialLine
from cutroom.send.transport import Transport
from cutroom.standin.machine import Kind, Machine
from tests.virtual_line import VirtualLine, World

SOON = 0.05
LONG = 5.0


class Rig(ABC):
    """A line and the machine at its other end."""

    line: Transport
    clogs = True
    answers = False
    vanishes = True
    ends = False
    """The peer sees whether the work was finished."""

    @abstractmethod
    def arrived(self) -> bytes:
        """What has arrived since it was last asked."""

    def say(self, data: bytes) -> None:
        """Answer something."""
        raise NotImplementedError

    def vanish(self) -> None:
        """Pull the cable."""
        raise NotImplementedError

    def clog(self) -> None:  # noqa: B027 - a peer that does not read is clogged enough
        """Take nothing from now on."""

    def clear(self) -> None:  # noqa: B027
        """Take bytes again."""

    def saw_the_end(self) -> bool:
        """The peer knows that nothing more comes."""
        raise NotImplementedError

    def close(self) -> None:
        """Let go of both ends."""
        self.line.close()


class PtyRig(Rig):
    answers = True

    def __init__(self, tmp_path: Path, flow: Flow = Flow.NONE) -> None:
        del tmp_path
        self.master, self.slave = pty.openpty()
        tty.setraw(self.slave)
        os.set_blocking(self.master, False)
        self.line = SerialLine(Connection(Line.SERIAL, os.ttyname(self.slave), 9600, flow=flow))
        os.close(self.slave)

    def arrived(self) -> bytes:
        return drained(self.master)

    def say(self, data: bytes) -> None:
        os.write(self.master, data)

    def vanish(self) -> None:
        os.close(self.master)
        self.master = -1

    def close(self) -> None:
        super().close()
        if self.master >= 0:
            os.close(self.master)


class XonPtyRig(PtyRig):
    """A machine that says stop by XOFF: the operating system obeys, no reader needs to lag."""

    def __init__(self, tmp_path: Path) -> None:
        super().__init__(tmp_path, Flow.XON_XOFF)

    def clog(self) -> None:
        os.write(self.master, b"\x13")
        time.sleep(SOON)

    def clear(self) -> None:
        os.write(self.master, b"\x11")


class RtsPtyRig(PtyRig):
    """Opened with RTS/CTS; a pseudo-terminal has no such wires, so its peer clogs it by not reading."""

    def __init__(self, tmp_path: Path) -> None:
        super().__init__(tmp_path, Flow.RTS_CTS)


class AskedPtyRig(PtyRig):
    """A machine that is asked for its room: the line itself never says stop."""

    def __init__(self, tmp_path: Path) -> None:
        super().__init__(tmp_path, Flow.ENQUIRY)


class TcpRig(Rig):
    answers = True
    ends = True

    def __init__(self, tmp_path: Path) -> None:
        del tmp_path
        self.server = socket.create_server(("127.0.0.1", 0))
        self.server.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 8192)
        self.line = NetworkLine(f"127.0.0.1:{self.server.getsockname()[1]}", answer_s=LONG)
        self.peer, _ = self.server.accept()
        self.peer.setblocking(False)
        self.ended = False

    def arrived(self) -> bytes:
        data = b""
        until = time.monotonic() + SOON
        while time.monotonic() < until:
            try:
                part = self.peer.recv(65536)
            except BlockingIOError:
                time.sleep(0.002)
                continue
            if not part:
                self.ended = True
                break
            data += part
            until = time.monotonic() + SOON
        return data

    def say(self, data: bytes) -> None:
        self.peer.sendall(data)

    def vanish(self) -> None:
        self.peer.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, b"\1\0\0\0\0\0\0\0")  # a reset, as when power fails
        self.peer.close()

    def saw_the_end(self) -> bool:
        self.arrived()
        return self.ended

    def close(self) -> None:
        super().close()
        self.peer.close()
        self.server.close()


class FifoRig(Rig):
    def __init__(self, tmp_path: Path) -> None:
        path = tmp_path / "node"
        os.mkfifo(path)
        self.reader = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
        self.line = Node(path)

    def arrived(self) -> bytes:
        return drained(self.reader)

    def vanish(self) -> None:
        os.close(self.reader)
        self.reader = -1

    def close(self) -> None:
        super().close()
        if self.reader >= 0:
            os.close(self.reader)


class PipeRig(FifoRig):
    """Standard output into another program."""

    def __init__(self, tmp_path: Path) -> None:
        del tmp_path
        self.reader, self.writer = os.pipe()
        os.set_blocking(self.reader, False)
        fcntl.fcntl(self.writer, fcntl.F_SETPIPE_SZ, 8192)
        self.line = Output(self.writer)

    def close(self) -> None:
        super().close()
        os.close(self.writer)


class FileRig(Rig):
    clogs = False
    vanishes = False
    ends = True

    def __init__(self, tmp_path: Path) -> None:
        self.path = tmp_path / "job.plt"
        self.line = self.made()
        self.seen = 0

    def made(self) -> Transport:
        return WholeFile(self.path)

    def arrived(self) -> bytes:
        there = [path for path in self.path.parent.iterdir() if path.is_file()]
        data = there[0].read_bytes()[self.seen :] if there else b""
        self.seen += len(data)
        return data

    def saw_the_end(self) -> bool:
        return self.path.exists()


class SpoolRig(FileRig):
    def made(self) -> Transport:
        return open_spool(self.path.parent, self.path.name)


class VirtualRig(Rig):
    """The line in virtual time that the fault runs are made on keeps the same laws."""

    answers = True

    def __init__(self, tmp_path: Path) -> None:
        del tmp_path
        self.world = World(Machine(Kind(memory=1 << 30, answers=False)), baud=115200)
        self.line = VirtualLine(self.world)

    def arrived(self) -> bytes:
        self.world.sleep(1.0)
        data, self.world.heard = bytes(self.world.heard), bytearray()
        return data

    def say(self, data: bytes) -> None:
        self.world.replies += data

    def vanish(self) -> None:
        self.world.plugged = False

    def clog(self) -> None:
        self.world.blocked = True

    def clear(self) -> None:
        self.world.blocked = False


RIGS: dict[str, Callable[[Path], Rig]] = {
    "serial": PtyRig,
    "serial with XON/XOFF": XonPtyRig,
    "serial with RTS/CTS": RtsPtyRig,
    "serial, asked for its room": AskedPtyRig,
    "network": TcpRig,
    "device node": FifoRig,
    "standard output": PipeRig,
    "file": FileRig,
    "spool folder": SpoolRig,
    "virtual": VirtualRig,
}


def drained(fd: int) -> bytes:
    """Everything that a descriptor has to give now."""
    data = b""
    while select.select([fd], [], [], SOON)[0]:
        try:
            part = os.read(fd, 65536)
        except (BlockingIOError, OSError):
            break
        if not part:
            break
        data += part
    return data


def send_all(rig: Rig, data: bytes) -> bytes:
    """Send everything while the peer reads; what arrived."""
    got = b""
    while data:
        taken = rig.line.send(data, SOON)
        assert 0 <= taken <= len(data)
        data = data[taken:]
        if not taken:
            got += rig.arrived()
    return got + rig.arrived()


def bytes_arrive_whole_and_in_order(rig: Rig) -> None:
    """Nothing is lost, doubled, changed or swallowed, whatever the bytes."""
    sent = bytes(range(32, 127)) * 700 + b"\r\n\x1b.B\x03" + bytes(range(160, 256))
    assert send_all(rig, sent) == sent


def no_more_is_taken_than_given(rig: Rig) -> None:
    """One byte is one byte."""
    assert rig.line.send(b"I", LONG) == 1
    assert rig.line.send(b"N;", LONG) in {1, 2}


def a_clogged_line_says_so_and_loses_nothing(rig: Rig) -> None:
    """Taking nothing is 0, within the time allowed; once the way is clear, the rest follows."""
    if not rig.clogs:
        pytest.skip("a disk is never clogged")
    rig.clog()
    sent = b""
    number = 0
    while True:
        block = f"PD{number},{number};".encode() * 20
        begun = time.monotonic()
        taken = rig.line.send(block, SOON)
        assert time.monotonic() - begun < SOON + LONG
        sent += block[:taken]
        number += 1
        if taken == 0:
            break
        assert len(sent) < 64_000_000
    assert rig.line.send(b"x", SOON) == 0
    assert not rig.line.finish(SOON) or rig.line.unsent() == 0
    rig.clear()
    got = b""
    until = time.monotonic() + LONG
    while len(got) < len(sent) and time.monotonic() < until:
        got += rig.arrived()
    assert got == sent


def silence_is_no_fault_and_an_answer_comes_through(rig: Rig) -> None:
    """Nothing said is nothing received, within the time allowed."""
    assert rig.line.receive(SOON) == b""
    assert rig.line.answers == rig.answers
    if rig.answers:
        rig.say(b"1024\r")
        said = b""
        until = time.monotonic() + LONG
        while len(said) < 5 and time.monotonic() < until:
            said += rig.line.receive(SOON)
        assert said == b"1024\r"


def a_machine_that_goes_away_is_a_fault(rig: Rig) -> None:
    """Sending to nobody ends in words, with the name of the line."""
    if not rig.vanishes:
        pytest.skip("a disk does not go away")
    rig.line.send(b"IN;", LONG)
    rig.arrived()
    rig.vanish()

    def go_on() -> None:
        for _ in range(100):
            rig.line.send(b"PD1,1;" * 600, SOON)

    with pytest.raises(DeviceError, match="the machine is gone") as caught:
        go_on()
    assert caught.value.file == rig.line.name
    assert "--resume" in caught.value.fix


def the_end_is_seen_after_finish_only(rig: Rig) -> None:
    """A file that is not finished is not there."""
    rig.line.send(b"IN;", LONG)
    if rig.ends:
        assert not rig.saw_the_end()
    rig.arrived()
    assert rig.line.finish(LONG)
    assert rig.line.unsent() == 0
    if rig.ends:
        assert rig.saw_the_end()


def given_up_work_is_not_there(rig: Rig) -> None:
    """Closing without finishing leaves no whole job, and nothing of it in the folder."""
    rig.line.send(b"IN;", LONG)
    rig.line.close()
    if isinstance(rig, FileRig):
        assert not list(rig.path.parent.iterdir())


def a_closed_line_refuses_and_closing_twice_is_no_fault(rig: Rig) -> None:
    """After closing there is no line."""
    rig.line.close()
    rig.line.close()
    for use in (lambda: rig.line.send(b"x", SOON), lambda: rig.line.receive(SOON), lambda: rig.line.finish(SOON)):
        with pytest.raises(DeviceError, match="the line is closed"):
            use()


LAWS: tuple[Callable[[Rig], None], ...] = (
    bytes_arrive_whole_and_in_order,
    no_more_is_taken_than_given,
    a_clogged_line_says_so_and_loses_nothing,
    silence_is_no_fault_and_an_answer_comes_through,
    a_machine_that_goes_away_is_a_fault,
    the_end_is_seen_after_finish_only,
    given_up_work_is_not_there,
    a_closed_line_refuses_and_closing_twice_is_no_fault,
)
