"""What is found on pieces before cloth is spent, and notches set by name: common practice, no source."""

import math
from dataclasses import replace

import numpy as np
import pytest

from cutroom.errors import PieceError
from cutroom.model.finding import Severity
from cutroom.model.piece import (
    Dart,
    Edge,
    EdgeKind,
    NamedLine,
    Notch,
    NotchAsked,
    Piece,
    SewnSeam,
    Style,
)
from cutroom.prepare.check import check_pieces
from cutroom.prepare.placing import place_notches
from tests.drawing import a_polygon_piece


def panel(name: str, lean_deg: float, *, side_at_end: bool) -> Piece:
    """A skirt panel 600 long whose side seam makes an angle of 90 + lean with its hem."""
    run = 600 * math.tan(math.radians(lean_deg))
    if side_at_end:  # hem runs towards its side seam, which rises on the right
        points, names = [(0, 0), (200, 0), (200 - run, 600), (0, 600)], ["hem", "side", "waist", "middle"]
    else:
        points, names = [(0, 0), (200, 0), (200, 600), (run, 600)], ["hem", "middle", "waist", "side"]
    piece = a_polygon_piece(points, 10, {0: EdgeKind.HEM}, name=name, grain=[(100.0, 500.0), (100.0, 100.0)])
    return replace(piece, edges=tuple(replace(e, name=n) for e, n in zip(piece.edges, names, strict=True)))


def skirt(front: float, back: float) -> Style:
    seam = SewnSeam("side", (("front", "side"),), (("back", "side"),), first_from_end=False, second_from_end=True)
    return Style(
        "skirt", "T", (panel("front", front, side_at_end=True), panel("back", back, side_at_end=False)), (seam,)
    )


def test_corners_that_make_a_straight_hem_pass_without_a_word() -> None:
    assert check_pieces(skirt(4.0, -4.0)) == ()


def test_corners_that_do_not_true_up_are_told_with_their_angle() -> None:
    """The side seams lean in by 4 degrees each: the hem corners are 86 + 86, the waist corners 94 + 94."""
    found = check_pieces(skirt(4.0, 4.0))
    assert {finding.severity for finding in found} == {Severity.WARN}
    (hem,) = (finding for finding in found if "hem" in finding.place)
    (waist,) = (finding for finding in found if "waist" in finding.place)
    assert "172.0 degrees" in hem.what
    assert "188.0 degrees" in waist.what


def test_175_degrees_is_flagged_at_a_tolerance_of_3() -> None:
    found = check_pieces(skirt(-2.5, -2.4))
    (waist,) = (finding for finding in found if "waist" in finding.place)
    assert "175.1 degrees" in waist.what
    assert not [finding for finding in found if "hem" in finding.place]  # wide flares are allowed 5


def alone(piece: Piece) -> list[str]:
    return [f"{finding.severity}: {finding.what}" for finding in check_pieces(Style("s", "T", (piece,)))]


def test_a_grainline_missing_or_longer_than_its_piece_is_told() -> None:
    points = [(0.0, 0.0), (200.0, 0.0), (200.0, 300.0), (0.0, 300.0)]
    assert alone(a_polygon_piece(points, grain=[(5.0, 5.0), (5.0, 5.0)])) == ["stop: it has no grainline"]
    (told,) = alone(a_polygon_piece(points, grain=[(5.0, 400.0), (5.0, 0.0)]))
    assert told.startswith("warn: its grainline is")
    assert "400.0 mm" in told
    assert "300.0 mm" in told


def test_a_seam_line_that_crosses_itself_is_told_with_its_place() -> None:
    piece = a_polygon_piece([(0, 0), (200, 0), (0, 200), (200, 200)], grain=[(0.0, 90.0), (0.0, 0.0)])
    (told,) = alone(piece)
    assert told == "stop: its seam line crosses or touches itself at 100 100 mm"


def test_unequal_dart_legs_are_told() -> None:
    points = [(0.0, 0.0), (200.0, 0.0), (200.0, 300.0), (0.0, 300.0)]
    dart = Dart("waist dart", "e0", 80, 120, (95.0, 100.0))
    (told,) = alone(a_polygon_piece(points, grain=[(5.0, 200.0), (5.0, 0.0)], darts=(dart,)))
    legs = math.hypot(15, 100), math.hypot(25, 100)
    assert f"{legs[0]:.1f} mm" in told
    assert f"{legs[1]:.1f} mm" in told


