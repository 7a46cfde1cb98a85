"""Job files for tests, written as a person would write them."""

import json
from pathlib import Path
from typing import Any

from cutroom.cli import main

SAMPLES = Path(__file__).parents[1] / "samples"


def rectangle(
    name: str, cut: str, along: str, across: str, *, more: str = "", fold: bool = False, crossways: bool = False
) -> str:
    """A piece of a job: a rectangle already at its cut size, `along` the grain by `across` it."""
    kind = 'kind = "fold"' if fold else 'kind = "seam"'
    return f"""
[[styles.it.pieces]]
name = "{name}"
cut = "{cut}"
grain = "right"
crossways = {str(crossways).lower()}
{more}
edges = [
  {{ name = "lower", points = [[0, 0], ["{along}", 0]], {kind} }},
  {{ name = "end", points = [["{along}", 0], ["{along}", "{across}"]] }},
  {{ name = "upper", points = [["{along}", "{across}"], [0, "{across}"]] }},
  {{ name = "start", points = [[0, "{across}"], [0, 0]] }},
]
"""


def job_text(
    pieces: str, fabric: str, *, unit: str = "in", copies: int = 1, write: str = 'files = ["marker-dxf"]'
) -> str:
    """A job of one style whose pieces are given at their cut size."""
    return f"""
title = "A test"
unit = "{unit}"
[sizes.one]
[styles.it]
allowance = 0
hem = 0
{pieces}
[[garments]]
name = "it"
style = "it"
for = "one"
copies = {copies}
fabric = "cloth"
[fabrics.cloth]
{fabric}
[write]
{write}
"""


def make(text: str, *options: str, seconds: float = 0.5) -> tuple[int, dict[str, Any]]:
    """Run `make` on a job text in the present folder: its exit code and manifest, empty when there is none."""
    Path("job.toml").write_text(text, encoding="utf-8")
    code = main(["make", "job.toml", "--out", "out", "--seconds", f"{seconds}", *options])
    manifest = Path("out/manifest.json")
    return code, json.loads(manifest.read_text(encoding="utf-8")) if manifest.exists() else {}
