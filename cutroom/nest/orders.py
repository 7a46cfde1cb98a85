"""Which orders the search tries: a few by size, then changes of the best found."""

from collections.abc import Generator
from dataclasses import dataclass, replace

import numpy as np

from cutroom.geometry.polygon import area
from cutroom.nest.groups import Groups, allowed, first_turns
from cutroom.nest.lay import Recipe, Style, Trace
from cutroom.nest.problem import Laid, used_length
from cutroom.nest.stock import Stock

MEMORY = 20
"""Changes that late acceptance looks back."""
ROOM = 1.5
"""Share of the boxes' length that the first orders may take: changes may make up for a poor start."""
STYLES = (Style(1.0, 0.01), Style(1.5, 0.01), Style(0.5, 0.1), Style(0.5, -0.05), Style(1.0, 0.05))
"""Reach tells apart only poses of unlike length, so that it matters where quarter turns are allowed."""


@dataclass(frozen=True, slots=True)
class Try:
    """A recipe to lay.

    Attributes:
        recipe: What to lay and how.
        limit: Length (mm) that it must not exceed.
        earlier: A recipe laid before that may begin alike.
    """

    recipe: Recipe
    limit: float
    earlier: Trace | None


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a try: how it was laid, or None, and its length (mm), or infinity."""

    trace: Trace | None
    length: float


def orders(
    stock: Stock,
    groups: Groups,
    boxes: tuple[Laid, ...],
    rng: np.random.Generator,
    worker: int = 0,
    workers: int = 1,
) -> Generator[Try, Outcome, None]:
    """Recipes to try; is sent what came of each.

    First a few by size, of which each worker takes its share; then changes of the recipe in hand. A change is taken up
    when it is no longer than the recipe in hand, or than the one in hand MEMORY changes ago: late acceptance, which
    leaves dead ends without a temperature.

    Args:
        stock: What is to be laid.
        groups: Items that must take one turn.
        boxes: The lay of the boxes, whose order is tried as well.
        rng: Draws the changes.
        worker: Which of the workers this is.
        workers: How many there are.
    """
    starts = _first_recipes(stock, groups, boxes)
    starts = starts[worker::workers] or starts[:1]
    hand, length, recipe = None, ROOM * used_length(stock.problem.items, boxes), starts[0]
    for start in starts:
        outcome = yield Try(start, length, None)
        if outcome.length < length or (hand is None and outcome.trace is not None):
            hand, length, recipe = outcome.trace, outcome.length, start
    memory, at = [length] * MEMORY, 0
    while True:
        changed = _changed(recipe, stock, groups, rng)
        late = max(length, memory[at])
        outcome = yield Try(changed, late, hand)
        if outcome.trace is not None:
            hand, length, recipe = outcome.trace, outcome.length, changed
        memory[at] = length
        at = (at + 1) % MEMORY


def _first_recipes(stock: Stock, groups: Groups, boxes: tuple[Laid, ...]) -> list[Recipe]:
    """The boxes' lay pushed together, as it lies and free to turn; then by size in several ways."""
    items = stock.problem.items
    areas = [area(item.outline) for item in items]
    sides = [choices[0][1].box for choices in stock.choices]
    lengths, widths = [box[2] - box[0] for box in sides], [box[3] - box[1] for box in sides]
    keys = (areas, lengths, widths, [a + b for a, b in zip(lengths, widths, strict=True)])
    by_size = [sorted(range(len(items)), key=lambda item: (-key[item], item)) for key in keys]
    along = tuple(laid.item for laid in sorted(boxes, key=lambda laid: (round(laid.x + _near(stock, laid), 2), laid.y)))
    free = allowed(stock.problem, groups, first_turns(groups))
    lying = {laid.item: (laid.pose,) for laid in boxes}
    recipes = [Recipe(along, free, STYLES[0]), Recipe(along, tuple(lying[n] for n in range(len(items))), STYLES[0])]
    for turns in dict.fromkeys((first_turns(groups), first_turns(groups, 1))):
        poses = allowed(stock.problem, groups, turns)
        recipes += [Recipe(tuple(order), poses, style) for style in STYLES for order in by_size]
        recipes.append(Recipe(_one_of_each(by_size[0], groups.of), poses, STYLES[0]))
    return recipes


def _near(stock: Stock, laid: Laid) -> float:
    """Where the near end of an item lies, before its shift (mm)."""
    return next(variant.box[0] for pose, variant in stock.choices[laid.item] if pose == laid.pose)


def _one_of_each(order: list[int], of: tuple[int, ...]) -> tuple[int, ...]:
    """The same order, but the groups take turns."""
    taken = [0] * (max(of) + 1)
    rounds = []
    for item in order:
        rounds.append((taken[of[item]], item))
        taken[of[item]] += 1
    return tuple(item for _, item in sorted(rounds, key=lambda one: one[0]))


def _turns_of(recipe: Recipe, groups: Groups) -> tuple[float, ...]:
    """The turn that each group takes in a recipe."""
    return tuple(recipe.poses[groups.of.index(group)][0].turn_deg for group in range(len(groups.turns)))


def _changed(recipe: Recipe, stock: Stock, groups: Groups, rng: np.random.Generator) -> Recipe:
    """A recipe with one thing changed: two items change places, a run moves, or a turn or the style is another."""
    order, count = list(recipe.order), len(recipe.order)
    kind = rng.random()
    if groups.turns and kind < 0.1:
        group = int(rng.integers(len(groups.turns)))
        turn = groups.turns[group][int(rng.integers(len(groups.turns[group])))]
        poses = tuple(
            tuple(pose for pose in item.poses if pose.turn_deg == turn) if of == group else kept
            for item, of, kept in zip(stock.problem.items, groups.of, recipe.poses, strict=True)
        )
        return replace(recipe, poses=poses)
    if kind < 0.3:
        item = int(rng.integers(count))
        free = allowed(stock.problem, groups, _turns_of(recipe, groups))[item]
        one = (free[int(rng.integers(len(free)))],) if recipe.poses[item] == free else free
        return replace(recipe, poses=(*recipe.poses[:item], one, *recipe.poses[item + 1 :]))
    if kind < 0.32 or count < 2:
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
