"""Numbers as text, many at a time."""

from collections.abc import Iterator, Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

_PLACES = 4  # decimal places to which points are rounded before they are written


def lines_as_text(
    lines: Sequence[NDArray[np.float64]],
    *,
    first: str,
    then: str,
    scale: tuple[float, float] = (1.0, 1.0),
    offset: tuple[float, float] = (0.0, 0.0),
) -> Iterator[str]:
    """The points of many lines, written.

    Args:
        lines: Each `(n, 2)`.
        first: How the first point of a line is written, such as `M %.3f,%.3f`.
        then: How each further point is written.
        scale: Each coordinate is multiplied by this,
        offset: and then this is added.

    Yields:
        One text a line; never an exponent, and never `-0` with at most four decimal places.
    """
    if not lines:
        return
    numbers = (np.round(np.vstack(lines) * scale + offset, _PLACES) + 0.0).ravel().tolist()
    start = 0
    for line in lines:
        end = start + 2 * len(line)
        yield _form(first, then, len(line)) % tuple(numbers[start:end])
        start = end


@cache
def _form(first: str, then: str, points: int) -> str:
    return first + then * (points - 1)


def dot_as_line(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """A lone point twice, so that a round pen leaves a dot there; a line as it is."""
    return points if len(points) > 1 else np.vstack([points, points])


def number_as_text(number: float, places: int = 6) -> str:
    """A number as a decimal, as short as can be."""
    text = f"{round(number, places) + 0.0:.{places}f}"
    return text.rstrip("0").rstrip(".")
