"""DXF files as ezdxf and GDAL read them.

Layers and texts of pieces after ASTM D6673; header variables ($INSUNITS 4 for mm) and versions (AC1009, AC1015) after
the DXF reference; both from memory.
"""

import datetime as dt
import io
from dataclasses import replace
from pathlib import Path

import ezdxf.document
import numpy as np
import pyogrio
import pytest
import shapely
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.entities.polyline import Polyline
from ezdxf.filemanagement import read
from ezdxf.layouts.blocklayout import BlockLayout

from cutroom.errors import PlotError
from cutroom.model.piece import Cut
from cutroom.model.plot import Role
from cutroom.plot.compose import compose
from cutroom.write.ascii import seven_bit
from cutroom.write.marker_dxf import write_marker_dxf
from cutroom.write.pieces_dxf import write_pieces_dxf
from tests.builders import a_marker, a_prepared_piece

PLOT = compose(a_marker(), legend=("Blouse for Inés",), title="linen")
PIECES = (
    a_prepared_piece("façade"),
    a_prepared_piece("pocket 5½", cut=Cut.SINGLE, quantity=2),
    a_prepared_piece("yoke", cut=Cut.FOLD),
)


def test_ezdxf_finds_nothing_wrong_with_a_marker() -> None:
    document = read(io.StringIO(write_marker_dxf(PLOT).decode("ascii")))
    auditor = document.audit()
    assert auditor.errors == []
    assert auditor.fixes == []
    assert document.dxfversion == "AC1015"
    assert document.header["$INSUNITS"] == 4
    assert document.header["$MEASUREMENT"] == 1
    assert {layer.dxf.name for layer in document.layers} >= set(Role) - {Role.CUTOUT}
    assert tuple(document.header["$EXTMIN"])[:2] == PLOT.lower


def test_ezdxf_reads_every_stroke_of_a_marker() -> None:
    document = read(io.StringIO(write_marker_dxf(PLOT).decode("ascii")))
    entities = list(document.modelspace())
    assert len(entities) == len(PLOT.strokes)
    for entity, stroke in zip(entities, PLOT.strokes, strict=True):
        assert entity.dxf.layer == stroke.role
        if stroke.role is Role.DRILL:
            assert entity.dxftype() == "CIRCLE"
            assert np.allclose(np.hypot(*(stroke.points - entity.dxf.center.vec2).T), entity.dxf.radius, atol=2e-4)
        else:
            assert isinstance(entity, LWPolyline)
            assert entity.closed == stroke.closed
            assert np.allclose([point[:2] for point in entity.get_points()], stroke.points, atol=5.1e-5)
    handles = [entity.dxf.handle for entity in entities]
    assert len(set(handles)) == len(handles)


def _gdal_shapes(path: Path) -> list[tuple[str, shapely.Geometry]]:
    meta, _, shapes, columns = pyogrio.raw.read(path)
    layers = columns[list(meta["fields"]).index("Layer")]
    return list(zip(layers.tolist(), shapely.from_wkb(shapes).tolist(), strict=True))


def _ring_areas(shapes: list[tuple[str, shapely.Geometry]], layer: str) -> list[float]:
    return [shapely.Polygon(shapely.get_coordinates(shape)).area for name, shape in shapes if name == layer]


def test_gdal_reads_the_same_outlines_of_a_marker(tmp_path: Path) -> None:
    path = tmp_path / "marker.dxf"
    path.write_bytes(write_marker_dxf(PLOT))
    shapes = _gdal_shapes(path)
    marker = a_marker()
    wanted = [shapely.Polygon(marker.prepared(placement).cut_line).area for placement in marker.placements]
    assert _ring_areas(shapes, "CUT") == pytest.approx(wanted, abs=1e-2)
    assert _ring_areas(shapes, "FABRIC") == pytest.approx([600.0 * 300.0])


def test_a_marker_has_the_same_bytes_on_any_day(monkeypatch: pytest.MonkeyPatch) -> None:
    class OtherDay(dt.datetime):
        @classmethod
        def now(cls, tz: dt.tzinfo | None = None) -> "OtherDay":
            return cls(1999, 5, 6, 7, 8, 9, tzinfo=tz)

    today = write_marker_dxf(PLOT)
    monkeypatch.setattr(ezdxf.document, "datetime", OtherDay)
    assert write_marker_dxf(PLOT) == today


def test_ezdxf_finds_nothing_wrong_with_pieces() -> None:
    data = write_pieces_dxf(PIECES, title="blouse")
    document = read(io.StringIO(data.decode("ascii")))
    auditor = document.audit()
    assert auditor.errors == []
    assert auditor.fixes == []
    assert document.dxfversion == "AC1009"
    inserts = document.modelspace().query("INSERT")
    assert len(inserts) == len(PIECES)
    style = [text.dxf.text for text in document.modelspace().query("TEXT")]
    assert style == ["Style Name: blouse", "Units: METRIC", "Sample Size: 12"]


