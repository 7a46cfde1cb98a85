"""A length that no marker of given pieces can fall below, and why.

Cut the strip across at any place. What the cut meets lies side by side, so its *chords* (`chords.py`) together are no
longer than the strip is wide. Most arguments are drawn from that.

**Gaps.** Grow every piece by half the least gap that it keeps on any side, `r`: pieces then share no inside, and all
lie on the strip grown by `R`, the greatest of the halves. So a cut has the height `H = width + 2 R` for the grown
chords, and there are cuts on a length of `L + 2 R`. Or grow them across only: the cuts are on a length of `L`. Or grow
them along only: then `H` is the width. All three are tried, for each is the strongest somewhere.

**Folds.** Pieces keep their whole gap from a fold, so that grown they keep `k` from it at least: the least of the
halves, or of the gaps where they are not grown across. Only fold pieces lie on it, and they are not grown past it. Take
`k` off every chord of a fold piece (none below 0) and there is room for `k` less: `H = width + R - k`, or `width - k`
when grown along only; `width - 2 k` between the two folds of a tube. For: where a cut meets no such chord, pieces lie
from `k` up. Where it meets one, all of the cut but the other fold's `k` may be used, and `k` has been taken off. Where
it meets two, `k` has been taken off twice.

**Flaws** lie in the way of all: a cut through one has less room left (`_walk`).

**Stripes.** The step from one piece to the next, where both meet the cloth's pattern along the strip, is given up to
whole repeats and their tolerances. Where the pattern lies at the start of the strip is left open.

**Rounding.** Pieces that fit but for the last digits of their sizes may lie side by side: a chord counts as above a
height only from `SLACK` on. A length found in floating point is taken down by `SAFE`, then up to the next that a marker
can have at all, since shifts lie on a grid and a marker ends where a piece ends.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cached_property

import numpy as np

from cutroom.geometry.affine import pose_points
from cutroom.geometry.polygon import bounds
from cutroom.model.marker import GRID
from cutroom.nest.chords import Reals, chords, chords_at, grown, least_step
from cutroom.nest.problem import Item, Pose, Problem, posed, room_across
from cutroom.nest.shares import LEAST_SHARE, SLACK, shares

SAFE = (1e-5, 1e-8)
"""Taken off what was reckoned in floating point: mm, and as a share of the length."""
MOST_IN_A_ROW, MOST_WAYS = 120, 24
"""Wide pieces that are looked at as a row, and ways in which unlike ones may lie; the work grows with the square."""
MOST_RUNS = 1500
"""Runs of chords of all their ways, each of which is held against each: what has more is left out."""
MOST_EXTRA = 4
"""Narrower pieces that are tried as one more in a row, the longest first."""
MOST_SHARED_OUT = 14
"""Fold pieces that are shared out between two folds in every way; the work doubles with each."""

_PLACE, _CHORD = np.array([1.0, 1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0, 1.0])  # columns of runs

LONGEST, AREA, BESIDE, WIDTHS, FOLD, LOCKED = (
    "the longest piece",
    "the area of the pieces",
    "pieces too wide to lie side by side",
    "pieces whose widths leave cloth beside them",
    "the fold, which fold pieces share",
    "a piece that is locked where it lies",
)


@dataclass(frozen=True, slots=True)
class Bound:
    """A length that no layout can fall below.

    Attributes:
        length: mm; 0 where nothing is to be laid.
        by: What forbids a shorter one, in words.
    """

    length: float
    by: str


def lower_bound(problem: Problem) -> Bound:
    """The greatest length that is proven to be needed.

    Poses that do not fit across the strip are left out. Tables, garments that must lie one way and stripes across the
    strip are not looked at: they can only make a marker longer. Of items that lean only the area counts, which no tilt
    changes.
    """
    if not problem.items:
        return Bound(0.0, LONGEST)
    strip = Strip(problem)
    best = Bound(0.0, LONGEST)
    for length, by in _arguments(strip):
        if length > best.length + SAFE[0]:
            best = Bound(length, by)
    return Bound(_next_on_grid(strip, best.length), best.by)


def _arguments(strip: "Strip") -> Iterator[tuple[float, str]]:
    yield strip.locked_end, LOCKED
    yield max((_shortest(ways) for ways in strip.kinds), default=0.0), LONGEST
    for growth in (growth for growth in strip.growths if strip.height(growth) > SLACK):
        yield from _side_by_side(strip, growth)
        yield _in_a_row(strip, growth), BESIDE
    if strip.problem.fold:
        yield _on_folds(strip), FOLD


class Growth(Enum):
    """How pieces are grown by half their gap."""

    ROUND = "all round"
    ACROSS = "across the strip only"
    ALONG = "along the strip only"


class Way:
    """One way for an item to lie.

    Attributes:
        outline: `(n, 2)`, posed, mm.
        half: Half its gap (mm).
        on_fold: It lies on a fold.
        start: Its least x, not yet shifted (mm).
        end: Its greatest x (mm).
        across: Across the strip, grown (mm).
        repeat: Of the pattern that it meets along the strip (mm); 0 where there is none.
        phase: A shift at which it meets it (mm).
        tolerance: How far off it may be (mm).
        like: The same for ways whose chords are the same, in whatever order: turned half round, or mirrored.
    """

    def __init__(self, item: Item, pose: Pose, half: float) -> None:
        turn = (-pose.turn_deg if pose.flipped else pose.turn_deg) % 180.0
        self.like = (item.outline.tobytes(), turn, half, item.on_fold)
        self.outline: Reals = posed(item.outline, pose)
        self.half, self.on_fold = half, item.on_fold
        self.start, low, self.end, high = bounds(self.outline)
        self.across = high - low + 2 * half
        self.repeat = self.phase = self.tolerance = 0.0
        if item.match is not None and item.match.repeat[0] > 0:
            point = pose_points(np.array([item.match.point]), flipped=pose.flipped, turn_deg=pose.turn_deg)[0]
            self.repeat, self.tolerance = item.match.repeat[0], item.match.tolerance
            self.phase = item.match.phase[0] - float(point[0])
        self._grown: dict[tuple[Growth, float], Reals] = {}

    def runs(self, growth: Growth, kept: float) -> Reals:
        """Its grown chords, less what is kept clear of a fold if it lies on one."""
        if (growth, kept) not in self._grown:
            ends = 1.0 if self.on_fold else 2.0
            runs = chords(self.outline)
            if growth is Growth.ACROSS:
                runs = runs + ends * self.half * _CHORD
            else:
                runs = grown(runs, self.half, ends if growth is Growth.ROUND else 0.0)
            self._grown[growth, kept] = runs - kept * _CHORD if self.on_fold else runs
        return self._grown[growth, kept]


def _first_met(least: float, phase: float, repeat: float, tolerance: float) -> float:
    """The first place not below one that is a whole number of repeats from a phase, but for the tolerance (mm)."""
    if repeat <= 0:
        return least
    whole = math.ceil((least - phase - tolerance - SLACK) / repeat)
    return max(least, phase + whole * repeat - tolerance)


class Strip:
    """A problem as the arguments see it.

    Attributes:
        problem: What was asked.
        ways: For each item, the ways in which it may lie; the same for items that are alike.
        kinds: How many items there are of each kind, by the ways in which they may lie; without those that lean.
        leaning: One way of each item that leans and is not locked.
        over: By how much the strip is grown (mm).
        locked_end: Where the last locked item ends (mm).
    """

    def __init__(self, problem: Problem) -> None:
        halves = [problem.least_gap(item) / 2 for item in range(len(problem.items))]
        locked = {laid.item: laid for laid in problem.locked}
        made: dict[tuple[object, ...], Way] = {}

        def way(item: Item, pose: Pose, half: float) -> Way:
            key = (item.outline.tobytes(), pose, item.on_fold, half, item.match)
            if key not in made:
                made[key] = Way(item, pose, half)
            return made[key]

        self.problem, self.over, self._least = problem, max(halves), min(halves)
        self.ways = tuple(
            tuple(way(item, pose, half) for pose in ((locked[k].pose,) if k in locked else _fitting(problem, item)))
            for k, (item, half) in enumerate(zip(problem.items, halves, strict=True))
        )
        self.kinds: dict[tuple[Way, ...], int] = {}
        leans = [item.leans and k not in locked for k, item in enumerate(problem.items)]
        self.leaning = tuple(ways[0] for ways, leaning in zip(self.ways, leans, strict=True) if leaning)
        for ways, leaning in zip(self.ways, leans, strict=True):
            if not leaning:
                self.kinds[ways] = self.kinds.get(ways, 0) + 1
        self.locked_end = max((self.ways[k][0].end + laid.x for k, laid in locked.items()), default=0.0)

    @property
    def growths(self) -> tuple[Growth, ...]:
        """The ways of growing that differ; among many small pieces only the area counts."""
        if self.over == 0:
            return (Growth.ALONG,)
        tallest = max((way.across for ways in self.kinds for way in ways), default=0.0)
        return tuple(Growth) if tallest > LEAST_SHARE * self.problem.width else (Growth.ROUND,)

    def kept(self, growth: Growth) -> float:
        """What all but fold pieces keep from a fold when they are grown (mm)."""
        return (2 if growth is Growth.ALONG else 1) * self._least if self.problem.fold else 0.0

    def height(self, growth: Growth) -> float:
        """Room that a cut has for chords (mm)."""
        folds = self.problem.fold + self.problem.far_fold
        over = 0.0 if growth is Growth.ALONG else (2 - folds) * self.over
        return self.problem.width + over - folds * self.kept(growth)

    def ends(self, growth: Growth) -> float:
        """By how much the cuts are on a longer length than the strip's (mm)."""
        return 0.0 if growth is Growth.ACROSS else 2 * self.over

    @cached_property
    def blocked(self) -> Reals:
        """`(n, 3)`: from where to where how much of a cut is taken by a flaw or a used area (mm), the widest only."""
        kept = 2 * self._least
        low = kept if self.problem.fold else 0.0
        high = self.problem.width - (kept if self.problem.far_fold else 0.0)
        runs = [chords(_between(outline, low, high)) for outline in self.problem.forbidden]
        places = np.unique(np.concatenate([[0.0], *(one[:, :2].ravel() for one in runs)]))
        places = places[places >= 0]
        middles = (places[1:] + places[:-1]) / 2
        taken = np.zeros(len(middles))
        for one in runs:
            at = np.clip(np.searchsorted(one[:, 0], middles, side="right") - 1, 0, len(one) - 1)
            inside = (middles > one[0, 0]) & (middles < one[-1, 1])
            share = (np.column_stack([places[:-1], places[1:]]) - one[at, :1]) / (one[at, 1:2] - one[at, :1])
            ends = one[at, 2:3] + share * (one[at, 3:] - one[at, 2:3])
            taken = np.maximum(taken, np.where(inside, ends.min(axis=1), 0.0))
        return np.column_stack([places[:-1], places[1:], taken])


