"""A patch pocket: a turned-down top, straight sides, and a bottom that is square, pointed or rounded."""

from collections.abc import Mapping

import numpy as np

from cutroom.draft.lines import named, point
from cutroom.draft.options import Option, Told
from cutroom.errors import DraftError
from cutroom.geometry.curve import smooth_curve
from cutroom.model.piece import Cut, Edge, EdgeKind, Hand, Piece, Style
from cutroom.units import both_units

OPTIONS = (
    Option("pocket width", 130.0, "Width of the pocket"),
    Option("pocket depth", 150.0, "Top to bottom"),
    Option("bottom", "square", "Shape of the bottom", ("square", "pointed", "rounded")),
    Option("point", 20.0, "How far the bottom is pointed, or the radius of its corners"),
)


def draft_pocket(name: str, size: str, _measures: Mapping[str, float], told: Told) -> Style:
    """Draft a patch pocket; it takes no measurements.

    Args:
        name: Name of the style.
        size: A size or a client's code.
        _measures: Of no weight.
        told: The options of `OPTIONS`.

    Raises:
        DraftError: Its bottom does not leave room for its sides.
    """
    wide, deep, low = (told.length(option) for option in ("pocket width", "pocket depth", "point"))
    if wide < 40 or low > min(deep - 20, wide / 2) or low < 0:
        raise DraftError(
            f"a pocket {both_units(wide)} by {both_units(deep)} has no room for a bottom of {both_units(low)}",
            "Make the pocket larger or the bottom flatter",
            place="patch pocket",
        )
    kind = told.word("bottom")
    up = 0.0 if kind == "square" else low
    if kind == "rounded":
        bend = np.deg2rad(np.linspace(0.0, 90.0, 5))
        left = np.column_stack([low - low * np.cos(bend), low - low * np.sin(bend)])
        right = np.column_stack([wide - low + low * np.sin(bend), low - low * np.cos(bend)])
        down, across = point(0.0, -1.0), point(1.0, 0.0)
        bottom = np.vstack([smooth_curve(left, start=down, end=across), smooth_curve(right, start=across, end=-down)])
    else:
        bottom = np.array([[0.0, up], [wide / 2, 0.0], [wide, up]])
    pocket = Piece(
        "patch pocket",
        (
            Edge("bottom", bottom),
            Edge("right side", np.array([[wide, up], [wide, deep]])),
            Edge("top", np.array([[wide, deep], [0.0, deep]]), kind=EdgeKind.HEM),
            Edge("left side", np.array([[0.0, deep], [0.0, up]])),
        ),
        np.array([[wide / 2, deep * 0.9], [wide / 2, deep * 0.25]]),
        cut=Cut.SINGLE,
        quantity=1,
        hand=Hand.RIGHT,
        construction=(named("middle", point(wide / 2, 0.0), point(wide / 2, deep)),),
    )
    return Style(name, size, (pocket,), (), (("pocket", f"{both_units(wide)} by {both_units(deep)}"),))
