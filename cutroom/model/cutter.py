"""A machine that cuts, as far as a file for it must know."""

import re
from dataclasses import dataclass
from enum import StrEnum

from cutroom.model.motion import Motion
from cutroom.model.plot import Role
from cutroom.model.profile import Connection


class ToolKind(StrEnum):
    """What leaves the line, and so how the machine must be led."""

    PEN = "pen"  # leaves its line where it is led
    DRAG_KNIFE = "drag knife"  # its tip trails behind the pivot that is led
    TANGENTIAL_KNIFE = "tangential knife"  # turned by the machine, lifted to turn at corners
    LASER = "laser"  # burns away half its width on either side


class Language(StrEnum):
    """What a cutter reads; also the kind of file."""

    DXF = "cut-dxf"
    HPGL = "cut-hpgl"
    ISO = "cut-gcode"
    SVG = "cut-svg"


@dataclass(frozen=True, slots=True)
class Tool:
    """A tool of a cutter.

    Attributes:
        name: `knife`, `pen`; unique in the machine.
        kind: What leaves the line.
        roles: What it draws or cuts.
        number: Of its pen or holder, where the language has numbers.
        layer: Name of its layer, where the language has layers; in SVG of its group.
        colour: Number of its colour (DXF: 1 red to 7 black).
        rgb: The colour by which the machine knows it (SVG: `#b3261e`), or empty.
        offset: From the pivot back to the tip of a drag knife (mm).
        kerf: Width that a laser burns away (mm).
        corner_deg: A drag knife is swung round, a tangential knife lifted, at a sharper corner than this (degrees).
        overcut: A closed line is followed so far beyond its start (mm).
        lead: A closed laser cut starts so far off in the waste (mm).
        speed: With the tool down (mm/s), or None to leave the machine's own.
        power: What the machine takes as its power (ISO 6983 `S`), or None; only the owner's test piece tells which.
        force: What the machine takes as its force (HP-GL `FS`), or None.
        choose: Instructions that bring the tool in.
        down: Instructions that put it down or switch it on.
        up: Instructions that lift it or switch it off.
    """

    name: str
    kind: ToolKind
    roles: tuple[Role, ...]
    number: int = 1
    layer: str = ""
    colour: int = 7
    rgb: str = ""
    offset: float = 0.0
    kerf: float = 0.0
    corner_deg: float = 20.0
    overcut: float = 0.0
    lead: float = 0.0
    speed: float | None = None
    power: float | None = None
    force: int | None = None
    choose: tuple[str, ...] = ()
    down: tuple[str, ...] = ()
    up: tuple[str, ...] = ()


def ends_program(instruction: str) -> bool:
    """An instruction of ISO 6983 after which nothing more is run: M2 or M30."""
    return re.search(r"\bM0*(?:2|30)\b", instruction) is not None


@dataclass(frozen=True, slots=True)
class Cutter:
    """A machine that cuts.

    Machine axes: x along the bed, y across it. The marker is turned, then laid so that the least corner of the cloth
    comes to `origin`.

    Attributes:
        name: The profile's file name: `gantry-laser`.
        title: What the machine is, in words.
        language: What it reads.
        length: Of the bed, along x (mm).
        width: Of the bed, along y (mm).
        tools: In the order in which they work.
        origin: Where the least corner of the cloth lies (mm).
        turned: Quarter turns of the marker, counter-clockwise (degrees).
        inches: Coordinates are inches, not mm.
        arcs: True arcs are written where they fit; else chords.
        splines: Smooth runs are written as cubic splines (DXF R2000), in place of arcs.
        tolerance: How far a written line may lie from the wanted one (mm).
        version: Of the DXF: `R12` or `R2000`.
        form: Of HP-GL: `absolute`, `relative`, `encoded` or `encoded 7-bit`.
        largest: Greatest HP-GL coordinate.
        turn_axis: Letter of the axis that turns a tangential knife (ISO 6983), or empty when it turns by itself.
        start: Instructions before the first line.
        end: Instructions after the last.
        strip: Length of cloth finished before the work moves on (mm); 0 for none.
        small: Pieces of less than this area (mm2) are cut first.
        shared_once: Stretches of cut line that two pieces share are cut once, not with each piece.
        motion: Its speeds, or None when they are not known.
        correction: Factors along and across the bed that put right a machine that is out of scale.
        connection: The way to it, or None when files are carried to it.
    """

    name: str
    title: str
    language: Language
    length: float
    width: float
    tools: tuple[Tool, ...]
    origin: tuple[float, float] = (0.0, 0.0)
    turned: int = 0
    inches: bool = False
    arcs: bool = True
    splines: bool = False
    tolerance: float = 0.02
    version: str = "R12"
    form: str = "absolute"
    largest: int = 8388607
    turn_axis: str = ""
    start: tuple[str, ...] = ()
    end: tuple[str, ...] = ()
    strip: float = 0.0
    small: float = 0.0
    shared_once: bool = False
    motion: Motion | None = None
    correction: tuple[float, float] = (1.0, 1.0)
    connection: Connection | None = None

    def tool(self, name: str) -> Tool:
        """The tool of that name."""
        return next(tool for tool in self.tools if tool.name == name)
