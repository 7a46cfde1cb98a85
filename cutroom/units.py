"""Lengths as people write them, and millimetres, which is what the program works in.

Every length is worked out as an exact fraction and rounded once, so `58in` is 1473.2 mm and no other number.
"""

import re
from enum import StrEnum
from fractions import Fraction

from cutroom.errors import UnitError


class Unit(StrEnum):
    """A unit that a file may declare or a length may carry."""

    INCH = "in"
    CENTIMETRE = "cm"
    MILLIMETRE = "mm"
    METRE = "m"
    FOOT = "ft"
    YARD = "yd"


MM = {
    Unit.MILLIMETRE: Fraction(1),
    Unit.CENTIMETRE: Fraction(10),
    Unit.METRE: Fraction(1000),
    Unit.INCH: Fraction(254, 10),
    Unit.FOOT: Fraction(3048, 10),
    Unit.YARD: Fraction(9144, 10),
}
"""Millimetres to the unit, exact by definition (international yard and pound agreement of 1959)."""

_WORDS = {
    "in": Unit.INCH, "inch": Unit.INCH, "inches": Unit.INCH, '"': Unit.INCH, "″": Unit.INCH, "”": Unit.INCH,
    "cm": Unit.CENTIMETRE, "mm": Unit.MILLIMETRE, "m": Unit.METRE,
    "ft": Unit.FOOT, "yd": Unit.YARD, "yards": Unit.YARD, "yard": Unit.YARD,
}  # fmt: skip
_LONGEST = 1_000_000_000  # mm; no roll is longer, and no float is lost below it
_SIGNS = {
    "½": "1/2",
    "¼": "1/4",
    "¾": "3/4",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
    "⅓": "1/3",
    "⅔": "2/3",
}
_LENGTH = re.compile(
    r"(?P<sign>[-+−]?)\s*"
    r"(?:(?P<mixed>\d+)(?:\s+|-)(?P<top>\d+)/(?P<bottom>\d+)|(?P<over>\d+)/(?P<under>\d+)"
    r"|(?P<plain>\d+(?:\.\d*)?|\.\d+))"
    r"\s*(?P<unit>[^\d\s.,/+-]*)"
)


def parse_unit(text: str) -> Unit:
    """Read the name of a unit.

    Raises:
        UnitError: The word is not a unit of length.
    """
    unit = _WORDS.get(text.strip().casefold())
    if unit is None:
        raise UnitError(f"'{text}' is not a unit of length", "Write in, cm, mm, m, ft or yd")
    return unit


def parse_length(text: str, unit: Unit | None = None) -> float:
    """Read a length such as `5 3/4`, `13-5/8"`, `5¾ in`, `34.6cm` or `.8`.

    Args:
        text: What was written.
        unit: The unit a bare number stands in; without one a bare number is refused, never guessed.

    Returns:
        The length (mm), rounded once to the nearest float.

    Raises:
        UnitError: It is not a length, or it has no unit where it needs one.
    """
    plain = text.strip()
    for sign, words in _SIGNS.items():
        plain = re.sub(rf"(?<=\d)\s*{sign}", f" {words}", plain).replace(sign, words)
    found = _LENGTH.fullmatch(plain)
    if found is None:
        raise UnitError(
            f"'{text}' is not a length",
            "Write a whole number, a decimal or a fraction, such as 5, 5.75 or 5 3/4",
        )
    word = found["unit"]
    if word:
        unit = parse_unit(word)
    if unit is None:
        raise UnitError(f"'{text}' has no unit", f"Write {text}in, {text}cm or {text}mm")
    length = _number(found, text) * MM[unit]
    if length > _LONGEST:
        raise UnitError(f"'{text}' is longer than {_LONGEST // 1_000_000} km", "Write a length of cloth, paper or body")
    return float(-length if found["sign"] in {"-", "−"} else length)


