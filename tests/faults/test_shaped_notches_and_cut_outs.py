"""Cut-outs and notches of every shape in the file of pieces: read by others, and faults planted in them told.

Layers after ASTM D6673 (from memory; withdrawn 2019): 4 for V notches and slits, 80 for T, 81 for box (castle) notches,
11 for internal cut-outs.
Sizes are the closed forms of what is asked: depth 6 mm, widths 5 and 4 mm, a window of 30 by 20 mm.
"""

import io
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pyogrio
import pytest
import shapely
from ezdxf.document import Drawing
from ezdxf.entities.polyline import Polyline
from ezdxf.filemanagement import read

from cutroom.model.fabric import Fabric
from cutroom.model.piece import NamedLine, Notch, NotchKind
from cutroom.model.prepared import PreparedPiece
from cutroom.prepare.ready import prepare
from cutroom.proof.pieces import prove_pieces
from cutroom.write.pieces_dxf import write_pieces_dxf
from tests.drawing import a_polygon_piece

KINDS = (NotchKind.SLIT, NotchKind.V_IN, NotchKind.V_OUT, NotchKind.T, NotchKind.BOX)
WIDTHS = {NotchKind.SLIT: 0.0, NotchKind.V_IN: 5.0, NotchKind.V_OUT: 5.0, NotchKind.T: 5.0, NotchKind.BOX: 4.0}
LAYERS = {NotchKind.T: "80", NotchKind.BOX: "81"}


def _flap() -> PreparedPiece:
    window = NamedLine("window", np.array([(120.0, 40.0), (150.0, 40.0), (150.0, 60.0), (120.0, 60.0)]))
    notches = tuple(Notch("e0", 30.0 + 35 * n, kind=kind) for n, kind in enumerate(KINDS))
    corners = [(0, 0), (200, 0), (200, 150), (0, 150)]
    piece = a_polygon_piece(corners, 12.0, name="flap", notches=notches, cutouts=(window,))
    return prepare(piece, garment="tent", size="one", fabric=Fabric("canvas", 1500.0))


FLAP = _flap()


def _written(change: Callable[[Drawing], None] = lambda _: None, piece: PreparedPiece = FLAP) -> bytes:
    document = read(io.StringIO(write_pieces_dxf((piece,), title="tent").decode("ascii")))
    change(document)
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode("ascii")


def _block(document: Drawing) -> str:
    return str(document.modelspace().query("INSERT")[0].dxf.name)


def test_ezdxf_reads_every_shape_from_its_layer() -> None:
    document = read(io.StringIO(write_pieces_dxf((FLAP,), title="tent").decode("ascii")))
    assert not document.audit().errors
    block = document.blocks[_block(document)]
    for kind in KINDS:
        layer = LAYERS.get(kind, "4")
        here = [
            point
            for point in block.query(f'POINT[layer=="{layer}"]')
            if abs(point.dxf.get("thickness", 0.0) - WIDTHS[kind]) < 1e-4 and abs(point.dxf.location.z - 6.0) < 1e-4
        ]
        assert len(here) == (2 if kind in {NotchKind.V_IN, NotchKind.V_OUT} else 1), kind
    inwards = [round(point.dxf.angle) % 360 for point in block.query('POINT[layer=="4"]') if point.dxf.thickness]
    assert abs(inwards[0] - inwards[1]) == 180  # one V points in, the other out
    (window,) = (one for one in block if isinstance(one, Polyline) and one.dxf.layer == "11")
    assert window.is_closed
    assert shapely.Polygon([point.vec2 for point in window.points()]).area == pytest.approx(600.0, abs=1e-3)


def test_gdal_reads_the_cut_out_and_the_shaped_notches(tmp_path: Path) -> None:
    path = tmp_path / "pieces.dxf"
    path.write_bytes(write_pieces_dxf((FLAP,), title="tent"))
    meta, _, shapes, columns = pyogrio.raw.read(path)
    parts = [part for shape in shapely.from_wkb(shapes).tolist() for part in shapely.get_parts(shape)]
    rings = [part for part in parts if shapely.get_num_coordinates(part) > 3]
    areas = [shapely.Polygon(shapely.get_coordinates(part)).area for part in rings]
    assert min(abs(area - 600.0) for area in areas) < 0.01
    assert min(abs(area - (224 * 174 + 5 * 6 / 2)) for area in areas) < 0.01  # the V that stands out is in the outline
    depths = [point.z for part in parts if part.has_z and part.geom_type == "Point" for point in [part]]
    assert sum(abs(depth - 6.0) < 1e-4 for depth in depths) == len(KINDS)
    assert meta["geometry_type"]
    assert columns


def test_the_sound_file_passes() -> None:
    found = prove_pieces(_written(), (FLAP,))
    assert not found.refused, found.findings


def _lose(layer: str) -> Callable[[Drawing], None]:
    def change(document: Drawing) -> None:
        block = document.blocks[_block(document)]
        block.delete_entity(next(one for one in block if one.dxf.layer == layer))

    return change


def _alter(which: str, **facts: object) -> Callable[[Drawing], None]:
    def change(document: Drawing) -> None:
        block = document.blocks[_block(document)]
        entity = next(one for one in block if one.dxf.layer == which)
        for name, value in facts.items():
            entity.dxf.set(name, value)

    return change


def _shift_window(document: Drawing) -> None:
    block = document.blocks[_block(document)]
    window = next(one for one in block if isinstance(one, Polyline) and one.dxf.layer == "11")
    window.translate(0.5, 0.0, 0.0)


def _open_window(document: Drawing) -> None:
    block = document.blocks[_block(document)]
    next(one for one in block if isinstance(one, Polyline) and one.dxf.layer == "11").close(False)


@pytest.mark.parametrize(
    ("fault", "what"),
    [
        (_lose("11"), "cut-out is missing"),
        (_alter("11", layer="8"), "cut-out is missing"),
        (_shift_window, "cut-out"),
        (_open_window, "cut-out is not closed"),
        (_lose("80"), "is missing"),
        (_lose("81"), "is missing"),
        (_alter("80", layer="4"), "is on layer 4, wanted 80"),
        (_alter("81", layer="80"), "is on layer 80, wanted 81"),
        (_alter("80", layer="4", thickness=0.0), "is 0.00 mm wide, wanted 5.00 mm"),
        (_alter("81", thickness=6.0), "is 6.00 mm wide, wanted 4.00 mm"),
    ],
)
def test_a_planted_fault_is_told(fault: Callable[[Drawing], None], what: str) -> None:
    found = prove_pieces(_written(fault), (FLAP,))
    assert found.refused
    assert what in "\n".join(str(finding) for finding in found.findings)


def test_a_t_notch_written_as_a_slit_is_told() -> None:
    """The whole file written as if every notch were a slit: what a writer without shapes would have made."""
    slits = replace(FLAP, notch_kinds=())
    found = prove_pieces(_written(piece=slits), (FLAP,))
    assert found.refused
    said = "\n".join(str(finding) for finding in found.findings)
    assert "layer 4, wanted 80" in said


def test_a_piece_written_without_its_cut_out_is_told() -> None:
    found = prove_pieces(_written(piece=replace(FLAP, cutouts=())), (FLAP,))
    assert found.refused
    assert "cut-out is missing" in "\n".join(str(finding) for finding in found.findings)
