"""A stand-in set up, and its drawing judged."""

from pathlib import Path

from cutroom.errors import FileError, ProfileError
from cutroom.job.devices import device_named
from cutroom.send.address import split_host
from cutroom.send.gcode import Gcode
from cutroom.send.hpgl import Hpgl
from cutroom.standin.compare import compare, drawn_by
from cutroom.standin.machine import Kind, Machine
from cutroom.standin.motion import Motion
from cutroom.standin.serve import Link, NetworkLink, PortLink


def opened_link(listen: str) -> Link:
    """A port of this computer, or a made-up serial port when none is named.

    Raises:
        DeviceError: It is no port, or it is taken.
    """
    return NetworkLink(*split_host(listen, least=0)) if listen else PortLink()


def kind_of(profile: str, *, memory: int, xon_xoff: bool, program: bool) -> Kind:
    """What sort of machine it stands in for.

    Args:
        profile: The machine: it takes that one's language, has its tools' words and its speeds. Empty for none.
        memory: Bytes that it holds.
        xon_xoff: It says stop and go by XOFF and XON.
        program: It takes ISO 6983 programs, where no profile says what it takes.

    Raises:
        CutroomError: There is no such machine, or it takes a language that is no row of orders.
    """
    if not profile:
        return Kind(memory=memory, xon_xoff=xon_xoff, language="gcode" if program else "hpgl")
    device = device_named(profile)
    if device.takes not in {Hpgl.name, Gcode.name}:
        raise ProfileError(
            "it takes whole files, which nothing here draws", "Name a machine that takes HPGL or ISO 6983"
        )
    drives = device.motion
    motion = Motion() if drives is None else Motion(
        drives.speed, drives.travel_speed, drives.acceleration, drives.corner,
        drives.lift_s / 2, drives.choose_s, drives.advance_s,
    )  # fmt: skip
    return Kind(
        motion, memory, "gcode" if device.takes == Gcode.name else "hpgl", xon_xoff,
        tools=tuple((tool.down, tool.up) for tool in device.tools),
    )  # fmt: skip


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
    difference = compare(machine.drawn, drawn_by(data, language=machine.kind.language, tools=machine.kind.tools))
    return f"{words}; {difference}", difference.none
