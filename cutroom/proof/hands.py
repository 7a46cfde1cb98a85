"""Counts the pieces that a file really draws, by name, size and hand."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Polygon

from cutroom.model.finding import Finding
from cutroom.model.marker import Marker, Placement
from cutroom.proof.expected import posed
from cutroom.proof.lines import Array, Line, Within, tidy
from cutroom.proof.match import match
from cutroom.proof.words import name_of, stop

Key = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class Count:
    """How often a piece of a garment in a size was found.

    Attributes:
        garment: The order's line.
        size: A size or a client's code.
        piece: Name of the piece.
        drawn: Found with the hand it was drawn with.
        flipped: Found with the other hand.
        either: Found, and the same in both hands.
    """

    garment: str
    size: str
    piece: str
    drawn: int
    flipped: int
    either: int


def count_hands(
    marker: Marker, outlines: Mapping[int, Line | None], within: Within
) -> tuple[tuple[Count, ...], tuple[Finding, ...]]:
    """Count the outlines found, and hold the count against the placements.

    The hand of an outline is told from its shape: it fits the piece as drawn by turning and shifting alone, or only
    its mirror image.

    Args:
        marker: The marker.
        outlines: The cut line found by index of the placement; None for one that was proven bit by bit.
        within: How far off a point may be.
    """
    found: dict[Key, list[int]] = defaultdict(lambda: [0, 0, 0])
    wanted: dict[Key, list[int]] = defaultdict(lambda: [0, 0, 0])
    same_hands: dict[Key, bool] = {}
    findings: list[Finding] = []
    loose = Within(2 * within.limit, within.per_coordinate)
    for index, placement in enumerate(marker.placements):
        key = placement.key
        cut_line = marker.prepared(placement).cut_line
        if key not in same_hands:
            mirror = cut_line * (1.0, -1.0)
            same_hands[key] = any(_fits(mirror, cut_line, turn, loose) for turn in (0.0, 180.0, 90.0, 270.0))
        hand = 2 if same_hands[key] else int(placement.flipped)
        wanted[key][hand] += 1
        if index not in outlines:
            continue
        outline = outlines[index]
        told = hand if outline is None else _hand(outline.points, cut_line, placement, loose)
        if told is None:
            findings.append(stop(name_of(marker, index), "its cut line has the shape of neither hand of the piece"))
        else:
            found[key][2 if same_hands[key] else told] += 1
    for key, numbers in wanted.items():
        if found[key] != numbers:
            what = f"the file holds {_numbers(found[key])}; the marker lays {_numbers(numbers)}"
            findings.append(stop(f'"{key[2]}", size {key[1]}, of "{key[0]}"', what))
    return tuple(Count(*key, *found[key]) for key in wanted), tuple(findings)


def _numbers(count: list[int]) -> str:
    return f"{count[0]} as drawn, {count[1]} mirrored and {count[2]} alike in both hands"


def _hand(outline: Array, cut_line: Array, placement: Placement, within: Within) -> int | None:
    """0 when an outline is the piece as drawn, 1 when it is its mirror image, None when it is neither."""
    turns = dict.fromkeys((placement.turn_deg, 0.0, 180.0, 90.0, 270.0))
    for turn in turns:
        for flipped in (False, True):
            shape = cut_line * (1.0, -1.0) if flipped else cut_line
            if _fits(outline, shape, turn, within):
                return int(flipped)
    return None


def _fits(outline: Array, shape: Array, turn_deg: float, within: Within) -> bool:
    """An outline (`(n, 2)`, mm) is a shape turned by an angle and shifted."""
    bare = Placement("", "", "", 1, flipped=False, turn_deg=turn_deg, x=0.0, y=0.0)
    line, closed = tidy(posed(shape, bare), closed=True)
    outline = outline - outline.min(axis=0)
    line = line - line.min(axis=0)
    if np.abs(outline.max(axis=0) - line.max(axis=0)).max() > within.limit or not closed:
        return False
    middles = [np.array(Polygon(points).centroid.coords[0]) for points in (outline, line)]
    if np.abs(middles[0] - middles[1]).max() > 2 * within.reach:
        return False
    one = Line(outline, closed=True)
    return not match([one], [replace(one, points=line)], within).missing
