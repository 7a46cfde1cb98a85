"""However a piece is laid, its lettering is neither mirrored nor upside down, and names the side of the body it is for.

The law is that of any lettering: the map from the letters as drawn to the letters as laid has a positive determinant,
keeps lengths, and its reading direction lies in (-90, 90] degrees.
"""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from cutroom.geometry.lettering import text_strokes
from cutroom.model.fabric import Fabric
from cutroom.model.marker import Placement
from cutroom.model.piece import Cut, Hand, Piece
from cutroom.model.plot import Role
from cutroom.model.prepared import PreparedPiece
from cutroom.plot.compose import compose
from cutroom.prepare.ready import prepare
from tests.builders import a_marker, a_placement
from tests.drawing import a_polygon_piece

CLOTH = Fabric("linen", 2000.0)
WAYS = ((0.0, -1.0), (0.0, 1.0), (1.0, 0.0), (-1.0, 0.0), (0.6, 0.8))


def _prepared(hand: Hand, way: tuple[float, float]) -> PreparedPiece:
    middle = np.array([150.0, 120.0])
    grain = np.vstack([middle - 50 * np.array(way), middle + 50 * np.array(way)])
    piece: Piece = a_polygon_piece(
        [(0, 0), (300, 0), (300, 180), (120, 240), (0, 240)], name="yoke", grain=grain, cut=Cut.PAIR, hand=hand
    )
    return prepare(piece, garment="blouse", size="12", fabric=CLOTH)


@settings(max_examples=80, deadline=None)
@given(
    hand=st.sampled_from(Hand),
    way=st.sampled_from(WAYS),
    flipped=st.booleans(),
    turn=st.sampled_from((0.0, 90.0, 180.0, 270.0)) | st.floats(-360.0, 720.0),
)
def test_lettering_reads(hand: Hand, way: tuple[float, float], flipped: bool, turn: float) -> None:
    piece = _prepared(hand, way)
    placement: Placement = a_placement(piece, 900.0, 900.0, turn_deg=turn, flipped=flipped)
    marker = a_marker(fabric=CLOTH, pieces=[piece], placements=[placement], length=2000.0)
    strokes = compose(marker, legend=(), title="linen").strokes
    laid = [stroke.points for stroke in strokes if stroke.role is Role.LABEL and stroke.placement == 0]
    label = piece.label_mirrored if flipped else piece.label
    first = text_strokes(label.words[0], label.height)
    drawn, there = np.vstack(first), np.vstack(laid[: len(first)])
    assert drawn.shape == there.shape
    solved = np.linalg.lstsq(np.column_stack([drawn, np.ones(len(drawn))]), there, rcond=None)[0]
    assert np.allclose(np.column_stack([drawn, np.ones(len(drawn))]) @ solved, there, atol=1e-6)
    along, up = solved[0], solved[1]
    assert np.isclose(along[0] * up[1] - along[1] * up[0], 1.0)  # not mirrored, and of its own size
    reads = float(np.degrees(np.arctan2(along[1], along[0])))
    assert -90.0 - 1e-6 < reads <= 90.0 + 1e-6
    said = " ".join(label.words).split()
    side, other = (hand.other, hand) if flipped else (hand, hand.other)
    assert side.value in said
    assert other.value not in said
