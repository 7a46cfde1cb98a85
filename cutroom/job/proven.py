"""A file to be sent, in a copy that nobody can change under our hands, and what its folder's manifest says of it."""

import hashlib
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from cutroom.errors import FileError, ProofError
from cutroom.read.made import Listed, read_listed

_BLOCK = 1 << 20


@dataclass(frozen=True, slots=True, eq=False)
class Copy:
    """A file as it was when it was looked at.

    Attributes:
        path: Where it came from.
        data: The copy; it has no name, so nothing else can write to it.
        size: Bytes.
        sha256: Of its bytes.
        kind: What the manifest calls it, or empty.
        proven: Its proof passed, and it is the file that was proven.
        doubt: Why not, as an error to be raised or lived with.
        seconds: Time that the manifest says the machine takes (s), or None.
    """

    path: Path
    data: BinaryIO
    size: int
    sha256: str
    kind: str
    proven: bool
    doubt: ProofError | None = None
    seconds: float | None = None


@contextmanager
def taken(path: Path) -> Iterator[Copy]:
    """Copy a file and look it up in the manifest beside it.

    Raises:
        FileError: It is not there, or cannot be read.
    """
    with tempfile.TemporaryFile() as data:
        digest = hashlib.sha256()
        try:
            with path.open("rb") as file:
                while block := file.read(_BLOCK):
                    digest.update(block)
                    data.write(block)
        except FileNotFoundError as fault:
            raise FileError("there is no such file", "Check its name and its folder", file=str(path)) from fault
        except IsADirectoryError as fault:
            raise FileError("it is a folder, not a file", "Name the file inside it", file=str(path)) from fault
        except OSError as fault:
            raise FileError(
                f"it cannot be copied: {fault.strerror}", "Check who may read it", file=str(path)
            ) from fault
        size = data.tell()
        if not size:
            raise FileError("it is empty", "Write it again", file=str(path))
        yield _looked_up(path, data, size, digest.hexdigest())


def _looked_up(path: Path, data: BinaryIO, size: int, sha256: str) -> Copy:
    """The file with what the manifest says of it."""
    row, doubt = _row(path)
    if row is not None and row.sha256 != sha256:
        doubt = "it is not the file that was proven: its bytes have changed since"
    elif row is not None and not row.passed:
        doubt = "its proof did not pass"
    kind, seconds = ("", None) if row is None else (row.kind, row.seconds)
    if not doubt:
        return Copy(path, data, size, sha256, kind, proven=True, seconds=seconds)
    fault = ProofError(doubt, "Make it anew, or say --unproven to send it all the same", file=str(path))
    return Copy(path, data, size, sha256, kind, proven=False, doubt=fault)


def _row(path: Path) -> tuple[Listed | None, str]:
    """What the manifest beside a file says of it, and why that is nothing."""
    manifest = path.parent / "manifest.json"
    if not manifest.exists():
        return None, "nothing proves it: there is no manifest.json beside it"
    try:
        listed = read_listed(manifest)
    except FileError as fault:
        return None, f"nothing proves it: the manifest.json beside it cannot be read ({fault.what})"
    row = next((row for row in listed if row.path == path.name), None)
    return row, "" if row is not None else "nothing proves it: the manifest beside it does not know it"
