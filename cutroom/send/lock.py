"""Never two senders on one machine.

A lock is a file that the operating system keeps locked as long as its process lives: one that was killed, or a power
cut, leaves no lock behind. Its number is written in it, so that the other can be told who has it.
"""

import fcntl
import hashlib
import os
import socket
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from cutroom.errors import DeviceError
from cutroom.model.profile import Connection, Line
from cutroom.send.address import split_host


def same_machine(connection: Connection) -> str:
    """One text for all ways to write the same address."""
    address = connection.address
    if connection.line is Line.NETWORK:
        host, port = split_host(address)
        with suppress(OSError):
            host = min(str(info[4][0]) for info in socket.getaddrinfo(host, port, type=socket.SOCK_STREAM))
        return f"{connection.line}:{host}:{port}"
    return f"{connection.line}:{Path(address).resolve()}"


@contextmanager
def locked(connection: Connection) -> Iterator[None]:
    """Keep all other senders from a machine for as long as the block runs.

    Raises:
        DeviceError: Another sender has it; with its process number.
    """
    if connection.line is Line.OUTPUT:
        yield
        return
    name = hashlib.sha256(same_machine(connection).encode()).hexdigest()[:32]
    fd = os.open(_folder() / f"{name}.lock", os.O_RDWR | os.O_CREAT | os.O_CLOEXEC | os.O_NOFOLLOW, 0o600)
    try:
        try:
            fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as fault:
            holder = os.pread(fd, 32, 0).decode("ascii", "replace").strip()
            by = f"process {holder}" if holder.isdigit() else "another sender"
            raise DeviceError(
                f"{by} is sending to it", "Wait until it is done, or stop it with Ctrl-C there", file=connection.address
            ) from fault
        os.ftruncate(fd, 0)
        os.pwrite(fd, f"{os.getpid()}\n".encode(), 0)
        yield
    finally:
        os.close(fd)


def _folder() -> Path:
    """Where the locks of this user are. A port is also kept from other users, by the port itself."""
    folder = Path(tempfile.gettempdir()) / f"cutroom-{os.getuid()}"
    folder.mkdir(mode=0o700, exist_ok=True)
    at = folder.lstat()
    if folder.is_symlink() or at.st_uid != os.getuid():
        raise DeviceError(
            "the folder for locks belongs to somebody else", "Remove it, or set TMPDIR to a folder of yours",
            file=str(folder),
        )  # fmt: skip
    return folder
