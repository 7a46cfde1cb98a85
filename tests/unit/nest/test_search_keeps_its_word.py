"""The search: same seed same layout, more never longer, Ctrl-C keeps the best; and the rough lay is checked."""

import itertools
import json
import os
import subprocess
import sys
import threading
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import unary_union
from shapely.affinity import rotate, translate
from shapely.geometry import Polygon, box

from cutroom.errors import NestError
from cutroom.model.arrays import Points, frozen_points
from cutroom.nest import rough
from cutroom.nest.__main__ import main
from cutroom.nest.problem import Item, Laid, Layout, Pose, Problem, Progress, laid_outline, used_length
from cutroom.nest.solve import solve

BOTH = (Pose(False, 0.0), Pose(False, 180.0))
ALL = (*BOTH, Pose(True, 0.0), Pose(True, 180.0), Pose(False, 90.0), Pose(False, 33.0))


def some_outline(rng: np.random.Generator) -> Points:
    count = int(rng.integers(3, 12))
    angles = (np.arange(count) + rng.uniform(0, 0.5)) * (2 * np.pi / count)
    radii = rng.uniform(20, 90, count)
    return frozen_points(np.column_stack([np.cos(angles) * radii, np.sin(angles) * radii]))


def some_problem(seed: int, *, count: int = 8, gap: float = 2.0) -> Problem:
    rng = np.random.default_rng(seed)
    outlines = [some_outline(rng) for _ in range(4)]
    items = tuple(Item(f"{n}", outlines[n % 4], ALL if n % 2 else BOTH, group=f"{n % 2}") for n in range(count))
    return Problem(300.0, gap, items)


def is_sound(problem: Problem, layout: Layout) -> bool:
    outlines = [Polygon(laid_outline(problem.items[laid.item], laid)) for laid in layout.placed]
    inside = all(
        o.bounds[0] >= -1e-6 and o.bounds[1] >= -1e-6 and o.bounds[3] <= problem.width + 1e-6 for o in outlines
    )
    apart = all(a.distance(b) >= problem.gap - 1e-6 for a, b in itertools.combinations(outlines, 2))
    flat = all(a.intersection(b).area <= 1e-6 * min(a.area, b.area) for a, b in itertools.combinations(outlines, 2))
    return inside and apart and flat and len(outlines) == len(problem.items)


@given(st.integers(0, 10_000), st.sampled_from([0.0, 1.0, 6.35]), st.booleans())
@settings(max_examples=15, deadline=None)
def test_any_layout_is_sound(seed: int, gap: float, same_way: bool) -> None:
    plain = some_problem(seed, gap=gap)
    items = tuple(Item(item.name, item.outline, BOTH, group=item.group) for item in plain.items)
    problem = Problem(300.0, gap, items, same_way=True) if same_way else plain
    layout = solve(problem, seconds=0, seed=seed, tries=6)
    assert is_sound(problem, layout)
    assert layout.length <= layout.boxes_length
    assert layout.length >= sum(Polygon(item.outline).area for item in problem.items) / problem.width
    assert layout.length == used_length(problem.items, layout.placed)


@pytest.mark.parametrize("seed", range(4))
def test_what_must_lie_one_way_keeps_the_way_that_it_is_gone_on_from(seed: int) -> None:
    plain = some_problem(seed)
    items = tuple(Item(item.name, item.outline, BOTH, group=item.group) for item in plain.items)
    problem = Problem(300.0, 2.0, items, same_way=True)
    first = solve(problem, seconds=0, seed=seed, tries=8)
    length = round(first.length + 0.01, 2)
    about = tuple(
        Laid(laid.item, Pose(turn_deg=180.0 - laid.pose.turn_deg), round(length - laid.x, 2), round(300.0 - laid.y, 2))
        for laid in first.placed
    )
    again = solve(problem, seconds=0, seed=seed, tries=1, start=about)
    assert is_sound(problem, again)
    for group in ("0", "1"):
        assert len({laid.pose.turn_deg for laid in again.placed if items[laid.item].group == group}) == 1


def test_a_marker_whose_garments_lie_both_ways_is_not_gone_on_from_where_each_must_lie_one_way() -> None:
    items = tuple(Item(item.name, item.outline, BOTH, group="coat") for item in some_problem(0).items)
    laid = solve(Problem(300.0, 2.0, items, same_way=True), seconds=0, seed=0, tries=2).placed
    mixed = (Laid(0, Pose(turn_deg=180.0 - laid[0].pose.turn_deg), laid[0].x, laid[0].y), *laid[1:])
    with pytest.raises(NestError, match=r'garment "coat".*Turn them to lie one way'):
        solve(Problem(300.0, 2.0, items, same_way=True), seconds=0, seed=0, tries=2, start=mixed)


def test_the_same_seed_and_tries_give_the_same_layout_whatever_the_clock() -> None:
    slow = itertools.count(0.0, 5.0)
    one = solve(some_problem(1), seconds=0, seed=4, tries=60)
    two = solve(some_problem(1), seconds=3, seed=4, tries=60, clock=lambda: next(slow))
    assert one == two


