"""Laws of what a piece carries: darts, holes, cut-outs and lines move with the cloth they lie on, and none is lost."""

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from shapely import LineString, MultiLineString, Point, Polygon
from shapely.affinity import translate

from cutroom.alter.alter import alter
from cutroom.alter.grade import grade_style
from cutroom.draft.blocks import draft
from cutroom.draft.bodies import misses_body
from cutroom.errors import PieceError
from cutroom.geometry.polyline import length, point_at
from cutroom.model.alteration import Extend, Lengthen, Merge, Mirror, Pivot, Slash, Split, Spot, Step
from cutroom.model.grading import GradeRule, Grading
from cutroom.model.order import StyleAsked, Wearer
from cutroom.model.piece import Cut, Dart, DrillHole, Edge, NamedLine, Notch, Piece, Pressed, Style

WIDE, LONG = 200.0, 300.0
inside = st.tuples(st.floats(8.0, WIDE - 8), st.floats(8.0, LONG - 20))
shares = st.floats(0.08, 0.92)

Line = NDArray[np.float64]


@st.composite
def laden(draw: st.DrawFn) -> Style:
    """A rectangle, its top curved, with darts, holes, a cut-out and lines anywhere on it."""
    arc = np.linspace(0, np.pi, 9)
    top = np.column_stack([WIDE / 2 * (1 + np.cos(arc)), LONG + draw(st.floats(-12.0, 12.0)) * np.sin(arc)])
    corners = np.array([[0.0, 0.0], [WIDE, 0.0], [WIDE, LONG], [0.0, LONG], [0.0, 0.0]])
    lines = corners[:2], corners[1:3], np.vstack([corners[2], top[1:-1], corners[3]]), corners[3:]
    edges = tuple(Edge(name, line, 10.0) for name, line in zip(("hem", "side", "top", "centre"), lines, strict=True))
    whole = length(edges[2].points)
    wide, at, deep = draw(st.floats(5.0, 30.0)), draw(shares), draw(st.floats(40.0, 150.0))
    start = float(np.clip(at * whole, 1.0, whole - wide - 1.0))
    ends = [point_at(edges[2].points, one)[0] for one in (start, start + wide)]
    across = ends[1] - ends[0]
    tip = (ends[0] + ends[1]) / 2 + np.array([-across[1], across[0]]) / np.hypot(*across) * deep
    assume(8 < tip[0] < WIDE - 8)
    dart = Dart("waist dart", "top", start, start + wide, (float(tip[0]), float(tip[1])), pressed=Pressed.END)
    x, y = draw(inside)
    eyelet = np.array([[x - 4, y - 4], [x + 4, y - 4], [x + 4, y + 4], [x - 4, y + 4]])
    holes = draw(st.lists(inside, min_size=1, max_size=5))
    drawn = draw(st.lists(st.tuples(inside, inside), min_size=1, max_size=3))
    piece = Piece(
        "front",
        edges,
        np.array([[50.0, 250.0], [50.0, 50.0]]),
        cut=Cut.PAIR,
        notches=(Notch("side", draw(st.floats(20.0, LONG - 20)), name="hip"),),
        drills=tuple(DrillHole(f"button {n}", at) for n, at in enumerate(holes)),
        lines=tuple(NamedLine(f"tuck {n}", np.array(ends)) for n, ends in enumerate(drawn) if ends[0] != ends[1]),
        darts=(dart,),
        cutouts=(NamedLine("eyelet", eyelet),),
    )
    return Style("skirt", "12", (piece,))


def _altered(style: Style, *steps: Step) -> Style:
    """The style altered; a line that runs through a dart, a cut-out or a hole is another law's."""
    try:
        return alter(style, steps)
    except PieceError:
        assume(False)
        raise


def _ring(piece: Piece) -> Polygon:
    return Polygon(np.vstack([edge.points[:-1] for edge in piece.edges]))


def _mouths(piece: Piece) -> list[Line]:
    """Both ends of every mouth, and the point, of every dart."""
    return [
        np.vstack([*(point_at(piece.edge(dart.edge).points, at)[0] for at in (dart.start, dart.end)), dart.point])
        for dart in sorted(piece.darts, key=lambda dart: dart.name)
    ]


def _holes(*pieces: Piece) -> dict[str, tuple[float, float]]:
    found = [hole for piece in pieces for hole in piece.drills]
    assert len({hole.name for hole in found}) == len(found)
    return {hole.name: hole.at for hole in found}