def _fitting(problem: Problem, item: Item) -> Sequence[Pose]:
    fitting = []
    for pose in item.poses:
        least, most = room_across(problem, item, pose)
        if most >= least - SLACK:
            fitting.append(pose)
    return fitting or item.poses


def _between(outline: Reals, low: float, high: float) -> Reals:
    """The part of an outline between two heights; what is cut off is folded on to the lines of the cut."""
    ends = np.roll(outline, -1, axis=0)
    rows = [outline]
    order = [np.arange(len(outline), dtype=np.float64)]
    for level in (low, high):
        crossed = (outline[:, 1] - level) * (ends[:, 1] - level) < 0
        share = (level - outline[crossed, 1]) / (ends[crossed, 1] - outline[crossed, 1])
        rows.append(outline[crossed] + share[:, None] * (ends - outline)[crossed])
        order.append(np.flatnonzero(crossed) + share)
    points = np.vstack(rows)[np.argsort(np.concatenate(order), kind="stable")]
    return np.column_stack([points[:, 0], np.clip(points[:, 1], low, high)])


def _side_by_side(strip: Strip, growth: Growth) -> Iterator[tuple[float, str]]:
    """Arguments on the chords of one cut.

    Let `f` be a dual feasible function (`shares.py`). On every cut `f(chord / H)` adds up to no more than 1, and so all
    cuts are on a length of at least the sum, over the items, of the integral of `f(chord / H)` along the item, least
    over the ways in which it may lie. With `f(t) = t` that is the area over the width. Chords that are reckoned too
    short do no harm, since every `f` rises.
    """
    kept, height = strip.kept(growth), strip.height(growth)
    runs = {way.like: way.runs(growth, kept) for ways in strip.kinds for way in ways}
    whole = growth is Growth.ROUND or strip.over == 0  # no tilt changes the area then
    leaning = {way.like: way.runs(growth, kept) for way in strip.leaning if whole}
    tried = shares(
        height, [float(peak) for one in (*runs.values(), *leaning.values()) for peak in _peaks(one)] or [0.0]
    )
    along = {like: tried.along(one) for like, one in runs.items()}
    areas = {like: float(tried.along(one)[0]) for like, one in leaning.items()}
    needed = sum(
        (count * np.min([along[way.like] for way in ways], axis=0) for ways, count in strip.kinds.items()),
        start=np.full(len(tried.steps), -strip.ends(growth)),
    )
    needed[0] += sum(areas.get(way.like, 0.0) for way in strip.leaning)
    if growth is Growth.ROUND and not strip.problem.fold:  # the corners of the grown strip are round
        needed[0] += (4 - np.pi) * strip.over**2 / height
    for number, length in enumerate(needed):
        taken = tried.of(strip.blocked[:, 2])[number] if strip.problem.forbidden else np.zeros(0)
        yield _walk(strip.blocked, taken, float(length)), AREA if number == 0 else BESIDE if number == 1 else WIDTHS


