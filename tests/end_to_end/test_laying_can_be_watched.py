"""While a job is laid each better layout is told, with what a picture of it needs, and each is sound and shorter."""

import itertools
from pathlib import Path

import pytest

from cutroom.job.make import Stage, make
from cutroom.job.problem import problem_of
from cutroom.model.lay import Lay
from cutroom.nest.problem import Progress
from tests.bench.judging import judge_layout
from tests.jobs import GORES, job_text, rectangle

PANELS = rectangle("front", "pair", "61 cm", "23 cm") + rectangle("pocket", "pair", "19 cm", "17 cm")
STRIPED = (
    PANELS
    + """[[styles.it.matches]]
name = "hip"
points = [{ piece = "front", at = [20, 0] }, { piece = "pocket", at = [3, 0] }]
"""
)
CLOTH = 'width = 75\nspread = "open"\nface = "up"\nnap = "none"\nshrinkage = "not tested"\ngap = "0.5"\n'


@pytest.mark.parametrize(
    ("pieces", "cloth"),
    [
        (GORES, CLOTH),
        (STRIPED, CLOTH + "pattern = { along = 7, symmetric = false }"),
        (GORES, CLOTH + "flaws = [{ along = [40, 42], across = [20, 25] }]"),
        (GORES, CLOTH + 'sections = "sizes"'),
    ],
    ids=["plain", "striped", "flawed", "in sections"],
)
def test_each_layout_that_is_told_is_shorter_and_sound(pieces: str, cloth: str) -> None:
    Path("job.toml").write_text(job_text(pieces, cloth, unit="cm", copies=2), encoding="utf-8")
    told: list[Stage] = []
    made = make(Path("job.toml"), Path("out"), seconds=0, seed=3, tries=60, tell=told.append)
    (marker,) = made.markers
    seen: dict[int, list[tuple[Lay, Progress]]] = {}
    for stage in told:
        if stage.progress is not None:
            assert stage.lay is not None
            seen.setdefault(id(stage.lay), []).append((stage.lay, stage.progress))
    assert seen
    lengths: list[float] = []
    for laid in seen.values():
        problem = problem_of(laid[0][0])
        lengths = [progress.length for _, progress in laid]
        assert all(after < before for before, after in itertools.pairwise(lengths))
        for _, progress in laid:
            assert judge_layout(problem, progress.placed, progress.length).sound
    if len(seen) == 1:
        assert marker.length <= lengths[-1] + 1e-6
    else:
        assert len(seen) == len(marker.sections)
