"""Proves a cutter's file: what its tools leave is held against the marker, and the order in which they do it."""

from collections.abc import Callable, Mapping

import numpy as np

from cutroom.errors import ProofError
from cutroom.model.cutter import Cutter, Language, ToolKind
from cutroom.model.finding import Finding
from cutroom.model.marker import Marker
from cutroom.model.plot import Role
from cutroom.proof.compare import Compared, Layout, compare
from cutroom.proof.expected import expected_lines
from cutroom.proof.lines import NOWHERE, Lines, Within
from cutroom.proof.proved import Proved, summed_up
from cutroom.proof.read_cut_dxf import read_cut_dxf
from cutroom.proof.read_cut_hpgl import read_cut_hpgl
from cutroom.proof.read_cut_svg import read_cut_svg
from cutroom.proof.read_gcode import read_gcode
from cutroom.proof.runs import Runs
from cutroom.proof.shared import put_together
from cutroom.proof.undo import Left, lines_left
from cutroom.proof.ways_in import burnt_on_the_way
from cutroom.proof.words import name_of, stop

BEAM_LIMIT, KNIFE_LIMIT = Within(0.05), Within(0.1)
"""How far the edge that is left may lie from the wanted one (mm)."""
_KNIVES = {ToolKind.DRAG_KNIFE, ToolKind.TANGENTIAL_KNIFE}
_READERS: Mapping[str, Callable[[bytes, Cutter], Runs]] = {
    Language.DXF: read_cut_dxf,
    Language.HPGL: read_cut_hpgl,
    Language.ISO: read_gcode,
    Language.SVG: read_cut_svg,
}


def prove_cut(kind: str, data: bytes, marker: Marker, cutter: Cutter) -> Proved:
    """Prove a cutter's file of a marker.

    Args:
        kind: `cut-dxf`, `cut-hpgl`, `cut-gcode` or `cut-svg`.
        data: The bytes of the file.
        marker: The marker it was written from.
        cutter: The machine it was written for.
    """
    try:
        read = _READERS[kind](data, cutter)
    except ProofError as error:
        return Proved(kind, "nothing: it cannot be read", 0.0, (), (stop(error.place, error.what, error.fix),))
    tools = {role: tool.name for tool in cutter.tools for role in tool.roles}

    def tool_of(role: Role) -> str | None:
        return tools.get(role)

    within = KNIFE_LIMIT if any(tool.kind in _KNIVES for tool in cutter.tools) else BEAM_LIMIT
    left, findings = lines_left(read.runs, cutter, marker)
    wanted = expected_lines(marker, tool_of)
    findings += burnt_on_the_way(read.runs, left, wanted, cutter, marker)
    if cutter.shared_once:
        left, shared = put_together(marker, wanted, left, cutter.tool(tools[Role.CUT]), within)
        findings = [*findings, *shared]
    compared = compare(marker, wanted, left.lines, within, group=tool_of, layout=Layout())
    findings = [*read.findings, *findings, *compared.findings, *_out_of_order(marker, wanted, left, compared, cutter)]
    return summed_up(kind, marker, wanted, compared, findings, within, "what its tools leave")


def _out_of_order(marker: Marker, wanted: Lines, left: Left, compared: Compared, cutter: Cutter) -> list[Finding]:
    """Lines inside a piece that come after its outline, when the piece is loose; tools that come back."""
    ours, theirs = np.array([*compared.found_for.items()], dtype=np.int64).reshape(-1, 2).T
    placements, runs, outline = wanted.placement[ours], left.runs[theirs], wanted.are(Role.CUT)[ours]
    last = np.full((2, len(marker.placements)), -1)  # the run of the outline, and the last inside
    for row, those in enumerate((outline, ~outline)):
        those &= placements != NOWHERE
        np.maximum.at(last[row], placements[those], runs[those])
    findings = [
        stop(name_of(marker, placement), "its outline is cut before all that lies inside it: it is loose by then")
        for placement in np.flatnonzero((last[0] >= 0) & (last[1] > last[0])).tolist()
    ]
    tools = left.lines.look[np.argsort(left.runs, kind="stable")]
    changes = np.flatnonzero(np.diff(tools, prepend=-1))
    if len(changes) > len(np.unique(tools)):
        findings.append(stop("file", f"its tools come by turns ({len(changes)} changes for {len(cutter.tools)} tools)"))
    return findings
