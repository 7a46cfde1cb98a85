"""Rings freed of the loops that moving a line sideways makes."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

_SIDES = 16
"""Sides that an outermost point is looked for on."""
_WAYS = 4
"""No border has more points than this many times those of its ring, or else the way is lost."""


def free_of_loops(ring: NDArray[np.float64]) -> NDArray[np.float64]:
    """The outline that is left of a ring when the loops that wind the wrong way, and holes, are dropped.

    Args:
        ring: `(n, 2)`, mm, counter-clockwise as a whole; it may cross itself.

    Returns:
        `(m, 2)`, simple, counter-clockwise.

    Raises:
        ValueError: Nothing is left.
    """
    import shapely

    polygon = shapely.Polygon(ring)
    if polygon.is_valid:
        return ring if polygon.exterior.is_ccw else ring[::-1]
    lines = shapely.node(shapely.LineString(np.vstack([ring, ring[:1]])))
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    spots = shapely.get_coordinates(shapely.point_on_surface(faces))
    joined = shapely.coverage_union_all(np.asarray(faces)[_windings(ring, spots) > 0])
    parts = [part for part in shapely.get_parts(joined) if part.geom_type == "Polygon"]
    if not parts:
        msg = "nothing is left of the outline"
        raise ValueError(msg)
    largest = max(parts, key=lambda part: part.area)
    outline: NDArray[np.float64] = np.array(shapely.orient_polygons(largest).exterior.coords)[:-1]
    return outline


def outer_borders(ring: NDArray[np.float64]) -> Iterator[NDArray[np.float64]]:
    """The borders of what a ring winds round, as far as they can be found by walking along it from outside.

    From an outermost point, where nothing lies to the right, a border follows the ring; wherever another part of the
    ring crosses, it goes on along that one: there the windings on both sides are again 0 and 1. So only what is seen
    from outside is looked at, and none of the many loops behind it.

    Args:
        ring: `(n, 2)`, mm, counter-clockwise as a whole, no two neighbours the same.

    Yields:
        `(m, 2)`, counter-clockwise, round one of the parts that the ring falls into. Where parts of the ring touch or
        lie on each other the way may be lost, and there is none, or one that crosses itself.
    """
    seen: set[int] = set()
    for start in _outermost(ring):
        if start not in seen:
            border, passed = _border(ring, start)
            seen.update(passed)
            if border is not None and len(border) > 2:
                yield border


def _outermost(ring: NDArray[np.float64]) -> Iterator[int]:
    """Points than which nothing lies further out to one side, where the ring turns to the left."""
    for turn in np.linspace(0, 2 * np.pi, _SIDES, endpoint=False) + 0.1:
        at = int((ring @ np.array([np.cos(turn), np.sin(turn)])).argmax())
        before, after = ring[at] - ring[at - 1], ring[(at + 1) % len(ring)] - ring[at]
        if before[0] * after[1] > before[1] * after[0]:
            yield at


def _border(ring: NDArray[np.float64], start: int) -> tuple[NDArray[np.float64] | None, list[int]]:
    """The border that passes one of its points, or None when the way back is not found; and the points it passes."""
    count = len(ring)
    steps = np.concatenate([ring[1:], ring[:1]]) - ring
    (x, y), (along, across) = ring.T.copy(), steps.T.copy()
    found, passed = [ring[start]], [start]
    segment, share, last = start, 0.0, start
    crossed: set[tuple[int, int]] = set()
    for _ in range(_WAYS * count):
        bend = along[segment] * across - across[segment] * along
        off_x, off_y = x - x[segment], y - y[segment]
        with np.errstate(divide="ignore", over="ignore", invalid="ignore"):
            here = (off_x * across - off_y * along) / bend
            there = (off_x * across[segment] - off_y * along[segment]) / bend
        here[~((here > share) & (here <= 1) & (there >= 0) & (there < 1))] = np.inf
        here[[last, segment, segment - 1, (segment + 1) % count]] = np.inf
        other = int(here.argmin())
        if here[other] < np.inf:
            if (segment, other) in crossed:  # round and round
                break
            crossed.add((segment, other))
            found.append(ring[segment] + here[other] * steps[segment])
            segment, share, last = other, float(there[other]), segment
            continue
        segment = last = (segment + 1) % count
        share = 0.0
        if segment == start:
            return np.array(found), passed
        found.append(ring[segment])
        passed.append(segment)
    return None, passed


def _windings(ring: NDArray[np.float64], points: NDArray[np.float64]) -> NDArray[np.int64]:
    """How often a ring runs round each of some points `(k, 2)`, counter-clockwise counted up."""
    ends = np.concatenate([ring[1:], ring[:1]])
    rise = np.where(ends[:, 1] == ring[:, 1], 1.0, ends[:, 1] - ring[:, 1])
    lean = (ends[:, 0] - ring[:, 0]) / rise
    around = np.zeros(len(points), dtype=np.int64)
    step = max(1, 2_000_000 // len(ring))
    for start in range(0, len(points), step):
        x, y = points[start : start + step, :1], points[start : start + step, 1:]
        up, down = (ring[:, 1] <= y) & (ends[:, 1] > y), (ring[:, 1] > y) & (ends[:, 1] <= y)
        right = ring[:, 0] + (y - ring[:, 1]) * lean > x
        around[start : start + step] = (up & right).sum(axis=1) - (down & right).sum(axis=1)
    return around
