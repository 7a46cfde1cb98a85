"""What a machine drew held against what a file says: strokes lost, drawn twice, or not of the file at all."""

import io
import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from cutroom.standin.machine import Drawn, Kind, Machine, Tools
from cutroom.standin.motion import Motion

Key = tuple[int, int, tuple[tuple[float, float], ...]]
_PLACES = 4
_ON_THE_WAY = 1e-3
"""mm by which the way over a place may be longer than the straight one."""


@dataclass(frozen=True, slots=True)
class Difference:
    """How a drawing differs from its file.

    Attributes:
        lost: Strokes of the file that were not drawn whole.
        twice: Strokes drawn whole more than once (each time more counts).
        broken: Strokes that were begun and not ended.
        strange: Strokes that the file has not.
    """

    lost: tuple[Key, ...]
    twice: tuple[Key, ...]
    broken: tuple[Key, ...]
    strange: tuple[Key, ...]

    @property
    def none(self) -> bool:
        """The drawing is the file's, stroke by stroke, each once."""
        return not (self.lost or self.twice or self.broken or self.strange)

    def __str__(self) -> str:
        if self.none:
            return "all strokes drawn, each once and in its place"
        counted = (
            (len(self.lost), "lost"),
            (len(self.twice), "drawn twice"),
            (len(self.broken), "begun and not ended"),
            (len(self.strange), "that the file has not"),
        )
        return "strokes: " + ", ".join(f"{count} {what}" for count, what in counted if count)


def key(run: Drawn) -> Key:
    """Frame, pen and places of a run, so that equal runs are equal."""
    return run.frame, run.pen, tuple((round(x, _PLACES), round(y, _PLACES)) for x, y in run.points)


def drawn_by(data: bytes, *, language: str = "hpgl", tools: Tools = ()) -> tuple[Drawn, ...]:
    """What a machine in perfect order draws of a file."""
    perfect = Motion(1e9, 1e9, 1e12, 1e9, 0, 0, 0)
    machine = Machine(Kind(perfect, memory=1 << 40, language=language, answers=False, tools=tools))
    stream = io.BytesIO(data)
    now = 0.0
    while block := stream.read(1 << 16):
        machine.take(block, now)
        now += 1e6
        machine.advance(now)
    return tuple(machine.drawn)


def compare(drawn: Iterable[Drawn], wanted: Iterable[Drawn], *, besides: Iterable[Drawn] = ()) -> Difference:
    """Hold runs against those that were wanted.

    Args:
        drawn: What was drawn.
        wanted: What should have been, each once.
        besides: What may have been drawn too, such as registration crosses; their frames count for nothing.
    """
    want = Counter(key(run) for run in wanted)
    allowed = {key(run)[1:] for run in besides}
    beginnings: dict[Key, set[tuple[float, float]]] = {}
    for frame, pen, points in want:
        for count in range(1, len(points)):
            beginnings.setdefault((frame, pen, points[:count]), set()).add(points[count])
    got: Counter[Key] = Counter()
    broken: list[Key] = []
    strange: list[Key] = []
    for run in drawn:
        one = key(run)
        if one in want:
            got[one] += 1
        elif one in beginnings or _begins(one, beginnings):
            broken.append(one)
        elif one[1:] not in allowed:
            strange.append(one)
    lost = tuple((want - got).elements())
    twice = tuple((got - want).elements())
    return Difference(lost, twice, tuple(broken), tuple(strange))


def _begins(one: Key, beginnings: Mapping[Key, set[tuple[float, float]]]) -> bool:
    """A run that breaks off within a move: all but its last place begin a stroke, and that lies on the way."""
    frame, pen, points = one
    if len(points) < 2:
        return False
    start, end = points[-2:]
    return any(
        math.dist(start, end) + math.dist(end, to) - math.dist(start, to) < _ON_THE_WAY
        for to in beginnings.get((frame, pen, points[:-1]), ())
    )
