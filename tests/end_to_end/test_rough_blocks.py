"""Rough blocks, from a job file to proven files: pieces packed together, laid as one, counted one by one.

The figures follow from the pieces' own sizes by arithmetic; how a room cuts blocks is common practice, no source.
"""

import json
from pathlib import Path
from typing import Any

import pytest
from shapely.geometry import Polygon

from cutroom.cli import main
from tests.end_to_end.test_rules_of_cloth_in_a_job import ALL, cloth, only, polygons, written
from tests.jobs import job_text, make, rectangle

COLLAR = rectangle("collar", "pair", "40", "8") + rectangle("stand", "pair", "40", "4")
BLOCK = """
[[styles.it.rough_blocks]]
name = "neck"
pieces = ["collar", "stand"]
allowance = 2
gap = "0.5"
"""
BACK = rectangle("back", "single", "44", "60")


def blocks(marker: dict[str, Any]) -> list[Polygon]:
    return [Polygon(one["outline_mm"]) for one in marker["blocks"]]


def test_a_block_holds_its_pieces_and_is_laid_beside_the_others() -> None:
    """Two collars and two stands, half a cm between them, are 25.5 across; 2 cm round them 29.5 by 44; the back 60."""
    text = job_text(COLLAR + BLOCK + BACK, cloth("90.5", gap=1), unit="cm", write=ALL)
    code, manifest = make(text, seconds=2)
    assert code == 0
    marker = only(manifest)
    assert marker["length_mm"] == pytest.approx(440.0)
    (line,) = blocks(marker)
    assert sorted(round(side) for side in (line.bounds[2] - line.bounds[0], line.bounds[3] - line.bounds[1])) == [
        295,
        440,
    ]
    assert line.area == pytest.approx(295.0 * 440.0, abs=1.0)
    shapes = polygons()
    (held,) = (set(one["pieces"]) for one in marker["blocks"])
    assert {marker["pieces"][index]["piece"] for index in held} == {"collar", "stand"}
    assert len(held) == 4
    for index, shape in enumerate(shapes):
        if index in held:
            assert line.contains(shape)
            assert line.exterior.distance(shape) >= 20.0 - 0.01
            assert all(shape.distance(shapes[other]) >= 5.0 - 0.01 for other in held - {index})
        else:
            assert line.distance(shape) >= 10.0 - 0.01
    counted = {one["piece"]: one["comes_out"] for one in manifest["cut_list"]}
    assert counted["collar"] == counted["stand"] == {"left": 0, "right": 0, "whole": 2}
    page = Path("out/report.html").read_text(encoding="utf-8")
    assert "block: neck" in page
    assert main(["proof", "out"]) == 0


def test_each_garment_has_its_own_block_and_a_nap_turns_it_whole() -> None:
    text = job_text(COLLAR + BLOCK, cloth(60, gap=1, nap="by-garment"), unit="cm", copies=2, write=ALL)
    code, manifest = make(text, seconds=1)
    assert code == 0
    marker = only(manifest)
    assert marker["length_mm"] == pytest.approx(440.0)
    one, other = marker["blocks"]
    assert not set(one["pieces"]) & set(other["pieces"])
    for block in (one, other):
        assert len({marker["pieces"][index]["copy"] for index in block["pieces"]}) == 1
        assert len({marker["pieces"][index]["turn_deg"] for index in block["pieces"]}) == 1


@pytest.mark.parametrize(("spread", "placements"), [("open", 2), ("folded", 1), ("tubular", 1)])
def test_hands_are_counted_through_a_block_and_the_spread(spread: str, placements: int) -> None:
    lopsided = (
        '[[styles.it.pieces]]\nname = "facing"\ncut = "pair"\ngrain = "right"\nedges = [\n'
        '{ name = "long", points = [[0, 0], [40, 0]] },\n'
        '{ name = "rest", points = [[40, 0], [40, 4], [0, 9], [0, 0]] }]\n'
    )
    block = BLOCK.replace('["collar", "stand"]', '["facing"]')
    laid = cloth(60, gap=1).replace('"open"', f'"{spread}"')
    code, manifest = make(job_text(lopsided + block, laid, unit="cm", write=ALL), seconds=1)
    assert code == 0
    marker = only(manifest)
    assert len(marker["blocks"][0]["pieces"]) == placements
    assert [one["comes_out"] for one in manifest["cut_list"]] == [{"left": 1, "right": 1, "whole": 0}]
    (line,) = blocks(marker)
    assert all(line.exterior.distance(shape) >= 20.0 - 0.01 for shape in polygons())
    assert main(["proof", "out"]) == 0


