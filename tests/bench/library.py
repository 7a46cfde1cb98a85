"""The free packing library on one instance, in a process of its own: `python -m tests.bench.library INSTANCE ...`.

It ends its process on shapes that it does not like, hence the process. Prints one JSON object: its length, and where it
laid what, in the instance's own numbers; the judging is done by whoever asked.
"""

import argparse
import json
import math
import subprocess
import sys
from collections import Counter
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from tests.bench.judging import Verdict, judge, lies


@dataclass(frozen=True, slots=True)
class Answer:
    """What it found.

    Attributes:
        density: Area of the pieces over that of the strip, 0 to 1, from the judge's length; nan where it failed.
        words: What the judge said, or how it failed.
        sound: The judge found nothing against it.
    """

    density: float
    words: str
    sound: bool


def is_installed() -> bool:
    """The library is there."""
    return find_spec("spyrrow") is not None


def ask(path: Path, *, seconds: float, seed: int, workers: int) -> Answer:
    """Let it lay an instance, and judge what it laid."""
    command = [sys.executable, "-m", "tests.bench.library", str(path), f"{seconds:g}", str(seed), str(workers)]
    run = subprocess.run(command, capture_output=True, text=True, check=False, timeout=3 * seconds + 120)
    if run.returncode != 0:
        words = run.stderr.strip().splitlines() or ["no word"]
        return Answer(math.nan, f"failed: {words[-1][:90]}", sound=False)
    found = json.loads(run.stdout)
    instance = json.loads(path.read_text(encoding="utf-8"))
    items = {str(number): item for number, item in enumerate(instance["items"])}
    laid = Counter(one["item"] for one in found["placements"])
    if laid != Counter({name: item.get("demand", 1) for name, item in items.items()}):
        return Answer(math.nan, "failed: it did not lay all pieces", sound=False)
    outlines = [
        lies(items[one["item"]]["shape"]["data"], one["rotation_deg"], one["x"], one["y"])
        for one in found["placements"]
    ]
    verdict: Verdict = judge(outlines, instance["strip_height"], found["length"] * (1 + 1e-9))
    area = sum(outline.area for outline in outlines)
    return Answer(area / (verdict.length * instance["strip_height"]), str(verdict), verdict.sound)


def _lay(found: Any, seconds: float, seed: int, workers: int) -> dict[str, Any]:
    import spyrrow

    items = [
        spyrrow.Item(
            str(number),
            [tuple(point) for point in item["shape"]["data"]],
            item.get("demand", 1),
            item.get("allowed_orientations"),
        )
        for number, item in enumerate(found["items"])
    ]
    settings = spyrrow.StripPackingConfig(
        early_termination=False, total_computation_time=math.ceil(seconds), num_workers=workers, seed=seed
    )
    layout = spyrrow.StripPackingInstance("strip", found["strip_height"], items).solve(settings)
    placements = [
        {"item": one.id, "rotation_deg": one.rotation, "x": one.translation[0], "y": one.translation[1]}
        for one in layout.placed_items
    ]
    return {"length": layout.width, "placements": placements}


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Let the library lay one instance.")
    parser.add_argument("instance", type=Path)
    parser.add_argument("seconds", type=float)
    parser.add_argument("seed", type=int)
    parser.add_argument("workers", type=int)
    chosen = parser.parse_args()
    text = chosen.instance.read_text(encoding="utf-8")
    print(json.dumps(_lay(json.loads(text), chosen.seconds, chosen.seed, chosen.workers)))