def _same_inside(one: Piece, two: Piece, within: float = 1e-6) -> None:
    assert _holes(one).keys() == _holes(two).keys()
    for name, at in _holes(one).items():
        assert np.hypot(*np.subtract(at, _holes(two)[name])) < within
    assert [dart.name for dart in one.darts] == [dart.name for dart in two.darts]
    for first, second in zip(_mouths(one), _mouths(two), strict=True):
        assert np.abs(first - second).max() < max(within, 1e-6)
    for first_lines, second_lines in ((one.lines, two.lines), (one.cutouts, two.cutouts)):
        assert sorted(line.name for line in first_lines) == sorted(line.name for line in second_lines)
        for line in first_lines:
            other = next(fellow for fellow in second_lines if fellow.name == line.name)
            assert LineString(line.points).hausdorff_distance(LineString(other.points)) < max(within, 0.02)


@settings(max_examples=80, deadline=None)
@given(style=laden(), low=shares, high=shares, bend=st.floats(-20.0, 20.0))
def test_split_then_merged_all_that_lay_inside_lies_there_again(
    style: Style, low: float, high: float, bend: float
) -> None:
    before = style.piece("front")
    through = np.array([[WIDE * (low + 1 - high) / 2 + bend, LONG / 2]])
    step = Split("front", Spot("hem", share=low), Spot("top", share=high), "panel", ("one", "two"), through=through)
    parts = _altered(style, step)
    assert _holes(*parts.pieces).keys() == _holes(before).keys()
    assert sum(len(part.darts) for part in parts.pieces) == 1
    assert sum(len(part.cutouts) for part in parts.pieces) == 1
    for part in parts.pieces:
        cloth = _ring(part).buffer(0.02)
        assert all(cloth.covers(Point(hole.at)) for hole in part.drills)
        assert all(cloth.covers(LineString(line.points)) for line in (*part.lines, *part.cutouts))
        assert all(cloth.buffer(13.0).covers(LineString(mouth)) for mouth in _mouths(part))
    for first, second in (("one", "two"), ("two", "one")):
        whole = alter(parts, [Merge(first, "panel", second, "panel", "front")]).piece("front")
        assert _ring(whole).exterior.hausdorff_distance(_ring(before).exterior) < 0.01
        _same_inside(whole, before)


@settings(max_examples=80, deadline=None)
@given(style=laden(), low=shares, high=shares, more=st.floats(0.5, 50.0), end=st.floats(0.0, 1.0))
def test_slashed_and_spread_each_thing_keeps_its_place_on_its_part(
    style: Style, low: float, high: float, more: float, end: float
) -> None:
    before = style.piece("front")
    after = _altered(style, Slash("front", Spot("hem", share=low), Spot("top", share=high), more, more * end))
    piece = after.piece("front")
    cut = LineString([before.edge("hem").points[0] + [low * WIDE, 0], _at_share(before, "top", high)])
    right = [(before.edge("side").points, piece.edge("side").points)]
    left = [(before.edge("centre").points, piece.edge("centre").points)]
    assert _holes(piece).keys() == _holes(before).keys()
    things = [(np.array([at]), np.array([_holes(piece)[name]])) for name, at in _holes(before).items()]
    things += list(zip(_mouths(before), _mouths(piece), strict=True))
    things += [(one.points, two.points) for one, two in zip(before.cutouts, piece.cutouts, strict=True)]
    for old, new in things:
        x, y = old.mean(axis=0)
        way = np.diff(np.array(cut.coords), axis=0)[0]
        off = np.array([x, y]) - cut.coords[0]
        (were, are) = left[0] if way[0] * off[1] - way[1] * off[0] > 0 else right[0]
        for spot, fellow in zip(old, new, strict=True):
            for corner, moved in ((were[0], are[0]), (were[-1], are[-1])):
                assert abs(np.hypot(*(spot - corner)) - np.hypot(*(fellow - moved))) < 1e-6
    gained = _ring(piece).area - _ring(before).area
    assert gained > 0
    runs = MultiLineString([LineString(line.points) for line in before.lines])
    assert abs(MultiLineString([LineString(line.points) for line in piece.lines]).length - runs.length) < 0.1


def _at_share(piece: Piece, edge: str, share: float) -> Line:
    points = piece.edge(edge).points
    spot: Line = point_at(points, share * length(points))[0]
    return spot


@settings(max_examples=60, deadline=None)
@given(style=laden(), at=st.floats(0.1, 0.9))
def test_a_dart_pivoted_there_and_back_leaves_all_as_it_was(style: Style, at: float) -> None:
    before = style.piece("front")
    (dart,) = before.darts
    taken_in = Polygon(_mouths(before)[0]).buffer(1.0)  # what was drawn there is sewn out of sight
    assume(not any(taken_in.intersects(LineString(line.points)) for line in before.lines))
    there = _altered(style, Pivot("front", "waist dart", Spot("side", share=at)))
    (moved,) = there.piece("front").darts
    old, new = _mouths(before)[0], _mouths(there.piece("front"))[0]
    angles = [_angle(mouth[0] - mouth[2], mouth[1] - mouth[2]) for mouth in (old, new)]
    assert abs(angles[0] - angles[1]) < 1e-9
    assert moved.edge == "side"
    assert abs(_ring(there.piece("front")).area - sum(_kept(before, there.piece("front")))) < 1e-3
    back = _altered(there, Pivot("front", "waist dart", Spot("top", dart.start)))
    whole = back.piece("front")
    assert [len(edge.points) >= len(old.points) for edge, old in zip(whole.edges, before.edges, strict=True)]
    _same_inside(whole, before, within=1e-6)
    for edge in before.edges:
        assert edge.name == "top" or abs(length(whole.edge(edge.name).points) - length(edge.points)) < 1e-6


