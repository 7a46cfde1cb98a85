"""A job file that is right becomes an order in mm. Inches are 25.4 mm exactly (agreement of 1959)."""

from pathlib import Path

import numpy as np
import pytest

from cutroom.model.fabric import Face, Nap, Spread
from cutroom.model.order import Order
from cutroom.model.piece import Cut, EdgeKind, Hand
from cutroom.read.job import read_job
from cutroom.units import Unit

_JOB = """
title = "Two linen blouses"
unit = "in"

[clients.ines]
bust = "36 1/2"
wrist = 6.5
elbow = "28 cm"

[sizes.12]
bust = 36

[styles.blouse]
block = "blouse"
hem = 1
[styles.blouse.allowances]
neck = "1/4"
"front.side" = 1
[styles.blouse.options]
cap_height = "5 3/4"
lined = true
closing = "front"
front_offsets = ["0.8", 0.3, "-0.5"]

[[garments]]
name = "Blouse for Ines"
style = "blouse"
for = "ines"
copies = 2
fabrics = { self = "linen", fusible = "stiff" }

[[garments]]
style = "blouse"
for = 12
fabric = "linen"

[fabrics.linen]
width = 60
selvedge = 1
spread = "open"
nap = "by-garment"
face = "down"
gap = "1/8"
end_allowance = "0.4"
shrinkage = { warp = ["50.0", "48.5"], weft = "2 %" }
price = 12
note = "55 % linen"

[fabrics.stiff]
width = "90 cm"
spread = "face-to-face"
nap = "none"
shrinkage = "not tested"

[write]
files = ["marker-hpgl", "tiles-pdf"]
plotter = "roll-pen-plotter"
paper = "letter"
square_measured = "97 mm"
"""


def _read(folder: Path, text: str) -> Order:
    path = folder / "blouses.toml"
    path.write_text(text, encoding="utf-8")
    return read_job(path)


def test_people_styles_and_garments_are_read(tmp_path: Path) -> None:
    order = _read(tmp_path, _JOB)
    assert (order.title, order.unit) == ("Two linen blouses", Unit.INCH)
    assert order.wearers["ines"].measures == {"bust": 927.1, "wrist": 165.1, "elbow": 280.0}
    assert order.wearers["12"].measures == {"bust": 914.4}
    style = order.styles["blouse"]
    assert (style.block, style.allowance, style.hem_allowance) == ("blouse", 12.7, 25.4)
    assert style.allowances == {"neck": 6.35, "front.side": 25.4}
    assert style.options == {
        "cap_height": 146.05,
        "lined": True,
        "closing": "front",
        "front_offsets": (20.32, 7.62, -12.7),
    }
    first, second = order.garments
    assert (first.name, first.wearer, first.copies) == ("Blouse for Ines", "ines", 2)
    assert first.fabrics == {"self": "linen", "fusible": "stiff"}
    assert (second.name, second.wearer, second.copies, second.fabrics) == (
        "blouse for 12",
        "12",
        1,
        {"self": "linen"},
    )


def test_the_facts_of_the_cloth_are_read(tmp_path: Path) -> None:
    order = _read(tmp_path, _JOB)
    linen, stiff = order.fabrics["linen"], order.fabrics["stiff"]
    assert (linen.width, linen.usable_width, linen.gap, linen.end_allowance) == (1524.0, 1473.2, 3.175, 10.16)
    assert (linen.spread, linen.nap, linen.face) == (Spread.OPEN, Nap.BY_GARMENT, Face.DOWN)
    assert (linen.shrink_warp, linen.shrink_weft) == (0.03, 0.02)  # 50.0 to 48.5 is 3.00 %
    assert (linen.price, linen.note, linen.plies) == (12.0, "55 % linen", 1)
    assert (stiff.width, stiff.plies, stiff.shrink_warp, stiff.end_allowance) == (900.0, 2, None, 10.0)


def test_what_to_write_is_read(tmp_path: Path) -> None:
    outputs = _read(tmp_path, _JOB).outputs
    assert outputs.kinds == ("marker-hpgl", "tiles-pdf")
    assert (outputs.plotter, outputs.paper) == ("roll-pen-plotter", "Letter")
    assert outputs.square_measured == 97.0
    assert outputs.go_on is False


def test_a_plotter_of_ones_own_is_found_beside_the_job(tmp_path: Path) -> None:
    own = Path(__file__).parents[3] / "profiles" / "plotters" / "roll-pen-plotter.toml"
    (tmp_path / "ours.toml").write_bytes(own.read_bytes())
    order = _read(tmp_path, _JOB.replace('"roll-pen-plotter"', '"ours.toml"'))
    assert order.outputs.plotter == str(tmp_path / "ours.toml")


def test_a_job_without_a_title_is_called_as_its_file(tmp_path: Path) -> None:
    assert _read(tmp_path, _JOB.replace('title = "Two linen blouses"', "")).title == "blouses"


@pytest.mark.parametrize("start", ["\ufeff", "\r\n"])
def test_files_of_other_editors_are_read(tmp_path: Path, start: str) -> None:
    path = tmp_path / "blouses.toml"
    path.write_bytes((start + _JOB.replace("\n", "\r\n")).encode("utf-8"))
    assert read_job(path).title == "Two linen blouses"