def _peaks(runs: Reals) -> Reals:
    """The greatest chord; where there are few runs, that of each."""
    peaks: Reals = runs[:, 2:].max(axis=1)
    return peaks if len(peaks) <= 8 else peaks.max(keepdims=True)


def _walk(blocked: Reals, taken: Reals, needed: float) -> float:
    """The length (mm) up to which cuts are of the use that is needed (mm), where a part of them is taken, 0 to 1.

    What fits between two flaws but for the last digits does fit: else the length would jump past the second.
    """
    place, spare = 0.0, SAFE[0] + SAFE[1] * max(needed, 0.0)
    for (start, end, _), part in zip(blocked, taken, strict=False):
        use = (end - start) * (1 - part)
        if use >= needed - spare:
            return float(place + needed / (1 - part)) if needed > spare else place
        needed, place = float(needed - use), float(end)
    return place + max(needed, 0.0)


def _in_a_row(strip: Strip, growth: Growth) -> float:
    """Pieces of which no two can pass one another, however they stick into each other's hollows.

    Hold each piece near its greatest chord, and take pieces of which any two held chords together are above the room of
    a cut: all that are held above half of it, and one more. No two are held on the same cut, so they are held one after
    another along the strip, and each next one at least the least step (`chords.least_step`) further on. The length is
    at least that of the shortest such row, from the start of the first piece to the end of the last.
    """
    kept, height, end = strip.kept(growth), strip.height(growth), strip.ends(growth) / 2

    def hold(ways: tuple[Way, ...], count: int) -> Kind:
        return Kind(tuple(_hold(way, way.runs(growth, kept)) for way in ways), count)

    wide: list[Kind] = []
    narrow: list[tuple[Way, ...]] = []
    pieces, number, runs = MOST_IN_A_ROW, MOST_WAYS, 0
    for ways, count in sorted(strip.kinds.items(), key=lambda kind: -kind[1] * _shortest(kind[0])):
        kind = hold(ways, min(count, pieces)) if all(way.across > height / 2 for way in ways) else None
        if kind is None or kind.chord <= height / 2 + SLACK:
            narrow.append(ways)
        elif pieces > 0 and number >= len(ways) and runs + kind.runs <= MOST_RUNS:
            wide.append(kind)
            pieces, number, runs = pieces - kind.count, number - len(ways), runs + kind.runs
    if not wide:
        return 0.0
    steps: dict[tuple[Kind, Kind], float] = {}

    def step(one: Kind, two: Kind) -> float:
        if (one, two) not in steps:
            steps[one, two] = min(_step(a, b, height) for a in one.ways for b in two.ways)
        return steps[one, two]

    def row(kinds: list[Kind]) -> float:
        between = np.array([[step(one, two) for two in kinds] for one in kinds])
        return _shortest_row(between, [k.first + end for k in kinds], [k.last for k in kinds], [k.count for k in kinds])

    best = row(wide)
    for one in (hold(ways, 1) for ways in sorted(narrow, key=_shortest, reverse=True)[:MOST_EXTRA]):
        if one.runs > MOST_RUNS:
            continue
        beside = [kind for kind in wide if kind.chord + one.chord > height + SLACK]
        if beside:
            best = max(best, row([*beside, one]))
    return best - 2 * end


