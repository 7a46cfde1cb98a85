"""Layouts judged by shapely, which shares no code with the nest: all laid, in poses allowed, inside, apart."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely import STRtree
from shapely.affinity import rotate, scale, translate
from shapely.geometry import Polygon, box

from cutroom.nest.problem import Laid, Problem

MOST = 1e-6
"""Share of a piece's area that may lie in another or beside the strip."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the judge found.

    Attributes:
        length: Greatest x of any outline, in the outlines' own unit.
        overlap: Largest overlap of two pieces, as a share of the smaller one's area.
        outside: Largest part beside the strip or the stated length, as a share of the piece's area.
    """

    length: float
    overlap: float
    outside: float

    @property
    def sound(self) -> bool:
        """Nothing lies in anything else, nor beside the strip."""
        return self.overlap <= MOST and self.outside <= MOST

    def __str__(self) -> str:
        return "sound" if self.sound else f"UNSOUND: overlap {self.overlap:.1e}, outside {self.outside:.1e}"


def judge(outlines: Sequence[Polygon], width: float, length: float) -> Verdict:
    """Hold outlines, as they lie, against a strip and each other."""
    strip = box(0.0, 0.0, length, width)
    outside = max(one.difference(strip).area / one.area for one in outlines)
    tree, overlap = STRtree(outlines), 0.0
    for one, two in zip(*tree.query(outlines, predicate="intersects"), strict=True):
        if one < two:
            shared = shapely.intersection(outlines[one], outlines[two]).area
            overlap = max(overlap, shared / min(outlines[one].area, outlines[two].area))
    return Verdict(max(one.bounds[2] for one in outlines), overlap, outside)


def lies(points: Sequence[Sequence[float]], turn_deg: float, x: float, y: float, *, flipped: bool = False) -> Polygon:
    """An outline where it lies, turned and shifted by shapely."""
    outline = Polygon(points)
    if flipped:
        outline = scale(outline, 1.0, -1.0, origin=(0.0, 0.0))
    return translate(rotate(outline, turn_deg, origin=(0.0, 0.0)), x, y)


def judge_layout(problem: Problem, placed: Sequence[Laid], length: float) -> Verdict:
    """Hold a layout of the nest against its problem."""
    if Counter(laid.item for laid in placed) != Counter(range(len(problem.items))):
        return Verdict(length, 1.0, 1.0)
    if any(laid.pose not in problem.items[laid.item].poses for laid in placed):
        return Verdict(length, 1.0, 1.0)
    outlines = [
        lies(problem.items[laid.item].outline.tolist(), laid.pose.turn_deg, laid.x, laid.y, flipped=laid.pose.flipped)
        for laid in placed
    ]
    return judge(outlines, problem.width, length)
