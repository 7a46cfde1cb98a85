"""Which orders the search tries: a few by size, then changes of the best found."""

from collections.abc import Generator
from dataclasses import dataclass, replace

import numpy as np

from cutroom.errors import NestError
from cutroom.geometry.polygon import area
from cutroom.nest.lay import Style
from cutroom.nest.problem import Laid, Pose, Problem
from cutroom.nest.stock import Stock

STYLES = (
    Style(0.5, 0.01),
    Style(1.0, 0.01),
    Style(0.0, 0.01),
    Style(0.5, 0.1),
    Style(1.0, 0.1),
    Style(0.75, -0.05),
)


@dataclass(frozen=True, slots=True)
class Recipe:
    """All that decides a layout.

    Attributes:
        order: The items, in the order in which they are laid.
        turns: The turn (degrees) of each group, where all of a group go one way.
        style: What makes a spot good.
    """

    order: tuple[int, ...]
    turns: tuple[float, ...]
    style: Style


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


Answer = tuple[tuple[Laid, ...] | None, float]
"""A layout and its length (mm), or None and infinity."""


def orders(stock: Stock, groups: Groups, rng: np.random.Generator) -> Generator[tuple[Recipe, float], Answer, None]:
    """Recipes to try, each with the length (mm) that it must not exceed; is sent what came of each."""
    best_length, best = np.inf, None
    for recipe in _first_recipes(stock, groups):
        _, length = yield recipe, best_length
        if length < best_length or best is None:
            best_length, best = length, recipe
    assert best is not None
    while True:
        recipe = _changed(best, groups, rng)
        _, length = yield recipe, best_length
        if length <= best_length:
            best_length, best = length, recipe


def _first_recipes(stock: Stock, groups: Groups) -> list[Recipe]:
    items = stock.problem.items
    areas = [area(item.outline) for item in items]
    boxes = [choices[0][1].box for choices in stock.choices]
    lengths, widths = [box[2] - box[0] for box in boxes], [box[3] - box[1] for box in boxes]
    keys = (areas, lengths, widths, [a + b for a, b in zip(lengths, widths, strict=True)])
    recipes = []
    for turns in dict.fromkeys((first_turns(groups), first_turns(groups, 1))):
        for style in STYLES:
            for key in keys:
                order = tuple(sorted(range(len(items)), key=lambda item: (-key[item], item)))
                recipes.append(Recipe(order, turns, style))
        taken: dict[int, int] = {}
        places = []
        for item in recipes[-1].order:  # by turns: one item of each group
            taken[groups.of[item]] = taken.get(groups.of[item], 0) + 1
            places.append((taken[groups.of[item]], item))
        recipes.append(Recipe(tuple(item for _, item in sorted(places, key=lambda place: place[0])), turns, STYLES[0]))
    return recipes


def _changed(recipe: Recipe, groups: Groups, rng: np.random.Generator) -> Recipe:
    """A recipe with one thing changed: two items change places, a run moves, or a turn or the style is another."""
    order, count = list(recipe.order), len(recipe.order)
    kind = rng.random()
    if groups.turns and kind < 0.1:
        group = int(rng.integers(len(groups.turns)))
        turn = groups.turns[group][int(rng.integers(len(groups.turns[group])))]
        return replace(recipe, turns=(*recipe.turns[:group], turn, *recipe.turns[group + 1 :]))
    if kind < 0.15 or count < 2:
        return replace(recipe, style=STYLES[int(rng.integers(len(STYLES)))])
    if kind < 0.6:
        a, b = (int(place) for place in rng.choice(count, 2, replace=False))
        order[a], order[b] = order[b], order[a]
    else:
        size = 1 + int(rng.integers(min(4, count - 1)))
        at = int(rng.integers(count - size + 1))
        run = order[at : at + size]
        del order[at : at + size]
        to = int(rng.integers(len(order) + 1))
        order[to:to] = run
    return replace(recipe, order=tuple(order))
