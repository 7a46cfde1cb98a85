"""A cutter's runs as HP-GL: a number for each tool, its force and speed, straight bits only."""

from collections.abc import Sequence
from itertools import groupby, pairwise

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.plotter_units import in_plotter_units
from cutroom.model.cutter import Cutter, Tool
from cutroom.model.toolpath import Toolpaths
from cutroom.write.hpgl_forms import runs_as_hpgl


def write_cut_hpgl(toolpaths: Toolpaths, cutter: Cutter) -> bytes:
    """The bytes to send to a cutter.

    Args:
        toolpaths: The runs, machine axes (mm), without arcs.
        cutter: The form of its HP-GL, its tools' numbers, forces and speeds.

    Returns:
        `IN;`, the profile's start, tool by tool `SPn;`, `FSn;` and `VSn;` (cm/s) where they are said, and its runs;
        then the pen up, no pen, and the profile's end.
    """
    parts = ["".join(["IN;", *cutter.start]).encode("ascii")]
    for name, paths in groupby(toolpaths.paths, key=lambda path: path.tool):
        parts.append(_hand(cutter.tool(name)).encode("ascii"))
        parts.append(runs_as_hpgl(_in_units([path.points for path in paths]), cutter.form))
    end = "".join(cutter.end)
    closing = end if "SP0;" in end.upper().replace(" ", "") else f"PU;SP0;{end}"
    return b"".join([*parts, b"PU;" if not closing.startswith("PU") else b"", closing.encode("ascii")])


def _in_units(lines: Sequence[NDArray[np.float64]]) -> list[NDArray[np.int64]]:
    """Lines (`(n, 2)`, mm) in plotter units, without points that repeat the one before, all at once."""
    whole = in_plotter_units(np.concatenate(lines))
    ends = np.cumsum([len(line) for line in lines])
    new = np.ones(len(whole), dtype=np.bool_)
    new[1:] = (whole[1:, 0] != whole[:-1, 0]) | (whole[1:, 1] != whole[:-1, 1])
    new[ends[:-1]] = True
    stops = np.cumsum(new)[ends - 1].tolist()
    thinned = whole[new]
    return [thinned[start:stop] for start, stop in pairwise([0, *stops])]


def _hand(tool: Tool) -> str:
    force = "" if tool.force is None else f"FS{tool.force};"
    return f"SP{tool.number};{force}" + ("" if tool.speed is None else f"VS{tool.speed / 10:g};")
