"""PDF files as PDFium reads them."""

import re

import numpy as np
import pypdfium2 as pdfium
import pytest
import shapely
from numpy.typing import NDArray

from cutroom.errors import PlotError
from cutroom.model.fabric import Fabric
from cutroom.model.plot import Plot, Role, Stroke
from cutroom.model.profile import Paper
from cutroom.plot.compose import compose
from cutroom.plot.tile import tile
from cutroom.write.pdf import write_pdf
from cutroom.write.tiles_pdf import write_tiles
from tests.builders import a_marker, a_paper
from tests.outside.pdf_reading import MM, DrawnPath, read_paths, read_words

PLOT = compose(a_marker(), legend=("Blouse for Inés", "12½ in"), title="Blouse – linen")
GREY = (153, 153, 153)  # 0.6 of 255


def _ring(points: NDArray[np.float64], *, closed: bool) -> NDArray[np.float64]:
    return np.vstack([points, points[:1]]) if closed else points


def _paths_of(strokes: tuple[Stroke, ...]) -> list[NDArray[np.float64]]:
    return [_ring(stroke.points, closed=stroke.closed) for stroke in strokes]


def test_the_page_is_as_large_as_the_drawing() -> None:
    (page,) = pdfium.PdfDocument(write_pdf(PLOT))
    width, height = np.array(page.get_size()) * MM
    assert width == pytest.approx(PLOT.upper[0] - PLOT.lower[0], abs=0.001)
    assert height == pytest.approx(PLOT.upper[1] - PLOT.lower[1], abs=0.001)


def test_every_stroke_is_one_path_in_its_place() -> None:
    (page,) = pdfium.PdfDocument(write_pdf(PLOT))
    paths = read_paths(page)
    assert len(paths) == len(PLOT.strokes)
    order = [Role.FABRIC, Role.SHEET, Role.SEAM, Role.GRAIN, Role.NOTCH, Role.DRILL, Role.LABEL, Role.CUT]
    painted = [stroke for role in order for stroke in PLOT.strokes if stroke.role is role]
    for path, stroke in zip(paths, painted, strict=True):
        assert path.closed == stroke.closed
        assert np.allclose(path.points[: len(stroke.points)] + PLOT.lower, stroke.points, atol=0.001)
    assert len({path.colour for path in paths}) == len(order)


def test_a_marker_longer_than_a_page_may_be_has_larger_units() -> None:
    # PDF 1.6, annex C: a side is at most 14400 units; UserUnit says how many points a unit is.
    plot = compose(a_marker(length=6200.0), legend=(), title="long")
    data = write_pdf(plot)
    box = re.search(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\] /UserUnit (\d+)", data)
    assert box is not None
    width, height, unit = (float(number) for number in box.groups())
    assert unit == 2
    assert max(width, height) <= 14400
    assert width * unit * MM == pytest.approx(plot.upper[0] - plot.lower[0], abs=0.001)
    (page,) = pdfium.PdfDocument(data)
    drawn = np.vstack([path.points for path in read_paths(page)]) * unit + plot.lower
    wanted = np.vstack([stroke.points for stroke in plot.strokes])
    assert np.allclose([drawn.min(axis=0), drawn.max(axis=0)], [wanted.min(axis=0), wanted.max(axis=0)], atol=0.001)


def test_viewers_are_told_not_to_scale() -> None:
    # PrintScaling: viewer preferences, PDF 1.6, from memory
    for data in (write_pdf(PLOT), write_tiles(tile(PLOT, a_paper()))):
        assert re.search(rb"/ViewerPreferences\s*(<<\s*/PrintScaling\s*/None\s*>>|\d+ 0 R)", data)
        assert re.search(rb"/PrintScaling\s*/None", data)


def test_the_same_drawing_gives_the_same_bytes() -> None:
    assert write_pdf(PLOT) == write_pdf(PLOT)
    assert write_tiles(tile(PLOT, a_paper())) == write_tiles(tile(PLOT, a_paper()))


def _squares(paths: list[DrawnPath]) -> list[list[float]]:
    sizes = [np.ptp(path.points, axis=0) for path in paths if path.closed and path.colour == (0, 0, 0)]
    return sorted(size.tolist() for size in sizes if size.min() > 50)


@pytest.mark.parametrize("correction", [(1.0, 1.0), (1.030928, 1.0)])
@pytest.mark.parametrize("size", [(600.0, 300.0), (300.0, 900.0)])
def test_the_cover_has_both_squares_and_says_what_was_corrected(
    correction: tuple[float, float], size: tuple[float, float]
) -> None:
    plot = compose(a_marker(fabric=Fabric("linen", size[1]), length=size[0]), legend=("½ in",), title="linen")
    tiling = tile(plot, a_paper(correction=correction))
    cover = pdfium.PdfDocument(write_tiles(tiling))[0]
    lying = tiling.sheet[0] > tiling.sheet[1]
    on_page = correction[::-1] if lying else correction  # a sheet on its side is turned in the printer
    wanted = [[100.0 * factor for factor in on_page], [101.6 * factor for factor in on_page]]
    assert np.allclose(_squares(read_paths(cover)), wanted, atol=0.001)
    words = read_words(cover)
    assert "linen" in words
    assert "½ in" in words
    said = f"Corrected for this printer: {on_page[0]:.2%}"
    assert (said in words) == (correction != (1.0, 1.0))
    for path in read_paths(cover):
        assert path.points.min() >= 10 - 1e-3
        assert (path.points.max(axis=0) <= np.array(tiling.sheet) - 10 + 1e-3).all()


