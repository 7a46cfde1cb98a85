"""Bodies from open tables, for samples, tests and a first toile. No real person."""

from collections.abc import Mapping

from cutroom.errors import DraftError
from cutroom.units import parse_length

_ASTM_SIZES = ("00", "0", "2", "4", "6", "8", "10", "12", "14", "16", "18", "20")
_ASTM_INCHES = {
    "neck": "13.25 13.5 13.75 14 14.25 14.625 14.875 15.125 15.5 15.75 16 16.375",
    "bust": "31.125 31.75 33 34.125 35.25 36.25 37.25 38.75 40.375 42.125 44 46",
    "waist": "25.375 26.125 26.875 27.625 28.5 29.5 30.5 32.25 34 36 38.25 40.5",
}
"""ASTM D5585-11e1, misses, table 1 (neck base, chest/bust, waist straight), as its catalogue page shows it."""

ANSUR_STATURE = 1628.47
"""Mean stature (mm) of ANSUR II women, US Army 2012 (n = 1986)."""

ANSUR_WOMEN: Mapping[str, tuple[float, float, float]] = {
    "bust": (824.2, 940.0, 1094.0),
    "waist": (710.0, 852.0, 1040.0),
    "hip": (901.2, 1018.5, 1155.8),
    "neck": (340.0, 370.0, 405.0),
    "back length": (384.0, 424.5, 470.0),
    "back width": (354.0, 396.0, 437.8),
    "shoulder": (120.0, 135.0, 153.0),
    "bicep": (259.0, 304.0, 360.0),
    "wrist": (142.2, 154.0, 168.0),
    "sleeve length": (497.0, 542.0, 594.0),
    "inside leg": (712.0, 780.0, 857.0),
    "thigh": (527.0, 613.0, 711.0),
    "knee": (347.0, 398.0, 464.8),
    "ankle": (193.0, 215.0, 242.0),
}
"""5th, 50th and 95th percentile (mm) of ANSUR II women 2012: chest, waist (at the navel), buttock, neck base,
waist back (to the navel), interscye II, shoulder length, biceps flexed, wrist, sleeve outseam, crotch height, thigh,
lower thigh (just above the knee), ankle.
Each row stands alone: nobody is at one percentile throughout."""


def misses_body(size: str) -> dict[str, float]:
    """Measurements for an ASTM misses' size.

    Bust, waist and neck are ASTM D5585-11e1. The others follow the bust by straight-line fits to the ANSUR II
    women (2012) at their mean stature; shoulder is their mean; elbow (0.93 of the bicep) and waist to hip are from
    memory; the back length is taken 20 mm shorter than the survey's, which ends at the navel. Of the leg, inside leg
    (crotch height) and ankle are the survey's means, the thigh a fit to the bust, the knee the survey's lower thigh in
    proportion to it; body rise (a quarter of the hip and 45 mm) is from memory.

    Args:
        size: `00`, `0`, `2` ... `20`.

    Returns:
        Measurements by name (mm).

    Raises:
        DraftError: There is no such size.
    """
    if size not in _ASTM_SIZES:
        raise DraftError(f"there is no misses' size {size}", f"Name one of {', '.join(_ASTM_SIZES)}")
    place = _ASTM_SIZES.index(size)
    body = {name: parse_length(f"{row.split()[place]}in") for name, row in _ASTM_INCHES.items()}
    bust = body["bust"]
    thigh = 173.68 + 0.4673 * bust
    bicep = 42.80 + 0.2775 * bust
    body |= {
        "hip": 375.73 + 0.6818 * bust,
        "back length": 41.47 + 0.1162 * bust + 0.1682 * ANSUR_STATURE - 20,
        "shoulder": 135.41,
        "waist to hip": 205.0,
        "bicep": bicep,
        "elbow": 0.93 * bicep,
        "wrist": 31.26 + 0.0389 * bust + 0.0532 * ANSUR_STATURE,
        "sleeve length": -54.94 + 0.0134 * bust + 0.3597 * ANSUR_STATURE,
        "inside leg": 782.32,
        "thigh": thigh,
        "knee": thigh * 400.71 / 616.15,
        "ankle": 215.74,
    }
    body["body rise"] = body["hip"] / 4 + 45
    return {name: round(value, 1) for name, value in body.items()}
