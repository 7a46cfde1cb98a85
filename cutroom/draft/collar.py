"""Collars for a neck that opens at the centre back: a stand, or a flat collar.

Common practice, no source.

*Stand.* Half of it on the fold at the centre front. Its neck edge has the length of the neck and rises to the opening
by the spring, so that it leans to the neck; the upper edge runs parallel.
*Flat.* Front and back are laid together with their shoulders overlapped at the arm, which draws the outer edge in so
that the collar rolls a little; the collar has the neck's own line and one width. Left and right are two pieces.
"""

import numpy as np
from numpy.typing import NDArray

from cutroom.draft.lines import mirrored_piece, named, point, turned, unit
from cutroom.errors import DraftError
from cutroom.geometry.affine import reflect_points
from cutroom.geometry.curve import smooth_curve
from cutroom.geometry.offset import offset_line
from cutroom.geometry.polyline import length, part_of, point_at
from cutroom.model.piece import Cut, Edge, EdgeKind, Hand, Notch, Piece, SewnSeam
from cutroom.units import both_units

Line = NDArray[np.float64]


def draft_stand(front: Piece, back: Piece, height: float, spring: float) -> Piece:
    """Half a stand collar, on the fold at the centre front.

    Args:
        front: Its neck edge is `neck`.
        back: The same.
        height: Height of the stand (mm).
        spring: Rise of the neck edge at the opening (mm).

    Returns:
        The collar; its edge sewn to the neck is `neck`, with a notch at the shoulder.

    Raises:
        DraftError: The spring is too much for the neck.
    """
    shoulder = length(front.edge("neck").points)
    around = shoulder + length(back.edge("neck").points)
    if not 0 <= spring < around / 4 or not 10 <= height < around / 2:
        raise DraftError(
            f"a stand {both_units(height)} high with a spring of {both_units(spring)} does not fit a neck of "
            f"{both_units(2 * around)}",
            "Make it lower, or the spring less",
            place="collar",
        )

    def curve(wide: float) -> Line:
        return smooth_curve(np.array([[0.0, 0.0], [wide, spring]]), start=point(1.0, 0.0))

    low, high = around / 2, around
    while high - low > 1e-6:
        middle = (low + high) / 2
        low, high = (middle, high) if length(curve(middle)) < around else (low, middle)
    neck = curve(high)
    upper = offset_line(neck[::-1], height)
    upper[-1, 0] = 0.0
    return Piece(
        "collar",
        (
            Edge("neck", neck),
            Edge("back end", np.vstack([neck[-1], upper[0]])),
            Edge("outer", upper),
            Edge("centre front", np.vstack([upper[-1], neck[0]]), kind=EdgeKind.FOLD),
        ),
        np.array([[around * 0.25, height * 0.85], [around * 0.25, height * 0.25]]),
        cut=Cut.FOLD,
        quantity=2,
        hand=Hand.RIGHT,
        notches=(Notch("neck", shoulder, name="shoulder"),),
        construction=(named("neck line", point(0.0, 0.0), point(high, 0.0)),),
    )


def draft_flat(front: Piece, back: Piece, width: float, *, overlap: float, corner: float) -> Piece:
    """A flat collar of one width, for one half of the neck.

    Args:
        front: Its neck edge is `neck`, its shoulder `shoulder`.
        back: The same.
        width: Width of the collar (mm).
        overlap: How far the shoulders overlap at the arm (mm).
        corner: Radius of the front corner (mm), about.

    Returns:
        A pair, twice; its edge sewn to the neck is `neck`, with a notch at the shoulder.

    Raises:
        DraftError: It is wider than the shoulder, or its corner than itself.
    """
    front, back = (one if _centre_left(one) else mirrored_piece(one) for one in (front, back))
    arm = length(front.edge("shoulder").points)
    if not 15 <= width < arm - 10 or not 0 <= corner < width or not 0 <= overlap < arm / 3:
        raise DraftError(
            f"a collar {both_units(width)} wide does not lie on a shoulder of {both_units(arm)}",
            "Make it narrower, its corner smaller, or the overlap less",
            place="collar",
        )
    side, way = _shoulder(front)
    other, other_way = _shoulder(back)
    angle = np.rad2deg(np.arctan2(way[1], way[0]) - np.arctan2(other_way[1], other_way[0]))
    laid = turned(back.edge("neck").points - other, np.zeros(2), float(angle)) + side
    laid = reflect_points(laid, side, way)
    laid = turned(laid, side, -float(np.rad2deg(np.arcsin(overlap / arm))))
    neck = np.vstack([front.edge("neck").points[::-1], laid[1:]])  # centre front, shoulder, centre back
    outer = offset_line(neck, width)
    pit, down = neck[0], unit(outer[0] - neck[0])
    edge = outer
    if corner:
        kept = part_of(outer, corner, length(outer))
        start = pit + down * (width - corner)
        edge = np.vstack([smooth_curve(np.vstack([start, kept[0]]), start=down, end=kept[1] - kept[0]), kept[1:]])
    back_way = unit(outer[-1] - neck[-1])
    spot, along = point_at(neck, length(neck) * 0.8)
    middle = spot + point(float(along[1]), -float(along[0])) * width / 2
    shoulder = length(laid)
    return Piece(
        "collar",
        (
            Edge("neck", neck[::-1]),
            Edge("front end", np.vstack([pit, edge[0]])),
            Edge("outer", edge),
            Edge("back end", np.vstack([edge[-1], neck[-1]])),
        ),
        np.vstack([middle - back_way * width * 0.3, middle + back_way * width * 0.3]),
        cut=Cut.PAIR,
        quantity=2,
        hand=Hand.LEFT,
        notches=(Notch("neck", shoulder, name="shoulder"),),
        construction=(named("shoulder line", side, side + way * arm),),
    )


def collar_seam(*, stand: bool) -> SewnSeam:
    """The neck, from the centre front round to the centre back, and the collar's edge."""
    return SewnSeam("collar", (("front", "neck"), ("back", "neck")), (("collar", "neck"),), second_from_end=not stand)


def _centre_left(body: Piece) -> bool:
    return float(body.edge("shoulder").points[:, 0].max()) > 0


def _shoulder(body: Piece) -> tuple[Line, Line]:
    """The side of the neck `(2,)`, and the unit direction from there along the shoulder."""
    side = body.edge("neck").points[0]
    ends = body.edge("shoulder").points[[0, -1]]
    far = max(ends, key=lambda end: float(np.hypot(*(end - side))))
    return side, unit(far - side)
