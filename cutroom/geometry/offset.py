"""Lines moved sideways, and where two lines meet."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.polyline import unit

CHORD_ERROR = 0.02
"""Greatest distance (mm) of a flattened arc from the true one."""
_MITRE_BELOW = math.radians(12.0)
_MITRE_HALF = math.tan(_MITRE_BELOW / 2)
_BACK = 1e-12  # 1 plus the cosine of a bend: no more than this, and the line doubles back
_NEAR = 8  # segments that are looked at together for where two lines meet
_ROUND = 1 + 2e-12  # a crossing may lie beyond the end of a segment by a rounding error


Crossing = tuple[float, float, NDArray[np.float64]]
"""Place on the first line and on the second as `segment + share`, and the point `(2,)`."""


def offset_line(points: NDArray[np.float64], distance: float) -> NDArray[np.float64]:
    """A line moved to its right: outwards, for an edge of a counter-clockwise outline.

    Outer bends of less than 12 degrees, which are the points of a flattened curve, are joined in a point; sharper
    ones by an arc. Inner bends are trimmed where both sides are long enough, else left as a loop for
    `loops.free_of_loops`.

    Args:
        points: `(n, 2)`, mm, no two neighbours the same.
        distance: mm, 0 or more.

    Returns:
        `(m, 2)`, mm.
    """
    if distance == 0:
        return points.copy()
    steps = np.diff(points, axis=0)
    sizes = np.hypot(steps[:, 0], steps[:, 1])
    normals = np.column_stack([steps[:, 1], -steps[:, 0]]) / sizes[:, None]
    bends = _bends(steps)
    halves = np.tan(bends / 2)
    joined = (bends >= 0) & (bends < _MITRE_BELOW)
    trimmed = (bends < 0) & (-halves * distance < np.minimum(sizes[:-1], sizes[1:]))
    whole = joined | trimmed
    if whole.all():  # the common case, in one go
        middle = _tips(points[1:-1], normals, distance)
        return np.vstack([points[0] + distance * normals[0], middle, points[-1] + distance * normals[-1]])
    moved = [points[0] + distance * normals[0]]
    for i in range(1, len(points) - 1):
        before, after = normals[i - 1], normals[i]
        if whole[i - 1]:
            moved.append(points[i] + distance * (before + after) / (1 + float(before @ after)))
        elif bends[i - 1] > 0:
            moved.extend(_arc(points[i], before, float(bends[i - 1]), distance))
        else:
            # through the corner itself, so that what is to be dropped winds the other way round
            moved.extend([points[i] + distance * before, points[i], points[i] + distance * after])
    moved.append(points[-1] + distance * normals[-1])
    return np.array(moved)


def offset_lines(lines: Sequence[NDArray[np.float64]], distances: Sequence[float]) -> list[NDArray[np.float64]]:
    """Several lines moved to their right, each by its own distance, as `offset_line` moves one.

    All are worked out as one long line; the steps from one line to the next are made harmless and never used. Lines
    with a bend that wants more than a point are moved again by themselves.

    Args:
        lines: `(n, 2)` each, mm, no two neighbours the same.
        distances: mm, 0 or more, one a line.

    Returns:
        `(m, 2)` each, mm.
    """
    counts = np.array([len(line) for line in lines], dtype=np.int64)
    stops: NDArray[np.int64] = counts.cumsum()
    starts = stops - counts
    points, wide = np.concatenate(lines), np.repeat(np.asarray(distances, dtype=np.float64), counts)
    x, y = (points[1:] - points[:-1]).T
    sizes = np.hypot(x, y)
    sizes[stops[:-1] - 1] = 1.0
    cos, sin = x / sizes, y / sizes
    turned = cos[:-1] * sin[1:] - sin[:-1] * cos[1:]
    shares = 1 + (cos[:-1] * cos[1:] + sin[:-1] * sin[1:])
    forwards = shares > _BACK
    shares[~forwards] = 1.0  # a line that doubles back is no point, and moved by itself
    halves = turned / shares  # tangent of half the bend
    whole = np.ones(len(points), dtype=np.bool_)
    inner = wide[1:-1]
    whole[1:-1] = (halves < _MITRE_HALF) & (-halves * inner < np.minimum(sizes[:-1], sizes[1:])) & forwards
    whole[starts] = whole[stops - 1] = True
    moved = points.copy()
    moved[1:-1, 0] += inner * (sin[:-1] + sin[1:]) / shares
    moved[1:-1, 1] -= inner * (cos[:-1] + cos[1:]) / shares
    for ends, at in ((starts, starts), (stops - 1, stops - 2)):
        moved[ends, 0] = points[ends, 0] + wide[ends] * sin[at]
        moved[ends, 1] = points[ends, 1] - wide[ends] * cos[at]
    return [
        moved[start:stop] if fits else offset_line(line, distance)
        for line, distance, start, stop, fits in zip(
            lines,
            distances,
            starts.tolist(),
            stops.tolist(),
            np.logical_and.reduceat(whole, starts).tolist(),
            strict=True,
        )
    ]


def turning(before: NDArray[np.float64], after: NDArray[np.float64]) -> float:
    """Turn from one direction to the next (radians), positive to the left."""
    (x, y), (to_x, to_y) = before.tolist(), after.tolist()
    return math.atan2(x * to_y - y * to_x, x * to_x + y * to_y)


def join(
    first: NDArray[np.float64], second: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]] | None:
    """The end of one line and the start of the next brought together, run on straight or trimmed as it takes.

    Args:
        first: `(n, 2)`, mm.
        second: `(m, 2)`, mm.

    Returns:
        Both lines, the first ending and the second starting in the point they share, and that point; of several
        crossings the one that leaves most of both. None when they do not meet.
    """
    tip = _meet_lines(first[-2], first[-1], second[0], second[1])
    if tip is not None and tip[0] >= 0 and tip[1] <= 1:
        point = tip[2]
        return np.concatenate([first[:-1], point[None]]), np.concatenate([point[None], second[1:]]), point
    reach = _far(first, second)
    one = np.concatenate([first[:-1], (first[-1] + unit(first[-1] - first[-2]) * reach)[None]])
    two = np.concatenate([(second[0] + unit(second[0] - second[1]) * reach)[None], second[1:]])
    found = _outermost(one, two)
    if found is None:
        return None
    on_first, on_second, point = found
    kept_first = one[: math.floor(on_first) + 1] if on_first < len(one) - 1 else one[:-1]
    kept_second = two[math.floor(on_second) + 1 :] if on_second < len(two) - 1 else two[-1:]
    return np.concatenate([kept_first, point[None]]), np.concatenate([point[None], kept_second]), point


def _outermost(first: NDArray[np.float64], second: NDArray[np.float64]) -> Crossing | None:
    """Of all crossings the one that leaves most of both lines; looked for near the ends to be joined, then farther."""
    near = _NEAR
    while True:
        before = max(0, len(first) - 1 - near)
        found = crossings(first[before:], second[: near + 1])
        best = max(found, key=lambda hit: hit[0] - hit[1], default=None)
        if best is not None and before + best[0] - best[1] >= len(first) - 1 - near:  # none farther in leaves as much
            return before + best[0], best[1], best[2]
        if near >= len(first) and near >= len(second):
            return None if best is None else (before + best[0], best[1], best[2])
        near *= _NEAR


def reach(first: NDArray[np.float64], second: NDArray[np.float64]) -> tuple[NDArray[np.float64], ...] | None:
    """The first line up to where it first crosses the second, and the second from there; only the second is run on.

    Args:
        first: `(n, 2)`, mm.
        second: `(m, 2)`, mm; its start is run on straight backwards as far as it takes.

    Returns:
        Both lines, sharing the point; None when the first line does not reach that far.
    """
    start = second[0] + unit(second[0] - second[1]) * _far(first, second)
    longer = np.concatenate([start[None], second[1:]])
    for before in range(0, len(first) - 1, _NEAR):
        found = crossings(first[before : before + _NEAR + 1], longer)
        if found:
            break
    else:
        return None
    on_first, on_second, point = min(found, key=lambda hit: hit[0])
    on_first += before
    return (
        np.concatenate([first[: math.floor(on_first) + 1], point[None]]),
        np.concatenate([point[None], longer[math.floor(on_second) + 1 :]]),
    )


def _far(first: NDArray[np.float64], second: NDArray[np.float64]) -> float:
    """Further (mm) than from anywhere on two lines to anywhere on them."""
    x, y = np.concatenate([first, second]).T
    return 4 * float((x.max() - x.min()) + (y.max() - y.min()) + 1)


def crossings(first: NDArray[np.float64], second: NDArray[np.float64]) -> list[Crossing]:
    """All places where two lines cross: position on the first and on the second as `segment + share`, and the point."""
    step = max(1, 400_000 // len(second))  # in parts, so that long edges do not fill the memory
    return [
        (start + on_first, on_second, point)
        for start in range(0, len(first) - 1, step)
        for on_first, on_second, point in _crossings(first[start : start + step + 1], second)
    ]


def _crossings(first: NDArray[np.float64], second: NDArray[np.float64]) -> list[Crossing]:
    (a_x, a_y), (b_x, b_y) = first[:-1].T[:, :, None], (first[1:] - first[:-1]).T[:, :, None]
    (c_x, c_y), (d_x, d_y) = second[:-1].T, (second[1:] - second[:-1]).T
    bend = b_x * d_y - b_y * d_x
    gap_x, gap_y = c_x - a_x, c_y - a_y
    on_first, on_second = gap_x * d_y - gap_y * d_x, gap_x * b_y - gap_y * b_x  # shares of the bend
    longest = np.abs(bend) * _ROUND
    met = (np.abs(2 * on_first - bend) <= longest) & (np.abs(2 * on_second - bend) <= longest)
    found = []
    for place in np.flatnonzero(met).tolist():
        i, j = divmod(place, met.shape[1])
        if bend[i, j] != 0:
            share, other = float(on_first[i, j] / bend[i, j]), float(on_second[i, j] / bend[i, j])
            found.append((i + share, j + other, first[i] + share * (first[i + 1] - first[i])))
    return found


def without_repeats(points: NDArray[np.float64], within: float = 1e-6, *, closed: bool = False) -> NDArray[np.float64]:
    """Points less those that stand on the one before (mm)."""
    ring = np.concatenate([points, points[:1]]) if closed else points
    steps = ring[1:] - ring[:-1]
    near = np.hypot(steps[:, 0], steps[:, 1]) <= within
    if not near.any():
        return points
    if not (near[1:] & near[:-1]).any():  # each repeat stands alone
        alone = np.append(True, ~near[: len(points) - 1])
        if closed:
            alone[-1] &= not near[-1]
        return np.asarray(points[alone])
    kept = [0]
    places: list[list[float]] = points.tolist()
    for i in range(1, len(places)):
        if math.dist(places[i], places[kept[-1]]) > within:
            kept.append(i)
    if closed and len(kept) > 1 and math.dist(places[kept[-1]], places[0]) <= within:
        kept.pop()
    left: NDArray[np.float64] = np.take(points, kept, axis=0)
    return left


def _bends(steps: NDArray[np.float64]) -> NDArray[np.float64]:
    one, two = steps[:-1], steps[1:]
    return np.asarray(np.arctan2(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0], (one * two).sum(axis=1)))


def _tips(points: NDArray[np.float64], normals: NDArray[np.float64], distance: float) -> NDArray[np.float64]:
    before, after = normals[:-1], normals[1:]
    tips: NDArray[np.float64] = points + distance * (before + after) / (1 + (before * after).sum(axis=1))[:, None]
    return tips


def _arc(
    centre: NDArray[np.float64], normal: NDArray[np.float64], sweep: float, radius: float
) -> list[NDArray[np.float64]]:
    step = 2 * math.acos(max(0.0, 1 - CHORD_ERROR / radius)) if radius > CHORD_ERROR else math.pi / 2
    count = max(1, math.ceil(sweep / step))
    angles = math.atan2(normal[1], normal[0]) + np.linspace(0, sweep, count + 1)
    return list(centre + radius * np.column_stack([np.cos(angles), np.sin(angles)]))


def _meet_lines(
    a: NDArray[np.float64], b: NDArray[np.float64], c: NDArray[np.float64], d: NDArray[np.float64]
) -> tuple[float, float, NDArray[np.float64]] | None:
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = a.tolist(), b.tolist(), c.tolist(), d.tolist()
    x, y, to_x, to_y = bx - ax, by - ay, dx - cx, dy - cy
    bend = x * to_y - y * to_x
    if abs(bend) < 1e-9 * math.hypot(x, y) * math.hypot(to_x, to_y):
        return None
    share = ((cx - ax) * to_y - (cy - ay) * to_x) / bend
    other = ((cx - ax) * y - (cy - ay) * x) / bend
    return share, other, np.array([ax + share * x, ay + share * y])
