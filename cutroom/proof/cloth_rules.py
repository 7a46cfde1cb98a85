"""Proves that a marker keeps to its cloth: flaws, used areas, ends of the table, sections, shade, and the pattern."""

from collections import defaultdict
from collections.abc import Iterator, Sequence

import numpy as np
from shapely import union_all
from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry

from cutroom.model.fabric import Sections
from cutroom.model.finding import Finding
from cutroom.model.marker import Marker, Placement
from cutroom.proof.expected import posed
from cutroom.proof.lines import Array
from cutroom.proof.words import name_of, stop

CLOSE = 0.01
"""A rule may be missed by this much (mm): less than any hand lays cloth."""
PAST = 6
"""Pieces past the end of the cloth that are named."""
NEST_AGAIN = "Do not cut by this marker; lay it again, and report the fault if it comes back"


def prove_cloth_rules(marker: Marker, outlines: Sequence[Array], *, within: Marker | None = None) -> Iterator[Finding]:
    """A STOP for each rule of the cloth that a marker does not keep.

    Args:
        marker: The marker.
        outlines: The cut line of each placement, `(n, 2)`, mm, where it lies.
        within: The marker with the pieces of its blocks, where `marker` shows it from outside them.
    """
    yield from _areas(marker, outlines)
    yield from _table(marker, outlines)
    yield from _sections(marker, outlines)
    yield from _shade(marker, outlines)
    yield from _pattern(within or marker)
    length = marker.fabric.length
    if length is not None and marker.length > length + CLOSE:
        far = [index for index, outline in enumerate(outlines) if outline[:, 0].max() > length + CLOSE]
        past = [name_of(marker, index) for index in far]
        what = f"the marker is {marker.length:.1f} mm long, and there are {length:.1f} mm of this cloth"
        if past:
            more = f"; and {len(past) - PAST} more" if len(past) > PAST else ""
            what += f"; past its end {'lie' if len(past) > 1 else 'lies'} {'; '.join(past[:PAST])}{more}"
        yield stop(f'fabric "{marker.fabric.name}"', what, "Order less from it, or take a longer length")


def _areas(marker: Marker, outlines: Sequence[Array]) -> Iterator[Finding]:
    """Flaws and used areas: no piece on them, nor nearer than half its gap."""
    for area in (*marker.fabric.flaws, *marker.fabric.used):
        spoilt = Polygon(area.outline)
        for index, outline in enumerate(outlines):
            shape = Polygon(outline)
            near, wanted = shape.distance(spoilt), gap_of(marker, index) / 2
            edges = bool(marker.prepared(marker.placements[index]).edge_gaps)
            if near <= 0 and shape.intersection(spoilt).buffer(-CLOSE / 2).area > 0:
                covered = shape.intersection(spoilt).area
                what = f"it lies on {area.name} and covers {covered:.1f} mm² of it"
            elif edges and (deep := depth(kept_clear(marker, index, outline), spoilt)) > CLOSE:
                what = f"it lies {deep:.2f} mm nearer to {area.name} than half the gaps of its edges"
            elif not edges and near < wanted - CLOSE:
                what = f"it lies {near:.2f} mm from {area.name}, wanted {wanted:g} mm"
            else:
                continue
            yield stop(name_of(marker, index), what, NEST_AGAIN)


def gap_of(marker: Marker, index: int) -> float:
    """The gap of a placement (mm), where none of its edges has its own: its piece's, else the fabric's."""
    own = marker.prepared(marker.placements[index]).gap
    return marker.fabric.gap if own is None else own


def kept_clear(marker: Marker, index: int, outline: Array) -> BaseGeometry:
    """The cloth that a placement keeps to itself: straight out from each edge half its gap, round a corner the less.

    Args:
        marker: The marker.
        index: Which of its placements.
        outline: Its cut line where it lies, in the order in which its piece has it, `(n, 2)`, mm.
    """
    halves = np.full(len(outline), gap_of(marker, index) / 2)
    for edge in marker.prepared(marker.placements[index]).edge_gaps:
        halves[list(edge.sides)] = edge.gap / 2
    ends = np.roll(outline, -1, axis=0)
    shape, along = Polygon(outline), ends - outline
    out = np.column_stack([along[:, 1], -along[:, 0]]) * (1.0 if shape.exterior.is_ccw else -1.0)
    out *= halves[:, None] / np.linalg.norm(along, axis=1)[:, None]
    strips = [Polygon(corners) for corners in np.stack([outline, outline + out, ends + out, ends], axis=1)[halves > 0]]
    less = np.minimum(halves, np.roll(halves, 1))
    corners = [Point(at).buffer(half, quad_segs=32) for at, half in zip(outline, less, strict=True) if half > 0]
    return union_all([shape, *strips, *corners])


def depth(one: BaseGeometry, other: BaseGeometry) -> float:
    """How deep two shapes are in each other (mm): how far their common part can be eaten away, twice over."""
    common = one.intersection(other)
    if common.buffer(-CLOSE / 2).is_empty:
        return 0.0
    left, low, right, high = common.bounds
    least, most = CLOSE / 2, max(right - left, high - low) / 2
    for _ in range(20):
        middle = (least + most) / 2
        least, most = (least, middle) if common.buffer(-middle).is_empty else (middle, most)
    return 2 * least


def share_lines(marker: Marker, one: int, other: int) -> float | None:
    """How near two placements may lie that share cut lines (mm), or None where they do not."""
    first, second = (marker.prepared(marker.placements[index]).shares for index in (one, other))
    return first.gap if first is not None and second is not None and first.name == second.name else None


