"""Proves a written file: reads its bytes back and holds them against the marker."""

from collections.abc import Sequence

import numpy as np

from cutroom.errors import ProofError
from cutroom.model.finding import Finding
from cutroom.model.marker import Marker
from cutroom.model.plot import Role
from cutroom.model.profile import Paper, Plotter
from cutroom.proof.compare import Compared, Layout, compare
from cutroom.proof.expected import expected_lines
from cutroom.proof.letters import prove_letters
from cutroom.proof.lines import Line, Lines, Within
from cutroom.proof.proved import Proved, summed_up
from cutroom.proof.read_dxf import read_dxf
from cutroom.proof.read_hpgl import frame_cuts, read_hpgl
from cutroom.proof.read_pdf import read_pdf
from cutroom.proof.read_svg import read_svg
from cutroom.proof.squares import prove_square
from cutroom.proof.tiles import misplaced, prove_tiles
from cutroom.proof.words import owner_of, stop

Corner = tuple[float, float]

DXF_LIMIT = Within(0.01)
SVG_LIMIT = Within(0.01)
HPGL_LIMIT = Within(0.0125, per_coordinate=True)
PDF_LIMIT = Within(0.05)


def prove_file(
    kind: str, data: bytes, marker: Marker, *,
    lower: Corner, upper: Corner, plotter: Plotter | None = None, paper: Paper | None = None,
) -> Proved:  # fmt: skip
    """Prove a file of a marker.

    Args:
        kind: `marker-dxf`, `marker-hpgl`, `marker-pdf`, `tiles-pdf` or `marker-svg`.
        data: The bytes of the file.
        marker: The marker it was written from.
        lower: Least x and y of the plot (mm).
        upper: Greatest x and y of the plot (mm).
        plotter: The machine, for HPGL.
        paper: The paper, for tiles.

    Raises:
        ValueError: The kind is not known, or its plotter or paper is not given.
    """
    try:
        if kind == "marker-dxf":
            reading = read_dxf(data)
            return _prove_layers(kind, marker, reading.lines, reading.findings, DXF_LIMIT)
        if kind == "marker-svg":
            reading = read_svg(data, lower, upper)
            return _prove_layers(kind, marker, reading.lines, reading.findings, SVG_LIMIT)
        if kind == "marker-hpgl" and plotter is not None:
            return _prove_hpgl(data, marker, plotter, lower, upper)
        if kind == "marker-pdf":
            return _prove_page(data, marker, lower, upper)
        if kind == "tiles-pdf" and paper is not None:
            return _prove_sheets(data, marker, paper, lower, upper)
    except ProofError as error:
        return Proved(kind, "nothing: it cannot be read", 0.0, (), (stop(error.place, error.what, error.fix),))
    msg = f"there is no proof for {kind} with what was given"
    raise ValueError(msg)


def _prove_layers(
    kind: str, marker: Marker, lines: Sequence[Line], faults: tuple[Finding, ...], within: Within
) -> Proved:
    """Formats that name the role of every line, each line its own entity."""
    wanted = expected_lines(marker, _layer)
    compared = compare(marker, wanted, lines, within, group=_layer, layout=Layout())
    findings = [*faults, *compared.findings, *prove_square(marker, lines, within)]
    if kind == "marker-svg":
        ours, theirs = np.array([*compared.found_for.items()], dtype=np.int64).reshape(-1, 2).T
        strange = wanted.placement[ours] != compared.found.placement[theirs]
        for index in ours[strange].tolist():
            what = "a line says that it belongs to another placement, or to none"
            findings.append(stop(owner_of(marker, wanted[index]), what))
    return summed_up(kind, marker, wanted, compared, findings, within)


def _layer(role: Role) -> str | None:
    return role.value


