"""Numbers as text, many at a time."""

import numpy as np
from numpy.typing import NDArray


def as_text(points: NDArray[np.float64], places: int) -> list[tuple[str, str]]:
    """Points as pairs of decimal numbers.

    Args:
        points: `(n, 2)`, any unit.
        places: Decimal places kept, 1 to 6.

    Returns:
        One pair a point, as short as can be, never with an exponent and never `-0`.
    """
    tens = 10**places
    whole = np.rint(np.asarray(points) * tens).astype(np.int64)
    texts = [_short(number, tens, places) for number in whole.ravel().tolist()]
    return list(zip(texts[::2], texts[1::2], strict=True))


def _short(number: int, tens: int, places: int) -> str:
    whole, rest = divmod(abs(number), tens)
    sign = "-" if number < 0 else ""
    return f"{sign}{whole}.{rest:0{places}d}".rstrip("0").rstrip(".") if rest else f"{sign}{whole}"
