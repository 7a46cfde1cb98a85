"""Going on from a marker: an earlier one, or one in which somebody moved, turned or locked pieces."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from cutroom.errors import CutroomError, NestError, OrderError, raise_all
from cutroom.geometry.polygon import bounds
from cutroom.model.fabric import Nap
from cutroom.model.lay import Lay, Wanted
from cutroom.model.marker import GRID, Placement, on_grid
from cutroom.model.order import Order
from cutroom.model.piece import Cut
from cutroom.nest.grid import UNITS, units_up
from cutroom.nest.problem import Item, Laid, Pose, Problem, has_place, laid_outline, places_across, posed
from cutroom.plan.count import parts_of
from cutroom.read.marker import read_marker


@dataclass(frozen=True, slots=True)
class Started:
    """What is gone on from.

    Attributes:
        placements: Where pieces lie, those that are locked among them.
        pattern_start: From the start line to the first line of the pattern across the cloth (mm), or None.
        placed: Where all items of the nest lie by now, or empty.
        file: What it was read from, for messages.
    """

    placements: tuple[Placement, ...] = ()
    pattern_start: float | None = None
    placed: tuple[Laid, ...] = ()
    file: str = ""

    @property
    def has_locks(self) -> bool:
        """Some piece is to stay where it is."""
        return any(placement.locked for placement in self.placements)


def read_started(order: Order, paths: Sequence[Path]) -> dict[str, Started]:
    """The markers that a job goes on from, by fabric: those named, else those that the job names.

    Raises:
        CutroomError: A file is not such a marker, or is of no fabric of the order.
    """
    started = {}
    faults: list[CutroomError] = []
    named = [(Path(fabric.go_on_from), name) for name, fabric in order.fabrics.items() if fabric.go_on_from]
    for path, fabric in (*named, *((path, "") for path in paths)):
        try:
            name, placements, pattern_start = read_marker(path)
        except CutroomError as fault:
            faults.append(fault)
            continue
        name = fabric or name
        if name not in parts_of(order.fabrics):
            known = ", ".join(parts_of(order.fabrics))
            what = f'it is the marker of fabric "{name}", and the order has none of that name'
            faults.append(OrderError(what, f"Go on from a marker of {known}", str(path)))
            continue
        started[name] = Started(placements, pattern_start, file=str(path))
    raise_all(faults)
    return started


def go_on(problem: Problem, lay: Lay, started: Started) -> tuple[Problem, tuple[Laid, ...]]:
    """The problem with what is locked, and the layout to begin with.

    A piece that the marker does not lay is put behind all that it lays. A piece that was tilted by hand may stay so, as
    far as its own tilt goes.

    Args:
        problem: The lay as the nest sees it.
        lay: What is to be laid.
        started: The marker.

    Raises:
        NestError: The marker lays what is not ordered, or a piece as it may not lie.
    """
    found: dict[int, Placement] = {}
    for placement in started.placements:
        found[_wanted(lay, placement, found)] = placement
    _refuse_mixed_ways(lay, found)
    items = list(problem.items)
    laid: list[Laid] = []
    locked: list[Laid] = []
    for number, placement in found.items():
        pose = Pose(placement.flipped, placement.turn_deg % 360.0)
        items[number] = _allowing(items[number], lay.wanted[number], pose)
        one = Laid(number, pose, placement.x, placement.y)
        laid.append(_on_the_cloth(problem, items[number], one, locked=placement.locked))
        if placement.locked:
            locked.append(one)
    end = max((bounds(laid_outline(items[one.item], one))[2] for one in laid), default=0.0)
    for number, item in enumerate(items):
        if number not in found:
            pose = next((pose for pose in item.poses if has_place(problem, item, pose)), item.poses[0])
            left, _, right, _ = bounds(posed(item.outline, pose))
            x = on_grid(end + problem.gap - left + GRID)
            laid.append(Laid(number, pose, x, on_grid(places_across(problem, item, pose)[0] / UNITS)))
            end = x + right
    ordered = tuple(sorted(laid, key=lambda one: one.item))
    return replace(problem, items=tuple(items), locked=tuple(locked)), started.placed or ordered


def _wanted(lay: Lay, placement: Placement, taken: dict[int, Placement]) -> int:
    """The number of the piece to be laid that a placement lays; of several the one counted to the same garment."""
    place = _place(placement)
    same = [number for number, one in enumerate(lay.wanted) if one.piece.key == placement.key]
    if not same:
        raise NestError(
            "the marker to go on from lays it, and it is not ordered on this fabric",
            "Go on from a marker of the same order, or take the piece out of the marker",
            place=place,
        )
    free = [number for number in same if number not in taken]
    if not free:
        raise NestError(
            f"the marker to go on from lays it more often than the order asks for ({len(same)})",
            "Take one of them out of the marker",
            place=place,
        )
    fitting = [number for number in free if _may_flip(lay.wanted[number], placement)]
    if not fitting:
        raise NestError(
            f"in the marker to go on from it lies {'flipped' if placement.flipped else 'as drawn'} once too often: "
            "that hand is not wanted again",
            f"Write flipped = {str(not placement.flipped).lower()} for one of them",
            place=place,
        )
    return min(fitting, key=lambda number: lay.wanted[number].copy != placement.copy)


def _may_flip(wanted: Wanted, placement: Placement) -> bool:
    return wanted.flipped is None or wanted.piece.symmetric or wanted.flipped == placement.flipped


def _allowing(item: Item, wanted: Wanted, pose: Pose) -> Item:
    """The item with the pose among those that it may take.

    Raises:
        NestError: It may not.
    """
    if pose in item.poses:
        return item
    near = min(item.poses, key=lambda own: (own.flipped != pose.flipped, _between(own.turn_deg, pose.turn_deg)))
    alike = [own for own in item.poses if own.flipped == pose.flipped] or [near]
    off = min(_between(base, pose.turn_deg) for base in {own.quarter * 90.0 for own in alike})
    leans = 0.0 if wanted.piece.cut is Cut.FOLD or item.match is not None else wanted.piece.tilt_deg
    if near.flipped == pose.flipped and len(item.poses) > 1 and off <= leans + 1e-9:
        return replace(item, poses=(*item.poses, pose))
    allowed = ", ".join(f"{turn:g}" for turn in dict.fromkeys(own.turn_deg for own in alike))
    raise NestError(
        f"in the marker to go on from it lies {'flipped and ' if pose.flipped else ''}turned "
        f"{pose.turn_deg:g} degrees, which grain, nap, fold or pattern do not allow",
        f"Turn it back: it may lie at {allowed} degrees",
        place=f'piece "{item.name}"',
    )


def _between(one: float, other: float) -> float:
    """The angle between two turns (degrees)."""
    off = (one - other) % 360.0
    return min(off, 360.0 - off)


def _on_the_cloth(problem: Problem, item: Item, laid: Laid, *, locked: bool) -> Laid:
    """A piece that was moved off the cloth, moved back on to it; a locked one is judged by the nest."""
    if locked:
        return laid
    low, high = places_across(problem, item, laid.pose)
    left = units_up(-bounds(posed(item.outline, laid.pose))[0])
    y = min(max(round(laid.y * UNITS), low), high)
    return replace(laid, x=max(laid.x, on_grid(left / UNITS)), y=on_grid(y / UNITS))


def _refuse_mixed_ways(lay: Lay, found: dict[int, Placement]) -> None:
    """Pieces of a garment that lie both ways on a cloth that lets each garment lie one way only."""
    if lay.fabric.way is not Nap.BY_GARMENT:
        return
    ways: dict[tuple[str, str, int], float] = {}
    for number, placement in found.items():
        wanted = lay.wanted[number]
        way = round(placement.turn_deg / 90.0) * 90.0 % 360.0
        garment = wanted.piece.garment, wanted.piece.size, wanted.copy
        if ways.setdefault(garment, way) != way:
            raise NestError(
                "in the marker to go on from it points the other way than the rest of its garment",
                "Turn it by 180 degrees",
                place=_place(placement),
            )


def _place(placement: Placement) -> str:
    return f'piece "{placement.piece}" of {placement.garment} ({placement.size})'
