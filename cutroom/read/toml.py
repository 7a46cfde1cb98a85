"""The one door through which TOML files come in."""

import re
import tomllib
from pathlib import Path
from typing import Any

from cutroom.errors import FileError


def load_toml(path: Path) -> dict[str, Any]:
    """What a TOML file says.

    Raises:
        FileError: There is no such file, it cannot be read, or it is not TOML; with line and column.
    """
    file = str(path)
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError as error:
        raise FileError("there is no such file", "Check its name and its folder", file) from error
    except IsADirectoryError as error:
        raise FileError("it is a folder, not a file", "Name the file inside it", file) from error
    except UnicodeDecodeError as error:
        raise FileError(f"byte {error.start + 1} is not UTF-8 text", "Save it as plain text in UTF-8", file) from error
    except OSError as error:
        raise FileError(f"it cannot be read ({error.strerror})", "Check who may read it", file) from error
    try:
        return tomllib.loads(text.replace("\r\n", "\n"))
    except tomllib.TOMLDecodeError as error:
        what, place = _told_apart(str(error))
        raise FileError(
            f"it is not TOML there ({what})",
            'Write name = value; put words and fractions in quotes: "5 3/4"',
            file,
            place,
        ) from error
    except (ValueError, RecursionError) as error:
        raise FileError("it holds a number or a nesting beyond all use", "Write it again by hand", file) from error


def _told_apart(message: str) -> tuple[str, str]:
    """The message of tomllib without its place, and the place."""
    found = re.fullmatch(r"(?P<what>.*) \(at (?P<place>line \d+, column \d+|end of document)\)", message, re.DOTALL)
    if found is None:
        return message, ""
    return found["what"][:1].lower() + found["what"][1:], found["place"].replace("end of document", "the last line")
