"""What was sent, written down beside the file while it is sent, so that a crash or a power cut can be made good.

One line a record: a checksum, a blank, JSON. Lines are only ever added, and each is on the disk before what it promises
is done: first that bytes up to a place *may* go out, then that they go. A last line that was torn off is dropped; a
damaged line with whole ones after it is refused, because nobody knows what it said.
"""

import json
import os
import zlib
from pathlib import Path
from typing import Any

from cutroom.errors import FileError

ENDING = ".journal"
_Record = dict[str, Any]


def journal_of(file: Path) -> Path:
    """Where the journal of a file is."""
    return file.with_name(file.name + ENDING)


class Journal:
    """The journal of one file.

    Attributes:
        path: Where it is.
        records: What it says, oldest first.
        safe: Bytes of it that are on the disk for sure.
    """

    def __init__(self, path: Path) -> None:
        """Open it, or begin it; what was torn off is dropped.

        Raises:
            FileError: It is damaged, or cannot be written.
        """
        self.path = path
        try:
            self._fd = os.open(path, os.O_RDWR | os.O_CREAT | os.O_APPEND | os.O_CLOEXEC | os.O_NOFOLLOW, 0o644)
            with os.fdopen(os.dup(self._fd), "rb") as file:
                data = file.read()
        except OSError as fault:
            raise FileError(
                f"the journal of the sending cannot be written: {fault.strerror}",
                "Copy the file to a folder of your own and send it from there",
                file=str(path),
            ) from fault
        self.records, whole = _read(data, path)
        if whole < len(data):
            os.ftruncate(self._fd, whole)
            os.fsync(self._fd)
        self.safe = whole
        self._size = whole

    def note(self, record: _Record, *, sure: bool = True) -> None:
        """Add a record.

        Args:
            record: What to remember.
            sure: It must be on the disk before anything else is done.
        """
        line = _line(record)
        os.write(self._fd, line)
        self._size += len(line)
        self.records.append(record)
        if sure:
            os.fsync(self._fd)
            self.safe = self._size

    def close(self) -> None:
        """Let go of it."""
        fd, self._fd = self._fd, -1
        if fd >= 0:
            os.close(fd)


def read_journal(path: Path) -> list[_Record]:
    """What a journal says; nothing when there is none.

    Raises:
        FileError: It is damaged or cannot be read.
    """
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return []
    except OSError as fault:
        raise FileError(f"it cannot be read: {fault.strerror}", "Check who may read it", file=str(path)) from fault
    return _read(data, path)[0]


def _line(record: _Record) -> bytes:
    text = json.dumps(record, separators=(",", ":")).encode("ascii")
    return b"%08x %s\n" % (zlib.crc32(text), text)


def _read(data: bytes, path: Path) -> tuple[list[_Record], int]:
    """The whole records from the start, and how many bytes they are."""
    records: list[_Record] = []
    place = 0
    lines = data.split(b"\n")
    for number, line in enumerate(lines[:-1]):
        record = _record(line)
        if record is None:
            if any(_record(later) is not None for later in lines[number + 1 :]):
                raise FileError(
                    "a line of it is damaged, and there are whole lines after it",
                    "Look at what is drawn, then send with --from-stroke; or remove it and send anew",
                    file=str(path),
                    place=f"line {number + 1}",
                )
            break
        records.append(record)
        place += len(line) + 1
    return records, place


def _record(line: bytes) -> _Record | None:
    check, _, text = line.partition(b" ")
    try:
        if int(check, 16) != zlib.crc32(text) or len(check) != 8:
            return None
        record = json.loads(text)
    except ValueError:
        return None
    return record if isinstance(record, dict) else None
