"""A serial line: RS-232, or a USB cable that acts as one."""

import termios
import time
from contextlib import suppress

import serial

from cutroom.errors import DeviceError
from cutroom.model.profile import Connection, Flow, Parity
from cutroom.send.descriptor import give, hear
from cutroom.send.faults import closed, gone, line_fault
from cutroom.send.transport import Transport

_PARITIES = {Parity.NONE: serial.PARITY_NONE, Parity.EVEN: serial.PARITY_EVEN, Parity.ODD: serial.PARITY_ODD}
_BLOCK = 4096
_LOOK_S = 0.02
"""Time between looks at what has not left yet (s)."""


class SerialLine(Transport):
    """A machine on a serial port. The operating system itself obeys XON/XOFF and RTS/CTS."""

    answers = True

    def __init__(self, connection: Connection) -> None:
        """Open the port and keep all others from it.

        Raises:
            DeviceError: There is no such port, it is taken, or it cannot be set as the profile says.
        """
        self.name = connection.address
        self._finished = False
        self._port: serial.Serial | None = None
        with_parity = connection.parity is not Parity.NONE
        try:
            self._port = serial.Serial(
                connection.address,
                connection.baud,
                bytesize=serial.SEVENBITS if with_parity else serial.EIGHTBITS,
                parity=_PARITIES[connection.parity],
                xonxoff=connection.flow is Flow.XON_XOFF,
                rtscts=connection.flow is Flow.RTS_CTS,
                timeout=0,
                write_timeout=0,
                exclusive=True,
            )
        except serial.SerialException as fault:
            raise _opening_fault(fault, self.name) from fault
        except (OSError, ValueError) as fault:
            raise _opening_fault(fault, self.name) from fault

    def send(self, data: bytes, within: float) -> int:
        """Hand over the first bytes; see `Transport`."""
        return give(self._open().fileno(), data[:_BLOCK], within, self.name)

    def receive(self, within: float) -> bytes:
        """What the machine said; see `Transport`."""
        said = hear(self._open().fileno(), _BLOCK, within, self.name)
        if said == b"":
            raise gone(self.name)
        return said or b""

    def unsent(self) -> int:
        """Bytes that the operating system still holds."""
        try:
            return int(self._open().out_waiting)
        except OSError as fault:
            raise line_fault(fault, self.name) from fault

    def finish(self, within: float) -> bool:
        """Wait until all has left; see `Transport`."""
        until = time.monotonic() + within
        while self.unsent():
            if time.monotonic() >= until:
                return False
            time.sleep(_LOOK_S)
        self._finished = True
        return True

    def close(self) -> None:
        """Let go of the port; what has not left is dropped, or closing would wait for a clogged machine."""
        port, self._port = self._port, None
        if port is None:
            return
        if not self._finished:
            with suppress(OSError, termios.error):  # it is gone already
                port.reset_output_buffer()
        with suppress(OSError, termios.error):
            port.close()

    def _open(self) -> serial.Serial:
        if self._port is None:
            raise closed(self.name)
        return self._port


def _opening_fault(fault: Exception, name: str) -> DeviceError:
    if isinstance(fault, OSError) and fault.errno:
        return line_fault(fault, name)
    text = str(fault).strip()
    if "Could not configure" in text or "not a tty" in text.lower():
        return DeviceError(
            "it is no serial port, or cannot be set to this speed and parity",
            "Name the port that the machine hangs on; put [connection] of the profile right",
            file=name,
        )
    return DeviceError(f"it cannot be opened: {text}", "Look at the cable and the name of the port", file=name)
