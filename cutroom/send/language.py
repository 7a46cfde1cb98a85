"""A file as what it is to the sender: passages between places where the tool is up.

A *passage* is a stretch of whole commands that ends where the machine may rest: after a stroke, before the tool is
lifted to travel on. Sending stops, pauses and begins again at such places and nowhere else. A language knows how to
find them in a stream of bytes, without holding the whole file, and what restores a machine before any of them.
"""

import math
from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import BinaryIO

from cutroom.errors import FileError

LONGEST = 8 << 20
"""Bytes of one command at most: no stroke of a marker is a tenth of it, and so much is held at once."""
READ = 1 << 16

Stop = tuple[float, float, bool]
"""A place that the pen goes to (the machine's units), and whether it is down there."""


@dataclass(frozen=True, slots=True)
class Passage:
    """Bytes from one resting place to the next.

    Attributes:
        data: Whole commands.
        strokes: Strokes in it; 0 when it only sets the machine, moves its paper or ends.
        frame: Frame it lies in, from 0.
        advances: It moves the paper on.
        resets: It sets the machine to its beginning.
        low: Least place along the paper that it draws at (mm from the start of the drawing); above `high` when it draws
            nothing, or nobody knows where.
        high: Greatest such place.
        left: Least place across the paper (mm); above `right` likewise.
        right: Greatest such place.
        ink: Length drawn or cut (mm).
        travel: Length moved with the tool up (mm).
    """

    data: bytes
    strokes: int = 0
    frame: int = 0
    advances: bool = False
    resets: bool = False
    low: float = float("inf")
    high: float = float("-inf")
    left: float = float("inf")
    right: float = float("-inf")
    ink: float = 0.0
    travel: float = 0.0


class Gathered:
    """A passage that is being put together; the attributes not named here are those of `Passage`.

    Attributes:
        parts: Its bytes so far.
        running: A stroke is being drawn.
    """

    def __init__(self) -> None:
        self.parts: list[bytes] = []
        self.running = False
        self.strokes = 0
        self.resets = False
        self.low = self.left = math.inf
        self.high = self.right = -math.inf
        self.ink = self.travel = 0.0

    def passage(self, frame: int = 0, *, advances: bool = False) -> Passage:
        """The passage as it is."""
        return Passage(
            b"".join(self.parts), self.strokes, frame, advances, self.resets,
            self.low, self.high, self.left, self.right, self.ink, self.travel,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Contents:
    """What a whole file holds.

    Attributes:
        size: Bytes.
        passages: Their number.
        strokes: Their number.
        frames: Frames in which something is drawn.
        low: Least place along the paper (mm).
        high: Greatest place along the paper (mm).
        left: Least place across it (mm).
        right: Greatest place across it (mm).
        ink: Length drawn or cut (mm).
        travel: Length moved with the tool up (mm).
    """

    size: int
    passages: int
    strokes: int
    frames: int
    low: float
    high: float
    left: float
    right: float
    ink: float
    travel: float


class Language(ABC):
    """What a machine is told in; one object reads one file once.

    Attributes:
        name: What messages call it.
        rests: It has places where the tool is up; without them a file is sent whole or not at all.
        trail: When it is a list, and the language can, every place that the pen goes to is added to it.
    """

    name: str
    rests: bool = True
    trail: list[Stop] | None = None

    @abstractmethod
    def passages(self, file: BinaryIO) -> Iterator[Passage]:
        """Read a file from where it stands to its end.

        Raises:
            FileError: It is not in this language; with the byte.
        """

    @abstractmethod
    def head(self, contents: Contents, *, marks: bool, reset: bool = True) -> bytes:
        """What brings a machine that knows nothing to where the next passage may follow.

        Args:
            contents: Of the whole file.
            marks: Draw a cross at both ends of the frame's start line first.
            reset: The machine knows nothing; otherwise it did what went before, but for passages that were left out.

        Raises:
            FileError: It cannot be told.
        """

    def opening(self, data: bytes) -> int:  # noqa: ARG002 - most have none
        """Bytes of a beginning that set the machine to its own beginning, and draw nothing."""
        return 0

    @abstractmethod
    def lift(self) -> bytes:
        """What lifts the tool and changes nothing else."""

    @abstractmethod
    def goodbye(self, end: str) -> bytes:
        """What leaves the machine safe after a passage: the profile's end, without moving the paper.

        Args:
            end: What the profile sends at the end of a file.
        """


class AsIs(Language):
    """Bytes that nobody looks into: sent whole or not at all."""

    name = "bytes as they are"
    rests = False

    def passages(self, file: BinaryIO) -> Iterator[Passage]:
        """Block after block."""
        while block := file.read(READ):
            yield Passage(block)

    def head(self, contents: Contents, *, marks: bool, reset: bool = True) -> bytes:  # noqa: ARG002 - there is none
        """There is none."""
        raise FileError(
            "it is sent as it is, so nobody knows where it could begin again",
            "Send it whole, or leave out --as-is",
        )

    def lift(self) -> bytes:
        """Nothing is known that would."""
        return b""

    def goodbye(self, end: str) -> bytes:  # noqa: ARG002 - the end of another language would be nonsense here
        """Nothing is known that would."""
        return b""


def contents_of(passages: Iterable[Passage]) -> Contents:
    """Add up what passages hold."""
    size = count = strokes = 0
    ink = travel = 0.0
    low = left = float("inf")
    high = right = float("-inf")
    frames: set[int] = set()
    for one in passages:
        size += len(one.data)
        count += 1
        strokes += one.strokes
        ink += one.ink
        travel += one.travel
        if one.strokes:
            frames.add(one.frame)
        low, high = min(low, one.low), max(high, one.high)
        left, right = min(left, one.left), max(right, one.right)
    return Contents(size, count, strokes, len(frames), low, high, left, right, ink, travel)


def not_of(language: str, place: int, text: bytes, why: str = "") -> FileError:
    """The file is not what it is said to be."""
    shown = text[:24].decode("latin-1").encode("unicode_escape").decode("ascii")
    return FileError(
        f"it is no {language}: {why or f'{shown} is none of its commands'}",
        "Write it again, or name the right file; --as-is sends it without looking",
        place=f"byte {place + 1}",
    )
