"""What is said of edges, corners, notches, darts and cut-outs is carried through every alteration, or refused.

The piece is 200 by 300 mm, every edge finished in its own way; what must become of it is reasoned out, no source.
"""

from dataclasses import replace

import numpy as np
import pytest

from cutroom.alter.alter import alter
from cutroom.errors import PieceError
from cutroom.geometry.polyline import length
from cutroom.model.alteration import (
    Add,
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
from cutroom.model.piece import (
    Corner,
    Cut,
    Dart,
    DrillHole,
    Edge,
    EdgeKind,
    NamedLine,
    Notch,
    NotchForm,
    NotchKind,
    Piece,
    Pressed,
    Style,
)

HOLE = NamedLine("eyelet", np.array([[20.0, 140.0], [30.0, 140.0], [30.0, 150.0], [20.0, 150.0]]))
DART = Dart("waist dart", "top", 80.0, 100.0, (110.0, 200.0), pressed=Pressed.END, set_back=15.0)
FORM = NotchForm(NotchKind.T, 4.0, 3.0, hems=False)


def _piece(name: str = "front") -> Piece:
    corners = np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 300.0], [0.0, 300.0], [0.0, 0.0]])
    said: tuple[tuple[str, float, EdgeKind, Corner, tuple[float, ...]], ...] = (
        ("hem", 40.0, EdgeKind.HEM, Corner.FOLDED, (30.0,)),
        ("side", 25.0, EdgeKind.SEAM, Corner.SQUARED, ()),
        ("top", 10.0, EdgeKind.SEAM, Corner.BLUNTED, ()),
        ("centre", 12.0, EdgeKind.SEAM, Corner.FOLDED_NEXT, ()),
    )
    edges = (
        Edge(one, corners[n : n + 2], wide, kind, corner, turns)
        for n, (one, wide, kind, corner, turns) in enumerate(said)
    )
    return Piece(
        name,
        tuple(edges),
        np.array([[50.0, 250.0], [50.0, 50.0]]),
        cut=Cut.PAIR,
        crossways=True,
        notches=(Notch("side", 100.0, 2, NotchKind.BOX, "hip"),),
        drills=(DrillHole("button 1", (150.0, 150.0), 3.0),),
        notch_form=FORM,
        press_shrink=(0.01, 0.005),
        block_margin=15.0,
    )


def _style(*pieces: Piece) -> Style:
    return Style("skirt", "12", pieces or (_piece(),))


def _said(piece: Piece) -> dict[str, tuple[float, EdgeKind, Corner, tuple[float, ...]]]:
    return {edge.name: (edge.allowance, edge.kind, edge.corner, edge.turns) for edge in piece.edges}


@pytest.mark.parametrize(
    "step",
    [
        Slash("front", Spot("hem", 120.0), Spot("top", 80.0), 20.0, 20.0),
        Slash("front", Spot("hem", 120.0), Spot("side", 0.0 + 300.0), 20.0),
        Fullness("front", ("hem",), ("top",), 30.0, 10.0),
        Lengthen("front", Spot("side", 150.0), Spot("centre", 150.0), 20.0),
        Lengthen("front", Spot("side", 150.0), Spot("centre", 150.0), -20.0),
        Extend("front", "side", 12.0),
        TrueUp("front", ("side",)),
        SetNotch("front", Spot("top", 50.0)),
        Recut("front", Cut.SINGLE, 2),
        Add(_piece("back")),
    ],
    ids=lambda step: type(step).__name__,
)
def test_a_piece_that_is_reshaped_keeps_all_that_is_said_of_it(step: Step) -> None:
    piece, before = alter(_style(), [step]).piece("front"), _piece()
    assert _said(piece) == _said(before)
    assert (piece.notches[0].kind, piece.notches[0].count, piece.notches[0].name) == (NotchKind.BOX, 2, "hip")
    assert [(hole.name, hole.diameter) for hole in piece.drills] == [("button 1", 3.0)]
    for one in ("notch_form", "press_shrink", "block_margin", "crossways", "cloth", "hand"):
        assert getattr(piece, one) == getattr(before, one), one


