"""Programs after ISO 6983: straight moves and arcs, the tool put down and lifted as the machine's profile says it.

Words from memory: for inches and millimetres the standard has G70 and G71, most interpreters G20 and G21, as here.
"""

import math
from collections.abc import Iterator, Sequence
from itertools import groupby

import numpy as np

from cutroom.model.cutter import Cutter, Tool, ToolKind, ends_program
from cutroom.model.toolpath import Toolpath, Toolpaths
from cutroom.write.cut_runs import numbered_runs, repeated
from cutroom.write.numbers import number_as_text

_INCH = 25.4


def write_gcode(toolpaths: Toolpaths, cutter: Cutter) -> bytes:
    """The program of a cutter.

    Args:
        toolpaths: The runs, machine axes (mm).
        cutter: What the machine wants said.

    Returns:
        `%`, the plane, absolute coordinates, feed by the minute and the unit, every tool up, the profile's start; tool
        by tool its choice and power, run by run a rapid move, the tool put down, `G1` and, where there are arcs,
        `G2` and `G3` with their middle from the start (I, J), the tool lifted; the profile's end, `M30` where it does
        not end the program, and `%`.
        Coordinates are absolute, to 0.001 mm or 0.00005 in; modal words are said once.
    """
    lines = ["%", "G17 G40 G90 G94", "G20" if cutter.inches else "G21"]
    lines.extend(word for tool in cutter.tools for word in tool.up)
    lines.extend(cutter.start)
    for name, paths in groupby(toolpaths.paths, key=lambda path: path.tool):
        tool = cutter.tool(name)
        lines.extend(tool.choose)
        if tool.power is not None:
            lines.append(f"S{tool.power:g}")
        lines.extend(_runs(list(paths), tool, cutter))
    lines.extend(cutter.end)
    if not any(ends_program(line) for line in cutter.end):
        lines.append("M30")
    return "\n".join([*lines, "%", ""]).encode("ascii")


def _runs(paths: Sequence[Toolpath], tool: Tool, cutter: Cutter) -> Iterator[str]:
    """The blocks of a tool's runs; plain straight ones all at once."""
    unit, places = _unit(cutter)
    turns = bool(cutter.turn_axis) and tool.kind is ToolKind.TANGENTIAL_KNIFE
    feed = _feed(tool, unit)
    for path, (numbers, bent) in zip(paths, numbered_runs(paths, unit, places), strict=True):
        text = "e" if bent or turns else _plain_points(numbers)
        if "e" in text:  # not plain, or a number so small that it is written with an exponent
            yield from _run(path, tool, cutter)
        else:
            first, second, *rest = text.split("\n", 2)
            yield f"G0 {first}"
            yield from tool.down
            yield f"G1 {second}{feed}"
            yield from rest
            yield from tool.up


def _plain_points(numbers: tuple[float, ...]) -> str:
    """Straight moves to points given as x and y by turns, each number as short as can be; a dot is a move to itself."""
    numbers = numbers if len(numbers) > 2 else numbers * 2
    text = repeated("X%r Y%r\n", len(numbers) // 2) % numbers
    return text.replace(".0 ", " ").replace(".0\n", "\n")[:-1]


def _unit(cutter: Cutter) -> tuple[float, int]:
    """Millimetres to the unit of the program, and decimal places."""
    return (_INCH, 5) if cutter.inches else (1.0, 3)


def _feed(tool: Tool, unit: float) -> str:
    return "" if tool.speed is None else f" F{number_as_text(tool.speed * 60 / unit, 1)}"


def _run(path: Toolpath, tool: Tool, cutter: Cutter) -> Iterator[str]:
    unit, places = _unit(cutter)
    points = np.round(path.points / unit, places) + 0.0
    feed = _feed(tool, unit)
    turning = cutter.turn_axis if tool.kind is ToolKind.TANGENTIAL_KNIFE else ""
    headings = _headings(path) if turning else []
    (x, y), *rest = points.tolist()
    turn = f" {turning}{number_as_text(headings[0][0], 2)}" if turning else ""
    yield f"G0 X{_plain(x, places)} Y{_plain(y, places)}{turn}"
    yield from tool.down
    word = ""
    for index, ((to_x, to_y), bulge) in enumerate(zip(rest or [(x, y)], path.bulges.tolist() or [0.0], strict=True)):
        said = f"X{_plain(to_x, places)} Y{_plain(to_y, places)}"
        if turning:
            start, end = headings[index]
            if index and abs(start - headings[index - 1][1]) > 0.005:
                yield f"G1 {turning}{number_as_text(start, 2)}{feed}"
                word, feed = "G1", ""
            said += f" {turning}{number_as_text(end, 2)}"
        if bulge and (to_x, to_y) != (x, y):
            reach = (1 - bulge * bulge) / (4 * bulge)
            to_middle = ((to_x - x) / 2 - (to_y - y) * reach, (to_y - y) / 2 + (to_x - x) * reach)
            said += f" I{number_as_text(to_middle[0], places + 1)} J{number_as_text(to_middle[1], places + 1)}"
            wanted = "G3" if bulge > 0 else "G2"
        else:
            wanted = "G1"
        yield f"{said}{feed}" if word == wanted else f"{wanted} {said}{feed}"
        word, feed, x, y = wanted, "", to_x, to_y
    yield from tool.up


def _headings(path: Toolpath) -> list[tuple[float, float]]:
    """Where the blade points at the start and the end of each bit (degrees), never jumping by a whole turn."""
    found: list[tuple[float, float]] = []
    last: float | None = None
    for start, end, bulge in zip(path.points[:-1], path.points[1:], path.bulges.tolist(), strict=True):
        chord = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
        half = math.degrees(2 * math.atan(bulge))
        first = chord - half
        if last is not None:
            first += 360 * round((last - first) / 360)
        last = first + 2 * half
        found.append((first, last))
    return found or [(0.0, 0.0)]


def _plain(value: float, places: int) -> str:
    """A number that is rounded already, as short as can be."""
    text = repr(value)
    if text[-2:] == ".0":
        return text[:-2]
    return number_as_text(value, places) if "e" in text else text
