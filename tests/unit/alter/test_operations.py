"""Operations on pieces whose answers are known: a rectangle of 200 by 300 mm, its corners at round numbers."""

import numpy as np
import pytest

from cutroom.alter.alter import alter
from cutroom.errors import PieceError
from cutroom.geometry.polygon import area
from cutroom.geometry.polyline import length
from cutroom.model.alteration import (
    CutOff,
    Derive,
    Extend,
    Facing,
    Finish,
    Fullness,
    Leave,
    Lengthen,
    Merge,
    Mirror,
    Pivot,
    Recut,
    SetNotch,
    Slash,
    Split,
    Spot,
    Step,
    TrueUp,
)
from cutroom.model.piece import Cut, DrillHole, Edge, EdgeKind, Hand, NamedLine, Notch, Piece, SewnSeam, Style
from cutroom.prepare.walk import check_walk, walk

WIDE, LONG = 200.0, 300.0


def _piece(name: str = "front", cut: Cut = Cut.PAIR) -> Piece:
    """Hem at the bottom, side to the right, top, centre to the left."""
    corners = np.array([[0.0, 0.0], [WIDE, 0.0], [WIDE, LONG], [0.0, LONG], [0.0, 0.0]])
    kinds = EdgeKind.HEM, EdgeKind.SEAM, EdgeKind.SEAM, EdgeKind.FOLD if cut is Cut.FOLD else EdgeKind.SEAM
    names = "hem", "side", "top", "centre"
    edges = [Edge(one, corners[n : n + 2], kind=kinds[n]) for n, one in enumerate(names)]
    return Piece(
        name,
        tuple(edges),
        np.array([[50.0, 250.0], [50.0, 50.0]]),
        cut=cut,
        notches=(Notch("side", 100.0, name="hip"),),
        drills=(DrillHole("pocket", (150.0, 150.0)),),
        lines=(NamedLine("tuck", np.array([[150.0, 20.0], [150.0, 60.0]])),),
        construction=(NamedLine("hip line", np.array([[0.0, 100.0], [WIDE, 100.0]])),),
    )


def _style(*pieces: Piece, seams: tuple[SewnSeam, ...] = ()) -> Style:
    return Style("skirt", "12", pieces or (_piece(),), seams)


def _ring(piece: Piece) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    return np.vstack([edge.points[:-1] for edge in piece.edges])


def _sides(style: Style) -> Style:
    """The same with a fellow piece sewn along the side and the top."""
    seams = (
        SewnSeam("side", (("front", "side"),), (("back", "side"),)),
        SewnSeam("top", (("front", "top"),), (("back", "top"),)),
    )
    return Style(style.name, style.size, (*style.pieces, _piece("back")), seams)


def test_a_slash_opened_at_one_end_pivots_at_the_other() -> None:
    slash = Slash("front", Spot("hem", 120.0), Spot("top", share=0.4), 30.0)
    piece = alter(_style(), [slash]).piece("front")
    assert length(piece.edge("hem").points) == pytest.approx(WIDE + 30)
    assert length(piece.edge("top").points) == pytest.approx(WIDE)
    assert area(_ring(piece)) == pytest.approx(WIDE * LONG + 30 * np.sqrt(LONG**2 - 15**2) / 2)  # an isosceles wedge
    assert length(piece.edge("side").points) == pytest.approx(LONG)
    assert piece.edge("centre").points == pytest.approx(_piece().edge("centre").points)  # the grain's part stays


def test_a_slash_opened_alike_at_both_ends_adds_a_strip() -> None:
    piece = alter(_style(), [Slash("front", Spot("hem", 120.0), Spot("top", 80.0), 25.0, 25.0)]).piece("front")
    assert area(_ring(piece)) == pytest.approx((WIDE + 25) * LONG)
    side = piece.edge("side").points
    assert side[:, 0] == pytest.approx([WIDE + 25, WIDE + 25])
    assert piece.drills[0].at == pytest.approx((175.0, 150.0))
    assert [notch.at for notch in piece.notches] == [100.0]
    assert [len(line.points) for line in piece.construction if line.name == "hip line"] == [2, 2]  # cut in two


