"""Lines as the proof holds them: one kind for what must be in a file and for what was found there."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import overload

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.model.finding import Finding
from cutroom.model.plot import Role

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
Box = tuple[float, float, float, float]
"""`(least x, least y, greatest x, greatest y)`, mm."""


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """A polyline of a file or of the marker.

    Attributes:
        points: `(n, 2)`, mm, marker coordinates; no point twice in a row, and the first not repeated at the end.
        closed: The last point is joined to the first.
        group: What the format tells lines apart by: a layer, a pen; one group for formats that tell nothing.
        role: What it is, when that is known.
        placement: Index of the placement it belongs to, when that is known.
        quiet: Drawn in the grey of a sheet's own furniture.
    """

    points: Array
    closed: bool
    group: str = ""
    role: Role | None = None
    placement: int | None = None
    quiet: bool = False


Look = tuple[str, Role | None]
"""What a line is told apart by, and what it is."""
NOWHERE = -1
"""Stands for the placement of a line that belongs to none, or to one that is not known."""


@dataclass(frozen=True, eq=False)
class Lines(Sequence[Line]):
    """Many lines laid end to end in one array, for work on all of them at once; each can be had by itself.

    Attributes:
        points: `(total, 2)`, mm.
        counts: `(k,)`: how many points each line has, one at least.
        closed: `(k,)`.
        looks: Every group and role that occurs.
        look: `(k,)`: which of them each line has.
        placement: `(k,)`: index of the placement of each, or `NOWHERE`.
        quiet: `(k,)`: drawn in the grey of a sheet's own furniture.
    """

    points: Array
    counts: Ints
    closed: Flags
    looks: tuple[Look, ...]
    look: Ints
    placement: Ints
    quiet: Flags

    @cached_property
    def starts(self) -> Ints:
        """`(k,)`: where each line begins."""
        starts: Ints = np.cumsum(self.counts) - self.counts
        return starts

    @cached_property
    def boxes(self) -> Array:
        """`(k, 4)`: least x, least y, greatest x, greatest y of each line (mm)."""
        if not len(self.counts):
            return np.zeros((0, 4))
        x, y = np.ascontiguousarray(self.points.T)
        sides = [ends.reduceat(way, self.starts) for ends in (np.minimum, np.maximum) for way in (x, y)]
        return np.column_stack(sides)

    @cached_property
    def tree(self) -> shapely.STRtree:
        """Every straight bit, to look up by place."""
        return tree_of(segments(self)[0])

    def __len__(self) -> int:
        return len(self.counts)

    def __iter__(self) -> Iterator[Line]:
        return map(self._one, range(len(self.counts)))

    @overload
    def __getitem__(self, which: int) -> Line: ...
    @overload
    def __getitem__(self, which: slice) -> "Lines": ...
    def __getitem__(self, which: int | slice) -> "Line | Lines":
        if isinstance(which, slice):
            return self.some(np.arange(len(self))[which])
        return self._one(range(len(self))[which])

    def _one(self, which: int) -> Line:
        start, (group, role) = int(self.starts[which]), self.looks[self.look[which]]
        points = self.points[start : start + int(self.counts[which])]
        placement = int(self.placement[which])
        known = None if placement == NOWHERE else placement
        return Line(points, bool(self.closed[which]), group, role, known, bool(self.quiet[which]))

    def some(self, which: Ints | Sequence[int]) -> "Lines":
        """Some of the lines, by their indices."""
        which = np.asarray(which, dtype=np.int64)
        counts = self.counts[which]
        starts = np.cumsum(counts) - counts
        place = np.repeat(self.starts[which] - starts, counts) + np.arange(int(counts.sum()))
        look, placement, quiet = self.look[which], self.placement[which], self.quiet[which]
        return Lines(self.points[place], counts, self.closed[which], self.looks, look, placement, quiet)

    def at(self, points: Array) -> "Lines":
        """The same lines with their points (`(total, 2)`, mm) elsewhere."""
        return replace(self, points=points)

    def of(self, name: str) -> Flags:
        """`(k,)`: which lines are of a group."""
        kinds = np.array([group == name for group, _ in self.looks], dtype=np.bool_)
        return kinds[self.look]

    def are(self, *roles: Role | None) -> Flags:
        """`(k,)`: which lines are of some roles."""
        kinds = np.array([role in roles for _, role in self.looks], dtype=np.bool_)
        return kinds[self.look]


def lines_of(
    points: Array, counts: Ints, closed: Flags, *,
    looks: Sequence[Look] = (("", None),), look: Ints | None = None, quiet: Flags | None = None,
) -> Lines:  # fmt: skip
    """Lines that belong to no placement, laid end to end (`(total, 2)`, mm)."""
    none = np.zeros(len(counts), dtype=np.int64)
    is_quiet = none > 0 if quiet is None else quiet
    return Lines(points, counts, closed, tuple(looks), none if look is None else look, none + NOWHERE, is_quiet)


def gather(lines: Sequence[Line]) -> Lines:
    """Several lines in one array."""
    if isinstance(lines, Lines):
        return lines
    looks = {look: code for code, look in enumerate(dict.fromkeys((line.group, line.role) for line in lines))}
    return Lines(
        np.concatenate([line.points for line in lines]) if lines else np.zeros((0, 2)),
        np.array([len(line.points) for line in lines], dtype=np.int64),
        np.array([line.closed for line in lines], dtype=np.bool_),
        tuple(looks),
        np.array([looks[line.group, line.role] for line in lines], dtype=np.int64),
        np.array([NOWHERE if line.placement is None else line.placement for line in lines], dtype=np.int64),
        np.array([line.quiet for line in lines], dtype=np.bool_),
    )


def together(*many: Lines) -> Lines:
    """Lines of several arrays in one, in their order."""
    looks = tuple(dict.fromkeys(look for lines in many for look in lines.looks))
    codes = [np.array([looks.index(look) for look in lines.looks], dtype=np.int64)[lines.look] for lines in many]
    points, counts, closed, placement, quiet = (
        np.concatenate([getattr(lines, name) for lines in many])
        for name in ("points", "counts", "closed", "placement", "quiet")
    )
    return Lines(points, counts, closed, looks, np.concatenate(codes), placement, quiet)


def boxes(lines: Sequence[Line]) -> Array:
    """`(k, 4)`: least x, least y, greatest x, greatest y of each line (mm)."""
    return gather(lines).boxes


@dataclass(frozen=True, slots=True)
class Words:
    """Words in a machine's own letters.

    Attributes:
        pen: Number of the pen.
        words: The words.
        at: Where they begin on the baseline (mm).
        along: From there to the right end of the last letter.
        up: From there to the top of a capital.
        frame: Frame they lie in, from 0.
    """

    pen: str
    words: str
    at: tuple[float, float]
    along: tuple[float, float]
    up: tuple[float, float]
    frame: int


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """What was read from a file.

    Attributes:
        lines: Every line drawn, marker coordinates.
        findings: What is not as it should be in the file itself.
        words: Words in the machine's own letters.
    """

    lines: Sequence[Line]
    findings: tuple[Finding, ...] = field(default=())
    words: tuple[Words, ...] = ()


@dataclass(frozen=True, slots=True)
class Within:
    """How far a point may be off.

    Attributes:
        limit: mm.
        per_coordinate: The limit holds for x and for y, not for the distance.
    """

    limit: float
    per_coordinate: bool = False

    @property
    def reach(self) -> float:
        """The greatest distance (mm) that may pass."""
        return self.limit * (2**0.5 if self.per_coordinate else 1.0)


def tidy(points: Array, *, closed: bool, same: float = 1e-9) -> tuple[Array, bool]:
    """Points without repeats, and whether they close.

    Args:
        points: `(n, 2)`, mm.
        closed: The file says that it is closed.
        same: Points no further apart than this (mm) in x and y are one.
    """
    points = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    if len(points) > 1:
        step = np.abs(points[1:] - points[:-1])
        fresh = (step[:, 0] > same) | (step[:, 1] > same)
        if not fresh.all():
            points = points[np.concatenate(([True], fresh))]
    if len(points) > 3 and max(abs(points[0, 0] - points[-1, 0]), abs(points[0, 1] - points[-1, 1])) <= same:
        return points[:-1], True
    return points, closed and len(points) > 2


def tidy_all(points: Array, counts: Ints, closed: Flags, *, same: float = 1e-9) -> tuple[Array, Ints, Flags]:
    """Many lines laid end to end, each as `tidy` leaves it.

    Args:
        points: `(total, 2)`, mm.
        counts: `(k,)`: how many points each line has, one at least.
        closed: `(k,)`: whether the file says of each that it is closed.
        same: As for `tidy`.

    Returns:
        The same three.
    """
    if not len(counts):
        return points, counts, closed
    starts = np.cumsum(counts) - counts
    fresh = np.ones(len(points), dtype=np.bool_)
    fresh[1:] = ~_near(points[1:], points[:-1], same)
    fresh[starts] = True
    if not fresh.all():
        points, counts = points[fresh], np.add.reduceat(fresh, starts, dtype=np.int64)
    lasts = np.cumsum(counts) - 1
    meets = (counts > 3) & _near(points[lasts - counts + 1], points[lasts], same)
    closed = meets | (closed & (counts > 2))
    if meets.any():
        points, counts = np.delete(points, lasts[meets], axis=0), counts - meets
    return points, counts, closed


def _near(ones: Array, others: Array, same: float) -> Flags:
    near: Flags = (np.abs(ones[:, 0] - others[:, 0]) <= same) & (np.abs(ones[:, 1] - others[:, 1]) <= same)
    return near


def looped(line: Line) -> Array:
    """The points of a line (`(n, 2)`, mm), with the first one again at the end when it is closed."""
    return np.vstack((line.points, line.points[:1])) if line.closed else line.points


def segments(lines: Sequence[Line]) -> tuple[Array, Ints]:
    """Every straight bit of some lines.

    Returns:
        `(m, 2, 2)` ends (mm), and `(m,)` the index of the line each belongs to. A single point is a bit of no length.
    """
    many = gather(lines)
    counts = np.where(many.counts > 1, many.counts - 1 + many.closed, 1)
    owners = np.repeat(np.arange(len(many)), counts)
    nth = np.arange(len(owners)) - np.repeat(np.cumsum(counts) - counts, counts)
    starts, own = many.starts[owners], many.counts[owners]
    return np.stack((many.points[starts + nth], many.points[starts + (nth + 1) % own]), axis=1), owners


def tree_of(bits: Array) -> shapely.STRtree:
    """Straight bits (`(m, 2, 2)`, mm) to look up by place."""
    return shapely.STRtree(np.asarray(shapely.linestrings(bits)) if len(bits) else [])


def clip(bits: Array, owners: Ints, box: Box) -> tuple[Array, Ints]:
    """The parts of straight bits that lie in a box; bits that only touch it in a point are left out.

    Args:
        bits: `(m, 2, 2)` ends (mm).
        owners: `(m,)`.
        box: The box (mm); its sides may be infinite.
    """
    start, run = bits[:, 0], bits[:, 1] - bits[:, 0]
    enter, leave = np.zeros(len(bits)), np.ones(len(bits))
    inside = np.ones(len(bits), dtype=np.bool_)
    for axis in (0, 1):
        flat = run[:, axis] == 0
        inside &= ~flat | ((start[:, axis] >= box[axis]) & (start[:, axis] <= box[axis + 2]))
        step = np.where(flat, 1.0, run[:, axis])
        one, other = (box[axis] - start[:, axis]) / step, (box[axis + 2] - start[:, axis]) / step
        enter = np.where(flat, enter, np.maximum(enter, np.minimum(one, other)))
        leave = np.where(flat, leave, np.minimum(leave, np.maximum(one, other)))
    dot = np.abs(run).max(axis=1) == 0 if len(bits) else inside
    keep = inside & ((leave > enter) | (dot & (leave >= enter)))
    parts = np.stack((start + enter[:, None] * run, start + leave[:, None] * run), axis=1)
    whole = (enter <= 0) & (leave >= 1)
    parts[whole] = bits[whole]
    return parts[keep], owners[keep]


def cut_at(bits: Array, owners: Ints, xs: Iterable[float]) -> tuple[Array, Ints]:
    """Straight bits cut in two wherever they cross one of some values of x (mm)."""
    for x in xs:
        low, high = bits[:, :, 0].min(axis=1), bits[:, :, 0].max(axis=1)
        crossing = (low < x) & (high > x)
        if crossing.any():
            across, whose = bits[crossing], owners[crossing]
            left, left_whose = clip(across, whose, (-np.inf, -np.inf, x, np.inf))
            right, right_whose = clip(across, whose, (x, -np.inf, np.inf, np.inf))
            bits = np.concatenate((bits[~crossing], left, right))
            owners = np.concatenate((owners[~crossing], left_whose, right_whose))
    return bits, owners
