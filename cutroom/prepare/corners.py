"""Corners of a cut line: how the allowance of one edge meets that of the next."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import PieceError
from cutroom.geometry.offset import join, turning
from cutroom.geometry.polyline import unit
from cutroom.model.piece import Corner, Edge, EdgeKind, Piece
from cutroom.prepare.hems import TurnMark, folded_back

MITRE_LIMIT = 2.5
"""A corner runs out no further from its turn point than this many times the wider allowance; then it is blunted."""
FARTHEST = 10.0
"""A continued corner may run out this many times the wider allowance."""
CLIP_OVER = np.radians(30.0)
"""Hollow corners that turn by more than this are marked to be clipped (common practice, no source)."""
CLIP_CLEAR = 3.0
"""A clip ends this far (mm) short of the turn point."""
_SHORTEST_CLIP = 2.0
_SHALLOW = np.radians(60.0)
_RUN_OUT = 1.5

Line = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Met:
    """Two moved edges as they end at their corner.

    Attributes:
        first: The cut line of the edge before.
        second: The cut line of the edge after.
        between: Points between them.
        turns: Marks where a hem turns, on the cut line of the seam beside it.
        clip: A slit to clip a hollow corner by, from the cut line inwards, or None.
    """

    first: Line
    second: Line
    between: Line
    turns: tuple[TurnMark, ...] = ()
    clip: Line | None = None


def meet(piece: Piece, before: Edge, after: Edge, first: Line, second: Line) -> Met:
    """Finish the corner between two edges.

    Args:
        piece: For messages.
        before: The edge that ends in the corner; its `corner` says how.
        after: The edge that starts there.
        first: `(n, 2)`, the first edge moved out by its allowance (mm).
        second: `(m, 2)`, likewise.

    Raises:
        PieceError: The corner asked for cannot be made there.
    """
    corner = before.points[-1]
    bend = turning(before.points[-1] - before.points[-2], after.points[1] - after.points[0])
    wanted = chosen(before, after, bend)
    if wanted is Corner.STEPPED:
        return Met(first, second, _nothing())
    if wanted is Corner.FOLDED_NEXT:
        kept, between, hem, turns = folded_back(piece, after, before, corner, after.points[1] - corner, first, second)
        return Met(kept, hem, between, turns)
    if wanted is Corner.FOLDED:
        along = before.points[-2] - corner
        kept, between, hem, turns = folded_back(piece, before, after, corner, along, second[::-1], first[::-1])
        return Met(hem[::-1], kept[::-1], between[::-1], turns)
    if wanted is Corner.SQUARED and bend > 0:
        return _squared(before, first, second) or _mitred(before, after, bend, first, second)
    if wanted is Corner.SQUARED_NEXT and bend > 0:
        turned = Edge(after.name, after.points[::-1], after.allowance)
        met = _squared(turned, second[::-1], first[::-1], side=-1.0)
        return Met(met.second[::-1], met.first[::-1], met.between[::-1]) if met else _mitred(
            before, after, bend, first, second)  # fmt: skip
    if wanted is Corner.BLUNTED and bend > 0:
        return _blunted(before, after, first, second)
    if wanted is Corner.CONTINUED and bend > 0:
        return _continued(piece, before, after, first, second)
    met = _mitred(before, after, bend, first, second)
    if wanted is Corner.CLIPPED and bend < 0:
        return Met(met.first, met.second, met.between, clip=_clip(corner, met.first[-1]))
    return met


def chosen(before: Edge, after: Edge, bend: float) -> Corner:
    """The treatment of a corner: as asked, or what a cutter would do who is told nothing.

    Args:
        before: The edge that ends in it.
        after: The edge that starts in it.
        bend: The turn there (radians), positive at an outer corner.
    """
    kinds = {before.kind, after.kind}
    if EdgeKind.FOLD in kinds:
        return Corner.CLEARED
    if before.corner is not Corner.AUTO:
        return before.corner
    if _steps(bend, before.allowance, after.allowance):
        return Corner.STEPPED
    if kinds == {EdgeKind.HEM, EdgeKind.SEAM}:
        return Corner.FOLDED if before.kind is EdgeKind.HEM else Corner.FOLDED_NEXT
    if bend < -CLIP_OVER and min(before.allowance, after.allowance) > 0:
        return Corner.CLIPPED
    return Corner.MITRED if bend > 0 else Corner.CLEARED


def _nothing() -> Line:
    return np.zeros((0, 2))


def _steps(bend: float, first: float, second: float) -> bool:
    """Whether unlike allowances step square where a shallow corner would make one run far into the other."""
    if first == second or abs(bend) >= _SHALLOW:
        return False
    across, cos = abs(math.sin(bend)) * max(first, second) * _RUN_OUT, math.cos(bend)
    return max(abs(first * cos - second), abs(second * cos - first)) > across


def _mitred(before: Edge, after: Edge, bend: float, first: Line, second: Line) -> Met:
    joined = join(first, second)
    if joined is None:
        return Met(first, second, _nothing())
    kept, started, tip = joined
    corner = before.points[-1]
    limit = MITRE_LIMIT * max(before.allowance, after.allowance)
    away = tip - corner
    reach = math.hypot(*away.tolist())
    if bend > 0 and reach > limit and EdgeKind.FOLD not in {before.kind, after.kind}:
        return _cut_off(first, second, corner + away / reach * limit, away)
    return Met(kept, started, _nothing())


def _cut_off(first: Line, second: Line, middle: Line, away: Line) -> Met:
    """A long corner cut off square at a point."""
    across = np.array([-away[1], away[0]]) / np.hypot(*away)
    stop = np.vstack([middle - across, middle + across])
    one, two = join(first, stop), join(stop, second)
    if one is None or two is None:
        return Met(first, second, _nothing())
    return Met(one[0], two[1], _nothing())


def _blunted(before: Edge, after: Edge, first: Line, second: Line) -> Met:
    """Cut off square to the middle of the corner, no further out than the wider allowance."""
    corner = before.points[-1]
    one, two = unit(before.points[-1] - before.points[-2]), unit(after.points[1] - after.points[0])
    out = np.array([one[1] + two[1], -one[0] - two[0]])
    if np.hypot(*out) < 1e-6:
        out = one
    out = unit(out)
    widest = max(before.allowance, after.allowance)
    joined = join(first, second)
    if widest == 0 or (joined is not None and float((joined[2] - corner) @ out) <= widest):
        return Met(joined[0], joined[1], _nothing()) if joined else Met(first, second, _nothing())
    return _cut_off(first, second, corner + out * widest, out)


def _squared(edge: Edge, first: Line, second: Line, *, side: float = 1.0) -> Met | None:
    """The first edge is sewn first: its allowance ends square where its seam line meets the next one's cut line."""
    corner = edge.points[-1]
    along = unit(edge.points[-1] - edge.points[-2])
    crossed = join(np.vstack([corner - along, corner]), second)
    if crossed is None:
        return None
    ran = float((crossed[2] - corner) @ along)
    if not 0 <= ran <= 4 * max(edge.allowance, float(np.hypot(*(second[0] - corner)))):
        return None
    end = crossed[2] + side * edge.allowance * np.array([along[1], -along[0]])
    return Met(np.vstack([first[:-1], end]), crossed[1], _nothing())


def _continued(piece: Piece, before: Edge, after: Edge, first: Line, second: Line) -> Met:
    joined = join(first, second)
    widest = max(before.allowance, after.allowance)
    ran = float("inf") if joined is None else float(np.hypot(*(joined[2] - before.points[-1])))
    if joined is None or ran > FARTHEST * widest > 0:
        raise PieceError(
            f"its continued corner would run out {ran:.0f} mm, wanted no more than {FARTHEST * widest:.0f} mm",
            'Make the corner "mitred" or "squared"',
            place=f'piece "{piece.name}", corner of "{before.name}" and "{after.name}"',
        )
    return Met(joined[0], joined[1], _nothing())


def _clip(corner: Line, tip: Line) -> Line | None:
    inwards = corner - tip
    size = float(np.hypot(*inwards))
    if size - CLIP_CLEAR < _SHORTEST_CLIP:
        return None
    return np.vstack([tip, tip + inwards * (1 - CLIP_CLEAR / size)])
