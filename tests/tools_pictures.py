"""Pictures of what tools do, drawn anew: `python -m tests.tools_pictures [DIR]`. The same bytes every time.

Each shows one corner of a badge, many times its size: the wanted edge, where the machine is led, what the tool leaves
(worked out by the tests' own simulation), and where it begins and ends.
"""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.job.files import put_file
from cutroom.model.cutter import Cutter, Language, Tool, ToolKind
from cutroom.model.plot import Plot, Role, Stroke
from cutroom.model.toolpath import Toolpath
from cutroom.plot.compose import compose
from cutroom.plot.toolpath import toolpaths
from tests.bench.cutting import rows_of_pieces
from tests.simulated_tools import burnt, fine, tip_of
from tests.tiles import tiled

Reals = NDArray[np.float64]
PICTURES = Path(__file__).parents[1] / "samples" / "pictures"
SIDE, NOTCH = 12.0, 3.0
WANTED, LED, LEFT, SWING = "#1d2733", "#c4552d", "#3f6fa3", "#2c7a54"
ONE_EACH = ("#1d2733", "#c4552d", "#3f6fa3", "#2c7a54", "#8a5a9e", "#b08a1e")


def badge() -> Plot:
    """A small piece with a sharp corner, a round one, a hollow one and a hole, so that all shows at once."""
    bend = np.deg2rad(np.linspace(-90, 0, 24))
    round_corner = (SIDE - 3 + 3 * np.cos(bend), 3 + 3 * np.sin(bend))
    outline = np.vstack([(0, 0), np.column_stack(round_corner), (SIDE, SIDE), (7, SIDE), (7, 8), (4, 8), (0, SIDE)])
    angles = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    hole = np.column_stack([4 + 1.5 * np.cos(angles), 4 + 1.5 * np.sin(angles)])
    cloth = np.array([(0, 0), (SIDE, 0), (SIDE, SIDE), (0, SIDE)])
    strokes = (
        Stroke(Role.FABRIC, cloth, closed=True),
        Stroke(Role.CUT, outline, closed=True, placement=0),
        Stroke(Role.CUTOUT, hole, closed=True, placement=0),
    )
    return Plot("badge", (0.0, 0.0), (SIDE, SIDE), strokes)


def cutter(tool: Tool) -> Cutter:
    return Cutter("table", "A table", Language.ISO, 100.0, 100.0, (tool,), origin=(4.0, 4.0), arcs=False)


def picture(tool: Tool, words: str) -> bytes:
    """One tool at work, enlarged."""
    plot = badge()
    paths = toolpaths(plot, cutter(tool)).paths
    dashes = ' stroke-dasharray="0.3 0.15"'
    rows = [_line(stroke.points + 4, WANTED, 0.05, closed=True, more=dashes) for stroke in plot.strokes[1:]]
    heading = 0.0
    for path in paths:
        if tool.kind is ToolKind.LASER:
            burn = burnt(path, tool.kerf)
            rows += [_line(np.array(ring.coords), LEFT, 0.03, closed=True) for ring in (burn.exterior, *burn.interiors)]
            rows.append(_area(path, tool.kerf))
        if tool.kind is ToolKind.DRAG_KNIFE:
            tips, heading = tip_of(path, tool.offset, heading)
            rows.append(_line(_thin(tips), LEFT, 0.1))
        rows.append(_line(_thin(fine(path.points, path.bulges, 0.02)), LED, 0.06))
        rows += [_dot(path.points[0], SWING), _dot(path.points[-1], LED)]
    return _sheet(rows, words, 2 * 4 + SIDE, 2 * 4 + SIDE)


def order_picture() -> bytes:
    """Thirty pieces in the order in which they are cut: travel with the tool up in one colour, cuts in another."""
    marker = rows_of_pieces(30, seed=3)
    plot = compose(marker, legend=(), title="order")
    tool = Tool("knife", ToolKind.PEN, (Role.CUT, Role.NOTCH, Role.DRILL))
    table = replace(cutter(tool), length=1e5, width=2000.0, origin=(0.0, 0.0))
    paths = toolpaths(plot, table).paths
    rows = [_line(_thin(path.points, 0.5), WANTED, 1.6) for path in paths]
    at = np.zeros(2)
    for path in paths:
        rows.append(_line(np.array([at, path.points[0]]), LED, 4.0))
        at = path.points[-1]
    high = np.max([path.points.max(axis=0) for path in paths], axis=0) + 20
    return _sheet(rows, "Order of cutting: what lies inside a piece, then its outline, then the next", *high.tolist())


