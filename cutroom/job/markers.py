"""From a lay to a marker: the rules of cloth put to the nest as shapes and poses, and its answer put back."""

from collections.abc import Callable

from cutroom.errors import CutroomError, FabricError
from cutroom.model.fabric import Fabric, Nap, Spread
from cutroom.model.lay import Lay, Wanted
from cutroom.model.marker import Marker, Placement
from cutroom.model.piece import Cut
from cutroom.nest.problem import Item, Layout, Pose, Problem, Progress
from cutroom.nest.solve import solve


def poses(wanted: Wanted, fabric: Fabric) -> tuple[Pose, ...]:
    """How a piece may lie: the turns its nap allows, across the grain where it may, and which hand up."""
    turns = [0.0] if fabric.nap is Nap.ONE_WAY else [0.0, 180.0]
    if wanted.piece.cut is Cut.FOLD:  # turned end for end and flipped, it still has its fold edge on the fold
        return tuple(Pose(flipped=turn == 180.0, turn_deg=turn) for turn in turns)
    if wanted.piece.crossways:
        turns += [90.0, 270.0]
    flips = (False, True) if wanted.flipped is None else (wanted.flipped,)
    if wanted.piece.symmetric:
        flips = flips[:1]
    return tuple(Pose(flipped=flipped, turn_deg=turn) for turn in turns for flipped in flips)


def problem_of(lay: Lay) -> Problem:
    """A lay as the nest sees it."""
    fabric = lay.fabric
    items = tuple(
        Item(
            name=f"{wanted.piece.garment} ({wanted.piece.size}), {wanted.piece.name}",
            outline=wanted.piece.cut_line,
            poses=poses(wanted, fabric),
            on_fold=wanted.piece.cut is Cut.FOLD,
            group=f"{wanted.piece.garment}/{wanted.piece.size}/{wanted.copy}",
        )
        for wanted in lay.wanted
    )
    return Problem(
        width=fabric.usable_width,
        gap=fabric.gap,
        items=items,
        fold=fabric.has_fold,
        far_fold=fabric.spread is Spread.TUBULAR,
        same_way=fabric.nap is Nap.BY_GARMENT,
    )


def make_marker(
    lay: Lay,
    *,
    seconds: float,
    seed: int,
    tries: int | None = None,
    progress: Callable[[Progress], None] | None = None,
    file: str = "",
) -> tuple[Marker, Layout]:
    """The pieces of a lay laid on their cloth.

    Args:
        lay: What to lay.
        seconds: Time to spend (s).
        seed: Seed of the search.
        tries: Most arrangements to try, or None for as many as the time allows.
        progress: Told of each improvement.
        file: The job file, for messages.

    Returns:
        The marker, and the nest's own account of it.

    Raises:
        CutroomError: A piece does not go on the cloth.
    """
    fabric = lay.fabric
    try:
        layout = solve(problem_of(lay), seconds=seconds, seed=seed, tries=tries, progress=progress)
    except CutroomError as fault:
        raise FabricError(fault.what, fault.fix, file, f'fabric "{fabric.name}", {fault.place}') from fault
    placements = tuple(
        Placement(
            piece=lay.wanted[laid.item].piece.name,
            garment=lay.wanted[laid.item].piece.garment,
            size=lay.wanted[laid.item].piece.size,
            copy=lay.wanted[laid.item].copy,
            flipped=laid.pose.flipped,
            turn_deg=laid.pose.turn_deg,
            x=laid.x,
            y=laid.y,
        )
        for laid in layout.placed
    )
    marker = Marker(
        name=fabric.name,
        fabric=fabric,
        length=layout.length,
        placements=placements,
        pieces=lay.pieces,
        boxes_length=layout.boxes_length,
        seed=seed,
        tries=layout.tries,
    )
    return marker, layout
