"""A cutter's runs as HP-GL: a number for each tool, its force and speed, straight bits only."""

from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from cutroom.model.cutter import Cutter, Tool
from cutroom.model.toolpath import Toolpaths
from cutroom.write.hpgl_forms import runs_as_hpgl

PLU_TO_MM = 40
"""Plotter units to the millimetre (HP-GL: a unit is 1/1016 in)."""


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
        parts.append(runs_as_hpgl([_in_units(path.points) for path in paths], cutter.form))
    end = "".join(cutter.end)
    closing = end if "SP0;" in end.upper().replace(" ", "") else f"PU;SP0;{end}"
    return b"".join([*parts, b"PU;" if not closing.startswith("PU") else b"", closing.encode("ascii")])


def _hand(tool: Tool) -> str:
    force = "" if tool.force is None else f"FS{tool.force};"
    return f"SP{tool.number};{force}" + ("" if tool.speed is None else f"VS{tool.speed / 10:g};")


def _in_units(points: NDArray[np.float64]) -> NDArray[np.int64]:
    """Plotter units, halves away from zero, without places that repeat the one before."""
    plu = points * PLU_TO_MM
    rounded = (np.sign(plu) * np.floor(np.abs(plu) + 0.5)).astype(np.int64)
    kept = np.ones(len(rounded), dtype=np.bool_)
    kept[1:] = (rounded[1:] != rounded[:-1]).any(axis=1)
    return rounded[kept]
