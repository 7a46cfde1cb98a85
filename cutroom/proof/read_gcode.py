"""Reads a program after ISO 6983 back: blocks of words, modal moves, arcs about a middle given from their start.

Words after ISO 6983-1 and the interpreter of NISTIR 6556 (both from memory): G0 rapid, G1 straight, G2 clockwise and
G3 counter-clockwise arcs, I and J from the start of the arc; G20 inches, G21 mm; G90 absolute; G94 feed by the minute;
M2 and M30 end. What puts a tool down and lifts it, and what chooses it, is the machine's own and stands in its profile.
"""

import math
import re
from array import array
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from cutroom.errors import ProofError
from cutroom.model.cutter import Cutter, Tool
from cutroom.model.finding import Finding
from cutroom.proof.runs import Runs, RunsInOne, beyond_bed, runs_of, unbent
from cutroom.proof.words import WRITE_AGAIN, shortened, stop

_INCH = 25.4
_WORD = re.compile(r"([A-Z])([-+]?(?:\d+\.?\d*|\.\d+))")
_COMMENT = re.compile(r"\([^()\n]*\)")
_LETTERS_GONE = str.maketrans("XY", "  ")
_MOVES = {0.0, 1.0, 2.0, 3.0}
_PLAIN = {17.0, 40.0, 90.0, 94.0, 49.0, 80.0, 64.0, 61.0}
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)"
_MOVE = re.compile(
    rf"(?:G0?([0-3]) )?X({_NUMBER}) Y({_NUMBER})(?: [ABC]{_NUMBER})?(?: I({_NUMBER}) J({_NUMBER}))?(?: F({_NUMBER}))?"
)
"""A whole move as most programs write it; any other block is taken word by word."""
_ON = re.compile(rf"(?:X{_NUMBER} Y{_NUMBER}\n)+")
"""Blocks that only go on."""
_ROW = re.compile(r"([^\n\r\v\f\x1c-\x1e]*)[\n\r\v\f\x1c-\x1e]*")
_RADIUS_SLACK = 0.01  # mm that both ends of an arc may lie at unlike distances from its middle


def read_gcode(data: bytes, cutter: Cutter) -> Runs:
    """The runs of a program.

    Raises:
        ProofError: It is no program, or is cut off.
    """
    try:
        text = _COMMENT.sub("", data.decode("ascii")).upper()
    except UnicodeDecodeError as error:
        raise ProofError("it holds bytes that no program has", WRITE_AGAIN, place="file") from error
    head = text.split(maxsplit=3)
    if len(head) < 3 or head[0] != "%":
        raise ProofError("it does not begin with %, so it is no program of ours", WRITE_AGAIN, place="file")
    machine = _Machine(cutter)
    last = machine.obey_all(text)
    findings = machine.findings
    if last != "%" or not machine.ended:
        findings.append(stop("end of the file", "the program does not end: the file is cut off"))
    if machine.down is not None:
        findings.append(stop("end of the file", f"the {machine.down.name} is not lifted at the end"))
    if machine.unit is None:
        findings.append(stop("file", "it says neither inches nor millimetres"))
    runs = machine.all_runs()
    return Runs(runs, shortened([*findings, *beyond_bed(runs, cutter)]))


@lru_cache(maxsize=1000)
def _words(row: str) -> list[tuple[str, float]] | None:
    """The words of a block, or None when there is something else in it."""
    found = []
    for part in row.split():
        try:
            found.append((part[0], float(part[1:])))
        except ValueError:  # words may stand without a space between them
            words = _WORD.findall(row)
            return None if _WORD.sub("", row).strip() else [(letter, float(value)) for letter, value in words]
    plain = all("A" <= letter <= "Z" and math.isfinite(value) for letter, value in found)
    return found if plain else None


@lru_cache(maxsize=100)
def _stroke_of(tool: Tool) -> tuple[Tool, re.Pattern[str]] | None:
    """What a straight run of a tool looks like as most programs write it; None where its words do more than move it."""
    words = [" ".join(word.split()) for word in (*tool.down, *tool.up)]
    if not tool.down or not tool.up or any(set(word) & set("XYIJRS") for word in words):
        return None
    down, up = (re.escape("\n".join(some)) for some in (tool.down, tool.up))
    feed = "()" if tool.speed is None else f" F({_NUMBER})"
    to = f"X{_NUMBER} Y{_NUMBER}"
    return tool, re.compile(rf"G0 ({to})\n{down}\nG1 ({to}){feed}\n((?:{to}\n)*){up}\n")


