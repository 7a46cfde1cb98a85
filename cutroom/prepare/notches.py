"""Notches, drawn square to the seam line from the cut line inwards, and the slits that hems and folds get unasked."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import PieceError
from cutroom.geometry.offset import turning
from cutroom.geometry.polyline import lengths_along, place_at
from cutroom.geometry.sections import Point, first_hits
from cutroom.model.piece import Cut, Edge, EdgeKind, Notch, NotchForm, NotchKind, Piece
from cutroom.prepare.allowance import Outlined

DEEPEST = 6.0
"""Depth of a slit (mm) where the allowance is wide enough: 1/4 in at most, as handbooks have it (NIMI, CITS Dress
Making, p. 29: 1/8 to 1/4 in)."""
CLEAR = 3.0
"""A notch ends this far (mm) short of the seam line, at least (common practice, no source)."""
PITCH = 6.0
"""Distance between the slits of a double notch (mm) (common practice, no source)."""
WIDTHS = {NotchKind.SLIT: 0.0, NotchKind.V_IN: 5.0, NotchKind.V_OUT: 5.0, NotchKind.T: 5.0, NotchKind.BOX: 4.0}
"""Width (mm) when nothing is said: a V is 4 to 6 mm wide (common practice, no source)."""
CORNER_CLEAR = 2.0
"""A slit stands at least this far (mm) from a corner; a wider notch, its own width."""
APART = 4.0
"""No notch is set by itself nearer (mm) than this to another (common practice, no source)."""
_CORNER = math.radians(30.0)

Line = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Notched:
    """The notches of a piece, and its cut line with those on it that stand out.

    Attributes:
        outline: `(n, 2)`, the cut line (mm).
        corners: `(k, 2)`, its turn points.
        strokes: One a notch; each starts on the cut line, and a V or a box ends on it.
        kinds: The shape of each.
    """

    outline: Line
    corners: Line
    strokes: tuple[Line, ...]
    kinds: tuple[NotchKind, ...]


def notch_depth(allowance: float, wanted: float = 0.0) -> float:
    """How deep a notch is cut into an allowance (mm): never more than half of it, and clear of the seam line.

    Args:
        allowance: mm.
        wanted: Depth asked for (mm), which may take up all but `CLEAR`; 0 for what is usual.
    """
    if wanted:
        return min(wanted, max(allowance - CLEAR, allowance / 2))
    return min(DEEPEST, max(allowance - CLEAR, allowance / 4), allowance / 2)


def cut_notches(piece: Piece, outlined: Outlined) -> Notched:
    """Draw every notch of a piece.

    Args:
        piece: With its edges and notches.
        outlined: Its cut line in the same axes.

    Returns:
        The notches in the order of the piece, then those of hem turns, clips and fold ends.

    Raises:
        PieceError: A notch is off its edge, on an edge without allowance, deeper than it, nearer to a corner than it
            is wide, or reaches no cut line.
    """
    form = piece.notch_form
    outline, corners = outlined.outline, outlined.corners
    strokes: list[Line] = []
    kinds: list[NotchKind] = []
    spots = list(_spots(piece))
    standing = any(spot.kind is NotchKind.V_OUT for spot in spots)  # those change the cut line for the ones after them
    for group in ([spot] for spot in spots) if standing else [spots]:
        for spot, drawn in zip(group, _drawn(group, outline), strict=True):
            if drawn is None:
                raise PieceError(
                    f"its notch at {spot.at:.1f} mm does not reach the cut line",
                    "Move the notch off the corner",
                    place=_place(piece, spot.edge),
                )
            stroke, ends = drawn
            strokes.append(stroke)
            kinds.append(spot.kind)
            if ends is not None:
                outline, corners = _put_in(outline, stroke, *ends), np.vstack([corners, stroke])
    starts = [stroke[0].tolist() for stroke in strokes]
    for stroke in (*_turn_marks(outlined, form), *outlined.clips, *_fold_marks(piece, outline, form)):
        start = stroke[0].tolist()
        if all(math.dist(start, other) >= APART for other in starts):
            starts.append(start)
            strokes.append(stroke)
            kinds.append(NotchKind.SLIT)
    return Notched(outline, corners, tuple(strokes), tuple(kinds))


class _Spot(NamedTuple):
    """A notch before it is drawn, seen from the seam line (mm)."""

    edge: Edge
    kind: NotchKind
    at: float
    depth: float
    width: float
    point: Point
    outward: Point

    def rays(self) -> list[Point]:
        """Where it is looked outwards from: at its middle, and at both sides of a wide one."""
        (x, y), (out_x, out_y) = self.point, self.outward
        if self.kind in {NotchKind.SLIT, NotchKind.T}:
            return [self.point]
        side_x, side_y = -out_y * self.width / 2, out_x * self.width / 2
        return [self.point, (x - side_x, y - side_y), (x + side_x, y + side_y)]


def _spots(piece: Piece) -> Iterator[_Spot]:
    measured: dict[str, Line] = {}
    for notch in piece.notches:
        edge, kind = piece.edge(notch.edge), notch.kind or piece.notch_form.kind
        if edge.name not in measured:
            measured[edge.name] = lengths_along(edge.points)
        lengths = measured[edge.name]
        whole = float(lengths[-1])
        depth, width = _size(piece, edge, notch, kind, whole)
        for k in range(notch.count):
            at = notch.at + (k - (notch.count - 1) / 2) * PITCH
            _refuse_near_corner(piece, edge, at, width, whole)
            yield _Spot(edge, kind, at, depth, width, *_seen_from(edge, at, lengths))


def _place(piece: Piece, edge: Edge) -> str:
    return f'piece "{piece.name}", edge "{edge.name}"'


def _size(piece: Piece, edge: Edge, notch: Notch, kind: NotchKind, whole: float) -> tuple[float, float]:
    """Depth and width of a notch (mm), or why it cannot be."""
    form = piece.notch_form
    if not -0.01 <= notch.at <= whole + 0.01:
        raise PieceError(
            f"its notch at {notch.at:.1f} mm is off the edge, which is {whole:.1f} mm long",
            "Put the notch on the edge",
            place=_place(piece, edge),
        )
    if edge.allowance == 0:
        raise PieceError(
            f"it has a notch at {notch.at:.1f} mm and no seam allowance to cut it in",
            "Give the edge an allowance, or leave the notch out",
            place=_place(piece, edge),
        )
    width = form.width or WIDTHS[kind] if kind is not NotchKind.SLIT else 0.0
    if kind is NotchKind.V_OUT:
        return form.depth or DEEPEST, width
    if form.depth > edge.allowance:
        raise PieceError(
            f"its notch at {notch.at:.1f} mm is {form.depth:.1f} mm deep and the allowance only "
            f"{edge.allowance:.1f} mm wide",
            f"Make notches no deeper than {notch_depth(edge.allowance, edge.allowance):.1f} mm, or widen the allowance",
            place=_place(piece, edge),
        )
    return notch_depth(edge.allowance, form.depth), width


def _refuse_near_corner(piece: Piece, edge: Edge, at: float, width: float, whole: float) -> None:
    least = max(width, CORNER_CLEAR)
    if at >= least and whole - at >= least:
        return
    place = piece.edges.index(edge)
    before, after = piece.edges[place - 1], piece.edges[(place + 1) % len(piece.edges)]
    for away, first, second in ((at, before, edge), (whole - at, edge, after)):
        if away < least and _is_corner(first, second):
            raise PieceError(
                f"its notch at {at:.1f} mm stands {max(away, 0.0):.1f} mm from a corner, wanted {least:.1f} mm or more",
                "Move it along the edge, or leave it out",
                place=_place(piece, edge),
            )


def _is_corner(before: Edge, after: Edge) -> bool:
    """Whether two edges meet at a corner, and do not run on in one line of one allowance."""
    if EdgeKind.FOLD in {before.kind, after.kind}:
        return False
    bend = turning(before.points[-1] - before.points[-2], after.points[1] - after.points[0])
    return abs(bend) > _CORNER or before.allowance != after.allowance


def _seen_from(edge: Edge, at: float, lengths: Line) -> tuple[Point, Point]:
    """A point on the seam line, off its ends straight on, and the direction outwards."""
    (x, y), (cos, sin) = place_at(edge.points, at, lengths)
    beyond = min(at, 0.0) + max(at - float(lengths[-1]), 0.0)
    return (x + beyond * cos, y + beyond * sin), (sin, -cos)


def _drawn(spots: Sequence[_Spot], outline: Line) -> Iterator[tuple[Line, tuple[float, float] | None] | None]:
    """Each notch drawn from the cut line; with one that stands out, where it leaves and meets it."""
    rays = [(ray, spot.outward, 3 * spot.edge.allowance + 1) for spot in spots for ray in spot.rays()]
    if not rays:
        return
    starts, alongs, reaches = zip(*rays, strict=True)
    hits = iter(first_hits(starts, alongs, reaches, np.concatenate([outline, outline[:1]])))
    for spot in spots:
        yield _draw(spot, [next(hits) for _ in spot.rays()])


def _draw(spot: _Spot, hits: list[tuple[float, Point] | None]) -> tuple[Line, tuple[float, float] | None] | None:
    met = [hit for hit in hits if hit is not None]
    if len(met) < len(hits):
        return None
    (x, y), (out_x, out_y), depth = met[0][1], spot.outward, spot.depth
    inner_x, inner_y = x - out_x * depth, y - out_y * depth
    if spot.kind is NotchKind.SLIT:
        return np.array([(x, y), (inner_x, inner_y)]), None
    side_x, side_y = -out_y * spot.width / 2, out_x * spot.width / 2
    left, right = (inner_x - side_x, inner_y - side_y), (inner_x + side_x, inner_y + side_y)
    if spot.kind is NotchKind.T:
        return np.array([(x, y), (inner_x, inner_y), left, right]), None
    (leaves, first), (meets, last) = met[1:]
    if spot.kind is NotchKind.BOX:
        return np.array([first, left, right, last]), None
    if spot.kind is NotchKind.V_IN:
        return np.array([first, (inner_x, inner_y), last]), None
    return np.array([first, (x + out_x * depth, y + out_y * depth), last]), (leaves, meets)


def _put_in(outline: Line, stroke: Line, start: float, end: float) -> Line:
    """The outline with the part between two of its places replaced by a stroke."""
    first, last = math.floor(start) + 1, math.floor(end) + 1
    if start <= end:
        ring = np.vstack([outline[:first], stroke, outline[last:]])
    else:
        ring = np.vstack([outline[last:first], stroke])
    apart = np.hypot(*(ring - np.roll(ring, 1, axis=0)).T) > 1e-9
    kept: Line = ring[apart]
    return kept


def _turn_marks(outlined: Outlined, form: NotchForm) -> list[Line]:
    """A slit at both ends of every turn of a hem."""
    if not form.hems:
        return []
    return [
        np.vstack([mark.at, mark.at + mark.inwards * notch_depth(mark.allowance)])
        for mark in outlined.turns
        if mark.allowance > 0
    ]


def _fold_marks(piece: Piece, outline: Line, form: NotchForm) -> list[Line]:
    """A slit at both ends of the fold of a piece in its own axes, fold on y = 0."""
    if not form.folds or piece.cut is not Cut.FOLD:
        return []
    fold = next(i for i, edge in enumerate(piece.edges) if edge.kind is EdgeKind.FOLD)
    on_fold = outline[np.abs(outline[:, 1]) < 1e-6, 0]
    ends = piece.edges[fold].points[[0, -1], 0]
    beside = (piece.edges[fold - 1], piece.edges[(fold + 1) % len(piece.edges)])
    strokes = []
    for x, edge in zip(ends.tolist(), beside, strict=True):
        tip = float(on_fold.max() if x > ends.mean() else on_fold.min())
        if edge.allowance > 0 and abs(tip - x) > 1e-6:
            inwards = math.copysign(notch_depth(edge.allowance), x - tip)
            strokes.append(np.array([[tip, 0.0], [tip + inwards, 0.0]]))
    return strokes
