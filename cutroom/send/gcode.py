"""ISO 6983 programs (G and M words) as a row of passages, and what sets a machine again before any of them.

What puts a tool down and lifts it is the machine's own and stands in its profile. Without one, the usual words count:
a tool goes down when a spindle or a beam is switched on (M3, M4 until M5), a knife is lowered (M14 until M15, as many
cutters of cloth have it; common practice, no source), or Z goes to 0 or below; whichever was said last counts.
"""

import math
import re
from collections import deque
from collections.abc import Iterator, Sequence
from typing import BinaryIO, NamedTuple

from cutroom.errors import FileError
from cutroom.send.language import LONGEST, READ, Contents, Gathered, Language, Passage, not_of

_INCH = 25.4
_ON, _OFF = frozenset({3, 4, 14}), frozenset({5, 15})
_ENDS = frozenset({2, 30})
_AXES = frozenset("XYZABC")
_WORD = re.compile(rb"([A-Za-z])\s*([-+]?(?:\d+\.?\d*|\.\d+))")
_BLOCK = re.compile(rb"\s*(?:/\d?\s*)?(?:[A-Za-z]\s*[-+]?(?:\d+\.?\d*|\.\d+)\s*)*")
_COMMENT = re.compile(rb"\([^()\r\n]*\)|;[^\r\n]*")
_GROUPS = {
    "plane": {17, 18, 19}, "inches": {20, 21}, "radius": {40, 41, 42}, "height": {43, 49}, "system": {*range(54, 60)},
    "smooth": {61, 64}, "distance": {90, 91}, "feed": {93, 94, 95},
}  # fmt: skip
"""Words that replace each other (ISO 6983-1, modal groups; from memory)."""


Block = tuple[tuple[str, float], ...]


class Handling(NamedTuple):
    """How a tool is handled: the lines that put it down, and those that lift it."""

    down: tuple[str, ...]
    up: tuple[str, ...]


