"""The sizes of a style on top of each other, each with its own line and its name at the end of a leader."""

from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.errors import PlotError
from cutroom.model.piece import Piece, Style
from cutroom.model.plot import Plot, Role, Stroke
from cutroom.plot.piece_view import Look, View
from cutroom.plot.style_sheet import assemble
from cutroom.plot.words import written

LINES: tuple[tuple[float, ...], ...] = (
    (), (5.0, 1.5), (2.5, 1.5), (7.0, 1.5, 0.8, 1.5), (0.8, 1.4), (7.0, 1.5, 0.8, 1.5, 0.8, 1.5), (10.0, 3.0),
)  # fmt: skip
"""Dash, gap ... (mm of the sheet) of each size, from the first on; then from the beginning."""

Line = NDArray[np.float64]


def compose_nested(styles: Sequence[Style], look: Look, *, title: str, meet: str = "") -> Plot:
    """Draw the sizes of a style on top of each other, on their seam lines.

    Args:
        styles: The same style in two sizes or more, as drafted.
        look: How the sheet looks.
        title: What the sheet is called.
        meet: The sizes of a piece are laid together where the edge of this name starts; pieces that have no such edge,
            and all when it is empty, where the grainline starts.

    Returns:
        The drawing, in mm of the sheet; every piece of the first size that another has too.

    Raises:
        PlotError: There is only one size, no piece has the edge, or a word cannot be lettered.
    """
    if len(styles) < 2:
        raise PlotError("there is only one size of it", "Order it for another client or size", place=title)
    if meet and not any(edge.name == meet for style in styles for piece in style.pieces for edge in piece.edges):
        names = sorted({edge.name for style in styles for piece in style.pieces for edge in piece.edges})
        raise PlotError(f'no piece has an edge "{meet}"', f"Name one of: {', '.join(names)}", place=title)
    blocks = []
    try:
        for piece in styles[0].pieces:
            sizes = {style.size: one for style in styles for one in style.pieces if one.name == piece.name}
            if len(sizes) > 1:
                blocks.append(_nest(sizes, look, meet))
        notes = ["Seam lines, without allowance."]
        where = f'the start of the edge "{meet}", else ' if meet else ""
        notes.append(f"Laid together at {where}the start of the grainline, which is marked with a cross.")
        return assemble(blocks, look, title=title, facts=(), notes=notes)
    except ValueError as error:
        raise PlotError(f"{error}", "Write names with Latin letters", place=title) from error


def _nest(sizes: Mapping[str, Piece], look: Look, meet: str) -> list[Stroke]:
    view = View()
    corners: list[tuple[str, Line]] = []
    name = ""
    for place, (size, piece) in enumerate(sizes.items()):
        start = next((edge.points[0] for edge in piece.edges if edge.name == meet), piece.grain[0])
        outline = (np.vstack([edge.points[:-1] for edge in piece.edges]) - start) / look.scale
        view.draw(Role.CUT, np.vstack([outline, outline[:1]]), dashes=LINES[place % len(LINES)])
        if place == 0:
            view.draw(Role.GRAIN, (piece.grain - start) / look.scale)
            name = piece.name
        corners.append((size, (np.vstack([edge.points[:1] for edge in piece.edges]) - start) / look.scale))
    h = look.height
    view.draw(Role.SHEET, np.array([(-h, 0.0), (h, 0.0)]))
    view.draw(Role.SHEET, np.array([(0.0, -h), (0.0, h)]))
    _letter_sizes(view, corners, h)
    left, low, right, high = view.taken.bounds()
    del low
    view.strokes += written(name, 2 * h, ((left + right) / 2, high + 2 * h), share=0.5, role=Role.LABEL)
    return view.strokes


def _letter_sizes(view: View, corners: Sequence[tuple[str, Line]], h: float) -> None:
    """The names of the sizes in a column beside the piece, each led to a corner of its own line.

    The corner is the one at which the sizes lie farthest apart.
    """
    shared = min(len(points) for _, points in corners)
    places = np.array([points[:shared] for _, points in corners])
    best = int(np.hypot(*np.ptp(places, axis=0).T).argmax())
    left, _, right, _ = view.taken.bounds()
    way = 1.0 if float(places[:, best, 0].mean()) > (left + right) / 2 else -1.0
    edge = right if way > 0 else left
    ends = sorted(((size, points[best]) for size, points in corners), key=lambda one: float(-one[1][1]))
    top = float(np.mean([at[1] for _, at in ends])) + (len(ends) - 1) * h
    for row, (size, at) in enumerate(ends):
        y = top - row * 2 * h
        words = (edge + way * 6 * h, y - h / 2)
        view.strokes += written(size, h, words, share=0.0 if way > 0 else 1.0, role=Role.LABEL)
        leader = np.array([at, (edge + way * 3 * h, y), (edge + way * 5.4 * h, y)])
        view.strokes.append(Stroke(Role.LABEL, leader))
        view.taken.words.append(shapely.LineString(leader))