@pytest.mark.parametrize("correction", [(1.0, 1.0), (1.030928, 0.99)])
@pytest.mark.parametrize("name", ["upright", "on its side"])
def test_the_drawing_rebuilt_from_its_sheets_is_the_drawing(correction: tuple[float, float], name: str) -> None:
    wide = name == "on its side"
    plot = compose(
        a_marker(fabric=Fabric("linen", 300.0 if wide else 1165.0), length=600.0 if wide else 670.0),
        legend=("½",),
        title="x",
    )
    paper = a_paper(correction=correction)
    tiling = tile(plot, paper)
    correction = correction[::-1] if wide else correction  # a sheet on its side is turned in the printer
    assert (tiling.sheet[0] > tiling.sheet[1]) == wide
    assert wide or (tiling.columns, tiling.rows) == (5, 5)  # a drawing of 840 by 1180 mm
    document = pdfium.PdfDocument(write_tiles(tiling))
    assert len(document) == 1 + len(tiling.tiles)
    joined: list[NDArray[np.float64]] = []
    for page in list(document)[1:]:
        width, height = np.array(page.get_size()) * MM
        assert sorted([width, height]) == pytest.approx([210.0, 297.0], abs=0.01)
        found = re.search(r"Sheet ([A-Z])(\d+)", read_words(page))
        assert found is not None
        row, column = ord(found[1]) - ord("A"), int(found[2]) - 1
        step = (np.array([width, height]) - 20) / correction - 10
        corner = np.array(plot.lower) + step * (column, row)
        drawing = [path for path in read_paths(page) if path.colour != GREY]
        assert drawing
        for path in drawing:
            assert path.points.min() >= 10 - 1e-3
            assert (path.points <= np.array([width, height]) - 10 + 1e-3).all()
            joined.append(corner + (_ring(path.points, closed=path.closed) - 10) / correction)
    wanted = _paths_of(plot.strokes)
    rebuilt, whole = shapely.MultiLineString(joined), shapely.MultiLineString(wanted)
    points = np.vstack(
        [*wanted, *(shapely.get_coordinates(shapely.segmentize(shapely.LineString(w), 5.0)) for w in wanted)]
    )
    assert shapely.distance(shapely.points(points), rebuilt).max() < 0.01
    assert shapely.distance(shapely.points(np.vstack(joined)), whole).max() < 0.01


def test_join_marks_of_the_same_name_meet() -> None:
    tiling = tile(PLOT, a_paper())
    document = pdfium.PdfDocument(write_tiles(tiling))
    places: dict[tuple[float, float], int] = {}
    for page, one in zip(list(document)[1:], tiling.tiles, strict=True):
        for path in read_paths(page):
            if path.colour == GREY and path.closed:
                middle = (path.points.min(axis=0) + path.points.max(axis=0)) / 2 - 10 + one.lower
                key = (round(float(middle[0]), 1), round(float(middle[1]), 1))
                places[key] = places.get(key, 0) + 1
    there = {(one.row, one.column) for one in tiling.tiles}
    joins = sum(((row, column + 1) in there) + ((row + 1, column) in there) for row, column in there)
    assert len(places) == 2 * joins
    assert set(places.values()) == {2}


def test_a_title_beyond_latin_1_is_drawn() -> None:
    plot = Plot("Žluťoučký → 12", PLOT.lower, PLOT.upper, PLOT.strokes, ("Řež",))
    plain = Plot("x", PLOT.lower, PLOT.upper, PLOT.strokes, ())
    drawn, blank = (read_paths(pdfium.PdfDocument(write_tiles(tile(one, a_paper())))[0]) for one in (plot, plain))
    assert len(drawn) > len(blank) + 20
    with pytest.raises(PlotError, match=r"U\+6F22"):
        write_tiles(tile(Plot("漢", PLOT.lower, PLOT.upper, PLOT.strokes), a_paper()))


def test_paper_too_small_for_the_test_squares_is_refused() -> None:
    with pytest.raises(PlotError, match="too small"):
        write_tiles(tile(PLOT, Paper("A6", 105.0, 148.0)))


def test_a_dot_is_a_path() -> None:
    dot = Stroke(Role.DRILL, np.array([(5.0, 5.0)]))
    (page,) = pdfium.PdfDocument(write_pdf(Plot("dot", (0.0, 0.0), (10.0, 10.0), (dot,))))
    (path,) = read_paths(page)
    assert len(path.points) == 2
    assert np.allclose(path.points, 5.0, atol=0.001)
