"""How short, and how fast, the nest lays: `python -m tests.bench.nesting --instances DIR --seconds S`.

Prints a row an instance: the density of the boxes' lay and of the layout found, its length, orders tried and pieces
laid each second. Reads every open strip-packing instance of a folder.
"""

import argparse
import time
from pathlib import Path
from statistics import median

from cutroom.geometry.polygon import area
from cutroom.nest.instance import read_instance
from cutroom.nest.problem import Layout
from cutroom.nest.solve import solve
from cutroom.nest.stock import gather


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure the nest on a folder of instances.")
    parser.add_argument("--instances", type=Path, required=True)
    parser.add_argument("--seconds", type=float, default=10.0)
    parser.add_argument("--seeds", type=int, default=1)
    parser.add_argument("--only", nargs="*", default=[])
    chosen = parser.parse_args()
    print("instance       items  shapes s  seconds    length  density %  boxes %  tries/s  pieces/s")
    for path in sorted(chosen.instances.glob("*.json")):
        if chosen.only and path.stem not in chosen.only:
            continue
        instance = read_instance(path)
        problem = instance.problem
        start = time.monotonic()
        gather(problem)
        shapes = time.monotonic() - start
        found: list[tuple[float, Layout]] = []
        for seed in range(chosen.seeds):
            start = time.monotonic()
            layout = solve(problem, seconds=chosen.seconds, seed=seed)
            found.append((time.monotonic() - start, layout))
        covered = sum(area(item.outline) for item in problem.items) / problem.width
        length = median(layout.length for _, layout in found)
        seconds = median(taken for taken, _ in found)
        tries = sum(layout.tries for _, layout in found) / max(sum(taken for taken, _ in found) - shapes, 1e-9)
        print(
            f"{path.stem:<14} {len(problem.items):5}  {shapes:8.2f}  {seconds:7.2f}  {length / instance.scale:8.2f}"
            f"  {100 * covered / length:9.2f}  {100 * covered / found[0][1].boxes_length:7.2f}"
            f"  {tries:7.1f}  {tries * len(problem.items):8.0f}",
            flush=True,
        )


if __name__ == "__main__":
    main()
