"""A drafted style drawn full size: seam lines, construction lines with their names, grainlines, facts."""

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import PlotError
from cutroom.geometry.lettering import text_strokes, text_width
from cutroom.geometry.polyline import length, point_at
from cutroom.model.piece import Piece, Style
from cutroom.model.plot import Plot, Role, Stroke
from cutroom.units import Unit, format_length

APART = 80.0
"""Distance (mm) between pieces on the sheet."""
NAME, SMALL = 9.0, 4.0
"""Capital heights (mm) of a piece's name and of the names of its lines."""
EDGE = 10.0

Line = NDArray[np.float64]


def compose_draft(style: Style, *, title: str, unit: Unit) -> Plot:
    """Draw a drafted style, its pieces side by side at full size.

    Args:
        style: The style.
        title: What the sheet is called.
        unit: The unit that lengths are lettered in.

    Returns:
        The drawing: seam lines, grain, notches as ticks, construction lines and their names, the draft's facts.

    Raises:
        PlotError: A word cannot be lettered.
    """
    strokes: list[Stroke] = []
    right = 0.0
    try:
        for piece in style.pieces:
            drawn = _piece(piece, unit)
            points = np.vstack([stroke.points for stroke in drawn])
            shift = np.array([right - points[:, 0].min(), -points[:, 1].min()])
            strokes += [Stroke(stroke.role, stroke.points + shift, stroke.closed) for stroke in drawn]
            right += float(np.ptp(points[:, 0])) + APART
        strokes += _facts(style, title)
    except ValueError as error:
        raise PlotError(f"{error}", "Write names with Latin letters", place=f'style "{style.name}"') from error
    everything = np.vstack([stroke.points for stroke in strokes])
    lower, upper = np.floor(everything.min(axis=0) - EDGE), np.ceil(everything.max(axis=0) + EDGE)
    corners = [(float(x), float(y)) for x, y in (lower, upper)]
    return Plot(title, corners[0], corners[1], tuple(strokes), tuple(f"{name}: {text}" for name, text in style.facts))


def _piece(piece: Piece, unit: Unit) -> list[Stroke]:
    outline = np.vstack([edge.points[:-1] for edge in piece.edges])
    strokes = [Stroke(Role.CUT, outline, closed=True), Stroke(Role.GRAIN, piece.grain)]
    strokes += [Stroke(Role.SEAM, line.points) for line in piece.lines]
    for line in piece.construction:
        strokes.append(Stroke(Role.SHEET, line.points))
        strokes += _lettered(f"{line.name} {format_length(length(line.points), unit)}", line.points, Role.SHEET)
    for edge in piece.edges:
        strokes += _lettered(f"{edge.name} {format_length(length(edge.points), unit)}", edge.points, Role.LABEL)
    for notch in piece.notches:
        points = piece.edge(notch.edge).points
        for k in range(notch.count):
            at, along = point_at(points, notch.at + (k - (notch.count - 1) / 2) * 6.0)
            outward = np.array([along[1], -along[0]])
            strokes.append(Stroke(Role.NOTCH, np.vstack([at - 3 * outward, at + 3 * outward])))
    for hole in piece.drills:
        x, y = hole.at
        strokes.append(Stroke(Role.DRILL, np.array([(x - 3, y), (x + 3, y)])))
        strokes.append(Stroke(Role.DRILL, np.array([(x, y - 3), (x, y + 3)])))
    top = float(outline[:, 1].max()) + 2 * NAME
    middle = float(outline[:, 0].mean()) - text_width(piece.name, NAME) / 2
    strokes += [Stroke(Role.LABEL, line + np.array([middle, top])) for line in text_strokes(piece.name, NAME)]
    return strokes


def _lettered(words: str, line: Line, role: Role) -> list[Stroke]:
    """Words along a line, a little above its middle, never upside down."""
    middle, along = point_at(line, length(line) / 2)
    if along[0] < -1e-9 or (abs(along[0]) <= 1e-9 and along[1] < 0):
        along = -along
    up = np.array([-along[1], along[0]])
    turn = np.column_stack([along, up])
    start = middle - along * text_width(words, SMALL) / 2 + up * SMALL * 0.6
    return [Stroke(role, stroke @ turn.T + start) for stroke in text_strokes(words, SMALL)]


def _facts(style: Style, title: str) -> list[Stroke]:
    lines = [title, *(f"{name}: {text}" for name, text in style.facts)]
    return [
        Stroke(Role.SHEET, stroke + np.array([0.0, -25.0 - k * 2 * NAME * (1.0 if k == 0 else 0.8)]))
        for k, words in enumerate(lines)
        for stroke in text_strokes(words, NAME if k == 0 else 0.7 * NAME)
    ]
