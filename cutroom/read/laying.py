"""What a style says of how its pieces are laid, which lines they share, and what meets on stripes and checks."""

from collections.abc import Mapping, Sequence

from cutroom.errors import OrderError
from cutroom.model.laying import MOST_TILT, BlockAsked, Laying, MatchAsked, PointAsked, RoughBlock, SharedAsked
from cutroom.read.reading import Reading, echo, joined
from cutroom.read.shapes import BlockShape, LayingShape, LengthKey, MatchPointShape, MatchShape, SharedShape


def read_laying(reading: Reading, raw: Mapping[str, object] | None, place: str) -> dict[str, Laying]:
    """Gaps and tilts by piece; what is wrong with them is noted."""
    found = {}
    for piece, table in (raw or {}).items():
        here = joined(joined(place, "laying"), piece)
        shape = reading.table(LayingShape, table, here)
        gap = reading.length(shape.gap, joined(here, "gap"))
        tilt = shape.tilt or 0.0
        if not 0 <= tilt <= MOST_TILT:
            reading.fault(
                joined(here, "tilt"),
                f"{echo(shape.tilt)} degrees off the grain would twist the piece",
                f"Write 0 to {MOST_TILT:g} degrees; 0 to 2 is usual for sleeves and yokes, 3 to 5 for facings",
                OrderError,
            )
        edges = {
            edge: reading.length(reading.converted(own, LengthKey, at), at)
            for edge, own in (shape.edges or {}).items()
            if (at := joined(joined(here, "edges"), edge))
        }
        found[piece] = Laying(gap, float(tilt), {edge: own for edge, own in edges.items() if own is not None})
    return found


def read_shared(reading: Reading, raw: object, place: str, taken: set[str]) -> SharedAsked | None:
    """Pieces that share cut lines, or None after noting what is wrong with that; `taken` are those that do already."""
    before = len(reading.found)
    shape = reading.table(SharedShape, raw, place)
    why = "some pieces share their lines"
    pieces = reading.asked(shape.pieces or None, joined(place, "pieces"), why, 'pieces = ["strap", "loop"]') or ()
    why = "a knife cuts a shared line once, a laser burns some of it away"
    reading.asked(shape.gap, joined(place, "gap"), why, 'gap = 0, or what the laser burns, gap = "0.3 mm"')
    near = reading.length(shape.gap, joined(place, "gap"))
    _refuse_twice(reading, pieces, taken, place, "shares its lines already")
    return None if near is None or len(reading.found) > before else SharedAsked(pieces, near)


def read_block(reading: Reading, raw: object, place: str, taken: set[str]) -> BlockAsked | None:
    """A rough block, or None after noting what is wrong with it; `taken` are pieces that are in one already."""
    before = len(reading.found)
    shape = reading.table(BlockShape, raw, place)
    name = reading.asked(shape.name, joined(place, "name"), "sheets name the block", 'name = "collar"')
    why = "a block holds some pieces"
    pieces = reading.asked(shape.pieces or None, joined(place, "pieces"), why, 'pieces = ["collar", "stand"]') or ()
    why = "its line runs outside its pieces, as far as the first cut may be off and fusing shrinks"
    reading.asked(shape.allowance, joined(place, "allowance"), why, 'allowance = "20 mm"')
    allowance = reading.length(shape.allowance, joined(place, "allowance"))
    gap = reading.length(shape.gap, joined(place, "gap"))
    _refuse_twice(reading, pieces, taken, place, "is in a block already")
    if name is None or allowance is None or len(reading.found) > before:
        return None
    return BlockAsked(RoughBlock(name, allowance, gap), pieces)


def _refuse_twice(reading: Reading, pieces: Sequence[str], taken: set[str], place: str, what: str) -> None:
    """Note a piece that was named before; all are named now."""
    for piece in dict.fromkeys(piece for piece in pieces if piece in taken or pieces.count(piece) > 1):
        reading.fault(joined(place, "pieces"), f'piece "{piece}" {what}', "Name it once", OrderError)
    taken |= set(pieces)


def read_match(reading: Reading, raw: object, place: str) -> MatchAsked | None:
    """One match, or None after noting what is wrong with it."""
    before = len(reading.found)
    shape = reading.table(MatchShape, raw, place)
    reading.asked(
        shape.points or None,
        joined(place, "points"),
        "points of pieces meet on the stripe",
        'points = ["front.side.hip", "back.side.hip"]',
    )
    points = [_read_point(reading, one, f"{place}, point {n}") for n, one in enumerate(shape.points or (), start=1)]
    if shape.along is False and shape.across is False:
        reading.fault(place, "neither along nor across is matched", "Leave the match out", OrderError)
    good = tuple(point for point in points if point is not None)
    pieces = [point.piece for point in good]
    for piece in dict.fromkeys(piece for piece in pieces if pieces.count(piece) > 1):
        reading.fault(
            joined(place, "points"),
            f'it names two points of piece "{piece}", which cannot both be moved',
            "Name one point a piece",
            OrderError,
        )
    if len(reading.found) > before:
        return None
    return MatchAsked(
        name=shape.name or _called(good[0]),
        points=good,
        stripe=bool(shape.stripe) or len(good) == 1,
        along=shape.along is not False,
        across=shape.across is not False,
    )


def _called(point: PointAsked) -> str:
    parts = (*(point.notch or ()), *(point.corner or ()))
    return " ".join((point.piece, *parts))


def _read_point(reading: Reading, raw: object, place: str) -> PointAsked | None:
    if isinstance(raw, str):
        parts = raw.split(".")
        if len(parts) != 3 or not all(parts):
            reading.fault(
                place, f"{echo(raw)} names no notch", 'Write piece, edge and notch: "front.side.hip"', OrderError
            )
            return None
        return PointAsked(parts[0], notch=(parts[1], parts[2]))
    shape = reading.table(MatchPointShape, raw, place)
    piece = reading.asked(shape.piece, joined(place, "piece"), "a point belongs to a piece", 'piece = "front"')
    at = None if shape.at is None else reading.point(shape.at, joined(place, "at"))
    if (shape.corner is None) == (shape.at is None):
        reading.fault(place, "it must be said where the point is", 'Write corner = ["side", "hem"] or at = [40, 2]')
        return None
    if shape.corner is not None and len(shape.corner) != 2:
        reading.fault(joined(place, "corner"), "two edges meet in a corner", 'Write corner = ["side", "hem"]')
        return None
    if piece is None or (shape.at is not None and at is None):
        return None
    corner = None if shape.corner is None else (shape.corner[0], shape.corner[1])
    return PointAsked(piece, corner=corner, at=at)
