"""Lettering along the length of a piece where there is no room for it along the grain; legible from 3 mm on.

3 mm is the least height of capitals that the room reads on a plot (common practice, no source).
"""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from cutroom.geometry.lettering import text_strokes
from cutroom.model.fabric import Fabric
from cutroom.model.piece import Cut, Piece, Style
from cutroom.model.plot import Role
from cutroom.model.prepared import Label, PreparedPiece
from cutroom.plot.compose import compose
from cutroom.prepare.check import check_pieces
from cutroom.prepare.label import longest_way
from cutroom.prepare.ready import prepare
from cutroom.proof.marker import prove_marker
from tests.builders import a_marker, a_placement
from tests.drawing import a_polygon_piece

CLOTH = Fabric("linen", 2000.0)


def _band(turn_deg: float, long: float = 700.0, wide: float = 38.0, cut: Cut = Cut.PAIR) -> Piece:
    """A band whose length lies at an angle to its grain."""
    way = np.array([np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))])
    middle = np.array([long / 2, wide / 2])
    reach = min(0.4 * wide / max(abs(way[1]), 1e-9), 0.4 * long / max(abs(way[0]), 1e-9))
    grain = np.vstack([middle - reach * way, middle + reach * way])
    return a_polygon_piece([(0, 0), (long, 0), (long, wide), (0, wide)], name="waistband", grain=grain, cut=cut)


def _prepared(piece: Piece) -> PreparedPiece:
    return prepare(piece, garment="trousers for Ines", size="12", fabric=CLOTH, number=7)


def _box(piece: PreparedPiece, *, flipped: bool = False, turn_deg: float = 0.0) -> tuple[np.ndarray, PreparedPiece]:
    placement = a_placement(piece, 1000.0, 1000.0, turn_deg=turn_deg, flipped=flipped)
    marker = a_marker(fabric=CLOTH, pieces=[piece], placements=[placement], length=2000.0)
    strokes = compose(marker, legend=(), title="linen").strokes
    letters = [stroke.points for stroke in strokes if stroke.role is Role.LABEL and stroke.placement == 0]
    seam = next(stroke.points for stroke in strokes if stroke.role is Role.SEAM and stroke.placement == 0)
    inside = shapely.Polygon(seam).buffer(-2.5)
    assert all(inside.covers(shapely.LineString(line)) for line in letters)
    return np.vstack(letters), piece


def _reads(label: Label, letters: np.ndarray) -> float:
    """The direction (degrees) in which the lettering reads, and that it is not mirrored."""
    first = np.vstack(text_strokes(label.words[0], label.height))
    there = letters[: len(first)]
    solved = np.linalg.lstsq(np.column_stack([first, np.ones(len(first))]), there, rcond=None)[0]
    along, up = solved[0], solved[1]
    assert along[0] * up[1] - along[1] * up[0] == pytest.approx(1.0, abs=1e-3)
    return float(np.degrees(np.arctan2(along[1], along[0])))


@pytest.mark.parametrize("wide", [30.0, 38.0, 45.0])
def test_a_band_cut_across_the_grain_is_lettered_along_its_length(wide: float) -> None:
    piece = _prepared(_band(90.0, wide=wide))
    assert piece.label.height >= 5.0
    assert piece.number == 0
    said = " ".join(piece.label.words)
    assert all(word in said for word in ("trousers for Ines", "waistband", "12", "cut 1 pair", "linen"))
    assert abs(piece.label.turn_deg) == pytest.approx(90.0)
    letters, _ = _box(piece)
    assert abs(_reads(piece.label, letters)) == pytest.approx(90.0)  # piece axes: the grain along x


def test_a_band_along_the_grain_is_lettered_along_the_grain() -> None:
    piece = _prepared(_band(0.0))
    assert piece.label.turn_deg == 0.0
    assert piece.label.height >= 5.0


def test_a_piece_with_room_for_all_of_it_stays_along_the_grain() -> None:
    assert _prepared(_band(90.0, long=400.0, wide=200.0)).label.turn_deg == 0.0


@settings(max_examples=40, deadline=None)
@given(
    off=st.floats(-89.0, 90.0),
    flipped=st.booleans(),
    turn=st.sampled_from((0.0, 90.0, 180.0, 270.0)) | st.floats(-360.0, 720.0),
    wide=st.floats(16.0, 60.0),
)
def test_however_it_is_laid_it_reads_and_lies_inside(off: float, flipped: bool, turn: float, wide: float) -> None:
    piece = _prepared(_band(off, wide=wide))
    label = piece.label_mirrored if flipped else piece.label
    assert label.height >= 3.0
    letters, _ = _box(piece, flipped=flipped, turn_deg=turn)
    assert -90.0 < _reads(label, letters) <= 90.0 + 1e-3  # strokes are whole thousandths of a millimetre
    said = " ".join(label.words).split()
    assert not ("left" in said and "right" in said)


def test_a_marker_with_turned_lettering_is_proven() -> None:
    piece = _prepared(_band(60.0))
    placements = [a_placement(piece, 500.0, 300.0), a_placement(piece, 500.0, 1400.0, flipped=True, turn_deg=180.0)]
    marker = a_marker(fabric=CLOTH, pieces=[piece], placements=placements, length=2000.0)
    assert not any("letter" in found.what for found in prove_marker(marker))


def test_the_long_side_is_found() -> None:
    box = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 20.0], [0.0, 20.0]])
    assert longest_way(box) == pytest.approx(0.0)
    for turn in (-80.0, -30.0, 15.0, 90.0):
        cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))
        assert abs((longest_way(box @ np.array([[cos, sin], [-sin, cos]])) - turn + 90) % 180 - 90) < 1e-6


def test_what_has_room_along_its_length_is_not_said_to_be_too_small() -> None:
    band = _band(90.0, long=120.0, wide=14.0, cut=Cut.SINGLE)
    assert not any("too small" in found.what for found in check_pieces(Style("s", "12", (band,))))
    tiny = _band(90.0, long=30.0, wide=8.0, cut=Cut.SINGLE)
    assert any("too small" in found.what for found in check_pieces(Style("s", "12", (tiny,))))
