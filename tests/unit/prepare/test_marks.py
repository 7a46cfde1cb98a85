"""Notches of every kind, darts, cut-outs and blocks (measures: common practice, no source)."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from cutroom.errors import PieceError
from cutroom.model.fabric import Fabric
from cutroom.model.piece import Cut, Dart, DrillHole, NamedLine, Notch, NotchForm, NotchKind, Piece, Pressed
from cutroom.model.prepared import PreparedPiece
from cutroom.prepare.allowance import outline_of
from cutroom.prepare.dart import with_darts
from cutroom.prepare.notches import Notched, cut_notches
from cutroom.prepare.ready import prepare
from tests.drawing import a_polygon_piece

LINEN = Fabric("linen", 1500.0)


def square(*notches: Notch, form: NotchForm | None = None, allowance: float = 12.0) -> Piece:
    """A square of 200 mm."""
    points = [(0, 0), (200, 0), (200, 200), (0, 200)]
    return a_polygon_piece(points, allowance, notches=notches, notch_form=form or NotchForm())


def notched(piece: Piece) -> Notched:
    return cut_notches(piece, outline_of(piece))


def ready(piece: Piece, number: int | None = None) -> PreparedPiece:
    return prepare(piece, garment="g", size="s", fabric=LINEN, number=number)


@pytest.mark.parametrize(
    ("kind", "wanted"),
    [
        (NotchKind.SLIT, [(80, -12), (80, -6)]),
        (NotchKind.V_IN, [(77.5, -12), (80, -6), (82.5, -12)]),
        (NotchKind.V_OUT, [(77.5, -12), (80, -18), (82.5, -12)]),
        (NotchKind.T, [(80, -12), (80, -6), (77.5, -6), (82.5, -6)]),
        (NotchKind.BOX, [(78, -12), (78, -6), (82, -6), (82, -12)]),
    ],
)
def test_each_kind_has_its_shape(kind: NotchKind, wanted: list[tuple[float, float]]) -> None:
    done = notched(square(Notch("e0", 80.0, kind=kind)))
    assert done.kinds == (kind,)
    assert done.strokes[0] == pytest.approx(np.array(wanted), abs=1e-9)


def test_a_v_that_stands_out_is_part_of_the_cut_line() -> None:
    done = notched(square(Notch("e0", 80.0, kind=NotchKind.V_OUT)))
    assert shapely.Polygon(done.outline).area == pytest.approx(224**2 + 5 * 6 / 2, abs=1e-6)
    assert shapely.Polygon(done.outline).is_valid


def test_the_job_may_set_kind_depth_and_width() -> None:
    done = notched(square(Notch("e0", 80.0), form=NotchForm(NotchKind.V_IN, depth=4, width=8)))
    assert done.strokes[0] == pytest.approx(np.array([(76, -12), (80, -8), (84, -12)]), abs=1e-9)


@pytest.mark.parametrize(
    ("piece", "words"),
    [
        (square(Notch("e0", 80.0), form=NotchForm(depth=14)), "is 14.0 mm deep and the allowance only 12.0 mm wide"),
        (square(Notch("e0", 3.0, kind=NotchKind.V_IN)), "at 3.0 mm stands 3.0 mm from a corner, wanted 5.0 mm"),
        (square(Notch("e0", 199.0)), "at 199.0 mm stands 1.0 mm from a corner, wanted 2.0 mm"),
        (square(Notch("e0", 210.0)), "at 210.0 mm is off the edge, which is 200.0 mm long"),
        (square(Notch("e0", 80.0), allowance=0), "no seam allowance to cut it in"),
    ],
)
def test_a_notch_that_cannot_be_is_refused_with_piece_and_edge(piece: Piece, words: str) -> None:
    with pytest.raises(PieceError, match=r'piece "piece", edge "e0": .*') as caught:
        notched(piece)
    assert words in caught.value.what


def test_a_notch_may_stand_where_two_edges_run_on_in_one_line() -> None:
    points = [(0, 0), (100, 0), (200, 0), (200, 200), (0, 200)]
    done = notched(a_polygon_piece(points, 12, notches=(Notch("e0", 100.0, count=2),)))
    assert [stroke[0, 0] for stroke in done.strokes] == pytest.approx([97, 103])


@pytest.mark.parametrize("pressed", list(Pressed))
def test_a_pressed_dart_is_caught_in_the_seam(pressed: Pressed) -> None:
    """Folded along its legs and its fold the mouth falls on the edge beside it: here a slanted one."""
    points = [(0.0, 0.0), (200.0, 40.0), (200.0, 200.0), (0.0, 200.0)]
    dart = Dart("waist dart", "e0", 80, 100, (95.0, 120.0), pressed=pressed)
    piece = with_darts(a_polygon_piece(points, 10, darts=(dart,)))
    edge = piece.edges[0].points
    first, last = edge[1], edge[-2]
    tip = edge[2]
    point = np.array(dart.point)
    assert len(edge) == 5
    leg = first if pressed is Pressed.START else last
    beside = edge[0] if pressed is Pressed.START else edge[-1]
    along = (leg - point) / np.hypot(*(leg - point))
    mirrored = point + 2 * ((tip - point) @ along) * along - (tip - point)  # the tip, folded over the leg
    off = (mirrored - leg)[0] * (beside - leg)[1] - (mirrored - leg)[1] * (beside - leg)[0]
    assert off / np.hypot(*(beside - leg)) == pytest.approx(0, abs=1e-6)
    bisector = (first - point) / np.hypot(*(first - point)) + (last - point) / np.hypot(*(last - point))
    assert np.cross(np.append(tip - point, 0), np.append(bisector, 0))[2] == pytest.approx(0, abs=1e-6)
    (hole,) = piece.drills
    assert math.dist(hole.at, dart.point) == pytest.approx(13)
    assert [notch.name for notch in piece.notches] == ["waist dart", "waist dart"]


def test_a_pleat_folded_up_gives_the_edge_its_length_back() -> None:
    points = [(0.0, 0.0), (200.0, 0.0), (200.0, 200.0), (0.0, 200.0)]
    piece = with_darts(a_polygon_piece(points, 10, darts=(Dart("pleat", "e0", 80, 110, (95.0, 60.0), pleat=True),)))
    assert piece.edges[0].points[:, 1] == pytest.approx(0)  # square to its fold, the mouth stays straight
    assert len(piece.lines) == 3
    assert piece.drills == ()


def test_a_dart_off_its_edge_is_refused() -> None:
    points = [(0.0, 0.0), (200.0, 0.0), (200.0, 200.0), (0.0, 200.0)]
    with pytest.raises(PieceError, match=r'dart "d": it opens from 190.0 to 210.0 mm of an edge that is 200.0 mm long'):
        with_darts(a_polygon_piece(points, 10, darts=(Dart("d", "e0", 190, 210, (95.0, 60.0)),)))


def test_a_cut_out_runs_clockwise_and_keeps_the_label_clear() -> None:
    hole = NamedLine("window", np.array([(70.0, 70.0), (130.0, 70.0), (130.0, 130.0), (70.0, 130.0)]))
    done = ready(replace(square(), cutouts=(hole,)))
    (ring,) = done.cutouts
    assert not shapely.LinearRing(ring).is_ccw
    letters = shapely.MultiLineString([stroke + np.array(done.label.centre) for stroke in done.label.strokes])
    assert letters.distance(shapely.Polygon(ring)) >= 2.9


def test_a_cut_out_across_the_seam_line_is_refused() -> None:
    hole = NamedLine("window", np.array([(150.0, 70.0), (230.0, 70.0), (230.0, 130.0)]))
    with pytest.raises(PieceError, match='its cut-out "window" is not wholly inside the seam line'):
        ready(replace(square(), cutouts=(hole,)))


def test_a_block_stands_off_its_piece_all_round_and_says_so() -> None:
    piece = replace(square(Notch("e0", 80.0)), block_margin=15.0)
    done, plain = ready(piece), ready(square(Notch("e0", 80.0)))
    assert shapely.Polygon(done.cut_line).area == pytest.approx((224 + 30) ** 2)
    assert "cut 1 - block: cut again" in done.label.words
    inner = shapely.Polygon(done.lines[-1])
    assert inner.area == pytest.approx(shapely.Polygon(plain.cut_line).area)
    assert shapely.Polygon(done.cut_line).exterior.distance(inner) == pytest.approx(15)


def test_a_piece_too_small_for_its_name_carries_its_number() -> None:
    points = [(0, 0), (14, 0), (14, 12), (0, 12)]
    piece = a_polygon_piece(points, 6, name="welt of the breast pocket")
    done = ready(piece, 17)
    assert done.number == 17
    assert done.label.words == ("17",)
    assert done.label.height >= 3
    with pytest.raises(PieceError, match="too small for its own name"):
        ready(piece)


def test_letters_keep_clear_of_drill_holes_and_lines() -> None:
    lines = (NamedLine("pocket", np.array([(20.0, 110.0), (180.0, 90.0)])),)
    done = ready(replace(square(), lines=lines, drills=(DrillHole("d", (100.0, 150.0), 3.0),), cut=Cut.PAIR))
    shift = done.seam_line.min(axis=0)
    del shift
    letters = shapely.MultiLineString([stroke + np.array(done.label.centre) for stroke in done.label.strokes])
    assert letters.distance(shapely.LineString(done.lines[0])) >= 2.9
    x, y, diameter = done.drills[0]
    assert letters.distance(shapely.Point(x, y)) >= diameter / 2 + 2.5


def test_words_with_accents_and_fractions_are_lettered() -> None:
    done = ready(replace(square(), name="manche à l’ourlet 1½"))
    assert any("à l’ourlet 1½" in line for line in done.label.words)
    assert len(done.label.strokes) > 20
