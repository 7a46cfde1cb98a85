"""Splines through lines of straight bits: near enough, corners kept. SciPy's B-splines are the outside reader."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.interpolate import BSpline

from cutroom.geometry.curve import smooth_curve
from cutroom.geometry.splines import DEGREE, Spline, basis_of, fit_spline
from cutroom.proof.read_spline import spline_points

Reals = NDArray[np.float64]
CURVE = smooth_curve(np.array([(0.0, 0.0), (80.0, 60.0), (170.0, 90.0), (260.0, 40.0), (300.0, -80.0)]))
PIECE = np.vstack([CURVE, [(300.0, -400.0), (0.0, -400.0), (0.0, 0.0)]])


def seen(spline: Spline, count: int = 20_000) -> Reals:
    """Places along it, every knot among them, as SciPy has them."""
    places = np.union1d(np.linspace(0, spline.knots[-1], count), spline.knots)
    return np.asarray(BSpline(spline.knots, spline.control, DEGREE)(places))


def apart(one: Reals, other: Reals) -> float:
    line, to = shapely.LineString(one), shapely.LineString(other)
    return max(float(shapely.distance(shapely.points(a), b).max()) for a, b in ((one, to), (other, line)))


@pytest.mark.parametrize("within", [0.02, 0.03, 0.05])
def test_a_curve_is_kept_within_the_tolerance_by_few_points(within: float) -> None:
    spline = fit_spline(CURVE, within)
    assert spline is not None
    assert apart(seen(spline), CURVE) <= within
    assert len(spline.control) < len(CURVE) / 3


def test_corners_and_straight_bits_are_kept_exactly() -> None:
    spline = fit_spline(PIECE, 0.02)
    assert spline is not None
    assert apart(seen(spline), PIECE) <= 0.02
    for corner in PIECE[-4:]:
        assert np.hypot(*(spline.control - corner).T).min() == 0
    low = seen(spline)[seen(spline)[:, 1] < -399]
    assert np.abs(low[(low[:, 0] > 1) & (low[:, 0] < 299), 1] + 400).max() < 1e-9


@pytest.mark.parametrize(
    "line",
    [
        [(0, 0), (10, 0)],
        [(0, 0), (10, 0), (10, 10), (0, 10), (0, 0)],
        [(0, 0), (10, 0.5), (20, 0)],
        [(5, 5)],
    ],
)
def test_a_line_without_a_curve_stays_a_polyline(line: list[tuple[float, float]]) -> None:
    assert fit_spline(np.array(line, dtype=np.float64), 0.02) is None


def test_bits_that_are_coarser_than_the_tolerance_are_kept_as_they_are() -> None:
    """Drafted lines leave their curve by up to 0.02 mm: no smooth line is within 0.002 mm of such bits."""
    assert fit_spline(CURVE, 0.002) is None


@given(
    st.lists(st.tuples(st.floats(0, 400), st.floats(0, 400)), min_size=3, max_size=7, unique=True),
    st.sampled_from([0.01, 0.02, 0.05]),
)
def test_any_smooth_line_is_kept(through: list[tuple[float, float]], within: float) -> None:
    """Whatever it runs through, near enough everywhere; the proof's own arithmetic sees the same line as SciPy."""
    points = np.round(np.array(through), 1)
    if np.hypot(*np.diff(points, axis=0).T).min() < 1:
        return
    line = smooth_curve(points)
    spline = fit_spline(line, within)
    if spline is None:
        return
    assert apart(seen(spline), line) <= within + 1e-3
    codes = [71, 72, 73, *[40] * len(spline.knots), *[10, 20] * len(spline.control)]
    values = [3, len(spline.knots), len(spline.control), *spline.knots.tolist(), *spline.control.ravel().tolist()]
    own = spline_points(codes, [repr(value) for value in values], 1.0)
    assert apart(own, seen(spline)) < 0.006  # arcs and splines are seen to 0.004 mm


def test_the_basis_is_scipys() -> None:
    knots = np.array([0, 0, 0, 0, 1, 2.5, 2.5, 2.5, 4, 7, 7, 7, 7], dtype=np.float64)
    places = np.linspace(0, 7, 101)
    wanted = BSpline.design_matrix(places, knots, DEGREE).toarray()
    assert np.abs(basis_of(knots, places) - wanted).max() < 1e-12
