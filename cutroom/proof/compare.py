"""Holds the lines found in a file against the lines that must be there."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from cutroom.model.finding import Finding
from cutroom.model.marker import Marker
from cutroom.model.plot import Role
from cutroom.proof.diagnose import Puzzle, diagnose
from cutroom.proof.lines import Array, Box, Flags, Ints, Line, Lines, Within, clip, cut_at, gather, lines_of, segments
from cutroom.proof.match import match, on_bits
from cutroom.proof.words import line_word, owner_of, stop

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
        explain: Tell what happened to lines that do not agree; else only count them.
    """

    whole: bool = True
    window: Box = EVERYWHERE
    cuts: tuple[float, ...] = ()
    where: str = ""
    explain: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class Compared:
    """What a comparison found.

    Attributes:
        found: The lines that were found.
        found_for: Index of the found line by index of the expected line, for lines found in one piece.
        proven: Which expected lines are there, whole or in bits.
        stray: Found lines that are neither expected nor furniture.
        deviation: Largest deviation (mm).
        findings: What does not agree.
    """

    found: Lines
    found_for: dict[int, int]
    proven: Flags
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
    wanted, found = gather(wanted), gather(found)
    wholes = _inside(wanted.boxes, layout.window)
    matched = match(wanted.some(wholes), found, within)
    found_for = dict(zip(wholes[[*matched.found_for]].tolist(), matched.found_for.values(), strict=True))
    proven = np.zeros(len(wanted), dtype=np.bool_)
    proven[[*found_for]] = True
    open_wanted, open_found = np.flatnonzero(~proven), np.array(matched.left, dtype=np.int64)
    deviation = matched.deviation
    unpaid: tuple[Finding, ...] = ()
    if len(open_wanted) and not layout.whole and not _mostly_wrong(len(found_for), len(open_found)):
        bits = _match_bits(wanted, found, open_wanted, open_found, within, layout)
        deviation = max(deviation, bits.deviation)
        open_wanted, open_found = bits.unfound, bits.stray
        unpaid = _unbalanced(marker, wanted, bits.balance)
    elif not layout.whole:
        open_wanted = open_wanted[_enter(wanted.some(open_wanted), layout.window)]
    unfound = tuple(wanted.some(open_wanted))
    doubled, strange = _doubled(wanted, found.some(open_found), within)
    stray = tuple(strange.some(np.flatnonzero(_count(strange, marker, within))))
    total = len(found_for) + len(unfound)
    puzzle = Puzzle(marker, unfound, stray, doubled, total, within, group, layout.explain)
    findings = list(diagnose(puzzle) or unpaid)  # lengths that do not balance are told when nothing plainer is
    if layout.where:
        findings = [replace(one, place=f"{layout.where}: {one.place}") for one in findings]
    proven[:] = True
    proven[open_wanted] = False
    return Compared(found, found_for, proven, stray, deviation, tuple(findings))


def _inside(of_lines: Array, window: Box) -> Ints:
    """Which lines, by their boxes, lie wholly in a window."""
    inside = (of_lines[:, :2] >= window[:2]).all(axis=1) & (of_lines[:, 2:] <= window[2:]).all(axis=1)
    return np.flatnonzero(inside)


def _enter(lines: Lines, window: Box) -> Flags:
    """Which lines have a part in a window."""
    enter: Flags = np.zeros(len(lines), dtype=np.bool_)
    enter[clip(*segments(lines), window)[1]] = True
    return enter


def _mostly_wrong(right: int, left: int) -> bool:
    """Next to nothing fits: comparing bit by bit would only take long."""
    return right * 10 < left and left > 1000


def _count(lines: Lines, marker: Marker, within: Within) -> Flags:
    """Lines that nobody asked for are of weight when their layer is the marker's, or when they enter the cloth."""
    edge = 2 * within.reach
    inner = (edge, edge, marker.length - edge, marker.width - edge)
    count: Flags = ~lines.are(None, Role.SHEET) | _enter(lines, inner)
    return count


def _doubled(wanted: Lines, stray: Lines, within: Within) -> tuple[tuple[Line, ...], Lines]:
    """Stray lines that lie on expected ones, which have their own already, and the others."""
    if not len(stray):
        return (), stray
    again = match(stray, wanted, within)
    twice = tuple(replace(wanted[other], points=stray[one].points) for one, other in sorted(again.found_for.items()))
    return twice, stray.some(again.missing)


@dataclass(frozen=True, slots=True, eq=False)
class _Bits:
    unfound: Ints
    stray: Ints
    balance: dict[tuple[str, int], float]
    deviation: float


