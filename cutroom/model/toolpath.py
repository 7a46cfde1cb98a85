"""What a cutter is led along: lines and arcs of what it holds, tool by tool, in machine axes."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutroom.model.arrays import Points, frozen_points
from cutroom.model.plot import Role


@dataclass(frozen=True, slots=True, eq=False)
class Toolpath:
    """One run with the tool down.

    Attributes:
        tool: Name of the tool.
        points: `(n, 2)` read-only, mm: where the pivot, the beam or the pen is led.
        bulges: `(n - 1,)` read-only: how each bit from point to point bends: the tangent of a quarter of its sweep,
            positive when counter-clockwise, 0 for a straight bit (as DXF has it).
        role: What it cuts or draws.
        placement: Index of the placement it belongs to, or None.
    """

    tool: str
    points: Points
    bulges: NDArray[np.float64]
    role: Role
    placement: int | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", frozen_points(self.points))
        if self.bulges.flags.writeable:
            bulges = np.array(self.bulges, dtype=np.float64)
            bulges.flags.writeable = False
            object.__setattr__(self, "bulges", bulges)


@dataclass(frozen=True, slots=True, eq=False)
class Toolpaths:
    """All that a cutter does, in its order.

    Attributes:
        title: What it is called.
        paths: Run after run, all of one tool before the next tool.
    """

    title: str
    paths: tuple[Toolpath, ...]
