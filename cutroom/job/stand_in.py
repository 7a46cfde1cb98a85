"""A stand-in set up, and its drawing judged."""

from pathlib import Path

from cutroom.errors import FileError
from cutroom.send.address import split_host
from cutroom.standin.compare import compare, drawn_by
from cutroom.standin.machine import Machine
from cutroom.standin.serve import Link, NetworkLink, PortLink


def opened_link(listen: str) -> Link:
    """A port of this computer, or a made-up serial port when none is named.

    Raises:
        DeviceError: It is no port, or it is taken.
    """
    return NetworkLink(*split_host(listen, least=0)) if listen else PortLink()


def judged(machine: Machine, file: Path | None) -> tuple[str, bool]:
    """What was drawn, in words, and whether it is what a file says; without a file, whether anything was wrong.

    Raises:
        FileError: The file cannot be read.
    """
    words = (
        f"{len(machine.drawn)} strokes, {machine.inked / 1000:.2f} m drawn, {machine.travelled / 1000:.2f} m between"
    )
    if machine.faults or machine.overflowed:
        words += f"; {len(machine.faults)} commands not understood, {machine.overflowed} bytes lost"
    if file is None:
        return words, not machine.faults and not machine.overflowed
    try:
        data = file.read_bytes()
    except OSError as fault:
        raise FileError(f"it cannot be read: {fault.strerror}", "Check its name", file=str(file)) from fault
    difference = compare(machine.drawn, drawn_by(data, language=machine.kind.language))
    return f"{words}; {difference}", difference.none
