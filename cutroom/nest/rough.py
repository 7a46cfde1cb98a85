"""The rough first lay: boxes instead of outlines. A baseline, and an answer when there is no time for a better one."""

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, partial

import numpy as np
import rectpack

from cutroom.errors import NestError
from cutroom.geometry.polygon import bounds
from cutroom.model.marker import on_grid
from cutroom.nest.grid import UNITS, units_down, units_up
from cutroom.nest.problem import Laid, Pose, Problem, laid_outline, places_across, posed

Box = tuple[int, int, int, int]
"""Least x, least y, greatest x, greatest y, in units."""


FARTHEST = 1000
"""Ends of the table up to which a place is sought where a piece meets the cloth's pattern and lies across none."""
MANY = 150
"""Items above which the ways to pack whose work grows with the cube of their number are left out."""
_Measure = Callable[[int, Pose], tuple[tuple[float, float, float, float], int, int]]
"""Of an item in a pose: its box (mm), and the least and the greatest shift across (units)."""


@dataclass(frozen=True, slots=True)
class _Crate:
    """An item's box in one pose (units), with room for the gap after it; `low` to `high` is its shift across."""

    item: int
    pose: Pose
    box: Box
    low: int
    high: int


def lay_boxes(problem: Problem, choices: tuple[tuple[Pose, ...], ...]) -> tuple[Laid, ...]:
    """Lay the items' boxes: the shortest lay of several ways that are checked to be sound.

    Beside flaws and locked items no box is laid, so that any of them may be passed. More than MANY are not laid in the
    ways whose work grows with the cube of their number: columns are as short then.

    Args:
        problem: What to lay.
        choices: For each item, the poses it may take; its first that fits is used.

    Raises:
        NestError: An item lies across an end of the table wherever it meets the cloth's pattern.
    """
    measure = cache(partial(_measured, problem))
    crates = [_crate(item, choices[item], measure) for item in problem.free]
    blocks = _blocks(problem)
    lays: list[tuple[Laid, ...] | None] = [_single_file(problem, crates, blocks, choices, measure)]
    if not any(item.match for item in problem.items):
        lays.append(_columns(problem, crates, blocks))
    if not (problem.fold or blocks or problem.table or len(lays) == 1):
        ways = (rectpack.MaxRectsBl, rectpack.SkylineBl, rectpack.MaxRectsBssf)
        lays += [_packed(problem, crates, way) for way in ways if way is rectpack.SkylineBl or len(crates) <= MANY]
    sound = [one for one in lays if one is not None and boxes_are_apart(problem, one, measure)]
    best = min(((*one, *problem.locked) for one in sound), key=lambda one: _reached(one, measure))
    return tuple(sorted(best, key=lambda laid: laid.item))


def boxes_are_apart(problem: Problem, placed: tuple[Laid, ...], measure: _Measure | None = None) -> bool:
    """Every item that is not locked is laid once, its box on the strip and no nearer than the gap to another box."""
    if sorted(laid.item for laid in placed) != list(problem.free):
        return False
    measure = measure or partial(_measured, problem)
    boxes = np.zeros((len(placed), 4))
    for place, laid in enumerate(placed):
        box, low, high = measure(laid.item, laid.pose)
        if not low <= round(laid.y * UNITS) <= high or laid.x + box[0] < -1e-6:
            return False
        boxes[place] = box[0] + laid.x, box[1] + laid.y, box[2] + laid.x, box[3] + laid.y
    gap = _gap(problem) - 1e-6
    for place, (left, bottom, right, top) in enumerate(boxes):
        others = boxes[:place]
        apart = (others[:, 0] - right >= gap) | (left - others[:, 2] >= gap)
        if not (apart | (others[:, 1] - top >= gap) | (bottom - others[:, 3] >= gap)).all():
            return False
    return True


def _measured(problem: Problem, item: int, pose: Pose) -> tuple[tuple[float, float, float, float], int, int]:
    one = problem.items[item]
    return bounds(posed(one.outline, pose)), *places_across(problem, one, pose)


def _reached(placed: tuple[Laid, ...], measure: _Measure) -> float:
    """As `problem.used_length`."""
    return round(max(laid.x + measure(laid.item, laid.pose)[0][2] for laid in placed), 6)


def _crate(item: int, poses: tuple[Pose, ...], measure: _Measure) -> _Crate:
    pose = next(pose for pose in poses if measure(item, pose)[1] <= measure(item, pose)[2])
    box, low, high = measure(item, pose)
    around = (-units_up(-box[0]), -units_up(-box[1]), units_up(box[2]), units_up(box[3]))
    return _Crate(item, pose, around, low, high)


def _put(crate: _Crate, left: int, low: int) -> Laid:
    """Lay a crate with its box's lower left corner as near as the strip allows to a point (units)."""
    shift = min(max(low - crate.box[1], crate.low), crate.high)
    return Laid(crate.item, crate.pose, on_grid((left - crate.box[0]) / UNITS), on_grid(shift / UNITS))


def _gap(problem: Problem) -> float:
    """The widest gap of any item (mm)."""
    return max(problem.widest_gap(item) for item in range(len(problem.items)))


def _blocks(problem: Problem) -> list[tuple[int, int]]:
    """Lengths of the strip (units) that flaws, used areas and locked items take up, with the gap."""
    lying = [laid_outline(problem.items[laid.item], laid) for laid in problem.locked]
    gap = _gap(problem)
    return [
        (units_down(float(outline[:, 0].min()) - gap), units_up(float(outline[:, 0].max()) + gap))
        for outline in (*problem.forbidden, *lying)
    ]


