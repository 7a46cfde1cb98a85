"""The search: many orders laid, the best kept."""

import time
from collections.abc import Callable

import numpy as np

from cutroom.nest.lay import lay
from cutroom.nest.orders import allowed, first_turns, group_items, orders
from cutroom.nest.problem import Layout, Problem, Progress, refuse_unlayable, used_length
from cutroom.nest.rough import lay_boxes
from cutroom.nest.stock import gather


def solve(
    problem: Problem,
    *,
    seconds: float,
    seed: int,
    tries: int | None = None,
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
        progress: Is told of each better length.
        clock: Seconds that only grow.

    Raises:
        NestError: It cannot be laid.
    """
    start = clock()
    refuse_unlayable(problem)
    groups = group_items(problem)
    best = lay_boxes(problem, allowed(problem, groups, first_turns(groups)))
    boxes_length = length = used_length(problem.items, best)
    tried, stopped = 0, False

    def is_over() -> bool:
        return tries is None and tried > 0 and clock() - start >= seconds

    try:
        stock = gather(problem)
        search = orders(stock, groups, np.random.default_rng(seed))
        recipe, limit = next(search)
        while not is_over() and (tries is None or tried < tries):
            poses = allowed(problem, groups, recipe.turns)
            laid = lay(stock, recipe.order, poses, recipe.style, min(limit, length * 2), stop=is_over)
            tried += 1
            found = used_length(problem.items, laid) if laid is not None else np.inf
            if laid is not None and found < length:
                best, length = laid, found
                if progress is not None:
                    progress(Progress(length, tried, clock() - start))
            recipe, limit = search.send((laid, found))
    except KeyboardInterrupt:
        stopped = True
    return Layout(best, length, boxes_length, tried, stopped)