def test_a_slash_along_the_grain_moves_both_parts_alike() -> None:
    piece = alter(_style(), [Slash("front", Spot("hem", 50.0), Spot("top", 150.0), 10.0, 10.0)]).piece("front")
    assert piece.edge("centre").points[0, 0] == pytest.approx(-5)
    assert piece.edge("side").points[0, 0] == pytest.approx(WIDE + 5)


def test_a_fold_stays_where_it_is() -> None:
    for at in (30.0, 120.0):
        slash = Slash("front", Spot("hem", at), Spot("top", WIDE - at), 20.0)
        piece = alter(_style(_piece(cut=Cut.FOLD)), [slash]).piece("front")
        assert piece.edge("centre").points == pytest.approx(_piece().edge("centre").points)


def test_an_opening_at_a_turn_point_is_shared() -> None:
    piece = alter(_style(), [Slash("front", Spot("side", 0.0), Spot("centre", share=0.5), 20.0)]).piece("front")
    assert length(piece.edge("hem").points) == pytest.approx(WIDE + 10)
    assert length(piece.edge("side").points) == pytest.approx(LONG + 10)
    assert next(notch.at for notch in piece.notches) == pytest.approx(110.0)


def test_fullness_is_shared_by_all_slashes_and_noted_on_the_seam() -> None:
    style = _sides(_style())
    full = alter(style, [Fullness("front", ("top",), ("hem",), 60.0, 0.0, slashes=4)])
    assert length(full.piece("front").edge("top").points) == pytest.approx(WIDE + 60)
    assert length(full.piece("front").edge("hem").points) == pytest.approx(WIDE)
    assert next(seam.ease for seam in full.seams if seam.name == "top") == pytest.approx(-60)
    assert check_walk(walk(full)) == ()
    kept = alter(style, [Fullness("front", ("top",), ("hem",), 60.0, 0.0, slashes=4, gathers=False)])
    assert any("60" in found.what for found in check_walk(walk(kept)))


def test_a_split_piece_has_its_seam_on_both_parts() -> None:
    split = Split("front", Spot("hem", 120.0), Spot("top", 80.0), "panel", ("side front", "middle"), notches=(90.0,))
    style = alter(_sides(_style()), [split])
    right, left = style.piece("side front"), style.piece("middle")
    assert area(_ring(right)) == pytest.approx(80 * LONG)
    assert area(_ring(left)) == pytest.approx(120 * LONG)
    assert [notch.edge for notch in right.notches] == ["side", "panel"]
    assert right.drills[0].name == "pocket"
    assert left.drills == ()
    assert left.grain == pytest.approx(_piece().grain)
    assert right.grain[:, 0].min() > 120
    assert next(seam.first for seam in style.seams if seam.name == "top") == (("side front", "top"), ("middle", "top"))
    assert check_walk(walk(style)) == ()
    assert walk(style)[-1].marks[0].difference == pytest.approx(0)


def test_a_part_without_the_fold_is_cut_as_a_pair() -> None:
    split = Split("front", Spot("hem", 120.0), Spot("top", 80.0), "panel", ("side front", "middle"))
    style = alter(_style(_piece(cut=Cut.FOLD)), [split])
    assert [piece.cut for piece in style.pieces] == [Cut.PAIR, Cut.FOLD]


def test_a_curved_split_passes_its_points() -> None:
    through = np.array([[140.0, 150.0]])
    split = Split("front", Spot("hem", 120.0), Spot("top", 80.0), "panel", ("a", "b"), through=through)
    seam = alter(_style(), [split]).piece("b").edge("panel").points
    assert np.hypot(*(seam - through[0]).T).min() < 1e-9
    assert len(seam) > 5


def test_a_piece_cut_off_keeps_the_part_asked_for() -> None:
    cut = CutOff("front", Spot("side", 100.0), Spot("centre", 200.0), "top")
    with pytest.raises(PieceError, match="both parts") as caught:
        alter(_style(), [CutOff("front", Spot("side", 100.0), Spot("centre", 200.0), "side")])
    assert "does not cut" in caught.value.fix
    piece = alter(_sides(_style()), [cut]).piece("front")
    assert area(_ring(piece)) == pytest.approx(WIDE * 200)
    assert piece.edge("hem").kind is EdgeKind.HEM
    assert piece.notches == ()  # it stood at the cut
    assert [line.name for line in piece.lines] == []


