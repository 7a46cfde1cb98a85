"""Rough blocks: pieces of a garment packed together beforehand and laid as one; in the marker each is itself again.

A block's pieces are laid tightly on strips of several widths; of these arrangements the one whose block is the smallest
is taken. The block is their convex hull, moved out by its allowance: straight lines, as a straight knife cuts them. The
nest lays it like any piece.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from cutroom.errors import FabricError
from cutroom.geometry.affine import pose_points
from cutroom.geometry.polygon import area, bounds
from cutroom.job.going_on import Started
from cutroom.job.problem import problem_of
from cutroom.model.arrays import Points, frozen_points
from cutroom.model.fabric import Nap, Spread
from cutroom.model.lay import Lay, Wanted
from cutroom.model.laying import RoughBlock
from cutroom.model.marker import Block, Marker, Placement, on_grid
from cutroom.model.piece import Cut
from cutroom.model.prepared import Label, PreparedPiece
from cutroom.nest.grid import UNITS, units_down, units_up
from cutroom.nest.known import Known
from cutroom.nest.solve import solve
from cutroom.prepare.inside import block_line
from cutroom.proof.marker import prove_outlines

SHAPES = (0.5, 0.7, 1.0, 1.4, 2.0)
"""Widths of the strips that a block's pieces are packed on, as shares of the side of a square of their area."""
FAR = 2e6
"""Further off (mm) than any piece lies."""
TRIES = 12
"""Tries at each: counted, so that a block is packed alike on any day."""


@dataclass(frozen=True, slots=True, eq=False)
class Packed:
    """A block packed.

    Attributes:
        members: Which of the lay's wanted pieces it holds.
        placements: Where they lie in the block's own axes, in that order.
        piece: The block as a piece: its cut line is the block's.
    """

    members: tuple[int, ...]
    placements: tuple[Placement, ...]
    piece: PreparedPiece


@dataclass(frozen=True, slots=True, eq=False)
class Blocked:
    """A lay whose blocks are pieces.

    Attributes:
        whole: The lay as it was asked for.
        lay: The lay as it is put to the nest: pieces of no block, then the blocks.
        packed: The blocks.
    """

    whole: Lay
    lay: Lay
    packed: tuple[Packed, ...]

    def restored(self, marker: Marker) -> Marker:
        """The marker of the pieces themselves, in the order of the lay, from the marker of the blocks."""
        held = {number for block in self.packed for number in block.members}
        free = [number for number in range(len(self.whole.wanted)) if number not in held]
        placed = dict(zip(free, marker.placements, strict=False))
        blocks = []
        for packed, lies in zip(self.packed, marker.placements[len(free) :], strict=True):
            placed |= {
                number: _carried(one, lies) for number, one in zip(packed.members, packed.placements, strict=True)
            }
            outline = _as_it_lies(packed.piece.cut_line, lies)
            blocks.append(Block(packed.piece.name, tuple((float(x), float(y)) for x, y in outline), packed.members))
        placements = tuple(placed[number] for number in range(len(self.whole.wanted)))
        return replace(marker, placements=placements, pieces=self.whole.pieces, blocks=tuple(blocks))


def in_blocks(lay: Lay, started: Started | None) -> tuple[Blocked, Started | None]:
    """A lay with its blocks packed, and what it is gone on from likewise.

    A block of a marker that is gone on from keeps the arrangement it has there, where that is sound.

    Raises:
        FabricError: A piece of a block lies on the fold or must meet the cloth's pattern, or is locked where the block
            cannot lie.
    """
    groups: dict[tuple[RoughBlock, str, str, int], list[int]] = {}
    for number, wanted in enumerate(lay.wanted):
        if wanted.piece.block is not None:
            key = (wanted.piece.block, wanted.piece.garment, wanted.piece.size, wanted.copy)
            groups.setdefault(key, []).append(number)
    packed, known = [], Known()
    begun = list(started.placements) if started is not None else []
    for (block, _, _, _), members in groups.items():
        own = [lay.wanted[number] for number in members]
        _refuse_bound(lay, own)
        found = _taken(begun, own)
        if found is not None and _is_sound(lay, block, found):
            for one in found:
                begun.remove(one)
            packed.append(_made(lay, block, members, _levelled(lay, found), known))
            begun.append(_laid_as(packed[-1], found[0], locked=any(one.locked for one in found)))
        else:
            for one in [one for one in begun if any(_is_of(one, each) for each in own)]:
                if one.locked:
                    raise FabricError(
                        f'it is locked, and the pieces of its block "{block.name}" do not lie together in the marker '
                        "that is gone on from",
                        "Unlock it, or put all pieces of the block back beside it",
                        place=f'piece "{one.piece}" of {one.garment} ({one.size})',
                    )
                begun.remove(one)
            packed.append(_made(lay, block, members, None, known))
    held = {number for one in packed for number in one.members}
    free = [wanted for number, wanted in enumerate(lay.wanted) if number not in held]
    blocks = [Wanted(one.piece, lay.wanted[one.members[0]].copy, _flip(lay, one)) for one in packed]
    pieces = dict.fromkeys(wanted.piece for wanted in (*free, *blocks))
    blocked = Blocked(lay, Lay(lay.fabric, (*free, *blocks), tuple(pieces)), tuple(packed))
    return blocked, None if started is None else replace(started, placements=tuple(begun))