def test_a_mirrored_piece_has_its_corners_darts_and_cut_outs_mirrored() -> None:
    before = replace(_piece(), darts=(DART,), cutouts=(HOLE,))
    piece = alter(_style(before), [Mirror(("front",))]).piece("front")
    corners = {edge.name: edge.corner for edge in piece.edges}
    # the corner of hem and side was the hem's end and is the side's end now: the next edge turns up there
    assert corners == {
        "side": Corner.FOLDED_NEXT,
        "hem": Corner.FOLDED,
        "top": Corner.SQUARED_NEXT,
        "centre": Corner.BLUNTED,
    }
    (dart,) = piece.darts
    assert (dart.start, dart.end) == pytest.approx((100.0, 120.0))
    assert dart.pressed is Pressed.START
    assert dart.point == pytest.approx((-10.0, 200.0))  # mirrored in the grainline, x 50
    assert piece.cutouts[0].points[:, 0] == pytest.approx([80.0, 70.0, 70.0, 80.0])
    twice = alter(_style(before), [Mirror(("front",)), Mirror(("front",))]).piece("front")
    assert _said(twice) == _said(before)
    assert twice.darts == (DART,)


def test_a_split_piece_keeps_its_own_corners_and_the_new_ones_are_free() -> None:
    split = Split("front", Spot("hem", 120.0), Spot("top", 80.0), "panel", ("side front", "middle"))
    style = alter(_style(), [split])
    right, left = _said(style.piece("side front")), _said(style.piece("middle"))
    assert right["hem"] == (40.0, EdgeKind.HEM, Corner.FOLDED, (30.0,))
    assert left["hem"] == (40.0, EdgeKind.HEM, Corner.AUTO, (30.0,))
    assert right["top"][2] is Corner.AUTO
    assert left["top"][2] is Corner.BLUNTED
    assert style.piece("side front").block_margin == 15.0
    merged = alter(style, [Merge("middle", "panel", "side front", "panel", "front")]).piece("front")
    assert _said(merged) == _said(_piece())
    assert (merged.notch_form, merged.press_shrink, merged.block_margin) == (FORM, (0.01, 0.005), 15.0)


def test_a_piece_cut_off_keeps_what_is_left() -> None:
    step = CutOff("front", Spot("side", 100.0), Spot("centre", 200.0), "top", edge="new hem")
    said = _said(alter(_style(), [step]).piece("front"))
    assert said["side"][:3] == (25.0, EdgeKind.SEAM, Corner.SQUARED)
    assert said["centre"][2] is Corner.AUTO


def test_an_edge_that_is_a_hem_no_more_has_no_turns_and_nothing_folds_back_with_it() -> None:
    piece = alter(_style(), [Finish("front", "hem", EdgeKind.SEAM)]).piece("front")
    assert _said(piece)["hem"] == (0.0, EdgeKind.SEAM, Corner.AUTO, ())
    assert _said(piece)["centre"][2] is Corner.AUTO
    renamed = alter(_style(), [Finish("front", "hem", EdgeKind.HEM, "foot")]).piece("front")
    assert _said(renamed)["foot"] == _said(_piece())["hem"]


def test_a_dart_pivoted_away_takes_the_finish_of_the_edge_it_opens_on() -> None:
    tip, first, second = np.array([100.0, 200.0]), np.array([115.0, 300.0]), np.array([85.0, 300.0])
    corners = np.array([[0, 0], [200, 0], [200, 300], first, second, [0, 300], [0, 0]], dtype=np.float64)
    names = "hem", "side", "top side", "dart cap", "top centre", "centre"
    edges = [Edge(one, corners[n : n + 2], 10.0 + n, corner=Corner.BLUNTED) for n, one in enumerate(names)]
    legs = tuple(NamedLine("waist dart leg", np.vstack([end, tip])) for end in (first, second))
    style = _style(replace(_piece(), edges=tuple(edges), notches=(), lines=legs))
    piece = alter(style, [Pivot("front", "waist dart", Spot("side", 100.0))]).piece("front")
    said = _said(piece)
    assert (said["side 1"][0], said["dart cap"][0], said["side 2"][0]) == (11.0, 11.0, 11.0)
    assert (said["side 1"][2], said["side 2"][2], said["top side"][2]) == (Corner.AUTO, Corner.BLUNTED, Corner.AUTO)
    assert said["top centre"][2] is Corner.BLUNTED
    full = alter(style, [Pivot("front", "waist dart", Spot("hem", 100.0), Leave.FULLNESS)]).piece("front")
    assert _said(full)["hem"] == (10.0, EdgeKind.SEAM, Corner.BLUNTED, ())


