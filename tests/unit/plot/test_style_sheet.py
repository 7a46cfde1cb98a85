"""Sheets of a style: judged by shapely (nothing overlaps), pypdfium2 (the page) and closed forms (lengths, scale)."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from cutroom.errors import PieceError, PlotError
from cutroom.job.pieces import draft_order, read_order
from cutroom.job.style_sheets import places_of, style_sheet
from cutroom.model.finding import Finding, Severity
from cutroom.model.order import Order
from cutroom.model.piece import Cut, Edge, EdgeKind, NamedLine, Notch, Piece, SewnSeam, Style
from cutroom.model.plot import Plot, Role
from cutroom.plot.edge_words import edge_words
from cutroom.plot.nested import compose_nested
from cutroom.plot.piece_view import Shown, laid_over, view_piece
from cutroom.plot.scale_mark import scale_mark
from cutroom.plot.style_sheet import compose_style, look_at
from cutroom.plot.words import dashed, wrapped
from cutroom.units import Unit
from cutroom.write.pdf import write_pdf
from cutroom.write.svg import write_svg
from tests.builders import a_prepared_piece
from tests.drawing import a_polygon_piece

SAMPLE = Path(__file__).parents[3] / "samples" / "blouses" / "job.toml"
INCHES = look_at(4.0, Unit.INCH)


@pytest.fixture(scope="module")
def order() -> Order:
    return read_order(SAMPLE)


@pytest.fixture(scope="module")
def style(order: Order) -> Style:
    return draft_order(order).styles["blouse", "ines"]


def _sheet(order: Order, style: Style, *findings: Finding, scale: float = 4.0, construction: bool = False) -> Plot:
    return style_sheet(order, order.garments[0], style, findings, scale=scale, construction=construction)


@pytest.mark.parametrize(("scale", "construction"), [(4.0, False), (4.0, True), (1.0, True), (10.0, False)])
def test_nothing_is_drawn_outside_the_page(order: Order, style: Style, scale: float, construction: bool) -> None:
    plot = _sheet(order, style, scale=scale, construction=construction)
    points = np.vstack([stroke.points for stroke in plot.strokes])
    assert (points > plot.lower).all()
    assert (points < plot.upper).all()
    page = pypdfium2.PdfDocument(write_pdf(plot))[0]
    wanted = np.array(plot.upper) * 72 / 25.4  # PDF 1.6: a unit is 1/72 in
    assert np.allclose(page.get_size(), wanted, atol=0.01)


@pytest.mark.parametrize("scale", [1.0, 4.0])
def test_pieces_are_drawn_at_the_scale_that_is_said(order: Order, style: Style, scale: float) -> None:
    sleeve = replace(style, pieces=(style.piece("sleeve"),), seams=(), facts=())
    plot = _sheet(order, sleeve, scale=scale)
    (cut,) = [stroke for stroke in plot.strokes if stroke.role is Role.CUT]
    # from the draft: hem 1 1/2 in folded back at the wrist, 1/2 in over the cap (mitred corners are wider than that)
    height = np.ptp(np.vstack([edge.points for edge in style.piece("sleeve").edges])[:, 1]) + 38.1 + 12.7
    assert np.ptp(cut.points[:, 1]) * scale == pytest.approx(height, abs=0.1)


def test_the_same_sheet_is_the_same_bytes(order: Order, style: Style) -> None:
    assert write_svg(_sheet(order, style)) == write_svg(_sheet(order, style))


def test_a_full_size_sheet_has_the_test_square_and_no_other(order: Order, style: Style) -> None:
    def squares(plot: Plot) -> int:
        closed = [np.ptp(s.points, axis=0) for s in plot.strokes if s.role is Role.SHEET and s.closed]
        return sum(bool(np.allclose(size, 100.0, atol=1e-9)) for size in closed)

    assert squares(_sheet(order, style, scale=1.0)) == 1
    assert squares(_sheet(order, style)) == 0


@pytest.mark.parametrize(("unit", "one"), [(Unit.INCH, 25.4), (Unit.CENTIMETRE, 10.0), (Unit.MILLIMETRE, 10.0)])
@pytest.mark.parametrize("scale", [2.0, 4.0, 5.0, 10.0, 20.0])
def test_the_scale_bar_is_as_long_as_its_ticks_say(unit: Unit, one: float, scale: float) -> None:
    level = [s.points for s in scale_mark(scale, unit, 3.0) if len(s.points) == 2]
    bar = level[0]
    ticks = [points[0, 0] for points in level[1:] if points[0, 0] == points[1, 0] and points[0, 1] == 0]
    assert np.ptp(bar[:, 0]) <= 110.0
    assert np.ptp(bar[:, 0]) * scale / one == pytest.approx(len(ticks) - 1)
    assert np.allclose(np.diff(ticks) * scale, one)


def _boxes(view_words: list[shapely.Geometry]) -> list[shapely.Geometry]:
    return [one for one in view_words if isinstance(one, shapely.Polygon)]


@pytest.mark.parametrize("construction", [False, True])
def test_words_never_overlap_each_other_or_a_line(style: Style, construction: bool) -> None:
    """The piece's name stands above all of them."""
    look = replace(INCHES, construction=construction)
    for piece in style.pieces:
        view = view_piece(Shown(piece, None, "cut 1"), look)
        boxes = _boxes(view.taken.words)
        assert len(boxes) >= len(piece.edges) + 2  # every edge, and both dimensions
        for place, box in enumerate(boxes):
            assert not shapely.intersects(np.array(boxes[:place] + view.taken.lines, dtype=object), box).any()
        name = min(s.points[:, 1].min() for s in view.strokes[-2:])
        assert name > shapely.total_bounds(np.array(boxes, dtype=object))[3]


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(st.floats(20, 600), st.floats(0.3, 1.0)), min_size=3, max_size=9),
    st.sampled_from([1.0, 4.0]),
)
def test_every_edge_of_any_piece_is_lettered(spokes: list[tuple[float, float]], scale: float) -> None:
    turns = np.cumsum([turn for _, turn in spokes])
    angles = turns / turns[-1] * 2 * np.pi
    points = [(float(r * np.cos(a)), float(r * np.sin(a))) for (r, _), a in zip(spokes, angles, strict=True)]
    piece = a_polygon_piece(points, allowance=12.0)
    view = view_piece(Shown(piece, None), look_at(scale, Unit.CENTIMETRE))
    boxes = _boxes(view.taken.words)
    assert len(boxes) == len(piece.edges) + 2
    assert not any(
        shapely.intersects(np.array(boxes[:place], dtype=object), box).any() for place, box in enumerate(boxes)
    )


