"""The line that a connection names, opened and kept from all other senders."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from cutroom.errors import DeviceError
from cutroom.model.profile import Connection, Line
from cutroom.send.files import Output, open_file, open_spool
from cutroom.send.lock import locked
from cutroom.send.network import NetworkLine
from cutroom.send.transport import Transport


@contextmanager
def opened(connection: Connection, *, job: str) -> Iterator[Transport]:
    """Open a line for as long as the block runs.

    Args:
        connection: The way to the machine.
        job: A file name for the job, for spool folders.

    Raises:
        DeviceError: The machine is not there, taken, or does not answer.
    """
    if not connection.address and connection.line is not Line.OUTPUT:
        raise DeviceError("its profile gives no address", "Name it: --at serial:/dev/ttyUSB0, --at tcp:plotter:9100")
    with locked(connection), _open(connection, job) as line:
        yield line


def _open(connection: Connection, job: str) -> Transport:
    match connection.line:
        case Line.SERIAL:
            from cutroom.send.serial_line import SerialLine  # pyserial is needed for nothing else

            return SerialLine(connection)
        case Line.NETWORK:
            return NetworkLine(connection.address, answer_s=connection.answer_s)
        case Line.SPOOL:
            return open_spool(Path(connection.address), job)
        case Line.FILE:
            return open_file(Path(connection.address))
        case Line.OUTPUT:
            return Output()
