"""What a fabric forbids where: flaws, used areas, the ends of the table; and its stripes or checks."""

from pathlib import Path
from typing import TypedDict

import numpy as np

from cutroom.errors import FabricError
from cutroom.geometry.polygon import crossing_place, signed_area
from cutroom.model.fabric import Area, Pattern, Sections, Spread
from cutroom.read.reading import Reading, joined
from cutroom.read.shapes import AreaShape, FabricShape, PatternShape

NARROWEST = 1.0
"""A flaw narrower or shorter than this (mm) is taken for a slip of the pen."""


class Rules(TypedDict):
    """What a fabric forbids, by the names of its fields."""

    flaws: tuple[Area, ...]
    used: tuple[Area, ...]
    length: float | None
    table: float | None
    pattern: Pattern | None
    sections: Sections
    shade: float | None
    open_part: bool
    go_on_from: str


def read_rules(
    reading: Reading, shape: FabricShape, place: str, *, spread: Spread | None, width: float | None, selvedge: float
) -> Rules:
    """What a fabric forbids; what is wrong with it is noted.

    Args:
        reading: The file being read.
        shape: The fabric's table.
        place: Of the fabric.
        spread: How it is spread, or None when that is not known.
        width: Edge to edge (mm), or None.
        selvedge: At each edge (mm).
    """
    folded = spread is Spread.FOLDED
    edge = 0.0 if folded else selvedge
    across = width / 2 if width is not None and folded else width
    flaws = _areas(reading, shape.flaws or (), place, "flaw", edge=edge, width=across)
    used = _areas(reading, shape.used or (), place, "used area", edge=edge, width=across)
    rules = Rules(
        flaws=flaws,
        used=used,
        length=reading.length(shape.length, joined(place, "length"), positive=True),
        table=reading.length(shape.table, joined(place, "table"), positive=True),
        pattern=None,
        sections=reading.word(Sections, shape.sections, joined(place, "sections"), FabricError) or Sections.MIXED,
        shade=reading.length(shape.shade, joined(place, "shade"), positive=True),
        open_part=bool(shape.open_part),
        go_on_from=str(Path(reading.file).parent / shape.go_on_from) if shape.go_on_from else "",
    )
    if shape.pattern is not None:
        here = joined(place, "pattern")
        fixed = bool(shape.flaws or shape.used)
        rules["pattern"] = _pattern(reading, shape.pattern, here, spread=spread, selvedge=selvedge, fixed=fixed)
    if rules["open_part"] and spread not in {None, Spread.FOLDED, Spread.TUBULAR}:
        reading.fault(
            joined(place, "open_part"),
            f"a {spread} spread has nothing to open out",
            "Leave it out: single pieces lie on this cloth as it is",
            FabricError,
        )
    _judge_together(reading, rules, place)
    return rules


def _judge_together(reading: Reading, rules: Rules, place: str) -> None:
    """Rules of which one keeps the other from being kept."""
    apart = rules["sections"] is Sections.SIZES or rules["shade"] is not None
    key = "sections" if rules["sections"] is Sections.SIZES else "shade"
    if apart and rules["table"] is not None:
        reading.fault(
            joined(place, key),
            "the marker would be cut into sections and at the ends of the table as well",
            "Lay each section as a job of its own, or leave the table out",
            FabricError,
        )
    if rules["sections"] is Sections.SIZES and rules["shade"] is not None:
        reading.fault(
            joined(place, "shade"),
            "sizes in sections of their own and garments kept together cannot both be had",
            "Keep one of them",
            FabricError,
        )
    if rules["open_part"] and (rules["flaws"] or rules["used"]):
        reading.fault(
            joined(place, "open_part"),
            "where a flaw or a used area lies is known for the folded part only",
            "Lay the single pieces as a fabric of their own, spread open, with its own flaws",
            FabricError,
        )


def _areas(
    reading: Reading, raws: tuple[object, ...], place: str, word: str, *, edge: float, width: float | None
) -> tuple[Area, ...]:
    """Flaws or used areas, in marker coordinates.

    Args:
        reading: The file being read.
        raws: The tables.
        place: Of the fabric.
        word: `flaw` or `used area`.
        edge: What lies below y = 0 (mm): the selvedge, or nothing on folded cloth.
        width: Of the cloth as it lies, edge to edge (mm); None when it is not known.
    """
    found = []
    for number, raw in enumerate(raws, start=1):
        named = raw.get("name") if isinstance(raw, dict) else None
        here = f'{place}, {word} "{named}"' if isinstance(named, str) else f"{place}, {word} {number}"
        outline = _outline(reading, raw, here)
        if outline is None:
            continue
        if width is not None and (outline[:, 1].max() <= 0 or outline[:, 1].min() >= width):
            reading.fault(
                here,
                f"it lies beside the cloth, which is {reading.say(width)} across as it lies",
                "Measure it from the lower edge of the cloth, or from the fold",
                FabricError,
            )
            continue
        moved = outline - (0.0, edge)
        found.append(Area(named or f"{word} {number}", tuple((float(x), float(y)) for x, y in moved)))
    return tuple(found)


