"""The judge that the bench relies on objects to what is wrong, by a millionth of a piece, and to nothing else."""

from dataclasses import replace

import pytest

from cutroom.nest.problem import Item, Laid, Pose, Problem
from tests.bench.judging import judge_layout
from tests.unit.nest.test_nest_of_known_jobs import a_box

POSES = (Pose(), Pose(flipped=True, turn_deg=90.0))
PROBLEM = Problem(100.0, 0.0, (Item("a", a_box(50, 60), POSES), Item("b", a_box(40, 50), POSES)))
SOUND = (Laid(0, POSES[0], 0.0, 40.0), Laid(1, POSES[1], 50.0, 0.0))  # b lies flipped, then turned: 50 long, 40 across


def test_a_sound_layout_passes() -> None:
    verdict = judge_layout(PROBLEM, SOUND, 100.0)
    assert verdict.sound
    assert verdict.length == pytest.approx(100.0)
    assert str(verdict) == "sound"


@pytest.mark.parametrize(
    ("change", "length"),
    [
        ({"x": 49.99, "y": 30.0}, 100.0),  # into its neighbour
        ({"y": -0.01}, 100.0),  # over the lower edge
        ({"y": 60.01}, 100.0),  # over the upper
        ({"x": 50.01}, 100.0),  # past the stated end
        ({"x": 50.0}, 99.99),  # the same, said otherwise
        ({"pose": Pose(turn_deg=45.0)}, 200.0),  # as it may not lie
        ({"item": 0}, 100.0),  # a piece twice, another not at all
    ],
)
def test_what_is_wrong_is_seen(change: dict[str, object], length: float) -> None:
    verdict = judge_layout(PROBLEM, (SOUND[0], replace(SOUND[1], **change)), length)  # type: ignore[arg-type]
    assert not verdict.sound
    assert "UNSOUND" in str(verdict)
