"""The set-in sleeve against worked figures in inches.

Figures marked WORKED are an example of our own, reckoned by hand from its own inputs; the others are common practice,
no source.
"""

import numpy as np
import pytest
from numpy.typing import NDArray

from cutroom.alter.alter import alter
from cutroom.draft.blocks import draft, recipe
from cutroom.draft.cap import CapShape, cap_side, slant_points
from cutroom.draft.options import Value
from cutroom.errors import DraftError
from cutroom.geometry.polygon import area
from cutroom.geometry.polyline import length
from cutroom.model.order import StyleAsked, Wearer
from cutroom.model.piece import Cut, EdgeKind, Style

IN = 25.4
WORKED_BODY = {"bicep": 12.5 * IN, "elbow": 11 * IN, "wrist": 7 * IN, "sleeve length": 23 * IN}
WORKED: dict[str, Value] = {
    "bicep ease": 2 * IN,
    "elbow ease": 1.5 * IN,
    "wrist ease": 2 * IN,
    "cap height": 5.5 * IN,
    "elbow raise": 1 * IN,  # puts the elbow line 13 1/4 in below the cap point
    "front offsets": (0.75 * IN, 0.0, -0.5 * IN),
    "back offsets": (0.75 * IN, 0.25 * IN, -0.25 * IN),
}


def _sleeve(body: dict[str, float], **options: Value) -> Style:
    return draft(StyleAsked("sleeve", "sleeve", options), Wearer("T", body))


def _worked(**changed: Value) -> Style:
    options = {name.replace(" ", "_"): value for name, value in WORKED.items()}
    return _sleeve(WORKED_BODY, **{**options, **changed})


def _line(style: Style, name: str) -> NDArray[np.float64]:
    return next(line.points for line in style.pieces[0].construction if line.name == name)


def test_the_worked_lines_have_the_widths_asked() -> None:
    style = _worked()
    for name, half, y in (("bicep line", 7.25, 0.0), ("elbow line", 6.25, -7.75), ("wrist line", 4.5, -17.5)):
        assert _line(style, name) / IN == pytest.approx(np.array([[-half, y], [half, y]]), abs=1e-4)
    for side in ("front", "back"):
        assert length(_line(style, f"slanted line {side}")) / IN == pytest.approx(9.100, abs=5e-4)


def test_the_worked_cap_goes_through_its_points() -> None:
    sleeve = _worked().pieces[0]
    front = [(7.25, 0), (5.1353, 0.9767), (3.625, 2.75), (2.2658, 4.7225), (0, 5.5)]
    back = [(0, 5.5), (-2.2658, 4.7225), (-3.7761, 2.9492), (-5.2864, 1.1758), (-7.25, 0)]
    for name, points in (("cap front", front), ("cap back", back)):
        cap = sleeve.edge(name).points / IN
        for point in points:
            assert np.hypot(*(cap - point).T).min() < 1e-4


def test_the_worked_chords_curve_and_seams_have_their_lengths() -> None:
    half, height = 7.25 * IN, 5.5 * IN
    chords = [length(slant_points(half, height, offsets)) / IN for offsets in _offsets()]
    assert chords == pytest.approx([9.450, 9.343], abs=5e-4)
    assert sum(chords) == pytest.approx(18.792, abs=5e-4)
    sleeve = _worked().pieces[0]
    cap = (length(sleeve.edge("cap front").points) + length(sleeve.edge("cap back").points)) / IN
    assert 18.8 <= cap <= 19.1
    for side in ("front", "back"):
        assert length(sleeve.edge(f"underarm {side}").points) / IN == pytest.approx(17.720, abs=5e-4)


def test_the_worked_polygon_has_its_area_and_perimeter() -> None:
    front, back = (slant_points(7.25 * IN, 5.5 * IN, offsets) for offsets in _offsets())
    sleeve = _worked().pieces[0]
    ring = np.vstack(
        [
            sleeve.edge("hem").points[:-1],
            sleeve.edge("underarm front").points[:-1],
            front[:-1],
            (back * [-1, 1])[::-1][:-1],
            sleeve.edge("underarm back").points[:-1],
        ]
    )
    assert area(ring) / IN**2 == pytest.approx(251.588, abs=5e-4)
    assert length(np.vstack([ring, ring[:1]])) / IN == pytest.approx(63.233, abs=5e-4)


def test_the_worked_cap_height_is_solved_for_the_ease_asked() -> None:
    style = _worked(armhole_front=8.60 * IN, armhole_back=8.90 * IN, cap_ease=1.25 * IN)
    sleeve = style.pieces[0]
    cap = length(sleeve.edge("cap front").points) + length(sleeve.edge("cap back").points)
    assert cap == pytest.approx(18.75 * IN, abs=0.1)
    assert 5.25 <= sleeve.edge("cap front").points[-1, 1] / IN <= 5.50
    assert dict(style.facts)["cap ease"].startswith("1 1/4 in")


