"""A dart divided between two places: its angles add up to what it was, and nothing else changes.

Closed form: a mouth at a distance d from the point, of an angle a, is 2 d sin(a / 2) wide.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from cutroom.alter.alter import alter
from cutroom.draft.blocks import draft
from cutroom.draft.bodies import misses_body
from cutroom.errors import PieceError
from cutroom.geometry.polyline import length, point_at
from cutroom.model.alteration import Leave, Pivot, Spot
from cutroom.model.order import StyleAsked, Wearer
from cutroom.model.piece import Cut, Dart, DrillHole, Edge, Piece, Style
from cutroom.prepare.check import check_pieces
from cutroom.prepare.walk import check_walk, walk

ANGLE = 2 * np.arctan(15 / 100)

Line = NDArray[np.float64]


def _style(**more: object) -> Style:
    corners = np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 300.0], [0.0, 300.0], [0.0, 0.0]])
    edges = tuple(Edge(one, corners[n : n + 2]) for n, one in enumerate(("hem", "side", "top", "centre")))
    piece = Piece(
        "front",
        edges,
        np.array([[50.0, 250.0], [50.0, 50.0]]),
        cut=Cut.PAIR,
        darts=(Dart("waist dart", "top", 85.0, 115.0, (100.0, 200.0)),),
        drills=(DrillHole("pocket", (170.0, 100.0)),),
    )
    return Style("skirt", "12", (replace(piece, **more),))  # type: ignore[arg-type]


def _angle(mouth: Line) -> float:
    one, two = mouth[0] - mouth[2], mouth[1] - mouth[2]
    return float(np.arctan2(one[0] * two[1] - one[1] * two[0], one @ two))


def _mouths(piece: Piece) -> dict[str, Line]:
    """Both ends of each mouth, and the point."""
    return {
        dart.name: np.vstack(
            [*(point_at(piece.edge(dart.edge).points, at)[0] for at in (dart.start, dart.end)), dart.point]
        )
        for dart in piece.darts
    }


@settings(max_examples=40, deadline=None)
@given(share=st.floats(0.05, 0.95), at=st.floats(0.1, 0.9), edge=st.sampled_from(["side", "hem"]))
def test_both_angles_are_the_darts(share: float, at: float, edge: str) -> None:
    piece = alter(_style(), [Pivot("front", "waist dart", Spot(edge, share=at), share=share)]).piece("front")
    mouths = _mouths(piece)
    assert [(dart.name, dart.edge) for dart in piece.darts] == [("waist dart", "top"), ("waist dart 2", edge)]
    assert abs(_angle(mouths["waist dart"])) == pytest.approx((1 - share) * ANGLE)
    assert abs(_angle(mouths["waist dart 2"])) == pytest.approx(share * ANGLE)
    assert length(mouths["waist dart"][:2]) == pytest.approx(2 * np.hypot(15, 100) * np.sin((1 - share) * ANGLE / 2))
    for one in mouths.values():  # legs of one length
        assert np.hypot(*(one[0] - one[2])) == pytest.approx(np.hypot(*(one[1] - one[2])))
    assert [dart.point for dart in piece.darts] == [(100.0, 200.0)] * 2
    assert [hole.name for hole in piece.drills] == ["pocket"]
    assert [edge.name for edge in piece.edges] == ["hem", "side", "top", "centre"]


@settings(max_examples=25, deadline=None)
@given(share=st.floats(0.1, 0.9))
def test_what_was_divided_is_put_together_again(share: float) -> None:
    style = alter(_style(), [Pivot("front", "waist dart", Spot("side", 150.0), share=share)])
    rest = alter(style, [Pivot("front", "waist dart", Spot("hem", 100.0))]).piece("front")
    assert len(rest.darts) == 2
    assert sum(abs(_angle(mouth)) for mouth in _mouths(rest).values()) == pytest.approx(ANGLE)
    gathered = alter(style, [Pivot("front", "waist dart 2", Spot("hem", 100.0), Leave.FULLNESS)]).piece("front")
    (left,) = _mouths(gathered).values()
    assert abs(_angle(left)) == pytest.approx((1 - share) * ANGLE)


@pytest.mark.parametrize("size", ["00", "10", "20"])
@pytest.mark.parametrize("share", [0.3, 0.5])
def test_a_drafted_bust_dart_is_divided_between_side_and_shoulder(size: str, share: float) -> None:
    style = draft(StyleAsked("bodice", "bodice"), Wearer(size, misses_body(size)))
    step = Pivot("front", "bust dart", Spot("shoulder", share=0.5), share=share, name="shoulder dart")
    after = alter(style, [step])
    before, piece = style.piece("front"), after.piece("front")

    def angle(of: Piece, name: str) -> float:
        first, second = (line.points for line in of.lines if line.name == f"{name} leg")
        assert length(first) == pytest.approx(length(second))
        return abs(_angle(np.vstack([first[0], second[0], first[-1]])))

    whole = angle(before, "bust dart")
    assert angle(piece, "bust dart") == pytest.approx((1 - share) * whole)
    assert angle(piece, "shoulder dart") == pytest.approx(share * whole)
    assert [edge.name for edge in piece.edges if "cap" in edge.name or "shoulder" in edge.name] != []
    assert {"shoulder 1", "dart cap 2", "shoulder 2", "dart cap"} <= {edge.name for edge in piece.edges}
    assert sorted(hole.name for hole in piece.drills) == sorted([*(h.name for h in before.drills), "shoulder dart"])
    assert check_walk(walk(after)) == ()
    assert [found for found in check_pieces(after) if "legs" in found.what] == []
    waist = {line.name for line in before.lines}
    assert waist <= {line.name for line in piece.lines}  # the waist dart is still there


@pytest.mark.parametrize(
    ("more", "step", "what", "fix"),
    [
        (
            {},
            Pivot("front", "waist dart", Spot("side", 150.0), share=1.2),
            "120% of a dart cannot be moved",
            "all of it",
        ),
        ({}, Pivot("front", "waist dart", Spot("side", 150.0), share=0.0), "0% of a dart", "more than nothing"),
        (
            {},
            Pivot("front", "waist dart", Spot("side", 150.0), share=0.5, name="waist dart"),
            "already",
            "another name",
        ),
        (
            {"darts": (Dart("waist dart", "top", 0.0, 30.0, (185.0, 200.0)),)},
            Pivot("front", "waist dart", Spot("side", 250.0), share=0.5),
            'its mouth reaches an end of the edge "top"',
            "whole dart",
        ),
    ],
)
def test_what_cannot_be_divided_is_refused(more: dict[str, object], step: Pivot, what: str, fix: str) -> None:
    with pytest.raises(PieceError) as caught:
        alter(_style(**more), [step])
    assert what in caught.value.what
    assert fix in caught.value.fix
    assert 'piece "front"' in caught.value.place


def test_a_dart_that_is_moved_whole_may_be_called_otherwise() -> None:
    piece = alter(_style(), [Pivot("front", "waist dart", Spot("side", 150.0), name="side dart")]).piece("front")
    assert [dart.name for dart in piece.darts] == ["side dart"]
    assert [line.name for line in piece.construction] == ["waist dart closed"]