def _outline(reading: Reading, raw: object, here: str) -> np.ndarray[tuple[int, int], np.dtype[np.float64]] | None:
    """Corners counter-clockwise, along and across the cloth (mm), or None after noting what is wrong."""
    before = len(reading.found)
    shape = reading.table(AreaShape, raw, here)
    if shape.points is not None:
        points = reading.points(shape.points, here)
        if points is None:
            return None
        outline = np.array(points, dtype=np.float64).reshape(-1, 2)
        if len(outline) < 3 or abs(signed_area(outline)) < NARROWEST**2:
            reading.fault(here, "its outline holds no cloth", "Give it three corners or more", FabricError)
            return None
        crossing = crossing_place(outline)
        if crossing is not None:
            where = f"{reading.say(crossing[0])} along, {reading.say(crossing[1])} across"
            reading.fault(
                here, f"its outline crosses itself at {where}", "Put its corners in order round it", FabricError
            )
            return None
        return outline if signed_area(outline) > 0 else outline[::-1]
    spans = []
    for key, pair in (("along", shape.along), ("across", shape.across)):
        reading.asked(
            pair, joined(here, key), "it must be known where nothing may lie", f"{key} = [30, 32], from and to"
        )
        span = None if pair is None else reading.point(pair, joined(here, key))
        if span is not None and span[1] - span[0] < NARROWEST:
            reading.fault(
                joined(here, key), "it ends before it begins", "Write where it begins, then where it ends", FabricError
            )
        spans.append(span)
    if len(reading.found) > before or spans[0] is None or spans[1] is None:
        return None
    (left, right), (low, high) = spans[0], spans[1]
    return np.array([(left, low), (right, low), (right, high), (left, high)])


def _pattern(
    reading: Reading, raw: object, place: str, *, spread: Spread | None, selvedge: float, fixed: bool
) -> Pattern | None:
    """The stripes or checks of a fabric, in marker coordinates, or None after noting what is wrong.

    Args:
        reading: The file being read.
        raw: The table.
        place: Where it stands.
        spread: How the cloth is spread.
        selvedge: At each edge (mm).
        fixed: The marker's place on the cloth is known, as something in it is (a flaw, a used area).
    """
    before = len(reading.found)
    shape = reading.table(PatternShape, raw, place)
    along = reading.length(shape.along, joined(place, "along"), positive=True) or 0.0
    across = reading.length(shape.across, joined(place, "across"), positive=True) or 0.0
    if shape.along is None and shape.across is None:
        reading.asked(
            None,
            joined(place, "along"),
            "stripes and checks have a repeat",
            'along = "7 cm" for cross stripes, across = "2.4 cm" for stripes along the cloth, both for checks',
        )
    reading.asked(
        shape.symmetric,
        joined(place, "symmetric"),
        "a pattern that looks different end for end lets no piece be turned",
        "symmetric = true or false",
    )
    tolerance = reading.length(shape.tolerance, joined(place, "tolerance"))
    tolerance = 0.5 if tolerance is None else tolerance
    from_start = reading.length(shape.from_start, joined(place, "from_start"))
    from_edge = reading.length(shape.from_edge, joined(place, "from_edge"))
    if fixed and along and from_start is None and not reading.faulted(joined(place, "from_start")):
        reading.asked(
            None,
            joined(place, "from_start"),
            "flaws and used areas fix where the marker starts on the cloth, so it must be known how the pattern lies "
            "there",
            "from_start = 4, from the start line to the first stripe's middle",
        )
    for key, repeat in (("along", along), ("across", across)):
        if 0 < repeat <= 2 * tolerance:
            reading.fault(
                joined(place, key),
                f"a repeat of {reading.say(repeat)} with a tolerance of {reading.say(tolerance)} matches everywhere",
                "Write a smaller tolerance, or leave the pattern out",
                FabricError,
            )
    edge = from_edge or 0.0
    if spread in {Spread.FOLDED, Spread.TUBULAR} and across:
        half = edge % (across / 2)
        if min(half, across / 2 - half) > tolerance:
            reading.fault(
                joined(place, "from_edge"),
                "with the fold there the stripes of the two layers do not lie on each other",
                f"Fold it on the middle of a stripe (from_edge = 0) or between two ({reading.say(across / 2)})",
                FabricError,
            )
    else:
        edge -= selvedge
    if len(reading.found) > before:
        return None
    return Pattern(along, across, bool(shape.symmetric), tolerance, from_start, edge)