def test_a_facing_has_the_corners_and_cut_outs_within_it_and_is_no_block() -> None:
    style = _style(replace(_piece(), cutouts=(HOLE,)))
    facing = alter(style, [Facing("front", ("centre",), 50.0, "facing")]).piece("facing")
    assert [one.name for one in facing.cutouts] == ["eyelet"]
    assert (facing.block_margin, facing.press_shrink, facing.notch_form) == (0.0, (0.01, 0.005), FORM)
    assert _said(facing)["hem"][1:] == (EdgeKind.SEAM, Corner.FOLDED, ())
    assert _said(facing)["centre"][2] is Corner.BLUNTED  # where it meets the top; mirrored, its end
    lining = alter(style, [Facing("front", ("centre",), 50.0, "facing", "lining")]).piece("facing")
    assert lining.press_shrink == (0.0, 0.0)
    none = alter(style, [Facing("front", ("side",), 50.0, "facing")]).piece("facing")
    assert none.cutouts == ()


def test_a_derived_piece_has_the_darts_and_cut_outs() -> None:
    style = _style(replace(_piece(), darts=(DART,), cutouts=(HOLE,)))
    lining = alter(style, [Derive("front", "lining", "lining", 0.0, {"hem": -20.0})]).piece("lining")
    (dart,) = lining.darts
    assert dart.end - dart.start == pytest.approx(20.0)
    assert dart.pressed is Pressed.START
    assert [one.name for one in lining.cutouts] == ["eyelet"]
    assert (lining.press_shrink, lining.block_margin, lining.notch_form) == ((0.0, 0.0), 0.0, FORM)


@pytest.mark.parametrize(
    ("step", "mouth", "point", "eyelet"),
    [
        # the slash turns the side; the dart lies in the part with the grainline, which stays
        (Slash("front", Spot("hem", 120.0), Spot("top", 20.0), 20.0), (80.0, 100.0), (110.0, 200.0), (20.0, 140.0)),
        # the dart lies in the part that is moved 20 mm to the right; 20 mm of the top come after its mouth
        (Slash("front", Spot("hem", 60.0), Spot("top", 140.0), 20.0, 20.0), (80.0, 100.0), (130.0, 200.0), None),
        (Lengthen("front", Spot("side", 190.0), Spot("centre", 110.0), 20.0), (80.0, 100.0), (110.0, 220.0), None),
        (Extend("front", "side", 12.0), (92.0, 112.0), (110.0, 200.0), (20.0, 140.0)),
        # 10 mm wide on either side over 100 mm: 11 mm over 110 mm
        (Extend("front", "top", 10.0), (79.0, 101.0), (110.0, 200.0), (20.0, 140.0)),
        (TrueUp("front", ("side",)), (80.0, 100.0), (110.0, 200.0), (20.0, 140.0)),
        (TrueUp("front", ("top",)), (80.0, 100.0), (110.0, 200.0), (20.0, 140.0)),
    ],
    ids=lambda step: type(step).__name__ if not isinstance(step, tuple | None) else "",
)
def test_darts_and_cut_outs_go_with_the_cloth(
    step: Step, mouth: tuple[float, float], point: tuple[float, float], eyelet: tuple[float, float] | None
) -> None:
    piece = alter(_style(replace(_piece(), darts=(DART,), cutouts=(HOLE,))), [step]).piece("front")
    (dart,), (cutout,) = piece.darts, piece.cutouts
    assert (dart.start, dart.end) == pytest.approx(mouth)
    assert dart.point == pytest.approx(point)
    assert (dart.edge, dart.pressed, dart.set_back) == ("top", Pressed.END, 15.0)
    if eyelet is not None:
        assert cutout.points[0] == pytest.approx(eyelet)


