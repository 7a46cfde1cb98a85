"""HP-GL as a row of passages, and what sets a plotter again before any of them."""

import math
import re
from collections.abc import Iterator
from itertools import accumulate
from typing import BinaryIO

from cutroom.errors import FileError
from cutroom.send.hpgl_words import ADVANCES, BLIND, DRAWING, MOVES, RESETS, STATE, commands, decoded, numbers, parted
from cutroom.send.language import Contents, Gathered, Language, Passage, not_of

UNITS = 40
"""Plotter units to the millimetre (HP-GL: one is 0.025 mm)."""
MARK = 200
"""Half the length of a registration cross's arms, and its distance from the start line (plotter units; 5 mm)."""
_BENDING = {"SC", "IP", "RO", "IR"}
_PER_PEN = {"VS", "FS", "AS", "PW"}


class Hpgl(Language):
    """HP-GL and the plain part of HP-GL/2."""

    name = "HPGL"

    def __init__(self, *, frame_mm: float | None = None, advances: int = 1) -> None:
        """Begin before the first byte.

        Args:
            frame_mm: Length of a frame along the paper (mm), or None when it is not known.
            advances: Commands that move the paper on between two frames.
        """
        self._frame_mm = frame_mm
        self._advances = max(1, advances)
        self._moved_on = 0
        self._state: dict[tuple[str, str], bytes] = {}
        self._at: tuple[float, float] | None = None
        self._pen_down = False
        self._relative = False
        self._blind = ""
        self._in_steps = False

    def passages(self, file: BinaryIO) -> Iterator[Passage]:
        """See `Language`; a passage begins with choosing or lifting a pen."""
        gathered = Gathered()
        for place, name, rest, raw in self._bits(file):
            if gathered.strokes and (name in {"PU", "SP", "PE"} or name in ADVANCES or name in RESETS):
                yield gathered.passage(self._frame())
                gathered = Gathered()
            gathered.parts.append(raw)
            self._obey(name, rest, raw, place, gathered)
            if name in ADVANCES:
                self._moved_on += 1
                yield gathered.passage(self._frame(-1), advances=True)
                gathered = Gathered()
        if gathered.parts:
            yield gathered.passage(self._frame())

    def _bits(self, file: BinaryIO) -> Iterator[tuple[int, str, bytes, bytes]]:
        """Commands; an encoded polyline of many runs becomes many of one run, that the work may rest between them."""
        for place, name, rest, raw in commands(file):
            parts = parted(rest) if name == "PE" else []
            if len(parts) < 2:
                yield place, name, rest, raw
                continue
            self._in_steps = True
            for part in parts:
                yield place, name, part, b"PE%s;" % part

    def head(self, contents: Contents, *, marks: bool, reset: bool = True) -> bytes:
        """See `Language`. A file that bends its axes gets no crosses: they would stand anywhere."""
        if self._blind:
            raise FileError(
                f"after its command {self._blind} only the machine knows where the pen is",
                "Send it whole, or begin again before that command",
            )
        words = [word for (name, _), word in self._state.items() if reset or name not in RESETS]
        if marks and not any(name in _BENDING for name, _ in self._state):
            words += [cross(MARK, y) for y in _mark_places(contents)]
        words.append(b"PU;")
        if self._in_steps and self._at is not None:
            words.append(b"PU%s,%s;" % tuple(map(_number, self._at)))
        if self._relative:
            if self._at is None:
                raise FileError("its moves are distances from a place that nobody knows", "Begin again at a frame")
            words.append(b"PA;PU%s,%s;PR;" % tuple(map(_number, self._at)))
        return b"".join(words)

    def opening(self, data: bytes) -> int:
        """See `Language`."""
        found = re.match(rb"\s*(?:(?:IN|BP|DF)[^A-Za-z;]*;\s*)+", data)
        return found.end() if found else 0

    def lift(self) -> bytes:
        """See `Language`."""
        return b"PU;"

    def goodbye(self, end: str) -> bytes:
        """See `Language`."""
        kept = [
            found[0]
            for found in re.finditer(r"([A-Za-z]{2})[^A-Za-z;]*;", end)
            if found[1].upper() not in ADVANCES | {"PU", "SP"}
        ]
        return f"PU;{''.join(kept)}SP0;".encode("ascii")

    def _frame(self, behind: int = 0) -> int:
        return (self._moved_on + behind) // self._advances

    def _obey(self, name: str, rest: bytes, raw: bytes, place: int, gathered: Gathered) -> None:
        if name in MOVES:
            self._move(name, rest, place, gathered)
        elif name in DRAWING:
            if name == "PE":
                self._encoded(rest, place, gathered)
            elif name == "LB":
                self._write(rest, gathered)
            else:
                gathered.strokes += 1
                gathered.running = False
                if name != "CI" and not name.startswith(("E", "R", "W")):
                    self._at = None
        elif name in ADVANCES:
            self._at, gathered.running = None, False
        elif name in RESETS:
            self._reset(name, raw)
            gathered.resets = True
        elif name in STATE:
            self._keep(name, rest, raw)
            if name == "SP":
                gathered.running = False
        elif name in BLIND:
            self._blind = self._blind or name

    def _reset(self, name: str, raw: bytes) -> None:
        if name != "DF":
            self._state.clear()
            self._pen_down, self._blind = False, ""
        self._relative = False
        self._keep(name, b"", raw)

    def _keep(self, name: str, rest: bytes, raw: bytes) -> None:
        """Remember a setting, after all that was set before it and in place of what it replaces."""
        _, comma, tail = rest.decode("latin-1").partition(",")
        key = (name, comma + tail if name in _PER_PEN else "")
        self._state.pop(key, None)
        closed = raw.strip()
        self._state[key] = closed if closed.endswith(b";") else closed + b";"

    def _move(self, name: str, rest: bytes, place: int, gathered: Gathered) -> None:
        if name in {"PU", "PD"}:
            self._pen_down = name == "PD"
            gathered.running = gathered.running and self._pen_down
        else:
            self._relative = name == "PR"
        if not rest.strip():
            if name == "PD" and not gathered.running:
                self._draw([*self._at] if self._at else [], gathered)
            return
        flat = numbers(rest, place)
        if self._relative:
            if self._at is None:
                raise not_of("HPGL", place, rest, "it moves by a distance before it stands anywhere")
            flat[::2] = list(accumulate(flat[::2], initial=self._at[0]))[1:]
            flat[1::2] = list(accumulate(flat[1::2], initial=self._at[1]))[1:]
        line = flat if self._at is None else [*self._at, *flat]
        if self._pen_down:
            self._draw(line, gathered)
        else:
            gathered.travel += _length(line)
        self._at = (flat[-2], flat[-1])
        if self.trail is not None:
            self.trail += [(x, y, self._pen_down) for x, y in zip(flat[::2], flat[1::2], strict=True)]

    def _draw(self, line: list[float], gathered: Gathered) -> None:
        """Draw along places, x and y in turn (plotter units)."""
        if not gathered.running:
            gathered.strokes += 1
            gathered.running = True
        if not line:
            return
        gathered.ink += _length(line)
        self._reach(line[::2], line[1::2], gathered)

    def _reach(self, along: list[float], across: list[float], gathered: Gathered) -> None:
        """Note how far something reaches (plotter units)."""
        gathered.left = min(gathered.left, min(across) / UNITS)
        gathered.right = max(gathered.right, max(across) / UNITS)
        frame = self._frame()
        if frame and self._frame_mm is None:
            return  # nobody knows how far the paper has moved
        before = frame * (self._frame_mm or 0.0)
        gathered.low = min(gathered.low, before + min(along) / UNITS)
        gathered.high = max(gathered.high, before + max(along) / UNITS)

    def _write(self, words: bytes, gathered: Gathered) -> None:
        """Words in the machine's own letters: about where they reach; after them only the machine knows its place."""
        gathered.strokes += 1
        gathered.running = False
        if self._at is not None:
            width, height = self._said("SI", (0.285, 0.375))
            run, rise = self._said("DI", (1.0, 0.0))
            long, tall = 10 * UNITS * 1.5 * width * len(words), 10 * UNITS * height
            x, y = self._at
            ends = [(x + run * u - rise * v, y + rise * u + run * v) for u in (0.0, long) for v in (0.0, tall)]
            self._reach([x for x, _ in ends], [y for _, y in ends], gathered)
            gathered.ink += 2 * tall / UNITS * len(words)
        self._at = None
        if self.trail is not None:
            self.trail.append((math.nan, math.nan, False))

    def _said(self, name: str, default: tuple[float, float]) -> tuple[float, float]:
        """Two numbers that were set; those that a machine begins with when it was not told."""
        numbers = re.findall(rb"-?[\d.]+", self._state.get((name, ""), b""))
        return (float(numbers[0]), float(numbers[1])) if len(numbers) == 2 else default

    def _encoded(self, rest: bytes, place: int, gathered: Gathered) -> None:
        """An encoded polyline: pen up and absolute hold for one pair, all else is drawn by distances."""
        at, down = self._at, True
        run: list[float] = []
        for up, absolute, pair in decoded(rest, place):
            if at is None and not absolute:
                raise not_of("HPGL", place, rest, "it moves by a distance before it stands anywhere")
            to = pair if absolute or at is None else (at[0] + pair[0], at[1] + pair[1])
            if up:
                self._encoded_run(run, gathered)
                gathered.travel += _length([*(at or to), *to])
                run = []
            else:
                run = run or [*(at or ())]
                run += to
            at, down = to, not up
            if self.trail is not None:
                self.trail.append((*to, down))
        self._encoded_run(run, gathered)
        self._at, self._pen_down = at, down

    def _encoded_run(self, run: list[float], gathered: Gathered) -> None:
        gathered.running = False
        if run:
            self._draw(run, gathered)
        gathered.running = False


def cross(x: int, y: int) -> bytes:
    """A registration cross about a point (plotter units)."""
    return (
        f"PU{x - MARK},{y};PD{x + MARK},{y};PU{x},{y - MARK};PD{x},{y + MARK};"
    ).encode("ascii")  # fmt: skip


def _mark_places(contents: Contents) -> tuple[int, ...]:
    """Where along the start line a cross stands (plotter units): at both ends, or once when it is short."""
    first, last = math.ceil(max(contents.left, 0.0) * UNITS) + MARK, math.floor(contents.right * UNITS) - MARK
    return (first, last) if last - first > 4 * MARK else (first,)


def _length(line: list[float]) -> float:
    """Length (mm) along places, x and y in turn (plotter units)."""
    if len(line) < 4:
        return 0.0
    if len(line) == 4:
        return math.hypot(line[2] - line[0], line[3] - line[1]) / UNITS
    return sum(map(math.dist, zip(line[::2], line[1::2]), zip(line[2::2], line[3::2]))) / UNITS  # noqa: B905


def _number(value: float) -> bytes:
    return (f"{value:.0f}" if value == round(value) else f"{value:.4f}").encode("ascii")
