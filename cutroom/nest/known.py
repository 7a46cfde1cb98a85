"""What is known of shapes: working shapes and no-fit regions, kept for the next problem in which the same are laid.

This loads no kernel, so that whoever lays the same pieces more than once may keep it between.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]
Found = tuple[Wholes, Wholes, Reals]
"""A no-fit region: its convex parts end to end, where each starts, and its border; see `geometry.kernels.nofit`."""


@dataclass(frozen=True, slots=True, eq=False)
class Form:
    """A working shape, grown by half its gap, as convex parts in units: where each part starts; their areas.

    `close` is what counts between forms that share cut lines with one another by the name of `shares`.
    """

    parts: Wholes
    starts: Wholes
    sizes: Reals
    shares: str = ""
    close: "Form | None" = None


class Pair(NamedTuple):
    """Of which a no-fit polygon is: the form that lies, the one that moves, and 1, or -1 where one is half turned."""

    fixed: Form
    moving: Form
    sign: int


class Known:
    """What has been worked out of shapes, for the next problem in which the same ones are laid."""

    def __init__(self) -> None:
        self.simple: dict[tuple[object, ...], Reals] = {}
        self.forms: dict[tuple[object, ...], Form] = {}
        self.regions: dict[Pair, Found] = {}
