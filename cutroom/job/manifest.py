"""The manifest: what was made, from what, and what reading it back showed."""

import json
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from cutroom import __version__
from cutroom.job.machines import Machines
from cutroom.model.estimate import Estimate, Saved
from cutroom.model.finding import Finding
from cutroom.model.lay import Counted
from cutroom.model.marker import Marker, on_grid
from cutroom.model.order import Order
from cutroom.proof.hands import Count
from cutroom.read.plain import plain_of
from cutroom.report.figures import utilisation


@dataclass(frozen=True, slots=True, eq=False)
class Written:
    """A file that was written.

    Attributes:
        path: Its name in the folder; `name.refused` when its proof refused it.
        kind: `marker-dxf`.
        marker: The marker it shows, or empty.
        compared: What was compared, in words.
        deviation: Largest deviation from the marker (mm), or None where nothing is measured.
        passed: It says what the marker says.
        findings: What the proof found.
        counts: The pieces counted from it.
        sha256: Of its bytes, once it is on the disk.
        time: What its machine takes over it, where its profile says speeds.
        saved: What cutting shared lines once saves, where its machine does.
    """

    path: str
    kind: str
    marker: str
    compared: str
    deviation: float | None
    passed: bool
    findings: tuple[Finding, ...] = ()
    counts: tuple[Count, ...] = ()
    sha256: str = ""
    time: Estimate | None = None
    saved: Saved | None = None


def manifest_bytes(
    order: Order,
    markers: tuple[Marker, ...],
    written: tuple[Written, ...],
    counted: tuple[Counted, ...],
    findings: tuple[Finding, ...],
    machines: Machines,
) -> bytes:
    """The manifest as JSON, the same bytes for the same work on any day."""
    manifest = {
        "made_by": f"cutroom {__version__}",
        "title": order.title,
        "files": [_file(file) for file in written],
        "markers": [_marker(marker) for marker in markers],
        "proof": [
            {
                "path": file.path,
                "kind": file.kind,
                "passed": file.passed,
                "compared": file.compared,
                "largest_deviation_mm": None if file.deviation is None else round(file.deviation, 6),
                "findings": [str(finding) for finding in file.findings],
            }
            for file in written
        ],
        "cut_list": [
            {
                "garment": line.garment,
                "size": line.size,
                "piece": line.piece,
                "fabric": line.fabric,
                "needed": {"left": line.left, "right": line.right, "whole": line.whole},
                "comes_out": {"left": line.got_left, "right": line.got_right, "whole": line.got_whole},
            }
            for line in counted
        ],
        "numbers": [
            {"number": piece.number, "garment": piece.garment, "size": piece.size, "piece": piece.name}
            for piece in sorted((p for marker in markers for p in marker.pieces if p.number), key=lambda p: p.number)
        ],
        "machines": _machines(machines),
        "findings": [
            {"severity": finding.severity, "place": finding.place, "what": finding.what, "fix": finding.fix}
            for finding in findings
        ],
    }
    return json_bytes(manifest)


def _file(file: Written) -> dict[str, Any]:
    said: dict[str, Any] = {"path": file.path, "kind": file.kind, "sha256": file.sha256}
    if file.marker:
        said["marker"] = file.marker
    if file.time is not None:
        said["time"] = {
            "seconds": round(file.time.total_s, 1),
            "working_s": round(file.time.working_s, 1),
            "travel_s": round(file.time.travel_s, 1),
            "lift_s": round(file.time.lift_s, 1),
            "wait_s": round(file.time.wait_s, 1),
            "line_s": round(file.time.line_s, 1),
            "bound_by": "line" if file.time.line_bound else "machine",
        }
    if file.saved is not None:
        seconds = None if file.saved.seconds is None else round(file.saved.seconds, 1)
        said["shared_lines_once"] = {"saved_mm": round(file.saved.length, 1), "saved_s": seconds}
    return said


def _machines(machines: Machines) -> dict[str, Any]:
    """What the files were written for, whole, so that they can be proved again when the profiles have changed."""
    return {
        "plotter": plain_of(machines.plotter),
        "paper": plain_of(machines.paper),
        "cutters": plain_of(dict(machines.cutters)),
    }


def marker_bytes(marker: Marker, lower: tuple[float, float], upper: tuple[float, float]) -> bytes:
    """A marker as JSON, with the outlines of its pieces in their own axes (mm).

    Args:
        marker: The marker. Besides what people read, it is kept whole, so that files can be proved against it.
        lower: Least x and y of its drawing (mm).
        upper: Greatest x and y.
    """
    pieces = [
        {
            "garment": piece.garment,
            "size": piece.size,
            "piece": piece.name,
            "cut": piece.cut,
            "quantity": piece.quantity,
            "cloth": piece.cloth,
            "cut_line": _points(piece.cut_line),
            "seam_line": _points(piece.seam_line),
            "notches": [_points(line) for line in piece.notches],
            "drills": [list(hole) for hole in piece.drills],
            "grain": _points(piece.grain[0]),
            "lines": [_points(line) for line in piece.lines],
        }
        for piece in marker.pieces
    ]
    drawing = {"drawing_mm": [list(lower), list(upper)]}
    text = json_bytes(_marker(marker) | drawing | {"outlines": pieces})
    whole = json.dumps(plain_of(replace(marker, findings=())), ensure_ascii=False, separators=(",", ":"))
    return text.rstrip(b"}\n") + f',\n "whole": {whole}\n}}\n'.encode()


def _marker(marker: Marker) -> dict[str, Any]:
    return {
        "name": marker.name,
        "fabric": marker.fabric.name,
        "spread": marker.fabric.spread,
        "nap": marker.fabric.nap,
        "face": marker.fabric.face,
        "plies": marker.fabric.plies,
        "gap_mm": marker.fabric.gap,
        "width_mm": marker.width,
        "length_mm": round(marker.length, 6),
        "utilisation": round(utilisation(marker), 6),
        "boxes_length_mm": None if marker.boxes_length is None else round(marker.boxes_length, 6),
        "bound_mm": None if marker.bound is None else round(marker.bound, 6),
        "bound_by": marker.bound_by,
        "seed": marker.seed,
        "tries": marker.tries,
        "pattern_start_mm": None if marker.pattern_start is None else on_grid(marker.pattern_start),
        "sections_mm": [on_grid(end) for end in marker.sections],
        "blocks": [
            {
                "name": block.name,
                "pieces": list(block.placements),
                "outline_mm": [[round(x, 6), round(y, 6)] for x, y in block.outline],
            }
            for block in marker.blocks
        ],
        "pieces": [
            {
                "piece": placement.piece,
                "garment": placement.garment,
                "size": placement.size,
                "copy": placement.copy,
                "flipped": placement.flipped,
                "turn_deg": placement.turn_deg,
                "x_mm": on_grid(placement.x),
                "y_mm": on_grid(placement.y),
                "locked": placement.locked,
            }
            for placement in marker.placements
        ],
    }


def _points(points: np.ndarray[Any, np.dtype[np.float64]]) -> list[list[float]]:
    return [[round(float(x), 6), round(float(y), 6)] for x, y in points]


def json_bytes(value: object) -> bytes:
    """A value as JSON, as all files of figures are written: UTF-8, one figure a line."""
    return (json.dumps(value, ensure_ascii=False, indent=1) + "\n").encode()
