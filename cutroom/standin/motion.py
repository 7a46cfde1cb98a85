"""How fast a machine moves: it speeds up and slows down, and takes corners as slowly as it must.

A plain machine of its own, not the estimate of times: the two are held against each other.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Motion:
    """What a machine can do.

    Attributes:
        draw: Greatest speed with the tool down (mm/s).
        travel: Greatest speed with the tool up (mm/s).
        acceleration: How fast it speeds up and slows down (mm/s²).
        corner: Change of speed at a corner that it takes without slowing down (mm/s).
        lift_s: Time to lift or lower the tool (s).
        change_s: Time to change the pen (s).
        advance_s: Time to move the paper on by a frame (s).
    """

    draw: float = 400.0
    travel: float = 800.0
    acceleration: float = 8000.0
    corner: float = 30.0
    lift_s: float = 0.05
    change_s: float = 1.0
    advance_s: float = 3.0


@dataclass(frozen=True, slots=True)
class Vector:
    """A straight move.

    Attributes:
        start: Where from (mm).
        end: Where to (mm).
        down: With the tool down.
        pen: Number of the pen.
    """

    start: tuple[float, float]
    end: tuple[float, float]
    down: bool
    pen: int = 1

    @property
    def length(self) -> float:
        """Its length (mm)."""
        return math.dist(self.start, self.end)


def speed_after(vector: Vector, ahead: Sequence[Vector], motion: Motion) -> float:
    """Greatest speed at the end of a vector from which all that is known to come can still be taken (mm/s).

    Args:
        vector: The one that is to be moved.
        ahead: Those known to follow without a stop, in order; the machine must be able to stand at the end of the last.
        motion: The machine.
    """
    row = [vector, *ahead]
    speed = 0.0
    for index in range(len(row) - 1, 0, -1):
        able = math.sqrt(speed * speed + 2 * motion.acceleration * row[index].length)
        speed = min(able, _through(row[index - 1], row[index], motion))
    return speed


def _through(first: Vector, second: Vector, motion: Motion) -> float:
    """Speed at which the corner between two vectors may be taken (mm/s)."""
    top = min(_top(first, motion), _top(second, motion))
    if first.length == 0 or second.length == 0:
        return top
    ax, ay = first.end[0] - first.start[0], first.end[1] - first.start[1]
    bx, by = second.end[0] - second.start[0], second.end[1] - second.start[1]
    turn = abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by))
    change = 2 * math.sin(turn / 2)
    return top if change * top <= motion.corner else motion.corner / change


def _top(vector: Vector, motion: Motion) -> float:
    return motion.draw if vector.down else motion.travel


def seconds(vector: Vector, before: float, after: float, motion: Motion) -> tuple[float, float]:
    """Time a vector takes, and the speed at its end that could be reached.

    Args:
        vector: The move.
        before: Speed at its start (mm/s).
        after: Speed wanted at its end (mm/s).
        motion: The machine.
    """
    length, rate = vector.length, motion.acceleration
    if length == 0:
        return 0.0, before
    after = min(after, math.sqrt(before * before + 2 * rate * length))
    peak = min(_top(vector, motion), math.sqrt((before * before + after * after) / 2 + rate * length))
    peak = max(peak, before, after)
    rising, falling = (peak * peak - before * before) / (2 * rate), (peak * peak - after * after) / (2 * rate)
    level = max(0.0, length - rising - falling)
    return (peak - before) / rate + (peak - after) / rate + level / peak, after
