"""Items that must lie one way together: the pieces of a garment on a cloth with a nap."""

from dataclasses import dataclass

from cutroom.errors import NestError
from cutroom.nest.problem import Pose, Problem


@dataclass(frozen=True, slots=True)
class Groups:
    """Items that must take one and the same turn.

    Attributes:
        of: The group of each item.
        turns: The turns that each group may take (degrees); empty when items are free of each other.
    """

    of: tuple[int, ...]
    turns: tuple[tuple[float, ...], ...]


def group_items(problem: Problem) -> Groups:
    """Sort items by group.

    Raises:
        NestError: The items of a group have no turn in common.
    """
    names = list(dict.fromkeys(item.group for item in problem.items))
    of = tuple(names.index(item.group) for item in problem.items)
    if not problem.same_way:
        return Groups(of, ())
    turns = []
    for name in names:
        members = [item for item in problem.items if item.group == name]
        common = [pose.turn_deg for pose in members[0].poses]
        common = [
            turn for turn in dict.fromkeys(common) if all(any(p.turn_deg == turn for p in m.poses) for m in members)
        ]
        if not common:
            raise NestError(
                f'the pieces of garment "{name}" have no turn in common, and must all lie the same way',
                "Allow one turn for all of them, or give the pieces of that garment their own direction",
            )
        turns.append(tuple(common))
    return Groups(of, tuple(turns))


def allowed(problem: Problem, groups: Groups, turns: tuple[float, ...]) -> tuple[tuple[Pose, ...], ...]:
    """The poses that each item may take when its group takes the given turn."""
    if not groups.turns:
        return tuple(item.poses for item in problem.items)
    return tuple(
        tuple(pose for pose in item.poses if pose.turn_deg == turns[group])
        for item, group in zip(problem.items, groups.of, strict=True)
    )


def first_turns(groups: Groups, step: int = 0) -> tuple[float, ...]:
    """The first turn of each group; with `step` 1, of each next group the next."""
    return tuple(turns[(group * step) % len(turns)] for group, turns in enumerate(groups.turns))
