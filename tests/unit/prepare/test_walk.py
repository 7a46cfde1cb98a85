"""Walked seams against made lengths; which notches and how much ease: common practice, no source."""

from dataclasses import replace

import pytest

from cutroom.model.finding import Severity
from cutroom.model.piece import Edge, Notch, Piece, SewnSeam, Style
from cutroom.prepare.walk import check_walk, walk


def _strip(name: str, edges: tuple[tuple[str, float], ...], *notches: Notch) -> Piece:
    """A strip 100 mm high whose lower side is the given edges, left to right."""
    made, x = [], 0.0
    for edge, size in edges:
        made.append(Edge(edge, [[x, 0.0], [x + size, 0.0]]))  # type: ignore[arg-type]  # frozen by the Edge
        x += size
    made.append(Edge("rest", [[x, 0.0], [x, 100.0], [0.0, 100.0], [0.0, 0.0]]))  # type: ignore[arg-type]
    return Piece(name, tuple(made), [[1.0, 90.0], [1.0, 10.0]], notches=notches)  # type: ignore[arg-type]


def _style(second: float = 200.0, *, first_notch: float = 80.0, second_notch: float = 80.0, ease: float = 0.0) -> Style:
    one = _strip("front", (("side", 200.0),), Notch("side", first_notch, name="waist"))
    two = _strip("back", (("side", second),), Notch("side", second_notch, name="waist"))
    seam = SewnSeam("side", (("front", "side"),), (("back", "side"),), ease)
    return Style("made", "T", (one, two), (seam,))


def _sleeve_style(front: int = 1, back: int = 2, *, up: float = 60.0, split: float = 110.0) -> Style:
    """Armholes of 100 and 100, a cap of 20 more; front underarm at the left."""
    body = _strip(
        "body",
        (("armhole front", 100.0), ("armhole back", 100.0)),
        Notch("armhole front", 60.0, count=1, name="front"),
        Notch("armhole back", 40.0, count=2, name="back"),
    )
    sleeve = _strip(
        "sleeve",
        (("cap front", 112.0), ("cap back", 108.0)),
        Notch("cap front", up, count=front, name="front"),
        Notch("cap front", split, name="shoulder"),
        Notch("cap back", 48.0, count=back, name="back"),
    )
    seam = SewnSeam(
        "armhole and cap",
        (("body", "armhole front"), ("body", "armhole back")),
        (("sleeve", "cap front"), ("sleeve", "cap back")),
        20.0,
    )
    return Style("made", "T", (body, sleeve), (seam,))


def test_equal_seams_pass_without_a_word() -> None:
    assert check_walk(walk(_style())) == ()


def test_a_made_mismatch_of_3_mm_is_reported_as_3_mm() -> None:
    walked = walk(_style(203.0))
    assert walked[0].difference == pytest.approx(3.0, abs=1e-9)
    (found,) = (finding for finding in check_walk(walked) if "sides" in finding.what)
    assert found.severity is Severity.WARN
    assert "3.0 mm" in found.what


def test_ease_that_is_asked_for_passes() -> None:
    assert not [finding for finding in check_walk(walk(_style(206.0, ease=6.0))) if "sides" in finding.what]


def test_a_gross_mismatch_stops() -> None:
    assert any(finding.severity is Severity.STOP for finding in check_walk(walk(_style(220.0))))


def test_notches_that_do_not_meet_are_caught() -> None:
    (found,) = check_walk(walk(_style(second_notch=84.0)))
    assert "meets none" in found.what


def test_a_deleted_notch_is_caught() -> None:
    style = _style()
    bare = replace(style, pieces=(style.pieces[0], replace(style.pieces[1], notches=())))
    (found,) = check_walk(walk(bare))
    assert "nothing to meet" in found.what


def test_a_seam_is_walked_from_its_common_end() -> None:
    style = _style(second_notch=120.0)  # 80 from its other end
    turned = replace(style, seams=(replace(style.seams[0], second_from_end=True),))
    assert check_walk(walk(turned)) == ()
    assert check_walk(walk(style)) != ()


def test_a_cap_with_its_ease_in_the_crown_passes() -> None:
    walked = walk(_sleeve_style())
    assert check_walk(walked) == ()
    front, shoulder, back = walked[0].marks
    assert front.difference == pytest.approx(0.0)
    assert shoulder.difference == pytest.approx(10.0)  # the joint of the armholes meets the shoulder notch
    assert back.difference == pytest.approx(20.0)


def test_ease_below_the_notch_is_caught() -> None:
    assert any("meets none" in finding.what for finding in check_walk(walk(_sleeve_style(up=66.0))))


def test_a_shoulder_notch_with_more_than_the_whole_ease_before_it_is_caught() -> None:
    style = _sleeve_style(split=95.0)
    assert any("meets none" in finding.what for finding in check_walk(walk(style)))


def test_exchanged_front_and_back_notches_stop() -> None:
    found = check_walk(walk(_sleeve_style(front=2, back=1)))
    assert {finding.severity for finding in found} == {Severity.STOP}
    assert len(found) == 2


def test_unlike_counts_stop_even_where_custom_asks_nothing() -> None:
    style = _style()
    two = replace(style.pieces[1], notches=(Notch("side", 80.0, count=2, name="waist"),))
    (found,) = check_walk(walk(replace(style, pieces=(style.pieces[0], two))))
    assert found.severity is Severity.STOP
