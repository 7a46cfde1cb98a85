"""Where nothing more is found near a layout some of its pieces are stirred: that finds more, and breaks no rule."""

import numpy as np
import pytest
from shapely.geometry import Polygon

from cutroom.model.arrays import frozen_points
from cutroom.nest import improve
from cutroom.nest.grid import UNITS
from cutroom.nest.ground import lay_out
from cutroom.nest.groups import group_items
from cutroom.nest.improve import Improver
from cutroom.nest.problem import Item, Laid, Layout, Match, Pose, Problem, laid_outline, used_length
from cutroom.nest.solve import solve
from cutroom.nest.stock import gather
from tests.unit.nest.test_search_keeps_its_word import BOTH, is_sound, some_outline, some_problem

UP = Pose()


@pytest.fixture
def stirs(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """One for each time that a layout is stirred, which is as soon as it can be."""
    told: list[int] = []
    stir = Improver._stir

    def counted(improver: Improver) -> None:
        told.append(1)
        stir(improver)

    monkeypatch.setattr(Improver, "_stir", counted)
    monkeypatch.setattr(improve, "VAIN", 1)
    monkeypatch.setattr(improve, "VAIN_IF_POOR", 1)
    return told


def test_a_stirred_layout_is_another_one_and_sound_and_the_search_goes_on_below_it() -> None:
    problem = some_problem(3, count=12)
    found = solve(problem, seconds=0, seed=1, tries=200, workers=1)
    improver = spent(problem, found, seed=1)
    was_away = improver.is_away
    stirred = first_of(improver)
    assert is_sound(problem, Layout(stirred, used_length(problem.items, stirred), 0.0))
    moved = [max(abs(a.x - b.x), abs(a.y - b.y)) for a, b in zip(stirred, found.placed, strict=True)]
    assert sum(far > 30.0 for far in moved) >= 2
    assert not improver.is_spent
    assert (was_away, improver.is_away) == (False, True)
    assert used_length(problem.items, stirred) > found.length
    assert used_length(problem.items, first_of(improver)) < used_length(problem.items, stirred)


def test_a_long_layout_is_stirred_in_one_place_only(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(improve, "LONG", 30)
    monkeypatch.setattr(improve, "NEAR", 3)
    problem = some_problem(4, count=40)
    found = solve(problem, seconds=0, seed=1, tries=3, workers=1)
    improver = spent(problem, found, seed=3)
    improver._stir()
    moving = improver.window
    assert moving is not None
    assert moving.loose.sum() == 3
    assert not (moving.loose & moving.beyond).any()
    still = ~(moving.loose | moving.beyond)
    start = improver.start[0]
    assert (start[still] == improver.home[1][still]).all()
    stirred = first_of(improver)
    assert is_sound(problem, Layout(stirred, used_length(problem.items, stirred), 0.0))


def test_where_stirring_never_comes_out_the_best_is_searched_again(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = some_problem(5, count=10)
    found = solve(problem, seconds=0, seed=1, tries=20, workers=1)
    improver = spent(problem, found, seed=4)
    monkeypatch.setattr(improve, "STIRRED", (1.0, 1.0))  # all of them: the room is not left to chance
    rooms, stir = [], improver._stir

    def told() -> None:
        stir()
        rooms.append(improver.target)

    with monkeypatch.context() as broken:
        broken.setattr(improver.compactor, "pushed", lambda *_given, **_named: None)
        broken.setattr(improver, "_stir", told)
        while improver.is_spent:
            assert improver.step() is None
    assert len(rooms) == improve.STIRS + 1  # the last time the best is taken up again
    growth = np.diff(rooms[:-1])
    assert growth[1:] == pytest.approx(2.0 * growth[:-1])
    assert improver.length == pytest.approx(found.length * UNITS)
    improver.step()


def test_a_stirred_layout_is_drawn_in_a_little_at_a_time_whatever_others_find_meanwhile(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(improve, "MORE_ROOM", 0.5)  # enough at once
    problem = some_problem(6, count=14)
    found = solve(problem, seconds=0, seed=1, tries=40, workers=1)
    improver = spent(problem, found, seed=2)
    targets, placed = [], None
    while placed is None:
        placed = improver.step()
        targets += [improver.target] if improver.is_loose else []
        assert improver.is_away or placed is not None
    steps = -np.diff(targets)
    assert (steps >= 0).all()
    assert (steps > 0).sum() >= 3
    assert steps.max() <= 1.01 * improve.SLOWLY * targets[0]
    assert used_length(problem.items, placed) * UNITS < targets[0]


def test_a_long_search_lasts_longer_near_each_layout_but_not_for_ever() -> None:
    problem = some_problem(7, count=5)
    improver = spent(problem, solve(problem, seconds=0, seed=1, tries=10, workers=1), seed=1)
    lasting = []
    for _ in range(20):
        improver.is_spent, improver.is_loose, improver.stirs = True, False, 0
        improver._stir()
        lasting.append(improver.lasting)
    assert lasting == sorted(lasting)
    assert 1.0 < lasting[0] < lasting[-1] == lasting[-2] == improve.MOST_LASTING


def test_pieces_that_fill_the_width_but_for_a_hundredth_of_a_millimetre_are_got_apart_elsewhere() -> None:
    heights = (100.0, 100.0, 100.01)
    blocks = [Item(f"{n}", box(100.0, high), (UP,)) for n, high in enumerate(heights)]
    problem = Problem(300.0, 0.0, (*blocks, Item("wide", box(300.0, 290.0), (UP,))))
    stacked = tuple(Laid(n, UP, 0.0, 100.0 * n) for n in range(3))
    start = (*stacked, Laid(3, UP, 100.0, 0.0))
    halt = np.zeros(1, dtype=np.int64)
    improver = Improver(lay_out(gather(problem)), group_items(problem), np.random.default_rng(1), halt)
    mended = improver.mended(start)
    assert mended is not None
    assert is_sound(problem, Layout(mended, used_length(problem.items, mended), 0.0))


def box(long: float, high: float) -> np.ndarray:
    return frozen_points([[0, 0], [long, 0], [long, high], [0, high]])


def spent(problem: Problem, found: Layout, *, seed: int) -> Improver:
    """A search that has had enough of a layout."""
    halt = np.zeros(1, dtype=np.int64)
    improver = Improver(lay_out(gather(problem)), group_items(problem), np.random.default_rng(seed), halt)
    improver.follow(found.placed, found.length)
    improver.is_spent = True
    return improver


def first_of(improver: Improver) -> tuple[Laid, ...]:
    return next(placed for placed in (improver.step() for _ in range(100)) if placed is not None)


@pytest.mark.parametrize("seed", [0, 2, 3])
def test_what_must_point_alike_still_does(seed: int, stirs: list[int]) -> None:
    plain = some_problem(seed)
    items = tuple(Item(item.name, item.outline, BOTH, group=item.group) for item in plain.items)
    problem = Problem(300.0, 2.0, items, same_way=True)
    layout = solve(problem, seconds=0, seed=seed, tries=400, workers=1)
    assert stirs
    assert is_sound(problem, layout)
    for garment in ("0", "1"):
        assert len({laid.pose.turn_deg for laid in layout.placed if items[laid.item].group == garment}) == 1


@pytest.mark.parametrize("seed", range(3))
def test_what_is_locked_stays_and_a_flaw_stays_free(seed: int, stirs: list[int]) -> None:
    rng = np.random.default_rng(seed)
    items = tuple(Item(f"{n}", some_outline(rng), BOTH) for n in range(7))
    flaw = frozen_points([[260, 100], [300, 100], [300, 160], [260, 160]])
    lock = Laid(0, UP, 100.0, 150.0)
    problem = Problem(300.0, 2.0, items, forbidden=(flaw,), locked=(lock,))
    layout = solve(problem, seconds=0, seed=seed, tries=200, workers=1)
    assert stirs
    assert is_sound(problem, layout)
    assert lock in layout.placed
    assert all(
        Polygon(laid_outline(items[laid.item], laid)).intersection(Polygon(flaw)).area < 1e-6 for laid in layout.placed
    )


@pytest.mark.parametrize("seed", range(3))
def test_no_piece_comes_to_lie_across_an_end_of_the_table(seed: int, stirs: list[int]) -> None:
    rng = np.random.default_rng(seed)
    items = tuple(Item(f"{n}", some_outline(rng), BOTH) for n in range(8))
    problem = Problem(200.0, 2.0, items, table=260.0)
    layout = solve(problem, seconds=0, seed=seed, tries=200, workers=1)
    assert stirs
    assert is_sound(problem, layout)
    for laid in layout.placed:
        along = laid_outline(items[laid.item], laid)[:, 0]
        assert (along.min() + 1e-6) // 260.0 == (along.max() - 1e-6) // 260.0


@pytest.mark.parametrize("seed", range(3))
def test_a_long_piece_on_stripes_is_turned_across_where_it_may_be(seed: int) -> None:
    belt = frozen_points([[0, 0], [300, 0], [300, 100], [0, 100]])
    pocket = frozen_points([[0, 0], [60, 0], [60, 60], [0, 60]])
    match = Match((0.0, 0.0), (50.0, 0.0))
    items = (Item("belt", belt, (UP, Pose(turn_deg=90.0))), Item("pocket", pocket, (UP,), match=match))
    layout = solve(Problem(400.0, 0.0, items), seconds=0, seed=seed, tries=60)
    assert layout.length == pytest.approx(100.0)
