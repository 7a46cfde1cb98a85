"""What the proof of one file found, summed up."""

from dataclasses import dataclass

import numpy as np

from cutroom.model.finding import Finding, Severity
from cutroom.model.marker import Marker
from cutroom.model.plot import Role
from cutroom.proof.compare import Compared
from cutroom.proof.hands import Count, count_hands
from cutroom.proof.lines import NOWHERE, Line, Lines, Within
from cutroom.proof.marker import prove_outlines
from cutroom.proof.words import shortened


@dataclass(frozen=True, slots=True)
class Proved:
    """What the proof of one file found.

    Attributes:
        kind: The kind of file.
        compared: What was held against what, in words.
        deviation: Largest deviation of a line that was found (mm).
        counts: The pieces counted from the file.
        findings: What does not agree.
    """

    kind: str
    compared: str
    deviation: float
    counts: tuple[Count, ...]
    findings: tuple[Finding, ...]

    @property
    def refused(self) -> bool:
        """The file must not be used."""
        return any(finding.severity is Severity.STOP for finding in self.findings)


def summed_up(
    kind: str,
    marker: Marker,
    wanted: Lines,
    compared: Compared,
    findings: list[Finding],
    within: Within,
    what: str = "",
) -> Proved:
    """Count what was found, prove its cut lines once more, and sum up.

    Args:
        kind: The kind of file.
        marker: The marker.
        wanted: The lines that must be in the file.
        compared: What the comparison found.
        findings: What was found so far.
        within: How far off a point may be.
        what: What of the file was held against the marker, when it is not its lines themselves.
    """
    outlines: dict[int, Line | None] = {}
    for index in np.flatnonzero(wanted.are(Role.CUT) & (wanted.placement != NOWHERE) & compared.proven).tolist():
        found = compared.found_for.get(index)
        outlines[int(wanted.placement[index])] = None if found is None else compared.found[found]
    seen = {index: line.points for index, line in outlines.items() if line is not None}
    findings += prove_outlines(marker, list(seen.values()), slack=within.limit, indices=list(seen))
    counts: tuple[Count, ...] = ()
    if outlines or not wanted.are(Role.CUT).any():
        counts, miscounted = count_hands(marker, outlines, within)
        findings += () if findings else miscounted  # what is not found is told already
    compared_words = (
        f"{len(wanted)} lines of {len(marker.placements)} pieces held against {what or 'the marker'}, "
        f"to {within.limit:g} mm{' in x and in y' if within.per_coordinate else ''}"
    )
    return Proved(kind, compared_words, compared.deviation, counts, shortened(findings))
