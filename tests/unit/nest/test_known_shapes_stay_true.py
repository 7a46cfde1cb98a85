"""An engine that remembers shapes, while pieces come, go, move, turn, are locked, saved and restored, stays true.

Hypothesis draws the doings, some thousands; after each the engine that remembers is held against one built afresh.
"""

import json

import numpy as np
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from cutroom.geometry.kernels.separate import measure
from cutroom.model.arrays import frozen_points
from cutroom.nest.compact import Compactor
from cutroom.nest.grid import UNITS
from cutroom.nest.ground import Ground, lay_out
from cutroom.nest.known import Known
from cutroom.nest.problem import Item, Laid, Pose, Problem
from cutroom.nest.stock import gather

POSES = (Pose(), Pose(turn_deg=180.0), Pose(True), Pose(turn_deg=90.0))
HOOK = frozen_points([[0, 0], [90, 0], [90, 30], [40, 30], [40, 80], [0, 80]])
KITE = frozen_points([[0, 20], [50, 0], [80, 20], [50, 40]])
ARROW = frozen_points([[0, 0], [70, 25], [0, 50], [20, 25]])
POOL = (("hook", HOOK), ("kite", KITE), ("arrow", ARROW))
MOST = 7

place = st.tuples(st.integers(0, 300), st.integers(0, 200))


class Doings(RuleBasedStateMachine):
    """Pieces on a strip with a flaw."""

    @initialize()
    def begin(self) -> None:
        self.known = Known()
        self.laid: list[tuple[int, int, float, float, bool]] = []  # which of the pool, pose, x, y, locked
        self.saved = "[]"
        self.gap = 0.0

    def some(self, number: int) -> int:
        return number % len(self.laid)

    @precondition(lambda self: len(self.laid) < MOST)
    @rule(kind=st.integers(0, len(POOL) - 1), pose=st.integers(0, len(POSES) - 1), at=place)
    def put(self, kind: int, pose: int, at: tuple[int, int]) -> None:
        self.laid.append((kind, pose, float(at[0]), float(at[1]), False))

    @precondition(lambda self: self.laid)
    @rule(number=st.integers(0, 99))
    def take_away(self, number: int) -> None:
        del self.laid[self.some(number)]

    @precondition(lambda self: self.laid)
    @rule(number=st.integers(0, 99), at=place)
    def move(self, number: int, at: tuple[int, int]) -> None:
        kind, pose, _, _, locked = self.laid[self.some(number)]
        self.laid[self.some(number)] = (kind, pose, float(at[0]), float(at[1]), locked)

    @precondition(lambda self: self.laid)
    @rule(number=st.integers(0, 99), pose=st.integers(0, len(POSES) - 1))
    def turn(self, number: int, pose: int) -> None:
        kind, _, x, y, locked = self.laid[self.some(number)]
        self.laid[self.some(number)] = (kind, pose, x, y, locked)

    @precondition(lambda self: self.laid)
    @rule(number=st.integers(0, 99))
    def lock_or_unlock(self, number: int) -> None:
        kind, pose, x, y, locked = self.laid[self.some(number)]
        self.laid[self.some(number)] = (kind, pose, x, y, not locked)

    @rule(gap=st.sampled_from([0.0, 3.0, 6.35]))
    def ask_another_gap(self, gap: float) -> None:
        self.gap = gap

    @rule()
    def save(self) -> None:
        self.saved = json.dumps(self.laid)

    @rule()
    def restore(self) -> None:
        self.laid = [tuple(row) for row in json.loads(self.saved)]

    @invariant()
    def what_it_remembers_is_what_it_would_find(self) -> None:
        if not getattr(self, "laid", None):
            return
        items = tuple(Item(f"{n}", POOL[kind][1], POSES) for n, (kind, *_) in enumerate(self.laid))
        placed = [Laid(n, POSES[pose], x, y) for n, (_, pose, x, y, _) in enumerate(self.laid)]
        locked = tuple(one for one, row in zip(placed, self.laid, strict=True) if row[4])
        flaw = frozen_points([[120, 80], [150, 80], [150, 110], [120, 110]])
        problem = Problem(400.0, self.gap, items, forbidden=(flaw,), locked=locked)
        told = [told_of(lay_out(gather(problem, known=known)), placed) for known in (self.known, Known())]
        for remembered, found in zip(*told, strict=True):
            assert np.array_equal(remembered, found)


def told_of(ground: Ground, placed: list[Laid]) -> tuple[np.ndarray, ...]:
    """All that the engine says of pieces where they lie: depths, the first overlap, the layout on its grid, pushed."""
    stock = ground.stock
    flaw = stock.fixtures[0]
    spots = np.array([[round(one.x * UNITS), round(one.y * UNITS)] for one in placed] + [[flaw.x, flaw.y]])
    ways = [next(way for pose, way in ground.ways[one.item] if pose == one.pose).number for one in placed]
    worn = np.array([*ways, flaw.variant.number], dtype=np.int64)
    depths = np.zeros((len(worn), len(worn)))
    for piece in range(len(worn)):
        measure(piece, ground.arrays, spots.astype(np.float64), worn, depths)
    compactor = Compactor(ground)
    first = compactor.first_overlap(spots, worn)
    settled = compactor.settled(spots.astype(np.float64), worn)
    pushed = compactor.pushed(spots.astype(np.float64), worn)
    return (
        depths,
        np.array([first]),
        np.array([]) if settled is None else np.append(settled[1].ravel(), settled[0]),
        np.array([]) if pushed is None else np.append(pushed[1].ravel(), pushed[0]),
        ground.free,
    )


TestDoings = Doings.TestCase
TestDoings.settings = settings(max_examples=50, stateful_step_count=50, deadline=None, derandomize=True)
