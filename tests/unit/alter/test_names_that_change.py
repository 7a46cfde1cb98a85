"""What is said of an edge by name still holds when an alteration has called it otherwise or made several of it.

The pieces are 200 by 300 mm, the second the first's mirror image along the side they share; no source.
"""

import re
from pathlib import Path

import numpy as np
import pytest

from cutroom.alter.alter import alter
from cutroom.draft.blocks import draft
from cutroom.draft.bodies import misses_body
from cutroom.errors import CutroomError, PieceError
from cutroom.geometry.polyline import length
from cutroom.job.pieces import draft_order, read_order
from cutroom.model.alteration import CutOff, Derive, Finish, Leave, Merge, Pivot, Slash, Split, Spot, Step
from cutroom.model.order import StyleAsked, Wearer
from cutroom.model.piece import Corner, Cut, Dart, Edge, EdgeKind, NamedLine, Notch, NotchAsked, Piece, SewnSeam, Style
from cutroom.prepare.placing import place_notches
from cutroom.prepare.walk import check_walk, drawn_length, sewn_length, walk

HALF = Split("front", Spot("side", 120.0), Spot("centre", 180.0), "yoke", ("upper", "lower"))
DART = Dart("bust dart", "top", 80.0, 100.0, (110.0, 200.0))


def _piece(name: str, **more: object) -> Piece:
    corners = np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 300.0], [0.0, 300.0], [0.0, 0.0]])
    edges = tuple(Edge(one, corners[n : n + 2]) for n, one in enumerate(("hem", "side", "top", "centre")))
    lines = (NamedLine("hip line", np.array([[10.0, 100.0], [200.0, 100.0]])),)
    grain = np.array([[50.0, 250.0], [50.0, 50.0]])
    return Piece(name, edges, grain, cut=Cut.PAIR, lines=lines, **more)  # type: ignore[arg-type]


def _style(**more: object) -> Style:
    back = _piece("back", notches=(Notch("side", 100.0, name="hip"), Notch("side", 200.0, name="rib")))
    return Style(
        "skirt", "12", (_piece("front", **more), back), (SewnSeam("side", (("front", "side"),), (("back", "side"),)),)
    )


def _notches(style: Style) -> dict[str, tuple[str, str, float]]:
    return {
        notch.name: (piece.name, notch.edge, notch.at)
        for piece in style.pieces
        if piece.name != "back"
        for notch in piece.notches
    }


def _asked() -> tuple[NotchAsked, ...]:
    return (
        NotchAsked("front", "side", at=40.0, name="low"),
        NotchAsked("front", "side", at=150.0, name="high"),
        NotchAsked("front", "side", from_end=30.0, name="end"),
        NotchAsked("front", "side", share=0.5, name="half"),
        NotchAsked("front", "side", line="hip line", name="line"),
        NotchAsked("front", "side", mate=("back", "side", "hip"), name="hip"),
        NotchAsked("front", "side", mate=("back", "side", "rib"), name="rib"),
    )


def test_notches_asked_for_on_an_edge_that_was_split_stand_where_they_would_have_stood() -> None:
    style = place_notches(alter(_style(), [HALF]), _asked())
    assert style.became["front", "side"] == (("lower", "side"), ("upper", "side"))
    wanted = {
        "low": ("lower", "side", 40.0),
        "high": ("upper", "side", 30.0),
        "end": ("upper", "side", 150.0),
        "half": ("upper", "side", 30.0),
        "line": ("lower", "side", 100.0),
        "hip": ("lower", "side", 100.0),
        "rib": ("upper", "side", 80.0),
    }
    for name, (piece, edge, at) in _notches(style).items():
        assert (piece, edge) == wanted[name][:2], name
        assert at == pytest.approx(wanted[name][2]), name
    assert check_walk(walk(alter(_style(), [HALF]))) != ()  # the fellows of hip and rib are not there yet
    mates = place_notches(alter(_style(), [HALF]), _asked()[-2:])
    assert check_walk(walk(mates)) == ()


def test_a_mate_that_lies_on_one_of_two_edges_is_found_there() -> None:
    split = Split("back", Spot("side", 120.0), Spot("centre", 180.0), "yoke", ("upper back", "lower back"))
    style = place_notches(alter(_style(), [split]), _asked()[-2:])
    assert {notch.name: notch.at for notch in style.piece("front").notches} == pytest.approx(
        {"hip": 100.0, "rib": 200.0}
    )
    assert check_walk(walk(style)) == ()


