"""The fabrics of a job: the facts that spoil work when they are forgotten are asked for, with the reason."""

import re
from collections.abc import Sequence
from fractions import Fraction

from cutroom.errors import CutroomError, FabricError
from cutroom.model.fabric import Fabric, Face, Nap, Roll, Spread
from cutroom.read.cloth_rules import read_rules
from cutroom.read.reading import Reading, echo, joined
from cutroom.read.shapes import FabricShape, Length, RollShape, ShrinkageShape

MOST_SHRINKAGE = 0.15
"""A cloth that changes by more than this share is taken for a slip of the pen."""

_PERCENT = re.compile(r"(?P<sign>[-−]?)\s*(?P<number>\d+(?:\.\d+)?)\s*%")
_WHY = {
    "width": ("the marker must fit the narrowest roll, or the pieces at its edge are bitten", "width, edge to edge"),
    "spread": (
        "it decides whether a piece laid once gives one piece, or a left and a right",
        'spread = "open", "folded", "face-to-face" or "tubular"',
    ),
    "nap": (
        "on cloth with nap or a one-way print a piece turned end for end is spoilt",
        'nap = "none", "by-garment" or "one-way"',
    ),
    "face": (
        "with the cloth lying the other side up, every single piece comes out as the other hand",
        'face = "up" or "down"',
    ),
    "shrinkage": (
        "a garment cut without it comes out too small after the first wash",
        'shrinkage = "not tested", or shrinkage = { warp = "3 %", weft = "2 %" }',
    ),
}


def read_fabric(reading: Reading, name: str, raw: object) -> Fabric | None:
    """One fabric, or None after noting what is wrong with it."""
    place = joined("fabrics", name)
    before = len(reading.found)
    shape = reading.table(FabricShape, raw, place)
    width = reading.length(shape.width, joined(place, "width"), positive=True)
    selvedge = reading.length(shape.selvedge, joined(place, "selvedge")) or 0.0
    spread = reading.word(Spread, shape.spread, joined(place, "spread"), FabricError)
    nap = reading.word(Nap, shape.nap, joined(place, "nap"), FabricError)
    face = reading.word(Face, shape.face, joined(place, "face"), FabricError)
    gap = reading.length(shape.gap, joined(place, "gap")) or 0.0
    end = reading.length(shape.end_allowance, joined(place, "end_allowance"))
    both_sides = spread is not None and spread is not Spread.OPEN
    for key, value in (("width", width), ("spread", spread), ("nap", nap), ("shrinkage", shape.shrinkage)):
        reading.asked(value, joined(place, key), *_WHY[key])
    if not both_sides:
        reading.asked(face, joined(place, "face"), *_WHY["face"])
    warp, weft = _shrinkage(reading, shape.shrinkage, joined(place, "shrinkage"))
    plies = shape.plies if shape.plies is not None else 2 if spread is Spread.FACE_TO_FACE else 1
    if plies < 1:
        reading.fault(joined(place, "plies"), f"{plies} is no lay", "Write 1 or more", FabricError)
    elif spread is Spread.FACE_TO_FACE and plies % 2:
        reading.fault(
            joined(place, "plies"),
            f"{plies} is odd, and face-to-face plies lie in pairs",
            f"Write {plies + 1}",
            FabricError,
        )
    price = _price(reading, shape.price, joined(place, "price"))
    widths = _widths(reading, shape.widths or (), selvedge, price, place)
    rules = read_rules(reading, shape, place, spread=spread, width=width, selvedge=selvedge)
    if width is None or spread is None or nap is None or len(reading.found) > before:
        return None
    try:
        return Fabric(
            name=name,
            width=width,
            selvedge=selvedge,
            spread=spread,
            nap=nap,
            face=face or Face.UP,
            gap=gap,
            plies=plies,
            end_allowance=10.0 if end is None else end,
            shrink_warp=warp,
            shrink_weft=weft,
            price=price,
            note=shape.note or "",
            widths=widths,
            **rules,
        )
    except CutroomError as error:
        reading.found.append(type(error)(error.what, error.fix, reading.file, place))
        return None


