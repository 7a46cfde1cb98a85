"""The test square: what a printer did to the scale, what that would do to a garment, and what puts it right."""

from dataclasses import dataclass
from fractions import Fraction

from cutroom.errors import PlotError
from cutroom.model.finding import Finding, Severity
from cutroom.units import Unit, format_length

TOLERANCE = Fraction(5, 1000)
"""A square off by more than this share stops the job (5 mm in a metre)."""
_NOMINAL = 100.0
_GIRTH = 1000
_HALF_INCH = Fraction(127, 10)


@dataclass(frozen=True, slots=True)
class ScaleVerdict:
    """What a measured test square says.

    Attributes:
        scale: Printed over wanted: 0.97.
        correction: What the drawing is to be multiplied by: 1.0309.
        severity: STOP, WARN or NOTE.
        words: Sentences ready to print.
        finding: The same as a finding.
    """

    scale: float
    correction: float
    severity: Severity
    words: tuple[str, ...]
    finding: Finding


def judge_square(
    measured: float, nominal: float = _NOMINAL, unit: Unit = Unit.MILLIMETRE, *, corrected: bool = False
) -> ScaleVerdict:
    """Judge a printed test square.

    Args:
        measured: What it measured (mm).
        nominal: What it should measure (mm).
        unit: The unit for lengths of the garment in the words; the square itself is said in mm.
        corrected: The files written now are corrected for it.

    Returns:
        The verdict: STOP when it is off by more than 0.5 % and not corrected.

    Raises:
        PlotError: It is less than half or more than double, which is a slip of the unit, not a printer.
    """
    found, wanted = Fraction(repr(float(measured))), Fraction(repr(float(nominal)))
    if not wanted / 2 <= found <= wanted * 2:
        raise PlotError(
            f"the test square is said to measure {measured:g} mm, and it is drawn {nominal:g} mm",
            "Measure it again and write the unit with it, such as 97 mm",
            place="test square",
        )
    scale, correction = found / wanted, wanted / found
    off = scale - 1
    girth = _GIRTH * off
    seam = _HALF_INCH * scale
    measure = f"The square measures {float(found):.1f} mm, wanted {float(wanted):.1f} mm: scale {float(scale):.3f}."
    effect = (
        f"At that scale a girth of {_say(Fraction(_GIRTH), unit)} comes out {_say(_GIRTH + girth, unit)}, "
        f"{_say(abs(girth), unit)} too {'tight' if girth < 0 else 'loose'}, "
        f"and a seam allowance of 1/2 in comes out {float(seam):.2f} mm instead of 12.70 mm."
    )
    remedy = f"Correction: {float(correction * 100):.2f} %."
    if off == 0:
        severity, fix = Severity.NOTE, "Go on"
        words: tuple[str, ...] = (measure, "The scale is true.")
    elif abs(off) <= TOLERANCE:
        severity = Severity.NOTE
        words = (measure, f"It is off by {float(abs(off)) * 100:.2g} %, within 0.5 %: good to cut.", effect)
        fix = "Go on; a sheet printed on another day is measured again"
    elif corrected:
        severity = Severity.WARN
        words = (measure, effect, f"{remedy} These files are drawn with it.")
        fix = "Print them at 100 %, never fitted to the page, and measure the square again before cutting"
    else:
        severity = Severity.STOP
        words = (measure, effect, remedy)
        fix = "Print at 100 %, never fitted to the page, or let the files be corrected; then measure again"
    finding = Finding(severity, "test square", " ".join(words).removesuffix("."), fix)
    return ScaleVerdict(float(scale), float(correction), severity, words, finding)


def _say(length: Fraction, unit: Unit) -> str:
    plain = f"{float(length):.0f} mm" if length == round(length) else f"{float(length):.1f} mm"
    return plain if unit is Unit.MILLIMETRE else f"{plain} ({format_length(float(length), unit)})"