def shared_picture() -> bytes:
    """Six pieces that touch, shared lines cut once: each piece's runs in a colour of its own, overlaps and travel."""
    plot = compose(tiled(3, 2), legend=(), title="shared")
    tool = Tool("knife", ToolKind.TANGENTIAL_KNIFE, (Role.CUT,), overcut=2.0, corner_deg=170.0)
    paths = toolpaths(plot, replace(cutter(tool), length=1e5, width=2000.0, origin=(0.0, 0.0), shared_once=True)).paths
    rows = []
    at = np.zeros(2)
    for path in paths:
        rows.append(_line(np.array([at, path.points[0]]), "#9aa3ad", 0.3, more=' stroke-dasharray="1 1"'))
        rows.append(_line(path.points, ONE_EACH[(path.placement or 0) % len(ONE_EACH)], 1.2, more=' opacity="0.7"'))
        rows += [_dot(path.points[0], SWING, 0.9), _dot(path.points[-1], LED, 0.9)]
        at = path.points[-1]
    high = np.max([path.points.max(axis=0) for path in paths], axis=0) + 10
    return _sheet(rows, "Shared lines cut once: what a later piece lacks is an open run, a little over", *high.tolist())


def _thin(points: Reals, within: float = 0.004) -> Reals:
    thinned = (
        shapely.get_coordinates(shapely.simplify(shapely.LineString(points), within)) if len(points) > 2 else points
    )
    return np.round(thinned, 3)


def _d(points: Reals, *, closed: bool = False) -> str:
    return "M " + " L ".join(f"{x:.3f},{y:.3f}" for x, y in points) + (" Z" if closed else "")


def _line(points: Reals, colour: str, width: float, *, closed: bool = False, more: str = "") -> str:
    return f'<path d="{_d(points, closed=closed)}" stroke="{colour}" stroke-width="{width}"{more}/>'


def _area(path: Toolpath, kerf: float) -> str:
    burn = burnt(path, kerf)
    d = " ".join(_d(_thin(np.array(ring.coords)), closed=True) for ring in (burn.exterior, *burn.interiors))
    return f'<path d="{d}" fill="{LEFT}" fill-opacity="0.25" fill-rule="evenodd"/>'


def _dot(spot: Reals, colour: str, radius: float = 0.14) -> str:
    return f'<circle cx="{spot[0]:.3f}" cy="{spot[1]:.3f}" r="{radius}" fill="{colour}"/>'


def _sheet(rows: list[str], words: str, width: float, height: float) -> bytes:
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height:.0f}" fill="none" '
        'stroke-linecap="round" stroke-linejoin="round">'
    )
    turned = f'<g transform="matrix(1 0 0 -1 0 {height:.0f})">'
    return "\n".join([head, f"<title>{words}</title>", turned, *rows, "</g>", "</svg>", ""]).encode()


CUTS = (Role.CUT, Role.CUTOUT)
TOOLS = {
    "drag-knife": (
        Tool("knife", ToolKind.DRAG_KNIFE, CUTS, offset=0.6, overcut=1.2),
        "Drag knife, its offset enlarged: at corners the pivot (orange) swings round the tip (blue)",
    ),
    "laser": (
        Tool("beam", ToolKind.LASER, CUTS, kerf=0.6, lead=1.2, overcut=0.4),
        "Laser, its kerf enlarged: led (orange) half a kerf off, so that what is burnt (blue) ends at the wanted edge",
    ),
    "tangential-knife": (
        Tool("knife", ToolKind.TANGENTIAL_KNIFE, CUTS, corner_deg=25.0, overcut=1.2),
        "Knife turned by the machine: a dot wherever it is put down (green) and lifted (orange) to turn",
    ),
}


def main() -> None:
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else PICTURES
    for name, (tool, words) in TOOLS.items():
        put_file(folder / f"{name}.svg", picture(tool, words))
    put_file(folder / "cutting-order.svg", order_picture())
    put_file(folder / "shared-lines.svg", shared_picture())
    for path in sorted(folder.glob("*.svg")):
        print(f"{path}: {path.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
