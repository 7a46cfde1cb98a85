"""How a style's edges, corners and notches are finished, and what lies inside its pieces: read and judged."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from cutroom.errors import CutroomError, PieceError
from cutroom.geometry.offset import crossings
from cutroom.geometry.polyline import length, lengths_along
from cutroom.model.piece import (
    Corner,
    Dart,
    DrillHole,
    Edge,
    NamedLine,
    Notch,
    NotchAsked,
    NotchForm,
    NotchKind,
    Pressed,
)
from cutroom.read.reading import Reading, joined
from cutroom.read.shapes import (
    DartShape,
    LengthKey,
    NotchAskedShape,
    NotchFormShape,
    NotchShape,
    RowShape,
    StyleShape,
    Text,
)

MEETS = 0.01
"""A distance along an edge may be past its end by this much (mm)."""
_PLACES = ("at", "from_end", "share", "line", "mate")


def read_corners(reading: Reading, shape: StyleShape, place: str) -> dict[str, Corner]:
    """Corners by the edge that ends in them."""
    found: dict[str, Corner] = {}
    for edge, written in (shape.corners or {}).items():
        here = joined(place, f'corners."{edge}"')
        corner = reading.word(Corner, reading.converted(written, Text, here), here, PieceError)
        if corner is not None:
            found[edge] = corner
    return found


def read_turns(reading: Reading, written: Mapping[str, object] | None, place: str) -> dict[str, tuple[float, ...]]:
    """Second and later turns of hems by edge (mm)."""
    found: dict[str, tuple[float, ...]] = {}
    for edge, raw in (written or {}).items():
        here = joined(place, f'turns."{edge}"')
        values = raw if isinstance(raw, list) else [raw]
        turns = [reading.length(reading.converted(one, LengthKey, here), here) for one in values]
        found[edge] = tuple(turn for turn in turns if turn is not None)
    return found


def read_notch_form(reading: Reading, raw: object, place: str) -> NotchForm:
    """How the notches of a style are made."""
    if raw is None:
        return NotchForm()
    shape = reading.table(NotchFormShape, raw, place)
    return NotchForm(
        reading.word(NotchKind, shape.kind, joined(place, "kind"), PieceError) or NotchKind.SLIT,
        reading.length(shape.depth, joined(place, "depth"), positive=True) or 0.0,
        reading.length(shape.width, joined(place, "width"), positive=True) or 0.0,
        hems=shape.hems is not False,
        folds=shape.folds is not False,
    )


def read_notches_asked(reading: Reading, raws: Sequence[object], place: str) -> tuple[NotchAsked, ...]:
    """Notches that a style adds to its pieces."""
    found = []
    for number, raw in enumerate(raws, start=1):
        here = f"{place}, notch {number}"
        shape = reading.table(NotchAskedShape, raw, here)
        named = reading.asked(_split(shape.edge), joined(here, "edge"), "it stands on an edge", 'edge = "front.side"')
        mate = (shape.mate or "").split(".")
        if shape.mate is not None and len(mate) != 3:
            reading.fault(
                joined(here, "mate"), f'"{shape.mate}" names no notch', 'Write "piece.edge.notch"', PieceError
            )
            continue
        _one_place(reading, shape, here)
        if named is None:
            continue
        found.append(
            NotchAsked(
                *named,
                reading.length(shape.at, joined(here, "at")),
                reading.length(shape.from_end, joined(here, "from_end")),
                shape.share,
                shape.line,
                (mate[0], mate[1], mate[2]) if len(mate) == 3 else None,
                _count(reading, shape.count, here),
                reading.word(NotchKind, shape.kind, joined(here, "kind"), PieceError),
                shape.name or "",
            )
        )
    return tuple(found)


def read_notch(
    reading: Reading, raw: object, place: str, edge: Edge, lines: Sequence[NamedLine | None]
) -> Notch | None:
    """A notch on an edge of a piece given by points, or None after noting what is wrong with it."""
    shape = reading.table(NotchShape, raw, place)
    _one_place(reading, shape, place)
    count = _count(reading, shape.count, place)
    kind = reading.word(NotchKind, shape.kind, joined(place, "kind"), PieceError)
    long = length(edge.points)
    at = reading.length(shape.at, joined(place, "at"))
    back = reading.length(shape.from_end, joined(place, "from_end"))
    if back is not None:
        at = long - back
    elif shape.share is not None:
        at = shape.share * long
    elif shape.line is not None:
        at = _where_met(edge, shape.line, lines)
        if at is None:
            what = f'no line "{shape.line}" drawn inside the piece meets edge "{edge.name}"'
            reading.fault(joined(place, "line"), what, "Name a line that ends on the edge or crosses it", PieceError)
    if at is None:
        return None
    if not -MEETS <= at <= long + MEETS:
        reading.fault(
            joined(place, "at"),
            f"it stands {reading.say(at)} along an edge that is {reading.say(long)} long",
            f"Write 0 to {reading.say(long)}, from the edge's first point",
            PieceError,
        )
        return None
    return Notch(edge.name, min(max(at, 0.0), long), count, kind, shape.name or "")


def read_dart(reading: Reading, raw: object, place: str, edges: Mapping[str, Edge]) -> Dart | None:
    """A dart or a pleat of a piece given by points."""
    shape = reading.table(DartShape, raw, place)
    edge = reading.asked(shape.edge, joined(place, "edge"), "it opens on an edge", 'edge = "waist"')
    at = reading.length(shape.at, joined(place, "at"))
    reading.asked(at, joined(place, "at"), "its middle stands somewhere on the edge", "at = 4")
    width = reading.length(shape.width, joined(place, "width"), positive=True)
    reading.asked(width, joined(place, "width"), "it takes in so much", 'width = "3/4"')
    reading.asked(shape.point, joined(place, "point"), "it ends somewhere", "point = [4, 20]")
    point = None if shape.point is None else reading.point(shape.point, place)
    pressed = reading.word(Pressed, shape.pressed, joined(place, "pressed"), PieceError) or Pressed.START
    back = reading.length(shape.set_back, joined(place, "set_back"))
    if edge is None or at is None or width is None or point is None:
        return None
    if not reading.known(edge, edges, joined(place, "edge"), "edge", PieceError):
        return None
    return Dart(
        shape.name or "dart",
        edge,
        at - width / 2,
        at + width / 2,
        point,
        bool(shape.pleat),
        pressed,
        13.0 if back is None else back,
    )


def read_row(reading: Reading, raw: object, place: str) -> tuple[DrillHole, ...]:
    """Marks evenly spaced along a line, such as buttonholes."""
    shape = reading.table(RowShape, raw, place)
    reading.asked(shape.first, joined(place, "first"), "it starts somewhere", "first = [1, 30]")
    reading.asked(shape.last, joined(place, "last"), "it ends somewhere", "last = [1, 2]")
    count = reading.asked(shape.count, joined(place, "count"), "so many are spaced evenly", "count = 6") or 0
    first = None if shape.first is None else reading.point(shape.first, place)
    last = None if shape.last is None else reading.point(shape.last, place)
    start = reading.length(shape.start, joined(place, "start")) or 0.0
    end = reading.length(shape.end, joined(place, "end")) or 0.0
    diameter = reading.length(shape.diameter, joined(place, "diameter"), positive=True) or 2.0
    if first is None or last is None:
        return ()
    run = np.subtract(last, first)
    room = float(np.hypot(*run)) - start - end
    if count < 2 or room <= 0:
        what = f"{count} marks have no room between {reading.say(start)} and {reading.say(end)} from its ends"
        reading.fault(place, what, "Write 2 or more, and ends that leave room between them", PieceError)
        return ()
    along = run / np.hypot(*run)
    places = np.asarray(first) + (start + np.linspace(0, room, count))[:, None] * along
    name = shape.name or "button"
    return tuple(DrillHole(f"{name} {n}", (x, y), diameter) for n, (x, y) in enumerate(places.tolist(), start=1))


def turned_darts(darts: Sequence[Dart], lengths: Mapping[str, float]) -> tuple[Dart, ...]:
    """Darts on edges that are run the other way."""
    return tuple(
        replace(
            dart,
            start=lengths[dart.edge] - dart.end,
            end=lengths[dart.edge] - dart.start,
            pressed=dart.pressed.turned,
        )
        for dart in darts
    )


def read_edge_finish(
    reading: Reading, corner: str | None, turns: Sequence[object] | None, place: str
) -> tuple[Corner, tuple[float, ...]]:
    """An edge's own corner and turns."""
    named = reading.word(Corner, corner, joined(place, "corner"), PieceError) or Corner.AUTO
    found = read_turns(reading, {"turns": list(turns)} if turns else None, place)
    return named, found.get("turns", ())


