"""The local search: a layout pressed into less length, its pieces got apart again, and all moved up at once.

Each step presses the layout that is followed, lets the guided local search (`geometry.kernels.separate`) get the pieces
apart, and hands what comes of it, also where some overlap is left, to the linear programme (`compact`). Where that is
no shorter, two pieces of one of the better attempts change places and the search goes on from there, or, where that has
helped lately, the layout is pressed elsewhere; after a few such strikes less is asked for. After some rounds of that in
vain the shortest other layout that came of them is followed instead, though it is longer: what is shorter still is
seldom found close by. Where all that has been in vain for long, some of the pieces are stirred and drawn together
again slowly, and the search goes on from what comes of that.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import NestError
from cutroom.geometry.kernels.seek import snapped
from cutroom.geometry.kernels.separate import ENOUGH, separate
from cutroom.geometry.kernels.types import FAR, LEAST_X, REPEAT_X, REPEAT_Y, START_X, TOLERANCE
from cutroom.model.marker import on_grid
from cutroom.nest.compact import Compactor, Window
from cutroom.nest.grid import UNITS
from cutroom.nest.ground import Ground
from cutroom.nest.groups import Groups, allowed
from cutroom.nest.problem import Laid, used_length
from cutroom.nest.stock import Reals, Wholes

SHORTER = 50.0
"""Units, 0.005 mm: a layout that is shorter by less is none shorter."""
SAMPLES = (2, 2, 28)
"""Places tried for a piece: anywhere, near where it lies, and in contact with others."""
KEPT = 12
"""Places found before that are tried again for pieces of one shape."""
SWEEPS, PATIENCE = 400, 40
"""Sweeps over the pieces at most, and sweeps without gain."""
STRIKES = 6
"""Attempts at one length, at first."""
FIRST, MOST, LEAST = 0.02, 0.05, 0.005
"""Share of the length that is asked for at first, at most, at least: squeezed by less it comes back as it was."""
LEAST_ON_PATTERN = 0.0015
"""The least where a pattern holds pieces: no programme makes up there for having asked for too much."""
BOLDER, MEEKER = 1.2, 0.65
"""What the share is multiplied by when a length was reached, and when it was not."""
TEMPERS = ((1.1, 1.5), (1.2, 2.0))
"""How many fold the weights of overlaps grow, least and most, by worker: gentler, so that many pieces settle; stronger,
so that a few find another arrangement."""
MENDED = (1.0, 1.02, 1.05, 1.15, 1.4)
"""Shares of its own length in which the pieces of a layout that overlap are got apart."""
LONG, NEAR = 120, 60
"""Pieces of a layout above which only some near the cut move by themselves; and how many."""
OFTENER, RECENT = 3.0, 0.1
"""A layout is pressed at another cut, instead of two of its pieces changing places, with a chance of so many
times the share of presses that were of use; and what the newest of them counts in that share."""
ROUNDS, WANDERS = 3, 4
"""Rounds of so many attempts in vain after which another layout is followed, though it is longer; and how many such one
after another before the one that it set out from is followed again."""
LONGER = 1.03
"""How many fold the length of that one such a layout may have."""
STIRRED = (0.15, 1.0)
"""Share of the pieces that change places when a layout is stirred, least and most; NEAR of them at most."""
MORE_ROOM, STIRS = 0.08, 6
"""Room for that, as a share of the length, were all pieces stirred, doubled each time that it was not enough; and how
often it is tried."""
CLOSE, VAIN, VAIN_IF_POOR = 1.005, 120, 60
"""How many fold the best length a layout may have that counts as good; attempts in vain after which a good one is
stirred, and after which a poor one is given up."""
LASTING, MOST_LASTING = 1.25, 6.0
"""How many fold those attempts, and the attempts at one length, become with each stirring; and at most in all: what a
short search would spend in vain, a long one has time for, and what it has not found by then lies further off."""
SLOWLY, SWAPS = 0.002, 30
"""Share of the length by which a stirred layout is drawn in at a time; and how often two of its pieces change places
where it will not go in. Drawn in slowly they settle denser than a programme pushes them at once."""
PUSHED = 4
"""How many of those last attempts the programme then pushes together, besides the last that went in."""
GAIN = 0.001
"""Share of the length that a poor one must gain, or those attempts were in vain all the same."""
APART, ALIKE = 0.05, 0.7
"""A layout is another when a piece lies elsewhere by so much of the width, one above so much of the median size."""
LARGE = 0.5
"""Share of the pieces, the largest, of which two change places."""


_Layout = tuple[float, Reals, Wholes]
"""Its length, the spots and the ways of all pieces (units)."""


class Improver:
    """One worker's local search."""

    def __init__(
        self,
        ground: Ground,
        groups: Groups,
        rng: np.random.Generator,
        halt: Wholes,
        left: Callable[[], float] = lambda: np.inf,
        worker: int = 0,
    ) -> None:
        """Set up a search.

        Args:
            ground: Shapes and no-fit polygons.
            groups: Items that must take one turn.
            rng: Draws all chances.
            halt: `(1,)`; once it is not 0, from another thread, a step ends soon.
            left: Seconds that are left.
            worker: Which of the workers it is: they search in unlike tempers.
        """
        self.ground, self.groups, self.rng, self.halt = ground, groups, rng, halt
        self.seed = np.array([rng.integers(2**63)], dtype=np.uint64)
        self.compactor = Compactor(ground, left)
        areas = ground.sizes**2
        self.starts = np.vstack([(np.outer(areas, areas) / np.mean(areas) ** 2) ** 0.25, ground.sizes])
        self.counts = np.array(SAMPLES, dtype=np.int64)
        self.growth = np.array(TEMPERS[worker % len(TEMPERS)])
        self.share = self.home_share = FIRST
        self.least_share = LEAST_ON_PATTERN if ground.stock.meets_pattern else LEAST
        self.length, self.is_spent = np.inf, False
        self.shortest = np.inf
        self.movers = np.flatnonzero(ground.free)
        self.least_ends = np.array([_first_met(room) + room[FAR] for room in ground.arrays[3]])
        self.least_length = self._least()
        self.elsewhere: _Layout | None = None
        self.kept = np.zeros((len(ground.arrays[0]), KEPT, 4))
        self.tally = np.zeros(3, dtype=np.int64)
        self.window: Window | None = None
        self.is_pressed, self.luck, self.lasting = False, 1.0 / OFTENER, 1.0
        self.is_loose = False
        self.drawn: list[_Layout] = []

    def follow(self, placed: tuple[Laid, ...], length: float) -> None:
        """Take up a layout, all items in order, and its length (mm): what the next steps try to better."""
        self.best = self._read(placed, length)
        self.vain, self.shortest = 0, self.best[0]
        self._settle_on(self.best)

    def _read(self, placed: tuple[Laid, ...], length: float) -> _Layout:
        stock = self.ground.stock
        rows = [(laid.x * UNITS, laid.y * UNITS, stock.way(laid.item, laid.pose).number) for laid in placed]
        rows += [(one.x, one.y, one.variant.number) for one in stock.fixtures]
        spots = np.rint(np.array([row[:2] for row in rows], dtype=np.float64))
        return length * UNITS, spots, np.array([row[2] for row in rows], dtype=np.int64)

    def _settle_on(self, layout: _Layout) -> None:
        """Search round about a layout until that has been in vain for long."""
        self.home, self.elsewhere = layout, None
        self.away, self.rounds, self.stirs = 0, 0, 0
        self.is_spent, self.is_loose = False, False
        self._take_up(*layout)

    def _take_up(self, length: float, spots: Reals, worn: Wholes) -> None:
        self.length, self.spots, self.worn = length, spots, worn
        self.attempts: list[_Layout] = []
        self._press()

    @property
    def is_away(self) -> bool:
        """It follows a layout that is longer than the shortest that there is, and means to go on."""
        return self.is_loose or (self.shortest + SHORTER < self.length < np.inf and not self.is_spent)

    def hear(self, length: float) -> None:
        """Be told the length (mm) of the shortest layout that any search has found."""
        self.shortest = length * UNITS

    def mended(self, placed: tuple[Laid, ...]) -> tuple[Laid, ...] | None:
        """A layout in which pieces may overlap, as when somebody moved pieces in it, got apart near where they lie.

        Args:
            placed: All items in order, on the strip.

        Returns:
            The same when it is sound already; else the shortest sound layout found near it, or None.
        """
        length, spots, worn = self._read(placed, used_length(self.ground.stock.problem.items, placed))
        settled = self.compactor.settled(spots, worn)
        if settled is not None:
            return placed if (settled[1] == spots).all() else self._laid(settled[1], worn)
        self.spots, self.worn, self.window = spots, worn, None
        for growth in MENDED:
            self.target = length * growth
            self.start = (self._inside(spots, worn), worn)
            _, apart, ways = self._separated()
            found = self.compactor.shorten(apart, ways)
            if found is not None:
                return self._laid(found[1], ways)
        return None

    def refuse_overlapping_locks(self) -> None:
        """Refuse locked items that overlap each other or a flaw.

        Raises:
            NestError: They do.
        """
        stock = self.ground.stock
        lying = stock.problem.locked
        rows = [(float(one.x), float(one.y), one.variant.number) for one in stock.fixtures]
        rows += [(laid.x * UNITS, laid.y * UNITS, stock.way(laid.item, laid.pose).number) for laid in lying]
        spots = np.rint(np.array([row[:2] for row in rows], dtype=np.float64).reshape(-1, 2)).astype(np.int64)
        worn = np.array([row[2] for row in rows], dtype=np.int64)
        at = self.compactor.first_overlap(spots, worn)
        if at >= 0:
            raise NestError(
                "it is locked where it overlaps another locked piece, a flaw, a used area or the end of the table",
                "Move it or unlock it",
                place=f'piece "{stock.problem.items[lying[at - len(stock.fixtures)].item].name}"',
            )

    @property
    def is_done(self) -> bool:
        """No other layout is shorter: a piece is as long as this one, or locked at its end."""
        return not len(self.movers) or self.length - self.least_length <= SHORTER

    def step(self) -> tuple[Laid, ...] | None:
        """One attempt: a layout shorter than the one followed, or stirred; it is followed from then on. Or None."""
        if self.is_spent and not self.is_loose:
            self._stir()
        counts = self.is_pressed and self.away == 0
        self.luck *= 1.0 - RECENT * counts
        self.vain += 1
        left, spots, worn = self._separated()
        if self.is_loose:
            return self._draw_in(left, spots, worn)
        pushed = self.compactor.pushed(spots, worn, window=self._moved(spots))
        if pushed is not None and pushed[0] < self.length - SHORTER:
            found = self.compactor.gridded(pushed[1], worn)
            if found is not None and found[0] < self.length - SHORTER:
                self.luck += RECENT * counts
                self._accept(*found, worn)
                return self._laid(found[1], worn)
        elif pushed is not None:
            self._note(*pushed, worn)
        if self.is_spent:  # stirred in too little room
            return None
        self._keep((left, spots, worn))
        if len(self.attempts) < round(STRIKES * self.lasting):
            if self.away == 0 and self.rng.random() < OFTENER * self.luck:
                self._press()
            else:
                self._disturb()
            return None
        self.rounds += 1
        self.share = max(self.share * MEEKER, self.least_share)
        if self.rounds == ROUNDS:
            self._go_elsewhere()
        else:
            self._take_up(self.length, self.spots, self.worn)
        return None

    def _keep(self, attempt: _Layout) -> None:
        """Keep an attempt, its overlap first, among those that overlap less and more."""
        self.attempts.append(attempt)
        self.attempts.sort(key=lambda kept: kept[0])

    def _accept(self, length: float, spots: Reals, worn: Wholes) -> None:
        """Follow a layout that is shorter than the one followed, or the first after stirring."""
        self.share = FIRST if self.is_spent else min(self.share * BOLDER, MOST)
        if length < self.best[0]:
            self.best = length, spots, worn
        if self.is_spent or length < self.home[0]:
            if self.is_spent or self._is_close(length) or length < (1.0 - GAIN) * self.home[0]:
                self.vain = 0
            self._settle_on((length, spots, worn))
        else:
            self.rounds = 0
            self._take_up(length, spots, worn)

    def _is_close(self, length: float) -> bool:
        """A length (units) near enough to the shortest for its layout to count as good."""
        return length <= CLOSE * self.shortest

    def _note(self, length: float, spots: Reals, worn: Wholes) -> None:
        """Keep a layout that is not shorter but another one, if it is the shortest of those, to go on from later."""
        most = self.home[0] * LONGER if self.elsewhere is None else self.elsewhere[0]
        large = self.ground.free & (self.ground.sizes > ALIKE * np.median(self.ground.sizes))
        moved = np.abs(spots - self.spots).max(axis=1) > APART * self.compactor.width
        if length < most and ((moved & large).any() or (worn != self.worn).any()):
            self.elsewhere = (length, np.rint(spots), worn)

    def _go_elsewhere(self) -> None:
        """Follow another layout for a while, even though it is longer; after a few of them the one set out from."""
        there, self.elsewhere, self.rounds = self.elsewhere, None, 0
        if self.away == 0:
            self.home_share = self.share if self.share > self.least_share else FIRST
        if there is None or self.away == WANDERS:
            enough = VAIN if self._is_close(self.home[0]) else VAIN_IF_POOR
            self.is_spent = self.vain >= enough * self.lasting and len(self.movers) > 1
            there, self.away, self.share = self.home, 0, self.home_share
        else:
            self.away, self.share = self.away + 1, FIRST
        self.kept[:] = 0.0
        self._take_up(*there)

    def _stir(self) -> None:
        """Some pieces that lie together change places at random, with room for it, and no length is to be bettered.

        Where that has been in vain often enough the best layout is searched again instead.
        """
        if self.stirs == STIRS:
            self.vain = 0
            self._settle_on(self.best)
            return
        if self.stirs == 0:
            self.lasting = min(self.lasting * LASTING, MOST_LASTING)
        length, spots, worn = self.home if self._is_close(self.home[0]) else self.best
        movers, middles = self.movers, spots + self.ground.middles[worn]
        share = STIRRED[0] * (STIRRED[1] / STIRRED[0]) ** self.rng.random()
        many = min(max(round(share * len(movers)), 2), NEAR)
        about = middles[self.rng.choice(movers)]
        nearest = np.argsort(np.hypot(*(middles[movers] - about).T), kind="stable")
        stirred = self.rng.permutation(movers[nearest[:many]])
        room = length * MORE_ROOM * 2.0**self.stirs * len(stirred) / len(movers)
        self.pressed = self._exchanged(spots, worn, stirred)
        beyond = self.pressed[:, 0] + self.ground.middles[worn][:, 0] > about[0]
        self.pressed[beyond, 0] += room
        self.length, self.target, self.spots, self.worn = np.inf, length + room, spots, worn
        self.is_pressed, self.stirs = False, self.stirs + 1
        self.window = self._window(stirred, beyond)
        self.is_loose = self.window is None
        self.attempts, self.drawn = [], []
        self.kept[:] = 0.0
        self.start = (self._inside(self.pressed, worn), worn)

    def _draw_in(self, left: float, spots: Reals, worn: Wholes) -> tuple[Laid, ...] | None:
        """Ask a stirred layout for a little less, and again, as long as it goes in; then push it together."""
        is_in = left <= ENOUGH
        if is_in:
            self.attempts, self.drawn = [], [(left, spots, worn)]
        else:
            self._keep((left, spots, worn))
        if is_in and self.target > self.least_length:
            self._squeeze(self.target, spots, worn, SLOWLY)
            return None
        if self.drawn and 0 < len(self.attempts) < SWAPS:
            self._disturb()
            return None
        self.is_loose = False
        found = [
            (*shorter, ways)
            for _, lying, ways in (*self.attempts[:PUSHED], *self.drawn)
            if (shorter := self.compactor.shorten(lying, ways)) is not None
        ]
        if not found:
            return None
        best = min(found, key=lambda layout: layout[0])
        self._accept(*best)
        return self._laid(*best[1:])

    def _exchanged(self, spots: Reals, worn: Wholes, pieces: Wholes) -> Reals:
        """Spots where each of several pieces has taken the place of the next of them, the last that of the first."""
        middles, moved = spots + self.ground.middles[worn], spots.copy()
        moved[pieces] += middles[np.roll(pieces, -1)] - middles[pieces]
        return moved

    def _separated(self) -> tuple[float, Reals, Wholes]:
        spots, worn = self.start[0].copy(), self.start[1].copy()
        best_spots, best_worn = spots.copy(), worn.copy()
        first, choices = self._choices(worn)
        left = separate(
            self.target,
            SWEEPS,
            PATIENCE,
            self.growth,
            self.counts,
            self.starts,
            self.seed,
            self.halt,
            self.ground.arrays,
            first,
            choices,
            spots,
            worn,
            self.starts[:-1].copy(),
            best_spots,
            best_worn,
            self.kept,
            self.tally,
        )
        return left, best_spots, best_worn

    def _choices(self, worn: Wholes) -> tuple[Wholes, Wholes]:
        """The ways each item may lie while the groups keep the turns that they have."""
        ways = self.ground.ways
        turns = tuple(
            next(
                pose.turn_deg
                for pose, way in self.ground.stock.choices[self.groups.of.index(group)]
                if way.number == worn[self.groups.of.index(group)]
            )
            for group in range(len(self.groups.turns))
        )
        poses = allowed(self.ground.stock.problem, self.groups, turns)
        lists = [
            [way.number for pose, way in ways[item] if self.ground.free[item] and pose in poses[item]]
            for item in range(len(ways))
        ]
        lists += [[] for _ in range(len(worn) - len(ways))]
        first = np.concatenate([[0], np.cumsum([len(one) for one in lists])]).astype(np.int64)
        return first, np.array([way for one in lists for way in one], dtype=np.int64)

    def _least(self) -> float:
        """A length (units) that no layout can fall below: each piece fits into it, though perhaps turned."""
        stock = self.ground.stock
        ends = [min(self.least_ends[way.number] for _, way in self.ground.ways[piece]) for piece in self.movers]
        for laid in stock.problem.locked:
            room = self.ground.arrays[3][stock.way(laid.item, laid.pose).number]
            ends.append(float(np.rint(laid.x * UNITS) + room[FAR]))
        return float(max(ends))

    def _press(self) -> None:
        """Ask the layout that is followed for less."""
        self.is_pressed = True
        beyond = self._squeeze(self.length, self.spots, self.worn, self.share)
        x = self.spots[:, 0]
        nearest = np.argsort(np.abs(x - (x[beyond].min() if beyond.any() else x.max())), kind="stable")
        self.window = self._window(nearest[:NEAR], beyond)

    def _squeeze(self, length: float, spots: Reals, worn: Wholes, share: float) -> NDArray[np.bool_]:
        """Set a shorter target; what lies beyond a cut at random, which is told, moves towards the start by as much."""
        less = np.ceil(length * share)  # what moves as one stays on the grid
        self.target = max(length - less, self.least_length)
        self.pressed = spots.copy()
        beyond: NDArray[np.bool_] = spots[:, 0] > self.rng.random() * length
        self.pressed[beyond, 0] -= length - self.target
        ways = self._fitting(worn)
        self.start = (self._inside(self.pressed, ways), ways)
        return beyond

    def _fitting(self, worn: Wholes) -> Wholes:
        """The ways of all pieces, some other one at random for a piece that is too long for the target as it lies."""
        too_long = self.ground.free & (self.least_ends[worn] > self.target)
        if not too_long.any():
            return worn
        worn, (first, choices) = worn.copy(), self._choices(worn)
        for piece in np.flatnonzero(too_long):
            own = choices[first[piece] : first[piece + 1]]
            fitting = own[self.least_ends[own] <= self.target]
            worn[piece] = self.rng.choice(fitting) if len(fitting) else worn[piece]
        return worn

    def _window(self, near: Wholes, beyond: NDArray[np.bool_]) -> Window | None:
        """Of a long layout some pieces, and those beyond them, which move along as one; None where all are to move."""
        rooms = self.ground.rooms(self.worn)
        if len(beyond) <= LONG or not self.ground.free.all() or (rooms[:, [REPEAT_X, REPEAT_Y]] > 0).any():
            return None
        loose = np.isin(np.arange(len(beyond)), near)
        return Window(loose, beyond & ~loose)

    def _moved(self, spots: Reals) -> Window | None:
        """The window, and what the search has moved besides."""
        if self.window is None:
            return None
        loose = self.window.loose | (spots != self.pressed).any(axis=1)
        return Window(loose, self.window.beyond & ~loose)

    def _disturb(self) -> None:
        """Two large pieces of one of the better attempts change places."""
        self.is_pressed = False
        at = min(int(abs(self.rng.normal()) * 0.25 * len(self.attempts)), len(self.attempts) - 1)
        _, spots, worn = self.attempts[at]
        movers = self.movers if self.window is None else np.flatnonzero(self.window.loose)
        large = movers[np.argsort(-self.ground.sizes[movers], kind="stable")][: max(2, int(len(movers) * LARGE))]
        if len(large) > 1:
            spots = self._exchanged(spots, worn, self.rng.choice(large, 2, replace=False))
        self.start = (self._inside(spots, worn), worn)

    def _inside(self, spots: Reals, worn: Wholes) -> Reals:
        """Spots moved into the strip and on to the cloth's pattern; what may not move stays."""
        rooms, moved = self.ground.rooms(worn), self.spots.copy()
        for piece in self.movers:
            low, far, below, above, repeat_x, start_x, repeat_y, start_y, slack = rooms[piece]
            x = snapped(spots[piece, 0], low, max(self.target - far, low), repeat_x, start_x, slack)
            if x == np.inf:  # its first place lies beyond the target
                x = _first_met(rooms[piece])
            moved[piece] = [x, snapped(spots[piece, 1], below, above, repeat_y, start_y, slack)]
        return moved

    def _laid(self, spots: Reals, worn: Wholes) -> tuple[Laid, ...]:
        ways = self.ground.ways
        return tuple(
            Laid(
                item,
                next(pose for pose, way in ways[item] if way.number == worn[item]),
                on_grid(float(spots[item, 0]) / UNITS),
                on_grid(float(spots[item, 1]) / UNITS),
            )
            for item in range(self.ground.items)
        )


def _first_met(room: Reals) -> float:
    """The least shift along (units) at which a piece meets the cloth's pattern."""
    low, repeat = room[LEAST_X], room[REPEAT_X]
    return float(snapped(low, low, low + repeat, repeat, room[START_X], room[TOLERANCE]))