def _past(problem: Problem, left: int, size: int, blocks: list[tuple[int, int]]) -> int:
    """The first place from `left` on where a box of a length lies beside no block and across no end of the table."""
    moved = True
    while moved:
        moved = False
        for start, end in blocks:
            if left < end and left + size > start:
                left, moved = end, True
        if problem.table is not None:
            end = _next_end(problem.table, left)
            if left + size > end:
                left, moved = end, True
    return left


def _next_end(table: float, left: int) -> int:
    """The first end of the table (mm) beyond a place (units), in units, as `stock` lays them."""
    number = int(left / (table * UNITS))
    return next(end for end in (units_down(more * table) for more in itertools.count(number)) if end > left)


def _single_file(
    problem: Problem,
    crates: list[_Crate],
    blocks: list[tuple[int, int]],
    choices: tuple[tuple[Pose, ...], ...],
    measure: _Measure,
) -> tuple[Laid, ...]:
    """One after another, each in the first pose in which it goes: possible but for a pattern that fits no table."""
    gap, left, placed = units_up(_gap(problem)), 0, []
    for crate in crates:
        laid = _next_in_file(problem, crate, left, blocks)
        others = (pose for pose in choices[crate.item] if pose != crate.pose)
        while laid is None:
            pose = next(others, None)
            if pose is None:
                assert problem.table is not None
                raise NestError(
                    f"it lies across an end of the table, {problem.table:.2f} mm long, wherever it meets the cloth's "
                    "pattern",
                    "Take a longer table, or do not match this piece along the cloth",
                    place=f'piece "{problem.items[crate.item].name}"',
                )
            if measure(crate.item, pose)[1] <= measure(crate.item, pose)[2]:
                crate = _crate(crate.item, (pose,), measure)
                laid = _next_in_file(problem, crate, left, blocks)
        placed.append(laid)
        left = _left(crate, laid) + crate.box[2] - crate.box[0] + gap
    return tuple(placed)


def _next_in_file(problem: Problem, crate: _Crate, left: int, blocks: list[tuple[int, int]]) -> Laid | None:
    """The first place from `left` on beside no block and across no end of the table; None where there is none."""
    size = crate.box[2] - crate.box[0]
    start = left = _past(problem, left, size, blocks)
    while True:
        laid = _met(problem, _put(crate, left, 0), crate)
        at = _left(crate, laid)
        left = _past(problem, at, size, blocks)
        if left == at:
            return laid
        if problem.table is not None and at - start > FARTHEST * problem.table * UNITS:
            return None  # the pattern led it across an end every time


def _left(crate: _Crate, laid: Laid) -> int:
    return round(laid.x * UNITS) + crate.box[0]


def _met(problem: Problem, laid: Laid, crate: _Crate) -> Laid:
    """A box moved on, towards the end and up, to the next place where it meets the cloth's pattern."""
    match = problem.items[laid.item].match
    if match is None:
        return laid
    starts, shift = match.shift(laid.pose), [laid.x, laid.y]
    for axis in range(2):
        if match.repeat[axis] > 0:
            start = starts[axis]
            least = shift[axis] if axis == 0 else crate.low / UNITS
            count = math.ceil((least - start - match.tolerance) / match.repeat[axis] - 1e-9)
            met = units_up(max(start + count * match.repeat[axis], least))
            shift[axis] = (met if axis == 0 else min(met, crate.high)) / UNITS
    return Laid(laid.item, laid.pose, on_grid(shift[0]), on_grid(shift[1]))


def _columns(problem: Problem, crates: list[_Crate], blocks: list[tuple[int, int]]) -> tuple[Laid, ...]:
    """Columns across the strip, longest items first, each in the first column with room; one fold item a column."""
    gap = units_up(_gap(problem))
    columns: list[tuple[list[_Crate], bool]] = []
    longest = sorted(crates, key=lambda crate: (crate.box[0] - crate.box[2], not problem.items[crate.item].on_fold))
    width = units_down(problem.width - (_gap(problem) if problem.far_fold else 0.0))
    for crate in longest:
        on_fold = problem.items[crate.item].on_fold
        for column in columns:
            used = sum(one.box[3] - one.box[1] + gap for one in column[0])
            if (
                not on_fold
                and used + crate.box[3] - crate.box[1] + (0 if column[1] or not problem.fold else gap) <= width
            ):
                column[0].append(crate)
                break
        else:
            columns.append(([crate], on_fold))
    placed, left = [], 0
    for column in columns:
        low = 0 if column[1] or not problem.fold else gap
        left = _past(problem, left, max(crate.box[2] - crate.box[0] for crate in column[0]), blocks)
        for crate in column[0]:
            placed.append(_put(crate, left, low))
            low += crate.box[3] - crate.box[1] + gap
        left += max(crate.box[2] - crate.box[0] for crate in column[0]) + gap
    return tuple(sorted(placed, key=lambda laid: laid.item))


def _packed(problem: Problem, crates: list[_Crate], way: Callable[..., object]) -> tuple[Laid, ...] | None:
    """The rectangle packer's lay; across the strip first, so that the strip fills from its start."""
    gap = units_up(_gap(problem))
    packer = rectpack.newPacker(
        mode=rectpack.PackingMode.Offline, bin_algo=rectpack.PackingBin.BBF, pack_algo=way, rotation=False
    )
    length = sum(crate.box[2] - crate.box[0] + gap for crate in crates)
    packer.add_bin(units_down(problem.width) + gap, length)
    for number, crate in enumerate(crates):
        packer.add_rect(crate.box[3] - crate.box[1] + gap, crate.box[2] - crate.box[0] + gap, rid=number)
    packer.pack()
    placed = [_put(crates[number], left, low) for _, low, left, _, _, number in packer.rect_list()]
    return tuple(sorted(placed, key=lambda laid: laid.item))
