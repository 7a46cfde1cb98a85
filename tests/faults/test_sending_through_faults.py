"""Drawings sent through kills, power cuts, pulled cables, garbled letters, jams and storms of XOFF, and taken up again.

`tests/bench/sending.py` does a thousand of them.
"""

from pathlib import Path

import pytest

from tests.fault_runs import run


@pytest.mark.parametrize("seed", range(40))
def test_no_stroke_is_lost_none_moved_and_none_drawn_twice_without_saying(seed: int, tmp_path: Path) -> None:
    result = run(seed, tmp_path)
    assert result.wrong == [], (result.flow, result.faults, result.said)
    assert result.strokes > 5
