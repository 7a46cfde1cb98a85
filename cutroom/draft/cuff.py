"""A straight cuff, folded along its lower edge when worn, with an underlap for the button."""

import numpy as np

from cutroom.draft.lines import named, point
from cutroom.model.piece import Cut, Edge, Hand, NamedLine, Piece


def draft_cuff(long: float, deep: float, underlap: float) -> Piece:
    """A cuff for a sleeve gathered into it.

    Args:
        long: Round the wrist when closed (mm).
        deep: Depth when worn (mm); it is cut twice as deep.
        underlap: What goes under the other end (mm).

    Returns:
        A pair; the edge sewn to the sleeve is `wrist`, and beside it, on the back of the sleeve, `underlap`. A drawn
        line is the fold; the buttonhole and the button are marked. It may lie across the grain.
    """
    end, inside = long + underlap, 2 * deep
    half = deep / 2
    return Piece(
        "cuff",
        (
            Edge("wrist", np.array([[0.0, 0.0], [long, 0.0]])),
            Edge("underlap", np.array([[long, 0.0], [end, 0.0]])),
            Edge("back end", np.array([[end, 0.0], [end, inside]])),
            Edge("inside", np.array([[end, inside], [0.0, inside]])),
            Edge("front end", np.array([[0.0, inside], [0.0, 0.0]])),
        ),
        np.array([[end * 0.3, inside * 0.9], [end * 0.3, inside * 0.1]]),
        cut=Cut.PAIR,
        hand=Hand.RIGHT,
        crossways=True,
        lines=(named("fold", point(0.0, deep), point(end, deep)), *_buttons(long, half, underlap)),
    )


def _buttons(long: float, half: float, underlap: float) -> tuple[NamedLine, ...]:
    """A buttonhole 15 mm long, 12 mm from the front end, and a cross for the button it meets."""
    x = long + min(12.0, underlap / 2)
    return (
        named("buttonhole", point(12.0, half), point(27.0, half)),
        named("button", point(x - 3, half), point(x + 3, half)),
        named("button", point(x, half - 3), point(x, half + 3)),
    )
