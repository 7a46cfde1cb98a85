"""Machines and papers by name."""

import re
from pathlib import Path

from cutroom.errors import ProfileError, raise_all
from cutroom.geometry.plotter_units import PLU_TO_MM
from cutroom.model.plot import Role
from cutroom.model.profile import Paper, Plotter
from cutroom.read.connection import read_connection
from cutroom.read.motion import read_motion
from cutroom.read.profile_files import as_profile_errors, correction_of, list_profiles, open_profile
from cutroom.read.reading import Reading, echo, joined, listed
from cutroom.read.shapes import PlotterShape

LETTERS = ("strokes", "own")
"""What a profile may say of the words on the pieces: drawn stroke by stroke, or in the machine's own letters."""
FORMS = ("absolute", "relative", "encoded", "encoded 7-bit")
"""Forms of HP-GL: absolute or relative coordinates, or the encoded polyline of HP-GL/2 in 8 or in 7 bits."""

INSTRUCTIONS = re.compile(r"(?:[A-Za-z]{2}[-+0-9., ]*;)+")
"""HP-GL of a profile: two-letter instructions with numbers, each closed by a semicolon."""

COLOUR = re.compile(r"#[0-9A-Fa-f]{6}")
"""Red, green and blue as SVG has them."""
_INCH = 25.4
_PAPERS = {
    # ISO 216, A series
    "A0": (841.0, 1189.0),
    "A1": (594.0, 841.0),
    "A2": (420.0, 594.0),
    "A3": (297.0, 420.0),
    "A4": (210.0, 297.0),
    # ANSI/ASME Y14.1, sizes A to E; the first two are sold as Letter and Tabloid
    "Letter": (8.5 * _INCH, 11 * _INCH),
    "Tabloid": (11 * _INCH, 17 * _INCH),
    "ANSI C": (17 * _INCH, 22 * _INCH),
    "ANSI D": (22 * _INCH, 34 * _INCH),
    "ANSI E": (34 * _INCH, 44 * _INCH),
    # common practice, no standard
    "Legal": (8.5 * _INCH, 14 * _INCH),
}


def read_paper(name: str) -> Paper:
    """A paper by its name, in capitals or not.

    Raises:
        ProfileError: There is no such paper; those there are are listed.
    """
    for known, (width, height) in _PAPERS.items():
        if known.casefold() == name.strip().casefold():
            return Paper(known, round(width, 6), round(height, 6))
    raise ProfileError(f'there is no paper "{name}"', f"Write one of {listed(_PAPERS)}", place="paper")


def list_plotters() -> tuple[str, ...]:
    """The names of the plotters that a job may name."""
    return list_profiles("plotters")


def read_plotter(name_or_path: str | Path) -> Plotter:
    """A plotter by its name, or from a profile of one's own by its path.

    Raises:
        ProfileError: There is no such plotter, or its profile is wrong; with the key.
        FaultsError: Several of these.
        FileError: The profile cannot be read.
    """
    path, reading, shape = open_profile("plotters", str(name_or_path), PlotterShape)
    width = reading.asked(
        reading.length(shape.width, "width", positive=True),
        "width",
        "a marker wider than the machine draws is spoilt",
        "the width it draws across the paper",
    )
    frame = reading.asked(
        reading.length(shape.frame, "frame", positive=True),
        "frame",
        "a longer marker is drawn frame after frame",
        "the longest length it draws without moving the paper on",
    )
    largest = shape.largest if shape.largest is not None else 32767
    for key, length in (("width", width), ("frame", frame)):
        if length is not None and length * PLU_TO_MM > largest:
            reading.fault(
                key,
                f"{length:g} mm is {length * PLU_TO_MM:.0f} plotter units, and it takes no more than {largest}",
                f"Write {largest / PLU_TO_MM:g} mm or less, or put largest right",
            )
    if shape.pen_speed is not None and not 0 < shape.pen_speed <= 300:
        reading.fault("pen_speed", f"{echo(shape.pen_speed)} is not a speed in cm/s", "Write one between 0 and 300")
    for key, text in (("start", shape.start), ("between", shape.between), ("end", shape.end)):
        _judge_instructions(reading, key, text)
    pens = _pens(reading, shape.pens or {})
    connection = None if shape.connection is None else read_connection(reading, shape.connection)
    motion = None if shape.motion is None else read_motion(reading, shape.motion)
    forces, speeds = _numbers_by_pen(reading, shape)
    colours = _colours(reading, shape.colours or {})
    if shape.form is not None:
        reading.known(shape.form, FORMS, "form", "form of HP-GL")
    if shape.letters is not None:
        reading.known(shape.letters, LETTERS, "letters", "kind of letters")
    raise_all(as_profile_errors(reading.found, path))
    assert width is not None
    assert frame is not None
    return Plotter(
        name=path.stem,
        title=shape.title or path.stem,
        width=width,
        frame=frame,
        pens=pens,
        pen_speed=None if shape.pen_speed is None else float(shape.pen_speed),
        start=shape.start or "",
        between="PG;" if shape.between is None else shape.between,
        end="PU;SP0;" if shape.end is None else shape.end,
        largest=largest,
        connection=connection,
        motion=motion,
        form=shape.form or FORMS[0],
        forces=forces,
        speeds=speeds,
        correction=correction_of(path.stem),
        colours=colours,
        own_letters=shape.letters == LETTERS[1],
    )


