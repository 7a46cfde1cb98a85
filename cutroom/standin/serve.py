"""The stand-in on a real line: a pseudo-terminal that looks like a serial port, or a port of this computer.

Time is real, or hurried by a factor; bytes are taken at the speed of the line, and never more than its memory holds.
"""

import errno
import os
import select
import socket
import time
from abc import ABC, abstractmethod
from collections.abc import Callable

from cutroom.errors import DeviceError
from cutroom.model.profile import SIGNALS
from cutroom.standin.faults import Fault, FaultKind
from cutroom.standin.machine import XOFF, XON, Machine

_TICK_S = 0.005
_SLOWER = 20.0
_JAM_S = 30.0
"""Time after which a jam clears itself (s)."""


class Link(ABC):
    """The machine's end of a line.

    Attributes:
        name: What the sender is to be told: `serial:/dev/pts/3`, `tcp:127.0.0.1:9100`.
    """

    name: str

    @abstractmethod
    def take(self, most: int) -> bytes | None:
        """Bytes that have come, at most so many; None when the sender has ended."""

    @abstractmethod
    def say(self, data: bytes) -> None:
        """Answer."""

    @abstractmethod
    def close(self) -> None:
        """Break off."""


class PortLink(Link):
    """A pseudo-terminal."""

    def __init__(self) -> None:
        """Open it; the sender opens `name`."""
        import pty
        import tty

        self._master, self._slave = pty.openpty()  # the other end is kept open, so that senders may come and go
        tty.setraw(self._slave)
        os.set_blocking(self._master, False)
        self.name = f"serial:{os.ttyname(self._slave)}"

    def take(self, most: int) -> bytes | None:
        """See `Link`; a port never ends."""
        try:
            return os.read(self._master, most)
        except BlockingIOError:
            return b""
        except OSError as fault:
            if fault.errno == errno.EIO:
                return b""
            raise

    def say(self, data: bytes) -> None:
        """See `Link`."""
        os.write(self._master, data)

    def close(self) -> None:
        """See `Link`."""
        for fd in (self._master, self._slave):
            if fd >= 0:
                os.close(fd)
        self._master = self._slave = -1


class NetworkLink(Link):
    """A port of this computer; one sender at a time."""

    def __init__(self, host: str, port: int) -> None:
        """Listen.

        Raises:
            DeviceError: The port is taken.
        """
        try:
            self._server = socket.create_server((host, port), backlog=1)
        except OSError as fault:
            raise DeviceError(
                f"nothing can listen on port {port}: {fault.strerror}", "Choose another port", file=f"{host}:{port}"
            ) from fault
        self._server.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        self._server.setblocking(False)
        self._peer: socket.socket | None = None
        self.name = f"tcp:{host}:{self._server.getsockname()[1]}"

    def take(self, most: int) -> bytes | None:
        """See `Link`."""
        if self._peer is None:
            if not select.select([self._server], [], [], 0)[0]:
                return b""
            self._peer, _ = self._server.accept()
            self._peer.setblocking(False)
        try:
            data = self._peer.recv(most)
        except BlockingIOError:
            return b""
        except ConnectionError:
            data = b""
        if data:
            return data
        self._peer.close()
        self._peer = None
        return None

    def say(self, data: bytes) -> None:
        """See `Link`."""
        if self._peer is not None:
            try:
                self._peer.send(data)
            except OSError:  # it does not listen
                return

    def close(self) -> None:
        """See `Link`."""
        if self._peer is not None:
            self._peer.close()
        self._server.close()


def serve(
    link: Link,
    machine: Machine,
    *,
    baud: int = 9600,
    hurry: float = 1.0,
    fault: Fault | None = None,
    until: Callable[[int], bool],
    say: Callable[[str], None] = lambda _: None,
) -> None:
    """Be the machine until told otherwise.

    Args:
        link: The line.
        machine: The machine.
        baud: Speed of the line.
        hurry: How much faster than real the machine's time runs.
        fault: What goes wrong, or None.
        until: Asked again and again, with the number of senders that have ended, whether to end.
        say: Told what happens.
    """
    start = last = time.monotonic()
    taken = 0.0
    carried = ended = 0
    storm = False
    while not until(ended):
        time.sleep(_TICK_S)
        real = time.monotonic()
        now = (real - start) * hurry
        machine.advance(now)
        taken = min(taken + (real - last) * hurry * baud / SIGNALS, 4096.0)
        last = real
        most = min(int(taken), machine.free if not machine.jammed else 0)
        if most > 0:
            data = link.take(most)
            if data is None:
                ended += 1
                continue
            taken -= len(data)
            if fault is not None and data and carried + len(data) > fault.byte >= carried:
                storm, data = _go_wrong(fault, link, machine, data, fault.byte - carried, now, say)
                fault = None
            carried += len(data)
            if data:
                machine.take(data, now)
        if storm:
            link.say(bytes([XOFF, XON]))
        if machine.jammed and now - machine.stuck > _JAM_S:
            machine.clear(now)
            say("the jam is cleared")
        if words := machine.said():
            link.say(words)


def _go_wrong(
    fault: Fault, link: Link, machine: Machine, data: bytes, place: int, now: float, say: Callable[[str], None]
) -> tuple[bool, bytes]:
    """Let the fault happen; whether a storm begins, and the bytes that still come."""
    say(f"fault: {fault.kind} at byte {fault.byte}")
    match fault.kind:
        case FaultKind.GARBLED:
            machine.take(data[:place], now)
            machine.take(bytes([data[place] ^ 4]), now, garbled=True)
            return False, data[place + 1 :]
        case FaultKind.UNPLUGGED:
            machine.take(data[:place], now)
            link.close()
            raise DeviceError("the line was broken off, as was asked for", "Start it again", file=link.name)
        case FaultKind.JAM:
            machine.jam(now)
        case FaultKind.SLOW:
            machine.slow = _SLOWER
        case FaultKind.SWITCHED_OFF:
            machine.take(data[:place], now)
            machine.switch_off_and_on(now)
            return False, data[place:]
        case FaultKind.STORM:
            return True, data
    return False, data
