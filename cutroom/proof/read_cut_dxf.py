"""Reads a cutter's DXF back, R12 or R2000: polylines and splines by layer, bulges as arcs; the structure with ezdxf.

A bulge (group 42) is the tangent of a quarter of the sweep of the arc to the next corner, positive counter-clockwise.
"""

import numpy as np

from cutroom.model.cutter import Cutter
from cutroom.model.finding import Finding
from cutroom.proof.lines import Array
from cutroom.proof.read_dxf import entity_pairs, open_sample
from cutroom.proof.read_spline import spline_points
from cutroom.proof.runs import Run, Runs, arc_points, beyond_bed
from cutroom.proof.words import shortened, stop

_INCH = 25.4
_CLOSED = 1
_SAMPLE = 60
"""Of a longer file ezdxf is given this many entities, with all the rest of the file."""
_VERSIONS = {"R12": "AC1009", "R2000": "AC1015"}


def read_cut_dxf(data: bytes, cutter: Cutter) -> Runs:
    """The runs of a cutter's DXF.

    Raises:
        ProofError: It is no DXF, or is cut off.
    """
    pairs = entity_pairs(data)
    codes, values = pairs.codes, pairs.values
    begins = [place for place, code in enumerate(codes) if code == 0]
    whole = [place for place in begins if values[place] not in {"VERTEX", "SEQEND"}]
    _, faults = open_sample(pairs, whole, _SAMPLE)
    findings = _header(pairs.rows[: pairs.start], cutter) + faults
    layers = {tool.layer: tool.name for tool in cutter.tools}
    runs: list[Run] = []
    unit = _INCH if cutter.inches else 1.0
    for begin, after in zip(whole, [*whole[1:], len(codes)], strict=True):
        layer = values[codes.index(8, begin, after)] if 8 in codes[begin:after] else ""
        if layer not in layers:
            findings.append(stop(f"layer {layer or '0'}", "no tool of the machine has that layer"))
            continue
        try:
            kind, inner = values[begin], (codes[begin + 1 : after], values[begin + 1 : after])
            points = spline_points(*inner, unit) if kind == "SPLINE" and cutter.splines else _points(kind, *inner)
        except ValueError:
            findings.append(stop(f"layer {layer}", f"a {values[begin]} is damaged, or is no plain line"))
            continue
        runs.append(Run(layers[layer], points * unit))
    return Runs(tuple(runs), shortened([*findings, *beyond_bed(runs, cutter)]))


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
    """The places along a polyline; ValueError when it is none, or damaged."""
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
    if flags & _CLOSED:
        table = np.vstack((table, table[:1]))
    return _unbent(table[:, :2], table[:-1, 2])


def _unbent(points: Array, bulges: Array) -> Array:
    if not bulges.any():
        return points
    parts = [points[:1]]
    for start, end, bulge in zip(points[:-1], points[1:], bulges.tolist(), strict=True):
        if bulge == 0:
            parts.append(end[None])
            continue
        chord = end - start
        middle = (start + end) / 2 + np.array((-chord[1], chord[0])) * (1 - bulge**2) / (4 * bulge)
        parts.append(arc_points(start, end, middle, left=bulge > 0))
    return np.concatenate(parts)