@dataclass(slots=True)
class _Machine:
    """The state of a machine while it reads.

    `places` holds x and y of all runs end to end, `runs` the tool of each and its first place, `arcs` the place that an
    arc ends at, its middle and whether it runs counter-clockwise; `again` the tool that was down last, and what a
    straight run of it looks like.
    """

    cutter: Cutter
    at: tuple[float, float] | None = None
    move: float = 0.0
    unit: float | None = None
    absolute: bool = False
    feed: float | None = None
    power: float | None = None
    recent: list[str] = field(default_factory=list)
    chosen: Tool | None = None
    down: Tool | None = None
    ended: bool = False
    runs: list[tuple[str, int]] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    again: tuple[Tool, re.Pattern[str]] | None = None
    said: frozenset[str] = frozenset()
    places: "array[float]" = field(default_factory=lambda: array("d"))
    arcs: list[tuple[int, float, float, bool]] = field(default_factory=list)
    own: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        tools = self.cutter.tools
        self.said = frozenset(word for tool in tools for words in (tool.choose, tool.down, tool.up) for word in words)
        self.own = self.said | {*self.cutter.start, *self.cutter.end}

    def complain(self, number: int, what: str) -> None:
        self.findings.append(stop(f"block {number}", what))

    def all_runs(self) -> RunsInOne:
        """The runs, their arcs as straight bits."""
        points = np.array(self.places).reshape(-1, 2)
        starts = np.array([start for _, start in self.runs], dtype=np.int64)
        if self.arcs:
            ends, x, y, left = map(np.array, zip(*self.arcs, strict=True))
            points, starts = unbent(points, starts, ends, np.column_stack((x, y)), left)
        return runs_of([tool for tool, _ in self.runs], points, starts)

    def obey_all(self, text: str) -> str:
        """Block after block; the last of them."""
        number, place, row = 0, 0, ""
        while place < len(text):
            if self.down is None and self.again is not None and (stroke := self.again[1].match(text, place)):
                number, place, row = self._stroke(number, self.again[0], stroke), stroke.end(), "X"
                continue
            if self.down is not None and self.move == 1.0 and not self.ended and (on := _ON.match(text, place)):
                values = [*map(float, on[0].translate(_LETTERS_GONE).split())]
                self._go_on(number + 1, values)
                number, place, row = number + len(values) // 2, on.end(), "X"
                continue
            found = _ROW.match(text, place)
            if found is None:
                break
            place = found.end()
            if said := " ".join(found[1].split()):
                number, row = number + 1, said
                if row != "%":
                    self.obey(number, row)
        return row

    def _stroke(self, number: int, tool: Tool, stroke: re.Match[str]) -> int:
        """A whole straight run of the tool that is in, from the rapid move to the lifting; number of its last block."""
        start, to, feed, rest = stroke.groups()
        unit = self.unit or 1.0
        self.runs.append((tool.name, len(self.places) // 2))
        values = [*map(float, f"{start} {to} {rest}".translate(_LETTERS_GONE).split())]
        self.places.extend(values if unit == 1.0 else [value * unit for value in values])
        self.at = (self.places[-2], self.places[-1])
        self.move, self.feed, self.down = 1.0, float(feed) if feed else self.feed, tool
        number += len(tool.down) + len(values) // 2
        self._feed(number)
        self.down = None
        self.recent = [*tool.down, *tool.up][-9:]
        return number + len(tool.up)

    def _go_on(self, number: int, values: list[float]) -> None:
        """Straight on from place to place, as the block before it."""
        unit = self.unit or 1.0
        self._go(number, {"X": values[0], "Y": values[1]})
        if len(values) > 2:
            self.places.extend(values[2:] if unit == 1.0 else [value * unit for value in values[2:]])
            self.at = (self.places[-2], self.places[-1])

    def obey(self, number: int, row: str) -> None:
        if self.ended:
            self.complain(number, f"'{row}' stands after the end of the program")
            return
        move = _MOVE.fullmatch(row)
        if move is not None:
            word, x, y, i, j, feed = move.groups()
            self.move = float(word or self.move)
            self.feed = float(feed) if feed else self.feed
            values = {"X": float(x), "Y": float(y)}
            if i:
                values |= {"I": float(i), "J": float(j)}
            self._go(number, values)
        else:
            self._obey_words(number, row)
            if self.again is not None and row not in {*self.again[0].down, *self.again[0].up}:
                self.again = None  # it may be another tool that is put down next
        if row in self.said or self.down is None:
            self._tools(number, row)

    def _obey_words(self, number: int, row: str) -> None:
        words = _words(row)
        if words is None:
            self.complain(number, f"'{row[:30]}' is no block of words and numbers")
            return
        for letter, value in words:
            if letter == "G":
                self._mode(number, value, own=row in self.own)
            elif letter == "M" and value in {2.0, 30.0}:
                self.ended = True
            elif letter == "S":
                self.power = value
            elif letter == "F":
                self.feed = value
        values = dict(words)
        if {"X", "Y"} & set(values):
            self._go(number, values)
        elif {"I", "J", "R"} & set(values):
            self.complain(number, "an arc has no end")

    def _mode(self, number: int, value: float, *, own: bool) -> None:
        if value in _MOVES:
            self.move = value
        elif value in {20.0, 21.0}:
            self.unit = _INCH if value == 20.0 else 1.0
            if (value == 20.0) != self.cutter.inches:
                self.complain(number, f"G{value:g} is not the unit of the machine")
        elif value == 90.0:
            self.absolute = True
        elif value not in _PLAIN and not own:
            self.complain(number, f"G{value:g} is not one that these programs need")

    def _tools(self, number: int, row: str) -> None:
        """What the block does to the tools, by the profile's words for it."""
        self.recent = [*self.recent[-8:], row]
        if row not in self.said:
            return
        if self.down is not None:
            if self.down.up and row == self.down.up[0]:
                self.down = None
            return
        for tool in self.cutter.tools:
            if tool.choose and self._just_said(tool.choose):
                self.chosen = tool
        downs = [tool for tool in self.cutter.tools if self._just_said(tool.down) and self._is_in(tool)]
        if len(downs) > 1:
            self.complain(number, "it cannot be told which tool is put down")
        if downs:
            self.down = downs[0]
            if self.at is None:
                self.complain(number, "a tool is put down before it stands anywhere")
            else:
                self.runs.append((downs[0].name, len(self.places) // 2))
                self.places.extend(self.at)
                self.again = _stroke_of(downs[0]) if self.absolute else None

    def _just_said(self, words: tuple[str, ...]) -> bool:
        return bool(words) and tuple(self.recent[-len(words) :]) == words

    def _is_in(self, tool: Tool) -> bool:
        chosen = self.chosen is tool if tool.choose else self.chosen is None or not self.chosen.choose
        return chosen and (tool.power is None or self.power == tool.power)

    def _go(self, number: int, values: dict[str, float]) -> None:
        unit = self.unit or 1.0
        if not self.absolute:
            self.complain(number, "it moves before G90 says that coordinates are absolute")
        before = self.at
        if before is None and not {"X", "Y"} <= set(values):
            self.complain(number, "its first move says only one coordinate")
            return
        at = before or (0.0, 0.0)
        to = (values["X"] * unit if "X" in values else at[0], values["Y"] * unit if "Y" in values else at[1])
        self.at = to
        if self.down is None:
            if self.move != 0.0:
                self.complain(number, "a cutting move has its tool up")
            return
        if self.move == 0.0:
            self.complain(number, f"a rapid move has the {self.down.name} down")
        elif before is not None:
            self._feed(number)
            if self.move != 1.0:
                self._bend(number, before, to, values, unit)
            self.places.extend(to)

    def _feed(self, number: int) -> None:
        if self.down is None or self.down.speed is None:
            return
        wanted = self.down.speed
        found = None if self.feed is None else self.feed * (self.unit or 1.0) / 60
        if found is None or abs(found - wanted) > 0.01 * wanted:
            said = "no feed" if found is None else f"{found:g} mm/s"
            self.complain(number, f"the {self.down.name} runs at {said}, wanted {wanted:g} mm/s")

    def _bend(
        self, number: int, start: tuple[float, float], end: tuple[float, float], values: dict[str, float], unit: float
    ) -> None:
        """An arc to the place that comes next."""
        if "R" in values or not {"I", "J"} & set(values):
            self.complain(number, "an arc does not say its middle from its start (I, J)")
            return
        x, y = start[0] + values.get("I", 0.0) * unit, start[1] + values.get("J", 0.0) * unit
        apart = abs(math.hypot(start[0] - x, start[1] - y) - math.hypot(end[0] - x, end[1] - y))
        if apart > _RADIUS_SLACK:
            self.complain(number, f"the ends of an arc lie at unlike distances from its middle, by {apart:.3f} mm")
        self.arcs.append((len(self.places) // 2, x, y, self.move == 3.0))
