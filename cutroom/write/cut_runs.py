"""A cutter's runs, looked at many at a time before they are written."""

from collections.abc import Iterator, Sequence
from functools import cache

import numpy as np

from cutroom.model.toolpath import Toolpath

NumberedRun = tuple[tuple[float, ...], bool]
"""x and y of all points of a run by turns, and whether there are arcs in it."""


def numbered_runs(
    paths: Sequence[Toolpath], unit: float, places: int, *, down_from: float | None = None
) -> Iterator[NumberedRun]:
    """The numbers of each run, in the unit of a file.

    Args:
        paths: The runs.
        unit: mm to one of the file's units.
        places: Decimal places to which points are rounded.
        down_from: Where the file's y is 0 and runs down (of its units); None where it runs up, from the machine's 0.
    """
    if not paths:
        return
    points = np.concatenate([path.points for path in paths]) / unit
    if down_from is not None:
        points = points * (1.0, -1.0) + (0.0, down_from)
    numbers = (np.round(points, places) + 0.0).ravel().tolist()
    bends = np.concatenate([path.bulges for path in paths]) != 0
    counts = [len(path.bulges) for path in paths]
    bent = set(np.repeat(np.arange(len(paths)), counts)[bends].tolist())
    start = 0
    for index, path in enumerate(paths):
        end = start + 2 * len(path.points)
        yield tuple(numbers[start:end]), index in bent
        start = end


@cache
def repeated(form: str, times: int) -> str:
    """A form for so many points; the same lengths come again and again."""
    return form * times
