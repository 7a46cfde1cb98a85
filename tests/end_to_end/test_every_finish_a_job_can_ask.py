"""One job with every finish a job file can ask for: made, proven, read back; and every refusal's words.

What is wanted is reasoned out from the job's own numbers; there is no other source.
"""

import json
import re
from pathlib import Path

import ezdxf
import pytest

from cutroom.cli import main
from cutroom.job.pieces import draft_order, read_order
from cutroom.model.piece import Corner, NotchKind, Pressed

JOB = """
title = "Every finish"
unit = "cm"
[sizes.one]

[styles.flap]
allowance = 1
hem = 4
notch = { kind = "v in", depth = 0.4, width = 0.5, hems = true }
turns = { "front.hem" = [3] }

[styles.flap.corners]
side = "squared"
"back.waist" = "blunted"

[[styles.flap.notches]]
edge = "front.side"
share = 0.5
kind = "t"
name = "hip"

[[styles.flap.notches]]
edge = "back.side"
mate = "front.side.hip"
kind = "box"
count = 2

[[styles.flap.notches]]
edge = "front.centre"
line = "pocket line"

[[styles.flap.pieces]]
name = "front"
cut = "pair"
grain = "down"
pressing = { warp = "1 %", weft = "0.5 %" }
block = 1.5
lines = [{ name = "pocket line", points = [[0, 20], [12, 20]] }]
cutouts = [{ name = "window", points = [[12, 8], [16, 8], [16, 12], [12, 12]] }]
darts = [{ name = "waist dart", edge = "waist", at = 12, width = 2, point = [12, 30], pressed = "end", set_back = 1 }]
rows = [{ name = "buttonhole", first = [3, 38], last = [3, 8], count = 4, start = 1, end = 2 }]
edges = [
  { name = "hem", kind = "hem", points = [[0, 0], [24, 0]] },
  { name = "side", points = [[24, 0], [24, 44]] },
  { name = "waist", points = [[24, 44], [0, 44]], notches = [{ from_end = 5, kind = "v out", name = "belt" }] },
  { name = "centre", points = [[0, 44], [0, 0]], corner = "next folded back" },
]

[[styles.flap.pieces]]
name = "back"
cut = "single"
grain = "down"
edges = [
  { name = "hem", kind = "hem", points = [[0, 0], [24, 0]], turns = [1.5], corner = "folded back" },
  { name = "centre", points = [[24, 0], [24, 44]] },
  { name = "waist", points = [[24, 44], [0, 44]] },
  { name = "side", points = [[0, 44], [0, 0]] },
]

[[styles.flap.seams]]
name = "side"
first = ["front.side"]
second = ["back.side"]
second_from_end = true

[[garments]]
style = "flap"
for = "one"
fabric = "cloth"

[fabrics.cloth]
width = 150
spread = "open"
face = "up"
nap = "one-way"
shrinkage = "not tested"

[write]
files = ["pieces-dxf", "marker-dxf", "marker-svg", "marker-pdf", "marker-hpgl"]
plotter = "roll-pen-plotter"
"""


def _written(text: str) -> Path:
    path = Path("job.toml")
    path.write_text(text, encoding="utf-8")
    return path


def test_every_finish_is_made_and_every_file_proven(capsys: pytest.CaptureFixture[str]) -> None:
    _written(JOB)
    assert main(["make", "job.toml", "--out", "out", "--tries", "1"]) == 0, capsys.readouterr().err
    manifest = json.loads(Path("out/manifest.json").read_text(encoding="utf-8"))
    rows = manifest["proof"]
    assert sum(row["kind"] != "marker-json" for row in rows) == 5
    assert all(row["passed"] for row in rows), rows
    document = ezdxf.readfile("out/pieces.dxf")  # type: ignore[attr-defined]
    on = {
        block.name: [(entity.dxftype(), entity.dxf.layer) for entity in block]
        for block in document.blocks
        if not block.name.startswith("*")
    }
    front = next(entities for name, entities in on.items() if ("POLYLINE", "11") in entities)
    back = next(entities for entities in on.values() if entities is not front)
    assert front.count(("POLYLINE", "11")) == 1  # the window
    assert front.count(("POINT", "80")) == 1  # the T at the hip
    assert back.count(("POINT", "81")) == 2  # the two boxes where it meets the hip
    assert front.count(("POINT", "13")) == 4 + 1  # the row, and the dart's drill hole


