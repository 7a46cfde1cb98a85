"""Files for cutters, written for tests as the program writes them, or with something changed on the way."""

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from cutroom.geometry.curve import smooth_curve
from cutroom.model.cutter import Cutter, Language
from cutroom.model.marker import Marker
from cutroom.model.toolpath import Toolpath, Toolpaths
from cutroom.plot.compose import compose
from cutroom.plot.toolpath import toolpaths
from cutroom.proof.cut import prove_cut
from cutroom.proof.proved import Proved
from cutroom.read.cutter import read_cutter
from cutroom.write.cut_dxf import write_cut_dxf
from cutroom.write.cut_hpgl import write_cut_hpgl
from cutroom.write.cut_svg import write_cut_svg
from cutroom.write.gcode import write_gcode
from tests.builders import a_marker, a_placement, a_prepared_piece

WRITERS: Mapping[str, Callable[[Toolpaths, Cutter], bytes]] = {
    Language.DXF: write_cut_dxf,
    Language.HPGL: write_cut_hpgl,
    Language.ISO: write_gcode,
    Language.SVG: write_cut_svg,
}
MARKER = a_marker()
SHIPPED = ("drag-knife-roll-cutter", "exchange-dxf", "flatbed-knife", "gantry-laser", "gantry-laser-svg")


def a_finely_curved_marker() -> Marker:
    """Two pieces whose cut line has a curve as finely flattened as drafted ones, laid apart and turned."""
    curve = smooth_curve(np.array([(210.0, 0.0), (190.0, 60.0), (120.0, 90.0), (60.0, 110.0), (-10.0, 105.0)]))
    line = np.vstack([curve, [(-10.0, -10.0), (210.0, -10.0)]])
    piece = replace(a_prepared_piece(), cut_line=line, seam_line=line[[0, *range(2, len(curve), 3), -3, -2, -1]])
    laid = (a_placement(piece, 20.0, 20.0), a_placement(piece, 590.0, 150.0, turn_deg=180.0))
    return a_marker(pieces=(piece,), placements=laid, length=620.0)


def paths_of(cutter: Cutter, marker: Marker = MARKER) -> Toolpaths:
    return toolpaths(compose(marker, legend=(), title="t"), cutter)


def written(
    cutter: Cutter,
    marker: Marker = MARKER,
    change: Callable[[tuple[Toolpath, ...]], tuple[Toolpath, ...]] = lambda paths: paths,
) -> bytes:
    paths = paths_of(cutter, marker)
    return WRITERS[cutter.language](replace(paths, paths=change(paths.paths)), cutter)


def proved(cutter: Cutter, data: bytes, marker: Marker = MARKER) -> Proved:
    return prove_cut(cutter.language, data, marker, cutter)


def with_tool(cutter: Cutter, name: str, **changes: object) -> Cutter:
    """The cutter with something of one tool changed."""
    tools = tuple(replace(tool, **changes) if tool.name == name else tool for tool in cutter.tools)  # type: ignore[arg-type]
    return replace(cutter, tools=tools)


def a_cutter(name: str) -> Cutter:
    return read_cutter(name)
