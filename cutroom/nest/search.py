"""A search: a few orders laid one after another, then the best of them bettered by the local search."""

import threading
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from cutroom.errors import NestError
from cutroom.nest.ground import lay_out
from cutroom.nest.groups import Groups
from cutroom.nest.improve import Improver
from cutroom.nest.known import Known
from cutroom.nest.lay import Recipe, lay, settle
from cutroom.nest.orders import recipes
from cutroom.nest.problem import BROKEN_OFF, Laid, Problem, used_length
from cutroom.nest.stock import Stock, Wholes, gather

PASSES = 3
"""Times that the boxes' lay is pushed together, at most, where the first order is no better."""
ROOM = 1.5
"""Share of the boxes' length that the first order may take: the local search makes up for a poor start."""


@dataclass(frozen=True, slots=True)
class Best:
    """A layout, all items in order, and its length (mm)."""

    placed: tuple[Laid, ...]
    length: float


class Board:
    """Where searches put up the best layout that any of them has found."""

    def __init__(self, best: Best) -> None:
        self.best = best
        self._lock = threading.Lock()

    def offer(self, placed: tuple[Laid, ...], length: float) -> bool:
        """Put a layout up when it is shorter; whether it was."""
        with self._lock:
            if length >= self.best.length:
                return False
            self.best = Best(tuple(sorted(placed, key=lambda laid: laid.item)), length)
            return True


def begin(
    problem: Problem,
    groups: Groups,
    boxes: tuple[Laid, ...],
    *,
    seed: int,
    tries: int | None,
    workers: int,
    start: tuple[Laid, ...] = (),
    known: Known | None = None,
    left: Callable[[], float],
    tell: Callable[[Best, int], None],
) -> "list[Search]":
    """Work out the shapes of a problem and set up its searches, one for each worker, none of them running yet.

    Args:
        problem: What to lay.
        groups: Items that must take one turn.
        boxes: The lay of the boxes, to be bettered.
        seed: Of the searches.
        tries: Tries to make, shared out, or None. Each search then keeps to itself, so that the answer does not
            depend on which of them is the faster.
        workers: How many searches.
        start: A layout to begin with, all items in order; pieces in it may overlap.
        known: What was worked out of shapes before; is added to.
        left: Seconds that are left; infinite where tries are counted.
        tell: Told of each better layout and the tries it took.

    Raises:
        NestError: What is locked overlaps, or the start is no layout of these items.
    """
    stock = gather(problem, start=(*start, *boxes), left=left, known=known)
    ground = lay_out(stock)
    orders = recipes(stock, groups, boxes)
    halt = np.zeros(1, dtype=np.int64)
    shared = Board(Best(boxes, used_length(problem.items, boxes)))
    first = Improver(ground, groups, np.random.default_rng(seed), halt, left)
    first.refuse_overlapping_locks()
    if start:
        _refuse_start(problem, groups, start)
        mended = first.mended(start)
        if mended is not None and shared.offer(mended, used_length(problem.items, mended)):
            tell(shared.best, 0)
    searches = []
    for worker in range(workers):
        rng = np.random.default_rng([seed, worker])
        share = None if tries is None else (tries + workers - 1 - worker) // workers
        board = shared if tries is None else Board(shared.best)
        own = orders[worker::workers] or orders[:1]
        improver = Improver(ground, groups, rng, halt, left, worker)
        searches.append(Search(improver, own, board, share, left, tell))
    return searches


def _refuse_start(problem: Problem, groups: Groups, start: tuple[Laid, ...]) -> None:
    if [laid.item for laid in start] != list(range(len(problem.items))):
        raise NestError(
            f"the marker to go on from lays {len(start)} pieces, and {len(problem.items)} are to be laid",
            "Go on from a marker of the same order, or start afresh",
        )
    for laid in start:
        item = problem.items[laid.item]
        if laid.pose not in item.poses:
            raise NestError(
                "in the marker to go on from it lies in a pose that it may not take, or in which it is too large here",
                "Turn it back, allow the pose, or take the cloth and the table that the marker was made for",
                place=f'piece "{item.name}"',
            )
    for group in range(len(groups.turns)):
        if len({start[item].pose.quarter for item in range(len(start)) if groups.of[item] == group}) > 1:
            raise NestError(
                "in the marker to go on from the pieces of a garment lie both ways, and must all lie the same way",
                "Turn them to lie one way",
                place=f'garment "{problem.items[groups.of.index(group)].group}"',
            )


class Search:
    """One worker's search; what it has found may be read at any time."""

    def __init__(
        self,
        improver: Improver,
        orders: tuple[Recipe, ...],
        board: Board,
        tries: int | None,
        left: Callable[[], float],
        tell: Callable[[Best, int], None],
    ) -> None:
        self.improver, self.orders, self.board, self.tries = improver, orders, board, tries
        self.left, self.tell = left, tell
        self.tried = 0

    @property
    def halt(self) -> Wholes:
        """`(1,)`; once it is not 0, the search ends."""
        return self.improver.halt

    @property
    def stock(self) -> Stock:
        """Shapes and no-fit polygons."""
        return self.improver.ground.stock

    @property
    def best(self) -> Best:
        """The best layout so far."""
        return self.board.best

    def run(self) -> None:
        """Lay a few orders, the first always in full, then better the best, until time or tries are over."""
        self._lay_orders()
        followed: Best | None = None
        while not self._is_over():
            self.improver.hear(self.best.length)
            if followed is not self.best and not self.improver.is_away:
                followed = self.best
                self.improver.follow(followed.placed, followed.length)
                if self.improver.is_done:
                    break
            placed = self.improver.step()
            self.tried += 1
            if placed is not None:
                self._offer(placed)

    def _lay_orders(self) -> None:
        if self.stock.meets_pattern:  # only the local search keeps to it
            return
        limit = ROOM * self.best.length
        for recipe in self.orders:
            if self._is_over():
                break
            placed = lay(self.stock, recipe, limit, stop=self._is_over)
            self.tried += 1
            if placed is not None:
                self._offer(placed)
            if self.tried == 1 and self.best.length >= limit / ROOM:  # the boxes' lay, or the start, is still the best
                self._settle()
            limit = self.best.length

    def _offer(self, placed: tuple[Laid, ...]) -> None:
        if self.board.offer(placed, used_length(self.stock.problem.items, placed)):
            self.tell(self.best, self.tried)

    def _settle(self) -> None:
        """Push the best layout together, as long as that makes it shorter; what must lie one way keeps its way."""
        items, groups = self.stock.problem.items, self.improver.groups
        for _ in range(PASSES):
            before = self.best
            poses = tuple(
                tuple(
                    pose for pose in items[laid.item].poses if not groups.turns or pose.turn_deg == laid.pose.turn_deg
                )
                for laid in before.placed
            )
            self._offer(settle(self.stock, before.placed, poses, stop=self._is_late))
            if self.best is before:
                break

    def _is_late(self) -> bool:
        return bool(self.halt[0]) or self.left() <= 0

    def _is_over(self) -> bool:
        if self.halt[0] == BROKEN_OFF or (self.tries is not None and self.tried >= self.tries):
            return True
        return self.tries is None and self.tried > 0 and self._is_late()