def test_a_piece_is_lengthened_and_shortened_at_a_line() -> None:
    line = Spot("side", 150.0), Spot("centre", 150.0)
    for by in (40.0, -40.0):
        piece = alter(_style(), [Lengthen("front", *line, by)]).piece("front")
        assert area(_ring(piece)) == pytest.approx(WIDE * (LONG + by))
        assert length(piece.edge("side").points) == pytest.approx(LONG + by)
        assert len(piece.edges) == 4


def test_a_tapered_piece_is_shortened_without_a_step() -> None:
    corners = np.array([[40.0, 0.0], [160.0, 0.0], [WIDE, LONG], [0.0, LONG], [40.0, 0.0]])
    edges = tuple(Edge(name, corners[n : n + 2]) for n, name in enumerate(("hem", "side", "top", "centre")))
    taper = Piece("front", edges, np.array([[100.0, 250.0], [100.0, 50.0]]), cut=Cut.PAIR)
    piece = alter(_style(taper), [Lengthen("front", Spot("side", 150.0), Spot("centre", -150.0), -60.0)]).piece("front")
    side = piece.edge("side").points
    steps = np.diff(side, axis=0)
    turns = np.rad2deg(np.arctan2(steps[:, 1], steps[:, 0]))
    assert abs(np.diff(turns)).max() < 8
    assert np.ptp(_ring(piece)[:, 1]) == pytest.approx(LONG - 60, abs=0.5)


def test_an_edge_moved_out_keeps_its_direction() -> None:
    piece = alter(_style(), [Extend("front", "hem", 50.0)]).piece("front")
    assert piece.edge("hem").points == pytest.approx(np.array([[0.0, -50.0], [WIDE, -50.0]]))
    assert next(notch.at for notch in piece.notches) == pytest.approx(150.0)
    piece = alter(_style(), [Extend("front", "side", -20.0)]).piece("front")
    assert area(_ring(piece)) == pytest.approx((WIDE - 20) * LONG)


def test_trueing_draws_a_run_again_and_keeps_what_it_is_told_to_keep() -> None:
    slashed = [Slash("front", Spot("hem", 120.0), Spot("top", 80.0), 40.0)]
    piece = alter(_style(), [*slashed, TrueUp("front", ("hem",), square=True)]).piece("front")
    hem = piece.edge("hem").points
    side, centre = piece.edge("side").points, piece.edge("centre").points
    for one, two in ((hem[0] - hem[1], centre[-2] - centre[-1]), (hem[-1] - hem[-2], side[1] - side[0])):
        assert abs(one @ two) / np.hypot(*one) / np.hypot(*two) < 0.05  # square, within half a flattened step
    steps = np.diff(hem, axis=0)
    turns = np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
    assert np.rad2deg(np.abs(np.diff(turns)).max()) < 6
    straight = alter(_style(), [*slashed, TrueUp("front", ("hem",), points=0)]).piece("front").edge("hem").points
    assert len(straight) == 2


def test_a_mirrored_piece_is_the_other_hand_and_its_seams_still_walk() -> None:
    style = alter(_sides(_style()), [Mirror(("front",))])
    piece = style.piece("front")
    assert piece.hand is Hand.RIGHT
    assert piece.edge("side").points[:, 0] == pytest.approx([-100.0, -100.0])
    assert next(notch.at for notch in piece.notches) == pytest.approx(200.0)
    assert check_walk(walk(style)) == ()


def test_pieces_sewn_as_one_side_are_mirrored_together() -> None:
    seams = (SewnSeam("waist", (("front", "top"), ("back", "top")), (("band", "hem"),), -200.0),)
    style = _style(_piece(), _piece("back"), _piece("band"), seams=seams)
    with pytest.raises(PieceError, match="others that are not") as caught:
        alter(style, [Mirror(("front",))])
    assert caught.value.place == 'skirt, alteration 1, seam "waist"'
    assert alter(style, [Mirror(("front", "back"))]).seams[0].first_from_end


