"""Finds for each line that is wanted the one line found that lies on it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.proof.lines import Array, Ints, Line, Many, Within, boxes, gather, looped


@dataclass(frozen=True, slots=True, eq=False)
class Matched:
    """Which found line lies on which wanted line.

    Attributes:
        found_for: Index of the found line by index of the wanted line.
        missing: Wanted lines that none lies on.
        left: Found lines that were not claimed.
        deviation: Largest deviation of a claimed line (mm).
    """

    found_for: dict[int, int]
    missing: tuple[int, ...]
    left: tuple[int, ...]
    deviation: float


def match(wanted: Sequence[Line], found: Sequence[Line], within: Within) -> Matched:
    """Claim found lines for wanted ones, each once; closed lines may start anywhere and any line may run either way.

    Two lines are the same when every vertex and the middle of every bit of the one lies on the other, and the
    other way round; the number of points need not be the same.
    """
    pairs = _close_pairs(wanted, found, within)
    apart = _pair_deviations(wanted, found, pairs, within)
    good = apart <= within.limit + 1e-9
    return _claim(len(wanted), len(found), pairs[good], apart[good])


def lie_on(ones: Sequence[Line], other: Line, within: Within) -> NDArray[np.bool_]:
    """Which lines are the same as another, within the limit; their boxes are known to agree."""
    pairs = np.column_stack((np.arange(len(ones)), np.zeros(len(ones), dtype=np.int64)))
    on: NDArray[np.bool_] = _pair_deviations(ones, [other], pairs, within) <= within.limit + 1e-9
    return on


def lies_on(one: Line, other: Line, within: Within) -> bool:
    """The two lines are the same, within the limit."""
    return _deviation(one, other, within) <= within.limit + 1e-9


def _close_pairs(wanted: Sequence[Line], found: Sequence[Line], within: Within) -> Ints:
    """`(m, 2)`: indices of lines of one group whose boxes agree."""
    if not wanted or not found:
        return np.zeros((0, 2), dtype=np.int64)
    of_wanted, of_found = boxes(wanted), boxes(found)
    tree = shapely.STRtree(np.asarray(shapely.points((of_found[:, :2] + of_found[:, 2:]) / 2)))
    centres = shapely.points((of_wanted[:, :2] + of_wanted[:, 2:]) / 2)
    first, second = tree.query(centres, predicate="dwithin", distance=2 * within.reach + 1e-9)
    names = {name: code for code, name in enumerate({line.group for line in (*wanted, *found)})}
    wanted_group = np.array([names[line.group] for line in wanted])
    found_group = np.array([names[line.group] for line in found])
    agree = np.abs(of_wanted[first] - of_found[second]).max(axis=1) <= within.limit + 1e-9
    agree &= wanted_group[first] == found_group[second]
    pairs: Ints = np.column_stack((first, second))[agree].astype(np.int64)
    return pairs


def _pair_deviations(wanted: Sequence[Line], found: Sequence[Line], pairs: Ints, within: Within) -> Array:
    """Largest deviation (mm) of each pair: point by point where that will do, else by the way round."""
    apart = np.full(len(pairs), np.inf)
    if not len(pairs):
        return apart
    ours, theirs = gather(wanted), gather(found)
    count = ours.counts[pairs[:, 0]]
    alike = count == theirs.counts[pairs[:, 1]]
    closed = ours.closed[pairs[:, 0]]
    alike &= closed == theirs.closed[pairs[:, 1]]
    kind = 2 * count + closed
    order = np.flatnonzero(alike)
    order = order[np.argsort(kind[order], kind="stable")]
    for those in np.split(order, np.flatnonzero(np.diff(kind[order])) + 1):
        for part in np.array_split(those, max(1, int(count[those].sum()) // 200_000)):
            if len(part):
                number, is_closed = int(count[part[0]]), bool(closed[part[0]])
                one, other = _stack(ours, pairs[part, 0], number), _stack(theirs, pairs[part, 1], number)
                apart[part] = _by_points(one, other, within, closed=is_closed)
    for index in np.flatnonzero(apart > within.limit + 1e-9):
        apart[index] = _deviation(wanted[pairs[index, 0]], found[pairs[index, 1]], within)
    return apart


def _stack(many: Many, which: Ints, number: int) -> Array:
    picked: Array = many.points[many.starts[which][:, None] + np.arange(number)]
    return picked


def _size(offsets: Array, within: Within) -> Array:
    size: Array = np.abs(offsets).max(axis=-1) if within.per_coordinate else np.hypot(offsets[..., 0], offsets[..., 1])
    return size


def _by_points(one: Array, other: Array, within: Within, *, closed: bool) -> Array:
    """Deviation (mm) of `(k, n, 2)` lines point by point, either way round; closed ones from the nearest start."""
    number = one.shape[1]
    order = np.arange(number)
    if closed:
        start = _size(other - one[:, :1], within).argmin(axis=1)[:, None]
        ways = ((start + order) % number, (start - order) % number)
    else:
        ways = (order[None, :], order[None, ::-1])
    rows = np.arange(len(one))[:, None]
    least: Array = np.min([_size(one - other[rows, way], within).max(axis=1) for way in ways], axis=0)
    return least


def _deviation(one: Line, other: Line, within: Within) -> float:
    """Largest deviation (mm) between two lines, or infinity when their lengths tell that one runs twice."""
    first, second = looped(one), looped(other)
    lengths = [float(np.hypot(*np.diff(points, axis=0).T).sum()) for points in (first, second)]
    slack = 2 * within.reach * max(len(first), len(second))
    if abs(lengths[0] - lengths[1]) > min(slack, 0.25 * max(lengths) + 2 * within.reach):
        return float("inf")
    if one.closed == other.closed and min(len(first), len(second)) > 1 and min(lengths) > 0:
        at_most = _side_by_side(first, _begun_alike(first, second, closed=one.closed), closed=one.closed)
        if at_most <= within.limit:
            return at_most
    return max(_farthest(first, second, within), _farthest(second, first, within))


def _begun_alike(first: Array, second: Array, *, closed: bool) -> Array:
    """The second line run the way of the first; a closed one begun at the corner nearest to the first's start."""
    if not closed:
        ends = [np.hypot(*(first[0] - second[end])) + np.hypot(*(first[-1] - second[-1 - end])) for end in (0, -1)]
        return second if ends[0] <= ends[1] else second[::-1]
    areas = [float((ring[:-1, 0] * ring[1:, 1] - ring[1:, 0] * ring[:-1, 1]).sum()) for ring in (first, second)]
    ring = second[:-1] if (areas[0] > 0) == (areas[1] > 0) else second[-1:0:-1]
    ring = np.roll(ring, -int(np.hypot(*(ring - first[0]).T).argmin()), axis=0)
    return np.vstack((ring, ring[:1]))