def test_what_the_job_asks_stands_on_the_pieces() -> None:
    style = draft_order(read_order(_written(JOB))).styles["flap", "one"]
    front, back = style.piece("front"), style.piece("back")
    assert (front.edge("side").corner, back.edge("side").corner) == (Corner.SQUARED, Corner.SQUARED)
    assert (front.edge("centre").corner, back.edge("hem").corner) == (Corner.FOLDED_NEXT, Corner.FOLDED)
    assert (front.edge("waist").corner, back.edge("waist").corner) == (Corner.AUTO, Corner.BLUNTED)
    assert (front.edge("hem").turns, back.edge("hem").turns) == ((30.0,), (15.0,))
    assert (front.notch_form.kind, front.notch_form.depth, front.notch_form.width) == (NotchKind.V_IN, 4.0, 5.0)
    marks = {(notch.edge, notch.kind): (round(notch.at, 6), notch.count) for notch in front.notches}
    assert marks["side", NotchKind.T] == (220.0, 1)
    assert marks["waist", NotchKind.V_OUT] == (190.0, 1)
    assert marks["centre", None] == (240.0, 1)  # the pocket line, 20 cm up an edge 44 long
    (met,) = back.notches
    assert (met.edge, met.kind, met.count) == ("side", NotchKind.BOX, 2)
    assert met.at == pytest.approx(220.0)
    (dart,) = front.darts
    assert (dart.start, dart.end, dart.point, dart.set_back) == (110.0, 130.0, (120.0, 300.0), 10.0)
    assert dart.pressed is Pressed.END
    assert [hole.at[1] for hole in front.drills] == pytest.approx([370.0, 280.0, 190.0, 100.0])
    assert front.press_shrink == pytest.approx((0.01, 0.005))
    assert front.block_margin == 15.0
    assert len(front.cutouts[0].points) == 4


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('side = "squared"', 'side = "square"', ['corners."side"', '"square"', "squared"]),
        ('side = "squared"', 'hip = "squared"', ['"hip"', "styles.flap.corners", "side"]),
        ('"front.hem" = [3]', '"front.foot" = [3]', ['"front.foot"', "styles.flap.turns"]),
        ('"front.hem" = [3]', '"front.hem" = [5]', ['edge "hem"', "turns", "growing distances"]),
        ("turns = [1.5]", "turns = [4.5]", ['edge "hem"', "turns", "growing distances"]),
        ('kind = "v in", depth', 'kind = "star", depth', ['"star"', "slit", "box"]),
        ("depth = 0.4", "depth = 1.4", ['piece "front"', "deep", "allowance"]),
        ('edge = "front.side"\nshare = 0.5', 'edge = "side"\nshare = 0.5', ["notch 1", "edge"]),
        ('edge = "front.side"\nshare = 0.5', 'edge = "front.side"\nshare = 1.5', ["1.5 is no share", "0 to 1"]),
        ('edge = "front.side"\nshare = 0.5', 'edge = "front.hip"\nshare = 0.5', ['"hip"', "side"]),
        ('edge = "front.side"\nshare = 0.5', 'edge = "front.side"\nshare = 0.5\nat = 3', ["two places", "Keep one"]),
        ('mate = "front.side.hip"', 'mate = "front.side"', ["names no notch", "piece.edge.notch"]),
        ('mate = "front.side.hip"', 'mate = "front.side.knee"', ["knee"]),
        ('line = "pocket line"', 'line = "yoke line"', ["yoke line"]),
        ('kind = "box"\ncount = 2', 'kind = "box"\ncount = 4', ["4 is not a number of notches", "1, 2 or 3"]),
        ("[[12, 8], [16, 8], [16, 12], [12, 12]]", "[[12, 8]]", ["cut-out 1", "two ends"]),
        ("[[12, 8], [16, 8], [16, 12], [12, 12]]", "[[20, 8], [28, 8], [28, 12], [20, 12]]", ["window", "front"]),
        ("width = 2, point", "width = 0, point", ["dart 1", "width"]),
        ('edge = "waist", at = 12', 'edge = "top", at = 12', ["dart 1", '"top"', "waist"]),
        ("at = 12, width = 2", "at = 24, width = 2", ["waist dart", "front"]),
        ('pressed = "end"', 'pressed = "up"', ["dart 1", '"up"', "start"]),
        ("count = 4, start", "count = 1, start", ["row 1", "1 marks have no room", "2 or more"]),
        ("start = 1, end = 2 }", "start = 20, end = 12 }", ["row 1", "no room"]),
        ("last = [3, 8]", "last = [3, -8]", ["drill", "outside the piece"]),
        ('warp = "1 %", weft', 'warp = "101 %", weft', ["pressing", "warp"]),
        ("block = 1.5", "block = 0", ["block"]),
        ('corner = "next folded back"', 'corner = "rolled"', ['edge "centre"', "corner", '"rolled"']),
        ("from_end = 5, kind", "from_end = 50, kind", ['edge "waist"', "notch 1", "0 to 24"]),
    ],
)
def test_a_finish_that_cannot_be_is_refused_in_words(
    old: str, new: str, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert JOB.count(old) == 1
    _written(JOB.replace(old, new))
    assert main(["make", "job.toml", "--out", "out", "--tries", "1"]) == 1
    said = capsys.readouterr().err
    assert "Traceback" not in said
    assert "job.toml" in said
    for word in words:
        assert re.search(re.escape(word), said), said
    assert not Path("out/pieces.dxf").exists()