def _darted() -> Piece:
    """A dart 30 mm wide and 100 mm deep in the middle of the top."""
    tip, first, second = np.array([100.0, 200.0]), np.array([115.0, LONG]), np.array([85.0, LONG])
    corners = [[0.0, 0.0], [WIDE, 0.0], [WIDE, LONG], first, [100.0, 305.0], second, [0.0, LONG], [0.0, 0.0]]
    points = [np.array([corners[n], corners[n + 1]]) for n in range(3)]
    points += [np.array(corners[3:6]), np.array(corners[5:7]), np.array(corners[6:8])]
    names = "hem", "side", "top side", "dart cap", "top centre", "centre"
    legs = tuple(NamedLine("waist dart leg", np.vstack([end, tip])) for end in (first, second))
    edges = tuple(Edge(name, line) for name, line in zip(names, points, strict=True))
    drills = (DrillHole("waist dart", (100.0, 213.0)),)
    return Piece("front", edges, np.array([[50.0, 250.0], [50.0, 50.0]]), cut=Cut.PAIR, lines=legs, drills=drills)


def test_a_dart_pivoted_elsewhere_keeps_its_angle() -> None:
    """Closed form: the chord at a leg of length L is 2 L sin(angle / 2), whatever the edge."""
    angle = 2 * np.arctan(15 / 100)
    piece = alter(_style(_darted()), [Pivot("front", "waist dart", Spot("side", 100.0))]).piece("front")
    legs = [line.points for line in piece.lines if line.name == "waist dart leg"]
    sizes = [length(leg) for leg in legs]
    assert sizes == pytest.approx([np.hypot(100, 100)] * 2)
    assert np.hypot(*(legs[0][0] - legs[1][0])) == pytest.approx(2 * sizes[0] * np.sin(angle / 2))
    assert [edge.name for edge in piece.edges if edge.name.startswith("side")] == ["side 1", "side 2"]
    assert length(piece.edge("side 1").points) == pytest.approx(100)
    assert piece.edge("top side").points[-1] == pytest.approx(piece.edge("top centre").points[0])
    tip = legs[0][-1]
    assert np.hypot(*(tip - next(hole.at for hole in piece.drills))) == pytest.approx(13)


def test_a_dart_pivoted_into_the_hem_becomes_its_fullness() -> None:
    step = Pivot("front", "waist dart", Spot("hem", 100.0), Leave.FULLNESS)
    piece = alter(_style(_darted()), [step]).piece("front")
    angle = 2 * np.arctan(15 / 100)
    assert length(piece.edge("hem").points) == pytest.approx(WIDE + 2 * 200 * np.sin(angle / 2))
    assert piece.lines == ()
    assert len(piece.edges) == 5


def test_a_facing_has_one_width_and_the_edges_it_faces() -> None:
    style = alter(_style(), [Facing("front", ("side",), 40.0, "side facing")])
    facing = style.piece("side facing")
    assert area(_ring(facing)) == pytest.approx(40 * LONG, rel=1e-3)
    assert length(facing.edge("side").points) == pytest.approx(LONG)
    assert facing.hand is Hand.RIGHT
    assert check_walk(walk(style)) == ()
    with pytest.raises(PieceError, match="wider than the piece"):
        alter(_style(), [Facing("front", ("side",), 240.0, "side facing")])


def test_a_facing_round_a_corner_takes_both_edges() -> None:
    facing = alter(_style(), [Facing("front", ("side", "top"), 40.0, "facing")]).piece("facing")
    assert area(_ring(facing)) == pytest.approx(40 * (WIDE + LONG) - 40 * 40, rel=2e-2)


def test_a_derived_piece_stands_off_by_what_is_said() -> None:
    step = Derive("front", "front lining", "lining", -2.0, {"hem": -25.0, "centre": 10.0})
    lining = alter(_style(), [step]).piece("front lining")
    assert lining.cloth == "lining"
    assert np.ptp(_ring(lining)[:, 0]) == pytest.approx(WIDE - 2 + 10)
    assert np.ptp(_ring(lining)[:, 1]) == pytest.approx(LONG - 2 - 25)
    assert lining.construction == ()


