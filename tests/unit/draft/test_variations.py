"""Sleeves made of the block by operations, in every size of the table."""

import numpy as np
import pytest
from shapely import Polygon

from cutroom.alter.alter import alter
from cutroom.draft.blocks import draft, recipe
from cutroom.draft.bodies import misses_body
from cutroom.draft.options import Value
from cutroom.errors import DraftError
from cutroom.geometry.polyline import length
from cutroom.model.alteration import CutOff
from cutroom.model.order import StyleAsked, Wearer
from cutroom.model.piece import Cut, EdgeKind, Piece, Style
from cutroom.prepare.walk import check_walk, walk

SIZES = ("00", "0", "2", "4", "6", "8", "10", "12", "14", "16", "18", "20")
KINDS = ("three-quarter", "elbow", "short", "cap", "bell", "puffed", "gathered", "two-piece")


def _made(kind: str, size: str = "10", block: str = "blouse", **options: Value) -> tuple[Style, Style]:
    asked = StyleAsked(block, block, {"sleeve": kind, **options})
    wearer = Wearer(size, misses_body(size))
    style = draft(asked, wearer)
    return style, alter(style, recipe(asked, wearer, style))


def _shape(piece: Piece) -> Polygon:
    return Polygon(np.vstack([edge.points[:-1] for edge in piece.edges]))


def _ease(style: Style, seam: str) -> float:
    return next(one.ease for one in style.seams if one.name == seam)


@pytest.mark.parametrize("kind", KINDS)
def test_every_sleeve_is_simple_and_its_seams_walk_in_all_sizes(kind: str) -> None:
    for size in SIZES:
        _, style = _made(kind, size)
        assert check_walk(walk(style)) == ()
        for piece in style.pieces:
            shape = _shape(piece)
            assert shape.is_valid
            assert shape.exterior.is_ccw
            for notch in piece.notches:
                assert 3 < notch.at < length(piece.edge(notch.edge).points) - 3 or notch.name == "shoulder"


@pytest.mark.parametrize("kind", KINDS)
def test_every_sleeve_is_made_of_the_sleeve_block_alone_too(kind: str) -> None:
    _, style = _made(kind, block="sleeve")
    assert check_walk(walk(style)) == ()


def test_a_long_sleeve_is_the_block_itself() -> None:
    before, after = _made("long")
    assert after is before


def test_shorter_sleeves_are_cut_off_where_they_should() -> None:
    block, _ = _made("long")
    levels = {line.name: line.points[0, 1] for line in block.piece("sleeve").construction if " line" in line.name}
    wanted = {
        "elbow": levels["elbow line"],
        "three-quarter": (levels["elbow line"] + levels["wrist line"]) / 2,
        "short": -101.6,
    }
    for kind, bottom in wanted.items():
        hem = _made(kind)[1].piece("sleeve").edge("hem")
        assert hem.points[:, 1] == pytest.approx([bottom, bottom])
        assert hem.kind is EdgeKind.HEM


def test_a_bell_gains_its_flare_at_the_hem_and_nothing_at_the_cap() -> None:
    before, after = _made("bell", bell_flare=300.0)
    old, new = before.piece("sleeve"), after.piece("sleeve")
    gained = length(new.edge("hem").points) - length(old.edge("hem").points)
    assert gained == pytest.approx(300, abs=12)  # the trued curve is a little off the slashed steps
    for name in ("cap front", "cap back", "underarm front"):
        assert length(new.edge(name).points) == pytest.approx(length(old.edge(name).points))
    assert _ease(after, "armhole and cap") == pytest.approx(_ease(before, "armhole and cap"))


def test_a_puff_is_noted_as_gathers_between_the_notches() -> None:
    before, after = _made("puffed", puff=180.0)
    extra = _ease(after, "armhole and cap") - _ease(before, "armhole and cap")
    assert 180 < extra < 260
    marks = {mark.first.name: mark.difference for mark in walk(after)[2].marks if mark.first}
    assert marks["front"] == pytest.approx(0, abs=0.1)
    assert marks["back"] == pytest.approx(_ease(after, "armhole and cap"), abs=0.2)
    assert _shape(after.piece("sleeve")).bounds[3] > _shape(_made("short")[1].piece("sleeve")).bounds[3] + 20


def test_a_gathered_sleeve_is_sewn_to_its_cuff_with_the_gathers_noted() -> None:
    before, after = _made("gathered", gathers=200.0)
    cuff, sleeve = after.piece("cuff"), after.piece("sleeve")
    assert length(cuff.edge("wrist").points) == pytest.approx(misses_body("10")["wrist"] + 30)
    assert sleeve.edge("wrist").kind is EdgeKind.SEAM
    assert _ease(after, "wrist") == pytest.approx(
        length(sleeve.edge("wrist").points) - length(cuff.edge("wrist").points)
    )
    shorter = length(before.piece("sleeve").edge("underarm front").points)
    assert length(sleeve.edge("underarm front").points) < shorter - 30
    assert [notch.name for notch in sleeve.notches].count("opening") == 2


def test_a_two_piece_sleeve_eases_its_top_over_the_elbow() -> None:
    # common practice, no source: 4 to 12 mm of ease in the back seam over the elbow, none in the front seam
    before, after = _made("two-piece")
    assert {piece.name for piece in after.pieces} >= {"under sleeve", "top sleeve"}
    assert 4 < _ease(after, "back seam") < 12
    assert abs(_ease(after, "front seam")) < 0.5
    assert _ease(after, "armhole and cap") == pytest.approx(_ease(before, "armhole and cap"))
    for piece in ("under sleeve", "top sleeve"):
        assert after.piece(piece).cut is Cut.PAIR
    hems = sum(length(after.piece(name).edge("hem").points) for name in ("under sleeve", "top sleeve"))
    assert hems == pytest.approx(length(before.piece("sleeve").edge("hem").points), abs=1.5)


def test_a_sleeve_too_short_for_its_cut_is_refused() -> None:
    for depth in (5.0, 500.0):
        with pytest.raises(DraftError, match="below the bicep line") as caught:
            _made("short", short_depth=depth)
        assert "blouse for 10" in caught.value.place


def test_recipes_are_the_same_operations_a_job_can_name() -> None:
    asked = StyleAsked("sleeve", "sleeve", {"sleeve": "short"})
    wearer = Wearer("10", misses_body("10"))
    steps = recipe(asked, wearer, draft(asked, wearer))
    assert [type(step) for step in steps] == [CutOff]