def test_a_block_gone_on_from_keeps_its_arrangement_and_a_torn_one_is_packed_again() -> None:
    text = job_text(COLLAR + BLOCK + BACK, cloth(100, gap=1), unit="cm", write='files = ["marker-json"]')
    make(text, "--tries", "5")
    Path("out/cloth-marker.json").rename("kept.json")
    kept = written("kept.json")
    code, second = make(text, "--from", "kept.json", "--tries", "1")
    assert code == 0
    assert only(second)["length_mm"] <= kept["length_mm"] + 1e-6

    def inside(marker: dict[str, Any]) -> list[tuple[float, float]]:
        own = [marker["pieces"][index] for index in marker["blocks"][0]["pieces"]]
        return [(round(one["x_mm"] - own[0]["x_mm"], 2), round(one["y_mm"] - own[0]["y_mm"], 2)) for one in own]

    assert inside(only(second)) in (inside(kept), [(-x + 0.0, -y + 0.0) for x, y in inside(kept)])
    held = kept["blocks"][0]["pieces"]
    kept["pieces"][held[0]]["x_mm"] = kept["pieces"][held[1]]["x_mm"]
    kept["pieces"][held[0]]["y_mm"] = kept["pieces"][held[1]]["y_mm"]
    Path("torn.json").write_text(json.dumps(kept), encoding="utf-8")
    code, third = make(text, "--from", "torn.json", "--tries", "3")
    assert code == 0
    assert len(only(third)["blocks"]) == 1


def test_a_locked_block_stays_where_it_lies_and_a_torn_one_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    text = job_text(COLLAR + BLOCK + BACK, cloth(100, gap=1), unit="cm", write='files = ["marker-json"]')
    make(text, "--tries", "5")
    marker = written()
    held = marker["blocks"][0]["pieces"]
    for index in held:
        marker["pieces"][index]["x_mm"] = round(marker["pieces"][index]["x_mm"] + 1000.0, 2)
    marker["pieces"][held[0]]["locked"] = True
    Path("moved.json").write_text(json.dumps(marker), encoding="utf-8")
    code, manifest = make(text, "--from", "moved.json", "--tries", "3")
    assert code == 0
    for index in held:
        for key in ("x_mm", "y_mm", "turn_deg", "flipped"):
            assert only(manifest)["pieces"][index][key] == marker["pieces"][index][key]
    del marker["pieces"][held[-1]]
    Path("torn.json").write_text(json.dumps(marker), encoding="utf-8")
    capsys.readouterr()
    code, _ = make(text, "--from", "torn.json", "--tries", "1")
    assert code == 1
    assert 'the pieces of its block "neck" do not lie together' in capsys.readouterr().err


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ('[[styles.it.rough_blocks]]\npieces = ["collar"]\nallowance = 2', "sheets name the block"),
        ('[[styles.it.rough_blocks]]\nname = "n"\nallowance = 2', "a block holds some pieces"),
        ('[[styles.it.rough_blocks]]\nname = "n"\npieces = ["collar"]', "its line runs outside its pieces"),
        ('[[styles.it.rough_blocks]]\nname = "n"\npieces = ["cuff"]\nallowance = 2', 'there is no piece "cuff"'),
        (f"{BLOCK}{BLOCK.replace('neck', 'again')}", 'piece "collar" is in a block already'),
        (BLOCK.replace("allowance = 2", "allowance = 20"), 'piece "it (one), block neck 1": it needs a width of'),
    ],
)
def test_what_is_said_wrongly_of_blocks_is_refused(more: str, words: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, _ = make(job_text(f"{COLLAR}\n{more}\n", cloth(45), unit="cm"))
    assert code == 1
    assert words in capsys.readouterr().err


def test_a_fold_piece_and_a_matched_one_cannot_be_cut_in_a_block(capsys: pytest.CaptureFixture[str]) -> None:
    front = rectangle("front", "fold", "30", "10", fold=True)
    block = BLOCK.replace('["collar", "stand"]', '["front"]')
    folded = cloth(60, gap=1).replace('"open"', '"folded"')
    code, _ = make(job_text(front + block, folded, unit="cm"))
    assert code == 1
    assert "it lies on the fold, so it cannot be cut in a block" in capsys.readouterr().err
    match = '[[styles.it.matches]]\npoints = [{ piece = "stand", at = [1, 1] }]\n'
    striped = cloth(60, more="pattern = { along = 7, symmetric = true }")
    code, _ = make(job_text(COLLAR + BLOCK + match, striped, unit="cm"))
    assert code == 1
    assert "it must meet the cloth's pattern, so it cannot be cut in a block" in capsys.readouterr().err


def test_the_price_of_a_block(capsys: pytest.CaptureFixture[str]) -> None:
    """With it 44 cm; its pieces one by one need no allowance round them: 40, as long as they are."""
    text = job_text(COLLAR + BLOCK, cloth(60, gap=1), unit="cm")
    Path("job.toml").write_text(text, encoding="utf-8")
    assert main(["price", "job.toml", "--tries", "10", "--json"]) == 0
    rules = {one["rule"]: one for one in json.loads(capsys.readouterr().out)["fabrics"][0]["rules"]}
    assert rules["blocks"]["with_it"]["length_mm"] == pytest.approx(440.0)
    assert rules["blocks"]["cost_mm"] == pytest.approx(40.0)
