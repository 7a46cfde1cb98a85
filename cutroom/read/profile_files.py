"""Where profiles of machines lie: those that come with the program, and a folder of one's own that comes first."""

import os
import re
from pathlib import Path
from typing import TypeVar

import cutroom
from cutroom.errors import CutroomError, ProfileError
from cutroom.read.reading import Reading, did_you_mean, listed
from cutroom.read.shapes import CutterShape, PlotterShape, PrinterShape
from cutroom.read.toml import load_toml
from cutroom.units import Unit

S = TypeVar("S", PlotterShape, CutterShape, PrinterShape)

NOUNS = {"plotters": "plotter", "cutters": "cutter", "printers": "printer"}
"""Folders of profiles, and what one of it is called."""
CORRECTIONS = "corrections.toml"
"""In one's own folder: factors by profile, as measured on its calibration plot."""


def shipped_folder() -> Path:
    """Where the profiles that come with the program are: in the package, or at the top of its repository."""
    package = Path(cutroom.__file__).parent
    inside = package / "profiles"
    return inside if inside.is_dir() else package.parent / "profiles"


def own_folder() -> Path:
    """Where one's own `plotters`, `cutters` and `printers` are: `$CUTROOM_PROFILES`, or in the user's configuration."""
    named = os.environ.get("CUTROOM_PROFILES", "")
    if named:
        return Path(named)
    config = os.environ.get("XDG_CONFIG_HOME", "")
    return (Path(config) if config else Path.home() / ".config") / "cutroom" / "profiles"


def list_profiles(kind: str) -> tuple[str, ...]:
    """The names of all profiles of a kind of machine, one's own included."""
    found = {path.stem for folder in (own_folder(), shipped_folder()) for path in (folder / kind).glob("*.toml")}
    return tuple(sorted(found))


def names_a_file(name: str) -> bool:
    """It is a path, not the name of a profile."""
    return name.endswith(".toml") or "/" in name or "\\" in name


def find_profile(kind: str, name: str) -> Path:
    """The file of a profile, by its name or its path; one's own comes before one that ships under the same name.

    Raises:
        ProfileError: There is no such profile; those there are are listed.
    """
    noun = NOUNS[kind]
    if names_a_file(name):
        if not Path(name).is_file():
            raise ProfileError(f"there is no such file: {name}", "Check its name and its folder", place=noun)
        return Path(name)
    for folder in (own_folder(), shipped_folder()):
        path = folder / kind / f"{name}.toml"
        if path.is_file():
            return path
    known = list_profiles(kind)
    fix = did_you_mean(name, known) or f"Write one of {listed(known)}, or the path of your own profile"
    raise ProfileError(f'there is no {noun} "{name}"', fix, place=noun)


def open_profile(kind: str, name: str, shape: type[S]) -> tuple[Path, Reading, S]:
    """A profile found and taken into its shape; lengths are read in the unit that it says, in mm when it says none.

    Raises:
        ProfileError: There is no such profile.
        FileError: It cannot be read.
    """
    path = find_profile(kind, name)
    reading = Reading(short_name(path), Unit.MILLIMETRE)
    said = reading.table(shape, load_toml(path), "")
    unit = reading.asked(said.unit, "unit", "a bare number must stand in something", 'unit = "mm", "cm" or "in"')
    if unit is not None and reading.known(unit, ("in", "cm", "mm"), "unit", "unit"):
        reading.unit = Unit(unit)
    return path, reading, said


def short_name(path: Path) -> str:
    """How a profile's file is called in messages: by its name alone when it comes with the program."""
    return path.name if path.parent.parent == shipped_folder() else str(path)


def as_profile_errors(found: list[CutroomError], path: Path) -> list[CutroomError]:
    """Faults of a profile, each with the line on which it stands."""
    rows = path.read_text(encoding="utf-8-sig").splitlines() if found else []
    lines = [line_of(rows, fault.place) for fault in found]
    return [
        ProfileError(fault.what, fault.fix if line is None else f"{fault.fix} (line {line})", fault.file, fault.place)
        for fault, line in zip(found, lines, strict=True)
    ]


def line_of(rows: list[str], place: str) -> int | None:
    """The line of a TOML text, from 1, on which a key such as `tools.knife.offset` stands, or its table begins."""
    wanted = re.split(r"[.,\s\[]+", place.rstrip("]"))
    table: list[str] = []
    best: tuple[int, int] | None = None
    for number, row in enumerate(rows, start=1):
        text = row.strip()
        if header := re.match(r"\[+\s*([^\]]+?)\s*\]+", text):
            table, here = [part.strip(" \"'") for part in header[1].split(".")], []
        elif key := re.match(r"(\"[^\"]*\"|'[^']*'|[A-Za-z0-9_-]+)\s*=", text):
            here = [key[1].strip("\"'")]
        else:
            continue
        path = [*table, *here]
        depth = len(path) if path == wanted[: len(path)] else 0
        if depth and (best is None or depth > best[0]):
            best = (depth, number)
    return None if best is None else best[1]


def correction_of(name: str) -> tuple[float, float]:
    """Factors along and across that put right a machine that is out of scale; 1 and 1 when none were stored.

    Raises:
        ProfileError: What is stored is no factor near 1.
        FileError: It cannot be read.
    """
    path = own_folder() / CORRECTIONS
    if not path.is_file():
        return 1.0, 1.0
    stored = load_toml(path).get(name, {})
    values = [stored.get(key, 1.0) if isinstance(stored, dict) else None for key in ("along", "across")]
    factors = [float(value) for value in values if isinstance(value, int | float) and not isinstance(value, bool)]
    if len(factors) != 2 or not all(0.9 <= factor <= 1.1 for factor in factors):
        raise ProfileError(
            "its factors are not two numbers between 0.9 and 1.1",
            "Measure its calibration plot again and store the result anew",
            str(path),
            name,
        )
    return factors[0], factors[1]
