"""Files that are whole or not there at all."""

import hashlib
import os
from contextlib import suppress
from pathlib import Path

from cutroom.errors import FileError


def put_file(path: Path, data: bytes) -> str:
    """Write a file beside its place, make sure it is on the disk, then rename it into place.

    Args:
        path: Where it goes; its folder is made when missing.
        data: Its bytes.

    Returns:
        Its SHA-256 in hexadecimal.

    Raises:
        FileError: The folder or file cannot be written.
    """
    beside = path.with_name(f".{path.name}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with beside.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    except OSError as fault:
        with suppress(OSError):
            beside.unlink(missing_ok=True)
        raise FileError(f"it cannot be written: {fault.strerror}", "Choose another folder", file=str(path)) from fault
    return hashlib.sha256(data).hexdigest()


def drop_files(folder: Path, names: tuple[str, ...]) -> None:
    """Remove what an earlier run left under these names, sound or refused, so that old and new are never mixed."""
    for name in names:
        for stale in (folder / name, folder / f"{name}.refused", folder / f".{name}.part"):
            stale.unlink(missing_ok=True)