def _kept(before: Piece, after: Piece) -> tuple[float, float]:
    """Area before without the dart, and the dart's area after."""
    old, new = (Polygon(mouth).area for mouth in (_mouths(before)[0], _mouths(after)[0]))
    (dart,) = before.darts
    edge = before.edge("top").points
    cap = Polygon([point_at(edge, at)[0] for at in np.linspace(dart.start, dart.end, 400)])
    signed = cap.area * (1 if cap.exterior.is_ccw else -1)
    return _ring(before).area - old - signed, new


def _angle(one: Line, two: Line) -> float:
    return float(np.arctan2(one[0] * two[1] - one[1] * two[0], one @ two))


@settings(max_examples=60, deadline=None)
@given(style=laden(), at=st.floats(60.0, LONG - 60), by=st.floats(1.0, 50.0))
def test_lengthened_then_shortened_all_lies_where_it_was(style: Style, at: float, by: float) -> None:
    before = style.piece("front")
    line = Spot("side", at), Spot("centre", LONG - at)
    longer = _altered(style, Lengthen("front", *line, by))
    assert len(longer.piece("front").darts) == len(longer.piece("front").cutouts) == 1
    shorter = _altered(longer, Lengthen("front", Spot("side", at + by), Spot("centre", LONG - at), -by))
    piece = shorter.piece("front")
    shift = piece.edge("hem").points[0] - before.edge("hem").points[0]  # both parts moved where the grain was cut
    assert translate(_ring(before), *shift).exterior.hausdorff_distance(_ring(piece).exterior) < 1e-6
    for name, spot in _holes(before).items():
        assert np.hypot(*(np.array(_holes(piece)[name]) - spot - shift)) < 1e-6
    assert np.abs(_mouths(piece)[0] - _mouths(before)[0] - shift).max() < 1e-6


@settings(max_examples=40, deadline=None)
@given(style=laden())
def test_graded_by_nothing_or_mirrored_twice_nothing_changes(style: Style) -> None:
    before = style.piece("front")
    none = Grading("M", ("M", "L"), (GradeRule("front", ("hem", "side"), ((0.0, 0.0),)),))
    assert grade_style(style, none, "L").piece("front") is before
    _same_inside(alter(style, [Mirror(("front",)), Mirror(("front",))]).piece("front"), before, within=1e-9)


@settings(max_examples=40, deadline=None)
@given(style=laden(), by=st.floats(-25.0, 40.0))
def test_an_edge_moved_keeps_its_dart_at_the_same_angle(style: Style, by: float) -> None:
    before = style.piece("front")
    piece = _altered(style, Extend("front", "top", by)).piece("front")
    old, new = _mouths(before)[0], _mouths(piece)[0]
    assert _holes(piece) == _holes(before)
    assert new[2].tolist() == old[2].tolist()
    for end in (0, 1):
        assert abs(_angle(old[end] - old[2], new[end] - new[2])) < 1e-6
    assert all(_ring(piece).buffer(0.01).covers(LineString(line.points)) for line in piece.lines)


@settings(max_examples=25, deadline=None)
@given(size=st.sampled_from(["00", "6", "12", "20"]), low=shares, high=shares, more=st.floats(1.0, 40.0))
def test_a_drafted_bodice_front_keeps_its_darts_when_it_is_slashed(
    size: str, low: float, high: float, more: float
) -> None:
    style = draft(StyleAsked("bodice", "bodice"), Wearer(size, misses_body(size)))
    front = style.piece("front")
    slash = Slash("front", Spot("centre front", share=low), Spot("armhole", share=high), more)
    piece = _altered(style, slash).piece("front")
    for line, fellow in zip(_legs(front), _legs(piece), strict=True):
        assert line.name == fellow.name
        assert abs(length(line.points) - length(fellow.points)) < 1e-6
    assert len(piece.drills) == len(front.drills)
    assert [edge.name for edge in piece.edges] == [edge.name for edge in front.edges]


def _legs(piece: Piece) -> list[NamedLine]:
    legs = [line for line in piece.lines if line.name.endswith(" leg")]
    return sorted(legs, key=lambda line: (line.name, length(line.points)))
