"""Holds the lines found in a file against the lines that must be there."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.model.finding import Finding
from cutroom.model.marker import Marker
from cutroom.model.plot import Role
from cutroom.proof.diagnose import Puzzle, diagnose
from cutroom.proof.lines import Array, Box, Ints, Line, Within, boxes, clip, cut_at, segments
from cutroom.proof.match import match, on_bits
from cutroom.proof.words import line_word, owner_of, stop

Flags = NDArray[np.bool_]
Group = Callable[[Role], str | None]
EVERYWHERE: Box = (-np.inf, -np.inf, np.inf, np.inf)
SPECK = 1.0
"""Bits that were joined or split otherwise than expected may add up to this much (mm) of length unexplained."""


@dataclass(frozen=True, slots=True)
class Layout:
    """How a format lays the drawing out.

    Attributes:
        whole: Every line is in one piece, as its own entity.
        window: What part of the marker is shown (mm).
        cuts: Values of x (mm) at which lines are cut in two.
        where: Names the sheet, for findings.
    """

    whole: bool = True
    window: Box = EVERYWHERE
    cuts: tuple[float, ...] = ()
    where: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Compared:
    """What a comparison found.

    Attributes:
        found_for: The found line by index of the expected line, for lines found in one piece.
        proven: Indices of the expected lines that are there, whole or in bits.
        stray: Found lines that are neither expected nor furniture.
        deviation: Largest deviation (mm).
        findings: What does not agree.
    """

    found_for: dict[int, Line]
    proven: frozenset[int]
    stray: tuple[Line, ...]
    deviation: float
    findings: tuple[Finding, ...]


def compare(
    marker: Marker, wanted: Sequence[Line], found: Sequence[Line], within: Within, *, group: Group, layout: Layout
) -> Compared:
    """Claim a found line for every expected one, then tell what is missing, extra, moved, mirrored or doubled.

    Args:
        marker: The marker, for names and for telling mirrored from moved.
        wanted: What must be there.
        found: What is there, marker coordinates.
        within: How far off it may be.
        group: What the format tells lines of a role apart by.
        layout: How the format lays the drawing out.
    """
    wholes = _inside(boxes(wanted), layout.window)
    matched = match([wanted[index] for index in wholes], found, within)
    found_for = {wholes[one]: found[other] for one, other in matched.found_for.items()}
    open_wanted = [index for index in range(len(wanted)) if index not in found_for]
    open_found = list(matched.left)
    deviation = matched.deviation
    unpaid: tuple[Finding, ...] = ()
    if open_wanted and not layout.whole and not _mostly_wrong(len(found_for), len(open_found)):
        bits = _match_bits(wanted, found, open_wanted, open_found, within, layout)
        deviation = max(deviation, bits.deviation)
        open_wanted, open_found = bits.unfound, bits.stray
        unpaid = _unbalanced(marker, wanted, bits.balance)
    elif not layout.whole:
        open_wanted = [index for index in open_wanted if _crosses(wanted[index], layout.window)]
    unfound = [wanted[index] for index in open_wanted]
    doubled, stray = _doubled(wanted, [found[index] for index in open_found], within)
    stray = [line for line in stray if _counts(line, marker, within)]
    total = len(found_for) + len(unfound)
    puzzle = Puzzle(marker, tuple(unfound), tuple(stray), tuple(doubled), total, within, group)
    findings = list(diagnose(puzzle) or unpaid)  # lengths that do not balance are told when nothing plainer is
    if layout.where:
        findings = [replace(one, place=f"{layout.where}: {one.place}") for one in findings]
    proven = frozenset(range(len(wanted))) - set(open_wanted)
    return Compared(found_for, proven, tuple(stray), deviation, tuple(findings))


def _inside(of_lines: Array, window: Box) -> list[int]:
    """Which lines, by their boxes, lie wholly in a window."""
    inside = (of_lines[:, :2] >= window[:2]).all(axis=1) & (of_lines[:, 2:] <= window[2:]).all(axis=1)
    found: list[int] = np.flatnonzero(inside).tolist()
    return found


def _crosses(line: Line, window: Box) -> bool:
    bits, owners = segments([line])
    return len(clip(bits, owners, window)[0]) > 0


def _mostly_wrong(right: int, left: int) -> bool:
    """Next to nothing fits: comparing bit by bit would only take long."""
    return right * 10 < left and left > 1000


def _counts(line: Line, marker: Marker, within: Within) -> bool:
    """A line that nobody asked for is of weight when its layer is the marker's, or when it enters the cloth."""
    if line.role not in {None, Role.SHEET}:
        return True
    edge = 2 * within.reach
    bits, owners = segments([line])
    inner = (edge, edge, marker.length - edge, marker.width - edge)
    return len(clip(bits, owners, inner)[0]) > 0


def _doubled(wanted: Sequence[Line], stray: list[Line], within: Within) -> tuple[list[Line], list[Line]]:
    """Stray lines that lie on expected ones, which have their own already, and the others."""
    if not stray:
        return [], []
    again = match(stray, wanted, within)
    twice = [replace(wanted[other], points=stray[one].points) for one, other in sorted(again.found_for.items())]
    rest = [stray[one] for one in again.missing]
    return twice, rest


@dataclass(frozen=True, slots=True, eq=False)
class _Bits:
    unfound: list[int]
    stray: list[int]
    balance: dict[tuple[str, int], float]
    deviation: float


