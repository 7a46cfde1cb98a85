"""Laying one order of items: each at the best free spot, also in the holes between those already laid."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from cutroom.geometry.kernels.spots import best_spot, free_edges
from cutroom.nest.problem import Laid, Pose
from cutroom.nest.stock import STEP, Reals, Stock, Variant, steps_down, steps_up
from cutroom.nest.working import UNITS


@dataclass(frozen=True, slots=True)
class Style:
    """What makes a spot good: the least of a sum.

    Attributes:
        reach: Weight of the far end of the item, 0 to 1; the near end has the rest.
        lift: Weight of its height above the lower edge, in shares of the length.
        centre: Height is taken at the item's middle rather than at its lower edge.
    """

    reach: float = 0.5
    lift: float = 0.01
    centre: bool = False


class _Free:
    """The border of where a variant may stand, kept up to date with the pieces laid."""

    def __init__(self, variant: Variant, limit: float) -> None:
        left, right = steps_up(-variant.box[0]), steps_down(limit - variant.box[2])
        low, high = float(variant.low), float(variant.high)
        self.window = np.array([left, low, right, high], dtype=np.float64)
        x0, y0, x1, y1 = self.window
        self.edges: Reals = np.zeros((64, 4))
        self.edges[:4] = [[x0, y0, x1, y0], [x0, y1, x1, y1], [x0, y0, x0, y1], [x1, y0, x1, y1]]
        self.count = 4 if right >= left else 0
        self.seen = 0


def lay(
    stock: Stock,
    order: Sequence[int],
    poses: Sequence[Sequence[Pose]],
    style: Style,
    limit: float,
    *,
    stop: Callable[[], bool] = lambda: False,
) -> tuple[Laid, ...] | None:
    """Lay items one after another.

    Args:
        stock: Shapes and no-fit polygons.
        order: All items, in the order in which they are laid.
        poses: For each item, the poses it may take now.
        style: What makes a spot good.
        limit: Greatest length (mm).
        stop: Asked before each item; the answer True gives up.

    Returns:
        The items where they lie, in the problem's order; None when they do not fit within the limit, or on `stop`.
    """
    free: dict[int, _Free] = {}
    laid = np.zeros((len(order), 4), dtype=np.int64)
    placed: list[Laid | None] = [None] * len(order)
    spot = np.zeros(2, dtype=np.int64)
    weights = np.array([1.0, style.lift])
    for count, item in enumerate(order):
        if stop():
            return None
        best: tuple[float, Pose, Variant, int, int] | None = None
        for pose, variant in stock.choices[item]:
            if pose not in poses[item]:
                continue
            if variant.number not in free:
                free[variant.number] = _Free(variant, limit)
            here = free[variant.number]
            _bring_up_to_date(here, variant, laid, count, stock)
            if not best_spot(
                here.edges, here.count, weights, here.window, STEP, laid, count, variant.form, variant.sign,
                *stock.book[:7], spot,
            ):  # fmt: skip
                continue
            score = _score(variant, style, int(spot[0]), int(spot[1]))
            if best is None or score < best[0] - 1e-6:
                best = (score, pose, variant, int(spot[0]), int(spot[1]))
        if best is None:
            return None
        _, pose, variant, x, y = best
        laid[count] = variant.form, variant.sign, x, y
        placed[item] = Laid(item, pose, round(x / UNITS, 2), round(y / UNITS, 2))
    return tuple(one for one in placed if one is not None)


def _score(variant: Variant, style: Style, x: int, y: int) -> float:
    near, low, far, high = variant.box
    height = y / UNITS + ((low + high) / 2 if style.centre else low)
    return x / UNITS + near + (far - near) * style.reach + style.lift * height


def _bring_up_to_date(free: _Free, variant: Variant, laid: np.ndarray, count: int, stock: Stock) -> None:
    room = len(free.edges)
    while free.seen < count:
        out = np.zeros((room, 4))
        made = free_edges(
            free.edges, free.count, free.seen, laid, count, variant.form, variant.sign, free.window, *stock.book, out
        )
        if made < 0:
            room *= 2
            continue
        free.edges, free.count, free.seen = out, made, count
