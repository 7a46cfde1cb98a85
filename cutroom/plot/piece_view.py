"""One piece as a style sheet shows it: its lines at the sheet's scale, and everything said about them."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.errors import PieceError
from cutroom.geometry.lettering import text_width
from cutroom.geometry.polyline import length, point_at
from cutroom.model.piece import Cut, EdgeKind, Piece
from cutroom.model.plot import Role, Stroke
from cutroom.model.prepared import PreparedPiece
from cutroom.plot.edge_words import edge_words, spots_along
from cutroom.plot.words import Spot, Taken, dashed, set_down, written
from cutroom.units import Unit, format_length

SEWN, BUILT, OPENED = (4.0, 1.6), (1.2, 1.6), (7.0, 1.5, 1.0, 1.5)
"""Dash and gap (mm of the sheet) of seam lines, construction lines and a fold that was opened out."""
_FINE = 0.02
_CIRCLE = np.column_stack([f(np.arange(24) * np.pi / 12) for f in (np.cos, np.sin)])

Line = NDArray[np.float64]
Point = tuple[float, float]
Move = Callable[[Line], Line]


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """A piece to be shown.

    Attributes:
        piece: On its seam line; where it has been prepared, in the axes it was prepared in (x along the grain).
        prepared: What preparing made of it, or None: then it is shown on its seam line as it was drafted.
        words: What stands under its name: `cut 1 pair, linen`.
        marks: Numbers of findings and where they are, in the axes of `piece` (mm).
        drafted: Lengths of its edges before it was let out, by name (mm).
    """

    piece: Piece
    prepared: PreparedPiece | None
    words: str = ""
    marks: tuple[tuple[int, Point], ...] = ()
    drafted: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Look:
    """How a sheet looks.

    Attributes:
        unit: The unit people see.
        scale: 4 for a quarter of full size.
        height: Height of the capitals of small words (mm of the sheet).
        construction: Construction lines are drawn.
    """

    unit: Unit
    scale: float = 1.0
    height: float = 3.0
    construction: bool = False


@dataclass(slots=True)
class View:
    """A piece drawn, its lower left corner anywhere.

    Attributes:
        strokes: In mm of the sheet.
        taken: What stands there, for words that are still to come.
    """

    strokes: list[Stroke] = field(default_factory=list)
    taken: Taken = field(default_factory=Taken)

    def draw(self, role: Role, line: Line, *, closed: bool = False, dashes: tuple[float, ...] = ()) -> None:
        """Draw a line and keep words off it."""
        line = shapely.get_coordinates(shapely.simplify(shapely.LineString(line), _FINE)) if len(line) > 2 else line
        ring = np.vstack([line, line[:1]]) if closed else line
        self.taken.lines.append(shapely.LineString(ring))
        if dashes:
            self.strokes += [Stroke(role, dash) for dash in dashed(line, dashes, closed=closed)]
        else:
            self.strokes.append(Stroke(role, line, closed))


def view_piece(shown: Shown, look: Look) -> View:
    """Draw a piece with all that is said about it.

    Args:
        shown: The piece.
        look: How the sheet looks.

    Returns:
        Its lines and words, nothing of it overlapping.

    Raises:
        ValueError: A letter cannot be drawn.
        PieceError: The piece and what was prepared of it do not belong together.
    """
    place = _placed(shown, look.scale)
    view = View()
    outline = _lines(view, shown, place, look)
    _dimensions(view, outline, look)
    _marks(view, shown, place, look)
    _edges(view, shown, place, look)
    _small_words(view, shown, place, look)
    _heading(view, shown, outline, look)
    return view


def _placed(shown: Shown, scale: float) -> Move:
    """From the axes of the piece to the sheet: prepared pieces stand with their grain upright."""
    if shown.prepared is None:
        return lambda points: np.asarray(points) / scale
    shift = laid_over(shown.piece, shown.prepared)
    return lambda points: _upright(np.asarray(points) + shift) / scale


def _upright(points: Line) -> Line:
    return np.column_stack([points[:, 1], -points[:, 0]])


def laid_over(piece: Piece, prepared: PreparedPiece) -> Line:
    """The shift `(2,)` that lays a piece over what was prepared of it (mm), told by their turn points.

    Args:
        piece: In the axes it was prepared in.
        prepared: The same piece made ready.

    Raises:
        PieceError: Most of its turn points are found nowhere.
    """
    corners = np.vstack([edge.points[:1] for edge in piece.edges])
    best, most = np.zeros(2), 0
    for corner in corners:
        for turn in prepared.turns:
            apart = np.hypot(*((corners + (turn - corner))[:, None] - prepared.turns[None]).transpose(2, 0, 1))
            found = int((apart.min(axis=1) < 0.1).sum())
            if found > most:
                best, most = turn - corner, found
    if 2 * most < len(corners):
        raise PieceError(
            "it is not the piece that was prepared", "Prepare it again from its draft", place=f'piece "{piece.name}"'
        )
    return best


def _lines(view: View, shown: Shown, place: Move, look: Look) -> Line:
    """The piece's own lines; its outline `(n, 2)` on the sheet."""
    piece, prepared = shown.piece, shown.prepared
    if prepared is None:
        outline = _drafted_lines(view, piece, place, look)
    else:
        outline = _prepared_lines(view, prepared, look)
        if _is_opened(shown):
            for edge in piece.edges:
                if edge.kind is EdgeKind.FOLD:
                    view.draw(Role.SHEET, place(edge.points), dashes=OPENED)
    if look.construction:
        for line in piece.construction:
            view.draw(Role.SHEET, place(line.points), dashes=BUILT)
    return outline