def test_more_tries_are_never_longer_and_another_seed_is_another_search() -> None:
    lengths = [solve(some_problem(2), seconds=0, seed=4, tries=tries).length for tries in (1, 5, 20, 60, 120)]
    assert lengths == sorted(lengths, reverse=True)
    assert lengths[-1] < lengths[0]
    assert (
        solve(some_problem(2), seconds=0, seed=5, tries=120).placed
        != solve(some_problem(2), seconds=0, seed=4, tries=120).placed
    )


def test_more_seconds_try_more_orders_and_are_never_longer() -> None:
    def searched(seconds: float) -> Layout:
        ticks = itertools.count(0.0, 0.01)
        return solve(some_problem(3), seconds=seconds, seed=4, clock=lambda: next(ticks))

    layouts = [searched(seconds) for seconds in (0.0, 1.0, 4.0)]
    assert layouts[0].tries == 1
    assert [one.tries for one in layouts] == sorted({one.tries for one in layouts})
    assert [one.length for one in layouts] == sorted((one.length for one in layouts), reverse=True)


@pytest.mark.parametrize("workers", [1, 2, 3])
def test_progress_tells_each_better_length(workers: int) -> None:
    told: list[Progress] = []
    layout = solve(some_problem(2), seconds=0, seed=4, tries=60, workers=workers, progress=told.append)
    lengths = [one.length for one in told]
    assert lengths == sorted(set(lengths), reverse=True)
    assert lengths[-1] == layout.length


@pytest.mark.parametrize("workers", [1, 2])
def test_stopping_by_hand_keeps_the_best_so_far(workers: int) -> None:
    def stop(_: Progress) -> None:
        raise KeyboardInterrupt

    problem = some_problem(2)
    layout = solve(problem, seconds=60, seed=4, workers=workers, progress=stop)
    assert layout.stopped
    assert is_sound(problem, layout)


def test_a_fault_in_one_search_is_told_and_not_that_the_other_was_still_at_work() -> None:
    tellers: list[int] = []

    def fail(_: Progress) -> None:
        tellers.append(threading.get_ident())
        if tellers[-1] != tellers[0]:  # the other search: the first is still at work
            raise ValueError("the picture cannot be drawn")

    with pytest.raises(ValueError, match="cannot be drawn"):
        solve(some_problem(2, count=20), seconds=60, seed=4, workers=2, progress=fail)


def test_a_planted_fault_of_the_rectangle_packer_is_caught() -> None:
    box = frozen_points([[0, 0], [100, 0], [100, 50], [0, 50]])
    problem = Problem(200.0, 5.0, (Item("a", box, BOTH), Item("b", box, BOTH)))
    pose = BOTH[0]
    assert rough.boxes_are_apart(problem, (Laid(0, pose, 0.0, 0.0), Laid(1, pose, 105.0, 0.0)))
    for x, y in ((0.0, 0.0), (104.99, 0.0), (0.0, 54.99), (-1.0, 60.0), (0.0, 150.01), (0.0, -0.01)):
        assert not rough.boxes_are_apart(problem, (Laid(0, pose, 0.0, 0.0), Laid(1, pose, x, y)))
    assert not rough.boxes_are_apart(problem, (Laid(0, pose, 0.0, 0.0),))
    assert not rough.boxes_are_apart(problem, (Laid(0, pose, 0.0, 0.0), Laid(0, pose, 105.0, 0.0)))


def test_a_packer_that_lays_all_on_one_spot_is_not_believed(monkeypatch: pytest.MonkeyPatch) -> None:
    def one_spot(_: Problem, crates: list[rough._Crate], _way: object) -> tuple[Laid, ...]:
        return tuple(rough._put(crate, 0, 0) for crate in crates)

    monkeypatch.setattr(rough, "_packed", one_spot)
    problem = some_problem(1)
    placed = rough.lay_boxes(problem, tuple(item.poses for item in problem.items))
    assert rough.boxes_are_apart(problem, placed)


def an_instance(**changes: object) -> dict[str, object]:
    items: list[dict[str, object]] = [
        {"id": 7, "demand": 3, "allowed_orientations": [0.0, 180.0],
         "shape": {"type": "simple_polygon", "data": [[0, 0], [6, -6], [12, 0], [6, 6], [0, 0]]}},
        {"id": 9, "demand": 2, "allowed_orientations": [0.0, 90.0],
         "shape": {"type": "simple_polygon", "data": [[1.25, 0.0], [1.25, 3.0], [9.0, 3.0], [9.0, 0.0]]}},
    ]  # fmt: skip
    return {"name": "invented", "strip_height": 15.0015, "items": items, **changes}


