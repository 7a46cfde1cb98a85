"""The passages of a file from a place on, numbered, with what sets the machine before them."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import BinaryIO

from cutroom.errors import FileError
from cutroom.send.language import Contents, Language, Passage
from cutroom.send.sender import Item


@dataclass(frozen=True, slots=True)
class Start:
    """Where sending begins.

    Attributes:
        byte: Bytes of the file before it: a resting place.
        strokes: Strokes before it.
        frame: Frame it lies in, from 0.
        keep: Passages that lie wholly before this place along the paper (mm) ...
        keep_to: ... and end at or before this byte are drawn already, and are left out.
    """

    byte: int = 0
    strokes: int = 0
    frame: int = 0
    keep: float = float("-inf")
    keep_to: int = 0


def numbered(passages: Iterator[Passage]) -> Iterator[Item]:
    """Passages with the bytes and strokes up to the end of each."""
    byte = strokes = 0
    for passage in passages:
        byte += len(passage.data)
        strokes += passage.strokes
        yield Item(passage, byte, strokes)


def begun_at(
    file: BinaryIO, language: Language, contents: Contents, start: Start, *, marks: bool
) -> tuple[bytes, Iterator[Item]]:
    """What is sent first, and the passages that follow.

    Args:
        file: The file, at its beginning.
        language: What it is in; it has read nothing yet.
        contents: Of the whole file.
        start: Where to begin.
        marks: Draw registration crosses when it is not the beginning.

    Raises:
        FileError: It cannot be begun there.
    """
    items = numbered(language.passages(file))
    if start.byte == 0:
        return b"", _kept(items, language, contents, start)
    for item in items:
        if item.byte == start.byte:
            return language.head(contents, marks=marks), _kept(items, language, contents, start)
        if item.byte > start.byte:
            break
    raise FileError(f"byte {start.byte} is no place where the tool rests", "Name a stroke, a frame or a length")


def _kept(items: Iterator[Item], language: Language, contents: Contents, start: Start) -> Iterator[Item]:
    """The passages without those that are drawn already; the machine is set again after a gap."""
    setting = b""
    for item in items:
        passage = item.passage
        if passage.strokes and not passage.advances and item.byte <= start.keep_to and passage.high <= start.keep:
            setting = language.head(contents, marks=False, reset=False)
            continue
        if setting:
            yield Item(Passage(setting), item.byte - len(passage.data), item.strokes - passage.strokes)
            setting = b""
        yield item


def from_stroke(items: Iterator[Item], number: int) -> Start:
    """Begin with a stroke, counted from 1.

    Raises:
        FileError: There is no such stroke.
    """
    before = Start()
    for item in items:
        if item.strokes >= number:
            return before
        before = Start(item.byte, item.strokes, item.passage.frame + item.passage.advances)
    raise FileError(f"it has {before.strokes} strokes and none of number {number}", "Name one that it has")


def from_frame(items: Iterator[Item], number: int) -> Start:
    """Begin with a frame, counted from 1.

    Raises:
        FileError: There is no such frame.
    """
    if number == 1:
        return Start()
    frames, start = 1, None
    for item in items:
        if item.passage.advances:
            start = Start(item.byte, item.strokes, item.passage.frame + 1)
        elif item.passage.strokes:
            frames = item.passage.frame + 1
            if frames == number and start is not None:
                return start
    raise FileError(f"it has {frames} frame{'s' * (frames > 1)} and none of number {number}", "Name one that it has")


def from_length(items: Iterator[Item], length: float, *, drawn_to: int, say: Callable[[float], str]) -> Start:
    """Begin with the first stroke that reaches beyond a place along the paper.

    Args:
        items: All passages.
        length: The place (mm from the start of the drawing).
        drawn_to: Bytes of the file that are surely drawn: of these, what lies wholly before the place is left out.
        say: A length in words.

    Raises:
        FileError: Nothing lies beyond it.
    """
    before = Start()
    most = float("-inf")
    for item in items:
        most = max(most, item.passage.high)
        if item.passage.strokes and item.passage.high > length:
            return Start(before.byte, before.strokes, before.frame, length, drawn_to)
        before = Start(item.byte, item.strokes, item.passage.frame + item.passage.advances)
    raise FileError(f"the drawing ends at {say(max(most, 0.0))} of paper", f"Name a length below {say(max(most, 0.0))}")
