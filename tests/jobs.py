"""Job files for tests, written as a person would write them."""

import json
from pathlib import Path
from typing import Any

from cutroom.cli import main

SAMPLES = Path(__file__).parents[1] / "samples"
PLOTTER = """unit = "mm"
width = 800
frame = 800
[pens]
cut = 1
seam = 2
notch = 1
grain = 2
drill = 1
label = 3
fabric = 0
sheet = 4
"""
"""The profile of a plotter of one's own, as short as may be."""


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


_PANELS = rectangle("front", "fold", "28", "13", fold=True) + rectangle("back", "pair", "28", "13 1/2")
SKIRT = _PANELS + rectangle("waistband", "fold", "3 1/2", "15", fold=True, crossways=True)
"""Inches, at cut size: laid folded it takes 28 + 1/4 + 3 1/2, for front and waistband both lie on the fold."""
SKIRT_OPEN = _PANELS + rectangle("waistband", "fold", "30", "1 3/4", fold=True)
"""The same with its waistband along the grain: all lie side by side on cloth that lies open."""
GORES = """
[[styles.it.pieces]]
name = "gore"
cut = "single"
quantity = 7
grain = "right"
edges = [
  { name = "side", points = [[0, 0], [80, 10]] },
  { name = "waist", points = [[80, 10], [80, 20]] },
  { name = "other side", points = [[80, 20], [0, 30]] },
  { name = "hem", points = [[0, 30], [0, 0]] },
]
"""
"""Seven gores in cm, 30 wide below, 10 above, 80 long."""


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
