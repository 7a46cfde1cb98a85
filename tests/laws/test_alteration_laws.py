"""Laws of alterations: what is undone is as before, what is not cut keeps its length, what is spread grows."""

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import Polygon

from cutroom.alter.alter import alter
from cutroom.alter.grade import grade_style
from cutroom.draft.blocks import draft
from cutroom.draft.bodies import misses_body
from cutroom.errors import PieceError
from cutroom.geometry.polyline import length
from cutroom.model.alteration import Extend, Fullness, Lengthen, Merge, Mirror, Slash, Split, Spot, TrueUp
from cutroom.model.grading import GradeRule, Grading
from cutroom.model.order import StyleAsked, Wearer
from cutroom.model.piece import Piece, Style

sizes = st.sampled_from(["00", "4", "10", "16", "20"])
shares = st.floats(0.15, 0.85)
openings = st.floats(0.5, 60.0)


def _sleeve(size: str) -> Style:
    return draft(StyleAsked("sleeve", "sleeve"), Wearer(size, misses_body(size)))


def _shape(piece: Piece) -> Polygon:
    return Polygon(np.vstack([edge.points[:-1] for edge in piece.edges]))


def _apart(one: Piece, two: Piece) -> float:
    """Hausdorff distance of two outlines (mm)."""
    return float(_shape(one).exterior.hausdorff_distance(_shape(two).exterior))


@settings(max_examples=40, deadline=None)
@given(size=sizes, low=shares, high=shares, edge=st.sampled_from(["cap front", "cap back"]))
def test_split_then_merged_it_is_as_before(size: str, low: float, high: float, edge: str) -> None:
    style = _sleeve(size)
    split = Split("sleeve", Spot("hem", share=low), Spot(edge, share=high), "panel", ("one", "two"), notches=(150.0,))
    try:
        parts = alter(style, [split])
    except PieceError:
        assume(False)
        raise
    assert abs(sum(_shape(part).area for part in parts.pieces) - _shape(style.pieces[0]).area) < 0.01
    for first, second in (("one", "two"), ("two", "one")):
        whole = alter(parts, [Merge(first, "panel", second, "panel", "sleeve")])
        assert _apart(whole.piece("sleeve"), style.piece("sleeve")) < 0.01
        assert {edge.name for edge in whole.piece("sleeve").edges} == {edge.name for edge in style.pieces[0].edges}
        for old in style.pieces[0].edges:
            assert abs(length(whole.piece("sleeve").edge(old.name).points) - length(old.points)) < 0.01
        assert [seam.name for seam in whole.seams] == ["underarm"]


@settings(max_examples=20, deadline=None)
@given(size=sizes)
def test_mirrored_twice_it_is_the_same(size: str) -> None:
    style = _sleeve(size)
    once = alter(style, [Mirror(("sleeve",))])
    twice = alter(once, [Mirror(("sleeve",))])
    assert _shape(once.pieces[0]).exterior.is_ccw
    for one, two in zip(style.pieces[0].edges, twice.pieces[0].edges, strict=True):
        assert np.abs(one.points - two.points).max() < 1e-9
    for notch, again in zip(style.pieces[0].notches, twice.pieces[0].notches, strict=True):
        assert abs(notch.at - again.at) < 1e-9
    assert twice.seams == style.seams
    assert twice.pieces[0].hand is style.pieces[0].hand


@settings(max_examples=20, deadline=None)
@given(size=sizes, low=shares, high=shares)
def test_spread_by_nothing_nothing_changes(size: str, low: float, high: float) -> None:
    style = _sleeve(size)
    slash = Slash("sleeve", Spot("hem", share=low), Spot("cap front", share=high))
    try:
        after = alter(
            style, [slash, Lengthen("sleeve", Spot("underarm front", 99.0), Spot("underarm back", -99.0), 0.0)]
        )
    except PieceError:
        assume(False)
        raise
    for one, two in zip(style.pieces[0].edges, after.pieces[0].edges, strict=True):
        assert one.points.tobytes() == two.points.tobytes()