def _price(reading: Reading, written: float | None, place: str) -> float | None:
    if written is None:
        return None
    if not 0 <= written < 1e9:
        reading.fault(place, f"{echo(written)} is not a price", "Write money per metre", FabricError)
        return None
    return float(written)


def _widths(
    reading: Reading, tables: Sequence[object], selvedge: float, price: float | None, place: str
) -> tuple[Roll, ...]:
    """Other widths of a cloth; where the cloth has a price each must have one, or they cannot be compared."""
    rolls = []
    for number, raw in enumerate(tables, start=1):
        here = f"{place}, width {number}"
        shape = reading.table(RollShape, raw, here)
        width = reading.length(shape.width, joined(here, "width"), positive=True)
        reading.asked(shape.width, joined(here, "width"), "it is another width", "width = 56, edge to edge")
        if price is not None:
            reading.asked(
                shape.price, joined(here, "price"), "the cloth has a price, and this width none", "price = 12.5"
            )
        cost = _price(reading, shape.price, joined(here, "price"))
        if width is not None and width <= 2 * selvedge:
            what = f"nothing is left of {width:g} mm with {selvedge:g} mm of selvedge at each edge"
            reading.fault(joined(here, "width"), what, "Check the width and its unit", FabricError)
        elif width is not None:
            rolls.append(Roll(width, cost))
    return tuple(rolls)


def _shrinkage(
    reading: Reading, written: str | dict[str, object] | None, place: str
) -> tuple[float | None, float | None]:
    if written is None:
        return None, None
    if isinstance(written, str):
        if written.strip().casefold() != "not tested":
            reading.fault(
                place,
                f"{echo(written)} does not say what shrinks which way",
                f"Write {_WHY['shrinkage'][1]}",
                FabricError,
            )
        return None, None
    shape = reading.table(ShrinkageShape, written, place)
    shares = []
    for key, value in (("warp", shape.warp), ("weft", shape.weft)):
        reading.asked(value, joined(place, key), "cloth shrinks along and across by different shares", f'{key} = "3 %"')
        shares.append(None if value is None else _share(reading, value, joined(place, key)))
    return shares[0], shares[1]


def read_shares(reading: Reading, raw: object, place: str) -> tuple[float, float]:
    """What is lost along and across the grain, as shares; nothing where nothing is said."""
    if raw is None:
        return 0.0, 0.0
    shape = reading.table(ShrinkageShape, raw, place)
    warp, weft = (
        None if value is None else _share(reading, value, joined(place, key))
        for key, value in (("warp", shape.warp), ("weft", shape.weft))
    )
    return warp or 0.0, weft or 0.0


def _share(reading: Reading, value: str | tuple[Length, Length], place: str) -> float | None:
    """What was lost as a share of what there was; negative when the cloth grew."""
    if isinstance(value, str):
        found = _PERCENT.fullmatch(value.strip())
        if found is None:
            reading.fault(
                place, f"{echo(value)} is not a percentage", 'Write "3 %", or the swatch ["50.0", "48.5"]', FabricError
            )
            return None
        share = Fraction(found["number"]) / (-100 if found["sign"] else 100)
    else:
        before = reading.length(value[0], f"{place}, before", positive=True)
        after = reading.length(value[1], f"{place}, after", positive=True)
        if before is None or after is None:
            return None
        share = (Fraction(repr(before)) - Fraction(repr(after))) / Fraction(repr(before))
    if abs(share) > MOST_SHRINKAGE:
        reading.fault(
            place,
            f"the cloth would change by {float(share) * 100:.3g} %, wanted at most {MOST_SHRINKAGE * 100:g} %",
            "Check the swatch; wash such cloth before it is cut",
            FabricError,
        )
        return None
    return float(share)