def _side_by_side(first: Array, second: Array, *, closed: bool) -> float:
    """No less than the largest deviation (mm) of two lines that run side by side, whose places are paired by length."""
    ahead = 0.0
    if closed:  # how far along the second the first begins
        off, steps = first[0] - second[0], np.diff(second, axis=0)
        before = steps[-1] if float(off @ steps[0]) < 0 else steps[0]
        ahead = float(off @ before) / max(float(np.hypot(*before)), 1e-12)
    return max(_off_beside(first, second, ahead, closed=closed), _off_beside(second, first, -ahead, closed=closed))


def _off_beside(line: Array, other: Array, ahead: float, *, closed: bool) -> float:
    """Largest distance (mm) of corners and middles of a line from the bits of another that lie as far along it."""
    steps = np.diff(other, axis=0)
    own, along = _lengths(np.diff(line, axis=0)), _lengths(steps)
    tests = np.concatenate((line, (line[:-1] + line[1:]) / 2))
    places = np.concatenate((own, (own[:-1] + own[1:]) / 2)) * (along[-1] / own[-1]) + ahead
    if closed:
        places %= along[-1]
    nearest = np.full(len(tests), np.inf)
    bit = np.searchsorted(along, places, side="right") - 1
    for step in (-1, 0, 1):
        which = (bit + step) % len(steps) if closed else np.clip(bit + step, 0, len(steps) - 1)
        offset, run = tests - other[which], steps[which]
        share = np.clip((offset * run).sum(axis=1) / np.maximum((run * run).sum(axis=1), 1e-300), 0.0, 1.0)
        off_line = offset - share[:, None] * run
        nearest = np.minimum(nearest, np.hypot(off_line[:, 0], off_line[:, 1]))
    return float(nearest.max())