def _shortest(ways: tuple[Way, ...]) -> float:
    """What an item takes along the strip at least (mm)."""
    return min(way.end - way.start for way in ways)


def _shortest_row(between: Reals, first: list[float], last: list[float], counts: list[int]) -> float:
    """A length that no row of all pieces can fall below.

    A row is a round through all pieces and one more stop that stands for start and end. In a round every stop is left
    once and reached once: the cheapest assignment of stops to next stops is no dearer.

    Args:
        between: `(k, k)`, the least step from a piece of one kind to one of another (mm).
        first: For each kind, from the start of the strip to where the first piece is held (mm).
        last: For each kind, from where the last piece is held to the end (mm).
        counts: How many pieces there are of each kind.
    """
    kind, whole = np.repeat(np.arange(len(counts)), counts), sum(counts)
    pay = np.full((whole + 1, whole + 1), np.inf)
    pay[:whole, :whole] = between[np.ix_(kind, kind)]
    pay[whole, :whole], pay[:whole, whole] = np.array(first)[kind], np.array(last)[kind]
    np.fill_diagonal(pay, np.inf)
    return assignment_cost(pay)


def assignment_cost(pay: Reals) -> float:
    """What the cheapest assignment of rows to columns costs, each row to one column, by prices for both.

    Kuhn (1955) and Munkres (1957), with shortest augmenting paths; from memory. No row and column together are priced
    above what they pay, so that the sum of the prices is a bound whatever else may be wrong.

    Args:
        pay: `(n, n)`; infinite where a row may not go. Some assignment must be finite.
    """
    count = len(pay)
    padded = np.vstack([pay, np.zeros((1, count))])  # the last row stands for "none"
    rows, columns, owner = np.zeros(count + 1), np.zeros(count + 1), np.full(count + 1, count)
    for row in range(count):
        owner[count] = row
        here, least = count, np.full(count + 1, np.inf)
        before, seen = np.full(count + 1, count), np.zeros(count + 1, dtype=np.bool_)
        while True:
            seen[here] = True
            reached = padded[owner[here]] - rows[owner[here]] - columns[:count]
            nearer = ~seen[:count] & (reached < least[:count])
            least[:count][nearer], before[:count][nearer] = reached[nearer], here
            following = int(np.argmin(np.where(seen, np.inf, least)))
            more = least[following]
            rows[owner[seen]] += more
            columns[seen] -= more
            least[~seen] -= more
            here = following
            if owner[here] == count:
                break
        while here != count:
            owner[here] = owner[before[here]]
            here = int(before[here])
    return float(rows[:count].sum() + columns[:count].sum())


