"""Widths of cloth compared: what a garment costs on each, and the next width that is worth having."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.polygon import bounds
from cutroom.job.problem import problem_of
from cutroom.model.fabric import Fabric, Nap, Spread
from cutroom.model.lay import Lay
from cutroom.model.marker import Marker, Placement
from cutroom.model.piece import Cut
from cutroom.nest.chords import chords, chords_at
from cutroom.nest.problem import Pose, posed

STEP = 0.1
"""Widths are named to this (mm), rounded up."""
WORTH = 0.5
"""A wider cloth that saves no more than this (mm) is not worth having."""
MOST_BEHIND = 12
"""Pieces that are taken from behind the others and put beside them, at most."""
NOWHERE = 1e9
"""Across a fold on which another piece lies already (mm)."""
HAIR = 1e-3
"""How far (mm) beside a corner the cloth is looked at, where what lies across it jumps."""

Line = NDArray[np.float64]


def on_width(fabric: Fabric, width: float, price: float | None) -> Fabric:
    """The same cloth, spread the same way, in another width (mm, edge to edge)."""
    return replace(fabric, width=width, price=price, widths=())


def width_of(fabric: Fabric, usable: float) -> float:
    """Edge to edge (mm), for a usable width as the cloth lies (mm)."""
    return usable * (2 if fabric.spread is Spread.FOLDED else 1) + 2 * fabric.selvedge


def past_the_edge(marker: Marker, usable: float) -> tuple[str, ...]:
    """Pieces of a marker that lie past a usable width (mm), each as often as it does."""
    return tuple(
        name_of(placement)
        for placement in marker.placements
        if bounds(outline_of(marker, placement))[3] > usable + 0.01
    )


def name_of(placement: Placement) -> str:
    """A placement in words."""
    return f"{placement.garment} ({placement.size}), {placement.piece}"


def outline_of(marker: Marker, placement: Placement) -> Line:
    """The cut line of a placement where it lies, `(n, 2)` mm."""
    pose = Pose(placement.flipped, placement.turn_deg)
    moved: Line = posed(marker.prepared(placement).cut_line, pose) + np.array([placement.x, placement.y])
    return moved


@dataclass(frozen=True, slots=True, eq=False)
class _Piece:
    """A placement: its outline as it lies, its gap (mm), whether it lies on the fold, and its outline in every pose."""

    outline: Line
    gap: float
    on_fold: bool
    forms: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Guess:
    """A width on which a piece might lie beside the others.

    Attributes:
        piece: The piece.
        usable: The usable width it takes (mm), rounded up.
        length: Of the marker that would then be left (mm).
    """

    piece: Placement
    usable: float
    length: float


def beside(lay: Lay, marker: Marker) -> tuple[Guess, ...]:
    """The next widths on which a piece that now lies behind the others might lie beside them.

    The pieces that end last are taken out, one, two and more of them, and put back beside the rest, each where least
    cloth across is taken, the rest staying where they lie along the cloth. There the lengths of all pieces across the
    cloth and the gaps between them are summed; for rectangles that is exact, for other outlines the boxes' sum is taken
    where no cut through the pieces themselves needs more cloth. These are guesses to be tried, not promises.

    Args:
        lay: What was laid.
        marker: Where it lies.

    Returns:
        The narrowest first; empty where no width helps.
    """
    fabric = lay.fabric
    poses = {wanted.piece.key: item.poses for wanted, item in zip(lay.wanted, problem_of(lay).items, strict=True)}
    laid = []
    for placement in marker.placements:
        piece = marker.prepared(placement)
        own = Pose(placement.flipped, placement.turn_deg)
        ways = (own,) if fabric.way is Nap.BY_GARMENT else poses[placement.key]
        gap = fabric.gap if piece.gap is None else piece.gap
        forms = tuple(posed(piece.cut_line, pose) for pose in ways)
        on_fold = piece.cut is Cut.FOLD and fabric.has_fold
        laid.append((placement, _Piece(outline_of(marker, placement), gap, on_fold, forms)))
    laid.sort(key=lambda one: bounds(one[1].outline)[2])
    guesses: dict[float, Guess] = {}
    for boxes in (False, True):
        for count in range(1, min(len(laid), MOST_BEHIND)):
            rest, first, usable = [piece for _, piece in laid[:-count]], None, 0.0
            for placement, behind in laid[-count:]:
                taken, outline = _least_across(fabric, behind, rest, boxes=boxes)
                if first is None and taken > marker.width + HAIR:
                    first = placement
                usable = max(usable, math.ceil(round(taken / STEP, 6)) * STEP)
                rest.append(replace(behind, outline=outline))
            length = max(bounds(piece.outline)[2] for piece in rest)
            if first is not None and usable < NOWHERE and length < marker.length - WORTH:
                guesses.setdefault(round(usable, 1), Guess(first, round(usable, 1), length))
        if guesses:
            break
    return tuple(guesses[usable] for usable in sorted(guesses))


def _least_across(fabric: Fabric, piece: _Piece, others: Sequence[_Piece], *, boxes: bool) -> tuple[float, Line]:
    """Least usable width (mm) for a piece somewhere beside the others, and its outline there, as far as x goes."""
    rest = max(bounds(other.outline)[2] for other in others)
    corners = np.concatenate([other.outline[:, 0] for other in others])
    at = np.unique(np.concatenate([corners - HAIR, corners + HAIR]))
    load = _across(fabric, piece, others, at, boxes=boxes)
    least, there = NOWHERE, piece.outline
    for outline in piece.forms:
        left, low, right, high = bounds(outline)
        if piece.on_fold and abs(low) > HAIR:
            continue
        long = right - left
        starts = {0.0, max(0.0, rest - long)}
        for other in others:
            begin, _, end, _ = bounds(other.outline)
            gap = (piece.gap + other.gap) / 2
            aligned = end + gap, begin, begin - gap - long, end - long
            starts |= {start for start in aligned if 0 <= start <= rest - long}
        own = np.concatenate([outline[:, 0] - HAIR, outline[:, 0] + HAIR]) - left
        runs = chords(outline)
        for start in sorted(starts):
            mine = np.concatenate([at, own + start])
            mine = mine[(mine >= start) & (mine <= start + long)]
            cut = (high - low) if boxes else chords_at(runs, mine - start + left)
            taken = float(np.max(cut + np.interp(mine, at, load, left=0.0, right=0.0)))
            if taken < least:
                least, there = taken, outline + np.array([start - left, 0.0])
    return least, there


def _across(fabric: Fabric, piece: _Piece, others: Sequence[_Piece], at: Line, *, boxes: bool) -> Line:
    """Cloth across that others and the gaps beside them take (mm) at some places along it, `(n,)`."""
    taken = np.zeros(len(at))
    folded = np.zeros(len(at), dtype=np.bool_)
    for other in others:
        left, low, right, high = bounds(other.outline)
        there = (at >= left) & (at <= right)
        taken[there] += other.gap + ((high - low) if boxes else chords_at(chords(other.outline), at[there]))
        if other.on_fold:
            folded |= there
    if piece.on_fold:
        taken[folded] = NOWHERE
    elif fabric.has_fold:
        taken[~folded] += piece.gap
    return taken
