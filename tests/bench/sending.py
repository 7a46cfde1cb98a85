"""Does a stroke get lost? `python -m tests.bench.sending [--runs 1000] [--first 0]`.

Each run sends a random drawing to the stand-in over a line of its own speed and flow control, through one to three
faults (kill, power cut, pulled cable, machine switched off, garbled letters and answers, jam, slow machine, storms of
XOFF, Ctrl-C), takes it up again after each as a person would, and compares what was drawn with the file. All of it is
in virtual time. Also: how fast a long file is read as passages, and how much is held meanwhile.
"""

import argparse
import io
import sys
import tempfile
import time
import tracemalloc
from collections import Counter
from pathlib import Path

import numpy as np

from cutroom.send.hpgl import Hpgl
from cutroom.send.language import contents_of
from tests.fault_runs import run


def measure_faults(first: int, count: int) -> int:
    """Print what became of the runs; the number of those in which anything was wrong."""
    start = time.perf_counter()
    ended: Counter[str] = Counter()
    faults: Counter[str] = Counter()
    doubled: Counter[str] = Counter()
    strokes = looked = legs = wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(first, first + count):
            result = run(seed, Path(folder))
            ended[result.flow.value] += 1
            faults.update(result.faults)
            strokes += result.strokes
            off = " that was switched off, or garbled" if {"power", "garble"} & set(result.faults) else ""
            doubled[f"{result.flow.value}{off}"] += result.doubled_in_doubt
            looked += result.looked
            legs += result.legs
            if result.wrong:
                wrong += 1
                print(f"seed {seed}: {result.flow.value}, {', '.join(result.faults)}: {'; '.join(result.wrong)}")
    seconds = time.perf_counter() - start
    print(f"{count} runs, {legs} sendings, {strokes} strokes in {seconds:.0f} s")
    print("lines:  " + ", ".join(f"{number} {name}" for name, number in sorted(ended.items())))
    print("faults: " + ", ".join(f"{number} {name}" for name, number in sorted(faults.items())))
    said = ", ".join(f"{number} ({name})" for name, number in sorted(doubled.items()))
    print(f"strokes drawn twice, all said to be in doubt: {said or 'none'}; paper looked at by a person: {looked}")
    print(f"runs with a stroke lost, moved, or drawn twice without saying: {wrong}")
    return wrong


def measure_reading(strokes: int) -> None:
    """Print how fast a long plot is read, beside one plain pass over its bytes, and the most that is held."""
    rng = np.random.default_rng(1)
    parts = [b"IN;VS40;SP1;"]
    for _ in range(strokes):
        x, y, *rest = map(str, rng.integers(0, 30000, 100).tolist())
        parts.append(f"PU{x},{y};PD{','.join(rest)};".encode())
    data = b"".join([*parts, b"PU;SP0;PG;"])
    start = time.perf_counter()
    contents = contents_of(Hpgl().passages(io.BytesIO(data)))
    seconds = time.perf_counter() - start
    start = time.perf_counter()
    list(map(float, data.translate(bytes(32 if chr(n) in ",;INVSPUDG" else n for n in range(256))).split()))
    plain = time.perf_counter() - start
    print(
        f"{len(data) / 1e6:.1f} MB, {contents.strokes} strokes read in {seconds:.2f} s, {seconds / plain:.1f} times as "
        "long as turning its numbers into floats"
    )
    passages = Hpgl().passages(io.BytesIO(data))
    start = time.perf_counter()
    next(passages)
    print(f"the first passage is ready after {1000 * (time.perf_counter() - start):.1f} ms")
    tracemalloc.start()
    for _ in Hpgl().passages(io.BytesIO(data)):
        pass
    print(f"held at most while it is read: {tracemalloc.get_traced_memory()[1] / 1e6:.2f} MB, file not counted")
    tracemalloc.stop()


def main() -> int:
    """Run the bench."""
    parser = argparse.ArgumentParser(description="Does a stroke get lost?")
    parser.add_argument("--runs", type=int, default=1000)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--strokes", type=int, default=20_000)
    arguments = parser.parse_args()
    measure_reading(arguments.strokes)
    return min(1, measure_faults(arguments.first, arguments.runs))


if __name__ == "__main__":
    sys.exit(main())
