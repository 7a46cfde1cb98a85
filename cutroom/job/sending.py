"""`send`: a proven file to a machine, from its beginning or from where it broke off."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import BinaryIO

from cutroom.errors import DeviceError, FileError
from cutroom.job.devices import Device, device_named
from cutroom.job.proven import Copy
from cutroom.model.motion import Motion
from cutroom.model.profile import Connection, Line
from cutroom.report.sending import FOR_ANY_MACHINE, sending_cautions
from cutroom.send.address import names_a_line, parse_address
from cutroom.send.gcode import Gcode
from cutroom.send.hpgl import Hpgl
from cutroom.send.items import Start, from_frame, from_length, from_stroke, numbered
from cutroom.send.journal import journal_of, read_journal
from cutroom.send.language import AsIs, Contents, Language, contents_of
from cutroom.send.resume import Standing, standing
from cutroom.units import Unit, format_length

_HPGL, _GCODE = {".plt", ".hpgl", ".hpg", ".hgl", ".pl"}, {".nc", ".gcode", ".ngc", ".tap", ".cnc", ".iso"}
_SMALL = 4 << 20
"""Bytes up to which a proven file is read through before it is sent, so that its strokes can be counted."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a person asks for.

    Attributes:
        to: A profile, or the address of a line.
        at: An address, in place of the profile's.
        plotter: A profile for what an address does not say: frames, end, speeds.
        stroke: Begin with this stroke, from 1.
        frame: Begin with this frame, from 1.
        length: Begin at this place along the paper (mm from the start of the drawing).
        resume: Begin where the journal says.
        anew: Begin at the beginning, whatever the journal says.
        marks: Draw registration crosses when it is not the beginning.
        as_is: Send bytes without looking into them.
    """

    to: str
    at: str = ""
    plotter: str = ""
    stroke: int | None = None
    frame: int | None = None
    length: float | None = None
    resume: bool = False
    anew: bool = False
    marks: bool = True
    as_is: bool = False

    @property
    def place(self) -> bool:
        """A place is named at which to begin."""
        return self.stroke is not None or self.frame is not None or self.length is not None


@dataclass(frozen=True, slots=True, eq=False)
class Planned:
    """What would be sent, and where to.

    Attributes:
        copy: The file.
        wanted: What was asked for.
        connection: The way to the machine.
        device: Its profile, or None when only an address is known.
        language: What the file is in; one for each reading.
        contents: What it holds, or None when it is too long to be read first.
        start: Where to begin; None when the machine must be asked.
        before: What the journal says of the last sending of this file, or None.
        cautions: What to mind.
    """

    copy: Copy
    wanted: Wanted
    connection: Connection
    device: Device | None
    language: Callable[[], Language]
    contents: Contents | None
    start: Start | None
    before: Standing | None
    cautions: tuple[str, ...]

    @property
    def cuts(self) -> bool:
        """The machine has a blade or a beam, or might have."""
        by_file = self.copy.kind.startswith("cut-") or self.language().name == Gcode.name
        if self.device is None:
            return by_file or self.copy.kind in FOR_ANY_MACHINE or self.wanted.as_is
        return by_file or self.device.cuts

    @property
    def moves(self) -> bool:
        """A machine moves when it is sent; otherwise a file is written."""
        return self.connection.line is Line.SPOOL or not written_whole(self.connection)

    @property
    def may_move(self) -> bool:
        """A machine may move when it is sent: also one that somebody put behind standard output."""
        return self.moves or self.connection.line is Line.OUTPUT

    @property
    def seconds(self) -> float | None:
        """Time that the whole file takes (s), as far as it is known: the slower of machine and line."""
        known = [self.copy.seconds] if self.copy.seconds else []
        motion = self.device.motion if self.device else None
        if not known and motion and self.contents:
            known.append(machine_seconds(self.contents, motion))
        if self.connection.line is Line.SERIAL:
            known.append(self.connection.seconds_for(self.copy.size))
        return max(known) if known else None


def machine_seconds(contents: Contents, motion: Motion) -> float:
    """Time for drawing, travelling and lifting (s), without speeding up and slowing down."""
    lifts = contents.strokes * motion.lift_s  # up and down again
    return contents.ink / motion.speed + contents.travel / motion.travel_speed + lifts


def plan_sending(copy: Copy, wanted: Wanted) -> Planned:
    """Find the machine, read the file, and find where to begin. Nothing is opened and nothing is sent.

    Raises:
        CutroomError: There is no such machine, the file is not what it says, or cannot be begun there.
    """
    _one_beginning(wanted, copy)
    device, connection = _machine(wanted)
    language = _language(copy, wanted, device)
    if device is not None and not wanted.as_is:
        _for_this_machine(copy, language().name, device)
    journal = journal_of(copy.path)
    before = standing(read_journal(journal))
    if before is not None and before.sha256 != copy.sha256:
        if wanted.resume:
            raise FileError(
                "it has changed since it was being sent",
                "Look at what is drawn, and send with --from-stroke or --anew",
                file=str(copy.path),
            )
        before = None
    _not_by_mistake(copy, wanted, before, connection)
    contents = None
    if not copy.proven or copy.size <= _SMALL or wanted.resume or wanted.place:
        contents = contents_of(language().passages(rewound(copy)))
        if language().rests and not contents.strokes:
            raise FileError("it draws nothing", "Name the file that was meant", file=str(copy.path))
    start = _start(copy, wanted, language, before)
    planned = Planned(copy, wanted, connection, device, language, contents, start, before, ())
    again = before is not None and not before.whole
    return replace(planned, cautions=sending_cautions(cuts=planned.cuts, again=again))


def rewound(copy: Copy) -> BinaryIO:
    """The file from its beginning."""
    copy.data.seek(0)
    return copy.data


def _one_beginning(wanted: Wanted, copy: Copy) -> None:
    said = [wanted.stroke, wanted.frame, wanted.length, wanted.resume or None, wanted.anew or None]
    if sum(one is not None for one in said) > 1:
        raise FileError(
            "it can begin at one place only", "Say one of --from-stroke, --from-frame, --from-length, --resume, --anew",
            file=str(copy.path),
        )  # fmt: skip


def _machine(wanted: Wanted) -> tuple[Device | None, Connection]:
    """The profile and the way to it."""
    if names_a_line(wanted.to):
        device = device_named(wanted.plotter) if wanted.plotter else None
        line, address = parse_address(wanted.to)
    else:
        device = device_named(wanted.to)
        if not wanted.at and (device.connection is None or not device.connection.address):
            raise DeviceError(
                f'the profile "{device.name}" does not say where the machine is',
                "Name it: --at serial:/dev/ttyUSB0, --at tcp:plotter:9100; or put [connection] into your own profile",
            )
        if not wanted.at:
            assert device.connection is not None
            return device, device.connection
        line, address = parse_address(wanted.at)
    known = device.connection if device else None
    if known is not None and known.line is line:
        return device, replace(known, address=address)
    if line is Line.SERIAL:
        raise DeviceError(
            "nobody knows how this machine says that it can take no more",
            'Name its profile, with line = "serial" and flow in its [connection]: a flooded machine loses strokes',
            file=address,
        )
    return device, Connection(line, address)


def _language(copy: Copy, wanted: Wanted, device: Device | None) -> Callable[[], Language]:
    """What the file is in, by the manifest or by its name's ending."""
    ending = copy.path.suffix.lower()
    if wanted.as_is:
        return AsIs
    if copy.kind.endswith("-gcode") or (not copy.kind and ending in _GCODE):
        return lambda: Gcode(device.tools if device else ())
    if copy.kind.endswith("-hpgl") or (not copy.kind and ending in _HPGL):
        frame, advances = (device.frame, device.advances) if device else (None, 1)
        return lambda: Hpgl(frame_mm=frame, advances=advances)
    if copy.kind or copy.proven:
        return AsIs  # PDF, DXF, SVG: whole or not at all
    raise FileError(
        f'nobody knows what language a file ending in "{ending}" is in',
        "Name it .plt for HPGL or .nc for ISO 6983; or say --as-is to send its bytes without looking",
        file=str(copy.path),
    )


