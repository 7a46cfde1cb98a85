"""A progress line on the terminal; silent where there is none."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

from cutroom.job.make import Stage


@contextmanager
def shown_progress(seconds: float) -> Iterator[Callable[[Stage], None]]:
    """Show where the work is, on standard error.

    Args:
        seconds: Time given to laying (s).

    Yields:
        What `make` tells its stages to.
    """
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn(), TextColumn("{task.fields[best]}"))
    with Progress(*columns, console=Console(stderr=True), transient=True) as bars:
        task = bars.add_task("starting", total=None, best="")

        def tell(stage: Stage) -> None:
            if stage.progress is None:
                bars.update(task, description=stage.words, total=None, completed=0, best="")
            else:
                best = f"best {stage.progress.length:.0f} mm after {stage.progress.tries} arrangements"
                done = min(stage.progress.seconds, seconds)
                words = f"laying on {stage.fabric}"
                bars.update(task, description=words, total=max(seconds, 0.1), completed=done, best=best)

        yield tell
