"""Whole garments: pieces that close, seams that fit, marks that meet."""

import numpy as np
import pytest

from cutroom.draft.blocks import BLOCKS, check_wearer, draft
from cutroom.draft.bodies import misses_body
from cutroom.draft.options import Value
from cutroom.errors import DraftError
from cutroom.geometry.polyline import length
from cutroom.model.order import StyleAsked, Wearer
from cutroom.model.piece import Cut, Edge, EdgeKind, Piece, Style


def _drafted(block: str, size: str = "10", **options: Value) -> Style:
    return draft(StyleAsked(block, block, options), Wearer(size, misses_body(size)))


def _between(first: tuple[Edge, bool], second: tuple[Edge, bool]) -> float:
    """Angle (degrees) two edges make at the corner where both start, or end when the flag is set."""
    ways = []
    for edge, at_end in (first, second):
        points = edge.points[::-1] if at_end else edge.points
        ways.append((points[1] - points[0]) / np.hypot(*(points[1] - points[0])))
    return float(np.rad2deg(np.arccos(np.clip(ways[0] @ ways[1], -1, 1))))


def test_every_block_drafts_from_its_defaults_without_allowance() -> None:
    for name in BLOCKS:
        for piece in _drafted(name).pieces:
            assert all(edge.allowance == 0 for edge in piece.edges)
            assert piece.cut is not Cut.FOLD or any(edge.kind is EdgeKind.FOLD for edge in piece.edges)
            assert piece.grain[0, 1] > piece.grain[1, 1]  # points from top to hem


def test_the_armhole_of_a_92_bust_is_a_usual_one() -> None:
    # common practice, no source: 20 to 23.5 cm each for a bust of 92 cm
    blouse = _drafted("blouse", "8")  # 92 cm
    for name in ("front", "back"):
        assert 200 <= length(blouse.piece(name).edge("armhole").points) <= 235


def test_the_front_armhole_is_hollower_than_the_back() -> None:
    blouse = _drafted("blouse")
    depths = {}
    for name in ("front", "back"):
        points = blouse.piece(name).edge("armhole").points * ([-1, 1] if name == "front" else [1, 1])
        low, high = sorted((points[0], points[-1]), key=lambda point: float(point[1]))
        way = (high - low) / np.hypot(*(high - low))
        depths[name] = np.abs((points - low) @ np.array([-way[1], way[0]])).max()
    assert depths["front"] > depths["back"]


def test_sewn_corners_run_on_straight() -> None:
    # common practice, no source: the two angles at a sewn joint make 180 degrees, within 3
    blouse = _drafted("blouse")
    front, back = blouse.piece("front"), blouse.piece("back")
    joints = {
        "neck": _between((front.edge("neck"), True), (front.edge("shoulder"), False))
        + _between((back.edge("neck"), False), (back.edge("shoulder"), True)),
        "shoulder": _between((front.edge("shoulder"), True), (front.edge("armhole"), False))
        + _between((back.edge("shoulder"), False), (back.edge("armhole"), True)),
        "underarm": _between((front.edge("armhole"), True), (front.edge("side upper"), False))
        + _between((back.edge("armhole"), False), (back.edge("side"), True)),
        "hem": _between((front.edge("side lower"), True), (front.edge("hem"), False))
        + _between((back.edge("side"), False), (back.edge("hem"), True)),
    }
    for total in joints.values():
        assert total == pytest.approx(180, abs=3)
    for piece, centre in ((front, "centre front"), (back, "centre back")):
        low = piece.name == "back"
        assert _between((piece.edge("neck"), low), (piece.edge(centre), not low)) == pytest.approx(90, abs=1.5)


def test_the_cap_fits_the_armhole_with_the_ease_asked() -> None:
    for asked in (12.7, 25.4, 38.1):
        blouse = _drafted("blouse", cap_ease=asked)
        cap = sum(length(blouse.piece("sleeve").edge(f"cap {side}").points) for side in ("front", "back"))
        hole = sum(length(blouse.piece(side).edge("armhole").points) for side in ("front", "back"))
        assert cap - hole == pytest.approx(asked, abs=0.1)


def _legs(piece: Piece, name: str) -> list[float]:
    return [length(line.points) for line in piece.lines if line.name == name]


def test_dart_legs_are_equal_and_drilled_13_mm_short() -> None:
    for style, name in ((_drafted("blouse"), "front"), (_drafted("skirt"), "front"), (_drafted("skirt"), "back")):
        piece = style.piece(name)
        dart = "bust dart" if style.name == "blouse" else "waist dart"
        one, two = _legs(piece, f"{dart} leg")
        assert one == pytest.approx(two, abs=1e-6)
        tip = next(line.points[-1] for line in piece.lines if line.name == f"{dart} leg")
        drill = next(drill for drill in piece.drills if drill.name == dart)
        assert np.hypot(*(tip - drill.at)) == pytest.approx(13.0)


