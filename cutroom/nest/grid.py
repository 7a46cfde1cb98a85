"""Whole units: what lengths are turned into wherever the nest judges."""

import numpy as np

from cutroom.model.marker import GRID

UNITS = round(1 / GRID)
"""Units to the millimetre: coordinates and shifts are whole numbers of 0.0001 mm."""


def units_up(length: float) -> int:
    """The least whole number of units that is not below a length (mm), to 1e-7 mm."""
    return int(np.ceil(length * UNITS - 1e-3))


def units_down(length: float) -> int:
    """The greatest whole number of units that is not above a length (mm), to 1e-7 mm."""
    return int(np.floor(length * UNITS + 1e-3))


def units_between(least: float, most: float) -> tuple[int, int]:
    """The least and the greatest whole number of units between two lengths (mm); the least above, where there is none.

    Where the lengths are alike, as for a piece as wide as the cloth, the nearest will do, up to half a unit outside.
    """
    low, high = units_up(least), units_down(most)
    if low > high and least <= most + 1e-7:
        low = high = round(least * UNITS)
    return low, high
