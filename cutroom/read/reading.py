"""Taking a file apart key by key, so that one reading finds every fault in it."""

import difflib
from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache
from typing import Any, TypeVar, get_args

import msgspec
import numpy as np
from numpy.typing import NDArray

from cutroom.errors import CutroomError, FaultsError, FileError, OrderError, UnitError
from cutroom.read.shapes import Length, Pair, Shape
from cutroom.units import Unit, format_length, parse_length

S = TypeVar("S", bound=Shape)
T = TypeVar("T")
W = TypeVar("W", bound=StrEnum)


@dataclass
class Reading:
    """One file being read, with the faults found so far.

    Attributes:
        file: Its name, for messages.
        unit: What a bare number or fraction stands in.
        found: The faults, in the order they were found.
        meant: Places of keys that were meant by a misspelt one, so that they are not called missing too.
    """

    file: str
    unit: Unit
    found: list[CutroomError] = field(default_factory=list)
    meant: set[str] = field(default_factory=set)

    def fault(self, place: str, what: str, fix: str, kind: type[CutroomError] = FileError) -> None:
        """Note a fault."""
        self.found.append(kind(what, fix, self.file, place))

    def keep(self, error: CutroomError, place: str = "") -> None:
        """Note an error that rose elsewhere, with this file and place added."""
        if isinstance(error, FaultsError):
            for one in error.faults:
                self.keep(one, place)
        else:
            self.found.append(error.at(file=self.file, place=place))

    def faulted(self, place: str) -> bool:
        """Something was already said about that place."""
        return place in self.meant or any(fault.place == place for fault in self.found)

    def table(self, shape: type[S], raw: object, place: str) -> S:
        """A table taken into its shape; keys that are unknown or of the wrong kind are noted and left out."""
        if not isinstance(raw, dict):
            self.fault(place, f"{echo(raw)} is not a table of keys", "Write it as name = value lines")
            return shape()
        fields = _fields(shape)
        taken: dict[str, Any] = {}
        for key, value in raw.items():
            if key not in fields:
                self.unknown_key(key, fields, place)
                continue
            converted = self.converted(value, fields[key].type, joined(place, key))
            if converted is not None:
                taken[fields[key].name] = converted
        return shape(**taken)

    def unknown_key(self, key: str, known: Iterable[str], place: str) -> None:
        """Note a key that is not known here, with the nearest that is."""
        known = list(known)
        self.meant.update(joined(place, near) for near in _nearest(key, known))
        self.fault(
            joined(place, key), "there is no such key here", did_you_mean(key, known) or f"Write one of {listed(known)}"
        )

    def converted(self, value: object, kind: Any, place: str) -> Any:
        """A value of that kind, or None after noting that it is of another."""
        try:
            return msgspec.convert(value, kind)
        except msgspec.ValidationError:
            wanted = _described(kind)
            self.fault(place, f"{echo(value)} is not {wanted}", f"Write {wanted}")
            return None

    def asked(self, value: T | None, place: str, why: str, write: str) -> T | None:
        """The value, or None after noting that it must be there and why."""
        if isinstance(value, str) and not value.strip():
            self.fault(place, f"it is empty: {why}", f"Write {write}")
            return None
        if value is None and not self.faulted(place):
            self.fault(place, f"it is missing: {why}", f"Write {write}")
        return value

    def length(
        self, value: Length | None, place: str, *, positive: bool = False, negative: bool = False
    ) -> float | None:
        """A length in mm, or None when there is none or after noting what is wrong with it.

        Args:
            value: What was written.
            place: Where.
            positive: Nothing is refused.
            negative: Less than nothing is accepted.
        """
        if value is None:
            return None
        try:
            length = parse_length(value if isinstance(value, str) else repr(value), self.unit)
        except UnitError as error:
            self.keep(error, place)
            return None
        if positive and length <= 0:
            self.fault(place, f"{echo(value)} is not more than nothing", "Write a length above 0", UnitError)
            return None
        if length < 0 and not negative:
            self.fault(place, f"{echo(value)} is less than nothing", "Write 0 or more", UnitError)
            return None
        return length

    def point(self, value: Pair, place: str) -> tuple[float, float] | None:
        """A point in mm, or None after noting what is wrong with it."""
        x = self.length(value[0], f"{place}, x", negative=True)
        y = self.length(value[1], f"{place}, y", negative=True)
        return None if x is None or y is None else (x, y)

    def points(self, values: tuple[Pair, ...], place: str) -> NDArray[np.float64] | None:
        """Points `(n, 2)` in mm, or None after noting what is wrong with them."""
        points = [self.point(value, f"{place}, point {number}") for number, value in enumerate(values, start=1)]
        good = [point for point in points if point is not None]
        return np.array(good, dtype=np.float64).reshape(-1, 2) if len(good) == len(points) else None

    def word(self, kinds: type[W], value: str | None, place: str, kind: type[CutroomError] = FileError) -> W | None:
        """A word of a list, or None when there is none or after noting that it is not of the list."""
        if value is None:
            return None
        words = [one.value for one in kinds]
        return kinds(value) if self.known(value, words, place, "word for it", kind) else None

    def known(
        self, value: str, names: Iterable[str], place: str, noun: str, kind: type[CutroomError] = OrderError
    ) -> bool:
        """Whether a name is one of those that are known; if not, that is noted."""
        names = list(names)
        if value in names:
            return True
        near = did_you_mean(value, names)
        fix = near or (f"Write one of {listed(names)}" if names else f"Add one {noun} first")
        self.fault(place, f"there is no {noun} {echo(value)}", fix, kind)
        return False

    def say(self, length: float) -> str:
        """A length (mm) in the unit of the file."""
        return format_length(length, self.unit)


@cache
def _fields(shape: type[Shape]) -> dict[str, msgspec.structs.FieldInfo]:
    """The keys of a shape, by the word that files use."""
    return {one.encode_name: one for one in msgspec.structs.fields(shape)}


def joined(place: str, key: str) -> str:
    """The place of a key inside a place."""
    if not place:
        return key
    return f"{place}, {key}" if place.endswith('"') or (place[-1].isdigit() and " " in place) else f"{place}.{key}"


def echo(value: object) -> str:
    """What was written, shortened."""
    text = msgspec.json.encode(value, enc_hook=str).decode()
    return text if len(text) <= 60 else f"{text[:57]}..."


def listed(names: Iterable[str]) -> str:
    """Names in a row: `open, folded or tubular`."""
    names = list(names)
    return " or ".join(part for part in (", ".join(names[:-1]), names[-1]) if part)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """`Did you mean width? Known are …` without its full stop, or empty when nothing is near."""
    known = list(known)
    near = _nearest(word, known)
    return f'Write "{near[0]}" if that is meant; known are {listed(known)}' if near else ""


def _nearest(word: str, known: list[str]) -> list[str]:
    """The one name that is most like a word, if any is."""
    return difflib.get_close_matches(word.casefold(), known, n=1, cutoff=0.6)


def _described(kind: Any) -> str:
    """How a shape's annotation describes what goes there."""
    for part in (kind, *getattr(kind, "__metadata__", ())):
        if isinstance(part, msgspec.Meta) and part.description:
            return part.description
    return next((text for inner in get_args(kind) if (text := _described(inner))), "")
