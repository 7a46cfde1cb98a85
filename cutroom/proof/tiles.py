"""Proves a drawing that is spread over sheets: each sheet by itself, and that none is missing."""

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from cutroom.model.finding import Finding
from cutroom.model.marker import Marker
from cutroom.model.profile import Paper
from cutroom.proof.compare import Compared, Layout, compare
from cutroom.proof.lines import Array, Box, Flags, Line, Lines, Within, clip, gather, segments
from cutroom.proof.match import on_tree
from cutroom.proof.read_pdf import Sheet
from cutroom.proof.squares import prove_cover
from cutroom.proof.words import MOST, stop

_NAME = re.compile(r"Sheet\s+([A-Z]+)(\d+)")
_PAPER_LIMIT = 0.2
"""A page may be this much (mm) off the paper's size: sizes are rounded to points."""


@dataclass(frozen=True, slots=True)
class Grid:
    """How sheets divide a drawing.

    Attributes:
        lower: Lower left corner of the drawing (mm).
        columns: Sheets along x.
        rows: Sheets along y.
        shown: `(along x, along y)` that one sheet shows (mm of the drawing).
        step: From sheet to sheet (mm of the drawing).
        margin: Strip of paper that is not printed (mm).
        correction: Factors from the drawing to the paper.
    """

    lower: tuple[float, float]
    columns: int
    rows: int
    shown: tuple[float, float]
    step: tuple[float, float]
    margin: float
    correction: tuple[float, float]

    def window(self, row: int, column: int) -> Box:
        """What a sheet shows (mm of the drawing); row and column from 0."""
        x, y = self.lower[0] + column * self.step[0], self.lower[1] + row * self.step[1]
        return x, y, x + self.shown[0], y + self.shown[1]

    def all_sheets(self) -> Iterator[tuple[int, int]]:
        """Every row and column, from 0."""
        return ((row, column) for row in range(self.rows) for column in range(self.columns))


