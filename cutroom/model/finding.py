"""What a check found: something to live with, to look at, or to stop for."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum


class Severity(StrEnum):
    """How much a finding weighs."""

    STOP = "stop"
    WARN = "warn"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found, with what to do about it.

    Attributes:
        severity: STOP keeps files from being written; WARN and NOTE are printed on the sheet.
        place: Garment, piece, edge or field.
        what: What was found, and what was wanted.
        fix: What to do, as a sentence without its full stop.
        at: Where on the piece that `place` names, in the frame it was drafted in (mm), or None: its edge's middle.
        spots: Of what is found on several pieces, `(piece, (x, y))` for each, in the frame that one was drafted in.
    """

    severity: Severity
    place: str
    what: str
    fix: str
    at: tuple[float, float] | None = None
    spots: tuple[tuple[str, tuple[float, float]], ...] = ()

    def spoken(self, words: Callable[[str], str]) -> "Finding":
        """The same finding with the lengths in it said in words, by what makes words of a message."""
        return replace(self, what=words(self.what), fix=words(self.fix))

    def __str__(self) -> str:
        return f"{self.severity.upper()}: {self.place}: {self.what}. {self.fix}."