def _prove_hpgl(data: bytes, marker: Marker, plotter: Plotter, lower: Corner, upper: Corner) -> Proved:
    def pen(role: Role) -> str | None:
        number = plotter.pens.get(role, 0)
        return str(number) if number else None

    reading = read_hpgl(data, plotter, lower)
    wanted, miswritten = prove_letters(marker, expected_lines(marker, pen), reading.words, pen(Role.LABEL))
    cuts = frame_cuts(plotter, lower, upper)
    compared = compare(marker, wanted, reading.lines, HPGL_LIMIT, group=pen, layout=Layout(whole=False, cuts=cuts))
    frames = _frames(wanted, compared.found, compared, cuts, plotter, lower)
    findings = [*reading.findings, *miswritten, *frames, *compared.findings]
    if pen(Role.SHEET):
        findings += prove_square(marker, reading.lines, HPGL_LIMIT)
    return summed_up("marker-hpgl", marker, wanted, compared, findings, HPGL_LIMIT)


def _frames(
    wanted: Lines, found: Lines, compared: Compared, cuts: tuple[float, ...],
    plotter: Plotter, lower: Corner,
) -> list[Finding]:  # fmt: skip
    """Frames that are missing, too many or in another frame's place."""
    count = len(cuts) + 1
    long = plotter.frame / plotter.correction[0]
    starts = [lower[0] + frame * long for frame in range(count)]
    findings = []
    if len(found) and found.boxes[:, 0].max() >= starts[-1] + long:
        findings.append(stop("file", f"it has more than the {count} frames of {plotter.frame:g} mm that are needed"))
    if not cuts or not compared.findings:
        return findings
    middles = [float(line.points[:, 0].min() + line.points[:, 0].max()) / 2 for line in compared.stray]
    drawn = (found.boxes[:, 0] + found.boxes[:, 2]) / 2
    for frame, start in enumerate(starts):
        end = start + long
        if not ((start <= drawn) & (drawn <= end)).any():
            findings.append(stop(f"frame {frame + 1}", f"frame {frame + 1} is missing"))
            continue
        stray = [line for line, middle in zip(compared.stray, middles, strict=True) if start <= middle <= end]
        others = [other for other in range(count) if other != frame]
        shifts = [((other - frame) * long, 0.0) for other in others]
        best = misplaced(wanted, stray, shifts, HPGL_LIMIT) if stray else None
        if best is not None:
            what = f"frame {frame + 1} carries what belongs in frame {others[best] + 1}"
            findings.append(stop(f"frame {frame + 1}", what))
    return findings


def _one_group(_: Role) -> str | None:
    return ""


def _prove_page(data: bytes, marker: Marker, lower: Corner, upper: Corner) -> Proved:
    sheets, faults = read_pdf(data)
    findings = list(faults)
    if len(sheets) != 1:
        raise ProofError(f"it has {len(sheets)} pages, wanted 1", "Write it again", place="file")
    size = (sheets[0].width, sheets[0].height)
    wanted_size = (upper[0] - lower[0], upper[1] - lower[1])
    if np.abs(np.subtract(size, wanted_size)).max() > PDF_LIMIT.limit:
        what = f"it is {size[0]:.2f} x {size[1]:.2f} mm, wanted {wanted_size[0]:.2f} x {wanted_size[1]:.2f} mm"
        findings.append(stop("page", what))
    lines = sheets[0].lines.at(sheets[0].lines.points + lower)
    wanted = expected_lines(marker, _one_group)
    compared = compare(marker, wanted, lines, PDF_LIMIT, group=_one_group, layout=Layout(whole=False))
    findings += [*compared.findings, *prove_square(marker, lines, PDF_LIMIT)]
    return summed_up("marker-pdf", marker, wanted, compared, findings, PDF_LIMIT)


def _prove_sheets(data: bytes, marker: Marker, paper: Paper, lower: Corner, upper: Corner) -> Proved:
    sheets, faults = read_pdf(data)
    wanted = expected_lines(marker, _one_group)
    compared = prove_tiles(marker, wanted, sheets, paper, lower, upper, PDF_LIMIT)
    return summed_up("tiles-pdf", marker, wanted, compared, [*faults, *compared.findings], PDF_LIMIT)
