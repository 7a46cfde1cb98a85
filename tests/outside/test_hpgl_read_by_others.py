"""HPGL files as ezdxf's HP-GL/2 interpreter and hp2xx read them."""

import re
import subprocess
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from ezdxf.addons.hpgl2.backend import Recorder, RecordType
from ezdxf.addons.hpgl2.interpreter import Interpreter
from ezdxf.addons.hpgl2.plotter import Plotter as Reader
from ezdxf.addons.hpgl2.tokenizer import hpgl2_commands
from numpy.typing import NDArray

from cutroom.model.plot import Framed, Lettered, PenRun, Plot, Role, Stroke
from cutroom.model.profile import Plotter
from cutroom.plot.compose import compose
from cutroom.plot.frames import frame
from cutroom.write.hpgl import write_hpgl
from tests.builders import a_marker, a_plotter
from tests.tools import require_tool

PLU = 40  # plotter units to the millimetre: 1016 to the inch (ezdxf hpgl2/page.py)
HALF = 0.5 * 2**0.5 + 1e-6  # half a unit each way, in a straight line
PENS = {role: number for number, role in enumerate(Role, start=1)}

Lines = dict[int, list[NDArray[np.float64]]]


def _read_by_ezdxf(data: bytes) -> tuple[Lines, set[str], list[str]]:
    recorder = Recorder()
    interpreter = Interpreter(Reader(recorder))
    interpreter.run(hpgl2_commands(b"\x1b%1B" + data))
    lines: Lines = {}
    for kind, properties, record in recorder.player().recordings():
        if kind is RecordType.POLYLINE:
            vertices = np.array([(vertex.x, vertex.y) for vertex in record.vertices()])
            lines.setdefault(properties.pen_index, []).append(vertices)
    return lines, interpreter.not_implemented_commands, interpreter.errors


def _of_plot(plot: Plot) -> Lines:
    lines: Lines = {}
    for stroke in plot.strokes:
        ring = np.vstack([stroke.points, stroke.points[:1]]) if stroke.closed else stroke.points
        lines.setdefault(PENS[stroke.role], []).append((ring - plot.lower) * PLU)
    return lines


def _same(one: list[NDArray[np.float64]], two: list[NDArray[np.float64]], within: float) -> bool:
    """Every vertex of each lies on the other, and as much is drawn."""
    first, second = shapely.MultiLineString(one), shapely.MultiLineString(two)
    shapely.prepare(first)
    shapely.prepare(second)
    on_second = shapely.distance(shapely.points(np.vstack(one)), second).max()
    on_first = shapely.distance(shapely.points(np.vstack(two)), first).max()
    slack = 2 * within * (len(np.vstack(one)) + len(np.vstack(two)))
    return bool(max(on_first, on_second) <= within and abs(first.length - second.length) <= slack)


@pytest.mark.parametrize("frame_length", [250.0, 333.333, 2000.0])
def test_ezdxf_reads_every_frame_within_half_a_unit(frame_length: float) -> None:
    plot = compose(a_marker(), legend=("Blouse for Inés", "½ in"), title="linen")
    plotter = a_plotter(frame=frame_length, largest=80000, pens=PENS)
    framed = frame(plot, plotter)
    data = write_hpgl(framed, plotter)
    parts = data.split(plotter.between.encode())
    assert len(parts) == len(framed.frames) == -(-(plot.upper[0] - plot.lower[0]) // frame_length)
    joined: Lines = {}
    for k, part in enumerate(parts):
        lines, unknown, errors = _read_by_ezdxf(part)
        assert unknown <= {"IN"}
        assert errors == []
        for pen, drawn in lines.items():
            assert all(line.min() >= 0 and line[:, 0].max() <= frame_length * PLU + 1 for line in drawn)
            joined.setdefault(pen, []).extend(np.add(line, (round(k * frame_length * PLU), 0.0)) for line in drawn)
    wanted = _of_plot(plot)
    assert set(joined) == set(wanted)
    for pen, lines_of_pen in wanted.items():
        assert _same(joined[pen], lines_of_pen, HALF), pen


def test_hp2xx_draws_the_same_marker(tmp_path: Path) -> None:
    hp2xx = require_tool("hp2xx")
    plot = compose(a_marker(), legend=("Blouse for Inés", "½ in"), title="linen")
    plotter = a_plotter(frame=2000.0, largest=80000, pens=PENS)
    (tmp_path / "in.plt").write_bytes(write_hpgl(frame(plot, plotter), plotter))
    command = [hp2xx, "-t", "-m", "hpgl", "-f", "out.hpgl", "in.plt"]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=True)
    assert re.search(r"HPGL command\(s\) ignored: +0\n", done.stderr)
    assert re.search(r"Unexpected event\(s\): +0\n", done.stderr)
    lines: Lines = {}
    pen, at = 0, np.zeros(2)
    for word, numbers in re.findall(r"(SP|PU|PD)([^;A-Z]*);", (tmp_path / "out.hpgl").read_text()):
        if word == "SP":
            pen = int(numbers or 0)
            continue
        pairs = np.array([float(number) for number in numbers.split(",") if number.strip()]).reshape(-1, 2)
        for pair in pairs:
            if word == "PD":
                lines.setdefault(pen, []).append(np.array([at, pair]))
            at = pair
    wanted = _of_plot(plot)
    assert set(lines) == set(wanted)
    shift = np.vstack([line for drawn in wanted.values() for line in drawn]).min(axis=0)  # hp2xx moves to the origin
    for pen, drawn in wanted.items():
        assert _same([line + np.round(shift) for line in lines[pen]], drawn, HALF), pen