class Gcode(Language):
    """An ISO 6983 program."""

    name = "ISO 6983 program"

    def __init__(self, tools: Sequence[Handling] = ()) -> None:
        """Begin before the first byte.

        Args:
            tools: How the machine's tools are put down and lifted; empty for the usual words.
        """
        self._lifting = tuple(dict.fromkeys(row.encode("ascii") for tool in tools for row in tool.up))
        self._downs = {_block(_words(tool.down[0].encode("ascii"), 0)) for tool in tools}
        self._ups = {tuple(_block(_words(row.encode("ascii"), 0)) for row in tool.up) for tool in tools}
        self._recent: deque[Block] = deque(maxlen=max(map(len, self._ups), default=1))
        self._modes: dict[str, bytes] = {}
        self._unit = 1.0
        self._relative = False
        self._motion = -1
        self._at: dict[str, float] = {}
        self._is_down = False
        self._on: bool | None = None
        self._off = b"M5"
        self._z_up: float | None = None
        self._strange = ""

    def passages(self, file: BinaryIO) -> Iterator[Passage]:
        """See `Language`; a passage begins where the tool has been lifted."""
        gathered = Gathered()
        for place, line in _lines(file):
            words = _words(line, place)
            if gathered.strokes and not self._is_down and any(letter in {"X", "Y", "Z"} for letter, _, _ in words):
                yield gathered.passage()
                gathered = Gathered()
            gathered.parts.append(line)
            here = self._obey(words)
            if self._downs:
                self._handle(_block(words))
            if here is None:
                gathered.running = gathered.running and self._is_down
            elif self._is_down and self._motion > 0:
                _draw(gathered, *here)
            else:
                gathered.running = False
                gathered.travel += math.dist(*here)
        if gathered.parts:
            yield gathered.passage()

    def head(self, contents: Contents, *, marks: bool, reset: bool = True) -> bytes:  # noqa: ARG002 - nothing is cut
        """See `Language`. No crosses are cut: the tool stands over the start, then over the next place, lifted."""
        if self._strange:
            raise FileError(
                f"after its word {self._strange} only the machine knows where the tool is",
                "Send it whole, or begin again before that word",
            )
        lines = [*([self._off] if self._on is not None else []), *self._lifted()]
        if "change" in self._modes:
            lines.append(b" ".join(self._modes[key] for key in ("T", "change") if key in self._modes))
        lines += [word for key, word in self._modes.items() if key not in {"distance", "tool", "change", "T"}]
        lines.append(b"G90")
        if self._z_up is not None and not self._downs:
            lines.append(b"G0 Z%s" % self._number(self._z_up))
        if marks:
            lines.append(b"G0 X0 Y0")
        lines.append(b"G0 X%s Y%s" % tuple(self._number(self._at.get(axis, 0.0)) for axis in "XY"))
        if self._relative:
            lines.append(b"G91")
        if self._on:
            lines.append(self._modes["tool"])
        return b"\n".join(lines) + b"\n"

    def lift(self) -> bytes:
        """See `Language`. At a resting place it is up already."""
        return b""

    def goodbye(self, end: str) -> bytes:
        """See `Language`."""
        lines = self._lifted()
        if not self._downs:
            lines.append(self._off)
            if self._z_up is not None:
                lines.append(b"G90 G0 Z%s" % self._number(self._z_up))
        kept = [line.strip().encode("ascii") for line in end.splitlines() if line.strip()]
        ends = any(letter == "M" and value in _ENDS for line in kept for letter, value, _ in _words(line, 0))
        return b"\n".join([*lines, *kept, *([] if ends else [b"M2"])]) + b"\n"

    def _lifted(self) -> list[bytes]:
        """Lines that lift every tool as the profile says it, those that move an axis in the program's unit."""
        moving = [row for row in self._lifting if _AXES & {letter for letter, _, _ in _words(row, 0)}]
        if not moving:
            return list(self._lifting)
        unit = [self._modes["inches"]] if "inches" in self._modes else []
        return [*(row for row in self._lifting if row not in moving), *unit, b"G90", *moving]

    def _handle(self, block: Block) -> None:
        """What a line does to the tools, by the profile's words: down from the first of `down`, up by all of `up`."""
        if not block:
            return
        self._recent.append(block)
        recent = tuple(self._recent)
        if any(recent[-len(rows) :] == rows for rows in self._ups):
            self._is_down = False
        elif block in self._downs:
            self._is_down = True

    def _number(self, value: float) -> bytes:
        return f"{round(value / self._unit, 5) + 0.0:g}".encode("ascii")

    def _obey(self, words: list[tuple[str, float, bytes]]) -> tuple[tuple[float, float], tuple[float, float]] | None:
        """Take a line's words; where it moves from and to across the table (mm), or None."""
        target: dict[str, float] = {}
        for letter, value, text in words:
            if letter == "G":
                self._prepare(value, text)
            elif letter == "M" and value in _ON | _OFF:
                self._on = value in _ON
                self._is_down = self._is_down if self._downs else self._on
                if self._on:
                    self._modes["tool"] = text
                else:
                    self._off = text
            elif letter == "M" and value == 6:
                self._modes["change"] = text
            elif letter in {"F", "S", "T"}:
                self._modes.pop(letter, None)
                self._modes[letter] = text
            elif letter == "M" and value in {7, 8, 9}:
                self._modes["coolant"] = text
            elif letter in {"X", "Y", "Z"}:
                target[letter] = value * self._unit
        if not target:
            return None
        before = (self._at.get("X", 0.0), self._at.get("Y", 0.0))
        for axis, value in target.items():
            self._at[axis] = self._at.get(axis, 0.0) + value if self._relative else value
        if "Z" in target and not self._downs:
            self._is_down = self._at["Z"] <= 0
            self._z_up = self._z_up if self._is_down else self._at["Z"]
        return (before, (self._at.get("X", 0.0), self._at.get("Y", 0.0))) if {"X", "Y"} & target.keys() else None

    def _prepare(self, value: float, text: bytes) -> None:
        if value in {0, 1, 2, 3}:
            self._motion = int(value)
            return
        for group, members in _GROUPS.items():
            if value in members:
                self._modes.pop(group, None)
                self._modes[group] = text
                self._unit = {20: _INCH, 21: 1.0}.get(int(value), self._unit)
                self._relative = {90: False, 91: True}.get(int(value), self._relative)
                return
        if value not in {4, 80}:  # a dwell, an end of cycles
            self._strange = self._strange or text.decode("ascii")


def _block(words: list[tuple[str, float, bytes]]) -> Block:
    """A line as it is compared: its words without its number, however they are spelt."""
    return tuple((letter, value) for letter, value, _ in words if letter != "N")


def _draw(gathered: Gathered, start: tuple[float, float], end: tuple[float, float]) -> None:
    """One line; an arc counts as its chord."""
    gathered.strokes += not gathered.running
    gathered.running = True
    gathered.low, gathered.high = min(gathered.low, start[0], end[0]), max(gathered.high, start[0], end[0])
    gathered.left, gathered.right = min(gathered.left, start[1], end[1]), max(gathered.right, start[1], end[1])
    gathered.ink += math.dist(start, end)


def _lines(file: BinaryIO) -> Iterator[tuple[int, bytes]]:
    """The lines of a file with their ends, and the place of each."""
    place = 0
    while line := file.readline(READ):
        if len(line) == READ and not line.endswith(b"\n"):
            raise not_of(Gcode.name, place, line, f"a line is longer than {min(READ, LONGEST)} bytes")
        yield place, line
        place += len(line)


def _words(line: bytes, place: int) -> list[tuple[str, float, bytes]]:
    """Letter, number and bytes of each word of a line."""
    plain = _COMMENT.sub(b"", line).strip()
    if plain in {b"%", b""}:
        return []
    if _BLOCK.fullmatch(plain) is None:
        raise not_of(Gcode.name, place, plain)
    return [(found[1].decode("ascii").upper(), float(found[2]), found[0]) for found in _WORD.finditer(plain)]
