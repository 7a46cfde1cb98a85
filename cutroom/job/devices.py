"""What sending must know of a machine, whether it draws or cuts."""

import io
from dataclasses import dataclass
from pathlib import Path

from cutroom.model.cutter import Language as CutterLanguage
from cutroom.model.motion import Motion
from cutroom.model.profile import Connection
from cutroom.read.cutter import list_cutters, read_cutter
from cutroom.read.profile import read_plotter
from cutroom.read.profile_files import names_a_file
from cutroom.read.toml import load_toml
from cutroom.send.gcode import Gcode, Handling
from cutroom.send.hpgl import Hpgl
from cutroom.send.hpgl_words import ADVANCES, commands
from cutroom.send.language import AsIs

_TAKES = {
    CutterLanguage.HPGL: Hpgl.name,
    CutterLanguage.ISO: Gcode.name,
    CutterLanguage.DXF: AsIs.name,
    CutterLanguage.SVG: AsIs.name,
}


@dataclass(frozen=True, slots=True)
class Device:
    """What sending must know of a machine.

    Attributes:
        name: Its profile.
        connection: The way to it, or None.
        frame: Length of a frame along the paper (mm), or None when it has none.
        advances: Commands that move its paper on between two frames.
        end: What it is told at the end of a file.
        motion: Its speeds, or None.
        cuts: It has a blade or a beam.
        takes: The language that it takes.
        tools: How its tools are put down and lifted, where a program says so; else empty.
    """

    name: str
    connection: Connection | None
    frame: float | None
    advances: int
    end: str
    motion: Motion | None
    cuts: bool
    takes: str
    tools: tuple[Handling, ...] = ()


def device_named(name: str) -> Device:
    """A plotter or a cutter by its name, or by the path of its profile.

    Raises:
        CutroomError: There is no such machine, or its profile is wrong.
    """
    path = Path(name)
    is_cutter = "tools" in load_toml(path) if names_a_file(name) else name in list_cutters()
    if is_cutter:
        cutter = read_cutter(name)
        between = "" if cutter.language is CutterLanguage.HPGL else "\n"
        return Device(
            cutter.name,
            cutter.connection,
            cutter.length,
            1,
            between.join(cutter.end),
            cutter.motion,
            cuts=True,
            takes=_TAKES[cutter.language],
            tools=tuple(Handling(tool.down, tool.up) for tool in cutter.tools if tool.down and tool.up),
        )
    plotter = read_plotter(name)
    return Device(
        plotter.name, plotter.connection, plotter.frame, _advances(plotter.between), plotter.end, plotter.motion,
        cuts=False, takes=Hpgl.name,
    )  # fmt: skip


def _advances(between: str) -> int:
    """Commands of the profile that move the paper on between two frames."""
    return sum(name in ADVANCES for _, name, _, _ in commands(io.BytesIO(between.encode("ascii", "replace"))))
