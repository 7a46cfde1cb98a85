"""How findings name pieces, places and lines."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cutroom.model.finding import Finding, Severity
from cutroom.model.marker import Marker
from cutroom.model.plot import Role
from cutroom.proof.expected import posed
from cutroom.proof.lines import Array, Line

MOST = 20
"""More findings of one kind than this are counted, not told."""

LINE_WORDS = {
    Role.CUT: "cut line",
    Role.SEAM: "seam line or inside line",
    Role.NOTCH: "notch",
    Role.GRAIN: "grainline stroke",
    Role.DRILL: "drill hole",
    Role.LABEL: "stroke of the lettering",
    Role.FABRIC: "edge of the cloth",
    Role.SHEET: "line of the legend",
    Role.CUTOUT: "cut-out",
}
WRITE_AGAIN = "Do not use this file; write it again, and report the fault if it comes back"


def stop(place: str, what: str, fix: str = WRITE_AGAIN) -> Finding:
    """A finding for which the file is refused."""
    return Finding(Severity.STOP, place, what, fix)


def name_of(marker: Marker, index: int) -> str:
    """A placed piece and where it lies, for example `"front", size 12, of "blouse" 1, at 412.3 mm ...`."""
    placement = marker.placements[index]
    least = posed(marker.prepared(placement).cut_line, placement).min(axis=0)
    return (
        f'"{placement.piece}", size {placement.size}, of "{placement.garment}" {placement.copy}, '
        f"{least[0]:.1f} mm from the start line and {least[1]:.1f} mm from the lower edge"
    )


def line_word(line: Line) -> str:
    """What a line is."""
    return LINE_WORDS[line.role] if line.role else "line"


def owner_of(marker: Marker, line: Line) -> str:
    """The placed piece that a line belongs to, or the cloth."""
    return "the cloth" if line.placement is None else name_of(marker, line.placement)


def spot(points: Array) -> str:
    """Where some points (`(n, 2)`, mm) are: the middle of their box."""
    x, y = (np.min(points, axis=0) + np.max(points, axis=0)) / 2
    return f"{x:.1f} mm from the start line and {y:.1f} mm from the lower edge"


def shift_words(along: float, across: float) -> str:
    """A shift (mm) in words."""
    return f"{along:+.2f} mm along the cloth and {across:+.2f} mm across it"


@dataclass(frozen=True, slots=True)
class More(Finding):
    """Says how many more findings there are than those that are told.

    Attributes:
        number: How many.
        in_all: What there is to say of all of them, as sentences without the last full stop.
    """

    number: int = 0
    in_all: str = ""


def more(number: int, things: str = "things", in_all: str = "") -> More:
    """So many more do not agree."""
    what = f"{number} more {things} do not agree with the marker{f'. {in_all}' if in_all else ''}"
    return More(Severity.STOP, "file", what, WRITE_AGAIN, number=number, in_all=in_all)


def shortened(findings: Sequence[Finding], total: int = 0) -> tuple[Finding, ...]:
    """The first findings, and how many more there are; those that an earlier shortening left out are counted again.

    Args:
        findings: All of them, or the first few.
        total: How many there are, when these are not all.
    """
    told = [finding for finding in findings if not isinstance(finding, More)]
    counted = [finding for finding in findings if isinstance(finding, More)]
    left_out = max(total, len(told)) - min(MOST, len(told))
    if not left_out and len(counted) < 2:
        return (*told, *counted)
    in_all = counted[0].in_all if len(counted) == 1 else ""
    return (*told[:MOST], more(left_out + sum(one.number for one in counted), in_all=in_all))
