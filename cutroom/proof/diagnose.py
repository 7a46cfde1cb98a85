"""Tells what happened to lines that are not where they must be: scaled, moved, mirrored, doubled, missing, extra."""

from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from cutroom.model.finding import Finding
from cutroom.model.marker import Marker, Placement
from cutroom.model.plot import Role
from cutroom.proof.expected import placed_lines, posed, reading_turn, turned
from cutroom.proof.lines import NOWHERE, Array, Flags, Ints, Line, Lines, Within, boxes, gather, tidy
from cutroom.proof.match import lie_on, match
from cutroom.proof.words import LINE_WORDS, MOST, line_word, more, name_of, owner_of, shift_words, shortened, spot, stop

SCALE_NOTICED = 0.0005
"""A drawing is called out of scale from this much on, as a fraction."""
LOOKED_INTO = 25
"""For so many pieces that do not agree it is worked out what happened, no fewer than are told; others are counted."""
TRIED = 100
"""A line is tried on so many of those of its size, the nearest ones."""
FAR = 100.0
"""A single line that lies farther off (mm) is another one."""
ROW = 10**6
"""Squares of ratios in a row: more than there are."""


@dataclass(frozen=True, slots=True, eq=False)
class Puzzle:
    """What is left over when the file was compared.

    Attributes:
        marker: The marker.
        unfound: Expected lines that were not found.
        stray: Found lines that were not expected.
        doubled: Expected lines that were found once more.
        total: How many lines were expected.
        within: How far off a point may be.
        group: What the format tells lines of a role apart by.
        explain: Work out what happened; else only count.
    """

    marker: Marker
    unfound: tuple[Line, ...]
    stray: tuple[Line, ...]
    doubled: tuple[Line, ...]
    total: int
    within: Within
    group: Callable[[Role], str | None]
    explain: bool = True

    @property
    def loose(self) -> Within:
        """How far off a point may be when both lines may be rounded and their corners are laid on each other."""
        return Within(3 * self.within.limit, self.within.per_coordinate)


class _Strays:
    """Found lines that nothing explains yet, looked up by where they begin along the cloth.

    Attributes:
        lines: All of them.
        free: `(k,)`: which are still to be explained.
    """

    def __init__(self, lines: Lines) -> None:
        self.lines = lines
        self.free: Flags = np.ones(len(lines), dtype=np.bool_)
        self._order: Ints = np.argsort(lines.boxes[:, 0], kind="stable")
        self._least = lines.boxes[self._order, 0]

    def __bool__(self) -> bool:
        return bool(self.free.any())

    def near(self, low: float, high: float) -> Ints:
        """Those still free of which the least x is between two values (mm)."""
        begin, end = np.searchsorted(self._least, (low, high))
        which: Ints = np.sort(self._order[begin:end])
        return which[self.free[which]]

    def claimed(self, wanted: Sequence[Line], within: Within) -> dict[int, int]:
        """Which of them lies on which wanted line."""
        least = boxes(wanted)[:, 0]
        which = self.near(float(least.min()) - 2 * within.limit, float(least.max()) + 2 * within.limit)
        found = match(wanted, self.lines.some(which), within).found_for
        return {one: int(which[other]) for one, other in found.items()}

    def first_alike(self, line: Line, which: Ints, within: Within) -> int | None:
        """The nearest of some that is the same as a line when it is shifted to where that begins."""
        least, most = line.points.min(axis=0), line.points.max(axis=0)
        box = self.lines.boxes[which]
        shifts = box[:, :2] - least
        alike = np.flatnonzero(np.abs(box[:, 2:] - box[:, :2] - (most - least)).max(axis=1) <= within.limit)
        nearest = alike[np.argsort(np.hypot(*shifts[alike].T), kind="stable")][:TRIED]
        for part in (nearest[:1], nearest[1:]):
            there = self.lines.some(which[part])
            back = there.at(there.points - np.repeat(shifts[part], there.counts, axis=0))
            same = np.flatnonzero(lie_on(back, line, within)) if len(part) else part
            if len(same):
                return int(which[part[same[0]]])
        return None


