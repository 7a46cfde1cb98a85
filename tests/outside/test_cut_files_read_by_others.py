"""Files of cutters, and the encoded form of HP-GL, as ezdxf, GDAL, hp2xx, svgelements and fontTools read them.

What $INSUNITS and AC1009 or AC1015 say: DXF reference, from memory.
"""

import io
import re
import subprocess
from dataclasses import replace
from pathlib import Path

import numpy as np
import pyogrio
import pytest
import shapely
import svgelements
from ezdxf.addons.hpgl2.backend import Recorder, RecordType
from ezdxf.addons.hpgl2.interpreter import Interpreter
from ezdxf.addons.hpgl2.plotter import Plotter as Reader
from ezdxf.addons.hpgl2.tokenizer import hpgl2_commands
from ezdxf.filemanagement import read
from ezdxf.path import make_path
from fontTools.pens.perimeterPen import PerimeterPen
from fontTools.svgLib.path import parse_path
from numpy.typing import NDArray

from cutroom.geometry.arcs import straightened
from cutroom.model.cutter import Cutter, Language
from cutroom.plot.compose import compose
from cutroom.plot.frames import frame
from cutroom.read.profile import FORMS
from cutroom.write.hpgl import write_hpgl
from tests.builders import a_marker, a_plotter
from tests.cutters import a_cutter, a_finely_curved_marker, paths_of, written
from tests.tools import require_tool

Reals = NDArray[np.float64]
ENCODED = [form for form in FORMS if form.startswith("encoded")]


def wanted_lines(cutter: Cutter) -> shapely.MultiLineString:
    return shapely.MultiLineString(
        [straightened(path.points, path.bulges, 0.001) for path in paths_of(cutter).paths if len(path.points) > 1]
    )


def apart(one: shapely.Geometry, other: shapely.Geometry) -> float:
    """Greatest distance of the corners of each from the other (mm)."""
    return max(
        float(shapely.distance(shapely.points(shapely.get_coordinates(a)), b).max())
        for a, b in ((one, other), (other, one))
    )


@pytest.mark.parametrize("arcs", [False, True])
@pytest.mark.parametrize("version", ["R12", "R2000"])
def test_ezdxf_finds_nothing_wrong_with_a_cutters_dxf(version: str, arcs: bool) -> None:
    cutter = replace(a_cutter("exchange-dxf"), version=version, arcs=arcs)
    document = read(io.StringIO(written(cutter).decode("ascii")))
    auditor = document.audit()
    assert auditor.errors == []
    assert auditor.fixes == []
    assert document.dxfversion == {"R12": "AC1009", "R2000": "AC1015"}[version]
    if version == "R2000":
        assert document.header["$INSUNITS"] == 4
    assert {layer.dxf.name for layer in document.layers} >= {"MARKS", "HOLES", "CUT"}
    lines = []
    bends = 0
    for entity in document.modelspace():
        path = make_path(entity)
        bends += path.has_curves
        vertices = list(path.flattening(0.001))
        lines.append([(vertex.x, vertex.y) for vertex in vertices])
    assert (bends > 0) == arcs
    assert apart(shapely.MultiLineString(lines), wanted_lines(cutter)) < 0.005


def test_gdal_reads_the_same_outlines(tmp_path: Path) -> None:
    cutter = replace(a_cutter("exchange-dxf"), version="R2000", arcs=False)
    path = tmp_path / "cut.dxf"
    path.write_bytes(written(cutter))
    _, _, shapes, fields = pyogrio.raw.read(path, columns=["Layer"])
    cuts = [shape for shape, layer in zip(shapely.from_wkb(shapes), fields[0], strict=True) if layer == "CUT"]
    assert len(cuts) == 3
    marker = a_marker()
    wanted = [shapely.Polygon(marker.prepared(placement).cut_line).area for placement in marker.placements]
    found = [shapely.Polygon(shapely.get_coordinates(cut)).area for cut in cuts]
    assert sorted(found) == pytest.approx(sorted(wanted), rel=1e-4)


