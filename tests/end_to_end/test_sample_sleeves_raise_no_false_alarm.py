"""The sample's six sleeves: nothing to warn of, and one note that is true."""

import math

import numpy as np

from cutroom.job.pieces import draft_order, read_order
from cutroom.model.finding import Severity
from tests.jobs import SAMPLES


def test_the_sample_sleeves_raise_no_false_alarm() -> None:
    drafted = draft_order(read_order(SAMPLES / "sleeves" / "job.toml"))
    assert {style for style, _ in drafted.styles} == {"bell", "puffed", "gathered", "two-piece", "cap", "slashed"}
    found = [one for one in drafted.findings if one.severity is not Severity.NOTE]
    assert found == []
    (note,) = drafted.findings
    # worked out again: a hem turned up by w round a bend of a radians is 2 w a longer or shorter than what it lies on
    hem = drafted.styles["puffed", "10"].piece("sleeve").edge("hem")
    first, last = (np.diff(hem.points[ends], axis=0)[0] for ends in (slice(0, 2), slice(-2, None)))
    bend = math.atan2(first[0] * last[1] - first[1] * last[0], float(first @ last))
    assert f"{abs(2 * hem.allowance * bend):.1f} mm" in note.what
