"""ISO 6983 programs as a machine takes them: line by line."""

import math
import re
from collections.abc import Iterator, Sequence

from cutroom.standin.motion import Vector
from cutroom.standin.orders import Order, Reader

_WORD = re.compile(r"([A-Z])\s*([-+]?\d*\.?\d+|[-+]?\d+\.)")
_CHORD = math.radians(5)


Row = tuple[tuple[str, float], ...]
Tool = tuple[Sequence[str], Sequence[str]]


class GcodeReader(Reader):
    """Straight moves and arcs, a tool that Z lowers, M3 lights or M14 puts down; or one with words of its own."""

    def __init__(self, tools: Sequence[Tool] = ()) -> None:
        """Begin before the first byte.

        Args:
            tools: For each tool the lines that put it down and those that lift it; empty for the usual words.
        """
        super().__init__()
        self._tools = [(_rows(down), _rows(up)) for down, up in tools]
        self._said: list[Row] = []
        self._line = bytearray()
        self._at = (0.0, 0.0)
        self._z = 0.0
        self._down = False
        self._unit = 1.0
        self._relative = False
        self._motion = 0
        self._was_down = False

    def forget(self, at: tuple[float, float], *, down: bool, pen: int) -> None:  # noqa: ARG002 - it has one tool
        """See `Reader`."""
        self._at, self._was_down = at, down
        self._line.clear()
        self.held = 0

    def feed(self, byte: int) -> Iterator[Order]:
        """See `Reader`."""
        self.held += 1
        if byte not in b"\r\n":
            self._line.append(byte)
            return
        text = re.sub(r"\(.*?\)|;.*|%", "", self._line.decode("latin-1")).upper()
        self._line.clear()
        if re.sub(_WORD, "", text).strip():
            self.faults.append(f"{text.strip()!r} is no line of a program")
            text = ""
        yield from self._obey(_words(text))
        size, self.held = self.held, 0
        yield Order(size)

    def _obey(self, words: list[tuple[str, float]]) -> Iterator[Order]:
        places = {letter: value * self._unit for letter, value in words if letter in "XYZIJR"}
        for letter, value in words:
            if letter == "G" and value in {0, 1, 2, 3}:
                self._motion = int(value)
            elif letter == "G" and value in {20, 21}:
                self._unit = 25.4 if value == 20 else 1.0
                places = {name: number * self._unit for name, number in words if name in "XYZIJR"}
            elif letter == "G" and value in {90, 91}:
                self._relative = value == 91
            elif letter == "M" and value in {3, 4, 5, 14, 15} and not self._tools:
                self._down = value not in {5, 15}
        if "Z" in places:
            self._z = self._z + places["Z"] if self._relative else places["Z"]
            self._down = self._down if self._tools else self._z <= 0
        self._handle(words)
        down = self._down
        if down is not self._was_down:
            self._was_down = down
            yield Order(0, down=down)
        if not {"X", "Y"} & places.keys():
            return
        base = self._at if self._relative else (0.0, 0.0)
        to = (
            base[0] + places["X"] if "X" in places else self._at[0],
            base[1] + places["Y"] if "Y" in places else self._at[1],
        )
        for end in self._way(to, places):
            yield Order(0, Vector(self._at, end, down and self._motion > 0))
            self._at = end

    def _handle(self, words: list[tuple[str, float]]) -> None:
        """A tool of its own words is down when the last of its lines that put it down is said, and up likewise."""
        if not words or not self._tools:
            return
        self._said = [*self._said[-7:], tuple(words)]
        for down, up in self._tools:
            if tuple(self._said[-len(up) :]) == up:
                self._down = False
            elif tuple(self._said[-len(down) :]) == down:
                self._down = True

    def _way(self, to: tuple[float, float], places: dict[str, float]) -> Iterator[tuple[float, float]]:
        """Ends of the straight bits to a place; an arc is walked in chords of 5 degrees."""
        if self._motion in {2, 3}:
            centre = (self._at[0] + places.get("I", 0.0), self._at[1] + places.get("J", 0.0))
            radius = math.dist(self._at, centre)
            start = math.atan2(self._at[1] - centre[1], self._at[0] - centre[0])
            turn = math.atan2(to[1] - centre[1], to[0] - centre[0]) - start
            turn = turn % math.tau or math.tau
            if self._motion == 2:
                turn = turn - math.tau or -math.tau
            steps = max(1, math.ceil(abs(turn) / _CHORD))
            for step in range(1, steps):
                angle = start + turn * step / steps
                yield centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)
        yield to


def _words(text: str) -> list[tuple[str, float]]:
    return [(found[1], float(found[2])) for found in _WORD.finditer(text)]


def _rows(lines: Sequence[str]) -> tuple[Row, ...]:
    return tuple(tuple(_words(line.upper())) for line in lines)
