"""The search: a layout found, then bettered until time is over; the best kept."""

import math
import threading
import time
from collections.abc import Callable
from concurrent.futures import FIRST_EXCEPTION, ThreadPoolExecutor, wait
from typing import TYPE_CHECKING

from cutroom.nest.groups import allowed, first_turns, group_items
from cutroom.nest.known import Known
from cutroom.nest.problem import (
    BROKEN_OFF,
    LATE,
    Laid,
    Layout,
    Problem,
    Progress,
    refuse_unlayable,
    used_length,
    with_places_only,
)
from cutroom.nest.rough import lay_boxes
from cutroom.nest.warm import wait_until_warm

if TYPE_CHECKING:
    from cutroom.nest.search import Best, Search

HEARTBEAT = 0.02
"""Seconds between looks at the clock while the searches work."""


def solve(
    problem: Problem,
    *,
    seconds: float,
    seed: int,
    tries: int | None = None,
    workers: int = 1,
    start: tuple[Laid, ...] = (),
    known: Known | None = None,
    progress: Callable[[Progress], None] | None = None,
    clock: Callable[[], float] = time.monotonic,
) -> Layout:
    """Lay all items of a problem in as little length as can be found.

    What is tried depends on the seed alone and the best is kept, so that more seconds never make it longer (two workers
    hand each other their best, so that they depend on the clock as well). The first run on a machine has to compile the
    inner loops; when that takes longer than the time given, the answer is the lay of the boxes, with nothing tried.

    Args:
        problem: What to lay.
        seconds: Time to search, all included; with the loops compiled, one order is always laid in full.
        seed: Of the search.
        tries: Tries to make, whatever the clock says; None tries until the time is over.
        workers: Searches side by side. Where tries are counted they share nothing but the shapes.
        start: A layout to go on from, all items in order: an earlier answer, or one in which somebody moved pieces. The
            answer is never longer than it, when it is sound.
        known: What was worked out of shapes before; is added to.
        progress: Is told of each better length, one after another, from the search that found it.
        clock: Seconds that only grow.

    Raises:
        NestError: It cannot be laid.
    """
    began = clock()
    refuse_unlayable(problem)
    problem = with_places_only(problem)
    groups = group_items(problem)
    boxes = lay_boxes(problem, allowed(problem, groups, first_turns(groups)))
    boxes_length = used_length(problem.items, boxes)
    searches: list[Search] = []
    stopped = False
    try:
        if wait_until_warm(seconds=None if tries is not None else seconds, clock=clock):
            # loaded only now: it compiles, or loads what was compiled
            from cutroom.nest.search import begin

            def left() -> float:
                return math.inf if tries is not None else seconds - (clock() - began)

            said = threading.Lock()
            shortest = boxes_length

            def tell(best: "Best", tried: int) -> None:
                nonlocal shortest
                with said:  # the searches may have bettered it since, or each other's
                    if progress is not None and best.length < shortest:
                        shortest = best.length
                        progress(Progress(best.length, tried, clock() - began, best.placed))

            searches = begin(
                problem,
                groups,
                boxes,
                seed=seed,
                tries=tries,
                workers=workers,
                start=start,
                known=known,
                left=left,
                tell=tell,
            )
            _run(searches, left)
    except KeyboardInterrupt:
        stopped = True
    placed, length = boxes, boxes_length
    for search in searches:
        if search.best.length < length:
            placed, length = search.best.placed, search.best.length
    larger = searches[0].stock.larger if searches else 0.0
    return Layout(placed, length, boxes_length, sum(search.tried for search in searches), stopped, larger)


def _run(searches: "list[Search]", left: Callable[[], float]) -> None:
    """Run searches side by side. They run in threads of their own, so that Ctrl-C is heard while the loops work."""
    halt = searches[0].halt
    with ThreadPoolExecutor(len(searches)) as pool:
        running = [pool.submit(search.run) for search in searches]
        try:
            while wait(running, timeout=HEARTBEAT, return_when=FIRST_EXCEPTION).not_done:
                if any(search.done() and search.exception() for search in running):
                    break
                if halt[0] == 0 and left() <= 0:
                    halt[0] = LATE
        finally:
            halt[0] = BROKEN_OFF
        for search in running:
            search.result()
