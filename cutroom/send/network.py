"""A plain stream over TCP, as printers and plotters on a network take it on port 9100."""

import errno
import fcntl
import socket
import struct
import termios
import time

from cutroom.errors import DeviceError
from cutroom.send.address import split_host
from cutroom.send.descriptor import give, hear
from cutroom.send.faults import closed, line_fault
from cutroom.send.transport import Transport

_BLOCK = 16384
_HELD = 16384
"""Bytes that the operating system may hold back on this side; few, so that little is in doubt when a line breaks."""
_LOOK_S = 0.01
_GOODBYE_S = 2.0
"""Longest time to wait until the machine closes its side (s); many never do."""


class NetworkLine(Transport):
    """A machine that takes a plain stream on a port of its own."""

    answers = True

    def __init__(self, address: str, *, answer_s: float) -> None:
        """Connect.

        Args:
            address: `host:port`.
            answer_s: Longest time to wait for the machine (s).

        Raises:
            DeviceError: There is no such host, or it does not answer, or it refuses.
        """
        self.name = address
        host, port = split_host(address)
        self._socket: socket.socket | None = None
        self._ended = False
        try:
            line = socket.create_connection((host, port), timeout=answer_s)
        except TimeoutError as fault:
            raise DeviceError(
                f"it did not answer in {answer_s:g} s",
                "Look whether the machine is switched on and free, and at its address",
                file=self.name,
            ) from fault
        except socket.gaierror as fault:
            raise DeviceError(
                f'no machine in the network is called "{host}"', "Write its name or its number as it is", file=self.name
            ) from fault
        except OSError as fault:
            raise line_fault(fault, self.name) from fault
        line.setblocking(False)
        line.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, _HELD)
        line.setsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1)
        line.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._socket = line

    def send(self, data: bytes, within: float) -> int:
        """Hand over the first bytes; see `Transport`."""
        return give(self._open().fileno(), data[:_BLOCK], within, self.name)

    def receive(self, within: float) -> bytes:
        """What the machine said; see `Transport`. That it will say no more is no fault: many never say anything."""
        line = self._open()
        if self._ended:
            time.sleep(within)
            return b""
        said = hear(line.fileno(), _BLOCK, within, self.name)
        self._ended = said == b""
        return said or b""

    def unsent(self) -> int:
        """Bytes that the machine has not acknowledged."""
        line = self._open()
        try:
            (held,) = struct.unpack("i", fcntl.ioctl(line.fileno(), termios.TIOCOUTQ, b"\0\0\0\0"))
        except OSError as fault:
            if fault.errno in {errno.EINVAL, errno.ENOTTY}:  # a system that cannot tell
                return _HELD
            raise line_fault(fault, self.name) from fault
        return int(held)

    def finish(self, within: float) -> bool:
        """Say that nothing more comes, and give the machine a moment to close its side; see `Transport`."""
        line = self._open()
        until = time.monotonic() + within
        while self.unsent():
            if time.monotonic() >= until:
                return False
            time.sleep(_LOOK_S)
        try:
            line.shutdown(socket.SHUT_WR)
        except OSError as fault:
            if fault.errno != errno.ENOTCONN:
                raise line_fault(fault, self.name) from fault
        until = min(until, time.monotonic() + _GOODBYE_S)
        while not self._ended and (left := until - time.monotonic()) > 0:
            self.receive(min(left, 1.0))  # what it still says is read, or closing would break the line off
        return True

    def close(self) -> None:
        """Let go of the line."""
        line, self._socket = self._socket, None
        if line is not None:
            line.close()

    def _open(self) -> socket.socket:
        if self._socket is None:
            raise closed(self.name)
        return self._socket