def _refuse_bound(lay: Lay, wanted: Sequence[Wanted]) -> None:
    for one in wanted:
        place = f'{one.piece.garment} ({one.piece.size}), piece "{one.piece.name}"'
        if one.piece.cut is Cut.FOLD:
            what = "it lies on the fold, so it cannot be cut in a block"
            raise FabricError(what, "Take it out of the block, or spread the cloth open", place=place)
        if one.piece.meets and lay.fabric.pattern is not None:
            what = "it must meet the cloth's pattern, so it cannot be cut in a block"
            raise FabricError(what, "Take it out of the block or out of the match", place=place)


def _flip(lay: Lay, packed: Packed) -> bool | None:
    """A block may be laid the other hand up where each of its pieces may, and none might then lie unlike its like."""
    wanted = [lay.wanted[number] for number in packed.members]
    if lay.fabric.way is Nap.ONE_WAY and any(one.piece.crossways for one in wanted):
        return False
    return None if all(one.flipped is None or one.piece.symmetric for one in wanted) else False


def _is_of(placement: Placement, wanted: Wanted) -> bool:
    """A placement may be the one that is wanted."""
    either = wanted.flipped is None or wanted.piece.symmetric or wanted.flipped == placement.flipped
    return placement.key == wanted.piece.key and placement.copy == wanted.copy and either


def _taken(begun: Sequence[Placement], wanted: Sequence[Wanted]) -> list[Placement] | None:
    """The placements of a block's pieces, in their order, where all of them are there."""
    left, found = list(begun), []
    for one in wanted:
        fitting = next((placement for placement in left if _is_of(placement, one)), None)
        if fitting is None:
            return None
        left.remove(fitting)
        found.append(fitting)
    return found


def _is_sound(lay: Lay, block: RoughBlock, found: Sequence[Placement]) -> bool:
    """Placements lie on the grain and keep the gaps of the block, wherever on the cloth that is."""
    if any(one.turn_deg % 90.0 for one in found):
        return False
    pieces = tuple(_inside(piece, block) for piece in lay.pieces)
    anywhere = replace(lay.fabric, width=4 * FAR, selvedge=0.0, spread=Spread.OPEN)
    moved = tuple(replace(one, x=one.x + FAR, y=one.y + FAR) for one in found)
    marker = Marker(block.name, anywhere, 4 * FAR, moved, pieces)
    outlines = [_posed(marker.prepared(one).cut_line, one) for one in moved]
    return not prove_outlines(marker, outlines, gaps=True)


def _inside(piece: PreparedPiece, block: RoughBlock) -> PreparedPiece:
    """A piece with the gap that it keeps within a block."""
    return piece if block.gap is None else replace(piece, gap=block.gap, edge_gaps=(), shares=None)


def _levelled(lay: Lay, found: Sequence[Placement]) -> tuple[Placement, ...]:
    """Placements as the block has them when it lies untilted and unturned itself."""
    way = _way(lay, found[0])
    turned = [_carried(one, replace(found[0], flipped=False, turn_deg=way, x=0.0, y=0.0)) for one in found]
    return tuple(replace(one, locked=False) for one in turned)


def _way(lay: Lay, first: Placement) -> float:
    """How a block lies whose first piece lies so: by garment it has one way, else none of its own."""
    return 180.0 if lay.fabric.way is Nap.BY_GARMENT and first.turn_deg % 360.0 == 180.0 else 0.0


def _made(
    lay: Lay, block: RoughBlock, members: Sequence[int], found: tuple[Placement, ...] | None, known: Known
) -> Packed:
    """A block as a piece, its lower left corner at the origin."""
    wanted = [lay.wanted[number] for number in members]
    if found is None:
        tried = [_packed(lay, block, wanted, width, known) for width in _widths(lay, block, wanted)]
        found = min(tried, key=lambda placements: area(_outline(wanted, placements, block)))
    outline = _outline(wanted, found, block)
    left, low, _, _ = bounds(outline)
    shift = np.array([units_down(left), units_down(low)]) / UNITS
    placements = tuple(replace(one, x=on_grid(one.x - shift[0]), y=on_grid(one.y - shift[1])) for one in found)
    first, copy = wanted[0].piece, wanted[0].copy
    nothing = Label((), (0.0, 0.0), (), 0.0)
    piece = PreparedPiece(
        garment=first.garment,
        size=first.size,
        name=f"block {block.name} {copy}",
        cut=Cut.SINGLE,
        quantity=1,
        cloth=first.cloth,
        crossways=False,
        cut_line=outline - shift,
        seam_line=outline - shift,
        turns=outline - shift,
        notches=(),
        drills=(),
        grain=(),
        lines=(),
        label=nothing,
        label_mirrored=nothing,
    )
    return Packed(tuple(members), placements, piece)