def _pens(reading: Reading, raw: dict[str, object]) -> dict[Role, int]:
    words = {role.value.casefold(): role for role in Role}
    pens: dict[Role, int] = {}
    for word, pen in raw.items():
        place = joined("pens", word)
        if word not in words:
            reading.unknown_key(word, words, "pens")
        elif not isinstance(pen, int) or isinstance(pen, bool) or not 0 <= pen <= 255:
            reading.fault(place, f"{echo(pen)} is not the number of a pen", "Write 1 or more, or 0 to leave it out")
        else:
            pens[words[word]] = pen
    for word, role in words.items():
        if word not in raw and role is Role.CUTOUT:
            pens[role] = pens.get(Role.CUT, 0)  # cut lines both
        elif word not in raw:
            reading.fault(joined("pens", word), "it is missing", "Write the number of its pen, or 0 to leave it out")
        elif role in {Role.CUT, Role.CUTOUT} and pens.get(role) == 0:
            reading.fault(joined("pens", word), "the cut lines have no pen", "Write the number of a pen, 1 or more")
    return pens


def _judge_instructions(reading: Reading, key: str, text: str | None) -> None:
    if text and INSTRUCTIONS.fullmatch(text) is None:
        reading.fault(
            key,
            f'"{text}" is not a row of HPGL instructions',
            'Close each by a semicolon and put nothing between: "PU;SP0;"',
        )


def _colours(reading: Reading, raw: dict[str, object]) -> dict[int, str]:
    """Colours by the number of the pen."""
    colours: dict[int, str] = {}
    for pen, colour in raw.items():
        place = joined("colours", pen)
        if not pen.isdigit() or not 1 <= int(pen) <= 255:
            reading.fault(place, f'"{pen}" is not the number of a pen', "Write 1 or more")
        elif not isinstance(colour, str) or COLOUR.fullmatch(colour) is None:
            reading.fault(place, f"{echo(colour)} is not a colour", 'Write red, green and blue: "#b3261e"')
        else:
            colours[int(pen)] = colour.lower()
    return colours


def _numbers_by_pen(reading: Reading, shape: PlotterShape) -> tuple[dict[int, int], dict[int, float]]:
    """Forces and speeds by the number of the pen."""
    forces: dict[int, int] = {}
    speeds: dict[int, float] = {}
    for key, raw, most in (("forces", shape.forces, 8), ("speeds", shape.speeds, 300)):
        for pen, value in (raw or {}).items():
            place = joined(key, pen)
            if not pen.isdigit() or not 1 <= int(pen) <= 255:
                reading.fault(place, f'"{pen}" is not the number of a pen', "Write 1 or more")
            elif isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value <= most:
                reading.fault(place, f"{echo(value)} is not a number above 0 and up to {most}", "Write one")
            elif key == "forces":
                forces[int(pen)] = int(value)
            else:
                speeds[int(pen)] = float(value)
    return forces, speeds
