"""Holds words in a machine's own letters against the lettering of the marker: what, where, how large, which way."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from cutroom.model.finding import Finding
from cutroom.model.marker import Marker
from cutroom.model.plot import Role
from cutroom.proof.expected import posed, reading_turn, turned
from cutroom.proof.lines import Lines, Words
from cutroom.proof.words import name_of, spot, stop

LIMIT = 0.1
"""How far both ends and the top of a line of words may be off (mm): place and size are rounded, letter by letter."""
_NEAR = 15.0
"""Words this near (mm) to where a line belongs are told as that line gone wrong."""


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A line of words on a placed piece, and the lines of `expected_lines` that draw it stroke by stroke."""

    placement: int
    words: str
    corners: tuple[tuple[float, float], ...]  # its start, its end, the top of a capital at its start (mm)
    strokes: frozenset[int]


def prove_letters(
    marker: Marker, wanted: Lines, found: Sequence[Words], pen: str | None
) -> tuple[Lines, list[Finding]]:
    """Prove the words that a machine writes in its own letters.

    Args:
        marker: The marker.
        wanted: The lines that must be there where no machine writes, `expected_lines`.
        found: The words, marker coordinates.
        pen: The pen of the lettering, or None when it is left out.

    Returns:
        The lines that must still be there, and what does not agree.
    """
    if not found:
        return wanted, []
    lettered = list(_lettered(marker, wanted))
    starts = np.array([one.corners[0] for one in lettered]).reshape(-1, 2)
    nearest = np.full(len(found), -1, dtype=np.int64)
    if lettered:
        tree = shapely.STRtree(np.asarray(shapely.points(starts)))
        spots = shapely.points(np.array([one.at for one in found]))
        which, near = tree.query_nearest(spots, max_distance=_NEAR, all_matches=False)
        nearest[which] = near
    findings: list[Finding] = []
    written: set[int] = set()
    for one, place in zip(found, nearest.tolist(), strict=True):
        if place < 0:
            where = spot(np.array([one.at]))
            findings.append(stop("lettering", f'the machine writes "{one.words}" at {where}, where none belongs'))
            continue
        line = lettered[place]
        wrong = _wrong(one, line, pen)
        if place in written:
            wrong = f'"{one.words}" is written once more'
        if wrong:
            findings.append(stop(name_of(marker, line.placement), wrong))
        written.add(place)
    rest = np.ones(len(wanted), dtype=np.bool_)
    rest[[stroke for place in written for stroke in lettered[place].strokes]] = False
    return wanted.some(np.flatnonzero(rest)), findings


def _wrong(one: Words, line: _Wanted, pen: str | None) -> str:
    """What is wrong with words that stand where a line belongs."""
    if one.words != line.words:
        return f'the machine writes "{one.words}" where "{line.words}" belongs'
    if one.pen != pen:
        return f'"{one.words}" is written with pen {one.pen}, wanted {pen or "none"}'
    at, end, top = np.array(line.corners)
    moved, longer, taller = np.subtract(one.at, at), np.subtract(one.along, end - at), np.subtract(one.up, top - at)
    if np.hypot(*moved) > LIMIT:
        return f'"{one.words}" stands {np.hypot(*moved):.2f} mm from its place'
    wide, high = (float(np.hypot(*way)) for way in (one.along, one.up))
    if abs(wide - np.hypot(*(end - at))) > LIMIT or abs(high - np.hypot(*(top - at))) > LIMIT:
        size = f"{wide:.2f} mm long in capitals of {high:.2f} mm"
        return f'"{one.words}" is {size}, wanted {np.hypot(*(end - at)):.2f} and {np.hypot(*(top - at)):.2f} mm'
    if np.hypot(*longer) > LIMIT or np.hypot(*taller) > LIMIT:
        turn = np.degrees(np.arctan2(one.along[1], one.along[0]) - np.arctan2(*(end - at)[::-1]))
        return f'"{one.words}" reads {(turn + 180) % 360 - 180:+.1f} degrees out of its way'
    return ""


def _lettered(marker: Marker, wanted: Lines) -> Iterator[_Wanted]:
    """The lines of words of all placed pieces."""
    strokes: dict[int, list[int]] = {}
    labels = np.flatnonzero(wanted.are(Role.LABEL))
    for index, placement in zip(labels.tolist(), wanted.placement[labels].tolist(), strict=True):
        strokes.setdefault(placement, []).append(index)
    for number, placement in enumerate(marker.placements):
        piece = marker.prepared(placement)
        label = piece.label_mirrored if placement.flipped else piece.label
        own = strokes.get(number, [])
        if len(own) != sum(row.strokes for row in label.lines):
            continue  # where its lines stand is not known, so that no machine can write them
        centre = posed(np.array([label.centre]), placement)[0]
        turn = reading_turn(placement.turn_deg + label.turn_deg)
        first = 0
        for words, row in zip(label.words, label.lines, strict=False):
            (x, y), last = row.at, first + row.strokes
            about = turned(np.array([(x, y), (x + row.width, y), (x, y + label.height)]), turn) + centre
            corners = tuple((float(one), float(other)) for one, other in about)
            yield _Wanted(number, words, corners, frozenset(own[first:last]))
            first = last
