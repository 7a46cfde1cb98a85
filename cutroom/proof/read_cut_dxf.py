"""Reads a cutter's DXF back, R12 or R2000: polylines and splines by layer, bulges as arcs; the structure with ezdxf.

A bulge (group 42) is the tangent of a quarter of the sweep of the arc to the next corner, positive counter-clockwise.
"""

from collections.abc import Sequence

import numpy as np

from cutroom.model.cutter import Cutter
from cutroom.model.finding import Finding
from cutroom.proof.lines import Array
from cutroom.proof.read_dxf import codes_and_values, entities_of, open_first, plain_corners, plain_numbers
from cutroom.proof.read_spline import spline_points
from cutroom.proof.runs import Run, Runs, beyond_bed, runs_of, unbent
from cutroom.proof.words import shortened, stop

_INCH = 25.4
_CLOSED = 1
_SAMPLE = 60
"""Of a longer file ezdxf is given this many entities, with all the rest of the file."""
_BEFORE = ["POLYLINE", "8", "", "66", "1", "10", "", "20", "", "30", "", "70", ""]
_VERTEX = {0: "0", 1: "VERTEX", 2: "8", 4: "10", 6: "20", 8: "30"}
_AFTER = ["0", "SEQEND", "8", ""]
"""Rows of a polyline of the old form as most programs write it: its head, which stand where in a corner, its end."""
_VERSIONS = {"R12": "AC1009", "R2000": "AC1015"}


def read_cut_dxf(data: bytes, cutter: Cutter) -> Runs:
    """The runs of a cutter's DXF.

    Raises:
        ProofError: It is no DXF, or is cut off.
    """
    entities = entities_of(data)
    _, faults = open_first(entities, _SAMPLE)
    findings = _header(entities.head, cutter) + faults
    layers = {tool.layer: tool.name for tool in cutter.tools}
    tools: list[str] = []
    tables: list[Array] = []
    unit = _INCH if cutter.inches else 1.0
    for rows in entities:
        layer = next((value for code, value in zip(rows[1::2], rows[2::2], strict=False) if code.strip() == "8"), "")
        if layer not in layers:
            findings.append(stop(f"layer {layer or '0'}", "no tool of the machine has that layer"))
            continue
        try:
            tables.append(_corners(rows, cutter, unit))
        except ValueError:
            findings.append(stop(f"layer {layer}", f"a {rows[0]} is damaged, or is no plain line"))
            continue
        tools.append(layers[layer])
    runs = _unbent(tools, tables, unit)
    return Runs(runs, shortened([*findings, *beyond_bed(runs, cutter)]))


def _corners(rows: list[str], cutter: Cutter, unit: float) -> Array:
    """`(n, 3)`: corners, and the bulge from each to the next; ValueError when it is no plain line, or damaged."""
    lwpolyline = plain_corners(rows)
    if lwpolyline is not None:
        return _straight(*lwpolyline)
    polyline = _plain_polyline(rows)
    if polyline is not None:
        return _straight(*polyline)
    codes, values = codes_and_values(rows)
    if rows[0] == "SPLINE" and cutter.splines:
        return _straight(spline_points(codes, values, unit), closed=False)
    return _points(rows[0], codes, values)


def _straight(points: Array, closed: bool) -> Array:
    table = np.zeros((len(points) + closed, 3))
    table[: len(points), :2] = points
    table[len(points) :, :2] = points[:1]
    return table


def _plain_polyline(rows: list[str]) -> tuple[Array, bool] | None:
    """Corners and closedness of a POLYLINE without arcs that is written as most are; None for any other entity."""
    many, rest = divmod(len(rows) - len(_BEFORE) - len(_AFTER), 10)
    flags = rows[len(_BEFORE) - 1 : len(_BEFORE)]
    if rows[0] != "POLYLINE" or rest or many < 1 or flags not in (["0"], ["1"]):
        return None
    inner = rows[len(_BEFORE) : -len(_AFTER)]
    said = [rows[1 : len(_BEFORE) : 2], rows[-len(_AFTER) :: 2], rows[-len(_AFTER) + 1 : -len(_AFTER) + 2]]
    if said != [_BEFORE[1::2], _AFTER[::2], _AFTER[1:2]]:
        return None
    if any(inner[place::10] != [word] * many for place, word in _VERTEX.items()):
        return None
    points = plain_numbers([number for pair in zip(inner[5::10], inner[7::10], strict=True) for number in pair])
    return None if points is None else (points, flags == ["1"])


def _header(head: list[str], cutter: Cutter) -> list[Finding]:
    said = {name: head[head.index(name) + 2] for name in ("$ACADVER", "$INSUNITS") if name in head}
    wanted = _VERSIONS[cutter.version]
    findings = []
    if said.get("$ACADVER") != wanted:
        findings.append(stop("file header", f"the version is {said.get('$ACADVER')}, wanted {wanted}"))
    if cutter.version == "R12":
        comment = f"UNITS {'INCHES' if cutter.inches else 'MILLIMETRES'}"
        if comment not in head[:4]:
            findings.append(stop("file header", f"its first comment does not say {comment}"))
    elif said.get("$INSUNITS", "").strip() != ("1" if cutter.inches else "4"):
        findings.append(stop("file header", f"$INSUNITS is {said.get('$INSUNITS')}: not the unit of the machine"))
    return findings


def _points(kind: str, codes: list[int], values: list[str]) -> Array:
    """Its corners with their bulges; ValueError when it is no polyline, or damaged."""
    corners: list[list[float]] = []
    flags = 0
    if kind == "POLYLINE":
        inside = ""
        for code, value in zip(codes, values, strict=True):
            if code == 0:
                inside = value
                if value == "VERTEX":
                    corners.append([np.nan, np.nan, 0.0])
            elif code == 70 and not inside:
                flags = int(value)
            elif inside == "VERTEX" and code in {10, 20, 42}:
                corners[-1][{10: 0, 20: 1, 42: 2}[code]] = float(value)
        if inside != "SEQEND":
            raise ValueError
    elif kind == "LWPOLYLINE":
        wanted = 0
        for code, value in zip(codes, values, strict=True):
            if code == 10:
                corners.append([float(value), np.nan, 0.0])
            elif code in {20, 42}:
                corners[-1][{20: 1, 42: 2}[code]] = float(value)
            elif code == 70:
                flags = int(value)
            elif code == 90:
                wanted = int(value)
        if wanted != len(corners):
            raise ValueError
    else:
        raise ValueError
    table = np.array(corners, dtype=np.float64)
    if not len(table) or not np.isfinite(table).all() or flags not in {0, _CLOSED}:
        raise ValueError
    return np.vstack((table, table[:1])) if flags & _CLOSED else table


def _unbent(tools: list[str], tables: list[Array], unit: float) -> Sequence[Run]:
    """The runs with their arcs as straight bits, all at once."""
    if not tables:
        return ()
    counts = np.array([len(table) for table in tables])
    table = np.concatenate(tables)
    points, starts = table[:, :2] * unit, np.cumsum(counts) - counts
    bent = table[:, 2] != 0
    bent[starts + counts - 1] = False
    at = np.flatnonzero(bent) + 1
    bulges = table[at - 1, 2:]
    chords = points[at] - points[at - 1]
    across = np.column_stack((-chords[:, 1], chords[:, 0]))
    middles = (points[at - 1] + points[at]) / 2 + across * (1 - bulges**2) / (4 * bulges)
    return runs_of(tools, *unbent(points, starts, at, middles, bulges[:, 0] > 0))
