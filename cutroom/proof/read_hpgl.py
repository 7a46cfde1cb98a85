"""Reads HPGL back: bytes to commands, commands to pen-down runs, frames joined to one drawing again.

Syntax as the language's manuals have it: two letters, numbers parted by commas or spaces, ended by a semicolon or by
the next command's letter; 40 plotter units to the millimetre.
"""

import re
from array import array
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import accumulate, chain

import numpy as np

from cutroom.errors import ProofError
from cutroom.model.finding import Finding
from cutroom.model.profile import Plotter
from cutroom.proof.lines import Array, Ints, Reading, Words, lines_of, tidy_all
from cutroom.proof.words import WRITE_AGAIN, shortened, stop

UNITS = 40
"""Plotter units to the millimetre (0.025 mm each)."""
_COMMAND = re.compile(r"([A-Za-z]{2})([^A-Za-z;\x1b]*);?|(\x1b(?:%-?\d*[A-Z]|\.[^:]?[\d;]*:?))|([\s;]+)")
_ADVANCES = {"PG", "FR", "AF", "AH", "NR"}
_HARMLESS = {"VS", "FS", "AS", "PS", "EC", "PW", "WU", "BP", "PT"}
_TURNING = {"RO": "turns", "SC": "scales", "IP": "scales", "IW": "clips"}


def commands(text: str) -> Iterator[tuple[str, str]]:
    """The commands of an HPGL text: two capital letters and the rest as written.

    What is no command at all comes out with an empty name.
    """
    place = 0
    closing = "\x03"
    while place < len(text):
        name = text[place : place + 2].upper()
        if name == "DT":  # the next letter, whatever it is, ends labels from here on; none gives ETX back
            closing = text[place + 2 : place + 3].replace(";", "\x03")
            yield name, closing
            place += 3
            continue
        if name == "LB":
            end = text.find(closing, place + 2)
            yield ("", text[place : place + 10]) if end < 0 else (name, text[place + 2 : end])
            if end < 0:
                return
            place = end + 1
            continue
        if name in {"CO", "PE"}:
            end = text.find(";", place)
            end = len(text) if end < 0 else end + 1
            yield name, text[place + 2 : end].rstrip(";")
            place = end
            continue
        found = _COMMAND.match(text, place)
        if found is None:
            yield "", text[place : place + 10]
            return
        if found[1]:
            yield found[1].upper(), found[2].strip()
        place = found.end()