@pytest.mark.parametrize(
    ("edge", "unit", "words"),
    [
        (Edge("side", np.array([(0, 0), (398.4625, 0)]), 12.7), Unit.INCH, "side 15 11/16 in, +1/2"),
        (Edge("side", np.array([(0, 0), (254.0, 0)]), 10.16), Unit.INCH, "side 10 in, +0.4"),
        (Edge("side", np.array([(0, 0), (254.0, 0)]), 12.0), Unit.CENTIMETRE, "side 25.4 cm, +1.2"),
        (Edge("outer", np.array([(0, 0), (254.0, 0)])), Unit.MILLIMETRE, "outer 254.0 mm, no allowance"),
        (Edge("hem", np.array([(0, 0), (254.0, 0)]), 38.1, EdgeKind.HEM), Unit.INCH, "hem 10 in, +1 1/2 turned up"),
        (
            Edge("hem", np.array([(0, 0), (254.0, 0)]), 38.1, EdgeKind.HEM, turns=(31.75,)),
            Unit.INCH,
            "hem 10 in, +1 1/2 turned up, again at 1 1/4",
        ),
        (Edge("centre", np.array([(0, 0), (254.0, 0)]), 0.0, EdgeKind.FOLD), Unit.INCH, "centre 10 in, on the fold"),
    ],
)
def test_an_edge_says_its_length_and_what_stands_beyond_it(edge: Edge, unit: Unit, words: str) -> None:
    assert edge_words(edge, unit) == words


def test_an_edge_that_was_let_out_says_both_lengths() -> None:
    edge = Edge("side", np.array([(0.0, 0.0), (500.0 / 0.97, 0.0)]), 10.0)
    assert edge_words(edge, Unit.CENTIMETRE, drafted=500.0) == "side 50.0 cm (let out: 51.5), +1"
    assert edge_words(edge, Unit.CENTIMETRE, drafted=515.3) == "side 51.5 cm, +1"


