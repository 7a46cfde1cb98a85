"""Work shared out over threads is done whole, each thing once; what stops one thread stops all and is told."""

import os
import threading

import pytest

from cutroom.nest import solve as nest
from cutroom.nest.side_by_side import side_by_side
from tests.unit.nest.test_search_keeps_its_word import some_problem


@pytest.mark.parametrize("cores", [1, 2, 5])
@pytest.mark.parametrize("count", [0, 1, 2, 500])
def test_each_thing_is_worked_on_once(cores: int, count: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "cpu_count", lambda: cores)
    done = [0] * count

    def work(thing: int) -> None:
        done[thing] += 1

    side_by_side(work, range(count))
    assert done == [1] * count


@pytest.mark.parametrize("in_caller", [True, False])
@pytest.mark.parametrize("fault", [ValueError, KeyboardInterrupt])
def test_what_stops_one_thread_stops_all_and_is_told(
    in_caller: bool, fault: type[BaseException], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    caller, met, done = threading.get_ident(), threading.Barrier(2), []

    def work(thing: int) -> None:
        if thing < 2:
            met.wait(60)  # both threads are at work
        if (threading.get_ident() == caller) is in_caller:
            raise fault("no further")
        done.append(thing)

    with pytest.raises(fault, match="no further"):
        side_by_side(work, range(100_000))
    assert len(done) < 100_000


def test_ctrl_c_while_shapes_are_worked_out_leaves_the_lay_of_the_boxes(monkeypatch: pytest.MonkeyPatch) -> None:
    from cutroom.nest import stock

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(stock, "_no_fit", interrupted)
    layout = nest.solve(some_problem(2), seconds=60, seed=1)
    assert layout.stopped
    assert layout.length == layout.boxes_length
