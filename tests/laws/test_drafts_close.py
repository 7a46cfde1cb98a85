"""Laws of the drafts: every piece is simple, every seam fits, no cap has a kink, whatever the sane body."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon

from cutroom.draft.blocks import draft
from cutroom.draft.cap import slant_points
from cutroom.draft.options import Value
from cutroom.errors import DraftError
from cutroom.geometry.curve import smooth_curve
from cutroom.model.order import StyleAsked, Wearer
from cutroom.model.piece import Piece
from cutroom.prepare.walk import check_walk, walk

offsets = st.tuples(st.floats(5, 26), st.floats(-3, 13), st.floats(-16, -3))


@st.composite
def arms(draw: st.DrawFn) -> dict[str, float]:
    bicep = draw(st.floats(200, 480))
    elbow = bicep * draw(st.floats(0.75, 1.0))
    return {
        "bicep": bicep,
        "elbow": elbow,
        "wrist": max(125.0, elbow * draw(st.floats(0.45, 0.75))),
        "sleeve length": draw(st.floats(500, 690)),
    }


@st.composite
def bodies(draw: st.DrawFn) -> dict[str, float]:
    """Bodies whose parts go together about as those of the ANSUR II women (2012) do."""
    bust = draw(st.floats(760, 1300))
    bicep = 42.80 + 0.2775 * bust + draw(st.floats(-30, 30))
    return {
        "bust": bust,
        "waist": bust - draw(st.floats(20, 240)),
        "hip": 375.73 + 0.6818 * bust + draw(st.floats(-60, 60)),
        "neck": 238 + 0.1402 * bust + draw(st.floats(-20, 20)),
        "back length": draw(st.floats(380, 450)),
        "shoulder": draw(st.floats(115, 150)),
        "bicep": bicep,
        "elbow": bicep * draw(st.floats(0.8, 0.97)),
        "wrist": draw(st.floats(140, 185)),
        "sleeve length": draw(st.floats(500, 620)),
    }


def _is_simple(piece: Piece) -> bool:
    ring = np.vstack([edge.points[:-1] for edge in piece.edges])
    shape = Polygon(ring)
    return shape.is_valid and bool(shape.exterior.is_ccw)


def _closes(piece: Piece) -> bool:
    after = (*piece.edges[1:], piece.edges[0])
    return all(np.allclose(one.points[-1], two.points[0]) for one, two in zip(piece.edges, after, strict=True))


@settings(max_examples=60, deadline=None)
@given(arm=arms(), height=st.floats(70, 190), front=offsets, back=offsets)
def test_a_sleeve_is_simple_goes_through_its_points_and_has_no_kink(
    arm: dict[str, float],
    height: float,
    front: tuple[float, float, float],
    back: tuple[float, float, float],
) -> None:
    options: dict[str, Value] = {"cap height": height, "front offsets": front, "back offsets": back}
    assume(arm["sleeve length"] - height > 200)
    sleeve = draft(StyleAsked("sleeve", "sleeve", options), Wearer("T", arm)).pieces[0]
    assert _closes(sleeve)
    assert _is_simple(sleeve)
    half = (arm["bicep"] + 50.8) / 2
    for name, side, table in (("cap front", 1, front), ("cap back", -1, back)):
        cap = sleeve.edge(name).points
        for point in slant_points(half, height, table) * [side, 1]:
            assert np.hypot(*(cap - point).T).min() < 1e-9
    before = np.diff(sleeve.edge("cap front").points[-2:], axis=0)[0]
    after = np.diff(sleeve.edge("cap back").points[:2], axis=0)[0]
    for step in (before, after):  # an arc that starts level falls by four chord errors (0.02 mm) over its first chord
        assert abs(step[1]) <= 4 * 0.02 + 1e-6


@settings(max_examples=40, deadline=None)
@given(body=bodies(), ease=st.floats(5, 40), length=st.sampled_from(["hip", "waist"]))
def test_a_blouse_has_simple_pieces_and_seams_that_fit(body: dict[str, float], ease: float, length: str) -> None:
    asked = StyleAsked("blouse", "blouse", {"cap ease": ease, "body": length})
    try:
        style = draft(asked, Wearer("T", body))
    except DraftError:  # a slender arm on a full bust: no cap of its width fills the armhole
        assert body["bicep"] < 0.3 * body["bust"]
        with pytest.raises(DraftError, match=r"cap: .*ease, or make the sleeve about"):
            draft(asked, Wearer("T", body))
        return
    for piece in style.pieces:
        assert _closes(piece), piece.name
        assert _is_simple(piece), piece.name
    assert check_walk(walk(style)) == ()


@settings(max_examples=40, deadline=None)
@given(body=bodies())
def test_a_skirt_has_simple_pieces_and_seams_that_fit(body: dict[str, float]) -> None:
    assume(body["waist"] < body["hip"])
    style = draft(StyleAsked("skirt", "skirt"), Wearer("T", body))
    for piece in style.pieces:
        assert _closes(piece), piece.name
        assert _is_simple(piece), piece.name
    assert check_walk(walk(style)) == ()


@settings(max_examples=60, deadline=None)
@given(
    steps=st.lists(st.tuples(st.floats(5, 60), st.floats(-60, 60)), min_size=2, max_size=6),
    tilt=st.floats(-60, 60),
)
def test_a_curve_through_points_that_go_one_way_goes_that_way(steps: list[tuple[float, float]], tilt: float) -> None:
    """Neighbouring chords at less than a right angle: the curve does not cross itself."""
    chords = np.array(steps)
    chords[:, 1] = np.clip(chords[:, 1], -chords[:, 0], chords[:, 0])
    points = np.vstack([[0.0, 0.0], np.cumsum(chords, axis=0)])
    angle = np.deg2rad(tilt) / 2
    curve = smooth_curve(points, start=np.array([np.cos(angle), np.sin(angle)]))
    assert LineString(curve).is_simple
