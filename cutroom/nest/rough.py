"""The rough first lay: boxes instead of outlines. A baseline, and an answer when there is no time for a better one."""

from collections.abc import Callable
from dataclasses import dataclass

import rectpack

from cutroom.geometry.polygon import bounds
from cutroom.nest.grid import STEP, UNITS, steps_down, steps_up
from cutroom.nest.problem import Laid, Pose, Problem, posed, room_across, used_length

Box = tuple[int, int, int, int]
"""Least x, least y, greatest x, greatest y, in grid steps."""


@dataclass(frozen=True, slots=True)
class _Crate:
    """An item's box in one pose, in grid steps, with room for the gap after it; `low` to `high` is its shift across."""

    item: int
    pose: Pose
    box: Box
    low: int
    high: int


def lay_boxes(problem: Problem, choices: tuple[tuple[Pose, ...], ...]) -> tuple[Laid, ...]:
    """Lay the items' boxes: the shortest lay of several ways that are checked to be sound.

    Args:
        problem: What to lay.
        choices: For each item, the poses it may take; its first that fits is used.
    """
    crates = [_crate(problem, item, poses) for item, poses in enumerate(choices)]
    lays = [_single_file(problem, crates), _columns(problem, crates)]
    if not problem.fold:
        lays += [
            _packed(problem, crates, way) for way in (rectpack.MaxRectsBl, rectpack.SkylineBl, rectpack.MaxRectsBssf)
        ]
    sound = [one for one in lays if one is not None and boxes_are_apart(problem, one)]
    return min(sound, key=lambda one: used_length(problem.items, one))


def boxes_are_apart(problem: Problem, placed: tuple[Laid, ...]) -> bool:
    """Every item is laid once, its box on the strip and no nearer than the gap to another box."""
    if sorted(laid.item for laid in placed) != list(range(len(problem.items))):
        return False
    boxes = []
    for laid in placed:
        least_x, least_y, most_x, most_y = bounds(posed(problem.items[laid.item].outline, laid.pose))
        low, high = _across(problem, laid.item, laid.pose)
        if not low <= round(laid.y * UNITS) <= high or laid.x + least_x < -1e-6:
            return False
        boxes.append((laid.x + least_x, laid.y + least_y, laid.x + most_x, laid.y + most_y))
    gap = problem.gap - 1e-6
    for place, (left, bottom, right, top) in enumerate(boxes):
        for other_left, other_bottom, other_right, other_top in boxes[:place]:
            beside = other_left - right >= gap or left - other_right >= gap
            if not beside and not (other_bottom - top >= gap or bottom - other_top >= gap):
                return False
    return True


def _across(problem: Problem, item: int, pose: Pose) -> tuple[int, int]:
    least, most = room_across(problem, problem.items[item], pose)
    return steps_up(least), steps_down(most)


def _crate(problem: Problem, item: int, poses: tuple[Pose, ...]) -> _Crate:
    fitting = [pose for pose in poses if _across(problem, item, pose)[0] <= _across(problem, item, pose)[1]]
    low, high = _across(problem, item, fitting[0])
    box = bounds(posed(problem.items[item].outline, fitting[0]))
    steps = (-steps_up(-box[0]), -steps_up(-box[1]), steps_up(box[2]), steps_up(box[3]))
    return _Crate(
        item,
        fitting[0],
        (steps[0] // STEP, steps[1] // STEP, steps[2] // STEP, steps[3] // STEP),
        low // STEP,
        high // STEP,
    )


def _put(crate: _Crate, left: int, low: int) -> Laid:
    """Lay a crate with its box's lower left corner as near as the strip allows to a point (grid steps)."""
    shift = min(max(low - crate.box[1], crate.low), crate.high)
    return Laid(crate.item, crate.pose, round((left - crate.box[0]) * STEP / UNITS, 2), round(shift * STEP / UNITS, 2))


def _single_file(problem: Problem, crates: list[_Crate]) -> tuple[Laid, ...]:
    """One after another: always possible."""
    gap, left, placed = steps_up(problem.gap) // STEP, 0, []
    for crate in crates:
        placed.append(_put(crate, left, 0))
        left += crate.box[2] - crate.box[0] + gap
    return tuple(placed)


def _columns(problem: Problem, crates: list[_Crate]) -> tuple[Laid, ...] | None:
    """Columns across the strip, longest items first, each in the first column with room; one fold item a column."""
    gap = steps_up(problem.gap) // STEP
    columns: list[tuple[list[_Crate], bool]] = []
    longest = sorted(crates, key=lambda crate: (crate.box[0] - crate.box[2], not problem.items[crate.item].on_fold))
    width = steps_down(problem.width - (problem.gap if problem.far_fold else 0.0)) // STEP
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
        for crate in column[0]:
            placed.append(_put(crate, left, low))
            low += crate.box[3] - crate.box[1] + gap
        left += max(crate.box[2] - crate.box[0] for crate in column[0]) + gap
    return tuple(sorted(placed, key=lambda laid: laid.item))


def _packed(problem: Problem, crates: list[_Crate], way: Callable[..., object]) -> tuple[Laid, ...] | None:
    """The rectangle packer's lay; across the strip first, so that the strip fills from its start."""
    gap = steps_up(problem.gap) // STEP
    packer = rectpack.newPacker(
        mode=rectpack.PackingMode.Offline, bin_algo=rectpack.PackingBin.BBF, pack_algo=way, rotation=False
    )
    length = sum(crate.box[2] - crate.box[0] + gap for crate in crates)
    packer.add_bin(steps_down(problem.width) // STEP + gap, length)
    for number, crate in enumerate(crates):
        packer.add_rect(crate.box[3] - crate.box[1] + gap, crate.box[2] - crate.box[0] + gap, rid=number)
    packer.pack()
    placed = [_put(crates[number], left, low) for _, low, left, _, _, number in packer.rect_list()]
    return tuple(sorted(placed, key=lambda laid: laid.item))
