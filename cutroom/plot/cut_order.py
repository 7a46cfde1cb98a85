"""The order in which pieces are cut: whatever lies inside a piece before its outline, and no loose piece in the way.

A piece is held by the cloth around it until its outline is closed. So its notches, drill holes and cut-outs come first,
then its outline, then the next piece near by; a piece that lies in a cut-out of another comes before that other. Asked
for, the work goes forward in strips along the cloth, for tables that move it on, and small pieces, which come loose
first, are cut before the large ones around them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.polygon import area, contains
from cutroom.model.plot import Role, Stroke
from cutroom.plot.sequence import Doors, shortest_way, travel

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
        offers = [_offer(stroke, ()) for stroke in loose]
        doors = _doors(offers, start)
        ordered += _taken(offers, doors, shortest_way(doors)[1:])
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

    offers = [
        offer
        for piece in pieces
        for offer in (*(_offer(stroke, ()) for stroke in piece.inner), _offer(piece.outline, piece.inner))
    ]
    doors = _doors(offers, start)
    first = doors.first
    counts = np.array([len(piece.inner) + 1 for piece in pieces])
    lines = np.concatenate([[1], 1 + np.cumsum(counts)]).astype(np.int64)
    ways = []
    for order in (_by_middles(pieces, start), _by_outlines(doors, lines)):
        way = pieces_way(doors.places, doors.back, doors.owner, first, lines, order, 0, _SWEEPS)
        ways.append(np.concatenate([[0], way]))
    return _taken(offers, doors, min(ways, key=lambda way: travel(doors, way))[1:])


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
class _Offer:
    """A stroke and the points at which it may be begun."""

    stroke: Stroke
    points: Reals
    starts: Wholes


def _offer(stroke: Stroke, inner: tuple[Stroke, ...]) -> _Offer:
    last = len(stroke.points) - 1
    if not stroke.closed or last < 2:
        return _Offer(stroke, stroke.points, np.array([0, last] if last else [0]))
    if stroke.role is Role.DRILL:
        return _Offer(stroke, stroke.points, np.arange(0, last + 1, _EVERY))
    if stroke.role not in _BEGUN_QUIETLY:
        return _Offer(stroke, stroke.points, np.arange(0, last + 1, -(-(last + 1) // _OFFERED)))
    points, starts = quiet_starts(stroke.points, [line.points for line in inner if line.role is Role.NOTCH])
    return _Offer(stroke, points, starts)


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
    long = np.flatnonzero(np.hypot(run[:, 0], run[:, 1]) > 2 * CLEAR)
    points = np.insert(outline, long + 1, outline[long] + run[long] / 2, axis=0)
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


def _doors(offers: Sequence[_Offer], start: tuple[float, float]) -> Doors:
    counts = np.array([len(offer.starts) for offer in offers])
    loose = np.repeat([offer.stroke.closed for offer in offers], counts)
    itself = np.arange(1, len(loose) + 1)
    first = np.repeat(np.cumsum(counts) - counts, counts)
    pair = np.repeat(counts == 2, counts) & ~loose
    other = np.where(pair, itself + np.where(itself - 1 == first, 1, -1), itself)
    return Doors(
        np.vstack([np.asarray(start, dtype=np.float64), *(offer.points[offer.starts] for offer in offers)]),
        np.concatenate([[0], other]),
        np.concatenate([[0], np.repeat(np.arange(1, len(offers) + 1), counts)]),
        np.concatenate([[0], *(offer.starts for offer in offers)]),
        np.concatenate([[False], loose]),
    )


def _taken(offers: Sequence[_Offer], doors: Doors, way: Wholes) -> list[Stroke]:
    strokes = []
    for line, point in zip(doors.owner[way].tolist(), doors.point[way].tolist(), strict=True):
        offer = offers[line - 1]
        stroke, points = offer.stroke, offer.points
        if point and stroke.closed:
            points = np.concatenate([points[point:], points[:point]])
        elif point:
            points = points[::-1]
        elif points is stroke.points:
            strokes.append(stroke)
            continue
        strokes.append(Stroke(stroke.role, points, stroke.closed, stroke.placement))
    return strokes


def _end(stroke: Stroke) -> tuple[float, float]:
    """Where a stroke is left."""
    x, y = stroke.points[0 if stroke.closed else -1].tolist()
    return x, y