def test_what_is_split_goes_with_its_part_and_comes_along_when_merged() -> None:
    laden = replace(_piece(), darts=(DART,), cutouts=(HOLE,))
    split = Split("front", Spot("hem", 90.0), Spot("top", 110.0), "panel", ("side front", "middle"))
    style = alter(_style(laden), [split])
    right, left = style.piece("side front"), style.piece("middle")
    assert [[dart.name for dart in piece.darts] for piece in (right, left)] == [["waist dart"], []]
    assert [[one.name for one in piece.cutouts] for piece in (right, left)] == [[], ["eyelet"]]
    whole = alter(style, [Merge("middle", "panel", "side front", "panel", "front")]).piece("front")
    assert whole.darts == (DART,)
    assert whole.cutouts[0].points == pytest.approx(HOLE.points)
    cut = CutOff("front", Spot("side", 180.0), Spot("centre", 120.0), "top", edge="new hem")
    short = alter(_style(laden), [cut]).piece("front")
    assert short.darts == (DART,)
    assert short.cutouts == ()  # cut off


def test_darts_of_one_name_on_two_pieces_that_are_merged_are_told_apart() -> None:
    style = _style(replace(_piece(), darts=(DART,)), replace(_piece("back"), darts=(DART,)))
    whole = alter(style, [Merge("front", "side", "back", "side", "whole")]).piece("whole")
    assert [(dart.name, dart.edge) for dart in whole.darts] == [("waist dart", "top"), ("back waist dart", "back top")]


def test_a_dart_still_to_be_opened_is_pivoted_as_it_is() -> None:
    """By hand: legs of sqrt(100^2 + 10^2) make 2 atan(10 / 100); 110 mm from the point that is a mouth of 21.78 mm."""
    before = replace(_piece(), darts=(DART,), cutouts=(HOLE,))
    step = Pivot("front", "waist dart", Spot("side", 200.0))
    style = alter(_style(before), [step])
    (dart,) = style.piece("front").darts
    wide = 2 * 90.0 * np.sin(np.arctan(0.1))  # the side is 90 mm from the point, level with it
    assert dart.edge == "side"
    assert (dart.start, dart.end) == pytest.approx((200.0, 200.0 + wide))
    assert dart.point == pytest.approx(DART.point)
    assert [edge.name for edge in style.piece("front").edges] == ["hem", "side", "top", "centre"]
    lengths = {edge.name: length(edge.points) for edge in style.piece("front").edges}
    assert lengths == pytest.approx({"hem": 200.0, "side": 300.0 + wide, "top": 180.0, "centre": 300.0})
    full = alter(_style(before), [Pivot("front", "waist dart", Spot("hem", 110.0), Leave.FULLNESS)]).piece("front")
    assert full.darts == ()
    assert length(full.edge("hem").points) == pytest.approx(200.0 + 2 * 200.0 * np.sin(np.arctan(0.1)))


PLEAT = replace(DART, name="pleat", pleat=True)
BUTTON = DrillHole("tuck end", (110.0, 270.0))


