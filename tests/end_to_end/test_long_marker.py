"""A marker longer than one frame, for every plotter that is shipped."""

from dataclasses import replace

import pytest

from cutroom.model.finding import Finding
from cutroom.model.marker import Marker, Placement
from cutroom.plot.compose import compose
from cutroom.plot.frames import frame
from cutroom.proof.prove import prove_file
from cutroom.read.profile import list_plotters, read_plotter
from cutroom.write.hpgl import write_hpgl
from tests.builders import a_marker, a_prepared_piece


def long_marker(length: float) -> Marker:
    """One piece after the other, every second one flipped, gapless in numbers that do not fall on plotter units."""
    piece = a_prepared_piece()
    low, high = piece.cut_line.min(axis=0), piece.cut_line.max(axis=0)
    step = float(high[0] - low[0]) + 3.37
    laid = tuple(
        Placement(
            piece.name, piece.garment, piece.size, k // 2 + 1, flipped=k % 2 == 1, turn_deg=0.0,
            x=round(k * step - float(low[0]), 2), y=round(float(high[1] if k % 2 else -low[1]), 2),
        )
        for k in range(int(length / step))
    )  # fmt: skip
    marker = a_marker()
    return replace(marker, length=round(len(laid) * step, 2), placements=laid, pieces=(piece,))


@pytest.mark.parametrize("name", list_plotters())
def test_it_is_cut_into_frames_and_proven(name: str) -> None:
    plotter = read_plotter(name)
    marker = long_marker(2.4 * min(plotter.frame, 4000.0))
    plotter = replace(plotter, frame=min(plotter.frame, 4000.0))
    plot = compose(marker, legend=("a long one",), title="long")
    framed = frame(plot, plotter)
    assert len(framed.frames) == 3
    data = write_hpgl(framed, plotter)
    proved = prove_file("marker-hpgl", data, marker, lower=plot.lower, upper=plot.upper, plotter=plotter)
    none: tuple[Finding, ...] = ()
    assert proved.findings == none
    numbers = [
        int(n) for word in data.decode().split(";") if word[:2] in {"PU", "PD"} for n in word[2:].split(",") if n
    ]
    assert max(numbers) <= plotter.largest
    assert min(numbers) >= 0
