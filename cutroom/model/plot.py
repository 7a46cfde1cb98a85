"""A drawing for a machine: strokes in millimetres, each with what it is."""

from dataclasses import dataclass
from enum import StrEnum

from cutroom.model.arrays import Points, frozen_points


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


@dataclass(frozen=True, slots=True, eq=False)
class Plot:
    """A drawing in marker coordinates: the fabric from (0, 0), the sheet's legend at x < 0.

    Attributes:
        title: What the drawing is called.
        lower: Least x and y (mm) that anything is drawn at.
        upper: Greatest x and y (mm).
        strokes: In drawing order.
        words: Lines of the legend as text, for formats that can carry text.
    """

    title: str
    lower: tuple[float, float]
    upper: tuple[float, float]
    strokes: tuple[Stroke, ...]
    words: tuple[str, ...] = ()