def _match_bits(
    wanted: Lines, found: Lines, open_wanted: Ints, open_found: Ints, within: Within, layout: Layout
) -> _Bits:
    """Compare what is left straight bit by straight bit, cut where the format cuts.

    Bits left over on both sides must lie on the other side's lines, and their lengths must balance.
    """
    ours, our_owner = _bits_of(wanted, open_wanted, layout)
    theirs, their_owner = _bits_of(found, open_found, replace(layout, window=EVERYWHERE))
    matched = match(_bit_lines(ours, wanted, our_owner), _bit_lines(theirs, found, their_owner), within)
    missing, left = (np.array(some, dtype=np.int64) for some in (matched.missing, matched.left))
    missing = missing[~_on_edge(ours[missing], layout.window, within)]
    left = left[~_on_edge(theirs[left], layout.window, within)]
    off_wanted, off_found = set[int](), set[int]()
    balance: dict[tuple[str, int], float] = {}
    for name in sorted({group for group, _ in (*wanted.looks, *found.looks)}):
        some_missing = missing[wanted.of(name)[our_owner[missing]]]
        some_left = left[found.of(name)[their_owner[left]]]
        if not len(some_missing) and not len(some_left):
            continue
        of_wanted = np.flatnonzero(wanted.of(name))
        seen, _ = _cover(ours[some_missing], found.some(np.flatnonzero(found.of(name))), within)
        known, on = _cover(theirs[some_left], wanted.some(of_wanted), within)
        off_wanted |= set(our_owner[some_missing[~seen]].tolist())
        off_found |= set(their_owner[some_left[~known]].tolist())
        for bit, owner in zip(ours[some_missing[seen]], our_owner[some_missing[seen]], strict=True):
            _add(balance, (name, int(owner)), -_length(bit))
        for bit, nearest in zip(theirs[some_left[known]], on[known], strict=True):
            _add(balance, (name, int(of_wanted[nearest])), _length(bit))
    unfound, stray = (np.array(sorted(off), dtype=np.int64) for off in (off_wanted, off_found))
    return _Bits(unfound, stray, balance, matched.deviation)


def _bits_of(lines: Lines, which: Ints, layout: Layout) -> tuple[Array, Ints]:
    bits, owners = segments(lines.some(which))
    bits, owners = clip(bits, owners, layout.window) if np.isfinite(layout.window).any() else (bits, owners)
    bits, owners = cut_at(bits, owners, layout.cuts)
    return bits, which[owners]


def _bit_lines(bits: Array, lines: Lines, owners: Ints) -> Lines:
    """Each bit a line of the group of its owner."""
    counts = np.full(len(bits), 2)
    looks = [(group, None) for group, _ in lines.looks]
    return lines_of(bits.reshape(-1, 2), counts, counts < 0, looks=looks, look=lines.look[owners])


def _on_edge(bits: Array, window: Box, within: Within) -> Flags:
    """Which bits lie wholly along the edge of the window, where either sheet may carry them, or neither."""
    near = 2 * within.reach
    least, most = bits.min(axis=1), bits.max(axis=1)
    edge: Flags = np.zeros(len(bits), dtype=np.bool_)
    for axis in (0, 1):
        for side in (window[axis], window[axis + 2]):
            edge |= (np.abs(least[:, axis] - side) <= near) & (np.abs(most[:, axis] - side) <= near)
    return edge


def _cover(bits: Array, lines: Lines, within: Within) -> tuple[Flags, Ints]:
    """Which bits lie on the lines with both ends and the middle, and the line nearest to the middle."""
    if not len(bits) or not len(lines):
        return np.zeros(len(bits), dtype=np.bool_), np.full(len(bits), -1, dtype=np.int64)
    reach = within.reach + 1e-9
    tree = shapely.STRtree(np.asarray(shapely.box(*lines.boxes.T)))
    least, most = bits.min(axis=1) - reach, bits.max(axis=1) + reach
    near = np.unique(tree.query(np.asarray(shapely.box(*least.T, *most.T)))[1])
    straight, owners = segments(lines.some(near))
    tests = np.concatenate((bits[:, 0], bits[:, 1], (bits[:, 0] + bits[:, 1]) / 2))
    nearest = on_bits(tests, straight, within.reach).reshape(3, -1)
    on = np.append(near[owners], -1)[nearest[2]] if len(owners) else nearest[2]
    return nearest.min(axis=0) >= 0, on


def _length(bit: Array) -> float:
    return float(np.hypot(*(bit[1] - bit[0])))


def _add(balance: dict[tuple[str, int], float], key: tuple[str, int], length: float) -> None:
    balance[key] = balance.get(key, 0.0) + length


def _unbalanced(marker: Marker, wanted: Lines, balance: dict[tuple[str, int], float]) -> tuple[Finding, ...]:
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
