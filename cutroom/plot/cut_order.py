"""The order in which pieces are cut: whatever lies inside a piece before its outline, and no loose piece in the way.

A piece is held by the cloth around it until its outline is closed. So its notches, drill holes and cut-outs come first,
then its outline, then the next piece near by; a piece that lies in a cut-out of another comes before that other. Asked
for, the work goes forward in strips along the cloth, for tables that move it on, and small pieces, which come loose
first, are cut before the large ones around them.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.polygon import area, contains
from cutroom.model.plot import Role, Stroke
from cutroom.plot.sequence import Doors, begun_at, doors_at, shortest_way, steps, travel

Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]

CLEAR = 6.0
"""An outline is begun at least so far (mm along it) from its corners and notches, where it can be."""
CORNER_DEG = 20.0
"""A sharper turn is a corner."""
_OFFERED = 16  # places at most at which an outline may be begun
_EVERY = 3  # points of a drill hole to the next at which it may be begun
_SWEEPS = 3
_BEGUN_QUIETLY = {Role.CUT, Role.CUTOUT}


@dataclass(frozen=True, slots=True)
class CutRules:
    """What is asked of the order besides the above.

    Attributes:
        strip: Length of cloth (mm) finished before the work moves on; 0 for no strips.
        small: Pieces of less than this area (mm2) come before the others of their strip.
    """

    strip: float = 0.0
    small: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class _Piece:
    """What is cut of one placement: the outlines, which come last, and what comes before."""

    outline: Stroke
    inner: tuple[Stroke, ...]


def cut_order(
    strokes: Sequence[Stroke], *, start: tuple[float, float] = (0.0, 0.0), rules: CutRules = CutRules()
) -> tuple[Stroke, ...]:
    """The strokes of one tool in the order of cutting; some turned round, closed ones begun elsewhere.

    Args:
        strokes: The strokes, mm.
        start: Where the tool is.
        rules: Strips, small ones first.

    Returns:
        Strokes that belong to no outline first, then piece by piece.
    """
    loose, pieces = _pieces(strokes)
    ordered: list[Stroke] = []
    if loose:
        offers = _offers(loose, {})
        doors = offers.doors(start)
        ordered += offers.taken(doors, shortest_way(doors)[1:])
    for group in _groups(pieces, rules):
        at = _end(ordered[-1]) if ordered else start
        ordered += _cut_pieces(group, at)
    return tuple(ordered)


def _pieces(strokes: Sequence[Stroke]) -> tuple[list[Stroke], list[_Piece]]:
    outlines = {
        stroke.placement: stroke for stroke in strokes if stroke.role is Role.CUT and stroke.placement is not None
    }
    inner: dict[int | None, list[Stroke]] = {}
    loose = []
    for stroke in strokes:
        if stroke.placement not in outlines:
            loose.append(stroke)
        elif stroke is not outlines[stroke.placement]:
            inner.setdefault(stroke.placement, []).append(stroke)
    return loose, [_Piece(outline, tuple(inner.get(placement, ()))) for placement, outline in outlines.items()]


def _groups(pieces: list[_Piece], rules: CutRules) -> Iterator[list[_Piece]]:
    """Pieces that may be cut in any order among themselves, group after group."""
    depth = _depths(pieces)
    keys = []
    for index, piece in enumerate(pieces):
        points = piece.outline.points
        strip = int(np.ceil(points[:, 0].max() / rules.strip)) if rules.strip > 0 else 0
        large = rules.small > 0 and area(points) >= rules.small
        keys.append((strip, -depth[index], large))
    for key in sorted(set(keys)):
        yield [piece for piece, own in zip(pieces, keys, strict=True) if own == key]


def _depths(pieces: list[_Piece]) -> list[int]:
    """In how many cut-outs of other pieces each piece lies."""
    windows = [stroke.points for piece in pieces for stroke in piece.inner if stroke.role is Role.CUTOUT]
    if not windows:
        return [0] * len(pieces)
    firsts = np.array([piece.outline.points[0] for piece in pieces])
    return [int(depth) for depth in np.sum([contains(window, firsts) for window in windows], axis=0)]


def _cut_pieces(pieces: list[_Piece], start: tuple[float, float]) -> list[Stroke]:
    """Pieces one after the other, in the order of their middles or of their outlines, whichever is shorter."""
    from cutroom.geometry.kernels.tour import pieces_way  # loads numba

    strokes = [stroke for piece in pieces for stroke in (*piece.inner, piece.outline)]
    offers = _offers(strokes, {id(piece.outline): piece.inner for piece in pieces})
    doors = offers.doors(start)
    first = doors.first
    counts = np.array([len(piece.inner) + 1 for piece in pieces])
    lines = np.concatenate([[1], 1 + np.cumsum(counts)]).astype(np.int64)
    ways = []
    for order in (_by_middles(pieces, start), _by_outlines(doors, lines)):
        way = pieces_way(doors.places, doors.back, doors.owner, first, lines, order, 0, _SWEEPS)
        ways.append(np.concatenate([[0], way]))
    return offers.taken(doors, min(ways, key=lambda way: travel(doors, way))[1:])


def _by_middles(pieces: list[_Piece], start: tuple[float, float]) -> Wholes:
    middles = [(piece.outline.points.min(axis=0) + piece.outline.points.max(axis=0)) / 2 for piece in pieces]
    numbers = np.arange(len(pieces) + 1)
    fixed = np.zeros(len(numbers), dtype=np.bool_)
    doors = Doors(np.vstack([np.asarray(start, dtype=np.float64), *middles]), numbers, numbers, numbers * 0, fixed)
    return shortest_way(doors)[1:] - 1


def _by_outlines(doors: Doors, lines: Wholes) -> Wholes:
    outlines = lines[1:] - 1
    kept = np.isin(doors.owner, outlines) | (doors.owner == 0)
    owner = np.searchsorted(outlines, doors.owner[kept], side="left") + (doors.owner[kept] > 0)
    itself = np.arange(len(owner))
    way = shortest_way(Doors(doors.places[kept], itself, owner, doors.point[kept], doors.loose[kept]))
    order: Wholes = owner[way][1:] - 1
    return order


@dataclass(frozen=True, slots=True, eq=False)
class _Offers:
    """Strokes and the points at which they may be begun.

    Attributes:
        strokes: The strokes.
        lines: Their points, with a few more where a line is begun so that it does not show.
        starts: The points at which they may be begun, stroke after stroke.
        offered: How many they are for each.
        closed: Whether each is.
    """

    strokes: list[Stroke]
    lines: list[Reals]
    starts: Wholes
    offered: Wholes
    closed: NDArray[np.bool_]

    def doors(self, start: tuple[float, float]) -> Doors:
        """Where they may be entered by a tool that is at a place."""
        return doors_at(self.lines, self.starts, self.offered, self.closed, start)

    def taken(self, doors: Doors, way: Wholes) -> list[Stroke]:
        """The strokes in an order, each begun at its door; `way` is a door of each."""
        rounds = np.where(self.closed, [len(line) for line in self.lines], 0)
        which, starts = doors.owner[way] - 1, doors.point[way]
        runs = begun_at(self.lines, which, starts, rounds)
        found = []
        for line, start, run in zip(which.tolist(), starts.tolist(), runs, strict=True):
            stroke = self.strokes[line]
            as_before = start == 0 and self.lines[line] is stroke.points
            found.append(stroke if as_before else Stroke(stroke.role, run, stroke.closed, stroke.placement))
        return found


def _offers(strokes: list[Stroke], inner: Mapping[int, Sequence[Stroke]]) -> _Offers:
    """Where strokes may be begun; `inner` are the strokes inside an outline, by its `id`."""
    lines: list[Reals] = [stroke.points for stroke in strokes]
    counts = np.array([len(line) for line in lines])
    closed = np.array([stroke.closed for stroke in strokes])
    round_ = closed & (counts > 2)
    drilled = np.array([stroke.role is Role.DRILL for stroke in strokes])
    step = np.where(round_, np.where(drilled, _EVERY, -(-counts // _OFFERED)), np.maximum(counts - 1, 1))
    offered = np.where(round_, -(-counts // step), np.minimum(counts, 2))
    starts = np.repeat(step, offered) * steps(offered)
    quiet = {}
    for index in np.flatnonzero(round_ & [stroke.role in _BEGUN_QUIETLY for stroke in strokes]).tolist():
        notches = [line.points for line in inner.get(id(strokes[index]), ()) if line.role is Role.NOTCH]
        quiet[index] = quiet_starts(lines[index], notches)
    parts = np.split(starts, np.cumsum(offered)[:-1]) if quiet else [starts]
    for index, (points, own) in quiet.items():
        lines[index], parts[index], offered[index] = points, own, len(own)
    return _Offers(strokes, lines, np.concatenate(parts), offered, closed)


def quiet_starts(outline: Reals, notches: Sequence[Reals] = ()) -> tuple[Reals, Wholes]:
    """Where a closed line may be begun so that it does not show: in the middle of a straight or gentle run.

    Args:
        outline: `(n, 2)`, mm, the first point not repeated.
        notches: Lines that start on the outline.

    Returns:
        The outline, with a point more in the middle of its longer straight bits, and which of its points will do: those
        at least `CLEAR` from corners and notches, or, where there are none, those farthest from them.
    """
    run = np.concatenate([outline[1:], outline[:1]]) - outline
    long = np.hypot(run[:, 0], run[:, 1]) > 2 * CLEAR
    points = np.repeat(outline, 1 + long, axis=0)
    points[np.cumsum(1 + long)[long] - 1] += run[long] / 2
    run = np.concatenate([points[1:], points[:1]]) - points
    length = np.hypot(run[:, 0], run[:, 1])
    along = np.concatenate([[0.0], np.cumsum(length)])
    heading = np.arctan2(run[:, 1], run[:, 0])
    bend = np.abs((heading - np.concatenate([heading[-1:], heading[:-1]]) + np.pi) % (2 * np.pi) - np.pi)
    feet = [int(np.hypot(*(points - notch[0]).T).argmin()) for notch in notches]
    places = np.sort(along[[*np.flatnonzero(bend > np.deg2rad(CORNER_DEG)), *feet]])
    if len(places):
        around = np.concatenate([places[-1:] - along[-1], places, places[:1] + along[-1]])
        after = np.searchsorted(around, along[:-1], side="right")
        clear = np.minimum(along[:-1] - around[after - 1], around[np.minimum(after, len(around) - 1)] - along[:-1])
    else:
        clear = np.full(len(points), np.inf)
    good = np.flatnonzero(clear >= min(CLEAR, float(clear.max())))
    return points, good[:: -(-len(good) // _OFFERED)]


def _end(stroke: Stroke) -> tuple[float, float]:
    """Where a stroke is left."""
    x, y = stroke.points[0 if stroke.closed else -1].tolist()
    return x, y
