"""What tells the scale of a sheet: the test square of a full-size one, the bar of a smaller one."""

import numpy as np

from cutroom.model.plot import Role, Stroke
from cutroom.plot.words import written
from cutroom.units import Unit

SQUARE = 100.0
"""Side of the test square (mm)."""
_LONGEST = 110.0


def scale_mark(scale: float, unit: Unit, height: float) -> list[Stroke]:
    """The test square of a sheet at full size; else a bar that says what a length on the sheet stands for.

    Args:
        scale: 4 for a quarter of full size.
        unit: The unit people see.
        height: Height of the capitals (mm).

    Returns:
        Strokes from (0, 0) upwards.
    """
    if scale == 1:
        corners = np.array([(0, 0), (SQUARE, 0), (SQUARE, SQUARE), (0, SQUARE)])
        middle = SQUARE / 2
        return [
            Stroke(Role.SHEET, corners, closed=True),
            *written("10 cm", 8.0, (middle, middle), share=0.5),
            *written("measure both ways before cutting", 3.0, (middle, middle - 10.0), share=0.5),
        ]
    inches = unit is Unit.INCH
    one, word = (25.4, "in") if inches else (10.0, "cm")
    many = next(count for count in (50, 40, 20, 10, 8, 4, 2, 1) if count * one / scale <= _LONGEST or count == 1)
    step = one / scale
    strokes = [Stroke(Role.SHEET, np.array([(0.0, 0.0), (many * step, 0.0)]))]
    every = next(
        count for count in (1, 2, 4, 5, 10, 20) if (count * step >= 4 * height and many % count == 0) or count == 20
    )
    for tick in range(many + 1):
        labelled = tick % every == 0 or tick == many
        strokes.append(
            Stroke(Role.SHEET, np.array([(tick * step, 0.0), (tick * step, height * (1 if labelled else 0.5))]))
        )
        if labelled:
            text = f"{tick} {word}" if tick == many else f"{tick}"
            strokes += written(text, height, (tick * step, 1.5 * height), share=0.5)
    return [*strokes, *written(f"scale 1:{scale:g} - not for cutting", height, (0.0, -2.0 * height))]