def _span(outline: Array) -> tuple[float, float]:
    """From where to where along the cloth an outline lies (mm)."""
    return float(outline[:, 0].min()), float(outline[:, 0].max())


def _table(marker: Marker, outlines: Sequence[Array]) -> Iterator[Finding]:
    table = marker.fabric.table
    if table is None:
        return
    for index, outline in enumerate(outlines):
        start, end = _span(outline)
        first = (start + CLOSE) // table
        if end > (first + 1) * table + CLOSE:
            what = f"it crosses the end of the table at {(first + 1) * table:.1f} mm, from {start:.2f} to {end:.2f} mm"
            yield stop(name_of(marker, index), what, NEST_AGAIN)


def _sections(marker: Marker, outlines: Sequence[Array]) -> Iterator[Finding]:
    """Pieces lie between the straight lines that close the sections, and each size in one of them."""
    found: dict[str, set[int]] = defaultdict(set)
    for index, outline in enumerate(outlines):
        start, end = _span(outline)
        section = sum(line <= start + CLOSE for line in marker.sections)
        if section < len(marker.sections) and end > marker.sections[section] + CLOSE:
            what = f"it crosses the line at {marker.sections[section]:.1f} mm that closes a section"
            yield stop(name_of(marker, index), what, NEST_AGAIN)
        found[marker.placements[index].size].add(section)
    if marker.fabric.sections is Sections.SIZES:
        for size, sections in found.items():
            others = {other for other in found if other != size and found[other] & sections}
            if len(sections) > 1 or others:
                yield stop(f"size {size}", "its pieces do not lie in a section of their own", NEST_AGAIN)


def _shade(marker: Marker, outlines: Sequence[Array]) -> Iterator[Finding]:
    shade = marker.fabric.shade
    if shade is None:
        return
    spans: dict[tuple[str, str, int], list[tuple[float, float]]] = defaultdict(list)
    for placement, outline in zip(marker.placements, outlines, strict=True):
        spans[placement.garment, placement.size, placement.copy].append(_span(outline))
    for (garment, size, copy), found in spans.items():
        takes = max(end for _, end in found) - min(start for start, _ in found)
        if takes > shade + CLOSE:
            what = f"its pieces take up {takes:.1f} mm of the cloth, where at most {shade:g} mm keep one shade"
            yield stop(f'"{garment}" {copy}, size {size}', what, NEST_AGAIN)


def _pattern(marker: Marker) -> Iterator[Finding]:
    """Points that are matched fall on the same place of stripes and checks, seen the way their piece lies."""
    pattern = marker.fabric.pattern
    if pattern is None:
        return
    if pattern.along and marker.pattern_start is None:
        yield stop("pattern", "the marker does not say where the pattern starts in it", NEST_AGAIN)
        return
    start = marker.pattern_start or 0.0
    if pattern.from_start is not None and pattern.along and abs(_off(start, pattern.from_start, pattern.along)) > CLOSE:
        what = f"the marker has it start at {start:.2f} mm, the cloth at {pattern.from_start:.2f} mm"
        yield stop("pattern", what, NEST_AGAIN)
    for axis, repeat, line in ((0, pattern.along, start), (1, pattern.across, pattern.from_edge)):
        if repeat <= 0:
            continue
        places: dict[tuple[str, str, str], list[tuple[int, float, bool]]] = defaultdict(list)
        for index, placement in enumerate(marker.placements):
            for meet in marker.prepared(placement).meets:
                if not (meet.along, meet.across)[axis]:
                    continue
                if round(placement.turn_deg, 9) % 180.0:
                    what = f'it is to meet at "{meet.name}" and lies turned {placement.turn_deg:g} degrees'
                    yield stop(name_of(marker, index), what, NEST_AGAIN)
                    continue
                at = float(posed(np.array([meet.at]), placement)[0, axis])
                place = _sense(placement, axis) * (at - line)
                places[placement.garment, placement.size, meet.name].append((index, place, meet.stripe))
        way = ("along", "across")[axis]
        for (_, _, name), found in places.items():
            yield from _meeting(marker, name, found, repeat, pattern.tolerance, way)


def _meeting(
    marker: Marker, name: str, found: Sequence[tuple[int, float, bool]], repeat: float, tolerance: float, way: str
) -> Iterator[Finding]:
    """The points of one match on one of the repeats."""
    first = 0.0 if any(stripe for _, _, stripe in found) else found[0][1]
    offs = [_off(place, first, repeat) for _, place, _ in found]
    for (index, _, stripe), off in zip(found, offs, strict=True):
        if stripe and abs(off) > tolerance + 2 * CLOSE:
            what = f'its point "{name}" is {abs(off):.2f} mm off the stripe, {way} the cloth, wanted {tolerance:g} mm'
            yield stop(name_of(marker, index), what, NEST_AGAIN)
    apart = max(offs) - min(offs)
    if apart > tolerance + 2 * CLOSE:
        index = found[int(np.argmax(np.abs(offs)))][0]
        what = f'at "{name}" the pattern is {apart:.2f} mm off, {way} the cloth, wanted {tolerance:g} mm'
        yield stop(name_of(marker, index), what, NEST_AGAIN)


def _sense(placement: Placement, axis: int) -> int:
    """1, or -1 where the piece as it lies sees the cloth's axis the other way round."""
    turned = -1 if round(placement.turn_deg / 180.0) % 2 else 1
    return turned * (-1 if placement.flipped and axis == 1 else 1)


def _off(place: float, other: float, repeat: float) -> float:
    """How far a place is past another on a repeat (mm), from minus half of it to half."""
    return (place - other + repeat / 2) % repeat - repeat / 2
