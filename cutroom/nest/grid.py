"""Whole units: what lengths are turned into wherever the nest judges."""

import numpy as np

from cutroom.model.marker import GRID

UNITS = 10_000
"""Units to the millimetre: coordinates are whole numbers of 0.0001 mm."""
STEP = round(GRID * UNITS)
"""Units to the step of the grid on which shifts lie."""


def steps_up(length: float) -> int:
    """The least multiple of the grid (units) that is not below a length (mm), to 1e-7 mm."""
    return int(np.ceil(length / GRID - 1e-5)) * STEP


def steps_down(length: float) -> int:
    """The greatest multiple of the grid (units) that is not above a length (mm), to 1e-7 mm."""
    return int(np.floor(length / GRID + 1e-5)) * STEP
