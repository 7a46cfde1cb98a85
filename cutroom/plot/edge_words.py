"""What is said of an edge, and the spots where it could be lettered."""

from collections.abc import Iterator
from math import atan2, degrees

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.lettering import text_width
from cutroom.geometry.polyline import length, point_at
from cutroom.model.piece import Edge, EdgeKind
from cutroom.plot.compose import reading_turn
from cutroom.plot.words import Spot
from cutroom.units import Unit, format_length, in_unit

_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)
_FARTHEST = 40
_LET_OUT = 0.5  # mm; less is not worth a word
_STEEP = 72.0  # degrees: steeper words all read upwards, so that the sheet is turned one way only

Line = NDArray[np.float64]


def edge_words(edge: Edge, unit: Unit, *, drafted: float | None = None, opened: bool = False) -> str:
    """Name, length on the seam line, and what stands beyond it: `side 15 11/16 in, +1/2`.

    Args:
        edge: The edge, mm.
        unit: The unit people see.
        drafted: Its length before it was let out (mm), which is what walking the seams speaks of.
        opened: The edge was a fold and the piece has been opened out.
    """
    plotted = length(edge.points)
    named = f"{edge.name} {format_length(plotted if drafted is None else drafted, unit)}"
    if drafted is not None and abs(plotted - drafted) > _LET_OUT:
        named += f" (let out: {plain_length(plotted, unit, exact=False)})"
    if edge.kind is EdgeKind.FOLD:
        return f"{named}, opened out here" if opened else f"{named}, on the fold"
    if edge.allowance == 0:
        return f"{named}, no allowance"
    beyond = plain_length(edge.allowance, unit)
    if edge.kind is EdgeKind.HEM:
        turns = f", again at {', '.join(plain_length(at, unit) for at in edge.turns)}" if edge.turns else ""
        return f"{named}, +{beyond} turned up{turns}"
    return f"{named}, +{beyond}"


def plain_length(size: float, unit: Unit, *, exact: bool = True) -> str:
    """A length (mm) without its unit; exact for what was asked for, which is not rounded to a sixteenth."""
    sixteenths = in_unit(size, unit) * 16
    if exact and (unit is not Unit.INCH or abs(sixteenths - round(sixteenths)) > 0.01):
        return f"{in_unit(size, unit):.3f}".rstrip("0").rstrip(".")
    return format_length(size, unit).removesuffix(f" {unit}")


def spots_along(line: Line, words: str, height: float, *, beyond: float = 0.0, led: bool = True) -> Iterator[Spot]:
    """Where words about a line could stand: in its allowance, along it inside, along it outside, else led to it.

    Args:
        line: `(n, 2)`, counter-clockwise round the piece (mm of the sheet).
        words: The words.
        height: Height of the capitals (mm).
        beyond: How far (mm of the sheet) its allowance reaches.
        led: Words that find no room beside the line may be led to it from outside.
    """
    width, whole = text_width(words, height), length(line)
    if beyond > 2 * height:
        yield from (_beside(line, whole * share, width, beyond / 2) for share in _SHARES)
    if width < whole:
        for way, start in ((-1.0, 0.0), (1.0, beyond)):
            for step in (1.0, 1.5, 2.2):
                for share in _SHARES:
                    yield _beside(line, whole * share, width, way * (start + step * height))
    for far in range(2, _FARTHEST if led else 0):
        for share in _SHARES:
            at, along = point_at(line, whole * share)
            for slant in (0.0, 1.0, -1.0):
                out: Line = np.array([along[1], -along[0]]) + slant * along
                yield _led(at, out / np.hypot(*out), beyond + far * 0.8 * height, width)


def _led(at: Line, way: Line, far: float, width: float) -> Spot:
    """A spot for level words some way off, that starts or ends near its leader."""
    middle = at + way * far
    lean = 0.5 * width * float(np.clip(way[0] * 1.5, -1.0, 1.0))
    return Spot((float(middle[0] + lean), float(middle[1])), leader=(float(at[0]), float(at[1])))


def _beside(line: Line, distance: float, width: float, away: float) -> Spot:
    """A spot along a line: turned as the chord under the words, so that they follow a curve."""
    start, end = point_at(line, distance - width / 2)[0], point_at(line, distance + width / 2)[0]
    chord = end - start if np.hypot(*(end - start)) > 0 else point_at(line, distance)[1]
    along = chord / np.hypot(*chord)
    centre = point_at(line, distance)[0] + away * np.array([along[1], -along[0]])
    turn = reading_turn(degrees(atan2(along[1], along[0])))
    return Spot((float(centre[0]), float(centre[1])), turn + 180 if turn < -_STEEP else turn)
