"""Cutting a drawing into frames for a pen plotter."""

from itertools import pairwise

import numpy as np
import pytest

from cutroom.errors import PlotError
from cutroom.geometry.plotter_units import in_plotter_units
from cutroom.model.plot import Plot, Role, Stroke
from cutroom.plot.frames import frame
from tests.builders import a_plotter


def a_plot(*strokes: Stroke, size: tuple[float, float] = (100.0, 100.0)) -> Plot:
    return Plot("drawing", (0.0, 0.0), size, strokes)


def test_a_millimetre_is_forty_units_and_halves_go_away_from_zero() -> None:
    # 1016 units to the inch: ezdxf hpgl2/page.py.
    assert in_plotter_units(np.array([1.0, 25.4, 0.0125, -0.0125, 0.0124, 200.0])).tolist() == [
        40,
        1016,
        1,
        -1,
        0,
        8000,
    ]


def test_a_long_marker_goes_in_frames_no_coordinate_above_the_greatest() -> None:
    # 6200 mm in frames of 32767 units (819.175 mm): 8 frames, by division.
    line = Stroke(Role.CUT, np.array([(0.0, 0.0), (6200.0, 1460.0)]))
    framed = frame(a_plot(line, size=(6200.0, 1460.0)), a_plotter(width=1750.0, largest=60000))
    assert len(framed.frames) == 8
    assert framed.edges_plu == tuple(32767 * k for k in range(8))
    assert max(int(run.points[:, 0].max()) for runs in framed.frames for run in runs) <= 32767
    with pytest.raises(PlotError, match="across the paper a coordinate would be 58400"):
        frame(a_plot(line, size=(6200.0, 1460.0)), a_plotter(width=1750.0, largest=32767))


def test_lines_are_broken_on_the_edge_at_one_and_the_same_point() -> None:
    zigzag = np.column_stack([np.linspace(0.3, 2450.0, 300), 400 + 390 * np.sin(np.arange(300) * 1.7)])
    ring = Stroke(Role.CUT, zigzag, closed=True)
    framed = frame(a_plot(ring, size=(2451.0, 800.0)), a_plotter())
    for k, (here, there) in enumerate(pairwise(framed.frames)):
        edge = framed.edges_plu[k + 1] - framed.edges_plu[k]
        leaving = sorted(y for run in here for x, y in run.points[[0, -1]].tolist() if x == edge)
        entering = sorted(y for run in there for x, y in run.points[[0, -1]].tolist() if x == 0)
        assert leaving == entering
        assert leaving


def test_a_line_along_a_frame_edge_is_drawn_once() -> None:
    edge = Stroke(Role.CUT, np.array([(819.175, 10.0), (819.175, 90.0)]))
    framed = frame(a_plot(edge, size=(1600.0, 100.0)), a_plotter())
    assert [len(runs) for runs in framed.frames] == [0, 1]


def test_a_line_along_the_far_edge_of_the_last_frame_is_drawn() -> None:
    edge = Stroke(Role.CUT, np.array([(1638.35, 10.0), (1638.35, 90.0)]))
    framed = frame(a_plot(edge, size=(1638.35, 100.0)), a_plotter())
    assert [len(runs) for runs in framed.frames] == [0, 1]


def test_a_dot_smaller_than_a_unit_stays_a_dot() -> None:
    dot = Stroke(Role.DRILL, 50 + np.array([(0.0, 0.0), (0.001, 0.0), (0.0, 0.001)]), closed=True)
    (runs,) = frame(a_plot(dot), a_plotter()).frames
    assert [run.points.tolist() for run in runs] == [[[2000, 2000]]]


def test_a_role_of_pen_0_is_left_out_and_pens_come_in_their_order() -> None:
    strokes = [Stroke(role, np.array([(1.0, 1.0 + at), (9.0, 1.0 + at)])) for at, role in enumerate(Role)]
    pens = {Role.CUT: 3, Role.SEAM: 0, Role.LABEL: 1, Role.GRAIN: 3}
    (runs,) = frame(a_plot(*strokes), a_plotter(pens=pens)).frames
    assert [run.pen for run in runs] == [1, 3, 3]


def test_a_drawing_wider_than_the_plotter_is_refused_with_the_difference() -> None:
    with pytest.raises(PlotError, match=r"12\.5 mm too wide") as error:
        frame(a_plot(size=(100.0, 912.5)), a_plotter(width=900.0))
    assert "12.5 mm narrower" in error.value.fix


def test_a_frame_longer_than_the_greatest_coordinate_is_refused() -> None:
    line = Stroke(Role.CUT, np.array([(0.0, 0.0), (1200.0, 0.0)]))
    with pytest.raises(PlotError, match="48000") as error:
        frame(a_plot(line, size=(1200.0, 100.0)), a_plotter(frame=2000.0))
    assert "819.175 mm" in error.value.fix
