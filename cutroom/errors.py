"""What can go wrong that the person at the table can put right.

A programmer's mistake is not one of these: it keeps its own type and its traceback.
"""

from collections.abc import Callable, Iterable
from typing import Self


class CutroomError(Exception):
    """Something the person at the table can put right.

    Attributes:
        what: What is wrong, with what was found and what was wanted.
        fix: What to do about it, as a sentence without its full stop.
        file: The file it was found in, or empty.
        place: Where in the file or which piece, edge or field, or empty.
    """

    exit_code = 1

    def __init__(self, what: str, fix: str, file: str = "", place: str = "") -> None:
        super().__init__(what, fix, file, place)  # keyword-only would not unpickle
        self.what, self.fix, self.file, self.place = what, fix, file, place

    def __str__(self) -> str:
        parts = (self.file, self.place, self.what)
        return f"{': '.join(part for part in parts if part)}. {self.fix}."

    def at(self, *, file: str = "", place: str = "") -> Self:
        """The same error with facts added that were not known where it rose.

        A place is put in front of the one that is there already.
        """
        places = [part for part in (place, self.place) if part]
        return type(self)(self.what, self.fix, self.file or file, ", ".join(places))

    def spoken(self, words: Callable[[str], str]) -> Self:
        """The same error with the lengths in it said in words, by what makes words of a message."""
        return type(self)(words(self.what), words(self.fix), self.file, self.place)


class UnitError(CutroomError):
    """A length that cannot be read, or has no unit."""


class FileError(CutroomError):
    """A file that is not there, cannot be read or does not say what it should."""


class DraftError(CutroomError):
    """Measurements from which a piece cannot be drafted."""


class PieceError(CutroomError):
    """A piece that cannot be prepared."""


class OrderError(CutroomError):
    """An order that asks for nothing, or for what is not there."""


class FabricError(CutroomError):
    """Cloth on which the pieces cannot be laid as asked."""


class NestError(CutroomError):
    """A marker that cannot be made."""


class ProfileError(CutroomError):
    """A machine that is not known, or a profile that is wrong."""


class PlotError(CutroomError):
    """A drawing that the machine or the paper cannot take."""


class ProofError(CutroomError):
    """A written file that does not say what the marker says."""

    exit_code = 3


class DeviceError(CutroomError):
    """A machine that is not there, does not answer, is taken, or broke off."""

    exit_code = 4


class FaultsError(CutroomError):
    """Several faults found in one reading, reported together.

    Attributes:
        faults: The errors, in the order they were found.
    """

    def __init__(self, faults: Iterable[CutroomError]) -> None:
        self.faults = tuple(faults)
        super().__init__(f"{len(self.faults)} faults were found", "Put them right and try again")
        self.exit_code = max((fault.exit_code for fault in self.faults), default=1)

    def __str__(self) -> str:
        return "\n".join(str(fault) for fault in self.faults)

    def at(self, *, file: str = "", place: str = "") -> Self:
        """The same faults, each with the facts added."""
        return type(self)(fault.at(file=file, place=place) for fault in self.faults)

    def spoken(self, words: Callable[[str], str]) -> Self:
        """The same faults, each said in words."""
        return type(self)(fault.spoken(words) for fault in self.faults)

    def __reduce__(self) -> tuple[type["FaultsError"], tuple[tuple[CutroomError, ...]]]:
        return FaultsError, (self.faults,)


def raise_all(faults: Iterable[CutroomError]) -> None:
    """Raise the one fault, or all of them together; do nothing when there are none."""
    found = tuple(faults)
    if len(found) == 1:
        raise found[0]
    if found:
        raise FaultsError(found)
