"""The search: many orders laid, the best kept."""

import time
from collections.abc import Callable, Generator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from cutroom.nest.lay import lay, settle
from cutroom.nest.orders import Outcome, Try, allowed, first_turns, group_items, orders
from cutroom.nest.problem import Laid, Layout, Pose, Problem, Progress, refuse_unlayable, used_length
from cutroom.nest.rough import lay_boxes
from cutroom.nest.stock import Stock, gather

PASSES = 3
"""Times that the boxes' lay is pushed together, at most, where the first order is no better."""


def solve(
    problem: Problem,
    *,
    seconds: float,
    seed: int,
    tries: int | None = None,
    workers: int = 1,
    progress: Callable[[Progress], None] | None = None,
    clock: Callable[[], float] = time.monotonic,
) -> Layout:
    """Lay all items of a problem in as little length as can be found.

    The orders tried depend on the seed alone and the best is kept, so that more seconds never make it longer.

    Args:
        problem: What to lay.
        seconds: Time to search; one order is always laid in full.
        seed: Of the search.
        tries: Orders to try, whatever the clock says; None tries until the time is over.
        workers: Searches side by side, which share nothing but the shapes; the best of all is taken.
        progress: Is told of each better length.
        clock: Seconds that only grow.

    Raises:
        NestError: It cannot be laid.
    """
    start = clock()
    refuse_unlayable(problem)
    groups = group_items(problem)
    boxes = lay_boxes(problem, allowed(problem, groups, first_turns(groups)))
    boxes_length = used_length(problem.items, boxes)
    best = _Best(boxes, boxes_length)
    searches: list[_Search] = []
    stopped = False
    try:
        stock = gather(problem)
        for worker in range(workers):
            rng = np.random.default_rng([seed, worker])
            share = None if tries is None else (tries + workers - 1 - worker) // workers
            until = (lambda: clock() - start >= seconds) if tries is None else (lambda: False)
            tell = (lambda length, tried: progress(Progress(length, tried, clock() - start))) if progress else None
            recipes = orders(stock, groups, boxes, rng, worker, workers)
            searches.append(_Search(stock, recipes, best, share, until, tell))
        if workers == 1:
            searches[0].run()
        else:
            with ThreadPoolExecutor(workers) as pool:
                try:
                    for done in [pool.submit(search.run) for search in searches]:
                        done.result()
                finally:
                    for search in searches:
                        search.broken_off = True
    except KeyboardInterrupt:
        stopped = True
    for search in searches:
        best = search.best if search.best.length < best.length else best
    placed = tuple(sorted(best.placed, key=lambda laid: laid.item))
    return Layout(placed, best.length, boxes_length, sum(search.tried for search in searches), stopped)


@dataclass(frozen=True, slots=True)
class _Best:
    placed: tuple[Laid, ...]
    length: float


class _Search:
    """One worker's search; what it has found may be read at any time."""

    def __init__(
        self,
        stock: Stock,
        recipes: Generator[Try, Outcome, None],
        best: _Best,
        tries: int | None,
        is_late: Callable[[], bool],
        tell: Callable[[float, int], None] | None,
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
                self.best = _Best(trace.placed, length)
                if self.tell is not None:
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
            self.best = _Best(placed, length)

    def _is_late(self) -> bool:
        return self.broken_off or self.is_late()

    def _is_over(self) -> bool:
        if self.tries is not None:
            return self.broken_off or self.tried >= self.tries
        return self.broken_off or (self.tried > 0 and self.is_late())
