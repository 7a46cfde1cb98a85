"""How short, and how fast, the nest lays: `python -m tests.bench.nesting --instances DIR --seconds S`.

For every open strip-packing instance of a folder a row: pieces, seconds, utilisation found (median of the seeds), that
of the free packing library where it is installed (same seconds, as many workers, never ended early, the same seeds),
the difference in points, the best that is published (see `records`), how much longer than proven necessary ours is, and
how many places are tried for a piece each second. Each layout, theirs and ours, is judged by shapely to a millionth
of a piece; what it objects to is said. `--alone`: ours only, as against the best that is published.

`--growth`: time to the first complete marker that the search tells of, processor time of all threads until then, and
memory, from 25 to 1600 pieces of our own invention; each marker told must be sound, and shorter than the one before.
`--compile`: time to a first layout with the inner loops to be compiled first, and with them compiled.
"""

import argparse
import itertools
import json
import math
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from statistics import mean, median
from typing import Any

import numpy as np

from cutroom.errors import CutroomError
from cutroom.geometry.kernels.types import TRIED
from cutroom.geometry.polygon import area
from cutroom.model.arrays import Points, frozen_points
from cutroom.nest.bound import lower_bound
from cutroom.nest.instance import read_instance
from cutroom.nest.problem import Item, Pose, Problem, Progress
from cutroom.nest.solve import solve
from tests.bench.judging import judge_layout
from tests.bench.library import Answer, ask, is_installed
from tests.bench.records import BEST_KNOWN

COUNTS = (25, 50, 100, 200, 400, 800, 1600)
BEHIND = 0.3
"""Points of utilisation that one instance may be behind."""


@dataclass(frozen=True, slots=True)
class Run:
    """One layout of ours.

    Attributes:
        density: 0 to 1.
        length: mm.
        seconds: It took.
        tried: Places that were tried for a piece.
        words: What the judge said.
    """

    density: float
    length: float
    seconds: float
    tried: int
    words: str


def run(problem: Problem, *, seconds: float, seed: int, workers: int) -> Run:
    """Lay a problem and have it judged."""
    from cutroom.nest import search

    begun: list[Any] = []
    begin = search.begin

    def begin_and_keep(*given: Any, **named: Any) -> list[search.Search]:
        begun[:] = begin(*given, **named)
        return begun

    search.begin = begin_and_keep
    try:
        start = time.monotonic()
        layout = solve(problem, seconds=seconds, seed=seed, workers=workers)
        taken = time.monotonic() - start
    finally:
        search.begin = begin
    covered = sum(area(item.outline) for item in problem.items)
    tried = sum(int(one.improver.tally[TRIED]) for one in begun)
    words = str(judge_layout(problem, layout.placed, layout.length))
    return Run(covered / (problem.width * layout.length), layout.length, taken, tried, words)


def table(folder: Path, only: list[str], *, seconds: float, seeds: int, workers: int, alone: bool) -> None:
    """Print the table."""
    rival = not alone and is_installed()
    if not rival and not alone:
        print("the library is not installed (pip install -e '.[dev]'): its columns stay empty")
    solve(garments(5), seconds=0, seed=0, tries=1)  # loads the loops, or compiles them
    print(
        "instance        pieces  seconds   ours %  library %   points  published %  over bound %  bound by"
        "           evaluations/s"
    )
    gains: dict[str, float] = {}
    short: dict[str, float] = {}
    objections: list[str] = []
    for path in sorted(folder.glob("*.json")):
        if only and path.stem not in only:
            continue
        try:
            problem = read_instance(path).problem
            runs = [run(problem, seconds=seconds, seed=seed, workers=workers) for seed in range(seeds)]
        except CutroomError as fault:
            print(f"{path.stem:<14}  {fault}", flush=True)
            continue
        theirs = list(_ask_all(path, seconds, seeds, workers)) if rival else []
        ours = 100 * median(one.density for one in runs)
        library = 100 * median(one.density for one in theirs) if theirs else math.nan
        if path.stem in BEST_KNOWN:
            short[path.stem] = BEST_KNOWN[path.stem] - ours
        if math.isfinite(library):
            gains[path.stem] = ours - library
        bound, published = lower_bound(problem), BEST_KNOWN.get(path.stem, math.nan)
        over = 100 * (median(one.length for one in runs) / bound.length - 1)
        spent = sum(one.seconds for one in runs)
        print(
            f"{path.stem:<14} {len(problem.items):7}  {spent / len(runs):7.2f}  {ours:7.2f}  {library:9.2f}"
            f"  {ours - library:+7.2f}  {published:11.2f}  {over:12.2f}  {bound.by:<24.24}"
            f" {sum(one.tried for one in runs) / spent:13.0f}",
            flush=True,
        )
        objections += [
            f"{path.stem}, seed {seed}, ours: {one.words}" for seed, one in enumerate(runs) if one.words != "sound"
        ]
        objections += [
            f"{path.stem}, seed {seed}, library: {one.words}" for seed, one in enumerate(theirs) if not one.sound
        ]
    if gains:
        behind = [f"{name} {gain:+.2f}" for name, gain in gains.items() if gain < -BEHIND]
        print(f"ahead by {mean(gains.values()):+.2f} points on the mean of {len(gains)}", end="; ")
        print(f"behind by more than {BEHIND}: {', '.join(behind) or 'none'}")
    if short:
        print(f"short of the best that is published by {mean(short.values()):.2f} points on the mean of {len(short)}")
    print("\n".join(objections) or "shapely objects to none of the layouts")