def turned_edge(reading: Reading, edge: Edge, turns: tuple[float, ...], place: str) -> Edge:
    """The edge with its turns, judged."""
    try:
        return replace(edge, turns=turns)
    except CutroomError as error:
        reading.fault(joined(place, "turns"), error.what, error.fix, PieceError)
        return edge


def _split(edge: str | None) -> tuple[str, str] | None:
    piece, dot, name = (edge or "").partition(".")
    return (piece, name) if dot and piece and name else None


def _count(reading: Reading, written: int | None, place: str) -> int:
    count = 1 if written is None else written
    if not 1 <= count <= 3:
        reading.fault(joined(place, "count"), f"{count} is not a number of notches", "Write 1, 2 or 3", PieceError)
    return count


def _one_place(reading: Reading, shape: NotchShape | NotchAskedShape, place: str) -> None:
    said = [key for key in _PLACES if getattr(shape, key, None) is not None]
    if not said:
        reading.asked(None, joined(place, "at"), "it must stand somewhere", "at = 9")
    elif len(said) > 1:
        reading.fault(place, f"it stands at two places: {' and '.join(said)}", "Keep one of them", PieceError)
    if shape.share is not None and not 0 <= shape.share <= 1:
        reading.fault(joined(place, "share"), f"{shape.share:g} is no share", "Write 0 to 1, such as 0.5", PieceError)


def _where_met(edge: Edge, name: str, lines: Sequence[NamedLine | None]) -> float | None:
    """How far along an edge a line of that name meets it (mm), its ends run on by a hair."""
    along = lengths_along(edge.points)
    for line in lines:
        if line is None or line.name != name:
            continue
        run_on = line.points.copy()
        for end, beside in ((0, 1), (-1, -2)):
            step = line.points[end] - line.points[beside]
            run_on[end] = line.points[end] + step / np.hypot(*step) * 0.1
        hits = crossings(edge.points, run_on)
        if hits:
            place = min(hit[0] for hit in hits)
            segment = min(int(place), len(along) - 2)
            return float(along[segment] + (place - segment) * (along[segment + 1] - along[segment]))
    return None