@dataclass(frozen=True, slots=True, eq=False)
class Held:
    """A way held near its greatest chord.

    Attributes:
        way: The way.
        at: Where it is held, not yet shifted (mm).
        chord: Its grown chord there (mm).
        runs: Its grown chords, x counted from there.
    """

    way: Way
    at: float
    chord: float
    runs: Reals


@dataclass(frozen=True, slots=True, eq=False)
class Kind:
    """Items that are alike, held in each of the ways in which they may lie."""

    ways: tuple[Held, ...]
    count: int

    @property
    def runs(self) -> int:
        """Runs of chords of all its ways."""
        return sum(len(held.runs) for held in self.ways)

    @property
    def chord(self) -> float:
        """The least chord at which one is held (mm)."""
        return min(held.chord for held in self.ways)

    @property
    def first(self) -> float:
        """From its start to where one is held (mm), at least."""
        return min(held.at - held.way.start for held in self.ways)

    @property
    def last(self) -> float:
        """From where one is held to the end of its grown chords (mm), at least."""
        return float(min(held.runs[-1, 1] for held in self.ways))


def _hold(way: Way, runs: Reals) -> Held:
    """Hold a way in the middle of its greatest chords, or near the greatest where they slope."""
    sloped = 0.5 + 0.45 * np.sign(np.where(np.abs(runs[:, 3] - runs[:, 2]) < SLACK, 0.0, runs[:, 3] - runs[:, 2]))
    heights = runs[:, 2] + sloped * (runs[:, 3] - runs[:, 2])
    tallest = int(np.argmax(np.where(heights > heights.max() - SLACK, runs[:, 1] - runs[:, 0], -1.0)))
    at = float(runs[tallest, 0] + sloped[tallest] * (runs[tallest, 1] - runs[tallest, 0]))
    return Held(way, at, float(heights[tallest]), runs - at * _PLACE)


