"""One planted fault a case: the proof names it, and refuses the file."""

import re
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from cutroom.model.fabric import Nap
from cutroom.model.marker import Marker
from cutroom.model.plot import Role
from cutroom.model.profile import Plotter
from cutroom.proof import Proved, prove_file, prove_marker
from cutroom.proof.words import LINE_WORDS
from tests.unit.proof import emitters as emit

MARKER = emit.a_marker(11, count=6)
KINDS = ("marker-dxf", "marker-svg", "marker-hpgl", "framed", "marker-pdf", "tiles-pdf")
FRAMED = emit.a_plotter(frame=150.0)


def proved(kind: str, drawn: Sequence[emit.Drawn], marker: Marker = MARKER) -> Proved:
    plotter, paper = FRAMED if kind == "framed" else emit.a_plotter(), emit.a_paper()
    kind = "marker-hpgl" if kind == "framed" else kind
    data = {
        "marker-dxf": lambda: emit.as_dxf(drawn),
        "marker-svg": lambda: emit.as_svg(drawn, marker),
        "marker-hpgl": lambda: emit.as_hpgl(drawn, marker, plotter),
        "marker-pdf": lambda: emit.as_pdf(drawn, marker),
        "tiles-pdf": lambda: emit.as_tiles(drawn, marker, paper),
    }[kind]()
    return proved_bytes(kind, data, marker, plotter)


def proved_bytes(kind: str, data: bytes, marker: Marker = MARKER, plotter: Plotter | None = None) -> Proved:
    lower, upper = emit.corners(marker)
    return prove_file(kind, data, marker, lower=lower, upper=upper, plotter=plotter, paper=emit.a_paper())


def told(found: Proved) -> str:
    assert found.refused
    return "\n".join(str(finding) for finding in found.findings)


def alter(change: Callable[[emit.Drawn], emit.Drawn | None]) -> list[emit.Drawn]:
    changed = [change(one) for one in emit.compose(MARKER)]
    return [one for one in changed if one is not None]


def first(role: Role) -> int:
    return next(index for index, one in enumerate(emit.compose(MARKER)) if one.role is role)


def alter_one(role: Role, change: Callable[[emit.Drawn], Sequence[emit.Drawn]]) -> list[emit.Drawn]:
    drawn, index = emit.compose(MARKER), first(role)
    return [*drawn[:index], *change(drawn[index]), *drawn[index + 1 :]]


@pytest.mark.parametrize("kind", KINDS)
def test_a_drawing_one_percent_too_large_is_out_of_scale(kind: str) -> None:
    text = told(proved(kind, emit.scaled(emit.compose(MARKER), 1.01)))
    if kind not in {"framed", "tiles-pdf"}:  # cut up, it is told piece by piece
        assert "about 1.010 times in x and 1.010 times in y" in text


@pytest.mark.parametrize("kind", KINDS)
def test_a_missing_piece_is_named(kind: str) -> None:
    text = told(proved(kind, alter(lambda one: None if one.placement == 2 else one)))
    assert "the piece is missing" in text
    assert f'"{MARKER.placements[2].piece}"' in text


@pytest.mark.parametrize("kind", KINDS)
def test_a_piece_with_its_flip_lost_is_mirrored(kind: str) -> None:
    index = next(i for i, one in enumerate(MARKER.placements) if one.piece != "piece 2" and one.flipped)
    other = emit.compose(emit.changed(MARKER, index, flipped=False))
    mine = emit.compose(MARKER)
    drawn = [
        new if old.placement == index and old.role is not Role.LABEL else old
        for old, new in zip(mine, other, strict=True)
    ]
    text = told(proved(kind, drawn))
    if kind not in {"framed", "tiles-pdf"}:
        assert "it is drawn mirrored" in text


@pytest.mark.parametrize("kind", KINDS)
def test_a_piece_moved_by_a_fifth_of_a_millimetre_is_told_by_how_much(kind: str) -> None:
    drawn = alter(lambda one: replace(one, points=one.points + np.array((0.2, 0))) if one.placement == 1 else one)
    text = told(proved(kind, drawn))
    if kind not in {"framed", "tiles-pdf"}:
        by = re.search(r"it is drawn moved by ([-+.\d]+) mm along the cloth and ([-+.\d]+) mm across", text)
        assert by is not None
        assert [float(by[1]), float(by[2])] == pytest.approx([0.2, 0.0], abs=0.026)
        assert text.count("STOP") == 1


@pytest.mark.parametrize("kind", KINDS)
def test_swapped_pieces_are_told(kind: str) -> None:
    kinds = [one.piece for one in MARKER.placements]
    other = next(index for index in range(1, 6) if kinds[index] != kinds[0])
    one, two = MARKER.placements[0], MARKER.placements[other]
    swapped = emit.changed(emit.changed(MARKER, 0, x=two.x, y=two.y), other, x=one.x, y=one.y)
    text = told(proved(kind, emit.compose(swapped)))
    if kind in {"marker-dxf", "marker-svg", "marker-hpgl", "marker-pdf"}:
        assert f'to the place of "{two.piece}"' in text
        assert f'to the place of "{one.piece}"' in text