def test_ezdxf_reads_a_file_with_the_machines_own_letters_alike() -> None:
    """It knows no labels, skips them whole, and draws all the rest as it is in the file with strokes for words."""
    plot = compose(a_marker(), legend=("Blouse",), title="linen")
    plotter = replace(a_plotter(frame=2000.0, largest=80000, pens=PENS), own_letters=True)
    lines, unknown, errors = _read_by_ezdxf(write_hpgl(frame(plot, plotter), plotter))
    assert unknown == {"IN", "SI", "DI", "LB"}
    assert errors == []
    wanted = _of_plot(plot)
    assert PENS[Role.LABEL] not in lines
    assert set(lines) == set(wanted) - {PENS[Role.LABEL]}
    assert all(_same(lines[pen], wanted[pen], HALF) for pen in lines)


def test_hp2xx_letters_the_words_where_the_strokes_would_stand(tmp_path: Path) -> None:
    """Its letters are its own; they begin where a line begins, end where it ends, and are as high, whichever way."""
    hp2xx = require_tool("hp2xx")
    plot = compose(a_marker(), legend=(), title="linen")
    plotter = replace(a_plotter(frame=2000.0, largest=80000, pens=PENS), own_letters=True)
    framed = frame(plot, plotter)
    assert len(framed.texts[0]) == len(plot.lettered) == 6
    corner = PenRun(1, np.array([(0, 0), (400, 0)]))  # so that it moves nothing
    for text, line in ((one, _line_of(plot, one.words, one.at)) for one in framed.texts[0]):
        data = write_hpgl(Framed("one", (0,), ((corner,),), ((text,),)), plotter)
        (tmp_path / "in.plt").write_bytes(data)
        command = [hp2xx, "-t", "-m", "hpgl", "-f", "out.hpgl", "in.plt"]
        done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=True)
        assert re.search(r"HPGL command\(s\) ignored: +0\n", done.stderr), done.stderr
        places = np.array(re.findall(r"(-?[\d.]+),(-?[\d.]+)", (tmp_path / "out.hpgl").read_text()), dtype=np.float64)
        run = np.array(text.way)
        own = (places[2:] - text.at) / PLU  # the first two are the corner's
        along, up = own @ run, own @ (-run[1], run[0])
        assert -0.2 * text.size[0] <= along.min() < 0.6 * text.size[0], text.words
        assert line.width - 0.6 * text.size[0] < along.max() <= line.width + 0.2 * text.size[0], text.words
        assert line.height * 0.95 < up.max() < line.height * 1.25, text.words


def _line_of(plot: Plot, words: str, at: tuple[int, int]) -> Lettered:
    same = [line for line in plot.lettered if line.words == words]
    return min(same, key=lambda line: float(np.hypot(*(np.subtract(line.at, plot.lower) * PLU - at))))


def test_a_100_mm_square_is_the_file_two_readers_agreed_on() -> None:
    # The plain form of a square at (10, 10) mm, read identically by ezdxf and hp2xx.
    square = Stroke(Role.CUT, np.array([(10, 10), (110, 10), (110, 110), (10, 110)]), closed=True)
    plot = Plot("square", (0.0, 0.0), (120.0, 120.0), (square,))
    plotter = Plotter("pen", "", 200.0, 200.0, {Role.CUT: 1})
    data = write_hpgl(frame(plot, plotter), plotter)
    assert data == b"IN;SP1;PU400,400;PD4400,400,4400,4400,400,4400,400,400;PU;SP0;"


def test_the_words_of_the_profile_come_where_they_belong() -> None:
    line = Stroke(Role.CUT, np.array([(10, 10), (150, 10)]))
    plot = Plot("line", (0.0, 0.0), (160.0, 20.0), (line,))
    plotter = Plotter("pen", "", 200.0, 100.0, {Role.CUT: 2}, 30.0, start="PS4000;", between="FR;", end="PU;SP;")
    assert write_hpgl(frame(plot, plotter), plotter) == (
        b"IN;PS4000;VS30;SP2;PU400,400;PD4000,400;PU;FR;SP2;PU0,400;PD2000,400;PU;SP;"
    )


def test_a_dot_puts_the_pen_down_where_it_is() -> None:
    dot = Stroke(Role.DRILL, np.array([(5.0, 5.0)]))
    plotter = Plotter("pen", "", 200.0, 200.0, {Role.DRILL: 1})
    data = write_hpgl(frame(Plot("dot", (0.0, 0.0), (10.0, 10.0), (dot,)), plotter), plotter)
    assert data == b"IN;SP1;PU200,200;PD200,200;PU;SP0;"
