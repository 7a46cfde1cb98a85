"""Darts: open at a seam, with a cap; or pointed at both ends, wholly inside a piece.

An open dart has legs of equal length. Between their ends the outline rises to the dart cap: its apex lies on the
fold of the pressed dart, where the mirror image of the seam beyond the dart meets it, so that the folded dart ends
level with that seam. Drill holes stand 13 mm short of a point and 3 mm inside a stitch line (common practice, no
source).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutroom.draft.lines import left_of, meeting, named, point, reflected, unit
from cutroom.model.piece import DrillHole, NamedLine

SET_BACK = 13.0
"""A dart's drill hole is this far (mm) short of its point."""
INSIDE = 3.0
"""A drill hole beside a stitch line is this far (mm) inside the dart."""


@dataclass(frozen=True, slots=True, eq=False)
class OpenDart:
    """A dart whose mouth is at the edge of the piece.

    Attributes:
        name: `bust dart`.
        point: `(2,)`, mm.
        first: `(2,)` end of the leg met first, counter-clockwise round the piece.
        second: `(2,)` end of the other leg.
        apex: `(2,)` apex of the dart cap.
    """

    name: str
    point: NDArray[np.float64]
    first: NDArray[np.float64]
    second: NDArray[np.float64]
    apex: NDArray[np.float64]

    @property
    def cap(self) -> NDArray[np.float64]:
        """`(3, 2)`: the outline across the mouth."""
        return np.vstack([self.first, self.apex, self.second])

    @property
    def legs(self) -> tuple[NamedLine, NamedLine]:
        """Both stitch lines, from the mouth to the point."""
        name = f"{self.name} leg"
        return named(name, self.first, self.point), named(name, self.second, self.point)

    @property
    def drill(self) -> DrillHole:
        """The hole short of its point."""
        middle = (self.first + self.second) / 2
        place = self.point + unit(middle - self.point) * SET_BACK
        return DrillHole(self.name, (float(place[0]), float(place[1])))


def open_dart(
    name: str,
    tip: NDArray[np.float64],
    first: NDArray[np.float64],
    second: NDArray[np.float64],
    beyond: NDArray[np.float64],
    *,
    towards_first: bool,
) -> OpenDart:
    """An open dart with its cap.

    Args:
        name: What it is called.
        tip: `(2,)` its point, mm.
        first: `(2,)` end of the first leg, counter-clockwise round the piece.
        second: `(2,)` end of the second leg, as far from the point.
        beyond: `(2,)` direction in which the seam goes away from the leg end it is pressed towards.
        towards_first: It is pressed towards the side of the first leg; else of the second.

    Returns:
        The dart.
    """
    fold = (first + second) / 2 - tip
    end = first if towards_first else second
    apex = meeting(end, reflected(beyond, end - tip), tip, fold)
    return OpenDart(name, tip, first, second, apex)


def waist_dart(
    name: str, axis: float, top: float, bottom: float, width: float
) -> tuple[tuple[NamedLine, ...], tuple[DrillHole, ...]]:
    """A dart pointed at both ends, upright, widest on y = 0.

    Args:
        name: What it is called.
        axis: x of its fold (mm).
        top: y of its upper point (mm), above 0.
        bottom: y of its lower point (mm), below 0.
        width: Its width on y = 0 (mm).

    Returns:
        Both stitch lines, and four drill holes: short of the points and inside the stitch lines.
    """
    upper, lower = point(axis, top), point(axis, bottom)
    left, right = point(axis - width / 2, 0.0), point(axis + width / 2, 0.0)
    lines = named(f"{name} leg", upper, left, lower), named(f"{name} leg", upper, right, lower)
    places = (
        (axis, top - SET_BACK),
        (axis - width / 2 + INSIDE, 0.0),
        (axis, bottom + SET_BACK),
        (axis + width / 2 - INSIDE, 0.0),
    )
    return lines, tuple(DrillHole(name, place) for place in places)


def dart_mouth(
    tip: NDArray[np.float64], middle: NDArray[np.float64], width: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Ends of two equal legs of a dart: its mouth has this width (mm) and its fold passes through `middle`.

    Returns:
        The end to the left as seen from the mouth towards the point, and the one to the right.
    """
    across = left_of(unit(tip - middle)) * (width / 2)
    return middle + across, middle - across