def _step(one: Held, two: Held, height: float) -> float:
    """How far on the second is held behind the first, at least (mm)."""
    step = least_step(one.runs, two.runs, height + SLACK)
    if one.way.repeat != two.way.repeat:
        return step
    phase = (two.way.phase + two.at) - (one.way.phase + one.at)
    return _first_met(step, phase, one.way.repeat, one.way.tolerance + two.way.tolerance)


def _on_folds(strip: Strip) -> float:
    """Fold pieces share the line at any distance from the fold.

    Where that line runs through them they lie one after another on it, each grown by half its gap at both ends, on the
    strip grown likewise. On a tube some lie at one fold, the others at the other, and each has its own line: of all
    ways to share the pieces out the shortest is taken, or half of the sum where there are many pieces.
    """
    items = [ways for ways in strip.ways if any(way.on_fold for way in ways)]
    if not items:
        return 0.0
    lines = [{way: _from_fold(way, far=far) for ways in items for way in ways} for far in (False, True)]
    places = np.concatenate([runs[:, :2].ravel() for line in lines for runs in line.values() if runs is not None])
    levels = np.unique(np.append(places - 1e-7, places + 1e-7))
    levels = levels[levels > 0]
    used = np.array([[_on_line(ways, line, levels) for ways in items] for line in lines])  # line, piece, level
    whole = used.min(axis=0).sum(axis=0)
    if not strip.problem.far_fold:
        return float(used[0].sum(axis=0).max()) - 2 * strip.over
    tried = {0, int(np.argmax(whole))}
    return max(_shared_out(used[0, :, level], used[1, :, level]) for level in tried) - 2 * strip.over


def _from_fold(way: Way, *, far: bool) -> Reals | None:
    """What a way covers along the strip, by the distance from the fold that it lies on; None off the fold."""
    x, y = way.outline.T
    if abs(y.max() if far else y.min()) > SLACK:
        return None
    return chords(np.column_stack([-y, x]) if far else np.column_stack([y, x])[::-1])


def _on_line(ways: tuple[Way, ...], line: dict[Way, Reals | None], levels: Reals) -> Reals:
    """What an item takes of the lines at some distances from a fold (mm); infinite where it may not lie there."""
    found = np.full(len(levels), np.inf)
    for way in ways:
        runs = line[way]
        if runs is not None:
            covered = chords_at(runs, levels)
            found = np.minimum(found, np.where(covered > 0, covered + 2 * way.half, 0.0))
    return found


def _shared_out(near: Reals, far: Reals) -> float:
    """The least length of the longer of two lines, each item on one of them."""
    if len(near) > MOST_SHARED_OUT:
        return float(max(near[np.isinf(far)].sum(), far[np.isinf(near)].sum(), np.minimum(near, far).sum() / 2))
    lengths = np.zeros((1, 2))
    for one, other in zip(near, far, strict=True):
        lengths = np.vstack([lengths + np.array([one, 0.0]), lengths + np.array([0.0, other])])
    return float(lengths.max(axis=1).min())


def _next_on_grid(strip: Strip, length: float) -> float:
    """The least length (mm) not below one found that a marker can have.

    It ends where a piece ends, and pieces are shifted by whole steps of the grid.
    """
    length -= SAFE[0] + SAFE[1] * length
    ends = [strip.locked_end] if strip.locked_end >= length else []
    if strip.leaning:
        return max(round(length, 6), 0.0)
    locked = {laid.item for laid in strip.problem.locked}
    ends += [
        way.end + math.ceil((length - way.end) / GRID) * GRID
        for way in {way for item, ways in enumerate(strip.ways) if item not in locked for way in ways}
    ]
    return round(min(ends), 6)
