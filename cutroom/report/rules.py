"""The rules of cloth that a marker was laid by, in words: what is in force, where, and what it asks of the table."""

from collections.abc import Iterator

from cutroom.model.fabric import Area, Nap, Sections
from cutroom.model.marker import Marker
from cutroom.report.figures import bought_for, exact
from cutroom.report.words import Facts, exactly
from cutroom.units import Unit

PILE = (
    "choose up or down before anything is cut, and the same for every piece; velvet is usually worn with its pile "
    "running up (common practice, no source)"
)


def rules_in_force(marker: Marker, unit: Unit) -> Facts:
    """Every rule beyond width, gap and nap that a marker was laid by."""
    return tuple(_rules(marker, unit))


def _rules(marker: Marker, unit: Unit) -> Iterator[tuple[str, str]]:
    fabric = marker.fabric
    if fabric.nap is not Nap.NONE:
        yield "nap on the wearer", PILE
    if fabric.part_of:
        yield "opened part", f"behind the lay of {fabric.part_of}: the cloth is opened out there, face {fabric.face}"
    for area in fabric.flaws:
        yield area.name, f"kept clear: {_where(area, unit)}; half the gap is kept from it"
    for area in fabric.used:
        yield area.name, f"cut into already: {_where(area, unit)}"
    if fabric.length is not None:
        yield "cloth there is", f"{exactly(fabric.length, unit)}, of which the marker leaves {_left(marker, unit)}"
    if fabric.table is not None:
        yield "table", f"no piece crosses its end, every {exactly(fabric.table, unit)}"
    yield from _pattern(marker, unit)
    yield from _laying(marker, unit)
    if fabric.sections is Sections.SIZES:
        yield "sections", f"each size by itself; straight lines at {_lines(marker, unit)}"
    if fabric.shade is not None:
        yield (
            "shade",
            f"the pieces of a garment within {exactly(fabric.shade, unit)}; straight lines at {_lines(marker, unit)}",
        )
    locked = sum(placement.locked for placement in marker.placements)
    if locked:
        yield "locked", f"{locked} {'piece' if locked == 1 else 'pieces'} kept where they lay"


def _where(area: Area, unit: Unit) -> str:
    x, y = zip(*area.outline, strict=True)
    return (
        f"{exactly(min(x), unit)} to {exactly(max(x), unit)} from the start line, {exactly(min(y), unit)} to "
        f"{exactly(max(y), unit)} across from the lower edge of the picture"
    )


def _left(marker: Marker, unit: Unit) -> str:
    return exactly(round((marker.fabric.length or 0.0) - marker.length, 3), unit)


def _lines(marker: Marker, unit: Unit) -> str:
    return ", ".join(exactly(round(end, 2), unit) for end in marker.sections)


def _pattern(marker: Marker, unit: Unit) -> Iterator[tuple[str, str]]:
    fabric, pattern = marker.fabric, marker.fabric.pattern
    if pattern is None:
        return
    repeats = [
        f"every {exactly(repeat, unit)} {way}"
        for repeat, way in ((pattern.along, "along"), (pattern.across, "across"))
        if repeat
    ]
    turned = "looks the same end for end" if pattern.symmetric else "has a way of its own: no piece is turned"
    yield "pattern", f"repeats {' and '.join(repeats)}; it {turned}; nothing is tilted on it"
    if pattern.along and marker.pattern_start is not None:
        from_end = (marker.pattern_start + fabric.end_allowance) % pattern.along
        first, cut = (exactly(round(at, 2), unit) for at in (marker.pattern_start, from_end))
        where = f"{first} from the start line, which is {cut} from the cut end of the cloth, up to whole repeats"
        yield "lay the cloth so", f"a stripe's middle {where}"
        if fabric.plies > 1:
            ply = bought_for(marker).ply
            count = int(ply / exact(pattern.along))
            yield (
                "every ply alike",
                f"cut each ply to {exactly(float(ply), unit)}, {count} whole repeats, and pin the stripes of all plies",
            )
    if pattern.across:
        first = exactly(round(pattern.from_edge % pattern.across, 2), unit)
        yield "across", f"a stripe's middle {first} from the lower edge of the picture, up to whole repeats"
    names: dict[str, list[str]] = {}
    for piece in marker.pieces:
        for meet in piece.meets:
            if piece.name not in names.setdefault(meet.name, []):
                names[meet.name].append(piece.name)
    for name, pieces in names.items():
        within = exactly(pattern.tolerance, unit)
        what = f"{' and '.join(pieces)} meet there" if len(pieces) > 1 else f"{pieces[0]} lies with it on the stripe"
        yield f"match: {name}", f"{what}, to {within}"


def _laying(marker: Marker, unit: Unit) -> Iterator[tuple[str, str]]:
    laid = {placement.key for placement in marker.placements}
    pieces = [piece for piece in marker.pieces if piece.key in laid]
    gaps = {piece.name: piece.gap for piece in pieces if piece.gap is not None}
    if gaps:
        said = ", ".join(f"{name} {exactly(gap, unit)}" for name, gap in gaps.items())
        yield "own gaps", f"{said}; between two pieces the mean of theirs"
    edges = {f"{piece.name}, {edge.edge}": edge.gap for piece in pieces for edge in piece.edge_gaps}
    if edges:
        said = "; ".join(f"{edge} {exactly(gap, unit)}" for edge, gap in edges.items())
        yield "gaps of edges", f"{said}; between two edges the mean of theirs"
    shares = {one: [piece.name for piece in pieces if piece.shares == one] for one in (p.shares for p in pieces) if one}
    for one, names in shares.items():
        yield "shared cut lines", f"{' and '.join(dict.fromkeys(names))} come as near as {exactly(one.gap, unit)}"
    blocks = {one: [piece.name for piece in pieces if piece.block == one] for one in (p.block for p in pieces) if one}
    for block, names in blocks.items():
        line = f"along the line round them, {exactly(block.allowance, unit)} outside"
        what = f"{' and '.join(dict.fromkeys(names))} are cut {line}, and each by its own line afterwards"
        yield f"block: {block.name}", what
    tilts = {piece.name: piece.tilt_deg for piece in pieces if piece.tilt_deg}
    if tilts and marker.fabric.pattern is None:
        leans = [abs((placement.turn_deg + 45.0) % 90.0 - 45.0) for placement in marker.placements]
        leaning = [lean for lean in leans if lean > 1e-9]
        most = f"{len(leaning)} lie so, {max(leaning):g}° at most" if leaning else "none lies so"
        yield "tilt", f"off the grain {', '.join(f'{name} up to {tilt:g}°' for name, tilt in tilts.items())}; {most}"