def _for_this_machine(copy: Copy, language: str, device: Device) -> None:
    """The file is in the machine's language, and a blade gets only what is to be cut."""
    if language != device.takes:
        raise FileError(
            f'the machine "{device.name}" takes {device.takes}, and this is {copy.kind or language}',
            "Send the file that was made for it; --as-is sends it without looking",
            file=str(copy.path),
        )
    if device.cuts and copy.kind and not copy.kind.startswith("cut-"):
        raise FileError(
            f'it is a drawing ({copy.kind}), and the machine "{device.name}" would cut its letters and grainlines, too',
            "Send the file of a kind that begins with cut-; --as-is sends it without looking",
            file=str(copy.path),
        )


def _not_by_mistake(copy: Copy, wanted: Wanted, before: Standing | None, connection: Connection) -> None:
    """A file that was left half sent is not begun again without saying so, and only such a one is gone on with."""
    if wanted.resume:
        if before is None:
            raise FileError(
                "nothing says that it was being sent: there is no journal of it",
                "Leave out --resume, or say where with --from-stroke, --from-frame or --from-length",
                file=str(copy.path),
            )
        if before.whole:
            raise FileError("it was sent whole", "Say --anew to draw it once more", file=str(copy.path))
        return
    if before is None or before.whole or wanted.anew or wanted.place or written_whole(connection):
        return
    raise FileError(
        "it was being sent and did not come to its end",
        "Say --resume to go on where it broke off, --from-stroke, --from-frame or --from-length to begin elsewhere, or "
        "--anew to draw it from the beginning",
        file=str(copy.path),
    )


def _start(copy: Copy, wanted: Wanted, language: Callable[[], Language], before: Standing | None) -> Start | None:
    if wanted.resume:
        return None
    if not wanted.place:
        return Start()
    try:
        items = numbered(language().passages(rewound(copy)))
        if wanted.stroke is not None:
            return from_stroke(items, wanted.stroke)
        if wanted.frame is not None:
            return from_frame(items, wanted.frame)
        assert wanted.length is not None
        drawn_to = before.seen if before is not None else 0
        return from_length(items, wanted.length, drawn_to=drawn_to, say=lambda mm: format_length(mm, Unit.MILLIMETRE))
    except FileError as fault:
        raise fault.at(file=str(copy.path)) from fault


def written_whole(connection: Connection) -> bool:
    """The line is a file that is whole or not there: no machine is on the other side, and no journal is needed."""
    if connection.line in {Line.SPOOL, Line.OUTPUT}:
        return True
    path = Path(connection.address)
    return connection.line is Line.FILE and (path.is_file() or not path.exists())
