"""Notches, drawn square to the seam line from the cut line inwards, and the slits that hems and folds get unasked."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import PieceError
from cutroom.geometry.offset import turning
from cutroom.geometry.polyline import lengths_along, point_at
from cutroom.geometry.sections import first_hit
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
    closed = np.concatenate([outline, outline[:1]])
    strokes: list[Line] = []
    kinds: list[NotchKind] = []
    measured: dict[str, Line] = {}
    for notch in piece.notches:
        edge, kind = piece.edge(notch.edge), notch.kind or form.kind
        if edge.name not in measured:
            measured[edge.name] = lengths_along(edge.points)
        lengths = measured[edge.name]
        whole = float(lengths[-1])
        depth, width = _size(piece, edge, notch, kind, whole)
        for k in range(notch.count):
            at = notch.at + (k - (notch.count - 1) / 2) * PITCH
            _refuse_near_corner(piece, edge, at, width, whole)
            point, along = _spot(edge, at, lengths)
            outward = np.array([along[1], -along[0]])
            drawn = _draw(kind, point, outward, closed, depth, width, 3 * edge.allowance + 1)
            if drawn is None:
                raise PieceError(
                    f"its notch at {at:.1f} mm does not reach the cut line",
                    "Move the notch off the corner",
                    place=_place(piece, edge),
                )
            stroke, standing = drawn
            strokes.append(stroke)
            kinds.append(kind)
            if standing is not None:
                outline, corners = _put_in(outline, stroke, *standing), np.vstack([corners, stroke])
                closed = np.concatenate([outline, outline[:1]])
    for stroke in (*_turn_marks(outlined, form), *outlined.clips, *_fold_marks(piece, outline, form)):
        if all(math.dist(stroke[0], other[0]) >= APART for other in strokes):
            strokes.append(stroke)
            kinds.append(NotchKind.SLIT)
    return Notched(outline, corners, tuple(strokes), tuple(kinds))


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


def _spot(edge: Edge, at: float, lengths: Line) -> tuple[Line, Line]:
    """A point on the seam line and the direction there; off its ends, straight on."""
    point, along = point_at(edge.points, at, lengths)
    beyond = min(at, 0.0) + max(at - float(lengths[-1]), 0.0)
    return (point + beyond * along if beyond else point), along


def _draw(
    kind: NotchKind, point: Line, outward: Line, closed: Line, depth: float, width: float, reach: float
) -> tuple[Line, tuple[float, float] | None] | None:
    """A notch seen from a point of the seam line; of one that stands out, where it leaves and meets the cut line."""
    along = np.array([-outward[1], outward[0]])
    middle = first_hit(point, outward, closed, reach)
    if middle is None:
        return None
    start = middle[2]
    inner = start - outward * depth
    if kind is NotchKind.SLIT:
        return np.array([start, inner]), None
    side = along * width / 2
    if kind is NotchKind.T:
        return np.vstack([start, inner, inner - side, inner + side]), None
    left, right = (first_hit(point + shift, outward, closed, reach) for shift in (-side, side))
    if left is None or right is None:
        return None
    if kind is NotchKind.BOX:
        return np.vstack([left[2], inner - side, inner + side, right[2]]), None
    if kind is NotchKind.V_IN:
        return np.vstack([left[2], inner, right[2]]), None
    return np.vstack([left[2], start + outward * depth, right[2]]), (left[1], right[1])


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
