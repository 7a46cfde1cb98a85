"""Desktop printers, by name: their paper, and what of it they print."""

from dataclasses import replace

from cutroom.errors import CutroomError, raise_all
from cutroom.model.profile import Paper
from cutroom.read.profile import read_paper
from cutroom.read.profile_files import (
    as_profile_errors,
    correction_of,
    list_profiles,
    names_a_file,
    open_profile,
)
from cutroom.read.shapes import PrinterShape

_DEFAULTS = Paper("", 0.0, 0.0)


def list_printers() -> tuple[str, ...]:
    """The names of the printers that a job may name in place of a paper."""
    return list_profiles("printers")


def read_sheet(name: str) -> Paper:
    """A paper by its name, or that of a printer by the printer's name or the path of its profile.

    Raises:
        ProfileError: There is neither, or the profile is wrong; with line and key.
        FileError: The profile cannot be read.
    """
    return read_printer(name) if names_a_file(name) or name in list_printers() else read_paper(name)


def read_printer(name: str) -> Paper:
    """The sheet of a printer, by its name or the path of its profile, with the factors that put it right.

    Raises:
        ProfileError: There is no such printer, or its profile is wrong; with line and key.
        FaultsError: Several of these.
        FileError: The profile cannot be read.
    """
    path, reading, shape = open_profile("printers", name, PrinterShape)
    reading.asked(shape.paper, "paper", "tiles must fit the sheets in the printer", 'paper = "A4"')
    if shape.language is not None:
        reading.known(shape.language, ("pdf",), "language", "language of printers")
    paper = _DEFAULTS
    try:
        paper = read_paper(shape.paper or "A4")
    except CutroomError as error:
        reading.fault("paper", error.what, error.fix)
    margin, overlap = (reading.length(getattr(shape, key), key) for key in ("margin", "overlap"))
    margin = paper.margin if margin is None else margin
    overlap = paper.overlap if overlap is None else overlap
    for key, strip, most in (("margin", margin, paper.width / 4), ("overlap", overlap, paper.width / 4)):
        if paper.width and strip > most:
            reading.fault(key, f"{strip:g} mm leaves too little of the sheet", f"Write {most:.0f} mm or less")
    raise_all(as_profile_errors(reading.found, path))
    along, across = correction_of(path.stem)
    return replace(paper, margin=margin, overlap=overlap, correction=(across, along), printer=name)
