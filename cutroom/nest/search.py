"""A search: recipes laid one after another, the best kept."""

from collections.abc import Callable, Generator
from dataclasses import dataclass

import numpy as np

from cutroom.nest.groups import Groups
from cutroom.nest.lay import lay, settle
from cutroom.nest.orders import Outcome, Try, orders
from cutroom.nest.problem import Laid, Pose, Problem, used_length
from cutroom.nest.stock import Stock, gather

PASSES = 3
"""Times that the boxes' lay is pushed together, at most, where the first order is no better."""


@dataclass(frozen=True, slots=True)
class Best:
    """The best lay so far, and its length (mm)."""

    placed: tuple[Laid, ...]
    length: float


def begin(
    problem: Problem,
    groups: Groups,
    boxes: tuple[Laid, ...],
    *,
    seed: int,
    tries: int | None,
    workers: int,
    is_late: Callable[[], bool],
    tell: Callable[[float, int], None],
) -> "list[Search]":
    """Work out the shapes of a problem and set up its searches, one for each worker, none of them running yet.

    Args:
        problem: What to lay.
        groups: Items that must take one turn.
        boxes: The lay of the boxes, to be bettered.
        seed: Of the searches.
        tries: Orders to try, shared out, or None.
        workers: How many searches.
        is_late: Whether the time is over.
        tell: Told of each better length (mm) and the tries it took.
    """
    stock = gather(problem)
    best = Best(boxes, used_length(problem.items, boxes))
    searches = []
    for worker in range(workers):
        rng = np.random.default_rng([seed, worker])
        share = None if tries is None else (tries + workers - 1 - worker) // workers
        recipes = orders(stock, groups, boxes, rng, worker, workers)
        searches.append(Search(stock, recipes, best, share, is_late, tell))
    return searches


class Search:
    """One worker's search; what it has found may be read at any time."""

    def __init__(
        self,
        stock: Stock,
        recipes: Generator[Try, Outcome, None],
        best: Best,
        tries: int | None,
        is_late: Callable[[], bool],
        tell: Callable[[float, int], None],
    ) -> None:
        self.stock, self.recipes, self.best, self.tries = stock, recipes, best, tries
        self.is_late, self.tell = is_late, tell
        self.tried = 0
        self.broken_off = False

    def run(self) -> None:
        """Try recipes until the time is over or all tries are made; the first is always laid in full."""
        wanted = next(self.recipes)
        while not self._is_over():
            trace = lay(self.stock, wanted.recipe, wanted.limit, earlier=wanted.earlier, stop=self._is_over)
            self.tried += 1
            length = np.inf if trace is None else used_length(self.stock.problem.items, trace.placed)
            if trace is not None and length < self.best.length:
                self.best = Best(trace.placed, length)
                self.tell(self.best.length, self.tried)
            elif self.tried == 1:  # the boxes' lay is still the best
                self.settle(wanted.recipe.poses)
            wanted = self.recipes.send(Outcome(trace, float(length)))

    def settle(self, poses: tuple[tuple[Pose, ...], ...]) -> None:
        """Push the best layout together, as long as that makes it shorter."""
        for _ in range(PASSES):
            placed = settle(self.stock, self.best.placed, poses, stop=self._is_late)
            length = used_length(self.stock.problem.items, placed)
            if length >= self.best.length:
                break
            self.best = Best(placed, length)

    def _is_late(self) -> bool:
        return self.broken_off or self.is_late()

    def _is_over(self) -> bool:
        if self.tries is not None:
            return self.broken_off or self.tried >= self.tries
        return self.broken_off or (self.tried > 0 and self.is_late())