def _lengths(steps: Array) -> Array:
    """How far along a line each of its corners lies (mm)."""
    along: Array = np.concatenate(([0.0], np.cumsum(np.hypot(steps[:, 0], steps[:, 1]))))
    return along


def _farthest(points: Array, line: Array, within: Within) -> float:
    """Largest deviation (mm) of vertices and middles of one line from another."""
    tests = np.vstack((points, (points[:-1] + points[1:]) / 2))
    target = shapely.linestrings(line) if len(line) > 1 else shapely.points(line[0])
    shapely.prepare(target)
    apart: Array = np.asarray(shapely.distance(shapely.points(tests), target))
    if within.per_coordinate and len(line) > 1:
        unsure = (apart > within.limit) & (apart <= within.reach + 1e-9)
        apart[unsure] = [_coordinate_distance(point, line) for point in tests[unsure]]
    return float(apart.max())


def _coordinate_distance(point: Array, line: Array) -> float:
    """Least over a line (`(n, 2)`, mm) of the larger of the offsets in x and in y."""
    offset, run = line[:-1] - point, np.diff(line, axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        at = [
            -offset[:, 0] / run[:, 0],
            -offset[:, 1] / run[:, 1],
            (offset[:, 1] - offset[:, 0]) / (run[:, 0] - run[:, 1]),
            -(offset[:, 0] + offset[:, 1]) / (run[:, 0] + run[:, 1]),
            np.zeros(len(run)),
            np.ones(len(run)),
        ]
    steps = np.clip(np.nan_to_num(np.array(at), nan=0.0, posinf=1.0, neginf=0.0), 0.0, 1.0)
    return float(np.abs(offset + steps[:, :, None] * run).max(axis=2).min())


def _claim(wanted: int, found: int, pairs: Ints, apart: Array) -> Matched:
    """Give each wanted line one found line, the nearest first, making room where a claim can move."""
    only = (np.bincount(pairs[:, 0], minlength=wanted) == 1)[pairs[:, 0]]
    only &= (np.bincount(pairs[:, 1], minlength=found) == 1)[pairs[:, 1]]  # these two have no other
    owner: dict[int, int] = dict(zip(pairs[only, 1].tolist(), pairs[only, 0].tolist(), strict=True))
    choices: dict[int, list[tuple[int, float]]] = {}
    rest = np.flatnonzero(~only)
    for index in rest[np.argsort(apart[rest], kind="stable")]:
        choices.setdefault(int(pairs[index, 0]), []).append((int(pairs[index, 1]), float(apart[index])))

    def settle(one: int, tried: set[int]) -> bool:
        for other, _ in choices[one]:
            if other not in tried:
                tried.add(other)
                if other not in owner or settle(owner[other], tried):
                    owner[other] = one
                    return True
        return False

    for one in choices:
        settle(one, set())
    found_for = {one: other for other, one in owner.items()}
    gaps = [gap for one, some in choices.items() for other, gap in some if found_for.get(one) == other]
    deviation = max([float(apart[only].max(initial=0.0)), *gaps])
    missing = tuple(one for one in range(wanted) if one not in found_for)
    left = tuple(other for other in range(found) if other not in owner)
    return Matched(found_for, missing, left, deviation)


def on_bits(points: Array, bits: Array, reach: float) -> Ints:
    """For each point (`(n, 2)`, mm) the index of the nearest straight bit (`(m, 2, 2)`, mm), or -1 beyond reach."""
    nearest = np.full(len(points), -1, dtype=np.int64)
    if len(bits) and len(points):
        tree = shapely.STRtree(np.asarray(shapely.linestrings(bits)))
        which, bit = tree.query_nearest(shapely.points(points), max_distance=reach + 1e-9, all_matches=False)
        nearest[which] = bit
    return nearest