def diagnose(puzzle: Puzzle) -> tuple[Finding, ...]:
    """The findings, the plainest explanation first; none when nothing is left over."""
    if not puzzle.explain:
        owners = {line.placement for line in puzzle.unfound}
        number = len(owners) or len(puzzle.doubled) + len(puzzle.stray)
        return (more(number),) if number else ()
    unfound, strays = gather(puzzle.unfound), _Strays(gather(puzzle.stray))
    scaled = _scaled(puzzle, unfound, strays.lines)
    if scaled:
        return scaled
    pieces = [int(index) for index in dict.fromkeys(unfound.placement.tolist()) if index != NOWHERE]
    looked_into = pieces[:LOOKED_INTO]
    by_owner: dict[int | None, list[Line]] = defaultdict(list)
    for line in unfound.some(np.flatnonzero(np.isin(unfound.placement, [*looked_into, NOWHERE]))):
        by_owner[line.placement].append(line)
    findings: list[Finding] = []
    for explain in (_repose, _lettering):
        for index in looked_into:
            if strays:
                told, by_owner[index] = explain(puzzle, index, by_owner[index], strays)
                findings += told
    told, rest = _moved_lines(puzzle, [line for lines in by_owner.values() for line in lines], strays)
    findings += told + _missing(puzzle.marker, rest)
    if len(pieces) > LOOKED_INTO:
        return (*findings[:MOST], _others(puzzle, pieces, findings[:MOST]))
    extra = strays.lines.some(np.flatnonzero(strays.free))
    total = len(findings) + len(puzzle.doubled) + len(extra)
    return shortened([*findings, *_doubled(puzzle.marker, puzzle.doubled[:MOST]), *_extra(extra[:MOST])], total)


def _others(puzzle: Puzzle, pieces: Sequence[int], told: Sequence[Finding]) -> Finding:
    """How many more pieces do not agree than those that are told of, and how many lines in all."""
    places = {finding.place for finding in told}
    left_out = len(pieces) - sum(name_of(puzzle.marker, index) in places for index in pieces[:LOOKED_INTO])
    in_all = (
        f"In all, {len(puzzle.unfound)} of its lines are not where they must be, "
        f"{len(puzzle.stray)} lines are drawn where none must be, and {len(puzzle.doubled)} are drawn twice"
    )
    return more(left_out, "pieces", in_all)


def _scaled(puzzle: Puzzle, unfound: Lines, stray: Lines) -> tuple[Finding, ...]:
    """The whole drawing is out of scale: more than half is missing, and what is there is larger or smaller alike."""
    if 2 * len(unfound) <= puzzle.total:
        return ()
    ours = _closed_over(unfound, 10.0)[:200]
    theirs = _closed_over(stray, 0.1)
    if not len(ours) or not len(theirs):
        return ()
    sizes, counts = _sizes(stray)[theirs], stray.counts[theirs]
    ratios = [
        np.unique(sizes[counts == count] / size, axis=0)
        for count, size in zip(unfound.counts[ours], _sizes(unfound)[ours], strict=True)
    ]
    guesses = _likely(ratios)
    if not len(guesses):
        return ()
    backers = [sum(_agrees(ratio, guess) for ratio in ratios) for guess in guesses]
    best = max(range(len(guesses)), key=lambda one: (backers[one], -float(np.abs(np.log(guesses[one])).max())))
    middle = guesses[best]
    if backers[best] < 0.6 * len(ours) or np.abs(middle - 1).max() < SCALE_NOTICED:
        return ()
    what = f"the drawing is out of scale: about {middle[0]:.3f} times in x and {middle[1]:.3f} times in y"
    return (stop("file", what, "Do not use this file; check its unit and any scale correction, and write it again"),)


def _sizes(lines: Lines) -> Array:
    size: Array = lines.boxes[:, 2:] - lines.boxes[:, :2]
    return size


def _closed_over(lines: Lines, least: float) -> Ints:
    """Which lines close and are longer and wider than this (mm)."""
    return np.flatnonzero(lines.closed & (_sizes(lines).min(axis=1) > least))


