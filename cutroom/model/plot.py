"""A drawing for a machine: strokes in millimetres, each with what it is."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from cutroom.model.arrays import Points, frozen_points, frozen_wholes


class Role(StrEnum):
    """What a stroke is; also the layer names of a marker DXF and the groups of an SVG."""

    CUT = "CUT"
    SEAM = "SEAM"
    NOTCH = "NOTCH"
    GRAIN = "GRAIN"
    DRILL = "DRILL"
    LABEL = "LABEL"
    FABRIC = "FABRIC"
    SHEET = "SHEET"  # legend, test square and scale bar, outside the fabric
    CUTOUT = "CUTOUT"  # a closed line inside a piece that is cut, before its outline


@dataclass(frozen=True, slots=True, eq=False)
class Stroke:
    """One pen-down run.

    Attributes:
        role: What it is.
        points: `(n, 2)` read-only, mm, marker coordinates.
        closed: The last point is joined to the first.
        placement: Index of the placement it belongs to, or None.
    """

    role: Role
    points: Points
    closed: bool = False
    placement: int | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", frozen_points(self.points))


@dataclass(frozen=True, slots=True)
class Lettered:
    """A line of words that some strokes draw, for machines with letters of their own.

    Attributes:
        words: The words.
        at: Left end of their letters on the baseline, marker coordinates (mm).
        width: From there to their right end (mm).
        height: Height of the capitals (mm).
        turn_deg: Which way they read (degrees, counter-clockwise from x).
        strokes: Indices of the first stroke of the drawing that draws them, and of the first that no longer does.
    """

    words: str
    at: tuple[float, float]
    width: float
    height: float
    turn_deg: float
    strokes: tuple[int, int]


@dataclass(frozen=True, slots=True, eq=False)
class Plot:
    """A drawing in marker coordinates: the fabric from (0, 0), the sheet's legend at x < 0.

    Attributes:
        title: What the drawing is called.
        lower: Least x and y (mm) that anything is drawn at.
        upper: Greatest x and y (mm).
        strokes: In drawing order.
        words: Lines of the legend as text, for formats that can carry text.
        lettered: The words on the pieces as text; their strokes are among the strokes.
    """

    title: str
    lower: tuple[float, float]
    upper: tuple[float, float]
    strokes: tuple[Stroke, ...]
    words: tuple[str, ...] = ()
    lettered: tuple[Lettered, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Tile:
    """One sheet of a tiled drawing.

    Attributes:
        row: From 0 at the bottom, where y is least.
        column: From 0 at the left, where x is least.
        lower: Marker coordinates (mm) of the lower-left corner of its printable area.
        strokes: What is drawn on it, cut off at its printable area, marker coordinates.
    """

    row: int
    column: int
    lower: tuple[float, float]
    strokes: tuple[Stroke, ...]

    @property
    def name(self) -> str:
        """`B3`: row letter from the bottom, column number from the left."""
        letters, row = "", self.row
        while row >= 0:
            letters, row = chr(ord("A") + row % 26) + letters, row // 26 - 1
        return f"{letters}{self.column + 1}"


@dataclass(frozen=True, slots=True, eq=False)
class Tiling:
    """A drawing cut up for a desktop printer.

    Attributes:
        title: What the drawing is called.
        paper: Name of the paper: `A4`.
        sheet: Width and height (mm) of a sheet the way it is used, upright or on its side.
        margin: Strip at every edge that is not printed (mm).
        overlap: Strip that neighbouring sheets share (mm of the drawing).
        correction: Factors along page x and page y that put right a printer that is out of scale.
        rows: Rows of sheets.
        columns: Columns of sheets.
        tiles: The sheets that are not blank, row after row from the bottom.
        words: Lines of the legend as text.
    """

    title: str
    paper: str
    sheet: tuple[float, float]
    margin: float
    overlap: float
    correction: tuple[float, float]
    rows: int
    columns: int
    tiles: tuple[Tile, ...]
    words: tuple[str, ...] = ()

    @property
    def printable(self) -> tuple[float, float]:
        """Width and height (mm of paper) of the printable area."""
        return self.sheet[0] - 2 * self.margin, self.sheet[1] - 2 * self.margin

    @property
    def window(self) -> tuple[float, float]:
        """Width and height (mm of the drawing) that one sheet shows."""
        return self.printable[0] / self.correction[0], self.printable[1] / self.correction[1]


@dataclass(frozen=True, slots=True, eq=False)
class PenRun:
    """One pen-down run of a plotter.

    Attributes:
        pen: Number of the pen.
        points: `(n, 2)` int64, read-only, plotter units within the frame; a closed stroke ends where it started.
    """

    pen: int
    points: NDArray[np.int64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", frozen_wholes(self.points))


@dataclass(frozen=True, slots=True)
class PenText:
    """A line of words in a plotter's own letters.

    Attributes:
        pen: Number of the pen.
        at: Where they begin on the baseline (plotter units within the frame).
        words: In printable ASCII.
        size: Width and height of a capital (mm).
        way: Which way they read: along and across the paper, of length 1.
    """

    pen: int
    at: tuple[int, int]
    words: str
    size: tuple[float, float]
    way: tuple[float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Framed:
    """A drawing cut into frames for a plotter that advances its paper between them.

    Attributes:
        title: What the drawing is called.
        edges_plu: Where each frame starts along the paper (plotter units from the start of the drawing).
        frames: Runs of each frame in drawing order, pen after pen.
        texts: Words of each frame in the machine's own letters; empty when there are none.
    """

    title: str
    edges_plu: tuple[int, ...]
    frames: tuple[tuple[PenRun, ...], ...]
    texts: tuple[tuple[PenText, ...], ...] = ()
