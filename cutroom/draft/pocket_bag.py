"""The bag of a pocket in a side seam: straight along the seam, caught in the waist, rounded below the opening.

From memory, the usual bag in our own words: it reaches a hand's length below the opening and as far in as a hand is
long; notches mark both ends of the opening on the seam, and 20 mm of seam below it holds the bag.
"""

from collections.abc import Mapping

import numpy as np

from cutroom.draft.lines import named, point
from cutroom.draft.options import Option, Told
from cutroom.errors import DraftError
from cutroom.geometry.curve import smooth_curve
from cutroom.model.piece import Cut, Edge, Hand, Notch, Piece, Style
from cutroom.units import both_units

OPTIONS = (
    Option("opening", 160.0, "Length of the opening in the seam"),
    Option("above", 40.0, "From the waist down to the opening"),
    Option("bag depth", 110.0, "From the end of the opening down to the bottom of the bag"),
    Option("bag width", 150.0, "From the seam in to the far side of the bag"),
    Option("waist width", 120.0, "How much of the waist seam it is caught in"),
)
HELD = 20.0
"""Seam below the opening that the bag is sewn to (mm)."""


def draft_pocket_bag(name: str, size: str, _measures: Mapping[str, float], told: Told) -> Style:
    """Draft the bag of a side pocket; it takes no measurements. Two pairs make two pockets.

    Args:
        name: Name of the style.
        size: A size or a client's code.
        _measures: Of no weight.
        told: The options of `OPTIONS`.

    Raises:
        DraftError: A hand does not pass the opening, or the bag has no room for it.
    """
    opening, above, deep, wide, waist = (told.length(option.name) for option in OPTIONS)
    for option, value, least in (("opening", opening, 100.0), ("bag depth", deep, 50.0), ("bag width", wide, 90.0)):
        if value < least:
            what = f"a pocket with a{'n' if option == 'opening' else ''} {option} of {both_units(value)} takes no hand"
            raise DraftError(what, f"Make it {both_units(least)} or more", place=option)
    if above < 0 or not 20 <= waist <= wide:
        what = f"a bag {both_units(wide)} wide cannot be caught in {both_units(waist)} of the waist"
        raise DraftError(what, f"Make it {both_units(20)} to {both_units(wide)}", place="waist width")
    low, high = deep - HELD, above + opening + deep
    corners = point(wide - waist, high), point(0.0, low + (high - low) * 0.3), point(wide * 0.45, 0.0), point(wide, low)
    ways = point(0.0, -1.0), point(0.0, -1.0), point(1.0, 0.0), point(1.0, 1.2)
    outer = np.vstack(
        [
            corners[0],
            *(smooth_curve(np.vstack(corners[n : n + 2]), start=ways[n], end=ways[n + 1])[1:] for n in range(3)),
        ]
    )
    bag = Piece(
        "pocket bag",
        (
            Edge("outer", outer),
            Edge("side", np.array([[wide, low], [wide, high]])),
            Edge("waist", np.array([[wide, high], [wide - waist, high]])),
        ),
        np.array([[wide * 0.6, high - 20], [wide * 0.6, high * 0.3]]),
        cut=Cut.PAIR,
        quantity=2,
        hand=Hand.RIGHT,
        notches=(Notch("side", HELD, name="pocket end"), Notch("side", HELD + opening, name="pocket top")),
        construction=(named("opening", point(wide, deep), point(wide, deep + opening)),),
    )
    facts = ("pocket", f"opening of {both_units(opening)}, {both_units(above)} below the waist")
    return Style(name, size, (bag,), (), (facts,))