def _number(found: re.Match[str], text: str) -> Fraction:
    if found["plain"]:
        return Fraction(found["plain"].rstrip(".") if found["plain"].endswith(".") else found["plain"])
    top, bottom = found["top"] or found["over"], found["bottom"] or found["under"]
    if int(bottom) == 0:
        raise UnitError(f"'{text}' divides by nothing", "Write the fraction again")
    return Fraction(int(found["mixed"] or 0)) + Fraction(int(top), int(bottom))


def in_unit(length: float, unit: Unit) -> float:
    """A length (mm) as a number of the unit."""
    return length / float(MM[unit])


def format_length(length: float, unit: Unit, *, sixteenths: bool = True) -> str:
    """Write a length (mm) the way the trade reads it.

    Args:
        length: The length (mm).
        unit: The unit to write it in.
        sixteenths: Write inches and feet as fractions to the nearest 1/16; otherwise as decimals to 0.001.

    Returns:
        For example `5 3/4 in`, `14.6 cm`, `146.1 mm`, `1.425 m`.
    """
    if unit in {Unit.INCH, Unit.FOOT, Unit.YARD} and sixteenths:
        parts = round(Fraction(length) / MM[unit] * 16)
        whole, rest = divmod(abs(parts), 16)
        fraction = f"{Fraction(rest, 16)}" if rest else ""
        words = " ".join(part for part in (f"{whole}" if whole or not rest else "", fraction) if part)
        return f"{'-' if parts < 0 else ''}{words} {unit}"
    places = {Unit.MILLIMETRE: 1, Unit.CENTIMETRE: 1}.get(unit, 3)
    return f"{round(in_unit(length, unit), places) + 0.0:.{places}f} {unit}"  # + 0.0: no minus before a nought


def length_words(length: float, unit: Unit) -> str:
    """A length (mm) in a sentence, for people who work in that unit: to a tenth of a millimetre, or to 1/16 with it.

    Args:
        length: The length (mm).
        unit: The unit people see.

    Returns:
        `5 3/4 in (146.1 mm)`; `14.61 cm`, but `7.5 mm` below a centimetre; `146.1 mm`; `1.425 m` from a metre on.
    """
    if unit in _BOTH_SAID:
        return both_units(length)
    if unit is Unit.METRE and round(abs(length), 1) >= 1000:
        return format_length(length, unit)
    if unit is Unit.MILLIMETRE or round(abs(length), 1) < 10:
        return format_length(length, Unit.MILLIMETRE)
    return f"{round(length / 10, 2):.2f}".removesuffix("0") + " cm"


def both_units(length: float) -> str:
    """A length (mm) in inches and millimetres: on sheets that every table reads, and in messages.

    Whoever notices something about a piece need not know what unit the job is in: `in_words` keeps of these two the
    one that its people work in.
    """
    return f"{format_length(length, Unit.INCH)} ({format_length(length, Unit.MILLIMETRE)})"


_BOTH_SAID = frozenset({Unit.INCH, Unit.FOOT, Unit.YARD})
"""Units that are said with their millimetres."""
_BOTH = re.compile(r"-?(?:\d+ )?\d+(?:/\d+)? in \((?P<both>-?\d+\.\d) mm\)")
_ALONE = re.compile(r"(?<![\w./(-])(?P<alone>-?\d+(?:\.\d+)?(?:(?: to |, y |, )-?\d+(?:\.\d+)?)*) mm\b")
_SAID = re.compile(f"{_BOTH.pattern}|{_ALONE.pattern}")
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def in_words(text: str, unit: Unit) -> str:
    """A message in the unit of a job: lengths that `both_units` wrote, and those in millimetres, alone or in a row."""

    def words(found: re.Match[str]) -> str:
        if found["both"]:
            return found[0] if unit in _BOTH_SAID else length_words(float(found["both"]), unit)
        if unit is Unit.MILLIMETRE:
            return found[0]
        return _NUMBER.sub(lambda number: length_words(float(number[0]), unit), found["alone"])

    return _SAID.sub(words, text)