def _drafted_lines(view: View, piece: Piece, place: Move, look: Look) -> Line:
    outline = place(np.vstack([edge.points[:-1] for edge in piece.edges]))
    view.draw(Role.CUT, outline, closed=True)
    view.draw(Role.GRAIN, place(piece.grain))
    for line in piece.lines:
        view.draw(Role.SEAM, place(line.points))
    for hole in piece.drills:
        _hole(view, place(np.array([hole.at])), hole.diameter / look.scale)
    return outline


def _prepared_lines(view: View, prepared: PreparedPiece, look: Look) -> Line:
    def set_up(points: Line) -> Line:
        return _upright(points) / look.scale

    outline = set_up(prepared.cut_line)
    view.draw(Role.CUT, outline, closed=True)
    view.draw(Role.SEAM, set_up(prepared.seam_line), closed=True, dashes=SEWN)
    for role, closed, lines in (
        (Role.SEAM, False, prepared.lines),
        (Role.CUTOUT, True, prepared.cutouts),
        (Role.NOTCH, False, prepared.notches),
        (Role.GRAIN, False, prepared.grain),
    ):
        for line in lines:
            view.draw(role, set_up(line), closed=closed)
    for x, y, diameter in prepared.drills:
        _hole(view, set_up(np.array([(x, y)])), diameter / look.scale)
    return outline


def _hole(view: View, at: Line, diameter: float) -> None:
    view.draw(Role.DRILL, at + _CIRCLE * max(diameter, 1.0) / 2, closed=True)


def _is_opened(shown: Shown) -> bool:
    return shown.piece.cut is Cut.FOLD and shown.prepared is not None and shown.prepared.cut is not Cut.FOLD


def _dimensions(view: View, outline: Line, look: Look) -> None:
    """Length and width over all of the outline, on dimension lines to its left and below it."""
    low, high = outline.min(axis=0), outline.max(axis=0)
    size = (high - low) * look.scale
    h = look.height
    below, left = low[1] - 4.5 * h, low[0] - 2.5 * h
    rows = (
        ((low[0], below), (high[0], below), 0.0, (1.0, 0.0)),
        ((left, low[1]), (left, high[1]), 90.0, (0.0, 1.0)),
    )
    for axis, (start, end, turn, along) in enumerate(rows):
        words = format_length(float(size[axis]), look.unit)
        line = np.array([start, end])
        way, out = np.array(along), np.array([0.0, -1.0]) if axis == 0 else np.array([-1.0, 0.0])
        drawn = [line]
        for tip, back in ((line[0], way), (line[1], -way)):
            drawn.append(np.vstack([tip + (back + out * 0.35) * h * 0.8, tip, tip + (back - out * 0.35) * h * 0.8]))
            drawn.append(np.vstack([tip - out * (3.5 - 2 * axis) * h, tip + out * 0.5 * h]))
        view.strokes += [Stroke(Role.SHEET, points) for points in drawn]
        view.taken.lines += [shapely.LineString(points) for points in drawn]
        middle = line.mean(axis=0) + out * 1.1 * h
        spot = Spot((float(middle[0]), float(middle[1])), turn)
        farther = line.mean(axis=0) + out * 2.4 * h
        spots = (spot, Spot((float(farther[0]), float(farther[1])), turn))
        view.strokes += set_down(words, h, spots, view.taken, role=Role.SHEET) or []


