"""A neck facing, taken off the neck of a bodice piece."""

import numpy as np

from cutroom.draft.lines import left_of, mirrored_piece, point, unit
from cutroom.errors import DraftError
from cutroom.geometry.curve import smooth_curve
from cutroom.geometry.polyline import length, point_at
from cutroom.model.piece import Edge, Hand, Piece
from cutroom.units import both_units


def draft_facing(body: Piece, centre: str, width: float) -> Piece:
    """The facing of a piece's neck, of the same width all along.

    It is the body's own neck, shoulder and centre, turned over: its right side lies against the wearer.

    Args:
        body: Front or back.
        centre: Name of its centre edge.
        width: Width of the facing (mm).

    Returns:
        The facing, named after the body, its outer edge named `outer`.

    Raises:
        DraftError: The shoulder or the centre is too short for it.
    """
    left = float(body.edge("shoulder").points[:, 0].max()) > 0
    body = body if left else mirrored_piece(body)  # centre to the left
    neck, shoulder, middle = (body.edge(name) for name in ("neck", "shoulder", centre))
    if width > min(length(shoulder.points), length(middle.points)) - 10:
        raise DraftError(
            f"a facing of {both_units(width)} is wider than the shoulder",
            "Make it narrower",
            place=f"{body.name} facing",
        )
    side, pit = neck.points[0], neck.points[-1]
    along = unit(shoulder.points[0] - side)
    half, way = point_at(neck.points, length(neck.points) / 2)
    low, high = pit - point(0.0, width), side + along * width
    outer = smooth_curve(
        np.vstack([low, half + left_of(way) * width, high]),
        start=point(1.0, 0.0),
        end=neck.points[0] - neck.points[1],
    )
    x = float(side[0]) * 0.25
    top, bottom = float(np.interp(x, neck.points[::-1, 0], neck.points[::-1, 1])), float(low[1])
    facing = Piece(
        f"{body.name} facing",
        (
            Edge("outer", outer),
            Edge("shoulder", np.vstack([high, side])),
            Edge("neck", neck.points),
            Edge(centre, np.vstack([pit, low]), kind=middle.kind),
        ),
        np.array([[x, top - width * 0.2], [x, bottom + width * 0.2]]),
        cut=body.cut,
        hand=Hand.RIGHT,
    )
    return mirrored_piece(facing) if left else facing
