"""The measurements a draft may ask for, how each is taken, and whether a set of them can be one body's.

What is odd on a body depends on the body: the ranges below are an adult's, and a set of measurements that are all small
is held against them made smaller, by as much as its middle one is smaller than on the women of ANSUR II.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from statistics import median

from cutroom.draft.bodies import ANSUR_WOMEN
from cutroom.errors import CutroomError, DraftError, raise_all
from cutroom.model.finding import Finding, Severity
from cutroom.units import both_units


@dataclass(frozen=True, slots=True)
class Measure:
    """A body measurement.

    Attributes:
        name: As measurement files write it.
        meaning: What it is.
        taken: How the tape lies.
        least: Less than this (mm) is doubted on an adult.
        most: More than this (mm) is doubted on an adult.
    """

    name: str
    meaning: str
    taken: str
    least: float
    most: float


# Meanings after open descriptions of ISO 8559-1 and EN 13402-1, in our own words; ranges: common practice, no source.
_LIST = (
    Measure(
        "bust", "Fullest girth of the chest", "level round the fullest part, tape close but not tight", 700.0, 1500.0
    ),
    Measure("waist", "Girth of the natural waist", "level where the body bends sideways, breathing out", 500.0, 1500.0),
    Measure("hip", "Fullest girth of the seat", "level round the fullest part, over flat pockets", 750.0, 1650.0),
    Measure("neck", "Girth of the base of the neck", "over the nape bone and the pit of the neck", 300.0, 500.0),
    Measure("back length", "Nape to waist", "down the spine from the nape bone to the waist tape", 340.0, 500.0),
    Measure("back width", "Across the back", "between the armhole creases, half way down the armhole", 280.0, 520.0),
    Measure("front width", "Across the chest", "between the armhole creases, half way down the armhole", 260.0, 500.0),
    Measure("shoulder", "Length of one shoulder", "from the side of the neck to the shoulder bone", 95.0, 175.0),
    Measure("scye depth", "Nape to armhole line", "down the spine to a tape level under the arms", 160.0, 290.0),
    Measure("waist to hip", "Depth of the hip", "down the side from the waist tape to the hip tape", 150.0, 260.0),
    Measure("body rise", "Waist to crotch", "sitting upright, from the waist tape down to the seat", 200.0, 380.0),
    Measure("inside leg", "Crotch to floor", "standing, from the crotch straight down to the floor", 600.0, 1000.0),
    Measure("thigh", "Girth of the thigh", "level round the fullest part, just below the crotch", 400.0, 900.0),
    Measure("knee", "Girth of the knee", "round the middle of the knee, leg straight", 280.0, 620.0),
    Measure("ankle", "Girth of the ankle", "round the ankle bone", 170.0, 360.0),
    Measure("bicep", "Girth of the upper arm", "round the fullest part, arm hanging", 180.0, 600.0),
    Measure("elbow", "Girth of the elbow", "over the point of the elbow, arm bent", 170.0, 520.0),
    Measure("wrist", "Girth of the wrist", "over the wrist bone", 120.0, 280.0),
    Measure("sleeve length", "Length of the arm", "shoulder bone over the bent elbow to the wrist bone", 480.0, 720.0),
)

MEASURES: Mapping[str, Measure] = {measure.name: measure for measure in _LIST}
"""Every measurement a block may ask for, by name."""

_SMALLER = (
    ("wrist", "elbow"),
    ("wrist", "bicep"),
    ("elbow", "bicep"),
    ("neck", "bust"),
    ("bicep", "bust"),
    ("waist", "hip"),
    ("front width", "back width"),
    ("scye depth", "back length"),
    ("thigh", "hip"),
    ("knee", "thigh"),
    ("ankle", "knee"),
)
"""What on most bodies is smaller than what."""


_ADULT = 0.85
"""A body whose middle measurement is less than this share of a mean woman's is taken for a child's."""
_UNSURE = 0.5
"""Below this share it may also be an adult's, written in another unit."""
_SMALLEST = 0.48
"""Below this share it is no child who is up and dressed: a year old or so (from memory)."""
_ENOUGH = 3
"""So many measurements are needed to tell one slip of the pen from a small body."""


def plain_name(name: str) -> str:
    """A name as the lists have it: `sleeve_length` and `Sleeve-Length` are `sleeve length`."""
    return " ".join(name.replace("_", " ").replace("-", " ").casefold().split())


def check_measures(
    measures: Mapping[str, float], needed: Iterable[str], *, place: str = "measurements"
) -> tuple[Finding, ...]:
    """Look a set of measurements over before anything is drafted from it. Nothing is changed.

    Args:
        measures: Measurements by name (mm).
        needed: Names that must be there.
        place: Whose they are, for messages.

    Returns:
        What is odd but possible: one larger than another that is larger on most bodies, or out of all custom.

    Raises:
        DraftError: Some are missing (all of them are named at once), or zero, or negative.
        FaultsError: Several such faults.
    """
    known = {plain_name(name): value for name, value in measures.items()}
    faults: list[CutroomError] = []
    missing = [name for name in needed if name not in known]
    if missing:
        how = "; ".join(f"{name}: {MEASURES[name].taken}" for name in missing)
        faults.append(
            DraftError(f"missing {', '.join(missing)}", f"Take and write down what is missing ({how})", place=place)
        )
    faults += [
        DraftError(f"it is {value:g} mm, wanted more than 0", "Measure it again", place=f"{place}, {name}")
        for name, value in known.items()
        if not value > 0
    ]
    raise_all(faults)
    return (*_out_of_range(known, place), *_out_of_order(known, place))


def body_scale(measures: Mapping[str, float]) -> float:
    """How large a body is beside an adult's: 1 for an adult, less for a child.

    The middle one of its measurements is what counts, so that a slip of the pen does not make a child of an adult.

    Args:
        measures: Measurements by plain name (mm); fewer than three that ANSUR II has are too few to tell.
    """
    shares = [value / ANSUR_WOMEN[name][1] for name, value in measures.items() if name in ANSUR_WOMEN]
    if len(shares) < _ENOUGH:
        return 1.0
    share = median(shares)
    return share if _SMALLEST <= share < _ADULT else 1.0


def _out_of_range(known: Mapping[str, float], place: str) -> list[Finding]:
    found = []
    scale = body_scale(known)
    if scale < _UNSURE:
        what = f"they are {scale:.0%} of a woman's, and taken for a small child's"
        found.append(Finding(Severity.NOTE, place, what, "If they are an adult's, check the unit they were written in"))
    for name, value in known.items():
        measure = MEASURES.get(name)
        if measure is None:
            what, fix = "no block asks for a measurement of this name", "Check the spelling, or leave it as a note"
            found.append(Finding(Severity.NOTE, f"{place}, {name}", what, fix))
        elif not measure.least * scale <= value <= measure.most * scale:
            least, most = (both_units(bound * scale) for bound in (measure.least, measure.most))
            what = f"{both_units(value)} is not {least} to {most}{'' if scale == 1 else ', as on a child of this size'}"
            fix = f"Check figure and unit: {measure.taken}"
            found.append(Finding(Severity.WARN, f"{place}, {name}", what, fix))
    return found


def _out_of_order(known: Mapping[str, float], place: str) -> list[Finding]:
    found = []
    for small, large in _SMALLER:
        if small in known and large in known and known[small] > known[large]:
            what = f"{small} {both_units(known[small])} is larger than {large} {both_units(known[large])}"
            severity = Severity.NOTE if (small, large) == ("waist", "hip") else Severity.WARN
            found.append(Finding(severity, f"{place}, {small}", what, "Measure both again; swapped figures look so"))
    return found