def _likely(ratios: Sequence[Array], most: int = 50) -> Array:
    """Of the ratios (`(n, 2)`) of the first few lines, those that most lines have about alike, nearest to 1 first.

    Ratios are counted by squares no smaller than what agrees, each line once in a square.
    """
    guesses = np.concatenate(ratios[:5])
    squares = [_square(ratio) for ratio in ratios]
    known, votes = np.unique(np.concatenate([np.unique(square) for square in squares]), return_counts=True)
    mine, backers = _square(guesses), np.zeros(len(guesses), dtype=np.int64)
    for step in (along + across for along in (-ROW, 0, ROW) for across in (-1, 0, 1)):
        place = np.minimum(np.searchsorted(known, mine + step), len(known) - 1)
        backers += np.where(known[place] == mine + step, votes[place], 0)
    order: Ints = np.lexsort((np.abs(np.log(guesses)).max(axis=1), -backers))[:most]
    return guesses[order]


def _square(ratios: Array) -> Ints:
    column, row = np.floor(np.log(ratios) / (2 * SCALE_NOTICED)).astype(np.int64).T
    square: Ints = column * ROW + row
    return square


def _agrees(ratios: Array, guess: Array) -> bool:
    return bool((np.abs(ratios / guess - 1) < 2 * SCALE_NOTICED).all(axis=1).any())


def _pose_guesses(placement: Placement) -> tuple[tuple[str, Placement], ...]:
    other = replace(placement, flipped=not placement.flipped)
    return (
        ("moved", placement),
        ("mirrored", other),
        ("turned end for end", replace(placement, turn_deg=placement.turn_deg + 180)),
        ("mirrored and turned end for end", replace(other, turn_deg=placement.turn_deg + 180)),
    )


def _repose(puzzle: Puzzle, index: int, lines: list[Line], strays: _Strays) -> tuple[list[Finding], list[Line]]:
    """Explain a missing cut line by the same piece laid otherwise; the marks that went along are explained by it."""
    group = puzzle.group(Role.CUT)
    if group is None or not any(line.role is Role.CUT for line in lines):
        return [], lines
    rivals = np.flatnonzero(strays.free & strays.lines.closed & strays.lines.of(group))
    if not len(rivals):
        return [], lines
    marker, placement = puzzle.marker, puzzle.marker.placements[index]
    piece = marker.prepared(placement)
    for word, guess in _pose_guesses(placement):
        outline, _ = tidy(posed(piece.cut_line, guess), closed=True)
        rival = strays.first_alike(Line(outline, closed=True), rivals, puzzle.loose)
        if rival is None:
            continue
        shift = strays.lines.boxes[rival, :2] - outline.min(axis=0)
        moved = replace(guess, x=guess.x + float(shift[0]), y=guess.y + float(shift[1]))
        there = [
            Line(*tidy(points, closed=closed), puzzle.group(role) or "", role, index)
            for role, points, closed in placed_lines(piece, moved)
        ]
        along = strays.claimed(there, puzzle.loose)
        strays.free[[*along.values()]] = False
        what = f"it is drawn {word}{_by(shift, word)}{_at_place_of(puzzle, index, moved)}"
        return [stop(name_of(marker, index), what)], _without(lines, [there[one] for one in along])
    return [], lines


def _without(lines: Sequence[Line], explained: Sequence[Line]) -> list[Line]:
    """A placement's unfound lines less those that are explained, role by role."""
    spare = Counter(line.role for line in explained)
    rest = []
    for line in lines:
        if spare[line.role] > 0:
            spare[line.role] -= 1
        else:
            rest.append(line)
    return rest


def _by(shift: Array, word: str) -> str:
    if np.abs(shift).max() < 0.01 and word != "moved":
        return ""
    joint = " by" if word == "moved" else ", and moved by"
    return f"{joint} {shift_words(float(shift[0]), float(shift[1]))}"


def _at_place_of(puzzle: Puzzle, index: int, moved: Placement) -> str:
    for other, placement in enumerate(puzzle.marker.placements):
        if other != index and max(abs(placement.x - moved.x), abs(placement.y - moved.y)) < 2 * puzzle.within.limit:
            return f', to the place of "{placement.piece}", size {placement.size}, of "{placement.garment}"'
    return ""