def test_ezdxf_and_gdal_read_splines_as_the_same_lines(tmp_path: Path) -> None:
    """Both flatten them by their own means; ezdxf's audit finds nothing."""
    marker = a_finely_curved_marker()
    cutter = replace(a_cutter("exchange-dxf"), version="R2000", arcs=False, splines=True)
    data = written(cutter, marker)
    document = read(io.StringIO(data.decode("ascii")))
    auditor = document.audit()
    assert auditor.errors == []
    assert auditor.fixes == []
    assert document.header["$INSUNITS"] == 4
    splines = list(document.modelspace().query("SPLINE"))
    assert len(splines) >= 2
    lines = [[(one.x, one.y) for one in make_path(entity).flattening(0.001)] for entity in document.modelspace()]
    wanted = shapely.MultiLineString([path.points for path in paths_of(cutter, marker).paths if len(path.points) > 1])
    assert apart(shapely.MultiLineString(lines), wanted) <= cutter.tolerance + 0.002
    path = tmp_path / "cut.dxf"
    path.write_bytes(data)
    _, _, shapes, fields = pyogrio.raw.read(path, columns=["Layer"])
    cuts = [shape for shape, layer in zip(shapely.from_wkb(shapes), fields[0], strict=True) if layer == "CUT"]
    areas = [shapely.Polygon(marker.prepared(placement).cut_line).area for placement in marker.placements]
    assert sorted(shapely.Polygon(shapely.get_coordinates(cut)).area for cut in cuts) == pytest.approx(areas, rel=2e-3)


def drawn_by_svgelements(data: bytes) -> list[tuple[str, Reals]]:
    """The colour and the points (mm, y up) of each path of a drawing, as it would be shown at 25.4 dots to the inch."""
    drawing = svgelements.SVG.parse(io.BytesIO(data), ppi=25.4, reify=True)
    found = []
    for path in drawing.elements(lambda one: isinstance(one, svgelements.Path)):
        points = [path.first_point]
        for bit in path:
            arc = isinstance(bit, svgelements.Arc)
            points += [bit.point(share) for share in np.linspace(0, 1, 400 if arc else 2)[1:]]
        page = np.array([(point.x, drawing.height - point.y) for point in points if point is not None])
        assert path.fill.value is None
        found.append((str(path.stroke.hex), page))
    assert (drawing.width, drawing.height) == pytest.approx((1300, 900), rel=1e-6)  # it rounds the inch
    return found


@pytest.mark.parametrize("arcs", [False, True])
def test_svgelements_reads_the_same_lines_in_their_order_and_colours(arcs: bool) -> None:
    """It works arcs out of their ends by itself (W3C SVG 1.1, F.6), and the page's size out of its millimetres."""
    cutter = replace(a_cutter("gantry-laser-svg"), arcs=arcs)
    marker = a_finely_curved_marker()
    data = written(cutter, marker)
    assert (b" A" in data) == arcs
    found = drawn_by_svgelements(data)
    wanted = paths_of(cutter, marker).paths
    assert [colour for colour, _ in found] == [cutter.tool(path.tool).rgb for path in wanted]
    for (_, line), path in zip(found, wanted, strict=True):
        led = straightened(path.points, path.bulges, 0.0005)
        assert (
            apart(shapely.LineString(line), shapely.LineString(led if len(led) > 1 else led.repeat(2, axis=0))) < 0.003
        )


@pytest.mark.parametrize("arcs", [False, True])
def test_fonttools_walks_the_same_paths(arcs: bool) -> None:
    """Arcs come out as cubic curves, which its own pen measures."""
    cutter = replace(a_cutter("gantry-laser-svg"), arcs=arcs)
    marker = a_finely_curved_marker()
    paths = re.findall(rb' d="([^"]*)"', written(cutter, marker))
    for text, path in zip(paths, paths_of(cutter, marker).paths, strict=True):
        pen = PerimeterPen(tolerance=1e-4)
        parse_path(text.decode(), pen)
        led = straightened(path.points, path.bulges, 1e-4)
        assert pen.value == pytest.approx(np.hypot(*np.diff(led, axis=0).T).sum(), abs=0.02, rel=1e-4)


def read_by_ezdxf(data: bytes) -> dict[int, list[Reals]]:
    recorder = Recorder()
    interpreter = Interpreter(Reader(recorder))
    interpreter.run(hpgl2_commands(b"\x1b%1B" + data))
    assert interpreter.not_implemented_commands <= {"IN", "VS", "FS"}
    assert interpreter.errors == []
    lines: dict[int, list[Reals]] = {}
    for kind, properties, record in recorder.player().recordings():
        if kind is RecordType.POLYLINE:
            vertices = np.array([(vertex.x, vertex.y) for vertex in record.vertices()])
            lines.setdefault(properties.pen_index, []).append(vertices)
    return lines


