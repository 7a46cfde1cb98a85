"""The next width that another piece goes on: sums of what lies side by side, worked out by hand."""

import pytest

from cutroom.job.widths import beside, past_the_edge, width_of
from cutroom.model.fabric import Fabric, Nap, Spread
from cutroom.model.lay import Lay, Wanted
from cutroom.model.marker import Marker
from tests.builders import a_placement, a_prepared_piece

PIECE = a_prepared_piece()
"""220 long and 140 across, an L whose upper part is 100 long; its cut line starts at (-10, -10)."""


def laid(fabric: Fabric, *spots: tuple[float, float]) -> tuple[Lay, Marker]:
    placements = tuple(a_placement(PIECE, x + 10, y + 10, copy=n) for n, (x, y) in enumerate(spots, start=1))
    length = max(x + 220 for x, _ in spots)
    lay = Lay(fabric, tuple(Wanted(PIECE, n, flipped=False) for n in range(1, len(spots) + 1)), (PIECE,))
    return lay, Marker("cloth", fabric, length, placements, (PIECE,))


def test_a_piece_behind_two_goes_beside_them_where_the_sum_of_their_cuts_is_least() -> None:
    """Two L's abreast take 140 + 140 where they are high, 80 + 80 where they are low, and 5 between.

    Turned, a third takes 80 beside their high parts (360) and 140 beside the low (300); with two gaps 370.
    """
    lay, marker = laid(Fabric("cloth", 300.0, gap=5.0, nap=Nap.NONE), (0, 0), (0, 145), (225, 0))
    (guess,) = beside(lay, marker)
    assert guess.piece == marker.placements[2]
    assert guess.length == pytest.approx(220)
    assert guess.usable == pytest.approx(140 + 140 + 80 + 2 * 5, abs=0.11)


def test_where_nothing_lies_behind_no_width_is_guessed() -> None:
    lay, marker = laid(Fabric("cloth", 300.0), (0, 0))
    assert beside(lay, marker) == ()


def test_what_lies_past_the_edge_is_named_as_often_as_it_does() -> None:
    _, marker = laid(Fabric("cloth", 300.0), (0, 0), (0, 150), (225, 160))
    assert past_the_edge(marker, 300.0) == ()
    assert past_the_edge(marker, 295.0) == ("blouse (12), front",)
    assert past_the_edge(marker, 285.0) == ("blouse (12), front",) * 2


def test_folded_cloth_is_twice_as_wide_as_it_lies() -> None:
    assert width_of(Fabric("cloth", 1500.0, selvedge=10.0, spread=Spread.FOLDED), 730.0) == 1480.0
    assert width_of(Fabric("cloth", 1500.0, selvedge=10.0), 730.0) == 750.0
    assert width_of(Fabric("cloth", 1500.0, spread=Spread.TUBULAR), 730.0) == 730.0
