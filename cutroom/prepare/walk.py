"""Walking seams: the two sides of each seam laid along each other on the seam line, length and notches compared.

A seam is walked from its common end. Each side is its edges laid end to end; an edge that runs towards the common
end is walked backwards. Notches of the same name meet; those without one meet in their order. A notch that has no
fellow may meet a joint of the other side, as the shoulder notch of a cap meets the shoulder seam. Ease lies between
the marks nearest the two ends: those must meet without ease, the others may be eased by up to the whole of it. What
darts and pleats take in is not walked: they are sewn and pressed first.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from cutroom.geometry.polyline import length
from cutroom.model.finding import Finding, Severity
from cutroom.model.piece import Piece, Style
from cutroom.units import both_units

GROSS = 10.0
"""A seam that is off by more than this (mm) keeps files from being written."""
_COUNTS = {"front": 1, "back": 2}


@dataclass(frozen=True, slots=True)
class Mark:
    """A notch, or a joint of two edges, on one side of a seam.

    Attributes:
        name: The notch's name, or empty.
        where: Piece and edge: `sleeve, cap front`.
        at: Distance from the common end along the seam line (mm).
        count: 1, 2 or 3; 0 for a joint.
    """

    name: str
    where: str
    at: float
    count: int


@dataclass(frozen=True, slots=True)
class Met:
    """Two marks that should meet, or one without a fellow.

    Attributes:
        first: On the first side, or None.
        second: On the second side, or None.
    """

    first: Mark | None
    second: Mark | None

    @property
    def difference(self) -> float:
        """How much farther (mm) from the common end the second side's mark is; 0 without a fellow."""
        return self.second.at - self.first.at if self.first and self.second else 0.0


@dataclass(frozen=True, slots=True)
class Walked:
    """A seam after walking.

    Attributes:
        seam: Its name.
        first: Length of the first side (mm).
        second: Length of the second side (mm).
        ease: How much longer the second side is meant to be (mm).
        within: What it may depart from that without a word (mm).
        marks: The notches in their order from the common end.
    """

    seam: str
    first: float
    second: float
    ease: float
    within: float
    marks: tuple[Met, ...]

    @property
    def difference(self) -> float:
        """How much longer the second side is (mm)."""
        return self.second - self.first


def walk(style: Style) -> tuple[Walked, ...]:
    """Walk every seam of a style on the seam line.

    Args:
        style: The style; its edges' allowances are of no weight.

    Returns:
        What was found, in the order of the style's seams.

    Raises:
        PieceError: A seam names a piece or an edge that is not there.
    """
    found = []
    for seam in style.seams:
        first, first_marks = _side(style, seam.first, from_end=seam.first_from_end)
        second, second_marks = _side(style, seam.second, from_end=seam.second_from_end)
        marks = _meet(first_marks, second_marks, first, second)
        found.append(Walked(seam.name, first, second, seam.ease, seam.within, marks))
    return tuple(found)


def sewn_length(piece: Piece, edge: str, at: float | None = None) -> float:
    """How long an edge is once its darts and pleats are sewn (mm); or how far from its start a place on it is then.

    Args:
        piece: The piece.
        edge: Name of the edge.
        at: A distance along the edge as it is drawn (mm); None for its end.

    Raises:
        PieceError: There is no such edge.
    """
    whole = length(piece.edge(edge).points)
    at = whole if at is None else at
    return at - sum(min(max(at - dart.start, 0.0), dart.end - dart.start) for dart in piece.darts if dart.edge == edge)


def drawn_length(piece: Piece, edge: str, sewn: float) -> float:
    """Where on an edge as it is drawn (mm) a place lies that is this far from its start once it is sewn."""
    for dart in sorted((dart for dart in piece.darts if dart.edge == edge), key=lambda dart: dart.start):
        if sewn > dart.start:
            sewn += dart.end - dart.start
    return sewn


def check_walk(walked: Sequence[Walked]) -> tuple[Finding, ...]:
    """What is wrong with seams that were walked.

    Args:
        walked: What `walk` found.

    Returns:
        WARN where the ease is not as asked or notches do not meet; STOP where a seam is off by more than 10 mm, where
        notches that meet differ in number, or where front and back have exchanged theirs.
    """
    found: list[Finding] = []
    for seam in walked:
        found += _length_findings(seam)
        for place, met in enumerate(seam.marks):
            found += _mark_findings(seam, met, first_or_last=place in {0, len(seam.marks) - 1})
    return tuple(found)