@pytest.mark.parametrize("form", FORMS)
def test_ezdxf_reads_every_form_alike(form: str) -> None:
    cutter = replace(a_cutter("drag-knife-roll-cutter"), form=form)
    found = read_by_ezdxf(written(cutter))
    plain = read_by_ezdxf(written(replace(cutter, form="absolute")))
    assert set(found) == {1, 2}
    for tool, lines in plain.items():
        assert len(found[tool]) == len(lines)
        for one, other in zip(found[tool], lines, strict=True):
            assert np.array_equal(one, other)
    every = shapely.MultiLineString([line / 40 for lines in found.values() for line in lines])
    assert apart(every, wanted_lines(cutter)) <= 0.0125 * 2**0.5 + 1e-3


@pytest.mark.parametrize("form", FORMS)
def test_hp2xx_reads_every_form_alike(form: str, tmp_path: Path) -> None:
    tool = require_tool("hp2xx")
    plot = compose(a_marker(), legend=("Blouse",), title="linen")
    drawn = []
    for one in (form, "absolute"):
        plotter = replace(a_plotter(width=1000.0, frame=2000.0, largest=8388607), form=one)
        source, target = tmp_path / "in.plt", tmp_path / "out.hpgl"
        source.write_bytes(write_hpgl(frame(plot, plotter), plotter))
        log = subprocess.run(
            [tool, "-t", "-m", "hpgl", "-f", target, source], capture_output=True, text=True, check=False
        )
        assert re.search(r"HPGL command\(s\) ignored:\s*0", log.stderr), log.stderr
        numbers = re.findall(r"-?\d+\.\d+", target.read_text())
        drawn.append(np.array(numbers, dtype=np.float64))
    assert len(drawn[0]) == len(drawn[1]) > 1000
    assert np.abs(drawn[0] - drawn[1]).max() <= 1e-6


def test_the_encoded_form_is_a_fraction_of_the_plain_one() -> None:
    """For long curves four bytes a point instead of twelve (2001 points of a circle: 4,011 against 24,016 bytes)."""
    angles = np.linspace(0, 2 * np.pi, 2001)
    circle = np.round(8000 + 8000 * np.column_stack([np.cos(angles), np.sin(angles)])).astype(np.int64)
    from cutroom.write.hpgl_forms import runs_as_hpgl

    assert len(runs_as_hpgl([circle], "encoded")) < 4100
    assert len(runs_as_hpgl([circle], "encoded 7-bit")) < 6400
    assert len(runs_as_hpgl([circle], "absolute")) > 20000


def test_a_program_runs_as_its_words_say() -> None:
    """A reader of this test's own, word for word after ISO 6983-1 (from memory), sees the same way as the toolpaths."""
    cutter = a_cutter("gantry-laser")
    assert cutter.language is Language.ISO
    x = y = 0.0
    on, move = False, "G0"
    lines: list[list[tuple[float, float]]] = []
    for block in written(cutter).decode().split("\n"):
        words = dict(re.findall(r"([A-Z])(-?[\d.]+)", block))
        move = f"G{words['G']}" if words.get("G") in {"0", "1", "2", "3"} else move
        if block in {"M3", "M5"}:
            on = block == "M3"
            lines += [[(x, y)]] if on else []
        elif "X" in words or "Y" in words:
            to = (float(words.get("X", x)), float(words.get("Y", y)))
            if on and move in {"G2", "G3"}:
                centre = complex(x + float(words["I"]), y + float(words["J"]))
                start, end = complex(x, y) - centre, complex(*to) - centre
                sweep = np.angle(end / start) % (2 * np.pi) - (2 * np.pi if move == "G2" else 0)
                for share in np.linspace(0, 1, 60)[1:]:
                    spot = centre + start * np.exp(1j * sweep * share)
                    lines[-1].append((spot.real, spot.imag))
            elif on:
                assert move == "G1"
                lines[-1].append(to)
            x, y = to
    assert apart(shapely.MultiLineString([line for line in lines if len(line) > 1]), wanted_lines(cutter)) < 0.005
