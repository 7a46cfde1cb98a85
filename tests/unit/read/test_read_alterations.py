"""Alterations and grade rules as a job file names them. Inches are 25.4 mm exactly (agreement of 1959)."""

from pathlib import Path

import pytest

from cutroom.errors import CutroomError
from cutroom.model.alteration import (
    CutOff,
    Derive,
    Extend,
    Facing,
    Finish,
    Fullness,
    Leave,
    Lengthen,
    Merge,
    Mirror,
    Pivot,
    Recut,
    SetNotch,
    Slash,
    Split,
    Spot,
    Step,
    TrueUp,
)
from cutroom.model.order import StyleAsked
from cutroom.model.piece import Cut, EdgeKind
from cutroom.read.job import read_job

_REST = """
[sizes.10]
[[garments]]
style = "blouse"
for = "10"
fabric = "linen"
[fabrics.linen]
width = 58
spread = "open"
face = "up"
nap = "none"
shrinkage = "not tested"
[write]
files = ["report-html"]
"""


def _read(steps: str, tmp_path: Path) -> StyleAsked:
    job = tmp_path / "job.toml"
    head = 'unit = "in"\n[styles.blouse]\nblock = "blouse"\n'
    job.write_text(head + steps + _REST, encoding="utf-8")
    return read_job(job).styles["blouse"]


def _step(line: str, tmp_path: Path) -> Step:
    return _read(f"[[styles.blouse.alterations]]\n{line}\n", tmp_path).alterations[0]


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ('do = "slash and spread"\npiece = "p"\nfrom = ["a", "3 in"]\nto = ["b", "50 %"]\nopen = "1 1/2"',
         Slash("p", Spot("a", 76.2), Spot("b", share=0.5), 38.1, 38.1)),
        ('do = "slash and spread"\npiece = "p"\nfrom = ["a", "start"]\nto = ["b", -2]\nopen_to = 1\ngathers = true',
         Slash("p", Spot("a", share=0.0), Spot("b", -50.8), 0.0, 25.4, gathers=True)),
        ('do = "add fullness"\npiece = "p"\nalong = ["a", "b"]\nto = ["c"]\nopen_along = 2\nleave_end = 1\nslashes = 3',
         Fullness("p", ("a", "b"), ("c",), 50.8, 0.0, 0.0, 25.4, 3)),
        ('do = "pivot"\npiece = "p"\ndart = "bust dart"\nto = ["shoulder", "50 %"]\nleave = "fullness"',
         Pivot("p", "bust dart", Spot("shoulder", share=0.5), Leave.FULLNESS)),
        ('do = "merge"\npieces = ["a", "b"]\nedges = ["c", "d"]\nname = "e"', Merge("a", "c", "b", "d", "e")),
        ('do = "mirror"\npieces = ["a", "b"]', Mirror(("a", "b"))),
        ('do = "lengthen"\npiece = "p"\nfrom = ["a", 1]\nto = ["b", 1]\nby = 1',
         Lengthen("p", Spot("a", 25.4), Spot("b", 25.4), 25.4)),
        ('do = "shorten"\npiece = "p"\nfrom = ["a", 1]\nto = ["b", 1]\nby = 1',
         Lengthen("p", Spot("a", 25.4), Spot("b", 25.4), -25.4)),
        ('do = "extend"\npiece = "p"\nedge = "hem"\nby = -1', Extend("p", "hem", -25.4)),
        ('do = "true up"\npiece = "p"\nedges = ["hem"]\npoints = 0', TrueUp("p", ("hem",), points=0)),
        ('do = "finish"\npiece = "p"\nedge = "hem"\nkind = "seam"', Finish("p", "hem", EdgeKind.SEAM)),
        ('do = "face"\npiece = "p"\nedges = ["neck"]\nwidth = 2\nname = "f"\nallowance = 0',
         Facing("p", ("neck",), 50.8, "f", "self", 0.0)),
        ('do = "derive"\npiece = "p"\nname = "f"\ncloth = "lining"\noffsets = { hem = -1 }',
         Derive("p", "f", "lining", 0.0, {"hem": -25.4})),
        ('do = "pivot"\npiece = "p"\ndart = "d"\nto = ["a", 1]\nshare = 0.5\nname = "e"',
         Pivot("p", "d", Spot("a", 25.4), share=0.5, name="e")),
        ('do = "derive"\npiece = "p"\nname = "f"\ncloth = "fusible"\nsewn = true',
         Derive("p", "f", "fusible", sewn=True)),
        ('do = "notch"\npiece = "p"\nat = ["a", 1]\ncount = 2', SetNotch("p", Spot("a", 25.4), 2)),
        ('do = "recut"\npiece = "p"\ncut = "single"\nquantity = 2', Recut("p", Cut.SINGLE, 2)),
    ],
)  # fmt: skip
def test_every_alteration_is_read_in_the_unit_of_the_file(line: str, wanted: Step, tmp_path: Path) -> None:
    assert _step(line, tmp_path) == wanted