def test_a_curved_hem_too_wide_to_lie_flat_is_noted() -> None:
    """A quarter circle of 800 mm, hem 20: 2 x 20 x pi / 2 = 62.8 mm on 1257 mm, 5 %."""
    angles = np.linspace(-math.pi / 2, 0, 90)
    hem = 800 * np.column_stack([np.cos(angles), np.sin(angles)])
    edges = (
        Edge("hem", hem, 20, EdgeKind.HEM),
        Edge("right", np.array([hem[-1], [0.0, 0.0]]), 10),
        Edge("left", np.array([[0.0, 0.0], hem[0]]), 10),
    )
    (told,) = alone(Piece("skirt", edges, np.array([(200.0, -100.0), (200.0, -500.0)])))
    assert "62.1 mm" in told or "62.8 mm" in told or "62.5 mm" in told
    assert "(5%) fuller" in told


def test_a_piece_too_small_for_its_name_is_noted() -> None:
    piece = a_polygon_piece(
        [(0, 0), (20, 0), (20, 14), (0, 14)], name="breast pocket welt", grain=[(5.0, 12.0), (5.0, 2.0)]
    )
    assert alone(piece) == ["note: it is too small for its name in letters 3 mm high"]


def asked(**where: object) -> NotchAsked:
    return NotchAsked("front", "side", **where)  # type: ignore[arg-type]  # one place each


def placed_at(style: Style, one: NotchAsked) -> float:
    return place_notches(style, (one,)).piece("front").notches[-1].at


def test_notches_are_set_by_distance_by_share_and_from_the_end() -> None:
    style = skirt(0.0, 0.0)
    assert placed_at(style, asked(at=150.0)) == 150
    assert placed_at(style, asked(from_end=150.0)) == pytest.approx(450)
    assert placed_at(style, asked(share=0.25)) == pytest.approx(150)


def test_a_notch_is_set_where_a_line_of_the_construction_meets_the_edge() -> None:
    style = skirt(0.0, 0.0)
    hip = NamedLine("hip", np.array([(0.0, 400.0), (200.0, 400.0)]))
    front = replace(style.pieces[0], construction=(hip,))
    assert placed_at(replace(style, pieces=(front, style.pieces[1])), asked(line="hip")) == pytest.approx(400)
    with pytest.raises(PieceError, match=r'it has no line "knee".*there are hip'):
        placed_at(replace(style, pieces=(front, style.pieces[1])), asked(line="knee"))


def test_a_notch_is_set_at_its_mate_after_walking() -> None:
    """The back's side runs down, the front's up: 150 from the waist on one is 450 from the hem on the other."""
    style = skirt(0.0, 0.0)
    back = replace(style.pieces[1], notches=(Notch("side", 150.0, name="hip"),))
    assert placed_at(
        replace(style, pieces=(style.pieces[0], back)), asked(mate=("back", "side", "hip"))
    ) == pytest.approx(450)
    with pytest.raises(PieceError, match='it has no notch "knee" on edge "side"'):
        placed_at(style, asked(mate=("back", "side", "knee")))


def test_what_is_found_at_a_corner_or_a_point_says_where() -> None:
    """The corners of `panel` are at round numbers; the crossing of the bow tie's diagonals is in its middle."""
    found = check_pieces(skirt(4.0, 4.0))
    hem = next(one for one in found if "hem" in one.place)
    assert hem.spots == (("front", (200.0, 0.0)), ("back", (0.0, 0.0)))
    run = 600 * math.tan(math.radians(4.0))
    waist = next(one for one in found if "waist" in one.place)
    assert [spot for _, spot in waist.spots] == [pytest.approx((200 - run, 600.0)), pytest.approx((run, 600.0))]
    bow = a_polygon_piece([(0, 0), (200, 200), (200, 0), (0, 200)], 10)
    crossed = next(one for one in check_pieces(Style("s", "T", (bow,))) if one.severity is Severity.STOP)
    assert crossed.at == pytest.approx((100.0, 100.0))
    dart = Dart("waist dart", "e2", 90.0, 110.0, (110.0, 50.0))
    darted = a_polygon_piece([(0, 0), (200, 0), (200, 200), (0, 200)], 10, darts=(dart,))
    legs = next(one for one in check_pieces(Style("s", "T", (darted,))) if "legs" in one.what)
    assert legs.at == (110.0, 50.0)
