"""Grade rules: a point two sizes up has moved by the sum of both steps, and what lies between moves along."""

import numpy as np
import pytest

from cutroom.alter.alter import alter
from cutroom.alter.grade import grade_style
from cutroom.errors import PieceError
from cutroom.geometry.polyline import length
from cutroom.model.alteration import Slash, Spot
from cutroom.model.grading import GradeRule, Grading, NotchGrade
from cutroom.model.piece import Cut, Dart, DrillHole, Edge, Notch, Piece, Style

SIZES = ("8", "10", "12", "16")
RIGHT = (
    GradeRule("front", ("hem", "side"), ((5.0, 0.0), (6.0, 0.0), (12.0, 0.0))),
    GradeRule("front", ("top", "side"), ((5.0, 2.0), (6.0, 2.0), (12.0, 4.0))),
)


def _style(**more: object) -> Style:
    corners = np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 300.0], [0.0, 300.0], [0.0, 0.0]])
    names = "hem", "side", "top", "centre"
    edges = [Edge(name, corners[n : n + 2]) for n, name in enumerate(names)]
    edges[0] = Edge("hem", np.array([[0.0, 0.0], [50.0, -10.0], [150.0, -10.0], [200.0, 0.0]]))
    piece = Piece(
        "front",
        tuple(edges),
        np.array([[100.0, 250.0], [100.0, 50.0]]),
        cut=Cut.PAIR,
        notches=(Notch("top", 50.0),),
        drills=(DrillHole("pocket", (100.0, 150.0)),),
        darts=(Dart("waist dart", "top", 80.0, 100.0, (110.0, 200.0)),),
    )
    return Style("skirt", "10", (piece,), **more)  # type: ignore[arg-type]


def _front(size: str, notches: NotchGrade = NotchGrade.SHARE) -> Piece:
    return grade_style(_style(), Grading("10", SIZES, RIGHT, notches), size).piece("front")


def test_each_size_has_moved_by_the_sum_of_its_own_steps() -> None:
    for size, moved in (("8", (-5.0, 0.0)), ("10", (0.0, 0.0)), ("12", (6.0, 0.0)), ("16", (18.0, 0.0))):
        assert _front(size).edge("side").points[0] - [200.0, 0.0] == pytest.approx(moved)
    assert _front("16").edge("top").points[0] == pytest.approx([218.0, 306.0])
    assert _front("16").edge("centre").points == pytest.approx(_front("10").edge("centre").points)


def test_the_base_size_is_the_piece_itself() -> None:
    assert _front("10") is not None
    style = _style()
    assert grade_style(style, Grading("10", SIZES, RIGHT), "10").piece("front") is style.piece("front")


def test_curve_points_move_by_their_share_of_the_way_along() -> None:
    # the hem is 51 + 100 + 51 mm long; its second point lies 150.99 / 201.98 of the way along
    share = (np.hypot(50, 10) + 100) / (2 * np.hypot(50, 10) + 100)
    assert _front("16").edge("hem").points[2] - [150.0, -10.0] == pytest.approx([18 * share, 0.0])


def test_notches_keep_their_share_or_their_distance() -> None:
    grown = length(_front("16").edge("top").points) / 200
    assert _front("16").notches[0].at == pytest.approx(50 * grown)
    assert _front("16", NotchGrade.DISTANCE).notches[0].at == 50


def test_what_lies_inside_moves_along_and_the_grain_keeps_its_direction() -> None:
    piece = _front("16")
    assert 0 < piece.drills[0].at[0] - 100 < 18
    assert np.diff(piece.grain, axis=0) == pytest.approx(np.array([[0.0, -200.0]]))
    assert 80 < piece.darts[0].start < piece.darts[0].end < 112


def test_rules_for_what_is_not_there_are_refused() -> None:
    grading = Grading("10", SIZES, (GradeRule("front", ("hem", "top"), ((1.0, 0.0),) * 3),))
    with pytest.raises(PieceError, match="do not meet"):
        grade_style(_style(), grading, "12")
    with pytest.raises(PieceError, match='size "14"'):
        grade_style(_style(), Grading("10", SIZES, RIGHT), "14")
    with pytest.raises(PieceError, match="no piece"):
        grade_style(_style(), Grading("10", SIZES, (GradeRule("back", ("hem", "top"), ()),)), "12")
    for step, words in (((-400.0, 310.0), "inside out"), ((-400.0, 100.0), "crosses itself")):
        wild = Grading("10", SIZES, (GradeRule("front", ("hem", "side"), (step,) * 3),))
        with pytest.raises(PieceError, match=words):
            grade_style(_style(), wild, "12")


def test_darts_still_to_be_made_are_not_left_behind() -> None:
    # the slash leaves the dart with the part that has the grainline's middle to its left: nothing of that part moves
    step = Slash("front", Spot("hem", 180.0), Spot("top", 20.0), 5.0)
    piece = alter(_style(), [step]).piece("front")
    (dart,), (before,) = piece.darts, _style().pieces[0].darts
    assert (dart.start, dart.end, *dart.point) == pytest.approx((before.start, before.end, *before.point))
    with pytest.raises(PieceError, match='runs through its dart "waist dart"'):
        alter(_style(), [Slash("front", Spot("hem", 110.0), Spot("top", 90.0), 5.0)])
