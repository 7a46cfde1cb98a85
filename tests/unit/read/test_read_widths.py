"""Other widths of a cloth: read in the job's unit, and asked for what they cannot be compared without."""

from pathlib import Path

import pytest

from cutroom.errors import CutroomError
from cutroom.job.pieces import read_order
from cutroom.model.fabric import Roll
from tests.jobs import job_text, rectangle

CLOTH = """
width = 60
selvedge = 1
spread = "open"
face = "up"
nap = "none"
shrinkage = "not tested"
price = 12
"""


def read(widths: str) -> tuple[Roll, ...]:
    Path("job.toml").write_text(job_text(rectangle("front", "pair", "20", "10"), CLOTH + widths), encoding="utf-8")
    return read_order(Path("job.toml")).fabrics["cloth"].widths


def test_widths_stand_in_the_unit_of_the_job() -> None:
    rolls = read('widths = [{ width = 45, price = 9 }, { width = "150 cm", price = 13.5 }]')
    assert rolls == (Roll(1143.0, 9.0), Roll(1500.0, 13.5))


def test_a_fabric_without_other_widths_has_none() -> None:
    assert read("") == ()


@pytest.mark.parametrize(
    ("widths", "words"),
    [
        ("widths = [{ price = 9 }]", "fabrics.cloth, width 1, width: it is missing: it is another width"),
        ("widths = [{ width = 45 }]", "fabrics.cloth, width 1, price: it is missing: the cloth has a price"),
        ("widths = [{ width = 2, price = 9 }]", "nothing is left of 50.8 mm with 25.4 mm of selvedge at each edge"),
        ("widths = [{ width = 45, price = -1 }]", "-1 is not a price"),
        ("widths = [{ width = 45, cost = 1 }]", "there is no such key here"),
        ("widths = [45]", "45 is not a table of keys"),
    ],
)
def test_what_is_wrong_with_a_width_is_said(widths: str, words: str) -> None:
    with pytest.raises(CutroomError) as fault:
        read(widths)
    assert words in str(fault.value)