def test_a_finding_is_marked_where_it_says(order: Order, style: Style) -> None:
    finding = Finding(Severity.WARN, 'Blouse for Ines (ines), piece "sleeve", edge "hem"', "it is odd", "Look at it")
    sleeve = replace(style, pieces=(style.piece("sleeve"),), seams=(), facts=())
    plain, marked = _sheet(order, sleeve), _sheet(order, sleeve, finding)
    assert len(marked.words) == len(plain.words) + 1
    assert marked.words[-1] == f"1. {finding}"
    hem = next(s for s in marked.strokes if s.role is Role.CUT).points
    foot = hem[:, 1].min() + 38.1 / 4  # the hem line, 1 1/2 in above the cut line
    leaders = [
        s.points
        for s in marked.strokes
        if s.role is Role.NOTCH and not s.closed and len(s.points) == 2 and abs(s.points[0, 1] - foot) < 0.2
    ]
    middle = (hem[:, 0].min() + hem[:, 0].max()) / 2
    assert any(abs(points[0, 0] - middle) < 0.5 for points in leaders)
    assert any(s.role is Role.NOTCH and s.closed for s in marked.strokes)


def test_findings_of_seams_edges_and_points_find_their_pieces() -> None:
    square = a_polygon_piece([(0, 0), (100, 0), (100, 60), (0, 60)], name="one")
    other = replace(square, name="two")
    style = Style("s", "m", (square, other), (SewnSeam("side", (("one", "e1"),), (("two", "e3"),)),))

    def found(place: str, at: tuple[float, float] | None = None) -> list[tuple[str, tuple[float, float]]]:
        return list(places_of(Finding(Severity.NOTE, place, "x", "y", at), style))

    assert found("seam side") == [("one", (100.0, 30.0)), ("two", (0.0, 30.0))]
    assert found("seam side: one, e1 and two, e3") == found("seam side")
    assert found('piece "two", edge "e0"') == [("two", (50.0, 0.0))]
    assert found('piece "two", edge "e0"', (3.0, 4.0)) == [("two", (3.0, 4.0))]
    assert found("bust") == found('piece "three"') == []


def test_a_piece_that_cannot_be_prepared_is_still_shown(order: Order, style: Style) -> None:
    sleeve = style.piece("sleeve")
    spoilt = replace(sleeve, notches=(Notch("hem", 0.5),))
    plot = _sheet(order, replace(style, pieces=(spoilt,), seams=(), facts=()))
    assert any("STOP" in line and '"sleeve"' in line for line in plot.words)
    (outline,) = [s for s in plot.strokes if s.role is Role.CUT]
    drafted = np.vstack([edge.points for edge in sleeve.edges])
    assert np.allclose(np.ptp(outline.points, axis=0) * 4, np.ptp(drafted, axis=0), atol=0.2)


def test_a_prepared_piece_is_known_by_its_turn_points() -> None:
    prepared = a_prepared_piece()
    corners = [(0.0, 0.0), (170.0, 0.0), (200.0, 30.0), (200.0, 60.0), (80.0, 60.0), (80.0, 120.0), (0.0, 120.0)]
    piece = a_polygon_piece([(x - 7.0, y + 3.0) for x, y in corners])
    assert np.allclose(laid_over(piece, prepared), (7.0, -3.0))
    with pytest.raises(PieceError, match="not the piece that was prepared"):
        laid_over(a_polygon_piece([(0, 0), (31, 0), (17, 23)]), prepared)


@given(
    st.lists(st.tuples(st.integers(-50, 50), st.integers(-50, 50)), min_size=2, max_size=8, unique=True),
    st.sampled_from([(), (5.0, 1.5), (7.0, 1.5, 0.8, 1.5)]),
)
def test_dashes_lie_on_their_line_and_are_as_long_as_the_pattern_says(
    places: list[tuple[int, int]], pattern: tuple[float, ...]
) -> None:
    line = np.array(places, dtype=np.float64)
    whole = shapely.LineString(line)
    dashes = dashed(line, pattern)
    assert all(shapely.distance(whole, shapely.Point(point)) < 1e-6 for dash in dashes for point in dash)
    rounds, rest = divmod(whole.length, sum(pattern)) if pattern else (0.0, 0.0)
    drawn, at = rounds * sum(pattern[::2]), 0.0
    for place, step in enumerate(pattern):
        drawn += max(0.0, min(rest - at, step)) if place % 2 == 0 else 0.0
        at += step
    lengths = sum(shapely.LineString(dash).length for dash in dashes)
    assert lengths == pytest.approx(drawn if pattern else whole.length, abs=1e-6)


