"""Lettering on a sheet: words set down as strokes, and the room that is left for more of them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.geometry.affine import pose_points
from cutroom.geometry.lettering import text_strokes, text_width
from cutroom.model.plot import Role, Stroke

LEADING = 1.75
"""Distance of baselines in capital heights."""
_BESIDE, _ABOVE = 0.4, 0.4
"""Free strip round a line of words, in capital heights: tails and accents reach into it."""

Line = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a line of words could stand.

    Attributes:
        centre: Middle of the words (mm).
        turn_deg: Turn of the baseline (degrees).
        leader: Where a line from the words leads to (mm), or None.
    """

    centre: tuple[float, float]
    turn_deg: float = 0.0
    leader: tuple[float, float] | None = None


@dataclass(slots=True)
class Taken:
    """What stands on the sheet already.

    Attributes:
        lines: Lines that words must not touch, but that a leader may cross.
        words: Boxes of words and their leaders, which nothing may touch.
    """

    lines: list[shapely.Geometry] = field(default_factory=list)
    words: list[shapely.Geometry] = field(default_factory=list)

    def is_free(self, box: shapely.Geometry, leader: shapely.Geometry | None = None) -> bool:
        """Whether words may stand there and their leader may run there."""
        if shapely.intersects(np.array(self.lines + self.words, dtype=object), box).any():
            return False
        return leader is None or not shapely.intersects(np.array(self.words, dtype=object), leader).any()

    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y of everything (mm)."""
        left, low, right, high = shapely.total_bounds(np.array(self.lines + self.words, dtype=object)).tolist()
        return left, low, right, high


def written(
    words: str,
    height: float,
    at: tuple[float, float],
    *,
    turn_deg: float = 0.0,
    share: float = 0.0,
    role: Role = Role.SHEET,
) -> list[Stroke]:
    """A line of words.

    Args:
        words: The words.
        height: Height of the capitals (mm).
        at: Where its baseline has this share of its length behind it (mm).
        turn_deg: Turn of the baseline (degrees).
        share: 0 starts there, 0.5 is centred, 1 ends there.
        role: What the strokes are.

    Raises:
        ValueError: A letter cannot be drawn; the message names it.
    """
    back = np.array([text_width(words, height) * share, 0.0])
    return [Stroke(role, pose_points(line - back, turn_deg=turn_deg, shift=at)) for line in text_strokes(words, height)]


def set_down(words: str, height: float, spots: Iterable[Spot], taken: Taken, *, role: Role) -> list[Stroke] | None:
    """Words at the first spot that is free, with their leader, and that spot taken; None when there is none.

    Args:
        words: The words.
        height: Height of the capitals (mm).
        spots: Where they could stand, the best first.
        taken: What stands there already; the words are added.
        role: What the strokes are.
    """
    width = text_width(words, height)
    half = np.array([width / 2 + _BESIDE * height, (0.5 + _ABOVE) * height])
    corners = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * half
    for spot in spots:
        box = shapely.Polygon(pose_points(corners, turn_deg=spot.turn_deg, shift=spot.centre))
        leader = None if spot.leader is None else _leader(spot.leader, box)
        if not taken.is_free(box, leader):
            continue
        taken.words += [box] if leader is None else [box, leader]
        low = pose_points(np.array([(0.0, -height / 2)]), turn_deg=spot.turn_deg, shift=spot.centre)[0]
        strokes = written(words, height, (low[0], low[1]), turn_deg=spot.turn_deg, share=0.5, role=role)
        if leader is not None:
            strokes.append(Stroke(role, shapely.get_coordinates(leader)))
        return strokes
    return None


def _leader(at: tuple[float, float], box: shapely.Polygon) -> shapely.Geometry:
    """From the point meant to the nearest point of the words' box, stopping short of it."""
    nearest, point = shapely.shortest_line(box, shapely.Point(at)).coords
    return shapely.LineString([point, (nearest[0] * 0.98 + point[0] * 0.02, nearest[1] * 0.98 + point[1] * 0.02)])


def wrapped(words: str, height: float, width: float) -> list[str]:
    """Words broken into lines no wider than a width (mm); a single word may be wider."""
    lines = [""]
    for word in words.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and text_width(longer, height) > width:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def dashed(points: Line, pattern: Sequence[float], *, closed: bool = False) -> list[Line]:
    """A line cut into dashes.

    Args:
        points: `(n, 2)`, mm.
        pattern: Lengths (mm) of dash, gap, dash, gap ...; empty for a whole line.
        closed: The line's last point is joined to its first.

    Returns:
        Lines, the first starting where the line does.
    """
    ring = np.vstack([points, points[:1]]) if closed else points
    if not pattern:
        return [ring]
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
    whole = float(along[-1])
    if whole == 0:
        return [ring]
    repeats = int(whole / sum(pattern)) + 1
    ends = np.concatenate([[0.0], np.cumsum(np.tile(pattern, repeats))])
    dashes = []
    for start, end in zip(ends[0:-1:2].tolist(), ends[1::2].tolist(), strict=True):
        if start >= whole:
            break
        marks = np.array([start, min(end, whole)])
        inside = (along > marks[0]) & (along < marks[1])
        steps = np.sort(np.concatenate([marks, along[inside]]))
        dashes.append(np.column_stack([np.interp(steps, along, ring[:, axis]) for axis in (0, 1)]))
    return dashes