@dataclass(slots=True)
class _Machine:
    """The state of a plotter while it reads."""

    encoded: bool = False  # it knows encoded polylines
    letters: bool = False  # the words on the pieces are in its own letters
    size: tuple[float, float] | None = None
    way: tuple[float, float] = (1.0, 0.0)
    words: list[Words] = field(default_factory=list)
    pen: int = 0
    down: bool = False
    relative: bool = False
    at: tuple[float, float] | None = None
    advances: int = 0
    begun: list[tuple[int, int, int]] = field(default_factory=list)  # advances, pen, and first place of each run
    places: "array[float]" = field(default_factory=lambda: array("d"))  # x and y of all runs, end to end
    running: bool = False
    findings: list[Finding] = field(default_factory=list)
    hands: list[tuple[str, str]] = field(default_factory=list)  # what was said of pens, forces and speeds

    def complain(self, what: str) -> None:
        self.findings.append(stop(f"page {self.advances + 1}", what))

    def obey(self, name: str, rest: str) -> None:
        numbers = self._numbers(name, rest)
        if name in {"IN", "DF"}:
            self.relative, self.running = False, False
            self.size, self.way = None, (1.0, 0.0)
            if name == "IN":
                self.pen, self.down = 0, False
        elif name == "SP":
            self.hands.append((name, rest))
            self.pen, self.running = int(numbers[0]) if numbers else 0, False
        elif name in {"PU", "PD"}:
            self.down = name == "PD"
            self.running = self.running and self.down
            self._go(numbers)
        elif name in {"PA", "PR"}:
            self.relative = name == "PR"
            if numbers:  # alone they only say how coordinates are meant
                self._go(numbers)
        elif name in _ADVANCES:
            if self.down:
                self.complain("the paper is moved on with the pen down")
            self.advances, self.at, self.running = self.advances + 1, None, False
        elif name in _TURNING and not (name == "RO" and not any(numbers)):
            self.complain(f"{name}{rest} {_TURNING[name]} the drawing; coordinates must be plain plotter units")
        elif name == "PE" and self.encoded:
            self._polyline(rest)
        elif name == "LT" and numbers:
            self.complain(f"LT{rest} asks for a broken line; lines of a marker are whole")
        elif name == "LB":
            self._write(rest)
        elif name in {"SI", "DI"} and self.letters:
            self._set_letters(name, numbers)
        elif name in {"FS", "VS"}:
            self.hands.append((name, rest))
        elif name not in {*_HARMLESS, *_TURNING, "LT", "CO", "DT"}:
            self.complain(f"the command '{name or rest}' is not one that a marker needs")

    def _numbers(self, name: str, rest: str) -> list[float]:
        if name in {"LB", "DT", "CO", "PE", ""}:
            return []
        try:
            return [*map(float, rest.split(",") if rest else ())]
        except ValueError:
            pass
        try:
            return [float(part) for part in rest.replace(",", " ").split()]
        except ValueError:
            self.complain(f"'{name}{rest[:40]}' holds something that is not a number")
            return []

    def _set_letters(self, name: str, numbers: list[float]) -> None:
        """`SI` width and height of a capital (cm), `DI` which way words read; alone they go back to what they were."""
        if numbers and (len(numbers) != 2 or (name == "SI" and min(numbers) <= 0) or not any(numbers)):
            self.complain(f"{name} does not say two numbers that letters can have")
        elif name == "SI":
            self.size = (numbers[0] * 10, numbers[1] * 10) if numbers else None
        else:
            self.way = (numbers[0], numbers[1]) if numbers else (1.0, 0.0)

    def _write(self, words: str) -> None:
        """Words from where the pen stands: each letter as wide as `SI` says, half as much between two."""
        if not self.letters:
            self.complain("it writes words with the machine's own letters, which its profile does not ask for")
        elif self.at is None or not self.pen or self.size is None:
            self.complain(f'"{words}" is written before pen, place and size of its letters are said')
        elif self.down:
            self.complain(f'"{words}" is written with the pen down')
        else:
            (width, height), (run, rise) = self.size, self.way
            length = width * (1 + 1.5 * (len(words) - 1)) / (run**2 + rise**2) ** 0.5
            tall = height / (run**2 + rise**2) ** 0.5
            start = (self.at[0] / UNITS, self.at[1] / UNITS)
            along, up = (run * length, rise * length), (-rise * tall, run * tall)
            self.words.append(Words(str(self.pen), words, start, along, up, self.advances))
        self.at, self.running = None, False

    def _go(self, numbers: list[float]) -> None:
        if len(numbers) % 2:
            self.complain("a move has an x without its y")
            numbers = numbers[:-1]
        if not all(map(float.is_integer, numbers)):
            self.complain("a coordinate is not a whole number of plotter units")
        if self.down and not numbers and self.at is not None:
            self._draw_to(self.at)
        if self.down and self.pen and self.at is not None and numbers:
            self._begin(self.at)
            if self.relative:
                ways = (accumulate(numbers[axis::2], initial=self.at[axis]) for axis in (0, 1))
                numbers = [*chain.from_iterable(zip(*ways, strict=True))][2:]
            self.places.extend(numbers)
            self.at = (numbers[-2], numbers[-1])
            return
        for x, y in zip(numbers[::2], numbers[1::2], strict=True):
            to = (x, y)
            if self.relative:
                if self.at is None:
                    self.complain("it moves by a distance before it stands anywhere")
                    return
                to = (self.at[0] + x, self.at[1] + y)
            if self.down:
                self._draw_to(to)
            self.at = to

    def _polyline(self, rest: str) -> None:
        """An encoded polyline: steps with the pen down, unless a flag says otherwise of the next pair."""
        try:
            moves = list(encoded_moves(rest))
        except ValueError as error:
            self.complain(f"an encoded polyline is damaged: {error}")
            return
        for up, absolute, (x, y) in moves:
            if not absolute and self.at is None:
                self.complain("it moves by a distance before it stands anywhere")
                return
            base = (0.0, 0.0) if absolute or self.at is None else self.at
            to = (base[0] + x, base[1] + y)
            self.down = not up
            if up:
                self.running = False
            else:
                self._draw_to(to)
            self.at = to

    def _draw_to(self, to: tuple[float, float]) -> None:
        if self.pen == 0 or self.at is None:
            self.complain("it draws without a pen" if self.pen == 0 else "it draws before it stands anywhere")
            self.at = to
            return
        self._begin(self.at)
        self.places.extend(to)

    def _begin(self, at: tuple[float, float]) -> None:
        """A run begins, unless one goes on."""
        if not self.running:
            self.begun.append((self.advances, self.pen, len(self.places) // 2))
            self.places.extend(at)
            self.running = True

    @property
    def points(self) -> Array:
        """`(n, 2)`, plotter units: all runs end to end."""
        return np.array(self.places).reshape(-1, 2)

    @property
    def starts(self) -> Ints:
        """`(k,)`: the first point of each run."""
        return np.array([start for _, _, start in self.begun], dtype=np.int64)

    @property
    def runs(self) -> list[tuple[int, int, Array]]:
        """How often the paper was moved on before each run, its pen and its points."""
        parts = np.split(self.points, self.starts[1:])
        return [(advances, pen, part) for (advances, pen, _), part in zip(self.begun, parts, strict=False)]


def encoded_moves(rest: str) -> Iterator[tuple[bool, bool, tuple[int, int]]]:
    """The moves of an encoded polyline: pen up, absolute, and the pair of numbers.

    Flags: `<` pen up and `=` absolute, both for the next pair only; `7` base 32 from there on. Digits come least first;
    in base 64 they are 63 to 126, and 191 to 254 for the last one of a number; in base 32 63 to 94 and 95 to 126.
    A number is halved; odd ones are negative (HP, PCL 5 Technical Reference Manual, Part II, 20-35 to 20-41).

    Raises:
        ValueError: What is wrong with it.
    """
    base, last = 64, 191
    up = absolute = False
    pair: list[int] = []
    value, place = 0, 0
    for letter in rest:
        code = ord(letter)
        if place == 0 and not pair and code in {0x3C, 0x3D}:
            up, absolute = up or code == 0x3C, absolute or code == 0x3D
            continue
        if place == 0 and letter == "7":
            base, last = 32, 95
            continue
        if code <= 32 or 127 <= code <= 160 or code == 255:
            continue
        ends = last <= code < last + base
        digit = code - (last if ends else 63)
        if not 0 <= digit < base:
            raise ValueError(f"'{letter}' is no digit of base {base}")
        value, place = value + digit * base**place, place + 1
        if ends:
            pair.append(-(value // 2) if value % 2 else value // 2)
            value, place = 0, 0
            if len(pair) == 2:
                yield up, absolute, (pair[0], pair[1])
                up = absolute = False
                pair = []
    if pair or place:
        raise ValueError("it ends within a pair of numbers")


def run_of(text: str, *, encoded: bool = False, letters: bool = False) -> _Machine:
    """The state of a plotter after an HPGL text, with all that it drew.

    Args:
        text: The text.
        encoded: The machine knows encoded polylines.
        letters: The words on the pieces are in its own letters.
    """
    machine = _Machine(encoded=encoded, letters=letters)
    for name, rest in commands(text):
        machine.obey(name, rest)
    return machine


def machine_after(data: bytes, form: str, *, letters: bool = False) -> tuple[str, _Machine]:
    """The text of an HPGL file that was written in a form, and the state of its machine after it.

    Raises:
        ProofError: It is no HPGL.
    """
    text = data.decode("latin-1")
    if next(commands(text), ("", ""))[0] != "IN":
        raise ProofError("it does not begin with IN, so it is no HPGL of ours", WRITE_AGAIN, place="file")
    return text, run_of(text, encoded=form.startswith("encoded"), letters=letters)


def frame_cuts(plotter: Plotter, lower: tuple[float, float], upper: tuple[float, float]) -> tuple[float, ...]:
    """The values of x (mm) at which a plot is cut in frames for the machine."""
    long = plotter.frame / plotter.correction[0]
    count = max(1, int(np.ceil((upper[0] - lower[0]) / long - 1e-9)))
    return tuple(lower[0] + frame * long for frame in range(1, count))


def read_hpgl(data: bytes, plotter: Plotter, lower: tuple[float, float]) -> Reading:
    """The lines of an HPGL file, grouped by pen, and its words, in marker coordinates; frame k stands k frames on.

    Args:
        data: The file.
        plotter: The machine it is for.
        lower: Least x and y of the plot (mm).

    Raises:
        ProofError: It is no HPGL.
    """
    text, machine = machine_after(data, plotter.form, letters=plotter.own_letters)
    findings = machine.findings
    if machine.down or machine.pen:
        findings.append(stop("end of the file", "the pen is not up and put away: the file is cut off or unfinished"))
    if not text.rstrip().endswith(";") and not plotter.end.endswith(text[-1:]):
        findings.append(stop("end of the file", "the last command is not finished: the file is cut off"))
    per_frame = max(1, run_of(plotter.between).advances)
    before = run_of(plotter.start).advances
    words = tuple(_on_marker(one, (one.frame - before) // per_frame, plotter, lower) for one in machine.words)
    if not machine.begun:
        return Reading((), shortened(findings), words)
    units, starts = machine.points, machine.starts
    ends = np.append(starts[1:], len(units))
    frames = (np.array([advances for advances, _, _ in machine.begun]) - before) // per_frame
    findings += _out_of_reach(units, starts, frames, plotter)
    shift = np.column_stack((frames * plotter.frame, np.zeros(len(frames))))
    points_mm = (units / UNITS + np.repeat(shift, ends - starts, axis=0)) / plotter.correction + lower
    tidied = tidy_all(points_mm, ends - starts, np.zeros(len(starts), dtype=np.bool_))
    pens, look = np.unique([pen for _, pen, _ in machine.begun], return_inverse=True)
    lines = lines_of(*tidied, looks=[(str(pen), None) for pen in pens.tolist()], look=look)
    return Reading(lines, shortened(findings), words)


def _on_marker(one: Words, frame: int, plotter: Plotter, lower: tuple[float, float]) -> Words:
    """Words in marker coordinates (mm)."""
    factors = np.array(plotter.correction)
    places = (one.at + np.array([frame * plotter.frame, 0.0])) / factors + lower
    ways = np.divide((one.along, one.up), factors)
    at, along, up = ((float(x), float(y)) for x, y in np.vstack((places, ways)))
    return Words(one.pen, one.words, at, along, up, frame)


def _out_of_reach(units: Array, starts: Ints, frames: Ints, plotter: Plotter) -> list[Finding]:
    """Runs with coordinates that the machine cannot reach."""
    limits = min(plotter.largest, round(plotter.frame * UNITS)), min(plotter.largest, round(plotter.width * UNITS))
    least, most = np.minimum.reduceat(units, starts), np.maximum.reduceat(units, starts)
    findings = []
    for run in np.flatnonzero((least.min(axis=1) < 0) | (most > limits).any(axis=1)):
        (x, y), (to_x, to_y) = least[run], most[run]
        what = f"it draws from {x:.0f},{y:.0f} to {to_x:.0f},{to_y:.0f} plotter units"
        reach = f"the machine reaches from 0,0 to {limits[0]},{limits[1]}"
        findings.append(stop(f"frame {frames[run] + 1}", f"{what}; {reach}"))
    return findings
