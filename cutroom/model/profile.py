"""A machine, as far as a file for it must know."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from cutroom.model.motion import Motion
from cutroom.model.plot import Role


class Line(StrEnum):
    """The kind of line a machine hangs on."""

    SERIAL = "serial"
    NETWORK = "network"
    SPOOL = "spool"  # a folder from which something else feeds the machine
    FILE = "file"
    OUTPUT = "output"  # standard output, into another program


class Flow(StrEnum):
    """How a machine says that it can take no more for now."""

    NONE = "none"
    XON_XOFF = "xon-xoff"
    RTS_CTS = "rts-cts"
    ENQUIRY = "enquiry"  # it is asked how much room its memory has before every block: ESC . B


SIGNALS = 10
"""Signals to a letter on a serial line: a start, 8 bits or 7 and their parity, a stop."""


class Parity(StrEnum):
    """The bit of a serial letter that shows a garbled one."""

    NONE = "none"
    EVEN = "even"
    ODD = "odd"


@dataclass(frozen=True, slots=True)
class Connection:
    """The way to a machine.

    Attributes:
        line: The kind of line.
        address: A port, `host:port`, a folder or a file; empty when it must be named at each sending.
        baud: Signals a second on a serial line; a letter takes ten of them with 8 bits and no parity.
        parity: On a serial line; with one there are 7 bits to a letter.
        flow: How it says that it can take no more.
        buffer_bytes: Its memory, or None when that is not known.
        answer_s: Time in which it must take its first letters, or answer when it is asked (s).
        patience_s: Time it may take nothing in the middle of the work before that is called a fault (s).
    """

    line: Line
    address: str = ""
    baud: int = 9600
    parity: Parity = Parity.NONE
    flow: Flow = Flow.NONE
    buffer_bytes: int | None = None
    answer_s: float = 10.0
    patience_s: float = 300.0

    def seconds_for(self, size: int) -> float:
        """Time that so many bytes take on a serial line (s); 0 on other lines, which are faster than any machine."""
        return size * SIGNALS / self.baud if self.line is Line.SERIAL else 0.0


@dataclass(frozen=True, slots=True)
class Plotter:
    """A pen or ink plotter that takes HPGL.

    Attributes:
        name: The profile's file name: `roll-pen-plotter`.
        title: What the machine is, in words.
        width: Drawable width across the paper (mm).
        frame: Longest drawable length of one frame along the paper (mm).
        pens: Pen number by role; 0 leaves the role out.
        pen_speed: Pen-down speed (cm/s) to ask for, or None to leave the machine's own.
        start: HPGL sent after `IN;`.
        between: HPGL sent between frames.
        end: HPGL sent at the end.
        largest: Greatest coordinate (plotter units) the machine takes.
        connection: The way to it, or None when files are carried to it.
        motion: Its speeds, or None when they are not known.
        form: `absolute`, `relative`, `encoded` (HP-GL/2, 8 bits) or `encoded 7-bit`.
        forces: Force by the number of the pen (HP-GL `FS`), for machines that have it.
        speeds: Pen-down speed (cm/s) by the number of the pen, before `pen_speed`.
        correction: Factors along and across the paper that put right a machine that is out of scale.
        colours: Colour (`#1d2733`) by the number of the pen, for pictures; a pen without one has that of its lines.
        own_letters: The words on the pieces are written in the machine's own letters (HP-GL `LB`), where it has them
            and they lie in one frame; other words, and the head of the sheet, stay strokes.
    """

    name: str
    title: str
    width: float
    frame: float
    pens: Mapping[Role, int] = field(default_factory=dict)
    pen_speed: float | None = None
    start: str = ""
    between: str = "PG;"
    end: str = "PU;SP0;"
    largest: int = 32767
    connection: Connection | None = None
    motion: Motion | None = None
    form: str = "absolute"
    forces: Mapping[int, int] = field(default_factory=dict)
    speeds: Mapping[int, float] = field(default_factory=dict)
    correction: tuple[float, float] = (1.0, 1.0)
    own_letters: bool = False
    colours: Mapping[int, str] = field(default_factory=dict)

    def colours_of_roles(self) -> dict[Role, str]:
        """The colour of each kind of line whose pen has one."""
        return {role: self.colours[pen] for role, pen in self.pens.items() if pen in self.colours}


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet for a desktop printer.

    Attributes:
        name: `A4`, `Letter`.
        width: mm, portrait.
        height: mm.
        margin: Strip at every edge that is not printed (mm).
        overlap: Strip that neighbouring sheets share (mm).
        correction: Factors along the width and along the height of the sheet when it stands upright, that put right a
            printer that is out of scale.
        printer: Name or path of the printer's profile, or empty when only the paper is named.
    """

    name: str
    width: float
    height: float
    margin: float = 10.0
    overlap: float = 10.0
    correction: tuple[float, float] = (1.0, 1.0)
    printer: str = ""

    @property
    def named(self) -> str:
        """By what it is found again: its printer, or its own name."""
        return self.printer or self.name