def _side(style: Style, names: Sequence[tuple[str, str]], *, from_end: bool) -> tuple[float, list[Mark]]:
    """Length of one side, and its notches and joints in their order."""
    along, marks = 0.0, []
    for place, (piece_name, edge_name) in enumerate(names):
        piece = style.piece(piece_name)
        size = sewn_length(piece, edge_name)
        where = f"{piece_name}, {edge_name}"
        if place:
            marks.append(Mark("", where, along, 0))
        for notch in piece.notches:
            if notch.edge == edge_name:
                sewn = sewn_length(piece, edge_name, notch.at)
                at = along + (size - sewn if from_end else sewn)
                marks.append(Mark(notch.name, where, at, notch.count))
        along += size
    return along, sorted(marks, key=lambda mark: (mark.at, mark.count))


def _meet(first: list[Mark], second: list[Mark], first_length: float, second_length: float) -> tuple[Met, ...]:
    pairs: list[tuple[Mark, Mark]] = []
    for wanted_name in (True, False):
        rest = [mark for mark in second if mark.count and all(mark is not pair[1] for pair in pairs)]
        for mark in first:
            if not mark.count or bool(mark.name) != wanted_name:
                continue
            fellow = next((other for other in rest if other.name == mark.name), None)
            if fellow is not None:
                rest = [other for other in rest if other is not fellow]
                pairs.append((mark, fellow))
    met = [Met(one, two) for one, two in pairs]
    alone = _left(first, [pair[0] for pair in pairs]), _left(second, [pair[1] for pair in pairs])
    eased = abs(second_length - first_length)
    met += [Met(mark, _nearest_joint(second, mark.at, second_length / 10 + eased)) for mark in alone[0]]
    met += [Met(_nearest_joint(first, mark.at, first_length / 10 + eased), mark) for mark in alone[1]]
    return tuple(sorted(met, key=lambda pair: (pair.first or pair.second or Mark("", "", 0.0, 0)).at))


def _left(marks: list[Mark], paired: list[Mark]) -> list[Mark]:
    return [mark for mark in marks if mark.count and all(mark is not other for other in paired)]


def _nearest_joint(marks: list[Mark], at: float, within: float) -> Mark | None:
    """The joint nearest to a distance, if it is within reach: a tenth of the seam, and what is eased or gathered."""
    joints = [mark for mark in marks if not mark.count and abs(mark.at - at) <= within]
    return min(joints, key=lambda mark: abs(mark.at - at), default=None)


def _length_findings(seam: Walked) -> list[Finding]:
    off = seam.difference - seam.ease
    if abs(off) <= seam.within:
        return []
    severity = Severity.STOP if abs(off) > GROSS else Severity.WARN
    what = (
        f"its sides are {both_units(seam.first)} and {both_units(seam.second)}: the second is "
        f"{both_units(seam.difference)} longer, wanted {both_units(seam.ease)}"
    )
    return [Finding(severity, f"seam {seam.seam}", what, "Lengthen or shorten one side, or ask for that ease")]


def _mark_findings(seam: Walked, met: Met, *, first_or_last: bool) -> list[Finding]:
    place = f"seam {seam.seam}"
    found = []
    for mark in (met.first, met.second):
        wanted = _wanted_count(mark) if mark else 0
        if mark and wanted and mark.count != wanted:
            what = f"{mark.where} has {mark.count} notches, wanted {wanted}"
            found.append(Finding(Severity.STOP, place, what, "One notch in front, two at the back: exchange them"))
    first, second = met.first, met.second
    if first is None or second is None:
        mark = first or second
        if mark is not None:
            what = f"the notch {both_units(mark.at)} along {mark.where} has nothing to meet"
            found.append(Finding(Severity.WARN, place, what, "Set its fellow on the other side, or take it away"))
        return found
    if first.count and second.count and first.count != second.count and not found:
        what = f"{first.count} notches on {first.where} meet {second.count} on {second.where}"
        found.append(Finding(Severity.STOP, place, what, "Give both the same number"))
    if abs(_miss(seam, met, first_or_last=first_or_last)) > seam.within:
        what = (
            f"the notch {both_units(first.at)} along {first.where} meets none: its fellow is "
            f"{both_units(second.at)} along {second.where}"
        )
        found.append(Finding(Severity.WARN, place, what, "Walk the seam again and move one of them"))
    return found


def _wanted_count(mark: Mark) -> int:
    """What custom asks of a named notch of an armhole or cap; 0 when it asks nothing."""
    if not mark.count or not ("armhole" in mark.where or "cap" in mark.where):
        return 0
    return _COUNTS.get(mark.name, 0)


def _miss(seam: Walked, met: Met, *, first_or_last: bool) -> float:
    """By how much (mm) two marks fail to meet, ease allowed for."""
    if met.first is None or met.second is None:
        return 0.0
    ease = seam.difference
    low, high = min(0.0, ease), max(0.0, ease)
    if first_or_last and ease:
        near_start = met.first.at < seam.first / 2
        low = high = 0.0 if near_start else ease
    return met.difference - min(max(met.difference, low), high)