@pytest.mark.parametrize("kind", KINDS)
def test_a_lost_notch_is_missing(kind: str) -> None:
    text = told(proved(kind, alter_one(Role.NOTCH, lambda _: [])))
    assert "missing: notch" in text


MARKS = (Role.CUT, Role.SEAM, Role.NOTCH, Role.DRILL, Role.GRAIN, Role.LABEL)


def spread_over_pieces() -> list[int]:
    """One line of each role, each of another piece: their indices in the drawing."""
    drawn = emit.compose(MARKER)
    return [
        next(index for index, one in enumerate(drawn) if one.role is role and one.placement == placement)
        for placement, role in enumerate(MARKS)
    ]


@pytest.mark.parametrize("kind", KINDS)
def test_lines_drawn_twice_are_told(kind: str) -> None:
    drawn = emit.compose(MARKER)
    doubled = [drawn[index] for index in spread_over_pieces()]
    found = proved(kind, [*drawn, *doubled])
    text = told(found)
    assert text.count("drawn twice") >= (1 if kind in {"framed", "tiles-pdf"} else len(MARKS))
    if kind not in {"framed", "tiles-pdf"}:
        assert len(found.findings) == len(MARKS)
        assert {role for role in MARKS if LINE_WORDS[role] in text} == set(MARKS)


@pytest.mark.parametrize("kind", KINDS)
def test_every_line_alone_is_missed_and_noticed_when_doubled(kind: str) -> None:
    """The whole edge of the cloth, and for two formats each role by itself."""
    drawn = emit.compose(MARKER)
    index = first(Role.FABRIC)
    assert "missing" in told(proved(kind, [*drawn[:index], *drawn[index + 1 :]]))
    assert "drawn twice" in told(proved(kind, [*drawn, drawn[index]]))
    if kind in {"marker-svg", "framed"}:
        for index in spread_over_pieces():
            assert "missing" in told(proved(kind, [*drawn[:index], *drawn[index + 1 :]]))
            assert "drawn twice" in told(proved(kind, [*drawn, drawn[index]]))


@pytest.mark.parametrize("kind", KINDS)
def test_lost_lines_are_missing(kind: str) -> None:
    lost = set(spread_over_pieces())
    found = proved(kind, [one for index, one in enumerate(emit.compose(MARKER)) if index not in lost])
    text = told(found)
    for role in MARKS:
        assert any("missing" in finding.what and LINE_WORDS[role] in finding.what for finding in found.findings), text


@pytest.mark.parametrize("kind", KINDS)
def test_a_line_that_nobody_asked_for_is_extra(kind: str) -> None:
    extra = emit.Drawn(Role.SHEET, np.array([(30.0, 30), (70, 31)]), False)
    assert "is extra" in told(proved(kind, [*emit.compose(MARKER), extra]))


@pytest.mark.parametrize("kind", KINDS)
def test_lettering_drawn_mirrored_is_told(kind: str) -> None:
    placement = MARKER.placements[3]
    piece = MARKER.prepared(placement)
    label = piece.label_mirrored if placement.flipped else piece.label
    centre = emit.pose(np.array([label.centre]), placement)[0]

    def mirrored(one: emit.Drawn) -> emit.Drawn:
        if one.role is Role.LABEL and one.placement == 3:
            return replace(one, points=(one.points - centre) * (-1, 1) + centre)
        return one

    text = told(proved(kind, alter(mirrored)))
    if kind not in {"framed", "tiles-pdf"}:
        assert "its lettering is drawn mirrored" in text


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("size", [90.0, 100.2])
def test_a_wrong_test_square_is_told(kind: str, size: float) -> None:
    if kind == "tiles-pdf":
        found = proved_bytes(kind, emit.as_tiles(emit.compose(MARKER), MARKER, emit.a_paper(), squares=False))
    else:
        found = proved(kind, alter_one(Role.SHEET, lambda one: [replace(one, points=one.points * size / 100)]))
    assert "square of 100 mm" in told(found)


def test_an_open_cut_line_is_not_the_cut_line() -> None:
    for kind in KINDS:
        text = told(proved(kind, alter_one(Role.CUT, lambda one: [replace(one, closed=False)])))
        assert "missing from the drawing, or not whole" in text


def test_pieces_that_overlap_by_half_a_millimetre_are_told() -> None:
    near = emit.changed(MARKER, 0, x=50.0, y=50.0)
    side = float(emit.pose(near.prepared(near.placements[0]).cut_line, near.placements[0])[:, 0].max())
    other = near.placements[2]
    left = float(emit.pose(near.prepared(other).cut_line, replace(other, x=0.0, y=0.0))[:, 0].min())
    # The rightmost point of one and the leftmost of the other need not be level: search the depth by moving on.
    overlaps = [emit.changed(near, 2, x=round(side - left - deep, 2), y=50.0) for deep in np.arange(0.5, 8.0, 0.25)]
    marker = next(one for one in overlaps if any("they overlap" in str(f) for f in prove_marker(one)))
    assert any("they overlap by about 0." in str(finding) for finding in prove_marker(marker))
    text = told(proved("marker-dxf", emit.compose(marker), marker))
    assert "they overlap by about 0." in text


