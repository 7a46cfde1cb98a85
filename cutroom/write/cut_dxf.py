"""A cutter's runs as DXF: a layer for each tool, a polyline a run, or a spline; arcs in it where they are asked for."""

from collections.abc import Iterable

import numpy as np

from cutroom.geometry.splines import DEGREE, Spline, fit_spline
from cutroom.model.cutter import Cutter, Tool
from cutroom.model.toolpath import Toolpath, Toolpaths
from cutroom.write.cut_runs import NumberedRun, numbered_runs, repeated
from cutroom.write.dxf_frame import dxf_frame, with_seed
from cutroom.write.numbers import number_as_text

_INCH = 25.4
_CLOSED, _PLANAR = 1, 8
_PLACES = 6  # decimal places to which points are rounded before they are written


def write_cut_dxf(toolpaths: Toolpaths, cutter: Cutter) -> bytes:
    """The DXF of a cutter.

    Args:
        toolpaths: The runs, machine axes (mm).
        cutter: Its tools' layers and colours, its version of DXF, mm or inches.

    Returns:
        R12: POLYLINE and VERTEX, the unit in a comment, for R12 cannot say it. R2000: LWPOLYLINE, `$INSUNITS` 4 (mm)
        or 1 (inches). A run that ends where it started is a closed polyline. Bulges are arcs (DXF, 42). Where the
        machine takes splines, a run with a smooth stretch is one SPLINE, its corners kept.
    """
    if cutter.version == "R12":
        return _r12(toolpaths, cutter)
    return _r2000(toolpaths, cutter)


def _unit(cutter: Cutter) -> float:
    return _INCH if cutter.inches else 1.0


def _corners(path: Toolpath, run: NumberedRun, form: str) -> tuple[str, int, bool]:
    """The corners of a run, how many they are, and whether it closes: then the last, which is the first, is left out.

    Args:
        path: The run.
        run: The same, in the file's unit.
        form: How x and y of a corner are written; the bulge of an arc that starts there follows.
    """
    numbers, bent = run
    closed = len(numbers) > 6 and numbers[:2] == numbers[-2:]
    numbers = numbers[:-2] if closed else numbers
    many = len(numbers) // 2
    if bent:
        bulges = path.bulges.tolist() if closed else [*path.bulges.tolist(), 0.0]
        forms = "".join(f"{form}42\n{number_as_text(bulge, 9)}\n" if bulge else form for bulge in bulges)
    else:
        forms = repeated(form, many)
    return (forms % numbers)[:-1], many, closed


def _r12(toolpaths: Toolpaths, cutter: Cutter) -> bytes:
    unit = "INCHES" if cutter.inches else "MILLIMETRES"
    low, high = _extents(toolpaths, cutter)
    rows = [
        f"999\nUNITS {unit}", "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009",
        f"9\n$EXTMIN\n10\n{low[0]}\n20\n{low[1]}\n30\n0.0", f"9\n$EXTMAX\n10\n{high[0]}\n20\n{high[1]}\n30\n0.0",
        "0\nENDSEC\n0\nSECTION\n2\nTABLES",
        "0\nTABLE\n2\nLTYPE\n70\n1\n0\nLTYPE\n2\nCONTINUOUS\n70\n64\n3\nSolid line\n72\n65\n73\n0\n40\n0.0\n0\nENDTAB",
        f"0\nTABLE\n2\nLAYER\n70\n{len(cutter.tools)}",
        *(f"0\nLAYER\n2\n{t.layer}\n70\n0\n62\n{t.colour}\n6\nCONTINUOUS" for t in cutter.tools),
        "0\nENDTAB\n0\nENDSEC\n0\nSECTION\n2\nENTITIES",
    ]  # fmt: skip
    body = ["\n".join(rows).encode("ascii")]  # at once bytes: a long file is held only twice
    for path, run in zip(toolpaths.paths, numbered_runs(toolpaths.paths, _unit(cutter), _PLACES), strict=True):
        body.append(_polyline_and_vertices(path, run, cutter).encode("ascii"))
    return b"\n".join([*body, b"0\nENDSEC\n0\nEOF", b""])


def _polyline_and_vertices(path: Toolpath, run: NumberedRun, cutter: Cutter) -> str:
    layer = cutter.tool(path.tool).layer
    along, _, closed = _corners(path, run, f"0\nVERTEX\n8\n{layer}\n10\n%.4f\n20\n%.4f\n30\n0.0\n")
    head = f"0\nPOLYLINE\n8\n{layer}\n66\n1\n10\n0.0\n20\n0.0\n30\n0.0\n70\n{_CLOSED if closed else 0}"
    return f"{head}\n{along}\n0\nSEQEND\n8\n{layer}"


def _r2000(toolpaths: Toolpaths, cutter: Cutter) -> bytes:
    low, high = (tuple(float(value) for value in corner) for corner in _extents(toolpaths, cutter))
    frame = dxf_frame(_layers(cutter.tools), lower=(low[0], low[1]), upper=(high[0], high[1]), inches=cutter.inches)
    rows = [frame.head]
    runs = numbered_runs(toolpaths.paths, _unit(cutter), _PLACES)
    for handle, (path, run) in enumerate(zip(toolpaths.paths, runs, strict=True), start=frame.first):
        spline = fit_spline(path.points, cutter.tolerance) if cutter.splines else None
        look = _polyline(path, run) if spline is None else _spline(spline, cutter)
        kind = "LWPOLYLINE" if spline is None else "SPLINE"
        layer = cutter.tool(path.tool).layer
        rows.append(f"0\n{kind}\n5\n{handle:X}\n330\n{frame.owner}\n100\nAcDbEntity\n8\n{layer}\n100\n{look}")
    text = "\n".join([*rows, frame.tail, ""])
    return with_seed(text, frame.first + len(toolpaths.paths)).encode("ascii")


def _polyline(path: Toolpath, run: NumberedRun) -> str:
    along, count, closed = _corners(path, run, "10\n%.4f\n20\n%.4f\n")
    return f"AcDbPolyline\n90\n{count}\n70\n{_CLOSED if closed else 0}\n{along}"


def _spline(spline: Spline, cutter: Cutter) -> str:
    """Knots (40) and control points; no weights, for all are 1."""
    control = np.round(spline.control / _unit(cutter), _PLACES) + 0.0
    knots = "\n".join(f"40\n{knot:.6f}" for knot in spline.knots.tolist())
    points = "\n".join(f"10\n{x:.5f}\n20\n{y:.5f}\n30\n0.0" for x, y in control.tolist())
    counts = f"70\n{_PLANAR}\n71\n{DEGREE}\n72\n{len(spline.knots)}\n73\n{len(control)}\n74\n0"
    return f"AcDbSpline\n210\n0.0\n220\n0.0\n230\n1.0\n{counts}\n{knots}\n{points}"


def _layers(tools: Iterable[Tool]) -> list[tuple[str, int]]:
    return [(tool.layer, tool.colour) for tool in tools]


def _extents(toolpaths: Toolpaths, cutter: Cutter) -> tuple[tuple[str, str], tuple[str, str]]:
    everything = np.concatenate([path.points for path in toolpaths.paths]) / _unit(cutter)
    (x, y), (to_x, to_y) = everything.min(axis=0).tolist(), everything.max(axis=0).tolist()
    return (f"{x:.4f}", f"{y:.4f}"), (f"{to_x:.4f}", f"{to_y:.4f}")
