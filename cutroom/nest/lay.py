"""Laying one order of items: each at the best free spot, also in the holes between those already laid."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from cutroom.geometry.kernels.spots import best_spot, free_edges
from cutroom.model.marker import on_grid
from cutroom.nest.grid import UNITS, units_down, units_up
from cutroom.nest.problem import Laid, Pose
from cutroom.nest.stock import Reals, Stock, Variant, Wholes

ROOM = 1024
"""Edges of a border that there is room for at first."""


@dataclass(frozen=True, slots=True)
class Style:
    """What makes a spot good: the least of a sum.

    Attributes:
        reach: Weight of the far end of the item; the near end has 1 less this.
        lift: Weight of its lower edge's height, in shares of the length.
    """

    reach: float = 0.5
    lift: float = 0.01


@dataclass(frozen=True, slots=True)
class Recipe:
    """All that decides a layout.

    Attributes:
        order: The items that are not locked, in the order in which they are laid.
        poses: For each item, the poses it may take.
        style: What makes a spot good.
    """

    order: tuple[int, ...]
    poses: tuple[tuple[Pose, ...], ...]
    style: Style


@dataclass(frozen=True, slots=True, eq=False)
class _Free:
    """The border of where a variant may stand, and how many of the pieces laid it knows of."""

    window: Reals
    edges: Reals
    count: int
    seen: int


def lay(
    stock: Stock,
    recipe: Recipe,
    limit: float,
    *,
    stop: Callable[[], bool] = lambda: False,
) -> tuple[Laid, ...] | None:
    """Lay items one after another beside all that lies already.

    Args:
        stock: Shapes and no-fit polygons.
        recipe: What to lay and how.
        limit: Greatest length (mm).
        stop: Asked before each item; the answer True gives up.

    Returns:
        The items where they lie; None when they do not fit within the limit, or on `stop`.
    """
    base = len(stock.lying)
    laid = np.vstack([stock.lying, np.zeros((len(recipe.order), 4), dtype=np.int64)])
    placed = list(stock.problem.locked)
    free: dict[int, _Free] = {}
    for place, item in enumerate(recipe.order):
        if stop():
            return None
        best = _best_pose(stock, recipe, item, limit, free, laid, base + place)
        if best is None:
            return None
        _, pose, variant, x, y = best
        laid[base + place] = variant.form, variant.sign, x, y
        placed.append(Laid(item, pose, on_grid(x / UNITS), on_grid(y / UNITS)))
    return tuple(placed)


def settle(
    stock: Stock,
    placed: tuple[Laid, ...],
    poses: tuple[tuple[Pose, ...], ...],
    *,
    stop: Callable[[], bool] = lambda: False,
) -> tuple[Laid, ...]:
    """Take up each item of a layout in turn, nearest the start first, and lay it again at its best spot.

    Args:
        stock: Shapes and no-fit polygons.
        placed: A sound layout.
        poses: For each item, the poses it may take.
        stop: Asked before each item; the answer True keeps what has been reached.

    Returns:
        A layout in which no item ends further from the start than before.
    """
    ways = [stock.way(one.item, one.pose) for one in placed]
    rows = [
        (way.form, way.sign, round(one.x * UNITS), round(one.y * UNITS)) for way, one in zip(ways, placed, strict=True)
    ]
    locked = {laid.item for laid in stock.problem.locked}
    lying = stock.lying[: len(stock.fixtures)]
    items, order = list(placed), sorted(range(len(placed)), key=lambda n: (placed[n].x + ways[n].box[0], n))
    ends = [one.x + way.box[2] for way, one in zip(ways, placed, strict=True)]
    recipe = Recipe(tuple(order), poses, Style())
    for place in (place for place in order if items[place].item not in locked):
        if stop():
            break
        others = np.vstack([lying, np.array(rows[:place] + rows[place + 1 :], dtype=np.int64).reshape(-1, 4)])
        best = _best_pose(stock, recipe, items[place].item, ends[place], {}, others, len(others))
        if best is not None:
            _, pose, variant, x, y = best
            rows[place] = variant.form, variant.sign, x, y
            items[place] = Laid(items[place].item, pose, on_grid(x / UNITS), on_grid(y / UNITS))
            ends[place] = items[place].x + variant.box[2]
    return tuple(items)


def _best_pose(
    stock: Stock, recipe: Recipe, item: int, limit: float, free: dict[int, _Free], laid: Wholes, count: int
) -> tuple[float, Pose, Variant, int, int] | None:
    spot = np.zeros(2, dtype=np.int64)
    weights = np.array([1.0, recipe.style.lift])
    best: tuple[float, Pose, Variant, int, int] | None = None
    for pose, variant in stock.choices[item]:
        if pose not in recipe.poses[item]:
            continue
        number = variant.number
        free[number] = here = _brought_up_to_date(
            free.get(number) or _all_free(variant, limit), variant, laid, count, stock
        )
        if not best_spot(
            here.edges, here.count, weights, here.window, laid, count, variant.form, variant.sign,
            *stock.book[:7], spot,
        ):  # fmt: skip
            continue
        x, y = int(spot[0]), int(spot[1])
        near, low, far, _ = variant.box
        score = x / UNITS + near + (far - near) * recipe.style.reach + recipe.style.lift * (y / UNITS + low)
        if x / UNITS + far <= limit + 1e-6 and (best is None or score < best[0] - 1e-6):
            best = (score, pose, variant, x, y)
    return best


def _all_free(variant: Variant, limit: float) -> _Free:
    x0, x1 = float(units_up(-variant.box[0])), float(units_down(limit - variant.box[2]))
    y0, y1 = float(variant.low), float(variant.high)
    sides = [[x0, y0, x1, y0], [x1, y0, x1, y1], [x1, y1, x0, y1], [x0, y1, x0, y0]]
    return _Free(np.array([x0, y0, x1, y1]), np.array(sides), 4 if x1 >= x0 else 0, 0)


def _brought_up_to_date(free: _Free, variant: Variant, laid: Wholes, count: int, stock: Stock) -> _Free:
    room = max(ROOM, 2 * free.count)
    while free.seen < count:
        out = np.zeros((room, 4))
        made = free_edges(
            free.edges, free.count, free.seen, laid, count, variant.form, variant.sign, free.window, *stock.book, out
        )
        if made >= 0:
            return _Free(free.window, out, made, count)
        room *= 2
    return free
