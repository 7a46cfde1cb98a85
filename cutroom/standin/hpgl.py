"""HP-GL as a plotter takes it: letter by letter, every pair of coordinates drawn as soon as it is whole."""

from collections.abc import Iterator

from cutroom.standin.motion import Vector
from cutroom.standin.orders import Order, Reader

UNITS = 40.0
"""Plotter units to the millimetre (0.025 mm each)."""
_PAPER = {"PG", "FR", "AF", "AH", "NR"}
_REPLIES = {"OA": "where", "OC": "where", "OS": "status", "OE": "fault"}
_QUIET = {
    "VS", "FS", "AS", "PW", "WU", "LT", "PT", "DT", "SI", "SR", "DI", "DR", "SL", "LO", "EC", "PS", "IP", "SC", "IW",
    "RO", "CO", "BP", "CA", "CS", "TR", "MC", "LA", "QL",
}  # fmt: skip


class HpglReader(Reader):
    """The plain part of HP-GL, absolute and by distances, and the encoded polyline."""

    def __init__(self) -> None:
        super().__init__()
        self._at = (0.0, 0.0)
        self._down = False
        self._pen = 0
        self._relative = False
        self._name = ""
        self._text = bytearray()
        self._pair: list[float] = []
        self._size = (2.85, 3.75)
        self._way = (1.0, 0.0)

    def forget(self, at: tuple[float, float], *, down: bool, pen: int) -> None:
        """See `Reader`."""
        self._at, self._down, self._pen = at, down, pen
        self._name, self._pair, self.held = "", [], 0
        self._text.clear()

    def feed(self, byte: int) -> Iterator[Order]:
        """See `Reader`."""
        self.held += 1
        letter = chr(byte)
        if len(self._name) == 2 and self._name in {"LB", "PE", "CO"}:
            if byte != (3 if self._name == "LB" else 59):
                self._text.append(byte)
                return
            yield from self._close()
            return
        if letter.isascii() and letter.isalpha():
            if len(self._name) == 2:
                self.held -= 1
                yield from self._close()
                self.held += 1
            self._name += letter.upper()
            return
        if len(self._name) == 1:
            self.faults.append(f"{self._name}{letter!r} is no command")
            self._name = ""
        if letter == ";":
            yield from self._close()
        elif letter in ", \r\n\t":
            yield from self._number()
        elif self._name:
            self._text.append(byte)
        elif byte > 32:
            self.faults.append(f"{letter!r} belongs to no command")

    def _number(self) -> Iterator[Order]:
        """A number is whole; with its y a move is drawn."""
        if not self._text:
            return
        text = self._text.decode("latin-1")
        self._text.clear()
        try:
            value = float(text)
        except ValueError:
            self.faults.append(f"{text!r} is no number")
            return
        self._pair.append(value)
        if self._name in {"PU", "PD", "PA", "PR"} and len(self._pair) == 2:
            yield from self._set_pen()
            x, y = self._pair
            self._pair = []
            yield self._move(x / UNITS, y / UNITS, relative=self._relative or self._name == "PR")

    def _set_pen(self) -> Iterator[Order]:
        if self._name in {"PU", "PD"} and self._down is not (self._name == "PD"):
            self._down = self._name == "PD"
            yield Order(0, down=self._down)
        elif self._name in {"PA", "PR"}:
            self._relative = self._name == "PR"

    def _move(self, x: float, y: float, *, relative: bool) -> Order:
        to = (self._at[0] + x, self._at[1] + y) if relative else (x, y)
        vector = Vector(self._at, to, self._down, self._pen)
        self._at = to
        size, self.held = self.held, 0
        return Order(size, vector)

    def _close(self) -> Iterator[Order]:
        """A command is whole."""
        name = self._name
        if name in {"PU", "PD", "PA", "PR"}:
            yield from self._number()
            if self._pair:
                self.faults.append(f"{name} has an x without its y")
            yield from self._set_pen()
        elif name == "PE":
            yield from self._encoded()
        elif name:
            yield from self._number() if name not in {"LB", "CO"} else ()
            yield from self._write() if name == "LB" else self._obey(name)
        self._name, self._pair = "", []
        self._text.clear()
        size, self.held = self.held, 0
        if size:
            yield Order(size)

    def _obey(self, name: str) -> Iterator[Order]:
        if name == "SP":
            self._pen = int(self._pair[0]) if self._pair else 0
            yield Order(0, pen=self._pen)
        elif name in _PAPER:
            yield Order(0, advance=True)
        elif name == "IN":
            self._down, self._pen, self._relative = False, 0, False
            self._size, self._way = (2.85, 3.75), (1.0, 0.0)
            yield Order(0, reset=True)
        elif name == "DF":
            self._relative = False
        elif name == "SI" and len(self._pair) == 2:
            self._size = (self._pair[0] * 10, self._pair[1] * 10)
        elif name == "DI" and len(self._pair) == 2:
            self._way = (self._pair[0], self._pair[1])
        elif name in _REPLIES:
            yield Order(0, reply=_REPLIES[name])
        elif name not in _QUIET:
            self.faults.append(f"the command {name} is not known")

    def _write(self) -> Iterator[Order]:
        """Letters of its own: uprights as tall as the letter's number says, so that one letter is not another."""
        (width, height), (run, rise) = self._size, self._way
        foot = self._at
        yield Order(0, down=True)
        for code in self._text:
            tall = height * code / 128
            top = (foot[0] - rise * tall, foot[1] + run * tall)
            after = (foot[0] + run * 1.5 * width, foot[1] + rise * 1.5 * width)
            for start, end in ((foot, top), (top, foot), (foot, after)):
                yield Order(0, Vector(start, end, True, self._pen))
            foot = self._at = after
        yield Order(0, down=False)
        self._down = False

    def _encoded(self) -> Iterator[Order]:
        """Base 64 or 32 digits, least first; `<` lifts and `=` makes absolute the pair that follows."""
        base, first, last = 64, 63, 191
        up = absolute = pen = shift = False
        fraction = 0
        value, weight = 0, 1
        pair: list[float] = []
        for byte in self._text:
            sign = byte & 127
            if weight == 1 and sign in b":<=>7":
                if sign == ord("7"):
                    base, last = 32, 95
                up, absolute = up or sign == ord("<"), absolute or sign == ord("=")
                pen, shift = sign == ord(":"), sign == ord(">")
                continue
            digit = sign if base == 32 else byte
            if digit < last:
                value, weight = value + (digit - first) * weight, weight * base
                continue
            value += (digit - last) * weight
            number = -(value // 2) if value % 2 else value // 2
            value, weight = 0, 1
            if pen:
                self._pen, pen = number, False
                yield Order(0, pen=number)
                continue
            if shift:
                fraction, shift = number, False
                continue
            pair.append(number / 2**fraction / UNITS)
            if len(pair) == 2:
                if self._down is up:
                    self._down = not up
                    yield Order(0, down=self._down)
                held, self.held = self.held, 0
                order = self._move(*pair, relative=not absolute)
                self.held = held
                yield order
                pair, up, absolute = [], False, False
