"""A straight waistband, folded along its middle when worn."""

import numpy as np

from cutroom.draft.lines import named, point
from cutroom.model.piece import Cut, Edge, EdgeKind, Hand, Notch, Piece


def draft_waistband(
    long: float, wide: float, side: float, *, fold: str = "centre front", overlap: float = 0.0
) -> Piece:
    """Half a waistband, its middle on the fold, its end at the opening.

    Args:
        long: Half the waist on the seam line (mm).
        wide: Width when worn (mm); it is cut twice as wide.
        side: From the fold to the side seam (mm).
        fold: Name of the edge on the fold.
        overlap: What it reaches beyond the opening (mm).

    Returns:
        The waistband; the edge sewn to the garment is `waist`. It may lie across the grain.
    """
    end = long + overlap
    more = (Edge("overlap", np.array([[long, 0.0], [end, 0.0]])),) if overlap else ()
    return Piece(
        "waistband",
        (
            Edge("waist", np.array([[0.0, 0.0], [long, 0.0]])),
            *more,
            Edge("end", np.array([[end, 0.0], [end, 2 * wide]])),
            Edge("inside", np.array([[end, 2 * wide], [0.0, 2 * wide]])),
            Edge(fold, np.array([[0.0, 2 * wide], [0.0, 0.0]]), kind=EdgeKind.FOLD),
        ),
        np.array([[long * 0.3, 1.8 * wide], [long * 0.3, 0.2 * wide]]),
        cut=Cut.FOLD,
        hand=Hand.RIGHT,
        crossways=True,
        notches=(Notch("waist", side, name="side"),),
        lines=(named("fold", point(0.0, wide), point(end, wide)),),
    )
