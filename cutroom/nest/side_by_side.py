"""One kind of work on every core at once: the compiled loops let go of the interpreter's lock, so threads will do."""

import os
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

Thing = TypeVar("Thing")


def side_by_side(work: Callable[[Thing], None], things: Iterable[Thing]) -> None:
    """Do some work on each of several things, on as many at once as there are cores, this thread being one of them.

    What stops one stops all: a fault, or Ctrl-C in this thread, leaves the rest undone and goes on to the caller.

    Args:
        work: Is called once with each; keeps what it finds.
        things: Taken in order, each as soon as a thread is free.
    """
    waiting = iter(list(things))  # a list's places are handed out under the interpreter's lock, each once

    def take() -> None:
        try:
            for thing in waiting:
                work(thing)
        finally:
            list(waiting)  # whoever stops early leaves nothing for the others to take

    helpers = (os.cpu_count() or 1) - 1
    with ThreadPoolExecutor(max(helpers, 1)) as pool:
        helping = [pool.submit(take) for _ in range(helpers)]
        take()
        for helper in helping:
            helper.result()