def _match_bits(
    wanted: Sequence[Line],
    found: Sequence[Line],
    open_wanted: list[int],
    open_found: list[int],
    within: Within,
    layout: Layout,
) -> _Bits:
    """Compare what is left straight bit by straight bit, cut where the format cuts.

    Bits left over on both sides must lie on the other side's lines, and their lengths must balance.
    """
    ours, our_owner = _bits_of(wanted, open_wanted, layout)
    theirs, their_owner = _bits_of(found, open_found, replace(layout, window=EVERYWHERE))
    as_wanted = [_bit_line(bit, wanted[owner].group) for bit, owner in zip(ours, our_owner, strict=True)]
    as_found = [_bit_line(bit, found[owner].group) for bit, owner in zip(theirs, their_owner, strict=True)]
    matched = match(as_wanted, as_found, within)
    missing, left = np.array(matched.missing, dtype=np.int64), np.array(matched.left, dtype=np.int64)
    missing = missing[~_on_edge(ours[missing], layout.window, within)]
    left = left[~_on_edge(theirs[left], layout.window, within)]
    off_wanted, off_found = set[int](), set[int]()
    balance: dict[tuple[str, int], float] = {}
    for name in sorted({line.group for line in (*wanted, *found)}):
        of_wanted = [index for index, line in enumerate(wanted) if line.group == name]
        of_found = [index for index, line in enumerate(found) if line.group == name]
        some_missing = missing[np.isin(our_owner[missing], of_wanted)]
        some_left = left[np.isin(their_owner[left], of_found)]
        if not len(some_missing) and not len(some_left):
            continue
        seen, _ = _cover(ours[some_missing], [found[index] for index in of_found], within)
        known, on = _cover(theirs[some_left], [wanted[index] for index in of_wanted], within)
        off_wanted |= set(our_owner[some_missing[~seen]].tolist())
        off_found |= set(their_owner[some_left[~known]].tolist())
        for bit, owner in zip(ours[some_missing[seen]], our_owner[some_missing[seen]], strict=True):
            _add(balance, (name, int(owner)), -_length(bit))
        for bit, nearest in zip(theirs[some_left[known]], on[known], strict=True):
            _add(balance, (name, of_wanted[int(nearest)]), _length(bit))
    return _Bits(sorted(off_wanted), sorted(off_found), balance, matched.deviation)


def _bits_of(lines: Sequence[Line], which: list[int], layout: Layout) -> tuple[Array, Ints]:
    bits, owners = segments([lines[index] for index in which])
    bits, owners = clip(bits, owners, layout.window) if np.isfinite(layout.window).any() else (bits, owners)
    bits, owners = cut_at(bits, owners, layout.cuts)
    return bits, np.array(which, dtype=np.int64)[owners] if len(owners) else owners


def _bit_line(bit: Array, group: str) -> Line:
    return Line(bit, closed=False, group=group)


def _on_edge(bits: Array, window: Box, within: Within) -> Flags:
    """Which bits lie wholly along the edge of the window, where either sheet may carry them, or neither."""
    near = 2 * within.reach
    least, most = bits.min(axis=1), bits.max(axis=1)
    edge: Flags = np.zeros(len(bits), dtype=np.bool_)
    for axis in (0, 1):
        for side in (window[axis], window[axis + 2]):
            edge |= (np.abs(least[:, axis] - side) <= near) & (np.abs(most[:, axis] - side) <= near)
    return edge


def _cover(bits: Array, lines: Sequence[Line], within: Within) -> tuple[Flags, Ints]:
    """Which bits lie on the lines with both ends and the middle, and the line nearest to the middle."""
    if not len(bits) or not lines:
        return np.zeros(len(bits), dtype=np.bool_), np.full(len(bits), -1, dtype=np.int64)
    reach = within.reach + 1e-9
    tree = shapely.STRtree(np.asarray(shapely.box(*boxes(lines).T)))
    least, most = bits.min(axis=1) - reach, bits.max(axis=1) + reach
    near = np.unique(tree.query(np.asarray(shapely.box(*least.T, *most.T)))[1])
    straight, owners = segments([lines[index] for index in near])
    tests = np.concatenate((bits[:, 0], bits[:, 1], (bits[:, 0] + bits[:, 1]) / 2))
    nearest = on_bits(tests, straight, within.reach).reshape(3, -1)
    on = np.append(near[owners], -1)[nearest[2]] if len(owners) else nearest[2]
    return nearest.min(axis=0) >= 0, on


def _length(bit: Array) -> float:
    return float(np.hypot(*(bit[1] - bit[0])))


def _add(balance: dict[tuple[str, int], float], key: tuple[str, int], length: float) -> None:
    balance[key] = balance.get(key, 0.0) + length


def _unbalanced(marker: Marker, wanted: Sequence[Line], balance: dict[tuple[str, int], float]) -> tuple[Finding, ...]:
    """Lengths that do not balance: a line drawn twice, or one that is missing under another."""
    findings = []
    for name in sorted({group for group, _ in balance}):
        by_owner = {owner: length for (group, owner), length in balance.items() if group == name}
        total = sum(by_owner.values())
        if abs(total) > SPECK:
            line = wanted[max(by_owner, key=lambda owner: by_owner[owner] * np.sign(total))]
            how = "is drawn twice" if total > 0 else "is missing where another line lies on it"
            findings.append(stop(owner_of(marker, line), f"{abs(total):.1f} mm of a {line_word(line)} {how}"))
    return tuple(findings)
