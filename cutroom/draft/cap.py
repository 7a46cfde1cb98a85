"""The cap of a set-in sleeve, and the cap height that gives a wanted ease.

A slanted line runs from the cap point to each end of the bicep line. It is divided in quarters, and at each quarter
the cap stands off square to it by an offset: outwards near the cap point, inwards near the underarm. A smooth curve
goes through these points. It is square to the centre line at the cap point, so front and back join without a kink,
and square to the underarm seam at its other end, so they join without one there too once that seam is sewn.
(Common practice, no source; the offsets are a table because schools differ.)
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutroom.draft.lines import left_of, point, unit
from cutroom.errors import DraftError
from cutroom.geometry.curve import smooth_curve
from cutroom.geometry.polyline import length
from cutroom.units import both_units

SOLVED_WITHIN = 0.05
"""A solved cap length is within this much (mm) of the length asked."""
LEAST_HEIGHT, MOST_HEIGHT = 40.0, 260.0
"""Between these (mm) a cap height is looked for."""


@dataclass(frozen=True, slots=True)
class CapShape:
    """All that shapes a cap but its height.

    Attributes:
        half: Half the sleeve's width on the bicep line (mm).
        front: Offsets at the quarters from the cap point down, outwards positive (mm).
        back: The same on the back.
        lean: Sideways step of the underarm seam for each mm down, inwards positive; the cap's end is square to it.
    """

    half: float
    front: tuple[float, float, float]
    back: tuple[float, float, float]
    lean: float


def slant_points(half: float, height: float, offsets: tuple[float, ...]) -> NDArray[np.float64]:
    """Points of one side of a cap, drawn as the front: +x, bicep line on y = 0.

    Args:
        half: Half the width on the bicep line (mm).
        height: Cap height (mm).
        offsets: At the quarters of the slanted line from the cap point down, outwards positive (mm).

    Returns:
        `(5, 2)`, mm, from the underarm to the cap point.
    """
    top, end = point(0.0, height), point(half, 0.0)
    outwards = left_of(unit(top - end)) * -1
    quarters = [top + (end - top) * (place + 1) / 4 + outwards * offset for place, offset in enumerate(offsets)]
    return np.vstack([end, *quarters[::-1], top])


def cap_side(shape: CapShape, height: float, *, back: bool) -> NDArray[np.float64]:
    """One side of the cap as a line, drawn as the front: from the underarm to the cap point.

    Args:
        shape: The cap.
        height: Its height (mm).
        back: Take the back's offsets.

    Returns:
        `(n, 2)`, mm, at x >= 0.
    """
    points = slant_points(shape.half, height, shape.back if back else shape.front)
    return smooth_curve(points, start=point(-1.0, shape.lean), end=point(-1.0, 0.0))


def cap_length(shape: CapShape, height: float) -> float:
    """Length of the whole cap on the seam line (mm)."""
    return length(cap_side(shape, height, back=False)) + length(cap_side(shape, height, back=True))


def solve_height(shape: CapShape, wanted: float, *, most: float = MOST_HEIGHT) -> float:
    """The cap height that gives a cap of the wanted length.

    Args:
        shape: The cap.
        wanted: Length of cap front and back together (mm): armhole and ease.
        most: No cap is made higher than this (mm).

    Returns:
        Cap height (mm); the cap is within 0.05 mm of the length wanted.

    Raises:
        DraftError: No height from 40 mm up to `most` gives it; says what would.
    """
    low, high = LEAST_HEIGHT, min(most, MOST_HEIGHT)
    shortest, longest = cap_length(shape, low), cap_length(shape, high)
    if not shortest <= wanted <= longest:
        wide = wanted > longest
        change = _bicep_change(shape, wanted, high if wide else low)
        raise DraftError(
            f"a cap of {both_units(wanted)} cannot be had on a bicep line of {both_units(2 * shape.half)}: "
            f"cap heights of {both_units(low)} to {both_units(high)} give {both_units(shortest)} to "
            f"{both_units(longest)}",
            f"Ask for {both_units(abs(wanted - (longest if wide else shortest)))} {'less' if wide else 'more'} ease, "
            f"or make the sleeve about {both_units(change)} {'wider' if wide else 'narrower'} on the bicep line",
            place="cap",
        )
    while True:
        height = (low + high) / 2
        missing = wanted - cap_length(shape, height)
        if abs(missing) <= SOLVED_WITHIN:
            return height
        low, high = (height, high) if missing > 0 else (low, height)


def _bicep_change(shape: CapShape, wanted: float, height: float) -> float:
    """About how much the bicep line must change for the cap to come out at this height (mm)."""
    now = cap_length(shape, height)
    step = 1.0
    wider = CapShape(shape.half + step, shape.front, shape.back, shape.lean)
    return abs(2 * step * (wanted - now) / (cap_length(wider, height) - now))
