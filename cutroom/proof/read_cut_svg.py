"""Reads a cutter's SVG back: its runs by the colour of their lines, arcs as W3C SVG 1.1 has them (8.3.8, F.6)."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from xml.etree import ElementTree as ET

import numpy as np

from cutroom.errors import ProofError
from cutroom.model.cutter import Cutter
from cutroom.model.finding import Finding
from cutroom.proof.lines import Array
from cutroom.proof.read_svg import SVG, read_corners, read_path, svg_root, user_units
from cutroom.proof.runs import Run, Runs, beyond_bed, runs_of, unbent
from cutroom.proof.words import WRITE_AGAIN, shortened, stop

_THICKEST = 0.1
"""A wider line (mm) may be taken for an area."""
_LOOKS = {"stroke": "colour", "fill": "fill", "stroke-width": "width"}
_PATH = f"{SVG}path"
_SILENT = {f"{SVG}{name}" for name in ("title", "desc", "metadata")}
_SAID = {"svg": {"width", "height", "viewBox", "version"}, "g": {"id"}, "path": {"d", "id"}}
"""What else an element may say: none of it changes which line is cut, or where."""


@dataclass(frozen=True, slots=True)
class _Look:
    """How lines are drawn here, as SVG has it when nothing is said."""

    colour: str = "none"
    fill: str = "black"
    width: str = "1"


def read_cut_svg(data: bytes, cutter: Cutter) -> Runs:
    """The runs of a cutter's SVG.

    Raises:
        ProofError: It is no SVG, or is cut off.
    """
    root, findings = svg_root(data)
    scale, origin, faults = user_units(root, (0.0, 0.0), (cutter.length, cutter.width))
    findings += faults
    names = {tool.rgb: tool.name for tool in cutter.tools}
    tools: list[str] = []
    lines: list[Array] = []
    bends: dict[int, Array] = {}
    judged: set[_Look] = set()
    for path, look in _paths(root, _Look(), findings):
        if look not in judged:
            findings += _faults_of(look, float(scale.max()), names)
            judged.add(look)
        found = _lines(path)
        if found is None:
            findings.append(stop(f"colour {look.colour}", "a path is damaged, or is no line of straight bits and arcs"))
        elif look.colour in names:
            for points, bend in found:
                if bend is not None:
                    bends[len(lines)] = bend
                lines.append(points)
                tools.append(names[look.colour])
    runs = _on_bed(tools, lines, bends, scale, origin, cutter)
    return Runs(runs, shortened([*findings, *beyond_bed(runs, cutter)]))


def _paths(element: ET.Element, look: _Look, findings: list[Finding]) -> Iterator[tuple[str, _Look]]:
    """The data of the paths in a part of the drawing, in their order, and their look; what does not belong is noted."""
    kind = element.tag.removeprefix(SVG)
    said = {name: value for name, value in element.attrib.items() if not name.startswith(("{", "data-"))}
    unknown = sorted(said.keys() - _LOOKS.keys() - _SAID[kind] - {"transform"})
    findings.extend(stop("file", f'"{name}" of a <{kind}> may change what is cut') for name in unknown)
    look = replace(look, **{_LOOKS[name]: said[name].strip().lower() for name in _LOOKS.keys() & said.keys()})
    if kind == "path":
        yield said.get("d", ""), look
    for inner in element:
        if inner.tag == _PATH and inner.attrib.keys() == {"d"} and not len(inner) and kind != "path":
            yield inner.attrib["d"], look
        elif inner.tag in {_PATH, f"{SVG}g"} and kind != "path":
            yield from _paths(inner, look, findings)
        elif inner.tag not in _SILENT:
            what = f"<{inner.tag.removeprefix(SVG)}> is extra: a cutter's drawing has only paths"
            findings.append(stop("file", what))


def _lines(path: str) -> list[tuple[Array, Array | None]] | None:
    """The points `(n, 2)` of each line of a path, and how the bits to them bend where any does; None when damaged."""
    if "A" not in path and "a" not in path:
        straight = read_path(path)
        if straight is None:
            return None
        return [(np.vstack((points, points[:1])) if closed else points, None) for points, closed in straight]
    bent = read_corners(path)
    if bent is None:
        return None
    tables = [np.vstack((table, [*table[0, :2], 0.0, 0.0])) if closed else table for table, closed in bent]
    return [(table[:, :2], table[:, 2:]) for table in tables]


def _faults_of(look: _Look, scale: float, names: Collection[str]) -> list[Finding]:
    findings = []
    if look.colour not in names:
        findings.append(stop(f"colour {look.colour}", "no tool of the machine has that colour"))
    if look.fill != "none":
        findings.append(stop(f"colour {look.colour}", f"a path is filled with {look.fill}: it may be burnt as an area"))
    try:
        thin = 0 <= float(look.width) * scale <= _THICKEST
    except ValueError:
        thin = False
    if not thin:
        what = f"a line is {look.width} wide, wanted at most {_THICKEST:g} mm: it may be burnt as an area"
        findings.append(stop(f"colour {look.colour}", what))
    return findings


def _on_bed(
    tools: list[str], lines: list[Array], bends: dict[int, Array], scale: Array, origin: Array, cutter: Cutter
) -> Sequence[Run]:
    """The runs in machine axes, with their arcs as straight bits, all at once."""
    if not lines:
        return ()
    counts = np.array([len(points) for points in lines])
    starts = np.cumsum(counts) - counts
    points = np.array((0.0, cutter.width)) + (np.concatenate(lines) - origin) * scale * (1.0, -1.0)
    if not np.isfinite(points).all():
        raise ProofError("a coordinate is no length", WRITE_AGAIN, place="file")
    radii, flags = np.zeros(len(points)), np.zeros(len(points), dtype=np.int64)
    for number, bend in bends.items():
        here = slice(int(starts[number]), int(starts[number]) + len(bend))
        radii[here], flags[here] = bend[:, 0] * scale.mean(), bend[:, 1]
    at = np.flatnonzero(radii)
    left = flags[at] & 2 == 0  # angles of the page rise clockwise, for its y runs down
    chords = points[at] - points[at - 1]
    lengths = np.hypot(chords[:, 0], chords[:, 1])
    far = np.sqrt(np.maximum(0.0, radii[at] ** 2 - (lengths / 2) ** 2)) / np.maximum(lengths, 1e-12)
    far = np.where(left != (flags[at] & 1 == 1), far, -far)
    middles = (points[at - 1] + points[at]) / 2 + far[:, None] * np.column_stack((-chords[:, 1], chords[:, 0]))
    return runs_of(tools, *unbent(points, starts, at, middles, left))