def _lettering(puzzle: Puzzle, index: int, lines: list[Line], strays: _Strays) -> tuple[list[Finding], list[Line]]:
    """Explain missing lettering by lettering that is mirrored or upside down in its place."""
    letters = [line for line in lines if line.role is Role.LABEL]
    if not letters:
        return [], lines
    placement = puzzle.marker.placements[index]
    piece = puzzle.marker.prepared(placement)
    label = piece.label_mirrored if placement.flipped else piece.label
    centre = posed(np.array([label.centre]), placement)
    turn = reading_turn(placement.turn_deg + label.turn_deg)
    for word, factors in (("mirrored", (-1, 1)), ("mirrored", (1, -1)), ("upside down", (-1, -1))):
        guesses = [
            replace(line, points=turned(turned(line.points - centre, -turn) * factors, turn) + centre)
            for line in letters
        ]
        fits = strays.claimed(guesses, puzzle.within)
        if 5 * len(fits) >= 4 * len(letters):
            strays.free[[*fits.values()]] = False
            known = {id(letters[one]) for one in fits}
            finding = stop(name_of(puzzle.marker, index), f"its lettering is drawn {word}")
            return [finding], [line for line in lines if id(line) not in known]
    return [], lines


def _moved_lines(puzzle: Puzzle, unfound: Sequence[Line], strays: _Strays) -> tuple[list[Finding], list[Line]]:
    """Single lines that are there, but off their place."""
    rest: list[Line] = []
    alike: dict[tuple[int | None, str], list[tuple[Line, Array, int]]] = defaultdict(list)
    for line in unfound:
        least = line.points.min(axis=0)
        which = strays.near(float(least[0]) - FAR, float(least[0]) + FAR)
        which = which[strays.lines.of(line.group)[which]]
        shifts = strays.lines.boxes[which, :2] - least
        other = strays.first_alike(line, which[np.hypot(*shifts.T) < FAR], puzzle.loose)
        if other is None:
            rest.append(line)
            continue
        strays.free[other] = False
        shift = strays.lines.boxes[other, :2] - least
        told = alike[line.placement, line_word(line)]
        for place, (first, by, count) in enumerate(told):
            if np.abs(by - shift).max() <= puzzle.loose.limit:
                told[place] = (first, by, count + 1)
                break
        else:
            told.append((line, shift, 1))
    return [_moved(puzzle.marker, *one) for told in alike.values() for one in told], rest


def _moved(marker: Marker, line: Line, shift: Array, count: int) -> Finding:
    many = "" if count == 1 else f" ({count} of them)"
    by = shift_words(float(shift[0]), float(shift[1]))
    return stop(owner_of(marker, line), f"a {line_word(line)}{many} is moved by {by}")


def _missing(marker: Marker, unfound: Sequence[Line]) -> list[Finding]:
    """What is missing, one finding a piece; a piece of which the cut line is missing is missing."""
    by_owner: dict[int | None, list[Line]] = defaultdict(list)
    for line in unfound:
        by_owner[line.placement].append(line)
    findings = []
    for index, lines in by_owner.items():
        roles = [role for role in Role if any(line.role is role for line in lines)]
        counts = {role: sum(line.role is role for line in lines) for role in roles}
        words = ", ".join(
            f"{LINE_WORDS[role]}{'' if counts[role] == 1 else f' ({counts[role]} of them)'}" for role in roles
        )
        place = owner_of(marker, lines[0])
        if index is not None and Role.CUT in roles:
            findings.append(stop(place, f"the piece is missing from the drawing, or not whole: {words}"))
        else:
            findings.append(stop(place, f"missing: {words}, at {spot(lines[0].points)}"))
    return findings


def _doubled(marker: Marker, doubled: Sequence[Line]) -> list[Finding]:
    return [stop(owner_of(marker, line), f"its {line_word(line)} is drawn twice") for line in doubled]


def _extra(stray: Sequence[Line]) -> list[Finding]:
    """Lines that nobody asked for."""
    findings = []
    for line in stray:
        on = f" on {line.group}" if line.group else ""
        points = line.points
        length = float(np.hypot(*np.diff(points, axis=0).T).sum())
        what = f"a line{on} of {len(points)} points and {length:.1f} mm is extra: nothing in the marker draws it"
        findings.append(stop(spot(points), what))
    return findings