def test_long_findings_are_broken_between_words() -> None:
    words = "the second side is longer than it should be " * 4
    lines = wrapped(words, 3.0, 60.0)
    assert " ".join(lines) == words.strip()
    assert len(lines) > 3


def _sizes(*names: str) -> list[Style]:
    return [
        Style("skirt", name, (a_polygon_piece([(0, 0), (90 + 8 * k, 0), (90 + 8 * k, 400), (0, 400)], name="front"),))
        for k, name in enumerate(names)
    ]


def test_every_size_has_a_line_and_a_name_of_its_own() -> None:
    one, two = (compose_nested(_sizes(*names), INCHES, title="skirt") for names in (("8", "10"), ("8", "10", "12")))
    lines = [[s for s in plot.strokes if s.role is Role.CUT] for plot in (one, two)]
    assert len(lines[0][0].points) == 5  # the first size is one whole line, the others are dashes of different lengths
    longest = [max(np.hypot(*np.diff(s.points, axis=0).T).sum() for s in lines[k][1:]) for k in (0, 1)]
    assert np.allclose(longest, 5.0)
    assert min(round(float(np.hypot(*np.diff(s.points, axis=0).T).sum()), 6) for s in lines[1][80:120]) <= 2.5
    leaders = [sum(s.role is Role.LABEL and len(s.points) == 3 for s in plot.strokes) for plot in (one, two)]
    assert leaders[1] > leaders[0]


def test_sizes_are_laid_together_where_they_are_told() -> None:
    def spread(meet: str) -> float:
        plot = compose_nested(_sizes("8", "16"), INCHES, title="skirt", meet=meet)
        points = [s.points for s in plot.strokes if s.role is Role.CUT]
        return float(np.vstack(points[1:])[:, 0].max() - points[0][:, 0].max())

    assert spread("") == pytest.approx(8 / 4, abs=1e-6)  # the second is 8 mm wider, at a quarter
    assert spread("e1") == pytest.approx(0.0, abs=1e-6)  # e1 starts at the lower right corner


def test_one_size_is_no_nest_and_an_unknown_edge_is_refused() -> None:
    with pytest.raises(PlotError, match="only one size"):
        compose_nested(_sizes("8"), INCHES, title="skirt")
    with pytest.raises(PlotError, match=r'no piece has an edge "hem".*Name one of: e0, e1'):
        compose_nested(_sizes("8", "10"), INCHES, title="skirt", meet="hem")


def test_a_name_that_cannot_be_lettered_is_refused() -> None:
    piece = a_polygon_piece([(0, 0), (100, 0), (100, 60), (0, 60)], name="漢")
    with pytest.raises(PlotError, match=r"U\+6F22"):
        compose_style([Shown(piece, None)], INCHES, title="sheet")


def test_construction_lines_are_drawn_when_they_are_wanted() -> None:
    square = a_polygon_piece([(0, 0), (400, 0), (400, 300), (0, 300)], cut=Cut.SINGLE)
    piece: Piece = replace(square, construction=(NamedLine("hip line", np.array([(0.0, 200.0), (400.0, 200.0)])),))

    def sheet_points(*, construction: bool) -> int:
        look = replace(INCHES, construction=construction)
        return sum(
            s.role is Role.SHEET and bool(np.isclose(s.points[:, 1], 50.0).all())
            for s in view_piece(Shown(piece, None), look).strokes
        )

    assert sheet_points(construction=False) == 0
    assert sheet_points(construction=True) > 10  # dots along a line of 100 mm


def test_a_ring_stands_at_each_corner_of_a_joint(style: Style) -> None:
    spots = (("front", (1.0, 2.0)), ("back", (3.0, 4.0)))
    found = Finding(Severity.WARN, "seam side: front, hem and back, hem", "x", "y", spots=spots)
    assert tuple(places_of(found, style)) == spots