_SKIRT = """
unit = "cm"
clients.c1 = { hip = 96 }
[styles.skirt]
allowance = 1
hem = 4
allowances = { waist = 1.5, "front.side" = 2 }
[[styles.skirt.pieces]]
name = "front"
cut = "fold"
grain = "down"
edges = [
  { name = "centre", kind = "fold", points = [[0, 70], [0, 0]] },
  { name = "hem", kind = "hem", points = [[0, 0], [30, 0]] },
  { name = "side", points = [[30, 0], [28, 30], [24, 70]], curve = true, notches = [{ at = 10, name = "hip" }] },
  { name = "waist", points = [[24, 70], [0, 70]], allowance = 0.7 },
]
drills = [{ name = "dart", at = [12, 60] }]
lines = [{ name = "dart", points = [[11, 70], [12, 60], [13, 70]] }]
[[styles.skirt.pieces]]
name = "back"
cut = "pair"
hand = "right"
quantity = 1
cloth = "self"
grain = [[5, 60], [5, 10]]
edges = [
  { name = "waist", points = [[0, 70], [24, 70]] },
  { name = "side", points = [[24, 70], [30, 0]], notches = [{ at = 10, count = 2 }] },
  { name = "hem", kind = "hem", points = [[30, 0], [0, 0]] },
  { name = "centre", points = [[0, 0], [0, 70]] },
]
[[styles.skirt.seams]]
name = "side"
first = ["front.side"]
second = ["back.side"]
[[garments]]
style = "skirt"
for = "c1"
fabric = "wool"
[fabrics.wool]
width = 150
spread = "folded"
nap = "none"
shrinkage = "not tested"
[write]
files = ["report-html"]
"""


def _outline_area(points: list[np.ndarray[tuple[int, ...], np.dtype[np.float64]]]) -> float:
    """Twice nothing but the shoelace formula, for one ring."""
    ring = np.vstack([one[:-1] for one in points])
    x, y = ring.T
    return float(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def test_pieces_given_by_points_are_read(tmp_path: Path) -> None:
    style = _read(tmp_path, _SKIRT).styles["skirt"]
    front, back = style.pieces
    assert (front.cut, front.quantity, front.cloth, front.crossways) == (Cut.FOLD, 1, "self", False)
    assert [(edge.name, edge.kind, edge.allowance) for edge in front.edges] == [
        ("centre", EdgeKind.FOLD, 0.0),
        ("hem", EdgeKind.HEM, 40.0),
        ("side", EdgeKind.SEAM, 20.0),
        ("waist", EdgeKind.SEAM, 7.0),
    ]
    assert style.allowances["front.waist"] == 7.0
    assert style.allowances["back.waist"] == 15.0
    assert front.drills[0].at == (120.0, 600.0)
    assert front.lines[0].points.shape == (3, 2)
    assert back.hand is Hand.RIGHT
    np.testing.assert_allclose(back.grain, [[50, 600], [50, 100]])


def test_a_curve_goes_through_its_points(tmp_path: Path) -> None:
    side = _read(tmp_path, _SKIRT).styles["skirt"].pieces[0].edge("side").points
    assert len(side) > 3
    assert np.hypot(*(side - [280.0, 300.0]).T).min() < 1e-9


def test_a_piece_drawn_clockwise_is_turned_and_its_notches_stay(tmp_path: Path) -> None:
    back = _read(tmp_path, _SKIRT).styles["skirt"].pieces[1]
    assert _outline_area([edge.points for edge in back.edges]) == pytest.approx(+700 * (240 + 300) / 2)
    side = back.edge("side").points
    np.testing.assert_allclose(side, [[300, 0], [240, 700]])
    (notch,) = back.notches
    assert notch.count == 2
    assert notch.at == pytest.approx(np.hypot(60, 700) - 100.0)  # 10 cm below the waist, wherever one starts


def test_a_grain_word_becomes_a_line_inside_that_points_that_way(tmp_path: Path) -> None:
    grain = _read(tmp_path, _SKIRT).styles["skirt"].pieces[0].grain
    (x, top), (other, bottom) = grain
    assert x == pytest.approx(other)
    assert 0 < x < 240
    assert 0 < bottom < top < 700
    assert top - bottom >= 700 / 3  # at least a third of the piece, common practice, no source


def test_a_grainline_is_put_where_the_piece_is(tmp_path: Path) -> None:
    """A U: the middle of its box is air."""
    job = _SKIRT.replace(
        """  { name = "centre", points = [[0, 0], [0, 70]] },""",
        """  { name = "centre", points = [[0, 0], [0, 70]] },
]
[[styles.skirt.pieces]]
name = "yoke"
cut = "single"
grain = "up"
edges = [
  { name = "all", points = [[0, 0], [30, 0], [30, 20], [25, 20], [25, 5], [5, 5], [5, 20], [0, 20], [0, 0]] },""",
    )
    (x, low), (_, high) = _read(tmp_path, job).styles["skirt"].pieces[2].grain
    assert 0 < x < 50 or 250 < x < 300
    assert 0 < low < high < 200


def test_seams_are_read_for_walking(tmp_path: Path) -> None:
    (seam,) = _read(tmp_path, _SKIRT).styles["skirt"].seams
    assert (seam.first, seam.second) == ((("front", "side"),), (("back", "side"),))
    assert (seam.name, seam.ease, seam.within) == ("side", 0.0, 1.0)
