"""Proves the marker itself: nothing overlaps, all lies on the cloth, the gap is kept, fold and nap are right."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from cutroom.model.fabric import Nap, Spread
from cutroom.model.finding import Finding
from cutroom.model.marker import Marker, Placement
from cutroom.model.piece import Cut
from cutroom.proof.blocks import from_inside, from_outside, prove_blocks
from cutroom.proof.cloth_rules import CLOSE, NEST_AGAIN, depth, gap_of, kept_clear, prove_cloth_rules, share_lines
from cutroom.proof.expected import posed
from cutroom.proof.lines import Array
from cutroom.proof.words import name_of, stop

ON_FOLD = 0.05
"""A fold edge lies on the fold within this (mm)."""
LEAST_AREA = 1e-6
"""Common area (mm²) below which two outlines only touch."""


@dataclass(frozen=True, slots=True)
class Figures:
    """Figures of a marker, worked out afresh.

    Attributes:
        length: From the start line to the last point of any piece (mm).
        area: Inside the cut lines (mm²).
        utilisation: Area as a fraction of usable width times length.
    """

    length: float
    area: float
    utilisation: float


def figures(marker: Marker) -> Figures:
    """Length, area and utilisation from the placements and the cut lines."""
    outlines = _outlines(marker)
    length = max((float(outline[:, 0].max()) for outline in outlines), default=0.0)
    area = float(sum(Polygon(outline).area for outline in outlines))
    sheet = marker.width * length
    return Figures(length, area, area / sheet if sheet else 0.0)


def _outlines(marker: Marker) -> list[Array]:
    """The cut line of each placement where it lies, `(n, 2)`, mm."""
    return [posed(marker.prepared(one).cut_line, one) for one in marker.placements]


def prove_marker(marker: Marker) -> tuple[Finding, ...]:
    """Prove a marker from its own placements; no findings when it may be cut.

    Every finding is a STOP: overlaps deeper than 0.01 mm, less than the gap, off the cloth, a fold piece off the
    fold, a direction that nap and grain do not allow, a length that is not the length, or a rule of the cloth that is
    not kept: flaws, used areas, the table's ends, sections, shade, stripes and checks.
    """
    known = {piece.key for piece in marker.pieces}
    strangers = [one for one in marker.placements if one.key not in known]
    if strangers:
        what = "the marker lays a piece that was not prepared"
        return tuple(stop(f'"{one.piece}", size {one.size}, of "{one.garment}"', what, NEST_AGAIN) for one in strangers)
    outlines = _outlines(marker)
    unsound = [index for block in marker.blocks for index in block.placements if not 0 <= index < len(outlines)]
    if unsound or any(not block.placements or len(block.outline) < 3 for block in marker.blocks):
        return (stop("blocks", "a block holds a piece that the marker does not lay, or none", NEST_AGAIN),)
    outside = from_outside(marker)
    findings = [*prove_outlines(outside, _outlines(outside), gaps=True), *_fold(marker, outlines), *_nap(marker)]
    for block in marker.blocks:
        inside = from_inside(marker, block)
        findings += prove_outlines(inside, _outlines(inside), gaps=True)
    findings += prove_blocks(marker, outlines)
    findings += prove_cloth_rules(outside, _outlines(outside), within=marker)
    length = figures(outside).length
    if abs(length - marker.length) > 1.0 and length <= marker.length + CLOSE:
        what = f"the marker says it is {marker.length:.1f} mm long, but the pieces end at {length:.1f} mm"
        findings.append(stop("length", what, NEST_AGAIN))
    return tuple(findings)


def prove_outlines(
    marker: Marker,
    outlines: Sequence[Array],
    *,
    gaps: bool = False,
    slack: float = 0.0,
    indices: Sequence[int] | None = None,
) -> tuple[Finding, ...]:
    """Prove that outlines do not overlap and lie on the cloth.

    Args:
        marker: The marker, for its size and names.
        outlines: Cut lines, each `(n, 2)`, mm, marker coordinates.
        gaps: They keep their gaps, else they may touch; all placements are given then, in order.
        slack: What a file format rounds by (mm).
        indices: Which placement each outline is of; all of them in order when not given.
    """
    index = list(range(len(outlines))) if indices is None else list(indices)
    findings: list[Finding] = []
    shapes = [Polygon(outline) if len(outline) > 2 else Polygon() for outline in outlines]
    for one, shape in enumerate(shapes):
        if not shape.is_valid or shape.is_empty:
            what = f"its cut line crosses itself or is empty ({shapely.is_valid_reason(shape)})"
            findings.append(stop(name_of(marker, index[one]), what, "Prepare the piece again"))
        findings += _off_cloth(marker, index[one], outlines[one], CLOSE + slack)
    sound = np.array([shape if shape.is_valid else shapely.make_valid(shape) for shape in shapes], dtype=object)
    if not len(sound):
        return tuple(findings)
    within = _widest_gap(marker) if gaps else 0.0
    first, second = shapely.STRtree(sound).query(sound, predicate="dwithin", distance=within + 1e-9)
    keep = first < second
    first, second = first[keep], second[keep]
    apart = shapely.distance(sound[first], sound[second])
    common = np.zeros(len(apart))
    meet = apart == 0
    common[meet] = shapely.area(shapely.intersection(sound[first[meet]], sound[second[meet]]))
    for one, other, distance, area in zip(first, second, apart, common, strict=True):
        names = f"{name_of(marker, index[one])}, and {name_of(marker, index[other])}"
        deep = depth(sound[one], sound[other]) if area > LEAST_AREA else 0.0
        if deep > CLOSE + 2 * slack:
            findings.append(stop(names, f"they overlap by about {deep:.2f} mm ({area:.1f} mm²)", NEST_AGAIN))
        elif gaps and (what := _too_near(marker, (one, outlines[one]), (other, outlines[other]), distance)):
            findings.append(stop(names, what, NEST_AGAIN))
    return tuple(findings)


def _widest_gap(marker: Marker) -> float:
    """The widest gap that any two pieces keep (mm)."""
    own = [gap_of(marker, index) for index in range(len(marker.placements))]
    edges = [edge.gap for piece in marker.pieces for edge in piece.edge_gaps]
    return max([*own, *edges, *(piece.shares.gap for piece in marker.pieces if piece.shares)], default=0.0)


def _too_near(marker: Marker, one: tuple[int, Array], other: tuple[int, Array], distance: float) -> str:
    """In what two placements, each with its cut line, do not keep their gap; empty when they do."""
    wanted = share_lines(marker, one[0], other[0])
    edges = any(marker.prepared(marker.placements[index]).edge_gaps for index, _ in (one, other))
    if wanted is None and edges:
        deep = depth(kept_clear(marker, *one), kept_clear(marker, *other))
        return f"they lie {deep:.2f} mm nearer to each other than the gaps of their edges" if deep > CLOSE else ""
    if wanted is None:
        wanted = (gap_of(marker, one[0]) + gap_of(marker, other[0])) / 2
    return f"they lie {distance:.2f} mm apart, wanted {wanted:g} mm" if distance < wanted - CLOSE else ""


def _off_cloth(marker: Marker, index: int, outline: Array, slack: float) -> list[Finding]:
    """How far an outline is off the cloth, side by side."""
    if not len(outline):
        return []
    least, most = outline.min(axis=0), outline.max(axis=0)
    sides = (
        ("before the start line", -least[0]),
        ("beyond the end of the marker", most[0] - marker.length),
        ("below the lower edge", -least[1]),
        ("beyond the usable width", most[1] - marker.width),
    )
    name = name_of(marker, index)
    return [stop(name, f"it lies {by:.2f} mm {side}", NEST_AGAIN) for side, by in sides if by > slack]


def _fold(marker: Marker, outlines: Sequence[Array]) -> list[Finding]:
    """Fold pieces lie with their fold edge on a fold of the cloth, and only where there is one."""
    findings = []
    folds = {Spread.FOLDED: (0.0,), Spread.TUBULAR: (0.0, marker.width)}.get(marker.fabric.spread, ())
    for index, placement in enumerate(marker.placements):
        piece = marker.prepared(placement)
        if piece.cut is not Cut.FOLD:
            continue
        if not folds:
            what = f"it is half a piece for a fold, and a {marker.fabric.spread} spread has none"
            findings.append(stop(name_of(marker, index), what, "Open the piece out, or fold the cloth"))
            continue
        edge = outlines[index][np.abs(piece.cut_line[:, 1]) <= ON_FOLD]
        if not len(edge):
            findings.append(stop(name_of(marker, index), "it has no fold edge", "Prepare the piece again"))
            continue
        off = min(float(np.abs(edge[:, 1] - fold).max()) for fold in folds)
        if off > ON_FOLD:
            what = f"its fold edge is {off:.2f} mm off the fold of the cloth"
            findings.append(stop(name_of(marker, index), what, NEST_AGAIN))
    return findings


def _nap(marker: Marker) -> list[Finding]:
    """Turns that grain and nap allow; flipping about the grain keeps the direction."""
    findings = []
    ways: dict[tuple[str, str, int], set[int]] = defaultdict(set)
    pattern = marker.fabric.pattern
    has_way = pattern is not None and not pattern.symmetric
    one_way = marker.fabric.nap is Nap.ONE_WAY or has_way
    for index, placement in enumerate(marker.placements):
        piece, name = marker.prepared(placement), name_of(marker, index)
        turn = round(placement.turn_deg % 360.0, 9) % 360.0
        lean = (turn + 45.0) % 90.0 - 45.0
        quarter = round((turn - lean) / 90.0) % 4
        tilt = 0.0 if piece.cut is Cut.FOLD or pattern is not None else piece.tilt_deg
        if abs(lean) > tilt + 1e-9:
            allowed = f", allowed {tilt:g} off it" if tilt else ""
            findings.append(stop(name, f"it lies off the grain (turned {turn:g} degrees{allowed})", NEST_AGAIN))
        elif quarter in {1, 3}:
            if not piece.crossways:
                what = f"it lies across the grain (turned {turn:g} degrees), which the piece does not allow"
                findings.append(stop(name, what, NEST_AGAIN))
            elif marker.fabric.nap is Nap.BY_GARMENT and not has_way:
                what = "it lies across the grain, on a cloth whose garments must each lie one way"
                findings.append(stop(name, what, NEST_AGAIN))
            elif one_way and (quarter == 3) != (placement.flipped and not piece.symmetric):
                what = "it lies across the grain the other way round than its like, on a cloth that lies one way"
                findings.append(stop(name, what, NEST_AGAIN))
        elif quarter == 2 and marker.fabric.nap is Nap.ONE_WAY:
            findings.append(stop(name, "it lies against the nap, end for end, on a one-way cloth", NEST_AGAIN))
        elif quarter == 2 and has_way:
            findings.append(stop(name, "it lies end for end on a pattern that has a way of its own", NEST_AGAIN))
        else:
            ways[_garment(placement)].add(quarter)
    if marker.fabric.nap is Nap.BY_GARMENT:
        for (garment, size, copy), turns in ways.items():
            if len(turns) > 1:
                what = "its pieces lie both ways along the nap; all pieces of a garment must lie one way"
                findings.append(stop(f'"{garment}" {copy}, size {size}', what, NEST_AGAIN))
    return findings


def _garment(placement: Placement) -> tuple[str, str, int]:
    return placement.garment, placement.size, placement.copy