def test_an_edge_finished_under_another_name_is_found_by_its_first() -> None:
    steps: list[Step] = [
        Finish("front", "side", EdgeKind.SEAM, "flank"),
        Finish("front", "flank", EdgeKind.SEAM, "wing"),
    ]
    style = alter(_style(), steps)
    assert style.became["front", "side"] == (("front", "wing"),)
    assert style.seams[0].first == (("front", "wing"),)
    placed = place_notches(style, _asked()[:1])
    assert _notches(placed)["low"] == ("front", "wing", 40.0)


def test_what_is_cut_off_or_merged_is_said_to_be_gone() -> None:
    cut = alter(_style(), [CutOff("front", Spot("hem", 100.0), Spot("top", 100.0), "centre", "edge", EdgeKind.SEAM)])
    assert cut.seams == ()
    (found,) = cut.findings
    assert str(found) == (
        'NOTE: seam side: it is sewn no more: the edge "side" of piece "front" is gone, and "side" of piece "back" '
        "meets nothing. Cut the other side alike, or finish it as an edge."
    )
    with pytest.raises(PieceError, match="cut it off, or merged") as caught:
        place_notches(cut, _asked()[:1])
    assert caught.value.place == 'piece "front", edge "side"'
    merged = alter(_style(), [Merge("front", "side", "back", "side", "both")])
    assert merged.findings == ()  # that seam is gone because it was asked for
    assert merged.became["back", "hem"] == (("both", "back hem"),)
    with pytest.raises(PieceError, match="cut it off, or merged"):
        place_notches(merged, _asked()[:1])
    placed = place_notches(merged, (NotchAsked("back", "top", at=20.0, name="eye"),))
    assert placed.piece("both").notches[-1].edge == "back top"
    with pytest.raises(PieceError, match='no edge "flank"'):
        place_notches(_style(), (NotchAsked("front", "flank", at=1.0),))


def test_a_seam_is_walked_as_it_is_sewn_without_what_darts_and_pleats_take_in() -> None:
    """200 mm of top with a dart of 20 mm meet a band of 180 mm; a notch beyond the dart stands 20 mm nearer."""
    band = _piece("band", notches=(Notch("top", 150.0, name="eye"),))
    short = Split("band", Spot("hem", 180.0), Spot("top", 20.0), "waste", ("waste", "band"))
    seams = (SewnSeam("waist", (("front", "top"),), (("band", "top"),)),)
    front = _piece("front", darts=(DART,), notches=(Notch("top", 150.0, name="eye"),))
    style = alter(Style("skirt", "12", (front, band), seams), [CutOff("band", short.start, short.end, "centre", "end")])
    (seam,) = walk(style)
    assert (seam.first, seam.second) == pytest.approx((180.0, 180.0))
    (met,) = seam.marks
    assert met.first is not None
    assert (met.first.at, met.difference) == pytest.approx((130.0, 0.0))
    assert [sewn_length(front, "top", at) for at in (50.0, 80.0, 90.0, 100.0, 150.0)] == [50.0, 80.0, 80.0, 80.0, 130.0]
    assert drawn_length(front, "top", 130.0) == pytest.approx(150.0)
    assert drawn_length(front, "top", 80.0) == pytest.approx(80.0)
    asked = NotchAsked("front", "top", mate=("band", "top", "eye"), name="mate")
    assert place_notches(style, (asked,)).piece("front").notches[-1].at == pytest.approx(150.0)


def test_a_dart_pivoted_into_a_seam_leaves_it_walking_true() -> None:
    style = alter(_style(darts=(DART,)), [Pivot("front", "bust dart", Spot("side", 150.0))])
    (seam,) = walk(style)
    assert (seam.first, seam.second) == pytest.approx((300.0, 300.0))
    full = alter(_style(darts=(DART,)), [Pivot("front", "bust dart", Spot("side", 150.0), Leave.FULLNESS)])
    assert walk(full)[0].first > 309.0
    slashed = alter(full, [Slash("front", Spot("hem", 40.0), Spot("top", 175.0), 10.0)])
    assert slashed.seams == full.seams


JOB = """
title = "A bodice"
unit = "cm"
[sizes.one]
use = "misses 12"

[styles.body]
block = "bodice"
allowance = 1
hem = 2
allowances = { "front.shoulder" = 2, armhole = 1.5 }
corners = { "front.shoulder" = "blunted" }
alterations = [{ do = "pivot", piece = "front", dart = "bust dart", to = ["shoulder", "40 %"] }]

[[styles.body.notches]]
edge = "front.shoulder"
from_end = 1
name = "ease"
"""


