"""One rule of a cloth relaxed at a time: the pieces as they would be laid without it, from the layout in hand on."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial

from cutroom.geometry.polygon import bounds
from cutroom.job.pieces import Drafted, prepare_order
from cutroom.job.problem import problem_of
from cutroom.job.widths import outline_of
from cutroom.model.fabric import Area, Fabric, Nap, Sections, Spread
from cutroom.model.lay import Lay
from cutroom.model.laying import EdgeGap
from cutroom.model.marker import Marker, Placement, on_grid
from cutroom.model.order import Order
from cutroom.model.piece import Cut
from cutroom.model.prepared import PreparedPiece
from cutroom.nest.grid import UNITS, units_up
from cutroom.nest.problem import Pose, posed
from cutroom.plan.lays import plan_lays
from cutroom.units import length_words

TILT = 2.0
"""What tilt is tried (degrees): more than most pieces bear (common practice, no source)."""

Start = Callable[[Marker], tuple[Placement, ...]]


@dataclass(frozen=True, slots=True)
class Relaxed:
    """A lay without one of its rules.

    Attributes:
        rule: The rule, in a word.
        now: What it says.
        relaxed: What holds instead.
        lay: What is to be laid.
        start: Where its pieces lie to begin with, from a marker with the rule; empty where that says nothing.
        one_to_one: Its placements are those with the rule.
        holds: Whatever lies under the rule lies without it, so that it can never be longer.
        garments: How many times as much it lays.
    """

    rule: str
    now: str
    relaxed: str
    lay: Lay
    start: Start
    one_to_one: bool = True
    holds: bool = True
    garments: int = 1


def relaxations(order: Order, drafted: Drafted, lay: Lay, *, locked: int = 0) -> Iterator[Relaxed]:
    """Every rule of a lay that is in force, relaxed by itself.

    Args:
        order: The order.
        drafted: Its styles, as drafted.
        lay: The lay.
        locked: How many of its pieces are to stay where they are.
    """
    for rule, now, relaxed, looser in _looser(lay, partial(length_words, unit=order.unit)):
        if not _alike(lay, looser):
            yield Relaxed(rule, now, relaxed, looser, lambda marker: marker.placements)
    blocks = {piece.block for piece in lay.pieces if piece.block is not None}
    if blocks:
        now = ", ".join(f"{one.name} cut roughly together" for one in sorted(blocks, key=lambda one: one.name))
        singly = _with(lay, lambda piece: replace(piece, block=None))
        holds = all(block.gap is None for block in blocks)
        yield Relaxed("blocks", now, "pieces laid one by one", singly, lambda marker: marker.placements, holds=holds)
    if locked:
        yield Relaxed("locks", f"{locked} stay where they lie", "free to move", lay, unlocked)
    if lay.fabric.has_fold:
        opened = opened_lay(order, drafted, lay)
        now = "a flat tube" if lay.fabric.spread is Spread.TUBULAR else "folded"
        unfolds = _unfolds(lay.fabric) and not blocks  # unfolded, a block would hold both sides of the fold

        def start(marker: Marker) -> tuple[Placement, ...]:
            return unfolded(marker, opened) if unfolds else ()

        yield Relaxed("fold", now, "opened out, single", opened, start, one_to_one=False, holds=unfolds)


def two_together(lay: Lay) -> Relaxed | None:
    """Two of the same in one marker, each garment one way; None where that is no question, or other rules forbid it."""
    fabric = lay.fabric
    bound = fabric.pattern is not None or fabric.forbidden or fabric.table is not None
    if fabric.nap is Nap.NONE or len(lay.garments) > 1 or bound or any(piece.crossways for piece in lay.pieces):
        return None
    second = tuple(replace(wanted, copy=wanted.copy + 1) for wanted in lay.wanted)
    doubled = Lay(replace(fabric, nap=Nap.BY_GARMENT), lay.wanted + second, lay.pieces)

    def start(marker: Marker) -> tuple[Placement, ...]:
        behind = units_up(marker.length + max(lay.gaps)) / UNITS
        moved = (replace(one, copy=one.copy + 1, x=on_grid(one.x + behind)) for one in unlocked(marker))
        return *unlocked(marker), *moved

    now, relaxed = "a garment by itself", "two cut together, each one way"
    return Relaxed("together", now, relaxed, doubled, start, one_to_one=False, holds=False, garments=2)


def unlocked(marker: Marker) -> tuple[Placement, ...]:
    """The placements of a marker, none of them locked."""
    return tuple(replace(placement, locked=False) for placement in marker.placements)


def opened_lay(order: Order, drafted: Drafted, lay: Lay) -> Lay:
    """The lay of a folded cloth or a tube as it would be with the cloth opened out, as many single plies."""
    fabric, middle = lay.fabric, lay.fabric.usable_width
    single = replace(
        fabric.opened(),
        name=fabric.name,
        part_of="",
        flaws=_opened_areas(fabric.flaws, middle),
        used=_opened_areas(fabric.used, middle),
    )
    fabrics = {**order.fabrics, fabric.name: single}
    pieces = prepare_order(replace(order, fabrics=fabrics), drafted)
    (opened,) = (one for one in plan_lays(order.garments, fabrics, pieces) if one.fabric.name == fabric.name)
    folded = {piece.key for piece in lay.pieces}  # singles may have a part of the lay that is opened out already
    return Lay(
        opened.fabric,
        tuple(wanted for wanted in opened.wanted if wanted.piece.key in folded),
        tuple(piece for piece in opened.pieces if piece.key in folded),
    )


def _opened_areas(areas: tuple[Area, ...], middle: float) -> tuple[Area, ...]:
    """Parts of folded cloth on both its halves: nobody said which of them is spoilt."""
    over = (replace(area, outline=tuple((x, middle + y) for x, y in area.outline)) for area in areas)
    under = (replace(area, outline=tuple((x, middle - y) for x, y in area.outline[::-1])) for area in areas)
    return *over, *under


def unfolded(marker: Marker, opened: Lay) -> tuple[Placement, ...]:
    """A marker on folded cloth, unfolded: each piece and its image beyond the fold, which becomes the middle.

    Args:
        marker: On folded cloth.
        opened: What is to be laid on the cloth opened out.

    Returns:
        A placement for everything that the opened lay wants; what comes out of the fold in excess is left out.
    """
    pieces = {piece.key: piece for piece in opened.pieces}
    images = [image for placement in marker.placements for image in _images(marker, placement, pieces[placement.key])]
    found = []
    for wanted in opened.wanted:
        flipped = bool(wanted.flipped)
        fitting = [
            image
            for image in images
            if image.key == wanted.piece.key and (image.either or image.pose.flipped == flipped)
        ]
        if fitting:
            image = min(fitting, key=lambda one: one.copy != wanted.copy)
            images.remove(image)
            found.append(image.set_down(wanted.piece, wanted.copy, flipped=flipped))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Image:
    """Where a piece lies on folded cloth opened out.

    Attributes:
        key: Its piece.
        copy: The garment it was counted to.
        pose: How it lies.
        either: It is its own mirror image, so that flipped or not is one and the same.
        left: Its least x (mm).
        low: Its least y (mm).
    """

    key: tuple[str, str, str]
    copy: int
    pose: Pose
    either: bool
    left: float
    low: float

    def set_down(self, piece: PreparedPiece, copy: int, *, flipped: bool) -> Placement:
        """The placement that lays the piece there, as the given hand."""
        pose = replace(self.pose, flipped=flipped)
        left, low, _, _ = bounds(posed(piece.cut_line, pose))
        x, y = on_grid(self.left - left), on_grid(self.low - low)
        return Placement(piece.name, piece.garment, piece.size, copy, flipped, pose.turn_deg, x, y)


def _images(marker: Marker, placement: Placement, piece: PreparedPiece) -> Iterator[_Image]:
    """What a placement on folded cloth is on the same cloth opened out: a fold piece is now whole, others are two."""
    pose = Pose(placement.flipped, placement.turn_deg)
    folded = marker.prepared(placement).cut is Cut.FOLD
    left, low, _, high = bounds(outline_of(marker, placement))
    middle = on_grid(marker.width)  # so that all images keep to the grid, and to their distances
    either, under = piece.symmetric or folded, middle - high
    yield _Image(piece.key, placement.copy, pose, either, left, under if folded else middle + low)
    if not folded:
        mirrored = Pose(not pose.flipped, -pose.turn_deg % 360.0)
        yield _Image(piece.key, placement.copy, mirrored, either, left, under)


def _unfolds(fabric: Fabric) -> bool:
    """What lies on it lies on the same cloth opened out as well.

    Not so on a tube, which has two folds, nor where stripes lie otherwise on the half that was below.
    """
    return fabric.spread is Spread.FOLDED and fabric.pattern is None


def _looser(lay: Lay, words: Callable[[float], str]) -> Iterator[tuple[str, str, str, Lay]]:
    """The rule, what it says, what holds instead, and the lay without it; also of rules that are not in force."""
    fabric = lay.fabric
    lies_across = any(piece.crossways for piece in lay.pieces)  # by garment, what lies across would point another way
    if fabric.nap is Nap.ONE_WAY and len(lay.garments) > 1 and not lies_across:
        yield "nap", "every piece one way", "each garment one way", _on(lay, replace(fabric, nap=Nap.BY_GARMENT))
    if fabric.nap is not Nap.NONE:
        now = "every piece one way" if fabric.nap is Nap.ONE_WAY else "each garment one way"
        yield "nap", now, "pieces either way", _on(lay, replace(fabric, nap=Nap.NONE))
    if fabric.pattern is not None and not fabric.pattern.symmetric:
        either = replace(fabric, pattern=replace(fabric.pattern, symmetric=True))
        yield "pattern", "has a way of its own", "the same either way", _on(lay, either)
    matched = _with(lay, lambda piece: replace(piece, meets=()))
    yield "matching", "pieces meet on the pattern", "not matched", matched
    widest = f"{words(max(lay.gaps))} between pieces"
    now = widest if len(lay.gaps) == 1 else f"up to {widest}"
    touching = _with(lay, _touching)
    yield "gap", now, "none", _on(touching, replace(fabric, gap=0.0))
    wide = {edge.edge: edge.gap for piece in lay.pieces for edge in _wider(piece, fabric)}
    if wide:
        now = ", ".join(f"{words(gap)} at {edge}" for edge, gap in wide.items())
        yield "edges", now, "the usual gap", _with(lay, partial(_without_wider, fabric=fabric))
    yield "flaws", f"{len(fabric.flaws)} kept clear", "none there", _on(lay, replace(fabric, flaws=()))
    if fabric.table is not None:
        longer = f"no piece across its end, every {words(fabric.table)}"
        yield "table", longer, "as long as the marker", _on(lay, replace(fabric, table=None))
    if fabric.sections is Sections.SIZES and len({piece.size for piece in lay.pieces}) > 1:
        yield "sections", "each size by itself", "sizes mixed", _on(lay, replace(fabric, sections=Sections.MIXED))
    if fabric.shade is not None:
        apart = f"each garment within {words(fabric.shade)}"
        yield "shade", apart, "anywhere", _on(lay, replace(fabric, shade=None))
    tilted = _with(lay, lambda piece: replace(piece, tilt_deg=max(piece.tilt_deg, TILT)))
    yield "tilt", "pieces on the grain", f"tilted up to {TILT:g}° off it", tilted
    if fabric.way is Nap.NONE and fabric.pattern is None:
        across = _with(lay, lambda piece: replace(piece, crossways=True))
        yield "grain", "pieces along it", "across it as well", across


def _touching(piece: PreparedPiece) -> PreparedPiece:
    block = None if piece.block is None else replace(piece.block, gap=None)
    return replace(piece, gap=None, edge_gaps=(), shares=None, block=block)


def _wider(piece: PreparedPiece, fabric: Fabric) -> tuple[EdgeGap, ...]:
    """The edges of a piece that keep a wider gap than the rest of it."""
    usual = fabric.gap if piece.gap is None else piece.gap
    return tuple(edge for edge in piece.edge_gaps if edge.gap > usual)


def _without_wider(piece: PreparedPiece, fabric: Fabric) -> PreparedPiece:
    wider = _wider(piece, fabric)
    return replace(piece, edge_gaps=tuple(edge for edge in piece.edge_gaps if edge not in wider))


def _on(lay: Lay, fabric: Fabric) -> Lay:
    return replace(lay, fabric=fabric)


def _with(lay: Lay, change: Callable[[PreparedPiece], PreparedPiece]) -> Lay:
    """The lay with each of its pieces changed."""
    pieces = {piece.key: change(piece) for piece in lay.pieces}
    wanted = tuple(replace(one, piece=pieces[one.piece.key]) for one in lay.wanted)
    return Lay(lay.fabric, wanted, tuple(pieces.values()))


def _alike(one: Lay, other: Lay) -> bool:
    """Two lays of the same pieces ask the same of the nest."""

    def rules(lay: Lay) -> tuple[object, ...]:
        problem = problem_of(lay)
        areas = [area.tobytes() for area in problem.forbidden]
        items = [
            (item.poses, problem.sides_of(number), item.match, item.shares) for number, item in enumerate(problem.items)
        ]
        groups = [item.group for item in problem.items] if problem.same_way else []
        blocks = [wanted.piece.block for wanted in lay.wanted]
        return problem.gap, problem.table, areas, items, groups, blocks, lay.fabric.sections, lay.fabric.shade

    return rules(one) == rules(other)
