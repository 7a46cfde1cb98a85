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
from cutroom.plot.compose import compose
from cutroom.plot.frames import frame
from cutroom.plot.timing import time_plot
from cutroom.read.cutter import list_cutters, read_cutter
from cutroom.send.gcode import Gcode, Handling
from cutroom.send.hpgl import Hpgl
from cutroom.send.items import Start, begun_at, from_stroke, numbered
from cutroom.send.language import contents_of
from cutroom.send.resume import Standing, find_start
from cutroom.standin import motion as standin
from cutroom.standin.compare import compare, drawn_by, key
from cutroom.standin.machine import Kind, Machine
from cutroom.write.hpgl import write_hpgl
from tests.builders import a_marker, a_plotter
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


def lettered(form: str) -> tuple[bytes, int]:
    """A marker's file with words in the machine's letters, and how many strokes it has, a line of words being one."""
    plotter = replace(
        a_plotter(width=1000.0, frame=250.0, largest=80000), form=form, own_letters=True, end="PU;SP0;PG;"
    )
    framed = frame(compose(a_marker(), legend=(), title="t"), plotter)
    return write_hpgl(framed, plotter), sum(map(len, framed.frames)) + sum(map(len, framed.texts))


@pytest.mark.parametrize("form", FORMS)
def test_words_in_the_machines_letters_are_sent_one_by_one(form: str) -> None:
    """A line of words is one stroke; from any of them on, the rest is drawn alike."""
    file, strokes = lettered(form)
    passages = list(Hpgl(frame_mm=250.0).passages(io.BytesIO(file)))
    assert [one.strokes for one in passages if one.strokes] == [1] * strokes
    wanted = drawn_by(file)
    assert len(wanted) == strokes
    words = [number for number, one in enumerate((one for one in passages if one.strokes), 1) if b"LB" in one.data]
    assert len(words) >= 3
    contents = contents_of(iter(passages))
    for number in (*words, words[-1] + 1):
        start = from_stroke(numbered(Hpgl(frame_mm=250.0).passages(io.BytesIO(file))), number)
        head, items = begun_at(io.BytesIO(file), Hpgl(frame_mm=250.0), contents, start, marks=False)
        rest = drawn_by(head + b"".join(item.passage.data for item in items))
        assert [key(run)[1:] for run in rest] == [key(run)[1:] for run in wanted[number - 1 :]]


def test_words_lie_where_they_reach_and_a_garbled_letter_is_another_drawing() -> None:
    data = b"IN;SP1;PU400,400;SI0.2000,0.5000;DI0.0000,1.0000;LBback\x03PU;SP0;"
    (words,) = [one for one in Hpgl(frame_mm=250.0).passages(io.BytesIO(data)) if one.strokes]
    assert (words.left, words.right) == (10, 10 + 4 * 1.5 * 2)  # cells of 1.5 letters' width, reading across the paper
    assert (words.low, words.high) == (5, 10)
    assert not compare(drawn_by(data.replace(b"back", b"bacc")), drawn_by(data)).none


def test_a_pen_that_stands_where_words_begin_has_not_written_them() -> None:
    """After words only the machine knows where its pen is, so its place never says that they are there."""
    data = b"IN;SP1;PU0,0;PD40,0;PU400,400;SI0.2,0.5;LBback\x03PU800,0;PD840,0;PU;SP0;"
    size = len(data)
    now = Standing("x", Start(), done=8, seen=8, ahead=size, memory=1024)
    at_words = find_start(io.BytesIO(data), Hpgl(frame_mm=250.0), now, lambda: (400.0, 400.0, False))
    assert at_words.start.strokes == 1
    after = find_start(io.BytesIO(data), Hpgl(frame_mm=250.0), now, lambda: (880.0, 400.0, False))
    assert after.doubt == (1, 3)  # it stands nowhere that is known: all of it is told and drawn again


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