def test_a_job_may_go_on_calling_an_edge_by_the_name_it_was_drafted_with(tmp_path: Path) -> None:
    said = JOB.replace('use = "misses 12"', "\n".join(f"'{name}' = '{at}mm'" for name, at in misses_body("12").items()))
    path = tmp_path / "job.toml"
    path.write_text(said + REST, encoding="utf-8")
    front = draft_order(read_order(path)).styles["body", "one"].piece("front")
    said_of = {edge.name: (edge.allowance, edge.corner) for edge in front.edges}
    assert said_of["shoulder 1"] == (20.0, Corner.AUTO)
    assert said_of["shoulder 2"] == (20.0, Corner.BLUNTED)  # it ends where the shoulder ended
    assert said_of["armhole"][0] == 15.0
    (notch,) = (notch for notch in front.notches if notch.name == "ease")
    assert notch.edge == "shoulder 2"
    assert notch.at == pytest.approx(length(front.edge("shoulder 2").points) - 10.0)


def test_a_name_that_never_was_is_still_refused(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    said = JOB.replace('use = "misses 12"', "\n".join(f"'{name}' = '{at}mm'" for name, at in misses_body("12").items()))
    path.write_text(said.replace("armhole = 1.5", "armhold = 1.5") + REST, encoding="utf-8")
    with pytest.raises(CutroomError, match='no edge is called "armhold"'):
        draft_order(read_order(path))


REST = """
[[garments]]
style = "body"
for = "one"
fabric = "cloth"
[fabrics.cloth]
width = 150
spread = "open"
face = "up"
nap = "one-way"
shrinkage = "not tested"
[write]
files = ["marker-dxf"]
"""


def test_what_is_said_of_an_edge_that_was_cut_off_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    said = JOB.replace('use = "misses 12"', "\n".join(f"'{name}' = '{at}mm'" for name, at in misses_body("12").items()))
    off = '[{ do = "cut off", piece = "back", from = ["side", 4], to = ["centre back", -4], keep = "neck" }]'
    steps = re.sub(r"alterations = .*", f"alterations = {off}", said).replace("armhole = 1.5", '"back.hem" = 3')
    path.write_text(steps + REST, encoding="utf-8")
    back = draft_order(read_order(path)).styles["body", "one"].piece("back")
    assert back.edge("hem").allowance == 30.0  # the new edge is called hem, too
    gone = steps.replace('keep = "neck"', 'keep = "neck", edge = "crop"')
    path.write_text(gone + REST, encoding="utf-8")
    with pytest.raises(CutroomError, match=r'no edge is called "back\.hem"'):
        draft_order(read_order(path))


def test_linings_are_sewn_as_the_pieces_they_were_derived_from() -> None:
    style = _style(notches=(Notch("side", 100.0, name="hip"), Notch("side", 200.0, name="rib")))
    one = alter(style, [Derive("front", "front lining", "lining", 0.0, {"hem": -20.0})])
    assert [seam.name for seam in one.seams] == ["side"]  # its fellow is not there yet
    both = alter(one, [Derive("back", "back lining", "lining", 0.0, {"hem": -20.0})])
    seam = both.seams[-1]
    assert (seam.name, seam.first, seam.second) == (
        "side (lining)", (("front lining", "side"),), (("back lining", "side"),)
    )  # fmt: skip
    walked = walk(both)[-1]
    assert (walked.first, walked.second) == pytest.approx((280.0, 280.0))
    assert [met.difference for met in walked.marks] == pytest.approx([0.0, 0.0])
    assert check_walk(walk(both)) == ()
    uneven = alter(one, [Derive("back", "back lining", "lining", 0.0, {"hem": -35.0})])
    assert [found.place for found in check_walk(walk(uneven)) if "its sides are" in found.what] == [
        "seam side (lining)"
    ]
    fusible = alter(style, [Derive(name, f"{name} fusible", "fusible") for name in ("front", "back")])
    assert [seam.name for seam in fusible.seams] == ["side"]
    asked = alter(style, [Derive(name, f"{name} fusible", "fusible", sewn=True) for name in ("front", "back")])
    assert [seam.name for seam in asked.seams] == ["side", "side (fusible)"]


def test_the_seam_of_a_sleeve_with_itself_is_its_linings_too() -> None:
    sleeve = draft(StyleAsked("sleeve", "sleeve"), Wearer("10", misses_body("10")))
    lined = alter(sleeve, [Derive("sleeve", "sleeve lining", "lining", 0.0, {"hem": -25.0})])
    assert lined.seams[-1].first == (("sleeve lining", "underarm front"),)
    assert check_walk(walk(lined)) == ()