@pytest.mark.parametrize(
    ("more", "step", "what", "fix"),
    [
        ({}, Slash("front", Spot("hem", 110.0), Spot("top", 90.0), 9.0),
         'the line runs through its dart "waist dart" at x 110.0, y 250.0 mm', "close the dart first"),
        ({}, Fullness("front", ("hem",), ("top",), 30.0), 'its dart "waist dart" at x 116.7', "Move the line"),
        ({}, Lengthen("front", Spot("side", 150.0), Spot("centre", 150.0), 20.0),
         'the line runs through its cut-out "eyelet" at x 25.0, y 150.0 mm', "Move the line or the cut-out"),
        ({"darts": (PLEAT,)}, Slash("front", Spot("hem", 110.0), Spot("top", 90.0), 9.0),
         'its pleat "pleat" at x 110.0', "take the pleat out first"),
        ({}, Lengthen("front", Spot("side", 170.0), Spot("centre", 130.0), -35.0),
         'lies its drill hole "button 1", cut-out "eyelet"', "move what lies there"),
        ({"cutouts": ()}, Lengthen("front", Spot("side", 170.0), Spot("centre", 130.0), -35.0),
         'in the cloth folded out lies its drill hole "button 1"', "Fold it out elsewhere"),
        ({}, Extend("front", "top", -150.0), "its legs do not meet its edge any more", "less"),
        ({}, Extend("front", "side", -60.0), 'its drill hole "button 1" would lie outside it at x 150.0', "less"),
        ({}, Split("front", Spot("hem", 150.0), Spot("top", 50.0), "panel", ("a", "b")),
         'the line runs through its drill hole "button 1" at x 150.0, y 150.0 mm', "Move the line or the hole"),
        ({}, Split("front", Spot("side", 250.0), Spot("centre", 50.0), "panel", ("a", "b")),
         'the line runs through its dart "waist dart"', "pivoting it elsewhere"),
        ({}, CutOff("front", Spot("hem", 25.0), Spot("top", 175.0), "side"), 'its cut-out "eyelet"', "Move the line"),
        ({}, Merge("front", "top", "back", "top", "whole"),
         'its dart "waist dart" opens on the edge "top", which is merged', "Pivot it to another edge first"),
        ({}, Pivot("front", "waist dart", Spot("top", 20.0)), "the dart is there already", "another edge"),
        ({}, Pivot("front", "waist dart", Spot("side", 100.0)), "a notch stands where", "beside the notch"),
        ({}, Pivot("front", "waist dart", Spot("side", 0.0)), '"side" ends there', "within an edge"),
        ({"darts": (PLEAT,)}, Pivot("front", "pleat", Spot("side", 200.0)), "is a pleat", "Name a dart"),
        ({"drills": (BUTTON,)}, Pivot("front", "waist dart", Spot("side", 200.0)),
         'in the cloth it takes in lies the drill hole "tuck end"', "Move what lies there"),
        ({"darts": (replace(DART, point=(118.0, 200.0)),)}, Pivot("front", "waist dart", Spot("side", 200.0)),
         'the legs of "waist dart" are', "equal"),
        ({}, Pivot("front", "bust dart", Spot("hem", 100.0)), 'no dart "bust dart"', "waist dart"),
    ],
)  # fmt: skip
def test_what_a_line_runs_through_is_refused_with_its_place(
    more: dict[str, object], step: Step, what: str, fix: str
) -> None:
    front = replace(replace(_piece(), darts=(DART,), cutouts=(HOLE,)), **more)  # type: ignore[arg-type]
    with pytest.raises(PieceError) as caught:
        alter(_style(front, _piece("back")), [step])
    assert what in caught.value.what
    assert fix in caught.value.fix
    assert caught.value.place.startswith("skirt, alteration 1")
    assert 'piece "front"' in caught.value.place


def test_the_slash_of_several_that_meets_a_dart_is_named() -> None:
    with pytest.raises(PieceError) as caught:
        alter(_style(replace(_piece(), darts=(DART,))), [Fullness("front", ("hem",), ("top",), 30.0)])
    assert caught.value.place == 'skirt, alteration 1, slash 4 of 6, piece "front"'


def test_a_notch_in_the_cloth_folded_out_comes_to_lie_at_the_fold() -> None:
    step = Lengthen("front", Spot("side", 110.0), Spot("centre", 190.0), -20.0)
    piece = alter(_style(), [step]).piece("front")
    (notch,) = piece.notches
    assert (notch.name, notch.kind) == ("hip", NotchKind.BOX)
    assert notch.at == pytest.approx(90.0)


def test_a_facing_has_the_holes_and_lines_within_it_and_says_which_it_leaves_out() -> None:
    drills = (
        DrillHole("button 1", (180.0, 150.0)),
        DrillHole("button 2", (160.5, 90.0)),
        DrillHole("far", (60.0, 9.0)),
    )
    lines = (NamedLine("fold line", np.array([[170.0, 100.0], [170.0, 200.0]])),
             NamedLine("buttonhole", np.array([[150.0, 120.0], [190.0, 120.0]])))  # fmt: skip
    style = alter(
        _style(replace(_piece(), drills=drills, lines=lines)), [Facing("front", ("side",), 40.0, "side facing")]
    )
    facing = style.piece("side facing")
    assert [hole.name for hole in facing.drills] == ["button 1"]
    assert facing.drills[0].at[1] == pytest.approx(150.0)
    assert {line.name: length(line.points) for line in facing.lines} == {
        "fold line": pytest.approx(100.0),
        "buttonhole": pytest.approx(30.0),
    }
    (found,) = style.findings
    assert str(found) == (
        'NOTE: piece "front": its drill hole "button 2" is left out of the piece "side facing": it would not lie '
        "inside it. Move it, or make side facing larger there, if it is wanted in both."
    )
    assert found.at == (160.5, 90.0)


def test_a_derived_piece_says_what_lies_outside_it() -> None:
    drills = (DrillHole("button 1", (150.0, 150.0)), DrillHole("low", (100.0, 10.0)))
    step = Derive("front", "lining", "lining", 0.0, {"hem": -20.0})
    style = alter(_style(replace(_piece(), drills=drills)), [step])
    assert [hole.name for hole in style.piece("lining").drills] == ["button 1"]
    assert ['its drill hole "low" is left out of the piece "lining"' in one.what for one in style.findings] == [True]