def test_the_folded_bust_dart_ends_level_with_the_side_seam() -> None:
    """Folding the lower half of the intake about its stitch line lays its end on the side seam below."""
    front = _drafted("blouse").piece("front")
    cap = front.edge("dart cap").points  # upper leg end, apex, lower leg end: the front's side is to the left
    tip = next(line.points[-1] for line in front.lines if line.name == "bust dart leg")
    way = (cap[2] - tip) / np.hypot(*(cap[2] - tip))
    folded = 2 * ((cap[1] - tip) @ way) * way + tip - (cap[1] - tip)
    side = front.edge("side lower").points
    step = (side[1] - side[0]) / np.hypot(*(side[1] - side[0]))
    off = folded - side[0]
    assert abs(step[0] * off[1] - step[1] * off[0]) < 0.1
    assert step @ off > 0
    assert np.hypot(*(cap[1] - cap[0])) == pytest.approx(np.hypot(*(cap[1] - cap[2])))


def test_closed_waist_darts_leave_the_girth_asked() -> None:
    body = misses_body("10")
    skirt = _drafted("skirt")
    curves = sum(
        length(skirt.piece(name).edge(edge).points)
        for name in ("front", "back")
        for edge in ("waist centre", "waist side")
    )
    assert 2 * curves == pytest.approx(body["waist"] + 20, abs=12)  # the curve of the waist adds a little
    blouse = _drafted("blouse")
    widths = 0.0
    for name in ("front", "back"):
        piece = blouse.piece(name)
        waist = next(line.points for line in piece.construction if line.name == "waist line")
        dart = [line.points for line in piece.lines if line.name == "waist dart leg"]
        widths += length(waist) - abs(dart[0][1, 0] - dart[1][1, 0])
    assert 2 * widths == pytest.approx(body["waist"] + 80, abs=1e-6)


def test_what_was_not_measured_is_said_and_what_was_is_used() -> None:
    assert "not measured" in dict(_drafted("bodice").facts)["back width"]
    body = {**misses_body("10"), "back width": 360.0}
    style = draft(StyleAsked("bodice", "bodice"), Wearer("T", body))
    assert "back width" not in dict(style.facts)
    line = next(line.points for line in style.piece("back").construction if line.name == "back width line")
    assert line[0, 0] == pytest.approx(360 / 2 + 5)


def test_a_waist_length_blouse_gets_a_band() -> None:
    style = _drafted("blouse", body="waist")
    assert style.piece("waistband").crossways
    assert not any(edge.kind is EdgeKind.HEM for edge in style.piece("front").edges)


def test_measurements_that_make_no_garment_are_refused_with_a_reason() -> None:
    body = misses_body("10")
    for changed in ({"back width": 520.0}, {"scye depth": 380.0}, {"shoulder": 60.0, "back width": 380.0}):
        with pytest.raises(DraftError, match="wanted") as caught:
            draft(StyleAsked("blouse", "blouse"), Wearer("T", {**body, **changed}))
        assert "again" in caught.value.fix
    with pytest.raises(DraftError, match="no block"):
        draft(StyleAsked("cape", "cape"), Wearer("T", body))
    with pytest.raises(DraftError, match="missing"):
        check_wearer(StyleAsked("skirt", "skirt"), Wearer("T", {}))
    with pytest.raises(DraftError, match="too large for the hip"):
        draft(StyleAsked("skirt", "skirt"), Wearer("T", {"waist": 1200.0, "hip": 900.0}))
    for options in ({"skirt length": 150.0}, {"opening depth": 900.0}):
        with pytest.raises(DraftError):
            draft(StyleAsked("skirt", "skirt", dict[str, Value](options)), Wearer("T", body))
    for wrong in ({"opening depth": 900.0}, {"facing width": 400.0}):
        with pytest.raises(DraftError):
            draft(StyleAsked("blouse", "blouse", dict[str, Value](wrong)), Wearer("T", body))


def test_the_same_measurements_give_the_same_pieces() -> None:
    one, two = _drafted("blouse"), _drafted("blouse")
    for piece, other in zip(one.pieces, two.pieces, strict=True):
        for edge, again in zip(piece.edges, other.edges, strict=True):
            assert edge.points.tobytes() == again.points.tobytes()
