"""Tells what happened to lines that are not where they must be: scaled, moved, mirrored, doubled, missing, extra."""

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from cutroom.model.finding import Finding
from cutroom.model.marker import Marker, Placement
from cutroom.model.plot import Role
from cutroom.proof.expected import placed_lines, posed, reading_turn, turned
from cutroom.proof.lines import Array, Line, Within, boxes, tidy
from cutroom.proof.match import lies_on, match
from cutroom.proof.words import LINE_WORDS, line_word, name_of, owner_of, shift_words, shortened, spot, stop

SCALE_NOTICED = 0.0005
"""A drawing is called out of scale from this much on, as a fraction."""


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
    """

    marker: Marker
    unfound: tuple[Line, ...]
    stray: tuple[Line, ...]
    doubled: tuple[Line, ...]
    total: int
    within: Within
    group: Callable[[Role], str | None]

    @property
    def loose(self) -> Within:
        """How far off a point may be when both lines may be rounded and their corners are laid on each other."""
        return Within(3 * self.within.limit, self.within.per_coordinate)


def diagnose(puzzle: Puzzle) -> tuple[Finding, ...]:
    """The findings, the plainest explanation first; none when nothing is left over."""
    scaled = _scaled(puzzle)
    if scaled:
        return scaled
    findings: list[Finding] = []
    unfound, stray = list(puzzle.unfound), list(puzzle.stray)
    by_placement: dict[int, list[Line]] = defaultdict(list)
    for line in unfound:
        if line.placement is not None:
            by_placement[line.placement].append(line)
    for index, lines in by_placement.items():
        if stray:
            told, unfound, stray = _repose(puzzle, index, lines, unfound, stray)
            findings += told
    for index, lines in by_placement.items():
        if stray:
            told, unfound, stray = _lettering(puzzle, index, lines, unfound, stray)
            findings += told
    told, unfound, stray = _moved_lines(puzzle, unfound, stray)
    findings += told + _missing(puzzle.marker, unfound) + _doubled(puzzle) + _extra(stray)
    return shortened(findings)


def _sizes(lines: Sequence[Line]) -> Array:
    box = boxes(lines)
    size: Array = box[:, 2:] - box[:, :2]
    return size


def _scaled(puzzle: Puzzle) -> tuple[Finding, ...]:
    """The whole drawing is out of scale: more than half is missing, and what is there is larger or smaller alike."""
    if 2 * len(puzzle.unfound) <= puzzle.total or not puzzle.stray:
        return ()
    ours = [line for line in puzzle.unfound if line.closed and _sizes([line]).min() > 10.0][:200]
    theirs = [line for line in puzzle.stray if line.closed and _sizes([line]).min() > 0.1]
    if not ours or not theirs:
        return ()
    sizes, counts = _sizes(theirs), np.array([len(line.points) for line in theirs])
    ratios = [sizes[counts == len(line.points)] / size for line, size in zip(ours, _sizes(ours), strict=True)]
    guesses = np.concatenate(ratios[:5])
    if not len(guesses):
        return ()
    backers = [sum(_agrees(ratio, guess) for ratio in ratios) for guess in guesses]
    best = max(range(len(guesses)), key=lambda one: (backers[one], -float(np.abs(np.log(guesses[one])).max())))
    middle = guesses[best]
    if backers[best] < 0.6 * len(ours) or np.abs(middle - 1).max() < SCALE_NOTICED:
        return ()
    what = f"the drawing is out of scale: about {middle[0]:.3f} times in x and {middle[1]:.3f} times in y"
    return (stop("file", what, "Do not use this file; check its unit and any scale correction, and write it again"),)


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


def _repose(
    puzzle: Puzzle, index: int, lines: list[Line], unfound: list[Line], stray: list[Line]
) -> tuple[list[Finding], list[Line], list[Line]]:
    """Explain a missing cut line by the same piece laid otherwise; the marks that went along are explained by it."""
    if not any(line.role is Role.CUT for line in lines):
        return [], unfound, stray
    group = puzzle.group(Role.CUT)
    rivals = [line for line in stray if line.closed and line.group == group]
    if not rivals:
        return [], unfound, stray
    marker, placement = puzzle.marker, puzzle.marker.placements[index]
    piece = marker.prepared(placement)
    box, loose = boxes(rivals), puzzle.loose
    for word, guess in _pose_guesses(placement):
        outline, _ = tidy(posed(piece.cut_line, guess), closed=True)
        least, most = outline.min(axis=0), outline.max(axis=0)
        alike = np.abs(box[:, 2:] - box[:, :2] - (most - least)).max(axis=1) <= puzzle.loose.limit
        shifts = box[:, :2] - least
        for rival in sorted(np.flatnonzero(alike).tolist(), key=lambda one: float(np.hypot(*shifts[one]))):
            shift = shifts[rival]
            if not lies_on(Line(outline + shift, closed=True), rivals[rival], loose):
                continue
            moved = replace(guess, x=guess.x + float(shift[0]), y=guess.y + float(shift[1]))
            there = [
                Line(*tidy(points, closed=closed), puzzle.group(role) or "", role, index)
                for role, points, closed in placed_lines(piece, moved)
            ]
            along = match(there, stray, loose)
            gone = set(along.found_for.values())
            stray = [line for number, line in enumerate(stray) if number not in gone]
            unfound = _without(unfound, index, [there[one] for one in along.found_for])
            what = f"it is drawn {word}{_by(shift, word)}{_at_place_of(puzzle, index, moved)}"
            return [stop(name_of(marker, index), what)], unfound, stray
    return [], unfound, stray


def _without(unfound: list[Line], index: int, explained: list[Line]) -> list[Line]:
    """Unfound lines less those of a placement that are explained, role by role."""
    spare: dict[Role | None, int] = defaultdict(int)
    for line in explained:
        spare[line.role] += 1
    rest = []
    for line in unfound:
        if line.placement == index and spare[line.role] > 0:
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


def _lettering(
    puzzle: Puzzle, index: int, lines: list[Line], unfound: list[Line], stray: list[Line]
) -> tuple[list[Finding], list[Line], list[Line]]:
    """Explain missing lettering by lettering that is mirrored or upside down in its place."""
    still = {id(line) for line in unfound}
    letters = [line for line in lines if line.role is Role.LABEL and id(line) in still]
    if not letters:
        return [], unfound, stray
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
        fits = match(guesses, stray, puzzle.within)
        if 5 * len(fits.found_for) >= 4 * len(letters):
            gone = set(fits.found_for.values())
            known = {id(letters[one]) for one in fits.found_for}
            finding = stop(name_of(puzzle.marker, index), f"its lettering is drawn {word}")
            rest = [line for number, line in enumerate(stray) if number not in gone]
            return [finding], [line for line in unfound if id(line) not in known], rest
    return [], unfound, stray


def _moved_lines(
    puzzle: Puzzle, unfound: list[Line], stray: list[Line]
) -> tuple[list[Finding], list[Line], list[Line]]:
    """Single lines that are there, but off their place."""
    findings: list[Finding] = []
    rest: list[Line] = []
    free = dict(enumerate(stray))
    box = boxes(stray)
    for line in unfound:
        least, most = line.points.min(axis=0), line.points.max(axis=0)
        shifts = box[:, :2] - least
        alike = np.abs(box[:, 2:] - box[:, :2] - (most - least)).max(axis=1) <= puzzle.loose.limit
        apart = np.hypot(*shifts.T)
        for other in sorted(np.flatnonzero(alike & (apart < 100.0)).tolist(), key=apart.__getitem__):
            same = other in free and free[other].group == line.group
            if same and lies_on(replace(line, points=line.points + shifts[other]), free[other], puzzle.loose):
                del free[other]
                by = shift_words(float(shifts[other, 0]), float(shifts[other, 1]))
                findings.append(stop(owner_of(puzzle.marker, line), f"a {line_word(line)} is moved by {by}"))
                break
        else:
            rest.append(line)
    return findings, rest, list(free.values())


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


def _doubled(puzzle: Puzzle) -> list[Finding]:
    return [stop(owner_of(puzzle.marker, line), f"its {line_word(line)} is drawn twice") for line in puzzle.doubled]


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
