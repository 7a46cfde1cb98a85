"""The test square. 97 of 100 mm: scale 0.97, 100/97 = 1.0309, 1000 mm come out 970, 12.7 mm come out 12.319.

The half per cent that may pass: common practice, no source.
"""

import pytest

from cutroom.errors import PlotError
from cutroom.model.finding import Severity
from cutroom.report.scale import judge_square
from cutroom.units import Unit


def test_a_square_of_97_stops_the_job_and_says_what_it_would_do() -> None:
    verdict = judge_square(97.0)
    assert verdict.severity is Severity.STOP
    assert verdict.scale == pytest.approx(0.97)
    assert verdict.correction == pytest.approx(1.030928, abs=1e-6)
    words = " ".join(verdict.words)
    for said in ("scale 0.970", "103.09 %", "1000 mm comes out 970 mm", "30 mm too tight", "12.32 mm"):
        assert said in words
    assert verdict.finding.severity is Severity.STOP
    assert "never fitted to the page" in verdict.finding.fix


def test_the_same_square_corrected_asks_to_be_measured_again() -> None:
    verdict = judge_square(97.0, corrected=True)
    assert verdict.severity is Severity.WARN
    assert "103.09 %. These files are drawn with it." in " ".join(verdict.words)


def test_a_square_of_99_8_passes_with_a_note() -> None:
    verdict = judge_square(99.8)
    assert verdict.severity is Severity.NOTE
    assert "within 0.5 %" in " ".join(verdict.words)
    assert "off by 0.2 %" in " ".join(verdict.words)


@pytest.mark.parametrize(
    ("measured", "severity"),
    [(99.5, Severity.NOTE), (100.5, Severity.NOTE), (99.4, Severity.STOP), (100.6, Severity.STOP)],
)
def test_half_a_percent_is_the_edge_and_belongs_to_the_good_side(measured: float, severity: Severity) -> None:
    assert judge_square(measured).severity is severity


def test_a_square_that_is_too_large_makes_the_garment_loose() -> None:
    assert "30 mm too loose" in " ".join(judge_square(103.0).words)


def test_a_true_square_says_so() -> None:
    assert judge_square(100.0).words[-1] == "The scale is true."


def test_inches_are_said_beside_for_those_who_work_in_them() -> None:
    assert "30 mm (1 3/16 in) too tight" in " ".join(judge_square(97.0, unit=Unit.INCH).words)


def test_a_slip_of_the_unit_is_not_taken_for_a_printer() -> None:
    with pytest.raises(PlotError, match=r"said to measure 9\.7 mm, and it is drawn 100 mm"):
        judge_square(9.7)
