"""Finds the test squares that a sheet is measured by."""

from collections.abc import Sequence

import numpy as np

from cutroom.model.finding import Finding
from cutroom.model.marker import Marker
from cutroom.model.plot import Role
from cutroom.proof.lines import Line, Lines, Within, gather, looped
from cutroom.proof.words import stop

SQUARE = 100.0
"""Side of the test square (mm)."""
FOUR_INCHES = 101.6
"""Side of the test square of four inches (mm)."""


def is_rectangle(line: Line, width: float, height: float, limit: float) -> bool:
    """A closed line is an upright rectangle of that size (mm), every corner within the limit."""
    if not line.closed or len(line.points) != 4:
        return False
    points = line.points - line.points.min(axis=0)
    corners = np.array([(0, 0), (width, 0), (width, height), (0, height)])
    apart = np.abs(points[:, None] - corners[None]).max(axis=2)
    sides = np.abs(np.diff(looped(line), axis=0)).min(axis=1)
    return bool(
        sorted(apart.argmin(axis=1)) == [0, 1, 2, 3] and apart.min(axis=1).max() <= limit and sides.max() <= limit
    )


def _rectangles(lines: Lines, width: float, height: float, limit: float) -> list[Line]:
    """Those lines that are such a rectangle."""
    four = lines.some(np.flatnonzero(lines.closed & (lines.counts == 4)))
    return [line for line in four if is_rectangle(line, width, height, limit)]


def prove_square(marker: Marker, lines: Sequence[Line], within: Within) -> tuple[Finding, ...]:
    """Prove that a drawing of a marker has its test square of 100 mm, off the cloth."""
    limit = 2 * within.limit + 1e-9
    lines = gather(lines)
    for line in _rectangles(lines.some(np.flatnonzero(lines.are(None, Role.SHEET))), SQUARE, SQUARE, limit):
        least, most = line.points.min(axis=0), line.points.max(axis=0)
        if most[0] <= limit or most[1] <= limit or least[0] >= marker.length or least[1] >= marker.width:
            return ()
    return (stop("test square", "there is no square of 100 mm outside the cloth, exact in both directions"),)


def prove_cover(lines: Sequence[Line], correction: tuple[float, float], within: Within) -> tuple[Finding, ...]:
    """Prove that a cover sheet has its test squares of 100 mm and 4 in, corrected as the sheets are."""
    findings = []
    for side, word in ((SQUARE, "100 mm"), (FOUR_INCHES, "4 in")):
        wide, high = side * correction[0], side * correction[1]
        if not _rectangles(gather(lines), wide, high, within.limit):
            what = f"there is no test square of {word} on it (drawn {wide:.2f} x {high:.2f} mm)"
            findings.append(stop("cover sheet", what))
    return tuple(findings)
