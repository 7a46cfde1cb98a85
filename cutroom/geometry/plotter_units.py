"""Plotter units: what plotters and cutters that take HP-GL count in, 0.025 mm (1/1016 in) each.

Each place is rounded once, as an absolute position, halves away from zero: this is the one place where that is done.
"""

import numpy as np
from numpy.typing import NDArray

PLU_TO_MM = 40
"""Plotter units to the millimetre (HP-GL)."""


def in_plotter_units(lengths: NDArray[np.float64]) -> NDArray[np.int64]:
    """Lengths (mm) in plotter units, halves rounded away from zero."""
    return rounded(np.asarray(lengths) * PLU_TO_MM)


def rounded(plu: NDArray[np.float64]) -> NDArray[np.int64]:
    """Plotter units made whole, halves away from zero."""
    return (np.sign(plu) * np.floor(np.abs(plu) + 0.5)).astype(np.int64)


def without_repeats(line: NDArray[np.int64]) -> NDArray[np.int64]:
    """A line (`(n, 2)`) without points that repeat the one before; a dot stays a dot."""
    kept = np.ones(len(line), dtype=np.bool_)
    kept[1:] = (line[1:] != line[:-1]).any(axis=1)
    return line[kept]