def test_a_piece_off_the_cloth_is_told_in_the_marker_and_in_the_file() -> None:
    marker = emit.changed(MARKER, 0, y=MARKER.placements[0].y - 20)
    assert any("below the lower edge" in str(finding) for finding in prove_marker(marker))
    assert "below the lower edge" in told(proved("marker-svg", emit.compose(marker), marker))


def test_a_piece_turned_on_a_one_way_cloth_is_told() -> None:
    marker = emit.a_marker(1, nap=Nap.ONE_WAY)
    assert prove_marker(marker) == ()
    turned = emit.changed(marker, 0, turn_deg=180.0)
    assert any("against the nap" in str(finding) for finding in prove_marker(turned))


def test_a_symmetric_piece_that_is_flipped_is_no_false_alarm_but_its_marks_are() -> None:
    index = next(i for i, one in enumerate(MARKER.placements) if one.piece == "piece 2")
    other = emit.changed(MARKER, index, flipped=not MARKER.placements[index].flipped)
    mine = emit.compose(MARKER)
    flipped = [
        new if old.placement == index and old.role is Role.CUT else old
        for old, new in zip(mine, emit.compose(other), strict=True)
    ]
    for kind in KINDS:
        assert proved(kind, flipped).findings == ()
    marks = [
        new if old.placement == index and old.role is Role.NOTCH else old
        for old, new in zip(mine, emit.compose(other), strict=True)
    ]
    assert "notch" in told(proved("marker-dxf", marks))


def test_frames_in_the_wrong_order_are_named() -> None:
    frames = emit.as_frames(emit.compose(MARKER), MARKER, FRAMED)
    frames[1], frames[2] = frames[2], frames[1]
    text = told(proved_bytes("marker-hpgl", f"IN;{'PU;PG;'.join(frames)}PU;SP0;".encode(), plotter=FRAMED))
    assert "frame 2 carries what belongs in frame 3" in text
    assert "frame 3 carries what belongs in frame 2" in text


def test_a_missing_frame_is_told() -> None:
    frames = emit.as_frames(emit.compose(MARKER), MARKER, FRAMED)
    text = told(proved_bytes("marker-hpgl", f"IN;{'PU;PG;'.join(frames[:-1])}PU;SP0;".encode(), plotter=FRAMED))
    assert f"frame {len(frames)} is missing" in text


def test_a_missing_sheet_is_named_and_a_sheet_twice_and_swapped_ones() -> None:
    drawn, paper = emit.compose(MARKER), emit.a_paper()
    text = told(proved_bytes("tiles-pdf", emit.as_tiles(drawn, MARKER, paper, leave_out=["A2"])))
    assert "Sheet A2 is missing" in text
    assert len(proved_bytes("tiles-pdf", emit.as_tiles(drawn, MARKER, paper, leave_out=["A2"])).findings) == 1
    text = told(proved_bytes("tiles-pdf", emit.as_tiles(drawn, MARKER, paper, rename={"A2": "A1"})))
    assert "Sheet A1 is there twice" in text
    assert "Sheet A2 is missing" in text
    swapped = emit.as_tiles(drawn, MARKER, paper, rename={"A2": "A3", "A3": "A2"})
    text = told(proved_bytes("tiles-pdf", swapped))
    assert "Sheet A2 carries what belongs on Sheet A3" in text


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_that_is_cut_off_is_refused_without_a_traceback(kind: str) -> None:
    drawn, plotter = emit.compose(MARKER), FRAMED if kind == "framed" else emit.a_plotter()
    kind = "marker-hpgl" if kind == "framed" else kind
    data = {
        "marker-dxf": lambda: emit.as_dxf(drawn),
        "marker-svg": lambda: emit.as_svg(drawn, MARKER),
        "marker-hpgl": lambda: emit.as_hpgl(drawn, MARKER, plotter),
        "marker-pdf": lambda: emit.as_pdf(drawn, MARKER),
        "tiles-pdf": lambda: emit.as_tiles(drawn, MARKER, emit.a_paper()),
    }[kind]()
    for share in (0.01, 0.3, 0.7, 0.99):
        assert proved_bytes(kind, data[: int(len(data) * share)], plotter=plotter).refused
    assert proved_bytes(kind, data[:-20], plotter=plotter).refused


@pytest.mark.parametrize("kind", ["marker-dxf", "marker-svg", "marker-hpgl", "marker-pdf", "tiles-pdf"])
def test_bytes_that_are_no_file_of_the_kind_are_refused_without_a_traceback(kind: str) -> None:
    rng = np.random.default_rng(5)
    for junk in (
        b"",
        b"hello",
        b"IN;",
        bytes(rng.integers(0, 256, 3000, dtype=np.uint8)),
        b"%PDF-1.4\n%%EOF",
        b"<svg/>",
    ):
        assert proved_bytes(kind, junk, plotter=emit.a_plotter()).refused
