"""Short ways: an exchange gains what it says, can be undone, and no way becomes longer or loses a line."""

import numpy as np
import pytest
from numpy.typing import NDArray

from cutroom.geometry.kernels.tour import _better, _exchange, better_way, near_doors, plant
from cutroom.plot.sequence import Doors, travel

Wholes = NDArray[np.int64]


def some_doors(rng: np.random.Generator, lines: int) -> Doors:
    """Open lines with a door at either end, and closed ones with one to five."""
    offered = rng.integers(1, 6, lines)
    offered[0] = 1
    loose = rng.random(lines) < 0.5
    offered[1:][~loose[1:]] = 2
    loose[0] = False
    owner = np.repeat(np.arange(lines), offered)
    first = np.repeat(np.cumsum(offered) - offered, offered)
    itself = np.arange(len(owner))
    open_ = (offered == 2) & ~loose
    back = np.where(open_[owner], 2 * first + 1 - itself, itself)
    places = (rng.uniform(0, 100, (lines, 2)))[owner] + rng.normal(0, 8, (len(owner), 2))
    return Doors(places, back, owner, itself - first, loose[owner])


def any_way(rng: np.random.Generator, doors: Doors) -> Wholes:
    """The lines in any order, each by any of its doors, the first one first."""
    first = doors.first
    order = np.concatenate([[0], rng.permutation(np.arange(1, len(first) - 1))])
    way: Wholes = first[order] + rng.integers(0, np.diff(first)[order])
    return way


@pytest.mark.parametrize("seed", range(30))
def test_an_exchange_gains_what_it_says_and_can_be_undone(seed: int) -> None:
    rng = np.random.default_rng(seed)
    doors = some_doors(rng, 40)
    near = near_doors(doors.places, doors.owner, *plant(doors.places), 8)
    way, move = any_way(rng, doors), np.zeros(7, dtype=np.int64)
    spots = np.argsort(doors.owner[way])
    found = 0
    for line in np.tile(np.arange(40), 3).tolist():
        before, length = way.copy(), travel(doors, way)
        won = _better(doors.places, doors.back, doors.owner, near, way, spots, line, move)
        if won == 0.0:
            assert (way == before).all()
            continue
        found += 1
        if move[0]:
            _exchange(way, spots, doors.owner, doors.back, move)
        assert travel(doors, way) == pytest.approx(length - won, abs=1e-9)
        assert (spots == np.argsort(doors.owner[way])).all()
        after = way.copy()
        if move[0]:
            undone = move.copy()
            _exchange(way, spots, doors.owner, doors.back, undone)
        if move[5] >= 0:
            way[move[5]] = move[6]
        assert (way == before).all()
        way[:] = after
        spots = np.argsort(doors.owner[way])
    assert found > 10


@pytest.mark.parametrize("seed", range(10))
def test_a_better_way_keeps_every_line_and_is_much_shorter(seed: int) -> None:
    rng = np.random.default_rng(seed)
    doors = some_doors(rng, 120)
    near = near_doors(doors.places, doors.owner, *plant(doors.places), 8)
    start = any_way(rng, doors)
    ways = [better_way(doors.places, doors.back, doors.owner, near, start, tries) for tries in (0, 500)]
    assert all(sorted(doors.owner[way]) == list(range(120)) and way[0] == 0 for way in ways)
    lengths = [travel(doors, way) for way in (start, *ways)]
    assert lengths[1] < lengths[0] / 3
    assert lengths[2] <= lengths[1] + 1e-6