def _ask_all(path: Path, seconds: float, seeds: int, workers: int) -> Iterator[Answer]:
    for seed in range(seeds):
        yield ask(path, seconds=seconds, seed=seed, workers=workers)


def outline(kind: int, size: int) -> Points:
    """A piece of our own invention: ten kinds, each in five sizes, of 24 to 60 points."""
    rng = np.random.default_rng(kind)
    angles = np.linspace(0, 2 * np.pi, int(rng.integers(24, 60)), endpoint=False)
    waves = [rng.uniform(0.02, 0.14) * np.cos(wave * angles + rng.uniform(0, 6)) for wave in (2, 3, 4)]
    radii = 1 + np.sum(waves, axis=0)
    along, across = rng.uniform(60, 360), rng.uniform(40, 200)
    points = np.column_stack([np.cos(angles) * along, np.sin(angles) * across]) * radii[:, None]
    return frozen_points(np.round(points * (0.9 + 0.05 * size), 3))


def garments(count: int) -> Problem:
    """So many pieces on cloth 1.5 m wide, any way up and down, 3 mm apart."""
    both = (Pose(False, 0.0), Pose(False, 180.0))
    items = tuple(Item(f"{n}", outline(n % 10, n // 10 % 5), both) for n in range(count))
    return Problem(1500.0, 3.0, items)


def growth() -> None:
    """Print how time to the first complete marker and memory grow, each count in a process of its own."""
    print("pieces  shapes  first marker s  processor s  bound s  memory MB  over bound %  bettered  judged")
    for count in COUNTS:
        found = _in_process("--one", str(count))
        print(
            f"{count:6}  {min(count, 50):6}  {found['seconds']:14.2f}  {found['processor']:11.2f}"
            f"  {found['bound']:7.2f}  {found['memory']:9.0f}  {found['over']:12.1f}  {found['bettered']:8}"
            f"  {found['words']}",
            flush=True,
        )


def one(count: int) -> None:
    """Lay so many pieces once and print what it took, as JSON.

    The first marker is the first that the search tells of: laid by outlines, complete, and shorter than the boxes'.
    """
    solve(garments(5), seconds=0, seed=0, tries=1)
    problem = garments(count)
    told: list[tuple[float, float, Progress]] = []
    start, spent = time.monotonic(), time.process_time()
    solve(
        problem,
        seconds=0.0,
        seed=1,
        workers=2,
        progress=lambda one: told.append((time.monotonic() - start, time.process_time() - spent, one)),
    )
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1024 if sys.platform != "darwin" else 1024**2)
    seconds, processor, first = told[0]
    lengths = [marker.length for _, _, marker in told]
    judged = [str(judge_layout(problem, marker.placed, marker.length)) for _, _, marker in told]
    words = "; ".join(dict.fromkeys(judged))
    if any(later >= before for before, later in itertools.pairwise(lengths)):
        words += "; a later marker was told that is no shorter"
    start = time.monotonic()
    least = lower_bound(problem).length
    facts = {
        "seconds": seconds,
        "processor": processor,
        "bound": time.monotonic() - start,
        "memory": memory,
        "over": 100 * (first.length / least - 1),
        "bettered": len(told) - 1,
        "words": words,
    }
    print(json.dumps(facts))


def compile_times() -> None:
    """Print the time to a first layout, from the start of the process, with nothing compiled and with all compiled."""
    lay = "from tests.bench.nesting import garments, solve; solve(garments(5), seconds=0, seed=0, tries=1)"
    with tempfile.TemporaryDirectory() as folder:
        for words, code in (
            ("cold: every loop is compiled first", lay),
            ("warm: every loop is loaded", lay),
            ("of which the interpreter and the bench's own imports", "import tests.bench.nesting"),
        ):
            start = time.monotonic()
            subprocess.run([sys.executable, "-c", code], check=True, env={**os.environ, "NUMBA_CACHE_DIR": folder})
            print(f"{time.monotonic() - start:7.2f} s  {words}", flush=True)


def _in_process(*arguments: str) -> dict[str, Any]:
    command = [sys.executable, "-m", "tests.bench.nesting", *arguments]
    text = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    found: dict[str, Any] = json.loads(text.strip().splitlines()[-1])
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure the nest.")
    parser.add_argument("--instances", type=Path, help="a folder of open strip-packing instances")
    parser.add_argument("--seconds", type=float, default=10.0)
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--only", nargs="*", default=[], help="names of instances")
    parser.add_argument("--alone", action="store_true", help="ask the library nothing: half the time")
    parser.add_argument("--growth", action="store_true", help="time and memory from 25 to 1600 pieces")
    parser.add_argument("--compile", action="store_true", help="cold and warm")
    parser.add_argument("--one", type=int, help=argparse.SUPPRESS)
    chosen = parser.parse_args()
    if chosen.one is not None:
        one(chosen.one)
        return
    if chosen.instances is None and not (chosen.growth or chosen.compile):
        parser.error("say what to measure: --instances DIR, --growth or --compile")
    if chosen.compile:
        compile_times()
    if chosen.growth:
        growth()
    if chosen.instances is not None:
        asked = {name: getattr(chosen, name) for name in ("seconds", "seeds", "workers", "alone")}
        table(chosen.instances, chosen.only, **asked)


if __name__ == "__main__":
    main()
