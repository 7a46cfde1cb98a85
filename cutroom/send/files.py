"""Lines that are files: a spool folder, a file, a device's node, standard output."""

import errno
import os
import re
import stat
import sys
import time
from contextlib import suppress
from pathlib import Path

from cutroom.errors import DeviceError
from cutroom.send.descriptor import give
from cutroom.send.faults import closed, line_fault
from cutroom.send.transport import Transport

_BLOCK = 4096
"""A pipe that can be written to takes so many bytes at once without waiting (POSIX, PIPE_BUF on Linux)."""


class _Writing(Transport):
    """Bytes into an open file; `_fd` is -1 when it is closed."""

    _fd = -1

    def send(self, data: bytes, within: float) -> int:
        """Hand over the first bytes; see `Transport`."""
        return give(self._open(), data[:_BLOCK], within, self.name)

    def receive(self, within: float) -> bytes:
        """Nothing: a file says nothing."""
        self._open()
        time.sleep(within)
        return b""

    def unsent(self) -> int:
        """Nothing: what was written is written."""
        return 0

    def finish(self, within: float) -> bool:  # noqa: ARG002 - there is no more to wait for
        """Nothing more comes."""
        self._open()
        return True

    def _open(self) -> int:
        if self._fd < 0:
            raise closed(self.name)
        return self._fd


class WholeFile(_Writing):
    """A file that is there when it is whole, and not before."""

    def __init__(self, path: Path) -> None:
        """Start it beside its place.

        Raises:
            DeviceError: It cannot be written there.
        """
        self.name = str(path)
        self._path = path
        self._part = path.with_name(f".{path.name}.{os.getpid()}.part")
        try:
            flags = os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_NOFOLLOW", 0)
            self._fd = os.open(self._part, flags, 0o644)
        except OSError as fault:
            raise line_fault(fault, self.name) from fault

    def finish(self, within: float) -> bool:  # noqa: ARG002 - a disk is not clogged
        """Make sure that it is on the disk, then put it in its place."""
        try:
            os.fsync(self._open())
            self._part.replace(self._path)
        except OSError as fault:
            raise line_fault(fault, self.name) from fault
        return True

    def close(self) -> None:
        """Let go of it; what was not finished is removed."""
        if self._fd < 0:
            return
        fd, self._fd = self._fd, -1
        with suppress(OSError):
            os.close(fd)
        with suppress(OSError):
            self._part.unlink(missing_ok=True)


class Node(_Writing):
    """A device's node or a named pipe, written to as it stands."""

    def __init__(self, path: Path) -> None:
        """Open it.

        Raises:
            DeviceError: It is not there, or nothing reads from it.
        """
        self.name = str(path)
        try:
            self._fd = os.open(path, os.O_WRONLY | os.O_NONBLOCK | os.O_NOCTTY)
        except OSError as fault:
            raise line_fault(fault, self.name) from fault

    def close(self) -> None:
        """Let go of it."""
        if self._fd >= 0:
            fd, self._fd = self._fd, -1
            with suppress(OSError):
                os.close(fd)


class Output(_Writing):
    """Standard output, into another program or a file. It is not closed: it belongs to the process."""

    name = "standard output"

    def __init__(self, fd: int | None = None) -> None:
        """Take standard output, or another open file."""
        if fd is None:
            sys.stdout.flush()
            fd = sys.stdout.fileno()
        self._fd = fd

    def close(self) -> None:
        """Let go of it."""
        self._fd = -1


def open_file(path: Path) -> Transport:
    """A file to write, or a device's node to write to.

    Raises:
        DeviceError: It cannot be written.
    """
    try:
        mode = path.stat().st_mode
    except OSError:
        return WholeFile(path)
    if stat.S_ISDIR(mode):
        raise line_fault(IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR)), str(path))
    return WholeFile(path) if stat.S_ISREG(mode) else Node(path)


def open_spool(folder: Path, name: str) -> WholeFile:
    """A job for a spool folder, under a name that no other job there has.

    Args:
        folder: The folder; it must be there.
        name: What the job is called.

    Raises:
        DeviceError: There is no such folder, or the name leads out of it.
    """
    if not folder.is_dir():
        raise DeviceError("there is no such folder", "Make it, or put the address right", file=str(folder))
    if not name or name in {".", ".."} or re.search(r"[/\\\0]", name) or name.startswith("."):
        raise DeviceError(
            f'the job\'s name "{name}" would lead out of the spool folder, or hide in it',
            "Give it a plain file name",
            file=str(folder),
        )
    path, number = folder / name, 1
    while path.exists() or path.is_symlink():
        number += 1
        path = folder / f"{Path(name).stem}-{number}{Path(name).suffix}"
    return WholeFile(path)
