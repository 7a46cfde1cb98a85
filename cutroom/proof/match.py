"""Finds for each line that is wanted the one line found that lies on it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from cutroom.proof.lines import Array, Flags, Ints, Line, Lines, Within, gather, looped, tree_of


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
    wanted, found = gather(wanted), gather(found)
    pairs = _close_pairs(wanted, found, within)
    apart = _pair_deviations(wanted, found, pairs, within)
    good = apart <= within.limit + 1e-9
    return _claim(len(wanted), len(found), pairs[good], apart[good])


def lie_on(ones: Sequence[Line], other: Line, within: Within) -> Flags:
    """Which lines are the same as another, within the limit; their boxes are known to agree."""
    pairs = np.column_stack((np.arange(len(ones)), np.zeros(len(ones), dtype=np.int64)))
    on: Flags = _pair_deviations(gather(ones), gather([other]), pairs, within) <= within.limit + 1e-9
    return on


def _close_pairs(wanted: Lines, found: Lines, within: Within) -> Ints:
    """`(m, 2)`: indices of lines of one group whose boxes agree."""
    if not len(wanted) or not len(found):
        return np.zeros((0, 2), dtype=np.int64)
    far = within.limit + 1e-9
    names = {name: code for code, name in enumerate({group for group, _ in (*wanted.looks, *found.looks)})}
    groups = [np.array([names[group] for group, _ in lines.looks])[lines.look] for lines in (wanted, found)]
    first, second = _near_pairs(wanted.boxes[:, :2], found.boxes[:, :2], far)
    keep = groups[0][first] == groups[1][second]
    first, second = first[keep], second[keep]
    for side in range(4):
        keep = np.abs(wanted.boxes[first, side] - found.boxes[second, side]) <= far
        first, second = first[keep], second[keep]
    order = np.lexsort((second, first))
    return np.column_stack((first[order], second[order]))


def _near_pairs(ones: Array, others: Array, far: float) -> tuple[Ints, Ints]:
    """Indices of all pairs of points (`(n, 2)` and `(m, 2)`, mm) no farther apart than this in x and y, and some more.

    Points are told apart by squares a little wider than that; a pair lies in one, or in two that touch.
    """
    low = np.maximum(ones.min(axis=0), others.min(axis=0)) - far
    high = np.minimum(ones.max(axis=0), others.max(axis=0)) + far
    side = max(1.01 * far, float((high - low).max()) / 1e9)  # whole numbers have an end
    rows = int(max(high[1] - low[1], 0.0) / side) + 3
    inside = [np.flatnonzero(((points >= low) & (points <= high)).all(axis=1)) for points in (ones, others)]
    squares = [np.floor((points[some] - low) / side) for points, some in zip((ones, others), inside, strict=True)]
    keys = [(square[:, 0] * rows + square[:, 1]).astype(np.int64) for square in squares]
    mine, theirs = (np.argsort(some, kind="stable") for some in keys)  # looked up in order: many times as fast
    asked, known = keys[0][mine], keys[1][theirs]
    mine, theirs = inside[0][mine], inside[1][theirs]
    pairs = []
    for column in (-rows, 0, rows):
        begin = np.searchsorted(known, asked + column - 1, side="left")
        counts = np.searchsorted(known, asked + column + 1, side="right") - begin
        nth = np.arange(int(counts.sum())) - np.repeat(np.cumsum(counts) - counts, counts)
        pairs.append((np.repeat(mine, counts), theirs[np.repeat(begin, counts) + nth]))
    first, second = (np.concatenate(some) for some in zip(*pairs, strict=True))
    return first, second


def _pair_deviations(ours: Lines, theirs: Lines, pairs: Ints, within: Within) -> Array:
    """Largest deviation (mm) of each pair: point by point where that will do, else by the way round."""
    apart = np.full(len(pairs), np.inf)
    if not len(pairs):
        return apart
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
    rest = np.flatnonzero(apart > within.limit + 1e-9)
    for part in np.array_split(rest, max(1, int(count[rest].sum()) // 200_000)):
        apart[part] = _by_length(ours, theirs, pairs[part], within)
    for index in rest[np.isnan(apart[rest])]:
        first, second = looped(ours[pairs[index, 0]]), looped(theirs[pairs[index, 1]])
        apart[index] = max(_farthest(first, second, within), _farthest(second, first, within))
    return apart


def _stack(many: Lines, which: Ints, number: int) -> Array:
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


@dataclass(frozen=True, slots=True, eq=False)
class _Laid:
    """Several lines end to end, closed ones with their first point again at the end.

    Attributes:
        points: `(total, 2)`, mm.
        starts: `(k,)`: where each begins.
        counts: `(k,)`: how many points it has.
        line: `(total,)`: which line each point is of.
        along: `(total,)`: how far along its line it is (mm).
        closed: `(k,)`.
    """

    points: Array
    starts: Ints
    counts: Ints
    line: Ints
    along: Array
    closed: Flags

    @property
    def lengths(self) -> Array:
        """Length of each (mm)."""
        lengths: Array = self.along[self.starts + self.counts - 1]
        return lengths


def _laid(many: Lines, which: Ints, begun: Ints, back: Flags) -> _Laid:
    """Some lines, each begun at one of its points and run on, or back, from there."""
    own, closed = many.counts[which], many.closed[which]
    counts = own + closed
    starts = np.cumsum(counts) - counts
    line = np.repeat(np.arange(len(which)), counts)
    nth = np.arange(len(line)) - starts[line]
    place = (begun[line] + np.where(back[line], -nth, nth)) % own[line]
    points = many.points[many.starts[which][line] + place]
    steps = np.zeros(len(points))
    steps[1:] = np.hypot(*np.diff(points, axis=0).T)
    steps[starts] = 0.0
    along = np.cumsum(steps)
    return _Laid(points, starts, counts, line, along - along[starts][line], closed)


def _by_length(ours: Lines, theirs: Lines, pairs: Ints, within: Within) -> Array:
    """No less than the deviation (mm) of lines whose places are paired by length.

    Infinite where their lengths tell that one runs twice; nan where it is more than the limit, which says nothing.
    """
    if not len(pairs):
        return np.zeros(0)
    none = np.zeros(len(pairs), dtype=np.int64)
    first = _laid(ours, pairs[:, 0], none, none > 0)
    second = _laid(theirs, pairs[:, 1], none, none > 0)
    lengths = np.column_stack((first.lengths, second.lengths))
    slack = 2 * within.reach * np.maximum(first.counts, second.counts)
    unlike = np.abs(lengths[:, 0] - lengths[:, 1]) > np.minimum(slack, 0.25 * lengths.max(axis=1) + 2 * within.reach)
    apart = np.where(unlike, np.inf, np.nan)
    alike = np.flatnonzero(~unlike & (first.closed == second.closed) & (lengths.min(axis=1) > 0))
    if len(alike):
        pairs, none = pairs[alike], none[alike]
        first = _laid(ours, pairs[:, 0], none, none > 0)
        second = _laid(theirs, pairs[:, 1], *_begun_alike(first, _laid(theirs, pairs[:, 1], none, none > 0)))
        off, step = first.points[first.starts] - second.points[second.starts], _steps(second)
        last = step[second.starts + second.counts - 2]
        before = np.where(((off * step[second.starts]).sum(axis=1) < 0)[:, None], last, step[second.starts])
        ahead = (off * before).sum(axis=1) / np.maximum(np.hypot(before[:, 0], before[:, 1]), 1e-12)
        ahead = np.where(first.closed, ahead, 0.0)  # how far along the second the first begins
        most = np.maximum(_off_beside(first, second, ahead), _off_beside(second, first, -ahead))
        apart[alike] = np.where(most <= within.limit, most, np.nan)
    return apart


def _steps(laid: _Laid) -> Array:
    """`(total, 2)`: from each point to the next; that of the last point of a line says nothing."""
    return np.diff(laid.points, axis=0, append=laid.points[-1:])


def _begun_alike(first: _Laid, second: _Laid) -> tuple[Ints, Flags]:
    """Where to begin the second lines, and whether to run them back, so that they run as the first do."""
    areas = []
    for laid in (first, second):
        x, y = (laid.points - laid.points[laid.starts][laid.line]).T
        areas.append(np.add.reduceat(x * np.roll(y, -1) - np.roll(x, -1) * y, laid.starts))
    start = first.points[first.starts]
    gap = np.hypot(*(second.points - start[second.line]).T)
    end = second.starts + second.counts - 1
    there = np.hypot(*(first.points[first.starts + first.counts - 1] - second.points[end]).T) + gap[second.starts]
    other = np.hypot(*(first.points[first.starts + first.counts - 1] - second.points[second.starts]).T) + gap[end]
    back = np.where(first.closed, (areas[0] > 0) != (areas[1] > 0), there > other)
    nearest = np.flatnonzero(gap == np.minimum.reduceat(gap, second.starts)[second.line])
    nearest = nearest[np.unique(second.line[nearest], return_index=True)[1]] - second.starts
    own = second.counts - second.closed
    return np.where(first.closed, nearest % own, np.where(back, own - 1, 0)), back


def _off_beside(line: _Laid, other: _Laid, ahead: Array) -> Array:
    """Largest distance (mm) of corners and middles of each line from the bits of another that lie as far along it."""
    middles = np.ones(len(line.points), dtype=np.bool_)
    middles[line.starts + line.counts - 1] = False
    nth = np.flatnonzero(middles)
    tests = np.concatenate((line.points, (line.points[nth] + line.points[nth + 1]) / 2))
    row = np.concatenate((line.line, line.line[nth]))
    lengths = other.lengths
    places = np.concatenate((line.along, (line.along[nth] + line.along[nth + 1]) / 2))
    places = places * (lengths / line.lengths)[row] + ahead[row]
    places = np.where(line.closed[row], places % lengths[row], np.clip(places, 0.0, lengths[row]))
    apart = float(lengths.max()) + 1.0  # so that all lines can be searched in one
    bit = np.searchsorted(other.along + apart * other.line, places + apart * row, side="right") - 1 - other.starts[row]
    bits, steps = (other.counts - 1)[row], _steps(other)
    nearest = np.full(len(tests), np.inf)
    for step in (-1, 0, 1):
        which = np.where(line.closed[row], (bit + step) % bits, np.clip(bit + step, 0, bits - 1)) + other.starts[row]
        offset, run = tests - other.points[which], steps[which]
        share = np.clip((offset * run).sum(axis=1) / np.maximum((run * run).sum(axis=1), 1e-300), 0.0, 1.0)
        off_line = offset - share[:, None] * run
        nearest = np.minimum(nearest, np.hypot(off_line[:, 0], off_line[:, 1]))
    order = np.argsort(row, kind="stable")
    most: Array = np.maximum.reduceat(nearest[order], np.searchsorted(row[order], np.arange(len(lengths))))
    return most


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
    return Matched(found_for, _without(wanted, found_for), _without(found, owner), deviation)


def _without(count: int, known: Mapping[int, int]) -> tuple[int, ...]:
    """The numbers below a count that are not known."""
    free = np.ones(count, dtype=np.bool_)
    free[np.fromiter(known, dtype=np.int64, count=len(known))] = False
    return tuple(np.flatnonzero(free).tolist())


def on_bits(points: Array, bits: Array, reach: float) -> Ints:
    """For each point (`(n, 2)`, mm) the index of the nearest straight bit (`(m, 2, 2)`, mm), or -1 beyond reach."""
    return on_tree(points, tree_of(bits), reach)


def on_tree(points: Array, tree: shapely.STRtree, reach: float) -> Ints:
    """As `on_bits`, for bits that are looked up more than once."""
    nearest = np.full(len(points), -1, dtype=np.int64)
    if len(tree) and len(points):
        which, bit = tree.query_nearest(shapely.points(points), max_distance=reach + 1e-9, all_matches=False)
        nearest[which] = bit
    return nearest