def test_lines_of_cutting_pass_points(tmp_path: Path) -> None:
    split = _step('do = "split"\npiece = "p"\nfrom = ["a", 1]\nto = ["b", 1]\nseam = "s"\ninto = ["x", "y"]\n'
                  "through = [[1, 2]]\nnotches = [4]", tmp_path)  # fmt: skip
    assert isinstance(split, Split)
    assert split.through.tolist() == [[25.4, 50.8]]
    assert (split.names, split.notches) == (("x", "y"), (101.6,))
    off = _step('do = "cut off"\npiece = "p"\nfrom = ["a", 1]\nto = ["b", 1]\nkeep = "c"', tmp_path)
    assert isinstance(off, CutOff)
    assert (off.edge, off.kind, len(off.through)) == ("hem", EdgeKind.HEM, 0)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('do = "slosh"', 'no alteration "slosh"'),
        ('piece = "p"', "something must be done"),
        ('do = "mirror"\npiece = "p"', "no such key"),
        ('do = "extend"\npiece = "p"\nedge = "hem"', "by: it is missing"),
        ('do = "slash and spread"\npiece = "p"\nfrom = ["a", 1]\nto = ["b", 1]', "open: it is missing"),
        ('do = "slash and spread"\npiece = "p"\nfrom = ["a", 1]\nto = ["b", 1]\nopen = 1\nopen_to = 2', "as well"),
        ('do = "notch"\npiece = "p"\nat = ["a", "120 %"]', "not a share"),
        ('do = "notch"\npiece = "p"\nat = "a"', "a place on an edge"),
        ('do = "merge"\npieces = ["a"]\nedges = ["c", "d"]\nname = "e"', "not two names"),
        ('do = "finish"\npiece = "p"\nedge = "a"\nkind = "raw"', "raw"),
        ('do = "true up"\npiece = "p"\nedges = ["a"]\npoints = -1', "less than none"),
    ],
)
def test_a_wrong_alteration_is_refused_with_its_number(line: str, words: str, tmp_path: Path) -> None:
    with pytest.raises(CutroomError) as caught:
        _step(line, tmp_path)
    assert words in str(caught.value)
    assert "alteration 1" in str(caught.value)


_PANEL = """
[[styles.blouse.pieces]]
name = "panel"
cut = "pair"
grain = "down"
edges = [{ name = "a", points = [[0, 0], [9, 0], [9, 9]] }, { name = "b", points = [[9, 9], [0, 0]] }]
[styles.blouse.grading]
"""


_TWO = 'base = "10"\nsizes = ["10", "12"]\nrules = [{ piece = "panel", point = ["a", "b"], '


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ('base = "10"', "sizes: it is missing"),
        ('base = "9"\nsizes = ["10", "12"]', 'no size "9"'),
        ('base = "10"\nsizes = ["10", "10"]', "twice"),
        ('base = "10"\nsizes = ["10", "12"]\nrules = [{ piece = "panel", point = ["a"], step = [1, 0] }]', "two edges"),
        ('base = "10"\nsizes = ["10", "12"]\nrules = [{ piece = "panel", point = ["a", "b"] }]', "says not how far"),
        (_TWO + "steps = [[1, 0], [1, 0]] }]", "2 steps for 2 sizes"),
    ],
)  # fmt: skip
def test_wrong_grade_rules_are_refused(lines: str, words: str, tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text('unit = "in"\n[styles.blouse]\n' + _PANEL + lines + _REST, encoding="utf-8")
    with pytest.raises(CutroomError) as caught:
        read_job(job)
    assert words in str(caught.value)


def test_a_graded_size_needs_no_table_of_measures(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    rules = (
        '\nbase = "12"\nsizes = ["10", 12, "14"]\nrules = [{ piece = "panel", point = ["a", "b"], step = [1, "1/2"] }]'
    )
    text = 'unit = "in"\n[styles.blouse]\n' + _PANEL + rules + _REST.replace("[sizes.10]", "").replace('"10"', '"14"')
    job.write_text(text, encoding="utf-8")
    order = read_job(job)
    assert set(order.wearers) == {"10", "12", "14"}
    grading = order.styles["blouse"].grading
    assert grading is not None
    assert grading.rules[0].steps == ((25.4, 12.7), (25.4, 12.7))