def test_half_girth_and_cap_height_give_the_slanted_line() -> None:
    style = _sleeve({"bicep": 11 * IN, "elbow": 10 * IN, "wrist": 6 * IN, "sleeve length": 22.25 * IN})
    assert length(_line(style, "slanted line front")) / IN == pytest.approx(8.68, abs=0.005)  # by Pythagoras
    assert style.pieces[0].edge("cap front").points[-1, 1] / IN == pytest.approx(5.75)
    elbow = style.pieces[0].edge("cap front").points[-1, 1] - _line(style, "elbow line")[0, 1]
    assert elbow / IN == pytest.approx(13.5, abs=1e-6)  # cap height and half the underarm seam, less the raise


def test_exchanged_offsets_mirror_the_sleeve_exactly() -> None:
    front, back = WORKED["front offsets"], WORKED["back offsets"]
    one, two = _worked().pieces[0], _worked(front_offsets=back, back_offsets=front).pieces[0]
    for name, other in (("cap front", "cap back"), ("cap back", "cap front"), ("underarm front", "underarm back")):
        assert (two.edge(name).points == one.edge(other).points[::-1] * [-1, 1]).all()


def test_front_and_back_can_be_told_apart() -> None:
    sleeve = _worked().pieces[0]
    counts = {(notch.edge, notch.name): notch.count for notch in sleeve.notches}
    assert counts["cap front", "front"] == 1
    assert counts["cap back", "back"] == 2
    assert ("cap back", "shoulder") in counts
    assert sleeve.cut is Cut.PAIR
    assert sleeve.edge("hem").kind is EdgeKind.HEM


def test_the_underarm_corners_make_a_straight_angle_when_sewn() -> None:
    sleeve = _worked().pieces[0]
    angles = []
    for cap, seam in (("cap front", "underarm front"), ("cap back", "underarm back")):
        cap_line, seam_line = sleeve.edge(cap).points, sleeve.edge(seam).points
        if cap == "cap back":
            cap_line, seam_line = cap_line[::-1], seam_line[::-1]
        one, two = cap_line[1] - cap_line[0], seam_line[-2] - seam_line[-1]
        angles.append(np.rad2deg(np.arccos(one @ two / np.hypot(*one) / np.hypot(*two))))
    assert sum(angles) == pytest.approx(180, abs=3)


@pytest.mark.parametrize(("kind", "bottom"), [("elbow", -7.75 * IN), ("short", -101.6)])
def test_shorter_sleeves_end_where_the_underarm_meets_their_hem(kind: str, bottom: float) -> None:
    block = _worked(sleeve=kind)
    whole = block.pieces[0]
    asked = StyleAsked("sleeve", "sleeve", {**WORKED, "sleeve": kind})
    sleeve = alter(block, recipe(asked, Wearer("T", WORKED_BODY), block)).pieces[0]
    hem = sleeve.edge("hem").points
    assert hem[:, 1] == pytest.approx([bottom, bottom])
    seam = whole.edge("underarm front").points
    assert hem[1, 0] == pytest.approx(np.interp(bottom, seam[:, 1], seam[:, 0]))


@pytest.mark.parametrize("armhole", [5.0, 16.0])
def test_an_ease_that_cannot_be_had_says_what_would_do(armhole: float) -> None:
    with pytest.raises(DraftError, match="cannot be had") as caught:
        _worked(armhole_front=armhole * IN, armhole_back=armhole * IN)
    assert ("wider" if armhole > 10 else "narrower") in caught.value.fix


def test_half_an_armhole_is_refused() -> None:
    with pytest.raises(DraftError, match="half of the armhole"):
        _worked(armhole_front=200.0)


def test_an_unknown_option_names_those_there_are() -> None:
    with pytest.raises(DraftError, match='no option "bicep-eese"') as caught:
        draft(StyleAsked("sleeve", "sleeve", {"bicep-eese": 3.0}), Wearer("T", WORKED_BODY))
    assert "bicep ease" in caught.value.fix


def test_an_option_of_the_wrong_kind_is_refused() -> None:
    for name, value in (("sleeve", "longish"), ("bicep ease", "2"), ("front offsets", (1.0, 2.0))):
        with pytest.raises(DraftError, match="wanted"):
            draft(StyleAsked("sleeve", "sleeve", {name: value}), Wearer("T", WORKED_BODY))


def test_the_curve_is_not_shorter_than_its_chords() -> None:
    shape = CapShape(7.25 * IN, *_offsets(), lean=0.1)
    for back, offsets in zip((False, True), _offsets(), strict=True):
        assert length(cap_side(shape, 140.0, back=back)) >= length(slant_points(7.25 * IN, 140.0, offsets))


def _offsets() -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    return (0.75 * IN, 0.0, -0.5 * IN), (0.75 * IN, 0.25 * IN, -0.25 * IN)