@settings(max_examples=40, deadline=None)
@given(size=sizes, low=shares, high=shares, more=openings, end=st.floats(0.0, 1.0))
def test_spread_it_grows_and_what_is_not_cut_keeps_its_length(
    size: str, low: float, high: float, more: float, end: float
) -> None:
    style = _sleeve(size)
    before = style.pieces[0]
    slash = Slash("sleeve", Spot("hem", share=low), Spot("cap front", share=high), more, more * end)
    try:
        after = alter(style, [slash]).pieces[0]
    except PieceError:
        assume(False)
        raise
    assert _shape(after).is_valid
    assert _shape(after).area > _shape(before).area
    for edge in before.edges:
        grown = length(after.edge(edge.name).points) - length(edge.points)
        wanted = {"hem": more, "cap front": more * end}.get(edge.name, 0.0)
        assert abs(grown - wanted) < 1e-6
    for notch in before.notches:
        if notch.edge not in {"hem", "cap front"}:
            assert any(abs(notch.at - one.at) < 1e-6 and one.edge == notch.edge for one in after.notches)


@settings(max_examples=12, deadline=None)
@given(size=sizes, more=st.floats(1.0, 250.0), slashes=st.integers(2, 12))
def test_fullness_is_what_was_asked_however_many_slashes(size: str, more: float, slashes: int) -> None:
    style = _sleeve(size)
    full = Fullness("sleeve", ("cap front", "cap back"), ("hem",), 0.0, more, slashes=slashes)
    piece = alter(style, [full]).pieces[0]
    assert abs(length(piece.edge("hem").points) - length(style.pieces[0].edge("hem").points) - more) < 1e-6
    for name in ("cap front", "cap back", "underarm front", "underarm back"):
        assert abs(length(piece.edge(name).points) - length(style.pieces[0].edge(name).points)) < 1e-6
    trued = alter(style, [full, TrueUp("sleeve", ("hem",))]).pieces[0]
    assert _shape(trued).is_valid


@settings(max_examples=30, deadline=None)
@given(size=sizes, by=st.floats(1.0, 120.0))
def test_moved_out_and_in_again_an_edge_is_where_it_was(size: str, by: float) -> None:
    style = _sleeve(size)
    after = alter(style, [Extend("sleeve", "hem", by), Extend("sleeve", "hem", -by)])
    assert _apart(after.pieces[0], style.pieces[0]) < 1e-6


@settings(max_examples=30, deadline=None)
@given(size=sizes, steps=st.lists(st.tuples(st.floats(-15, 15), st.floats(-15, 15)), min_size=3, max_size=3))
def test_graded_to_the_base_size_nothing_changes_and_back_again_it_is_the_same(
    size: str, steps: list[tuple[float, float]]
) -> None:
    style = _sleeve(size)
    rules = tuple(
        GradeRule("sleeve", point, (step, step))
        for point, step in zip((("hem", "underarm front"), ("underarm front", "cap front"), ("cap front", "cap back")),
                               steps, strict=True)
    )  # fmt: skip
    grading = Grading("M", ("S", "M", "L"), rules)
    base = grade_style(style, grading, "M").pieces[0]
    for one, two in zip(style.pieces[0].edges, base.edges, strict=True):
        assert one.points.tobytes() == two.points.tobytes()
    large = grade_style(style, grading, "L")
    point = style.pieces[0].edge("cap front").points[-1]
    assert np.abs(large.pieces[0].edge("cap front").points[-1] - point - steps[2]).max() < 1e-9
    back = grade_style(large, Grading("L", ("S", "M", "L"), rules), "M").pieces[0]
    for one, two in zip(style.pieces[0].edges, back.edges, strict=True):
        assert np.abs(one.points[[0, -1]] - two.points[[0, -1]]).max() < 1e-9
