"""Cutting a drawing up for a desktop printer."""

import numpy as np
import pytest

from cutroom.errors import PlotError
from cutroom.model.plot import Plot, Role, Stroke, Tile
from cutroom.model.profile import Paper
from cutroom.plot.tile import tile
from tests.builders import a_paper


def a_crossed_plot(width: float, height: float) -> Plot:
    """A drawing with lines everywhere, so that no sheet is blank."""
    across = [Stroke(Role.CUT, np.array([(0, y), (width, y)])) for y in np.linspace(0, height, 41)]
    up = [Stroke(Role.CUT, np.array([(x, 0), (x, height)])) for x in np.linspace(0, width, 41)]
    return Plot("crossed", (0.0, 0.0), (width, height), (*across, *up))


# Counts by the formula ceil((W - o) / (w - o)) of overlapping sheets, worked out by hand.
@pytest.mark.parametrize(
    ("size", "sheet", "columns", "rows"),
    [
        ((840.0, 1180.0), (210.0, 297.0), 5, 5),  # on its side 4 x 7 = 28
        ((1500.0, 1000.0), (210.0, 297.0), 9, 4),
        ((190.0, 277.0), (210.0, 297.0), 1, 1),
        ((190.1, 277.0), (210.0, 297.0), 2, 1),  # two sheets either way: upright wins
        ((260.0, 180.0), (297.0, 210.0), 1, 1),
    ],
)
def test_the_way_of_fewer_sheets_is_taken(
    size: tuple[float, float], sheet: tuple[float, float], columns: int, rows: int
) -> None:
    tiling = tile(a_crossed_plot(*size), a_paper())
    assert tiling.sheet == sheet
    assert (tiling.columns, tiling.rows) == (columns, rows)
    assert len(tiling.tiles) == columns * rows


def test_blank_sheets_are_left_out() -> None:
    frame = Stroke(Role.FABRIC, np.array([(0, 0), (840, 0), (840, 1180), (0, 1180)]), closed=True)
    tiling = tile(Plot("frame", (0.0, 0.0), (840.0, 1180.0), (frame,)), a_paper())
    assert (tiling.columns, tiling.rows) == (5, 5)
    assert len(tiling.tiles) == 25 - 9
    assert {one.name for one in tiling.tiles} >= {"A1", "A5", "E1", "E5", "C1"}
    assert "C3" not in {one.name for one in tiling.tiles}


def test_rows_after_the_twenty_sixth_have_two_letters() -> None:
    names = [Tile(row, 0, (0.0, 0.0), ()).name for row in (0, 25, 26, 27, 701, 702)]
    assert names == ["A1", "Z1", "AA1", "AB1", "ZZ1", "AAA1"]


def test_sheets_lie_a_window_less_the_overlap_apart() -> None:
    tiling = tile(a_crossed_plot(840.0, 1180.0), a_paper(correction=(1.03, 0.99)))
    window = np.array([190 / 1.03, 277 / 0.99]) if tiling.sheet[0] < 250 else np.array([277 / 1.03, 190 / 0.99])
    for one in tiling.tiles:
        assert np.allclose(one.lower, np.array([one.column, one.row]) * (window - 10))
        for stroke in one.strokes:
            assert (stroke.points >= np.array(one.lower) - 1e-9).all()
            assert (stroke.points <= np.array(one.lower) + window + 1e-9).all()


@pytest.mark.parametrize(
    "paper", [Paper("A4", 210.0, 297.0, margin=105.0), Paper("A4", 210.0, 297.0, overlap=190.0), Paper("dot", 5.0, 5.0)]
)
def test_paper_of_which_nothing_is_left_is_refused(paper: Paper) -> None:
    with pytest.raises(PlotError, match="leave nothing") as error:
        tile(a_crossed_plot(100.0, 100.0), paper)
    assert error.value.fix


def test_a_whole_outline_stays_closed_and_a_cut_one_does_not() -> None:
    inside = Stroke(Role.CUT, np.array([(20, 20), (80, 20), (50, 90)]), closed=True)
    across = Stroke(Role.CUT, np.array([(100, 100), (300, 100), (300, 200), (100, 200)]), closed=True)
    tiling = tile(Plot("two", (0.0, 0.0), (400.0, 250.0), (inside, across)), a_paper())
    first = tiling.tiles[0].strokes
    assert [stroke.closed for stroke in first] == [True, False]
    assert first[0] is inside
