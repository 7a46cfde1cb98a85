"""Gaps of single edges and shared cut lines, from a job file to proven files and their price.

The figures follow from the pieces' own sizes by arithmetic; how a room handles each rule is common practice, no source.
"""

import json
from pathlib import Path

import pytest

from cutroom.cli import main
from tests.end_to_end.test_rules_of_cloth_in_a_job import ALL, cloth, only, polygons
from tests.jobs import job_text, make, rectangle

STRAP = rectangle("strap", "single", "30", "20")
FRAYS = "[styles.it.laying]\nstrap = { edges = { end = 2, start = 0 } }\n"


def test_an_edge_that_frays_keeps_more_cloth_and_its_neighbours_no_more() -> None:
    """Three straps behind one another, gap 1 cm, 2 at one end and 0 at the other: 1 between them, and one way on."""
    text = job_text(STRAP + FRAYS, cloth(20, nap="one-way", gap=1), unit="cm", copies=3, write=ALL)
    code, manifest = make(text, seconds=1)
    assert code == 0
    assert only(manifest)["length_mm"] == pytest.approx(920.0)
    apart = sorted(shape.bounds[0] for shape in polygons())
    assert apart == pytest.approx([0.0, 310.0, 620.0])
    page = Path("out/report.html").read_text(encoding="utf-8")
    assert "gaps of edges" in page
    assert "between two edges the mean of theirs" in page
    assert main(["proof", "out"]) == 0


def test_turned_about_the_ends_that_need_nothing_meet() -> None:
    """Two straps end to end: 0 between the ends that need nothing, where either may be turned."""
    code, manifest = make(job_text(STRAP + FRAYS, cloth(20, gap=1), unit="cm", copies=2), seconds=1)
    assert code == 0
    assert only(manifest)["length_mm"] == pytest.approx(600.0)


def test_a_hem_opened_out_keeps_its_gap_on_both_halves() -> None:
    fold = rectangle("front", "fold", "30", "10", fold=True) + "[styles.it.laying]\nfront = { edges = { end = 4 } }\n"
    code, manifest = make(job_text(fold, cloth(20, nap="one-way", gap=1), unit="cm", copies=2, write=ALL), seconds=1)
    assert code == 0
    assert only(manifest)["length_mm"] == pytest.approx(625.0)  # the mean of 4 and 1 between them
    whole = json.loads(Path("out/cloth-marker.json").read_text(encoding="utf-8"))["whole"]["pieces"][0]
    assert sorted(side for edge in whole["edge_gaps"] for side in edge["sides"])
    assert {edge["gap"] for edge in whole["edge_gaps"]} == {40.0}


def test_copies_share_their_cut_lines_and_others_keep_their_gap() -> None:
    shared = '[[styles.it.shared_lines]]\npieces = ["strap"]\ngap = 0\n'
    other = rectangle("flap", "single", "30", "60")
    fabric = cloth(60, nap="one-way", gap=1)
    code, manifest = make(
        job_text(
            STRAP.replace('cut = "single"', 'cut = "single"\nquantity = 3') + other + shared,
            fabric,
            unit="cm",
            write=ALL,
        )
    )
    assert code == 0
    assert only(manifest)["length_mm"] == pytest.approx(610.0)  # three straps touch across, the flap lies 1 cm off them
    page = Path("out/report.html").read_text(encoding="utf-8")
    assert "strap come as near as 0 cm" in page
    assert main(["proof", "out"]) == 0


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ("[styles.it.laying]\nstrap = { edges = { hem = 1 } }", 'it has no edge "hem"'),
        ("[styles.it.laying]\nstrap = { edges = { end = -1 } }", "less than nothing"),
        ('[styles.it.laying]\nstrap = { edges = { end = "wide" } }', "styles.it.laying.strap.edges.end"),
        ("[styles.it.laying]\nfront = { edges = { lower = 1 } }", "it is a fold, which is not cut"),
        ("[[styles.it.shared_lines]]\ngap = 0", "some pieces share their lines"),
        ('[[styles.it.shared_lines]]\npieces = ["strap"]', "a knife cuts a shared line once"),
        ('[[styles.it.shared_lines]]\npieces = ["strip"]\ngap = 0', 'there is no piece "strip"'),
        ('[[styles.it.shared_lines]]\npieces = ["strap", "strap"]\ngap = 0', "shares its lines already"),
    ],
)
def test_what_is_said_wrongly_of_gaps_and_lines_is_refused(
    more: str, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    pieces = STRAP + rectangle("front", "fold", "30", "10", fold=True)
    code, _ = make(job_text(f"{pieces}\n{more}\n", cloth(45), unit="cm"))
    assert code == 1
    assert words in capsys.readouterr().err


def test_the_price_of_a_wide_edge(capsys: pytest.CaptureFixture[str]) -> None:
    """Two straps end to end, 3 cm at one end and 1 at the other: half of what it is more than the usual gap."""
    edges = "[styles.it.laying]\nstrap = { edges = { end = 3 } }\n"
    Path("job.toml").write_text(
        job_text(STRAP + edges, cloth(20, nap="one-way", gap=1), unit="cm", copies=2), encoding="utf-8"
    )
    assert main(["price", "job.toml", "--tries", "5", "--json"]) == 0
    rules = {one["rule"]: one for one in json.loads(capsys.readouterr().out)["fabrics"][0]["rules"]}
    assert rules["edges"]["with_it"]["length_mm"] == pytest.approx(620.0)
    assert rules["edges"]["cost_mm"] == pytest.approx(10.0)
    assert rules["gap"]["cost_mm"] == pytest.approx(20.0)