def test_edges_are_finished_and_pieces_recut() -> None:
    steps: list[Step] = [
        Finish("front", "top", EdgeKind.HEM, "upper hem"),
        SetNotch("front", Spot("upper hem", -20.0), 2, "mark"),
        Recut("front", Cut.SINGLE, 2),
    ]
    style = alter(_sides(_style()), steps)
    piece = style.piece("front")
    assert piece.edge("upper hem").kind is EdgeKind.HEM
    assert piece.notches[-1].at == pytest.approx(WIDE - 20)
    assert (piece.cut, piece.quantity) == (Cut.SINGLE, 2)
    assert style.seams[1].first == (("front", "upper hem"),)


@pytest.mark.parametrize(
    ("step", "words", "fix"),
    [
        (Slash("sleeve", Spot("hem"), Spot("top"), 1.0), "no piece", "front"),
        (Slash("front", Spot("him"), Spot("top"), 1.0), "no edge", "hem"),
        (Slash("front", Spot("hem", 250.0), Spot("top"), 1.0), "beyond its ends", "place on it"),
        (Slash("front", Spot("hem", 10.0), Spot("hem", 90.0), 1.0), "starts and ends on", "another"),
        (Slash("front", Spot("hem", 10.0), Spot("top", 90.0), -5.0), "less than nothing", "shorten"),
        (Slash("front", Spot("hem", 10.0), Spot("top", 90.0), 900.0), "too wide", "more often"),
        (Fullness("front", ("top", "hem"), ("side",), 9.0), "do not follow", "order"),
        (Fullness("front", ("top",), ("hem",), 9.0, start=150.0, end=90.0), "nothing is left", "less"),
        (Fullness("front", ("top",), ("hem",), 9.0, slashes=0), "no slash", "1"),
        (Pivot("front", "bust dart", Spot("hem", 9.0)), "no dart", "dart"),
        (Split("front", Spot("hem", 9.0), Spot("top", 9.0), "side", ("a", "b")), "already", "another"),
        (Split("front", Spot("hem", 9.0), Spot("top", 9.0), "x", ("a", "a")), "already", "another"),
        (Split("front", Spot("hem", 9.0), Spot("top", 9.0), "x", ("a", "b"), notches=(999.0,)), "notch", "in"),
        (Merge("front", "hem", "front", "top", "both"), "not cut alike", "one cut"),
        (Lengthen("front", Spot("side", 50.0), Spot("centre", -50.0), -90.0), "does not reach", "less"),
        (Extend("front", "hem", -400.0), "do not meet", "less"),
        (TrueUp("front", ("hem",), 150.0, 90.0), "nothing is left", "less"),
        (Finish("front", "hem", EdgeKind.SEAM, "top"), "already", "another"),
        (Derive("front", "front", "lining"), "already", "another"),
        (Derive("front", "lining", "lining", -120.0), "leave nothing", "smaller"),
        (Recut("front", Cut.FOLD), "fold", "fold"),
        (SetNotch("front", Spot("hem", 9.0), 4), "not a number of notches", "1, 2 or 3"),
    ],
)
def test_what_cannot_be_done_is_refused_with_its_place(step: Step, words: str, fix: str) -> None:
    with pytest.raises(PieceError, match=words) as caught:
        alter(_style(), [step])
    assert fix in caught.value.fix
    assert caught.value.place.startswith("skirt, alteration 1")


def test_pieces_that_do_not_lie_together_are_not_merged() -> None:
    style = _style(_piece(), _piece("back"))
    with pytest.raises(PieceError, match="do not lie together"):
        alter(style, [Merge("front", "side", "back", "hem", "both")])
    merged = alter(style, [Merge("front", "side", "back", "side", "both")]).piece("both")
    assert area(_ring(merged)) == pytest.approx(2 * WIDE * LONG)
    assert {edge.name for edge in merged.edges} == {"hem", "top", "centre", "back hem", "back top", "back centre"}
