"""The orders in which items are laid for a first layout: by size in several ways."""

from dataclasses import replace

from cutroom.geometry.polygon import area
from cutroom.nest.groups import Groups, allowed, first_turns
from cutroom.nest.lay import Recipe, Style
from cutroom.nest.problem import Laid
from cutroom.nest.stock import Stock

STYLES = (Style(1.0, 0.01), Style(0.5, 0.1), Style(0.5, -0.05))
"""Reach tells apart only poses of unlike length, so that it matters where quarter turns are allowed."""
WORK = 1000
"""Pieces laid in all, about: a few items are laid in every order, thousands in one."""


def recipes(stock: Stock, groups: Groups, boxes: tuple[Laid, ...]) -> tuple[Recipe, ...]:
    """The orders to lay: the boxes' own, free to turn and as it lies; then by size in several ways.

    Args:
        stock: What is to be laid.
        groups: Items that must take one turn.
        boxes: The lay of the boxes.
    """
    items = stock.problem.items
    areas = [area(item.outline) for item in items]
    sides = [choices[0][1].box for choices in stock.choices]
    lengths, widths = [box[2] - box[0] for box in sides], [box[3] - box[1] for box in sides]
    keys = (areas, lengths, widths, [a + b for a, b in zip(lengths, widths, strict=True)])
    by_size = [sorted(range(len(items)), key=lambda item: (-key[item], item)) for key in keys]
    along = tuple(laid.item for laid in sorted(boxes, key=lambda laid: (round(laid.x + _near(stock, laid), 2), laid.y)))
    free = allowed(stock.problem, groups, first_turns(groups))
    lying = {laid.item: (laid.pose,) for laid in boxes}
    made = [Recipe(along, free, STYLES[0]), Recipe(along, tuple(lying[n] for n in range(len(items))), STYLES[0])]
    for turns in dict.fromkeys((first_turns(groups), first_turns(groups, 1))):
        poses = allowed(stock.problem, groups, turns)
        made.append(Recipe(tuple(by_size[0]), poses, STYLES[0]))
        made.append(Recipe(_one_of_each(by_size[0], groups.of), poses, STYLES[0]))
        made += [Recipe(tuple(order), poses, style) for style in STYLES for order in by_size]
    unlocked = set(stock.problem.free)
    made = [replace(recipe, order=tuple(item for item in recipe.order if item in unlocked)) for recipe in made]
    return tuple(dict.fromkeys(made))[: max(1, WORK // len(items))]


def _near(stock: Stock, laid: Laid) -> float:
    """Where the near end of an item lies, before its shift (mm)."""
    return stock.way(laid.item, laid.pose).box[0]


def _one_of_each(order: list[int], of: tuple[int, ...]) -> tuple[int, ...]:
    """The same order, but the groups take turns."""
    taken = [0] * (max(of) + 1)
    rounds = []
    for item in order:
        rounds.append((taken[of[item]], item))
        taken[of[item]] += 1
    return tuple(item for _, item in sorted(rounds, key=lambda one: one[0]))
