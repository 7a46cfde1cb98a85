"""Machines that cut, by name."""

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from cutroom.errors import raise_all
from cutroom.geometry.plotter_units import PLU_TO_MM
from cutroom.model.cutter import Cutter, Language, Tool, ToolKind, ends_program
from cutroom.model.plot import Role
from cutroom.read.connection import read_connection
from cutroom.read.motion import read_motion
from cutroom.read.profile import COLOUR, FORMS, INSTRUCTIONS
from cutroom.read.profile_files import as_profile_errors, correction_of, list_profiles, open_profile
from cutroom.read.reading import Reading, echo, listed
from cutroom.read.shapes import CutterShape, ToolShape

LANGUAGES = {"dxf": Language.DXF, "hpgl": Language.HPGL, "iso 6983": Language.ISO, "svg": Language.SVG}
"""What a profile may say of its machine's language."""
VERSIONS = ("R12", "R2000")
SHARED_LINES = ("each", "once")
"""Stretches of cut line that touching pieces share are cut with each of them, or once."""
_MARKS = {Role.SEAM, Role.GRAIN, Role.LABEL, Role.FABRIC, Role.SHEET}
"""What is drawn, never cut."""
_CUTS = {Role.CUT, Role.CUTOUT}
_KNIVES = {ToolKind.DRAG_KNIFE, ToolKind.TANGENTIAL_KNIFE}
_WORDS = {
    Language.ISO: re.compile(r"(?:[A-Z]-?\d*\.?\d+)(?: [A-Z]-?\d*\.?\d+)*"),
    Language.HPGL: INSTRUCTIONS,
}
_WITHOUT_WORDS = {Language.DXF: "a DXF", Language.SVG: "an SVG"}
"""Drawings, which hold no instructions."""
_LAYER = re.compile(r"[A-Z0-9$_-]{1,31}")


def list_cutters() -> tuple[str, ...]:
    """The names of the cutters that a job may name."""
    return list_profiles("cutters")


def read_cutter(name_or_path: str | Path) -> Cutter:
    """A cutter by its name, or from a profile of one's own by its path.

    Raises:
        ProfileError: There is no such cutter, or its profile is wrong; with line and key.
        FaultsError: Several of these.
        FileError: The profile cannot be read.
    """
    path, reading, shape = open_profile("cutters", str(name_or_path), CutterShape)
    said = reading.asked(
        shape.language, "language", "each machine takes its own language", f"one of {listed(LANGUAGES)}"
    )
    language = LANGUAGES.get(said or "")
    if said is not None and language is None:
        reading.known(said, LANGUAGES, "language", "language")
    sides = {}
    for key, value in (("length", shape.length), ("width", shape.width)):
        why = "what is cut beyond the bed is spoilt, and the machine with it"
        sides[key] = reading.asked(reading.length(value, key, positive=True), key, why, "the bed's size")
    tools = _tools(reading, shape.tools or {}, language or Language.DXF)
    if not shape.tools:
        reading.asked(None, "tools", "nothing would be cut", '[tools.knife] and under it kind = "drag knife"')
    _judge_words(reading, shape, language)
    turned = shape.turned or 0
    if turned not in {0, 90, 180, 270}:
        reading.fault("turned", f"{turned} is not a number of quarter turns", "Write 0, 90, 180 or 270")
    tolerance = _or(reading.length(shape.tolerance, "tolerance", positive=True), 0.02)
    if not 0.001 <= tolerance <= 0.05:
        reading.fault("tolerance", f"{tolerance:g} mm is too fine or too coarse", "Write 0.001 mm up to 0.05 mm")
    origin = (0.0, 0.0) if shape.origin is None else reading.point(shape.origin, "origin")
    strip = _or(reading.length(shape.strip, "strip"), 0.0)
    small = _or(reading.length(shape.small, "small"), 0.0)
    largest = shape.largest or 8388607
    longest = max((side for side in sides.values() if side is not None), default=0.0)
    if language is Language.HPGL and longest * PLU_TO_MM > largest:
        reading.fault("largest", f"the bed is {longest * PLU_TO_MM:.0f} plotter units", "Put length or width right")
    motion = None if shape.motion is None else read_motion(reading, shape.motion)
    connection = None if shape.connection is None else read_connection(reading, shape.connection)
    raise_all(as_profile_errors(reading.found, path))
    assert language is not None
    assert origin is not None
    return Cutter(
        name=path.stem,
        title=shape.title or path.stem,
        language=language,
        length=sides["length"] or 0.0,
        width=sides["width"] or 0.0,
        tools=tools,
        origin=origin,
        turned=turned,
        inches=bool(shape.inches),
        arcs=language is not Language.HPGL and not shape.splines and (shape.arcs is None or shape.arcs),
        splines=bool(shape.splines),
        tolerance=tolerance,
        version=shape.version or VERSIONS[0],
        form=shape.form or FORMS[0],
        largest=largest,
        turn_axis=shape.turn_axis or "",
        start=shape.start or (),
        end=shape.end or (),
        strip=strip,
        small=small**2,
        shared_once=shape.shared_lines == SHARED_LINES[1],
        motion=motion,
        correction=correction_of(path.stem),
        connection=connection,
    )


