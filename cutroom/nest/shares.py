"""What part of a cut across the strip a chord uses up, reckoned in ways that know what cannot lie beside it.

Each row of a `Shares` is a *dual feasible function* `f` of the chord as a part `t` of the room, 0 to 1: where parts add
up to no more than 1, so do their `f`. All of them rise, or stay level, with `t`. After Fekete and Schepers, *New
classes of fast lower bounds for bin packing problems*, Mathematical Programming 91 (2001), from memory; each is proven
below, and the tests try them out.

- *Area*: `f(t) = t`.
- *Steps* `u_k`: `j / k` from above `j / (k + 1)` on, for j = 1 to k. Parts with steps `j_i` are together above
  `(sum j_i) / (k + 1)`, so `sum j_i` is a whole number below `k + 1`. `u_1` says that two parts above one half cannot
  lie side by side.
- *Ends* `U_e`, 0 < e <= 1/2: 1 above `1 - e`, `t` between, 0 below `e`. Beside a part above `1 - e` all others are
  below `e`.
- *Counts* `p_e`, 0 < e < 1/2, with `n = floor(1 / e)`: `1 - floor((1 - t) / e) / n` above one half, `1 / n` from `e` to
  one half, 0 below. Beside a part `t` above one half no more than `floor((1 - t) / e)` parts from `e` on have room, and
  no second one above one half; without one there is room for `n` parts from `e` on.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor

import numpy as np

from cutroom.nest.chords import Reals, above

SLACK = 1e-6
"""By how much (mm) a chord must pass a height to count as above it: what fits but for its last digits does fit."""
MOST_STEPS = 6
"""Greatest k of the steps."""
LEAST_SHARE = 0.12
"""Least e: with many pieces side by side nothing is gained on the area."""
EVEN = 16
"""How many e are tried that no piece proposes, evenly spread."""
MOST_PROPOSED = 24
"""How many e the pieces may propose, twice."""

Row = tuple[list[tuple[float, float]], tuple[float, float] | None]
"""Heights (parts of the room) and the steps there; and the band in which the part counts as it is."""


@dataclass(frozen=True, slots=True, eq=False)
class Shares:
    """Several dual feasible functions.

    Attributes:
        heights: `(m,)`, mm, rising.
        steps: `(f, m)`, by how much each function steps up above each height.
        slopes: `(f, m)`, 1/mm, by how much each grows with the chord, from each height on.
    """

    heights: Reals
    steps: Reals
    slopes: Reals

    def along(self, runs: Reals) -> Reals:
        """Each function of the chords, summed up along the strip; `(f,)`, mm."""
        length, area = above(runs, self.heights)
        total: Reals = self.steps @ length + self.slopes @ area
        return total

    def of(self, chords: Reals) -> Reals:
        """Each function of each chord (mm); `(f, n)`."""
        high = (chords > self.heights[:, None]).astype(np.float64)
        found: Reals = self.steps @ high + self.slopes @ (high * chords)
        return found


def shares(room: float, peaks: Sequence[float]) -> Shares:
    """The area first, then steps, ends and counts.

    Args:
        room: What a cut has room for (mm).
        peaks: Chords (mm) of the pieces, of which those are chosen at which functions step up.
    """
    rows: list[Row] = [([], (0.0, np.inf))]
    tallest = max(peaks) / room
    rows += [
        ([(j / (k + 1), 1 / k) for j in range(1, k + 1)], None)
        for k in range(1, MOST_STEPS + 1)
        if k == 1 or tallest > 1 / (k + 1)
    ]
    for part in _proposed(room, peaks) if tallest > LEAST_SHARE else ():
        if 1 - part < tallest:
            rows.append(([(1 - part, 1.0)], (part, 1 - part)))
        if part < 1 / 2:
            rows.append((_counts(part), None))
    heights = sorted(
        {height for steps, band in rows for height in (*(at for at, _ in steps), *(band or ()))} - {np.inf}
    )
    found = {height: place for place, height in enumerate(heights)}
    up, slopes = np.zeros((len(rows), len(heights))), np.zeros((len(rows), len(heights)))
    for number, (steps, band) in enumerate(rows):
        for at, step in steps:
            up[number, found[at]] += step
        for at, slope in zip(band or (), (1 / room, -1 / room), strict=False):
            if at < np.inf:
                slopes[number, found[at]] += slope
    return Shares(np.array(heights) * room + SLACK, up, slopes)


def _counts(part: float) -> list[tuple[float, float]]:
    count, beside = floor(1 / part), ceil(1 / (2 * part)) - 1  # from e on in all; beside one just above a half
    middle = 1 - (beside + 1) / count
    return [(part, 1 / count), (0.5, middle), *((1 - j * part, 1 / count) for j in range(1, beside + 1))]


def _proposed(room: float, peaks: Sequence[float]) -> list[float]:
    """Parts at which the functions may step up: a little below some chord, or what is left beside it."""
    little = 4 * SLACK / room
    tall = sorted({round(peak / room, 9) for peak in peaks if peak > LEAST_SHARE * room}, reverse=True)
    if len(tall) > MOST_PROPOSED:
        tall = [tall[round(place)] for place in np.linspace(0, len(tall) - 1, MOST_PROPOSED)]
    parts = {part - little for part in tall} | {1 - part + little for part in tall}
    parts |= {float(part) for part in np.linspace(LEAST_SHARE, 0.5, EVEN)}
    return sorted(part for part in parts if LEAST_SHARE <= part <= 0.5)
