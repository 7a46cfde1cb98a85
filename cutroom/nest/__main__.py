"""Nest one open strip-packing instance: `python -m cutroom.nest INSTANCE.json --seconds S --seed N`.

The first run on a machine compiles the inner loops; that does not count in the seconds, and is said on standard error.
"""

import argparse
import json
import sys
import time
from pathlib import Path

from cutroom.errors import CutroomError
from cutroom.nest.instance import answer, read_instance
from cutroom.nest.limits import out_of_range
from cutroom.nest.warm import FIRST_RUN, is_warm, wait_until_warm


def main(arguments: list[str] | None = None) -> int:
    """Read an instance, nest it and print one JSON object.

    Returns:
        0, or 1 when it cannot be done, or 2 when an option is out of its range, or 130 when stopped by Ctrl-C after
        printing the best so far.
    """
    parser = argparse.ArgumentParser(prog="python -m cutroom.nest", description="Nest one strip-packing instance.")
    parser.add_argument("instance", type=Path, help="the instance, a JSON file")
    parser.add_argument("--seconds", type=float, default=10.0, help="time to search, all included")
    parser.add_argument("--tries", type=int, help="steps to make instead, whatever the clock says")
    parser.add_argument("--seed", type=int, default=0, help="seed of the search")
    parser.add_argument("--workers", type=int, default=1, help="searches side by side")
    chosen = parser.parse_args(arguments)
    if words := out_of_range(chosen.seconds, chosen.tries, chosen.seed):
        print(words, file=sys.stderr)
        return 2
    try:
        start = time.monotonic()
        instance = read_instance(chosen.instance)
        if not is_warm():
            print(FIRST_RUN, file=sys.stderr, flush=True)
            wait_until_warm(seconds=None)
            start = time.monotonic()
        from cutroom.nest.solve import solve  # the compiled loops are loaded only for a readable instance

        left = chosen.seconds - (time.monotonic() - start)
        workers = max(1, chosen.workers)
        layout = solve(instance.problem, seconds=max(left, 0.0), seed=chosen.seed, tries=chosen.tries, workers=workers)
    except CutroomError as error:
        print(error, file=sys.stderr)
        return error.exit_code
    except KeyboardInterrupt:
        return 130
    print(json.dumps(answer(instance, layout, time.monotonic() - start)))
    return 130 if layout.stopped else 0


if __name__ == "__main__":
    sys.exit(main())