def test_the_command_answers_in_the_instances_own_numbers(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "instance.json"
    path.write_text(json.dumps(an_instance()))
    assert main([str(path), "--seconds", "0.3", "--seed", "1"]) == 0
    answer = json.loads(capsys.readouterr().out)
    shapes: dict[int, Polygon] = {
        7: Polygon([[0, 0], [6, -6], [12, 0], [6, 6]]),
        9: Polygon([[1.25, 0.0], [1.25, 3.0], [9.0, 3.0], [9.0, 0.0]]),
    }
    laid = [
        translate(rotate(shapes[one["item"]], one["rotation_deg"], origin=(0, 0)), one["x"], one["y"])
        for one in answer["placements"]
    ]
    assert sorted(one["item"] for one in answer["placements"]) == [7, 7, 7, 9, 9]
    assert all(a.intersection(b).area < 1e-6 for a, b in itertools.combinations(laid, 2))
    assert all(a.bounds[0] >= -1e-9 and a.bounds[1] >= -1e-9 and a.bounds[3] <= 15.0015 + 1e-9 for a in laid)
    assert max(a.bounds[2] for a in laid) == pytest.approx(answer["length"], abs=1e-9)
    assert answer["density"] == pytest.approx(sum(a.area for a in laid) / (15.0015 * answer["length"]))
    assert answer["seconds"] < 5


def test_two_that_fill_the_strip_fit_whatever_their_corners_are_counted_from(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    low, left = {1: -389.4794, 2: 0.3333}, {1: 7.7777, 2: -0.0051}
    shapes = {one: box(left[one], low[one], left[one] + 90.5, low[one] + 750.0) for one in (1, 2)}
    items = [
        {"id": one, "demand": 1, "allowed_orientations": [0.0, 180.0], "shape": {"data": [*shape.exterior.coords]}}
        for one, shape in shapes.items()
    ]
    path = tmp_path / "instance.json"
    path.write_text(json.dumps({"strip_height": 1500.0, "items": items}))
    assert main([str(path), "--tries", "20", "--seed", "1"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["length"] == pytest.approx(90.5, abs=1e-6)
    laid = [
        translate(rotate(shapes[one["item"]], one["rotation_deg"], origin=(0, 0)), one["x"], one["y"])
        for one in answer["placements"]
    ]
    assert unary_union(laid).bounds == pytest.approx((0.0, 0.0, 90.5, 1500.0), abs=1e-6)
    assert laid[0].intersection(laid[1]).area < 1e-6


def test_the_command_runs_as_a_module_and_prints_nothing_else(tmp_path: Path) -> None:
    path = tmp_path / "instance.json"
    path.write_text(json.dumps(an_instance()))
    done = subprocess.run(
        [sys.executable, "-m", "cutroom.nest", str(path), "--seconds", "0", "--seed", "1", "--workers", "2"],
        capture_output=True, text=True, check=False, cwd=Path(__file__).parents[3],
    )  # fmt: skip
    assert done.returncode == 0
    assert done.stderr == ""
    assert set(json.loads(done.stdout)) == {"length", "density", "seconds", "placements"}


@pytest.mark.parametrize("wrong", [["--seconds", "nan"], ["--seconds", "-1"], ["--seed", "-1"], ["--tries", "0"]])
def test_options_out_of_their_range_are_refused(
    wrong: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "instance.json"
    path.write_text(json.dumps(an_instance()))
    assert main([str(path), *wrong]) == 2
    assert "of 0 or more" in capsys.readouterr().err


def test_the_same_seed_and_tries_give_the_same_layout_in_another_process(tmp_path: Path) -> None:
    path = tmp_path / "instance.json"
    path.write_text(json.dumps(an_instance()))
    command = [sys.executable, "-m", "cutroom.nest", str(path), "--seed", "5", "--tries", "80", "--workers", "2"]
    found = []
    for salt in ("1", "2"):
        told = subprocess.run(command, capture_output=True, check=True, env={**os.environ, "PYTHONHASHSEED": salt})
        found.append({**json.loads(told.stdout), "seconds": 0})
    assert found[0] == found[1]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("{", "is not JSON"),
        ("[]", "not a strip-packing instance"),
        (json.dumps(an_instance(strip_height=0)), "strip_height"),
        (json.dumps(an_instance(strip_height="wide")), "strip-packing"),
        (json.dumps(an_instance(items=[{"shape": {"data": [[0, 0], [1, 1]]}}])), "encloses nothing"),
        (json.dumps(an_instance(items=[])), "nothing to lay"),
        (json.dumps(an_instance(items=[{"demand": -1, "shape": {"data": [[0, 0], [9, 0], [9, 9]]}}])), "demand"),
        (json.dumps(an_instance(items=[{"demand": 1.5, "shape": {"data": [[0, 0], [9, 0], [9, 9]]}}])), "demand"),
        (json.dumps(an_instance(strip_height=2)), "too wide"),
        (json.dumps(an_instance(items=[{"shape": {"data": [[0, 0], [9, 9], [9, 0], [0, 10]]}}])), "crosses"),
    ],
)
def test_a_bad_file_ends_with_one_and_says_why(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, says: str
) -> None:
    path = tmp_path / "instance.json"
    path.write_text(text)
    assert main([str(path), "--seconds", "0"]) == 1
    printed = capsys.readouterr()
    assert printed.out == ""
    assert says in printed.err
    assert main([str(tmp_path / "none.json")]) == 1
