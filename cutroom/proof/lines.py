"""Lines as the proof holds them: one kind for what must be in a file and for what was found there."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from cutroom.model.finding import Finding
from cutroom.model.plot import Role

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
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

    lines: tuple[Line, ...]
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


def tidy_all(many: Sequence[Array], closed: Sequence[bool], *, same: float = 1e-9) -> list[tuple[Array, bool]]:
    """Each of many lines as `tidy` gives it; those that are tidy already are told from all at once.

    Args:
        many: Each `(n, 2)`, mm, at least one point.
        closed: Whether the file says of each that it is closed.
        same: As for `tidy`.
    """
    if not many:
        return []
    counts = np.fromiter(map(len, many), dtype=np.int64, count=len(many))
    points = np.concatenate(many)
    starts = np.cumsum(counts) - counts
    apart = np.ones(len(points), dtype=np.bool_)
    apart[1:] = np.abs(points[1:] - points[:-1]).max(axis=1) > same
    apart[starts] = True
    meets = np.abs(points[starts] - points[starts + counts - 1]).max(axis=1) <= same
    plain = np.logical_and.reduceat(apart, starts) & ~((counts > 3) & meets)
    return [
        (line, is_closed and len(line) > 2) if is_plain else tidy(line, closed=is_closed, same=same)
        for line, is_closed, is_plain in zip(many, closed, plain.tolist(), strict=True)
    ]


def looped(line: Line) -> Array:
    """The points of a line (`(n, 2)`, mm), with the first one again at the end when it is closed."""
    return np.vstack((line.points, line.points[:1])) if line.closed else line.points


@dataclass(frozen=True, slots=True, eq=False)
class Many:
    """Several lines laid end to end in one array, for work on all of them at once.

    Attributes:
        points: `(total, 2)`, mm.
        starts: `(k,)`: where each line begins.
        counts: `(k,)`: how many points it has.
        closed: `(k,)`.
    """

    points: Array
    starts: Ints
    counts: Ints
    closed: NDArray[np.bool_]


def gather(lines: Sequence[Line]) -> Many:
    """Several lines in one array."""
    counts = np.array([len(line.points) for line in lines], dtype=np.int64)
    starts = np.concatenate(([0], np.cumsum(counts)[:-1])).astype(np.int64) if lines else counts
    points = np.concatenate([line.points for line in lines]) if lines else np.zeros((0, 2))
    return Many(points, starts, counts, np.array([line.closed for line in lines], dtype=np.bool_))


def boxes(lines: Sequence[Line]) -> Array:
    """`(k, 4)`: least x, least y, greatest x, greatest y of each line (mm)."""
    if not lines:
        return np.zeros((0, 4))
    many = gather(lines)
    least = np.minimum.reduceat(many.points, many.starts, axis=0)
    most = np.maximum.reduceat(many.points, many.starts, axis=0)
    return np.hstack((least, most))


def segments(lines: Sequence[Line]) -> tuple[Array, Ints]:
    """Every straight bit of some lines.

    Returns:
        `(m, 2, 2)` ends (mm), and `(m,)` the index of the line each belongs to. A single point is a bit of no length.
    """
    bits: list[Array] = []
    owners: list[int] = []
    for index, line in enumerate(lines):
        points = looped(line)
        bit = np.stack((points[:-1], points[1:]), axis=1) if len(points) > 1 else np.stack((points, points), axis=1)
        bits.append(bit)
        owners.extend([index] * len(bit))
    return np.concatenate(bits) if bits else np.zeros((0, 2, 2)), np.array(owners, dtype=np.int64)


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