@pytest.mark.parametrize(
    ("other", "words"),
    [
        ({"block_margin": 0.0}, "not cut roughly as a block alike"),
        ({"press_shrink": (0.0, 0.0)}, "not let out for pressing alike"),
        ({"notch_form": NotchForm()}, "not notched alike"),
        ({"crossways": False}, "not laid across the grain alike"),
    ],
)
def test_pieces_made_otherwise_are_not_merged(other: dict[str, object], words: str) -> None:
    style = _style(_piece(), replace(_piece("back"), **other))  # type: ignore[arg-type]
    with pytest.raises(PieceError, match=words) as caught:
        alter(style, [Merge("front", "side", "back", "side", "whole")])
    assert 'pieces "front" and "back"' in caught.value.place


def test_edges_finished_otherwise_do_not_become_one() -> None:
    split = Split("front", Spot("hem", 120.0), Spot("top", 80.0), "panel", ("side front", "middle"))
    style = alter(_style(), [split])
    left = style.piece("middle")
    other = tuple(replace(edge, allowance=35.0) if edge.name == "hem" else edge for edge in left.edges)
    pieces = tuple(replace(left, edges=other) if piece is left else piece for piece in style.pieces)
    with pytest.raises(PieceError, match=r"one part of it is a hem of .* turned at") as caught:
        alter(replace(style, pieces=pieces), [Merge("middle", "panel", "side front", "panel", "front")])
    assert 'edge "hem"' in caught.value.place
    assert "same allowance and turns" in caught.value.fix


def test_a_facing_along_an_open_dart_or_half_a_cut_out_is_refused() -> None:
    style = _style(replace(_piece(), darts=(DART,), cutouts=(HOLE,)))
    with pytest.raises(PieceError, match='dart "waist dart" opens on the edge "top"') as caught:
        alter(style, [Facing("front", ("top",), 50.0, "facing")])
    assert 'piece "front"' in caught.value.place
    with pytest.raises(PieceError, match='cut-out "eyelet" lies half in it') as caught:
        alter(style, [Facing("front", ("centre",), 25.0, "facing")])
    assert 'piece "facing"' in caught.value.place


def test_a_notch_that_is_cut_off_with_its_cloth_is_told() -> None:
    style = alter(_style(), [Extend("front", "hem", -120.0)])
    assert style.piece("front").notches == ()
    (found,) = style.findings
    assert str(found) == (
        'NOTE: piece "front", edge "side": its notch "hip" 3 15/16 in (100.0 mm) along the edge as it was is gone with '
        "the cloth it stood on. Set another, or take its fellow away."
    )
    assert alter(_style(), [Extend("front", "hem", -80.0)]).findings == ()


def test_a_dart_that_would_open_beyond_its_edge_is_refused() -> None:
    style = _style(replace(_piece(), darts=(replace(DART, start=2.0, end=22.0, point=(110.0, 200.0)),), drills=()))
    with pytest.raises(PieceError, match='its dart "waist dart" would open beyond the end of its edge') as caught:
        alter(style, [Extend("front", "side", -10.0)])
    assert caught.value.place == 'skirt, alteration 1, piece "front", edge "top"'


def test_a_line_from_corner_to_corner_along_an_edge_is_refused() -> None:
    for step in (
        Split("front", Spot("hem", share=0.0), Spot("side", share=0.0), "panel", ("a", "b")),
        CutOff("front", Spot("centre", share=1.0), Spot("hem", share=1.0), "top", edge="new hem"),
    ):
        with pytest.raises(PieceError, match=r"runs along an edge|starts and ends") as caught:
            alter(_style(), [step])
        assert 'piece "front"' in caught.value.place


def test_a_facing_of_a_facing_has_an_outer_edge_of_its_own() -> None:
    steps = [Facing("front", ("side",), 60.0, "facing"), Facing("facing", ("outer",), 20.0, "stay")]
    stay = alter(_style(), steps).piece("stay")
    names = [edge.name for edge in stay.edges]
    assert len(set(names)) == len(names)
    assert {"outer", "outer 2"} <= set(names)
