"""A cutter's runs as SVG in millimetres: the page is the bed, each tool a group of its own colour."""

import math
from itertools import groupby
from xml.sax.saxutils import escape

import numpy as np

from cutroom.geometry.arcs import in_quarters
from cutroom.model.cutter import Cutter
from cutroom.model.toolpath import Toolpath, Toolpaths
from cutroom.write.cut_runs import numbered_runs, repeated

HAIRLINE = 0.01
"""Width of a line (mm): it says where the tool goes, and is no area to be filled."""
_PLACES = 4  # decimal places to which points are rounded before they are written


def write_cut_svg(toolpaths: Toolpaths, cutter: Cutter) -> bytes:
    """The SVG of a cutter.

    Args:
        toolpaths: The runs, machine axes (mm).
        cutter: Its bed, which is the page, and its tools' colours.

    Returns:
        UTF-8. One user unit is 1 mm, y runs down from the bed's upper edge, nothing is transformed or filled. Tool by
        tool a group with its colour, in it a path a run, in the order of work: `M`, `L`, and `A` where there are arcs,
        none of more than a quarter turn. A dot is a line to itself.
    """
    box = f'width="{cutter.length:.10g}mm" height="{cutter.width:.10g}mm"'
    view = f'viewBox="0 0 {cutter.length:.10g} {cutter.width:.10g}"'
    rows = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" {box} {view} fill="none" stroke-width="{HAIRLINE:g}">',
        f"<title>{escape(toolpaths.title)}</title>",
    ]
    runs = numbered_runs(toolpaths.paths, 1.0, _PLACES, down_from=cutter.width)
    for name, paths in groupby(toolpaths.paths, key=lambda path: path.tool):
        tool = cutter.tool(name)
        rows.append(f'<g id="{tool.layer}" stroke="{tool.rgb}">')
        rows.append(f"<title>{escape(tool.name)}</title>")
        for path, (numbers, bent) in zip(paths, runs, strict=False):
            along = _bent(path, cutter.width) if bent else _straight(numbers)
            rows.append(f'<path d="{along}"/>')
        rows.append("</g>")
    return "\n".join([*rows, "</svg>", ""]).encode()


def _straight(numbers: tuple[float, ...]) -> str:
    numbers = numbers if len(numbers) > 2 else numbers * 2
    return "M" + (repeated("%.3f,%.3f L", len(numbers) // 2) % numbers)[:-2]


def _bent(path: Toolpath, width: float) -> str:
    """A run with arcs; their flags are 0 for less than half a turn, and 1 for clockwise on the page."""
    points, bulges = in_quarters(path.points, path.bulges)
    page = (np.round(points * (1.0, -1.0) + (0.0, width), _PLACES) + 0.0).tolist()
    (x, y), *rest = page
    bits = [f"M{x:.3f},{y:.3f}"]
    for (to_x, to_y), bulge in zip(rest, bulges.tolist(), strict=True):
        radius = math.hypot(to_x - x, to_y - y) * (1 + bulge * bulge) / (4 * abs(bulge)) if bulge else 0.0
        bend = f"A{radius:.4f},{radius:.4f} 0 0 {int(bulge < 0)} " if bulge else "L"
        bits.append(f"{bend}{to_x:.3f},{to_y:.3f}")
        x, y = to_x, to_y
    return " ".join(bits)