def _widths(lay: Lay, block: RoughBlock, wanted: Sequence[Wanted]) -> list[float]:
    """Strips that a block's pieces are packed on (mm): none narrower than a piece, nor too wide for the cloth."""
    across = max(bounds(one.piece.cut_line)[3] - bounds(one.piece.cut_line)[1] for one in wanted)
    narrowest = (units_up(across) + 1) / UNITS  # turned about, a piece fits on the grid as well
    widest = max(lay.fabric.usable_width - 2 * block.allowance, narrowest)
    side = float(np.sqrt(sum(area(one.piece.cut_line) for one in wanted)))
    return sorted({min(max(round(share * side, 2), narrowest), widest) for share in SHAPES})


def _packed(lay: Lay, block: RoughBlock, wanted: Sequence[Wanted], width: float, known: Known) -> tuple[Placement, ...]:
    """A block's pieces on a strip of a width, all one way where the cloth has one."""
    fabric = replace(lay.fabric, nap=Nap.NONE if lay.fabric.way is Nap.NONE else Nap.ONE_WAY, pattern=None)
    inside = tuple(replace(one, piece=_inside(one.piece, block)) for one in wanted)
    problem = problem_of(Lay(fabric, inside, lay.pieces), tilt=False)
    problem = replace(problem, width=width, fold=False, far_fold=False, forbidden=(), table=None)
    laid = solve(problem, seconds=0, seed=1, tries=TRIES, known=known).placed
    return tuple(
        Placement(one.piece.name, one.piece.garment, one.piece.size, one.copy, lies.pose.flipped, lies.pose.turn_deg,
                  lies.x, lies.y)
        for one, lies in zip(wanted, laid, strict=True)
    )  # fmt: skip


def _outline(wanted: Sequence[Wanted], placements: Sequence[Placement], block: RoughBlock) -> Points:
    """The line of a block: the hull of its pieces, moved out by its allowance."""
    lines = [_as_it_lies(one.piece.cut_line, lies) for one, lies in zip(wanted, placements, strict=True)]
    hull = shapely.MultiPoint(np.vstack(lines)).convex_hull
    line = shapely.get_coordinates(shapely.orient_polygons(hull).exterior)[:-1]  # type: ignore[attr-defined]
    return frozen_points(block_line(line, block.allowance) if block.allowance else line)


def _posed(line: Points, lies: Placement) -> Points:
    points: Points = pose_points(line, flipped=lies.flipped, turn_deg=lies.turn_deg, shift=(lies.x, lies.y))
    return points


def _as_it_lies(line: Points, lies: Placement) -> Points:
    """A line of a piece where it lies, counter-clockwise."""
    points = _posed(line, lies)
    return points[::-1] if lies.flipped else points


def _carried(one: Placement, by: Placement) -> Placement:
    """A piece of a block where the block lies."""
    x, y = pose_points(np.array([[one.x, one.y]]), flipped=by.flipped, turn_deg=by.turn_deg, shift=(by.x, by.y))[0]
    turn = by.turn_deg - one.turn_deg if by.flipped else by.turn_deg + one.turn_deg
    return replace(
        one,
        flipped=one.flipped != by.flipped,
        turn_deg=turn % 360.0,
        x=on_grid(float(x)),
        y=on_grid(float(y)),
        locked=by.locked,
    )


def _laid_as(packed: Packed, first: Placement, *, locked: bool) -> Placement:
    """The placement of a block of which the first piece lies so."""
    own, piece = packed.placements[0], packed.piece
    way = (first.turn_deg - own.turn_deg) % 360.0
    by = Placement(piece.name, piece.garment, piece.size, own.copy, False, way, 0.0, 0.0, locked)
    lies = _carried(own, by)
    return replace(by, x=on_grid(first.x - lies.x), y=on_grid(first.y - lies.y))


def loosened(lay: Lay) -> Lay:
    """A lay without its blocks: pieces keep the least of their gaps, so that with blocks no marker can be shorter."""

    def loose(piece: PreparedPiece) -> PreparedPiece:
        if piece.block is None:
            return piece
        gaps = [lay.fabric.gap, *(edge.gap for edge in piece.edge_gaps)]
        gaps += [gap for gap in (piece.gap, piece.block.gap) if gap is not None]
        return replace(piece, block=None, gap=min(gaps), edge_gaps=())

    pieces = {piece.key: loose(piece) for piece in lay.pieces}
    return Lay(
        lay.fabric, tuple(replace(one, piece=pieces[one.piece.key]) for one in lay.wanted), tuple(pieces.values())
    )