def _marks(view: View, shown: Shown, place: Move, look: Look) -> None:
    """A numbered ring for each finding, led to where it is."""
    radius = 1.15 * look.height
    for number, at in shown.marks:
        x, y = place(np.array([at]))[0]
        for step in range(200):
            away, turn = radius * (1.6 + 0.35 * (step // 12)), step % 12 * np.pi / 6 + np.pi / 4
            centre = np.array([x + away * np.cos(turn), y + away * np.sin(turn)])
            ring = shapely.Point(centre).buffer(radius * 1.1)
            if not view.taken.is_free(ring):
                continue
            leader = np.array([(x, y), centre + (np.array([x, y]) - centre) / away * radius])
            view.taken.words += [ring, shapely.LineString(leader)]
            view.strokes.append(Stroke(Role.NOTCH, centre + _CIRCLE * radius, closed=True))
            view.strokes.append(Stroke(Role.NOTCH, leader))
            low = (float(centre[0]), float(centre[1]) - look.height / 2)
            view.strokes += written(f"{number}", look.height, low, share=0.5, role=Role.NOTCH)
            break


def _edges(view: View, shown: Shown, place: Move, look: Look) -> None:
    piece = shown.piece
    for edge in sorted(piece.edges, key=lambda edge: -length(edge.points)):
        words = edge_words(edge, look.unit, drafted=shown.drafted.get(edge.name), opened=_is_opened(shown))
        spots = spots_along(place(edge.points), words, look.height, beyond=edge.allowance / look.scale)
        drawn = set_down(words, look.height, spots, view.taken, role=Role.LABEL)
        view.strokes += drawn if drawn is not None else _below(view, words, place(edge.points), look)


def _below(view: View, words: str, line: Line, look: Look) -> list[Stroke]:
    """Words of an edge hemmed in by other words: under everything, led there across what stands between."""
    left, low, right, _ = view.taken.bounds()
    spot = Spot(((left + right) / 2, low - 1.5 * look.height))
    drawn = set_down(words, look.height, [spot], view.taken, role=Role.LABEL) or []
    foot = np.array([(spot.centre[0], spot.centre[1] + 0.8 * look.height)])
    return [*drawn, Stroke(Role.LABEL, np.vstack([point_at(line, length(line) / 2)[0], foot]))]


def _small_words(view: View, shown: Shown, place: Move, look: Look) -> None:
    """Names of notches, drill holes and inner lines; each is left out where there is no room for it."""
    piece, h = shown.piece, look.height * 0.85
    for notch in piece.notches:
        if not notch.name:
            continue
        at, along = point_at(place(piece.edge(notch.edge).points), notch.at / look.scale)
        out = np.array([along[1], -along[0]])
        width = text_width(notch.name, h)
        spots = list(_near(at, out, width, h))
        view.strokes += set_down(notch.name, h, spots, view.taken, role=Role.LABEL) or []
    for hole in {hole.name: hole for hole in piece.drills}.values():
        if hole.name:
            at = place(np.array([hole.at]))[0]
            ways = (np.array(way) for way in ((-1.0, 0.0), (1.0, 0.0), (0.0, 1.0), (0.0, -1.0)))
            spots = [spot for way in ways for spot in _near(at, way, text_width(hole.name, h), h)]
            view.strokes += set_down(hole.name, h, spots, view.taken, role=Role.LABEL) or []
    for name, points in _named(shown, look):
        beside = spots_along(place(points), name, h, led=False)
        view.strokes += set_down(name, h, beside, view.taken, role=Role.LABEL) or []


def _near(at: Line, out: Line, width: float, h: float) -> Iterator[Spot]:
    for step in (0.6, 1.0, 1.6, 2.4):
        for slide in (0.0, 1.0, -1.0, 2.0, -2.0):
            reach = abs(out[0]) * (width / 2 + 0.4 * h) + abs(out[1]) * 0.9 * h
            centre = at - out * (reach + step * h) + np.array([-out[1], out[0]]) * slide * h
            yield Spot((float(centre[0]), float(centre[1])))


def _named(shown: Shown, look: Look) -> list[tuple[str, Line]]:
    piece = shown.piece
    lines = [*piece.lines, *(piece.construction if look.construction else ())]
    return [(f"{line.name} {format_length(length(line.points), look.unit)}", line.points) for line in lines]


def _heading(view: View, shown: Shown, outline: Line, look: Look) -> None:
    """The piece's name above everything, and how it is cut."""
    left, _, right, high = view.taken.bounds()
    middle = float(np.clip((outline[:, 0].min() + outline[:, 0].max()) / 2, left, right))
    name = 2 * look.height
    base = high + 1.2 * look.height
    rows = ((shown.words, look.height, base), (shown.piece.name, name, base + 1.9 * look.height))
    for words, height, y in rows:
        if words:
            view.strokes += written(words, height, (middle, y), share=0.5, role=Role.LABEL)
