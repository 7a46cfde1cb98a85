"""The bag of a side pocket: its notches stand where the opening is, and a hand has room (from memory, no source)."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon

from cutroom.draft.blocks import draft
from cutroom.draft.options import Value
from cutroom.errors import DraftError
from cutroom.geometry.polyline import length
from cutroom.model.order import StyleAsked, Wearer
from cutroom.model.piece import Cut, Piece
from cutroom.prepare.check import check_pieces


def _bag(**options: Value) -> Piece:
    style = draft(StyleAsked("bag", "pocket bag", options), Wearer("T", {}))
    assert check_pieces(style) == ()
    return style.pieces[0]


def _shape(piece: Piece) -> Polygon:
    return Polygon(np.vstack([edge.points[:-1] for edge in piece.edges]))


def test_its_notches_are_the_ends_of_the_opening_from_the_waist() -> None:
    bag = _bag(opening=150.0, above=60.0)
    side = length(bag.edge("side").points)
    at = {notch.name: side - notch.at for notch in bag.notches}  # down from the waist
    assert at == pytest.approx({"pocket top": 60.0, "pocket end": 210.0})
    assert side == pytest.approx(60 + 150 + 20)
    assert (bag.cut, bag.quantity) == (Cut.PAIR, 2)  # two bags of two pieces each


@settings(max_examples=40, deadline=None)
@given(
    opening=st.floats(100, 220),
    above=st.floats(0, 120),
    deep=st.floats(60, 200),
    wide=st.floats(110, 220),
    waist=st.floats(0.3, 1.0),
)
def test_it_is_a_sound_piece_with_room_for_a_hand(
    opening: float, above: float, deep: float, wide: float, waist: float
) -> None:
    bag = _bag(
        **{"opening": opening, "above": above, "bag depth": deep, "bag width": wide, "waist width": waist * wide}
    )
    shape = _shape(bag)
    assert shape.is_valid
    assert shape.exterior.is_ccw
    low_x, low_y, high_x, high_y = shape.bounds
    assert high_x - low_x == pytest.approx(wide, abs=0.5)
    assert high_y - low_y == pytest.approx(above + opening + deep, abs=0.5)
    assert shape.contains(Point(wide * 0.6, deep * 0.6))


@pytest.mark.parametrize(
    ("options", "words", "fix"),
    [
        ({"opening": 80.0}, "takes no hand", "3 15/16 in"),
        ({"bag depth": 20.0}, "a bag depth of 13/16 in", "or more"),
        ({"waist width": 200.0}, "cannot be caught in", "5 7/8 in"),
        ({"above": -10.0}, "cannot be caught in", "Make it"),
    ],
)
def test_a_bag_without_room_is_refused(options: dict[str, Value], words: str, fix: str) -> None:
    with pytest.raises(DraftError) as caught:
        _bag(**options)
    assert words in caught.value.what
    assert fix in caught.value.fix
