"""From a marker to a drawing: every piece where it is laid, and the sheet's furniture outside the cloth."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from itertools import accumulate, pairwise

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import PlotError
from cutroom.geometry.affine import pose_points
from cutroom.model.marker import Marker, Placement
from cutroom.model.plot import Lettered, Plot, Role, Stroke
from cutroom.model.prepared import Label, PreparedPiece
from cutroom.plot.furniture import draw_furniture

EDGE = 2.0
"""Empty strip (mm) round the drawing, so that no line lies on the edge of the paper."""
HAIR = 0.01
"""An end of the table no further (mm) from the end of the marker than this is that end."""

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
    strokes = [*furniture, cloth, *_kept_clear(marker)]
    corners = [stroke.points for stroke in strokes]
    lettered: list[Lettered] = []
    known: dict[tuple[tuple[str, str, str], bool], _Drawn] = {}
    for index, placement in enumerate(marker.placements):
        key = (placement.key, placement.flipped)
        if key not in known:
            known[key] = _drawn(marker.prepared(placement), flipped=placement.flipped)
        points, starts = _posed(known[key], placement)
        corners.append(np.array([points.min(axis=0), points.max(axis=0)]))
        strokes.extend(_strokes(known[key], points, index))
        if len(starts):
            lettered.extend(_lettered(known[key].label, placement, starts, len(strokes)))
    everything = np.vstack(corners)
    lower, upper = np.floor(everything.min(axis=0) - EDGE), np.ceil(everything.max(axis=0) + EDGE)
    return Plot(
        title=title,
        lower=(float(lower[0]), float(lower[1])),
        upper=(float(upper[0]), float(upper[1])),
        strokes=tuple(strokes),
        words=legend,
        lettered=tuple(lettered),
    )


def _kept_clear(marker: Marker) -> Iterator[Stroke]:
    """Lines that are no piece's: flaws, crossed out, and used areas; ends of table and sections; rough blocks."""
    fabric = marker.fabric
    for area in fabric.forbidden:
        outline = np.array(area.outline)
        if outline[:, 0].min() >= marker.length:
            continue
        yield Stroke(Role.FABRIC, outline, closed=True)
        if len(outline) == 4 and area in fabric.flaws:
            yield Stroke(Role.FABRIC, outline[[0, 2]])
            yield Stroke(Role.FABRIC, outline[[1, 3]])
    for block in marker.blocks:
        yield Stroke(Role.FABRIC, np.array(block.outline), closed=True)
    ends = list(marker.sections[:-1])
    if fabric.table is not None:
        ends += [number * fabric.table for number in range(1, 1 + math.floor((marker.length - HAIR) / fabric.table))]
    for end in ends:
        yield Stroke(Role.FABRIC, np.array([(end, 0.0), (end, marker.width)]))


@dataclass(frozen=True, slots=True, eq=False)
class _Drawn:
    """The lines of a piece laid one hand up: what turns with it, and the lettering, which is never upside down.

    Attributes:
        looks: Role and closedness of every line, the lettering last.
        ends: Where each line ends in `points` and `letters` laid end to end.
        points: `(n, 2)`, piece axes (mm); of a drill hole its middle.
        round_holes: `(n, 2)`, what is added to `points` after posing: the way round a drill hole, else 0 (mm).
        letters: `(m, 2)`, about their centre (mm); after them where each line of words starts.
        label: The lettering.
    """

    looks: tuple[tuple[Role, bool], ...]
    ends: tuple[int, ...]
    points: NDArray[np.float64]
    round_holes: NDArray[np.float64]
    letters: NDArray[np.float64]
    label: Label


def _drawn(piece: PreparedPiece, *, flipped: bool) -> _Drawn:
    lines = [
        *((Role.CUTOUT, True, line) for line in piece.cutouts),
        (Role.CUT, True, piece.cut_line),
        (Role.SEAM, True, piece.seam_line),
        *((Role.SEAM, False, line) for line in piece.lines),
        *((Role.NOTCH, False, line) for line in piece.notches),
        *((Role.GRAIN, False, line) for line in piece.grain),
    ]
    label = piece.label_mirrored if flipped else piece.label
    plain = np.vstack([line for _, _, line in lines])
    middles = [np.tile((x, y), (len(_CIRCLE), 1)) for x, y, _ in piece.drills]
    rings = [_CIRCLE * diameter / 2 for _, _, diameter in piece.drills]
    looks = [
        *((role, closed) for role, closed, _ in lines),
        *((Role.DRILL, True) for _ in rings),
        *((Role.LABEL, False) for _ in label.strokes),
    ]
    lengths = [*(len(line) for _, _, line in lines), *(len(ring) for ring in rings), *map(len, label.strokes)]
    return _Drawn(
        tuple(looks),
        tuple(accumulate(lengths)),
        np.vstack([plain, *middles]),
        np.vstack([np.zeros_like(plain), *rings]),
        np.vstack([*label.strokes, np.array([line.at for line in label.lines]).reshape(-1, 2)]),
        label,
    )


def _posed(drawn: _Drawn, placement: Placement) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Its lines where a placement lays them, end to end, read-only; and where its lines of words start.

    Drill holes begin to the right, however it lies.
    """
    pose = partial(
        pose_points, flipped=placement.flipped, turn_deg=placement.turn_deg, shift=(placement.x, placement.y)
    )
    x, y = pose(np.array([drawn.label.centre]))[0]
    turn = reading_turn(placement.turn_deg + drawn.label.turn_deg)
    letters = pose_points(drawn.letters, turn_deg=turn, shift=(x, y))
    strokes = len(letters) - len(drawn.label.lines)
    points = np.vstack([pose(drawn.points) + drawn.round_holes, letters[:strokes]])
    points.flags.writeable = False
    return points, letters[strokes:]


def _lettered(label: Label, placement: Placement, starts: NDArray[np.float64], end: int) -> Iterator[Lettered]:
    """The words of one placement, which start there and whose strokes end before an index."""
    turn = reading_turn(placement.turn_deg + label.turn_deg)
    after = accumulate((line.strokes for line in label.lines), initial=end - len(label.strokes))
    rows = zip(label.words, label.lines, starts.tolist(), pairwise(after), strict=True)
    for words, line, (x, y), strokes in rows:
        yield Lettered(words, (x, y), line.width, label.height, turn, strokes)


def _strokes(drawn: _Drawn, points: NDArray[np.float64], index: int) -> Iterator[Stroke]:
    """The lines of one placement, as views of its points."""
    start = 0
    for (role, closed), end in zip(drawn.looks, drawn.ends, strict=True):
        yield Stroke(role, points[start:end], closed, index)
        start = end


def reading_turn(turn_deg: float) -> float:
    """The turn (degrees) in (-90, 90] that keeps lettering along the piece and never upside down."""
    turn = turn_deg % 360
    if turn > 270:
        return turn - 360
    return turn - 180 if turn > 90 else turn