def row_letters(row: int) -> str:
    """The letters of a row from 0: A to Z, then AA and so on."""
    letters = ""
    row += 1
    while row:
        row, rest = divmod(row - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def sheet_name(row: int, column: int) -> str:
    """The name of a sheet, row and column from 0."""
    return f"Sheet {row_letters(row)}{column + 1}"


def grid_of(paper: Paper, sheet: Sheet, lower: tuple[float, float], upper: tuple[float, float]) -> Grid | None:
    """The grid for sheets of that page, or None when the page is not the paper, upright or lying."""
    across, up = paper.correction
    looks = ((paper.width, paper.height, across, up), (paper.height, paper.width, up, across))
    size = next(
        (sides for sides in looks if max(abs(sheet.width - sides[0]), abs(sheet.height - sides[1])) <= _PAPER_LIMIT),
        None,
    )
    if size is None:
        return None
    factors = (size[2], size[3])
    shown = tuple((side - 2 * paper.margin) / factor for side, factor in zip(size[:2], factors, strict=True))
    counts = [
        max(1, math.ceil((upper[axis] - lower[axis] - paper.overlap) / (shown[axis] - paper.overlap) - 1e-9))
        for axis in (0, 1)
    ]
    step = (shown[0] - paper.overlap, shown[1] - paper.overlap)
    return Grid(lower, counts[0], counts[1], (shown[0], shown[1]), step, paper.margin, factors)


def prove_tiles(
    marker: Marker, wanted: Lines, sheets: Sequence[Sheet], paper: Paper,
    lower: tuple[float, float], upper: tuple[float, float], within: Within,
) -> Compared:  # fmt: skip
    """Prove a cover and its sheets.

    Args:
        marker: The marker.
        wanted: What must be drawn on the sheets together, in one group.
        sheets: The pages, cover first.
        paper: The paper.
        lower: Least x and y of the plot (mm).
        upper: Greatest x and y of the plot (mm).
        within: How far off a point may be.
    """
    if not sheets:
        return _refused(wanted, "it has no pages")
    grid = grid_of(paper, sheets[1], lower, upper) if len(sheets) > 1 else grid_of(paper, sheets[0], lower, upper)
    if grid is None:
        page = sheets[min(1, len(sheets) - 1)]
        what = f"the sheets are {page.width:.1f} x {page.height:.1f} mm, which is not {paper.name}"
        return _refused(wanted, what)
    findings = [*prove_cover(sheets[0].lines, grid.correction, within)]
    placed, told = _find_places(sheets, grid)
    findings += told
    proven = np.ones(len(wanted), dtype=np.bool_)
    stray: list[Line] = []
    deviation = 0.0
    for row, column in grid.all_sheets():
        window = grid.window(row, column)
        here = np.flatnonzero(_meets(wanted.boxes, window))
        asked = wanted.some(here)
        sheet = placed.get((row, column))
        if sheet is None:
            if _has_content(asked, window, within):
                findings.append(stop(sheet_name(row, column), f"{sheet_name(row, column)} is missing"))
                proven[here] = False
            continue
        drawn = _drawn(sheet, grid, window)
        if not len(drawn):
            findings.append(stop(sheet_name(row, column), f"{sheet_name(row, column)} is blank"))
        explain = len(findings) < MOST  # more are not told
        layout = Layout(whole=False, window=window, where=sheet_name(row, column), explain=explain)
        compared = compare(marker, asked, drawn, within, group=lambda _: "", layout=layout)
        proven[here[~compared.proven]] = False
        swapped = _belongs_elsewhere(wanted, compared, grid, (row, column), within) if explain else None
        findings += [swapped] if swapped else compared.findings
        findings += _beyond(drawn, window, within, sheet_name(row, column))
        stray += compared.stray
        deviation = max(deviation, compared.deviation)
    return Compared(gather(()), {}, proven, tuple(stray), deviation, tuple(findings))


def _refused(wanted: Lines, what: str) -> Compared:
    return Compared(gather(()), {}, np.zeros(len(wanted), dtype=np.bool_), (), 0.0, (stop("file", what),))


def _find_places(sheets: Sequence[Sheet], grid: Grid) -> tuple[dict[tuple[int, int], Sheet], list[Finding]]:
    """Which sheet is which, by the words on it."""
    names = {f"{row_letters(row)}{column + 1}": (row, column) for row, column in grid.all_sheets()}
    placed: dict[tuple[int, int], Sheet] = {}
    findings = []
    for number, sheet in enumerate(sheets[1:], start=2):
        found = _NAME.search(sheet.words)
        if found is None:
            findings.append(stop(f"page {number}", "it does not say which sheet it is"))
            continue
        place = names.get(found[1] + found[2])
        if place is None:
            findings.append(stop(f"page {number}", f"{found[0]} is extra: the drawing has no such sheet"))
        elif place in placed:
            findings.append(stop(f"page {number}", f"{found[0]} is there twice"))
        else:
            placed[place] = sheet
        if max(abs(sheet.width - sheets[1].width), abs(sheet.height - sheets[1].height)) > 0.01:
            findings.append(stop(f"page {number}", "it has another size than the sheets before it"))
    return placed, findings


def _drawn(sheet: Sheet, grid: Grid, window: Box) -> Lines:
    """The lines of a sheet that are not its own furniture, in marker coordinates."""
    lines = sheet.lines.some(np.flatnonzero(~sheet.lines.quiet))
    lines = lines.at((lines.points - grid.margin) / grid.correction + window[:2])
    return lines.some(np.flatnonzero(_meets(lines.boxes, window)))


def _meets(extent: Array, window: Box) -> Flags:
    low, high = np.array(window[:2]), np.array(window[2:])
    meets: Flags = np.logical_and((extent[:, :2] <= high).all(axis=1), (extent[:, 2:] >= low).all(axis=1))
    return meets


def _has_content(lines: Lines, window: Box, within: Within) -> bool:
    edge = 2 * within.limit
    bits, owners = segments(lines)
    inner = (window[0] + edge, window[1] + edge, window[2] - edge, window[3] - edge)
    return len(bits) > 0 and len(clip(bits, owners, inner)[0]) > 0


def _beyond(drawn: Lines, window: Box, within: Within, name: str) -> list[Finding]:
    """Lines that run on beyond the printable area instead of ending at its edge."""
    edge = 2 * within.limit
    by = np.hstack((np.subtract(window[:2], drawn.boxes[:, :2]), drawn.boxes[:, 2:] - window[2:])).max(axis=1)
    return [stop(name, f"a line runs {far:.2f} mm beyond the printable area") for far in by[by > edge][:1]]


def _belongs_elsewhere(
    wanted: Lines, compared: Compared, grid: Grid, place: tuple[int, int], within: Within
) -> Finding | None:
    """A sheet that carries what belongs on another."""
    if not compared.findings or not compared.stray:
        return None
    here = grid.window(*place)
    windows = [(other, grid.window(*other)) for other in grid.all_sheets() if other != place]
    shifts = [(window[0] - here[0], window[1] - here[1]) for _, window in windows]
    best = misplaced(wanted, compared.stray, shifts, within)
    if best is None:
        return None
    name, belongs = sheet_name(*place), sheet_name(*windows[best][0])
    return stop(name, f"{name} carries what belongs on {belongs}")


def misplaced(
    wanted: Lines, stray: Sequence[Line], shifts: Sequence[tuple[float, float]], within: Within
) -> int | None:
    """The shift (mm) by which nearly all points of stray lines come to lie on expected lines, if there is one.

    A shift by which not half of a few points do is not tried on the others.
    """
    points = np.concatenate([line.points for line in stray])
    points = points[:: max(1, len(points) // 400)]
    few = points[:: max(1, len(points) // 12)]
    for index, shift in enumerate(shifts):
        if _share_on(few + shift, wanted, within) > 0.5 and _share_on(points + shift, wanted, within) > 0.9:
            return index
    return None


def _share_on(points: Array, lines: Lines, within: Within) -> float:
    return float((on_tree(points, lines.tree, within.reach) >= 0).mean())