def _polylines(block: BlockLayout, layer: str) -> list[Polyline]:
    return [entity for entity in block if isinstance(entity, Polyline) and entity.dxf.layer == layer]


def test_a_piece_is_read_back_from_its_layers() -> None:
    document = read(io.StringIO(write_pieces_dxf(PIECES, title="blouse").decode("ascii")))
    for insert, piece in zip(document.modelspace().query("INSERT"), PIECES, strict=True):
        block = document.blocks[insert.dxf.name]
        assert len(insert.dxf.name) <= 31

        (boundary,) = _polylines(block, "1")
        (sew,) = _polylines(block, "14")
        assert boundary.is_closed
        assert sew.is_closed
        assert np.allclose([point.vec2 for point in boundary.points()], piece.cut_line, atol=1e-6)
        assert np.allclose([point.vec2 for point in sew.points()], piece.seam_line, atol=1e-6)

        points = {layer: [p.dxf.location for p in block.query(f'POINT[layer=="{layer}"]')] for layer in "234"}
        corners = {(round(p.x, 6) + 0, round(p.y, 6) + 0) for p in points["2"]}
        assert corners == {(round(x, 6) + 0, round(y, 6) + 0) for x, y in piece.turns.tolist()}
        assert len(points["2"]) + len(points["3"]) == len(piece.cut_line) + len(piece.seam_line)

        marks = block.query('POINT[layer=="4"]')
        for mark, notch in zip(marks, piece.notches, strict=True):
            inwards = notch[1] - notch[0]
            assert np.allclose(mark.dxf.location.vec2, notch[0])
            assert mark.dxf.location.z == pytest.approx(np.hypot(*inwards))
            assert np.allclose(mark.dxf.location.z * np.exp(1j * np.deg2rad(mark.dxf.angle)), complex(*inwards))
        (hole,) = block.query('POINT[layer=="13"]')
        assert (*hole.dxf.location.vec2, hole.dxf.thickness) == piece.drills[0]

        (grain,) = block.query('LINE[layer=="7"]')
        assert np.allclose([grain.dxf.start.vec2, grain.dxf.end.vec2], piece.grain[0])
        assert grain.dxf.end.x > grain.dxf.start.x
        folds = block.query('LINE[layer=="6"]')
        assert len(folds) == (piece.cut is Cut.FOLD)
        assert all({tuple(f.dxf.start.vec2), tuple(f.dxf.end.vec2)} == {(-10, 0), (210, 0)} for f in folds)
        (inner,) = _polylines(block, "8")
        assert not inner.is_closed
        assert [text.dxf.text for text in block.query('TEXT[layer=="15"]')] == [
            seven_bit(line) for line in piece.label.words
        ]


def test_a_piece_says_its_name_size_hands_and_cloth() -> None:
    document = read(io.StringIO(write_pieces_dxf(PIECES, title="blouse").decode("ascii")))
    said = [
        [text.dxf.text for text in document.blocks[insert.dxf.name].query('TEXT[layer=="1"]')]
        for insert in document.modelspace().query("INSERT")
    ]
    rest = ["Material: self", "Annotation: blouse"]
    assert said == [
        ["Piece Name: facade", "Size: 12", "Quantity: 1,1", *rest],
        ["Piece Name: pocket 5 1/2", "Size: 12", "Quantity: 2,0", *rest],
        ["Piece Name: yoke", "Size: 12", "Quantity: 1,0", *rest],
    ]


def test_gdal_reads_the_same_outlines_of_pieces(tmp_path: Path) -> None:
    path = tmp_path / "pieces.dxf"
    path.write_bytes(write_pieces_dxf(PIECES, title="blouse"))
    parts = [part for _, shape in _gdal_shapes(path) for part in shapely.get_parts(shape)]
    areas = [shapely.Polygon(shapely.get_coordinates(part)).area for part in parts if shapely.get_num_points(part) > 3]
    areas += [part.area for part in parts if part.geom_type == "Polygon"]
    for piece in PIECES:
        for line in (piece.cut_line, piece.seam_line):
            assert min(abs(area - shapely.Polygon(line).area) for area in areas) < 0.01


@pytest.mark.parametrize(
    ("text", "plain"),
    [("façade", "facade"), ("5½ in", "5 1/2 in"), ("½", "1/2"), ("Łódź–Ærø", "Lodz-AEro"), ("Groß × 2", "Gross x 2")],
)
def test_letters_are_transliterated(text: str, plain: str) -> None:
    assert seven_bit(text) == plain


def test_a_letter_that_cannot_be_written_is_refused_with_its_piece() -> None:
    piece = replace(a_prepared_piece(), name="漢")
    with pytest.raises(PlotError, match=r'piece "漢".*U\+6F22'):
        write_pieces_dxf([piece], title="blouse")
