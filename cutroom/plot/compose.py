"""From a marker to a drawing: every piece where it is laid, and the sheet's furniture outside the cloth."""

from collections.abc import Sequence
from functools import partial
from itertools import accumulate, pairwise

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import PlotError
from cutroom.geometry.affine import pose_points
from cutroom.model.marker import Marker, Placement
from cutroom.model.plot import Plot, Role, Stroke
from cutroom.model.prepared import Label, PreparedPiece
from cutroom.plot.furniture import draw_furniture

EDGE = 2.0
"""Empty strip (mm) round the drawing, so that no line lies on the edge of the paper."""

_CIRCLE = np.column_stack([f(np.arange(24) * np.pi / 12) for f in (np.cos, np.sin)])


def compose(marker: Marker, *, legend: tuple[str, ...], title: str) -> Plot:
    """Draw a marker.

    Args:
        marker: The marker.
        legend: Lines that say what it is, for the sheet's head.
        title: What the drawing is called.

    Returns:
        The drawing; its corners are whole millimetres.

    Raises:
        PlotError: A word of the title or the legend cannot be drawn.
    """
    width, length = marker.width, marker.length
    cloth = Stroke(Role.FABRIC, np.array([(0, 0), (length, 0), (length, width), (0, width)]), closed=True)
    try:
        furniture = draw_furniture(marker, legend=legend, title=title)
    except ValueError as error:
        raise PlotError(f"{error}", "Write the title and the legend with Latin letters", place="legend") from error
    strokes = [*furniture, cloth]
    for index, placement in enumerate(marker.placements):
        strokes.extend(_laid(marker.prepared(placement), placement, index))
    everything = np.vstack([stroke.points for stroke in strokes])
    lower, upper = np.floor(everything.min(axis=0) - EDGE), np.ceil(everything.max(axis=0) + EDGE)
    return Plot(
        title=title,
        lower=(float(lower[0]), float(lower[1])),
        upper=(float(upper[0]), float(upper[1])),
        strokes=tuple(strokes),
        words=legend,
    )


def _laid(piece: PreparedPiece, placement: Placement, index: int) -> list[Stroke]:
    pose = partial(
        pose_points, flipped=placement.flipped, turn_deg=placement.turn_deg, shift=(placement.x, placement.y)
    )
    lines = [
        *((Role.CUTOUT, True, line) for line in piece.cutouts),
        (Role.CUT, True, piece.cut_line),
        (Role.SEAM, True, piece.seam_line),
        *((Role.SEAM, False, line) for line in piece.lines),
        *((Role.NOTCH, False, line) for line in piece.notches),
        *((Role.GRAIN, False, line) for line in piece.grain),
    ]
    points = [line for _, _, line in lines]
    posed = _apart(pose(np.vstack(points)), points)
    strokes = [Stroke(role, line, closed, index) for (role, closed, _), line in zip(lines, posed, strict=True)]
    for x, y, diameter in piece.drills:
        circle = pose(np.array([(x, y)])) + _CIRCLE * diameter / 2
        strokes.append(Stroke(Role.DRILL, circle, closed=True, placement=index))
    label = piece.label_mirrored if placement.flipped else piece.label
    centre = pose(np.array([label.centre]))[0]
    strokes.extend(Stroke(Role.LABEL, line, False, index) for line in _lettered(label, placement.turn_deg, centre))
    return strokes


def _lettered(label: Label, turn_deg: float, centre: NDArray[np.float64]) -> list[NDArray[np.float64]]:
    if not label.strokes:
        return []
    turned = pose_points(np.vstack(label.strokes), turn_deg=reading_turn(turn_deg), shift=(centre[0], centre[1]))
    return _apart(turned, label.strokes)


def _apart(points: NDArray[np.float64], lines: Sequence[NDArray[np.float64]]) -> list[NDArray[np.float64]]:
    ends = list(accumulate(len(line) for line in lines))
    return [points[start:end] for start, end in pairwise([0, *ends])]


def reading_turn(turn_deg: float) -> float:
    """The turn (degrees) in (-90, 90] that keeps lettering along the piece and never upside down."""
    turn = turn_deg % 360
    if turn > 270:
        return turn - 360
    return turn - 180 if turn > 90 else turn
