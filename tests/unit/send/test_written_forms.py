"""What this program writes is read by the sender and the stand-in alike, in every form, resting after any run."""

import io
from dataclasses import replace
from itertools import groupby

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutroom.model.motion import Motion
from cutroom.model.plot import Framed, PenRun
from cutroom.model.profile import Plotter
from cutroom.plot.timing import time_plot
from cutroom.read.cutter import list_cutters, read_cutter
from cutroom.send.gcode import Gcode, Handling
from cutroom.send.hpgl import Hpgl
from cutroom.send.items import begun_at, from_stroke, numbered
from cutroom.send.language import contents_of
from cutroom.standin import motion as standin
from cutroom.standin.compare import compare, drawn_by, key
from cutroom.standin.machine import Kind, Machine
from cutroom.write.hpgl import write_hpgl
from tests.cutters import paths_of, proved
from tests.cutters import written as written_for_cutter

FORMS = ("absolute", "relative", "encoded", "encoded 7-bit")
_POINT = st.tuples(st.integers(0, 60000), st.integers(0, 60000))
_RUN = st.tuples(st.integers(1, 3), st.lists(_POINT, min_size=1, max_size=6))
_FRAMES = st.lists(st.lists(_RUN, min_size=1, max_size=6), min_size=1, max_size=3)


def written(frames: list[list[tuple[int, list[tuple[int, int]]]]], form: str) -> bytes:
    framed = tuple(
        tuple(PenRun(pen, np.array(points)) for pen, points in sorted(runs, key=lambda run: run[0])) for runs in frames
    )
    plotter = Plotter("a", "a", 1500, 1500, largest=8388607, form=form, end="PU;SP0;PG;", pen_speed=40)
    return write_hpgl(Framed("a", tuple(range(len(frames))), framed), plotter)


@pytest.mark.parametrize("form", FORMS)
@given(frames=_FRAMES)
def test_every_form_is_read_run_by_run_and_drawn_alike(
    form: str, frames: list[list[tuple[int, list[tuple[int, int]]]]]
) -> None:
    """Whatever the form, each run is a stroke of its own, and what is sent draws what the plain form draws."""
    data = written(frames, form)
    passages = list(Hpgl(frame_mm=1500.0).passages(io.BytesIO(data)))
    runs = sum(len(frame) for frame in frames)
    assert [one.strokes for one in passages if one.strokes] == [1] * runs
    sent = b"".join(one.data for one in passages)
    plain = drawn_by(written(frames, "absolute"))
    assert [key(run) for run in drawn_by(sent)] == [key(run) for run in plain]
    assert len(plain) == runs
    if not form.startswith("encoded"):
        assert sent == data


@pytest.mark.parametrize("form", FORMS)
@given(frames=_FRAMES, data=st.data())
def test_from_any_stroke_every_form_draws_the_rest(
    form: str, frames: list[list[tuple[int, list[tuple[int, int]]]]], data: st.DataObject
) -> None:
    """The parts joined are the whole: nothing is lost, doubled or moved."""
    file = written(frames, form)
    runs = drawn_by(written(frames, "absolute"))
    number = data.draw(st.integers(1, len(runs)))
    start = from_stroke(numbered(Hpgl(frame_mm=1500.0).passages(io.BytesIO(file))), number)
    contents = contents_of(Hpgl(frame_mm=1500.0).passages(io.BytesIO(file)))
    head, items = begun_at(io.BytesIO(file), Hpgl(frame_mm=1500.0), contents, start, marks=False)
    rest = drawn_by(head + b"".join(item.passage.data for item in items))
    first = rest[0].frame - runs[number - 1].frame
    assert [(run.frame - first, *key(run)[1:]) for run in rest] == [key(run) for run in runs[number - 1 :]]


def test_a_cutter_that_ships_is_understood_by_its_own_words() -> None:
    for name in list_cutters():
        cutter = read_cutter(name)
        for tool in cutter.tools:
            if cutter.language.value == "cut-gcode":
                moves = [*tool.choose, "G0 X10 Y10", *tool.down, "G1 X20 Y10", *tool.up] * 2
                program = "\n".join(["G21", *(word for one in cutter.tools for word in one.up), *moves, ""]).encode()
                assert [one.strokes for one in Gcode().passages(io.BytesIO(program)) if one.strokes] == [1, 1], name
                assert len(drawn_by(program, language="gcode")) == 2, name


def test_a_cutter_of_ones_own_words_is_sent_run_by_run() -> None:
    """Words that no other machine has, in the profile: the sender rests after every run, and the stand-in draws it."""
    shipped = read_cutter("flatbed-knife")
    words = {"pen": (("G1 Z12 F600",), ("G0 Z0",)), "knife": (("M64 P1", "G4 P0.2"), ("M65 P1", "G4 P0.2"))}
    tools = [replace(tool, down=words[tool.name][0], up=words[tool.name][1]) for tool in shipped.tools]
    cutter = replace(shipped, tools=tuple(tools))
    program = written_for_cutter(cutter)
    assert not proved(cutter, program).refused
    runs = len(paths_of(cutter).paths)
    handling = tuple(Handling(tool.down, tool.up) for tool in tools)
    assert [one.strokes for one in Gcode(handling).passages(io.BytesIO(program)) if one.strokes] == [1] * runs
    drawn = drawn_by(program, language="gcode", tools=tuple((tool.down, tool.up) for tool in tools))
    assert len(drawn) == runs


@pytest.mark.parametrize(("speed", "acceleration", "corner"), [(400, 4000, 25), (250, 1500, 10), (600, 12000, 60)])
def test_the_estimate_is_within_a_tenth_of_the_machines_time(speed: float, acceleration: float, corner: float) -> None:
    """Two models written apart: the estimate from the profile, and the machine that moves."""
    rng = np.random.default_rng(3)
    runs = []
    for _ in range(60):
        centre, radius = rng.uniform(8000, 30000, 2), rng.uniform(400, 6000)
        turns = np.linspace(0, rng.uniform(1, 6), int(rng.integers(2, 60)))
        runs.append(np.round(centre + radius * np.column_stack([np.cos(turns), np.sin(turns)])).astype(np.int64))
    drives = Motion(speed, 2 * speed, acceleration, lift_s=0.12, choose_s=0.5, corner=corner)
    plotter = Plotter("a", "a", 1000, 1000, largest=8388607, motion=drives)
    framed = Framed("a", (0,), (tuple(PenRun(1, run) for run in runs),))
    data = write_hpgl(framed, plotter)
    estimate = time_plot(framed, plotter, len(data))
    assert estimate is not None
    moves = standin.Motion(speed, 2 * speed, acceleration, corner, drives.lift_s / 2, 0.0, 0.0)
    machine = Machine(Kind(moves, 1 << 24))
    machine.take(data, 0.0)
    now = 0.0
    while (change := machine.next_change()) is not None:
        now = change
        machine.advance(now)
    assert estimate.total_s == pytest.approx(now, rel=0.1)
    assert compare(machine.drawn, drawn_by(data)).none
    assert [pen for pen, _ in groupby(run.pen for run in machine.drawn)] == [1]