def _or(value: float | None, other: float) -> float:
    return other if value is None else value


def _judge_words(reading: Reading, shape: CutterShape, language: Language | None) -> None:
    if shape.version is not None:
        reading.known(shape.version, VERSIONS, "version", "version of DXF")
    if shape.form is not None:
        reading.known(shape.form, FORMS, "form", "form of HP-GL")
    if shape.splines:
        _judge_splines(reading, shape, language)
    if shape.inches and language is Language.SVG:
        reading.fault("inches", "an SVG for a cutter is in true millimetres", "Leave it out")
    if shape.turn_axis is not None and shape.turn_axis not in {"A", "B", "C"}:
        reading.fault("turn_axis", f"{echo(shape.turn_axis)} is no axis that turns", 'Write "A", "B" or "C"')
    if shape.shared_lines is not None:
        reading.known(shape.shared_lines, SHARED_LINES, "shared_lines", "way to cut shared lines")
    for key, words in (("start", shape.start), ("end", shape.end)):
        _judge_instructions(reading, key, words, language)


def _judge_splines(reading: Reading, shape: CutterShape, language: Language | None) -> None:
    """Splines are of a later DXF, and instead of arcs."""
    if language is not Language.DXF:
        reading.fault("splines", "only a DXF holds splines", "Leave it out")
    elif (shape.version or VERSIONS[0]) == VERSIONS[0]:
        reading.fault("splines", "a DXF R12 holds no splines", 'Write version = "R2000", or leave it out for polylines')
    if shape.arcs:
        reading.fault("splines", "a curve is written as arcs or as a spline, not as both", "Leave out one of them")


def _judge_instructions(reading: Reading, place: str, words: tuple[str, ...] | None, language: Language | None) -> None:
    """Instructions must be words of the machine's language."""
    if words and language in _WITHOUT_WORDS:
        reading.fault(place, f"{_WITHOUT_WORDS[language]} holds no instructions", "Leave it out")
    for word in words or ():
        if language in _WORDS and _WORDS[language].fullmatch(word) is None:
            example = '"M3 S600"' if language is Language.ISO else '"PU;"'
            reading.fault(place, f"{echo(word)} is no instruction of {_said(language)}", f"Write such as {example}")
    last = 1 if place == "end" else 0
    if language is Language.ISO and any(map(ends_program, (words or ())[: len(words or ()) - last])):
        what = "M2 and M30 end the program: what follows is never run"
        reading.fault(place, what, "Write it last in end, or leave it out: M30 is added")


def _said(language: Language) -> str:
    return next(word for word, one in LANGUAGES.items() if one is language)


def _tools(reading: Reading, raw: dict[str, Any], language: Language) -> tuple[Tool, ...]:
    tools = []
    owner: dict[Role, str] = {}
    for name, table in raw.items():
        tool = _tool(reading, name, table, language)
        if tool is None:
            continue
        for role in tool.roles:
            if role in owner:
                what = f"{role.casefold()} is done by {owner[role]} already"
                reading.fault(f"tools.{name}.does", what, "Give each kind of line one tool")
            owner.setdefault(role, name)
        tools.append(tool)
    for role in (Role.CUT, Role.CUTOUT):
        if tools and role not in owner and not any(reading.faulted(f"tools.{name}.does") for name in raw):
            reading.fault("tools", f"no tool does {role.casefold()}", f'Add "{role.casefold()}" to what one does')
    if len({tool.layer for tool in tools}) < len(tools):
        reading.fault("tools", "two tools have one layer", "Give each its own")
    if language is Language.SVG:
        _judge_colours(reading, tools)
    said = {(tool.choose, tool.power, tool.down) for tool in tools}
    if language is Language.ISO and len(said) < len(tools):
        reading.fault("tools", "two tools cannot be told apart in a program", "Give each its own choose, power or down")
    if language is Language.HPGL and len({tool.number for tool in tools}) < len(tools):
        reading.fault("tools", "two tools have one number", "Give each its own")
    return tuple(tools)


def _judge_colours(reading: Reading, tools: Sequence[Tool]) -> None:
    """Where a machine knows its tools by their colours no two are alike."""
    owner: dict[str, str] = {}
    for tool in tools:
        if tool.rgb in owner:
            what = f"{tool.rgb} is the colour of {owner[tool.rgb]} already"
            fix = "Give each its own: the machine tells tools by their colour"
            reading.fault(f"tools.{tool.name}.colour", what, fix)
        if tool.rgb:
            owner.setdefault(tool.rgb, tool.name)


def _number_of_colour(reading: Reading, said: int | str | None, place: str) -> int:
    if said is None:
        return 7
    if isinstance(said, str) or not 1 <= said <= 255:
        reading.fault(place, f"{echo(said)} is not the number of a colour", "Write 1 up to 255; 7 is black")
        return 7
    return said


