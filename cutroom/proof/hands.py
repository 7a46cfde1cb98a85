"""Counts the pieces that a file really draws, by name, size and hand."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from cutroom.model.finding import Finding
from cutroom.model.marker import Marker, Placement
from cutroom.proof.expected import posed
from cutroom.proof.lines import Array, Line, Within, tidy
from cutroom.proof.match import lie_on
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
    hands = _hands_of(marker, outlines, loose)
    for index, placement in enumerate(marker.placements):
        key = placement.key
        cut_line = marker.prepared(placement).cut_line
        if key not in same_hands:
            mirror = cut_line * (1.0, -1.0)
            same_hands[key] = any(_fit([mirror], cut_line, turn, loose)[0] for turn in (0.0, 180.0, 90.0, 270.0))
        hand = 2 if same_hands[key] else int(placement.flipped)
        wanted[key][hand] += 1
        if index not in outlines:
            continue
        told = hand if outlines[index] is None else hands[index]
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


def _hands_of(marker: Marker, outlines: Mapping[int, Line | None], within: Within) -> dict[int, int | None]:
    """The hand of each outline that is known, by index of the placement; those of a piece laid alike in one go."""
    alike: dict[tuple[Key, float], list[int]] = defaultdict(list)
    for index, outline in outlines.items():
        if outline is not None:
            alike[marker.placements[index].key, marker.placements[index].turn_deg].append(index)
    told: dict[int, int | None] = {}
    for (_, turn_deg), some in alike.items():
        cut_line = marker.prepared(marker.placements[some[0]]).cut_line
        lines = [line.points for line in (outlines[index] for index in some) if line is not None]
        told.update(zip(some, _hands(lines, cut_line, turn_deg, within), strict=True))
    return told


def _hands(outlines: Sequence[Array], cut_line: Array, turn_deg: float, within: Within) -> list[int | None]:
    """Of each outline 0 when it is the piece as drawn, 1 when it is its mirror image, None when it is neither."""
    told: list[int | None] = [None] * len(outlines)
    for turn in dict.fromkeys((turn_deg, 0.0, 180.0, 90.0, 270.0)):
        for flipped in (False, True):
            shape = cut_line * (1.0, -1.0) if flipped else cut_line
            left = [number for number, hand in enumerate(told) if hand is None]
            fits = _fit([outlines[number] for number in left], shape, turn, within)
            for number in np.array(left, dtype=np.int64)[fits].tolist():
                told[number] = int(flipped)
    return told


def _fit(outlines: Sequence[Array], shape: Array, turn_deg: float, within: Within) -> NDArray[np.bool_]:
    """Which outlines (each `(n, 2)`, mm) are a shape turned by an angle and shifted."""
    bare = Placement("", "", "", 1, flipped=False, turn_deg=turn_deg, x=0.0, y=0.0)
    line, closed = tidy(posed(shape, bare), closed=True)
    line = line - line.min(axis=0)
    fits = np.zeros(len(outlines), dtype=np.bool_)
    if not outlines or not closed:
        return fits
    moved = [outline - outline.min(axis=0) for outline in outlines]
    sizes = np.array([outline.max(axis=0) for outline in moved])
    near = np.flatnonzero(np.abs(sizes - line.max(axis=0)).max(axis=1) <= within.limit)
    middles = shapely.get_coordinates(shapely.centroid([Polygon(moved[number]) for number in near] + [Polygon(line)]))
    near = near[np.abs(middles[:-1] - middles[-1]).max(axis=1) <= 2 * within.reach]
    fits[near] = lie_on([Line(moved[number], closed=True) for number in near], Line(line, closed=True), within)
    return fits
