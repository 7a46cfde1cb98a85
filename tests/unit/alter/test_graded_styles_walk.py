"""A small graded style, sewn: its seams walk in every size, and its turn points stand where the rules say.

Closed forms: a point moved by (dx, dy) a step stands at its base place plus the sum of its steps, and the straight edge
between two such points has the length Pythagoras gives.
"""

import math

import numpy as np
import pytest

from cutroom.alter.grade import grade_style
from cutroom.geometry.polyline import length
from cutroom.model.grading import GradeRule, Grading, NotchGrade
from cutroom.model.piece import Cut, Edge, EdgeKind, Notch, Piece, SewnSeam, Style
from cutroom.prepare.check import check_pieces
from cutroom.prepare.walk import check_walk, walk

SIZES = ("8", "10", "12", "14", "18")
BASE = "12"
STEPS = {
    ("hem", "side"): ((5.0, -2.0), (5.0, -2.0), (6.0, -3.0), (12.0, -6.0)),
    ("side", "waist"): ((4.0, 1.0), (4.0, 1.0), (5.0, 1.5), (10.0, 3.0)),
    ("waist", "centre"): ((0.0, 1.0), (0.0, 1.0), (0.0, 1.5), (0.0, 3.0)),
    ("centre", "hem"): ((0.0, -2.0), (0.0, -2.0), (0.0, -3.0), (0.0, -6.0)),
}
CORNERS = {
    ("hem", "side"): (240.0, 0.0),
    ("side", "waist"): (190.0, 600.0),
    ("waist", "centre"): (0.0, 600.0),
    ("centre", "hem"): (0.0, 0.0),
}


def _panel(name: str, hand: int) -> Piece:
    """The front; the back is its mirror image, drawn to the left of the centre."""
    low, high, top, bottom = (np.array(CORNERS[at]) * (hand, 1) for at in CORNERS)
    bow = (low + high) / 2 + np.array([8.0 * hand, 0.0])  # the side seam is bowed out over the hip
    runs = {"hem": [bottom, low], "side": [low, bow, high], "waist": [high, top], "centre": [top, bottom]}
    order = list(runs) if hand > 0 else ["hem", "centre", "waist", "side"]
    edges = []
    for one in order:
        points = np.array(runs[one] if hand > 0 else runs[one][::-1])
        edges.append(Edge(one, points, 40.0 if one == "hem" else 10.0, EdgeKind.HEM if one == "hem" else EdgeKind.SEAM))
    side = next(edge for edge in edges if edge.name == "side")
    share = 0.4 if hand > 0 else 0.6  # from its lower end, whichever way it runs
    notch = Notch("side", share * length(side.points), name="hip")
    grain = np.array([[100.0 * hand, 500.0], [100.0 * hand, 100.0]])
    return Piece(name, tuple(edges), grain, cut=Cut.PAIR, notches=(notch,))


def _style() -> Style:
    seams = (
        SewnSeam("side", (("front", "side"),), (("back", "side"),), second_from_end=True),
        SewnSeam("centre", (("front", "centre"),), (("front", "centre"),)),
    )
    return Style("skirt", BASE, (_panel("front", 1), _panel("back", -1)), seams)


def _grading(notches: NotchGrade, *, spoilt: bool = False) -> Grading:
    rules = []
    for piece, hand in (("front", 1), ("back", -1)):
        for point, steps in STEPS.items():
            more = 2.0 if spoilt and piece == "back" and point == ("side", "waist") else 0.0
            rules.append(GradeRule(piece, point, tuple((dx * hand, dy + more) for dx, dy in steps)))
    return Grading(BASE, SIZES, tuple(rules), notches)


def _moved(point: tuple[str, str], size: str) -> tuple[float, float]:
    base, at = SIZES.index(BASE), SIZES.index(size)
    steps = STEPS[point][min(base, at) : max(base, at)]
    sign = 1 if at > base else -1
    return sign * math.fsum(x for x, _ in steps), sign * math.fsum(y for _, y in steps)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("notches", NotchGrade)
def test_every_seam_walks_in_every_size(size: str, notches: NotchGrade) -> None:
    graded = grade_style(_style(), _grading(notches), size)
    walked = walk(graded)
    assert check_walk(walked) == ()
    base = {(one.severity, one.place) for one in check_pieces(_style(), walk(_style()))}
    assert {(one.severity, one.place) for one in check_pieces(graded, walked)} == base  # no size is worse than the base
    for seam in walked:
        assert seam.difference == pytest.approx(0.0, abs=1e-9)
    (hip,) = walked[0].marks
    assert hip.difference == pytest.approx(0.0, abs=1e-9)
    if notches is NotchGrade.DISTANCE:
        assert graded.piece("front").notches[0].at == pytest.approx(_style().piece("front").notches[0].at)


@pytest.mark.parametrize("size", SIZES)
def test_turn_points_stand_where_the_rules_say(size: str) -> None:
    graded = grade_style(_style(), _grading(NotchGrade.SHARE), size)
    ends = {}
    for point, (x, y) in CORNERS.items():
        dx, dy = _moved(point, size)
        ends[point] = (x + dx, y + dy)
        for piece, hand in (("front", 1), ("back", -1)):
            first, second = (graded.piece(piece).edge(name).points for name in point)
            meets = first[-1] if hand > 0 else first[0]
            assert meets == pytest.approx(((x + dx) * hand, y + dy), abs=1e-9)
            assert (second[0] if hand > 0 else second[-1]) == pytest.approx(meets, abs=1e-12)
    hem = math.dist(ends["centre", "hem"], ends["hem", "side"])
    assert length(graded.piece("front").edge("hem").points) == pytest.approx(hem, abs=1e-9)
    grain = np.diff(graded.piece("front").grain, axis=0)
    assert grain == pytest.approx(np.array([[0.0, -400.0]]), abs=1e-9)


def test_a_rule_forgotten_on_one_side_is_found_by_walking() -> None:
    found = check_walk(walk(grade_style(_style(), _grading(NotchGrade.SHARE, spoilt=True), "18")))
    assert any("side" in one.place for one in found)