def _rgb(reading: Reading, said: int | str | None, place: str) -> str:
    example = 'red, green and blue: "#b3261e"'
    reading.asked(said, place, "the machine tells tools by their colour", example)
    if isinstance(said, str) and COLOUR.fullmatch(said):
        return said.lower()
    if said is not None and not reading.faulted(place):
        reading.fault(place, f"{echo(said)} is not a colour", f"Write {example}")
    return ""


def _tool(reading: Reading, name: str, raw: Any, language: Language) -> Tool | None:
    place = f"tools.{name}"
    shape = reading.table(ToolShape, raw, place)
    kind = reading.word(ToolKind, shape.kind, f"{place}.kind")
    reading.asked(shape.kind, f"{place}.kind", "each kind is led in its own way", f"one of {listed(ToolKind)}")
    roles = _roles(reading, shape, place, kind)
    lengths = {
        key: _or(reading.length(getattr(shape, key), f"{place}.{key}"), 0.0)
        for key in ("offset", "kerf", "overcut", "lead")
    }
    if kind is ToolKind.DRAG_KNIFE and not 0 < lengths["offset"] <= 5:
        reading.fault(
            f"{place}.offset", "how far the tip trails behind the pivot is missing, or not between 0 and 5 mm",
            "Measure it, and try it on scrap: a wrong one rounds every corner",
        )  # fmt: skip
    if kind is ToolKind.LASER and (shape.kerf is None or lengths["kerf"] > 2):
        reading.fault(
            f"{place}.kerf", "how wide it burns is missing, or above 2 mm",
            "Cut a test square and measure it; 0 for one that only marks",
        )  # fmt: skip
    if kind is not None:
        _only_of(reading, place, shape, kind)
    corner = 20.0 if shape.corner_deg is None else float(shape.corner_deg)
    if not 1 <= corner <= 179:
        reading.fault(f"{place}.corner_deg", f"{corner:g} is not a bend", "Write 1 up to 179 degrees")
    for key, most in (("speed", 10_000), ("power", 1_000_000), ("force", 1000)):
        value = getattr(shape, key)
        if value is not None and not 0 < value <= most:
            reading.fault(f"{place}.{key}", f"{echo(value)} is not above 0 and up to {most}", "Write such a number")
    for key in ("choose", "down", "up"):
        _judge_instructions(reading, f"{place}.{key}", getattr(shape, key), language)
        if language is Language.ISO and key != "choose":
            reading.asked(
                getattr(shape, key), f"{place}.{key}", "the tool would stay as it is", '["M3 S600"] or ["G0 Z-2"]'
            )
    layer = shape.layer or name.upper().replace(" ", "_")
    if _LAYER.fullmatch(layer) is None:
        reading.fault(f"{place}.layer", f'"{layer}" is no name of a layer', "Capitals, digits, $, - and _ up to 31")
    by_colour = language is Language.SVG
    if kind is None:
        return None
    return Tool(
        name=name,
        kind=kind,
        roles=roles,
        number=shape.number or 1,
        layer=layer,
        colour=7 if by_colour else _number_of_colour(reading, shape.colour, f"{place}.colour"),
        rgb=_rgb(reading, shape.colour, f"{place}.colour") if by_colour else "",
        corner_deg=corner,
        speed=None if shape.speed is None else float(shape.speed),
        power=None if shape.power is None else float(shape.power),
        force=shape.force,
        choose=shape.choose or (),
        down=shape.down or (),
        up=shape.up or (),
        **lengths,
    )


def _only_of(reading: Reading, place: str, shape: ToolShape, kind: ToolKind) -> None:
    """Keys that say nothing of a kind of tool are noted, so that nobody believes in them."""
    for key, owner in (("offset", ToolKind.DRAG_KNIFE), ("kerf", ToolKind.LASER), ("lead", ToolKind.LASER)):
        if getattr(shape, key) is not None and kind is not owner:
            reading.fault(f"{place}.{key}", f"a {kind} has none", "Leave it out")


def _roles(reading: Reading, shape: ToolShape, place: str, kind: ToolKind | None) -> tuple[Role, ...]:
    words = {role.value.casefold(): role for role in Role if role is not Role.SHEET}
    reading.asked(shape.does, f"{place}.does", "it would do nothing", f"a list of {listed(words)}")
    known = [word for word in shape.does or () if reading.known(word, words, f"{place}.does", "kind of line")]
    roles = [words[word] for word in known]
    marks = sorted(role.casefold() for role in _MARKS & set(roles))
    if marks and (kind in _KNIVES or _CUTS & set(roles)) and kind is not ToolKind.PEN:
        reading.fault(
            f"{place}.does", f"it would cut {listed(marks)} into the piece",
            "Give what is only marked to a pen, or to a laser tool of its own that does not cut through",
        )  # fmt: skip
    return tuple(roles)
