"""Whatever stands behind a key, reading a job ends in an order or in faults that name file and place."""

import re
from pathlib import Path

import pytest

from cutroom.errors import CutroomError, FaultsError
from cutroom.read.job import read_job

_JOB = """
title = "Two"
unit = "in"
clients = { ines = { bust = 36 } }
[styles.blouse]
block = "blouse"
allowance = 1
allowances = { neck = 1 }
options = { cap_height = 5 }
[styles.skirt]
hem = 1
seams = [{ name = "s", first = ["front.side"], second = ["front.side"], ease = 0, within = 1 }]
[[styles.skirt.pieces]]
name = "front"
cut = "fold"
quantity = 1
hand = "left"
crossways = false
grain = "down"
drills = [{ at = [3, 4], diameter = 1 }]
lines = [{ points = [[1, 1], [2, 2]] }]
edges = [
  { name = "centre", kind = "fold", points = [[0, 20], [0, 0]] },
  { name = "hem", kind = "hem", allowance = 2, points = [[0, 0], [10, 0]] },
  { name = "side", curve = true, points = [[10, 0], [11, 9], [10, 20]], notches = [{ at = 9, count = 2 }] },
  { name = "waist", points = [[10, 20], [0, 20]] },
]
[[garments]]
name = "B"
style = "blouse"
for = "ines"
copies = 1
fabric = "linen"
[[garments]]
style = "skirt"
for = "ines"
fabrics = { self = "linen" }
[fabrics.linen]
width = 60
selvedge = 1
spread = "open"
nap = "none"
face = "up"
gap = 0
plies = 1
end_allowance = 1
price = 1.5
note = "n"
shrinkage = { warp = "1 %", weft = [50, 49] }
[write]
files = ["report-html"]
plotter = "roll-pen-plotter"
paper = "A4"
square_measured = 4
go_on = false
"""
_VALUES = re.compile(r'(?<== )(?:"[^"]*"|true|false|-?\d[\d.]*|\[[^={}]*\](?=[\n,} ]))')
_PLANTED = ("-1", "nan", f"1{'0' * 400}", '""', '"1/0"', "true", "[]", "[[1, 2]]", "{ a = 1 }", "1979-05-27")
_PLACES = [found.span() for found in _VALUES.finditer(_JOB)]


def test_the_job_is_good_and_its_places_are_found(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(_JOB, encoding="utf-8")
    assert len(read_job(path).garments) == 2
    assert len(_PLACES) > 50


@pytest.mark.parametrize("planted", _PLANTED)
def test_whatever_is_planted_is_read_or_refused_with_its_place(tmp_path: Path, planted: str) -> None:
    path = tmp_path / "job.toml"
    for start, end in _PLACES:
        path.write_text(_JOB[:start] + planted + _JOB[end:], encoding="utf-8")
        try:
            read_job(path)
        except CutroomError as error:
            for fault in error.faults if isinstance(error, FaultsError) else (error,):
                assert fault.file == str(path), (planted, _JOB[start:end])
                assert fault.place, (planted, _JOB[start:end])
                assert fault.what, (planted, _JOB[start:end])
                assert fault.fix, (planted, _JOB[start:end])
