"""The smooth curve against closed forms, SciPy and its own chord error."""

from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.special import ellipe

from cutroom.geometry.curve import cubic_arcs, flatten_arc, smooth_curve
from cutroom.geometry.polygon import distances
from cutroom.geometry.polyline import length


def _circle(angles_deg: list[float], radius: float = 100.0) -> NDArray[np.float64]:
    angles = np.deg2rad(angles_deg)
    return radius * np.column_stack([np.cos(angles), np.sin(angles)])


def test_a_quarter_circle_has_the_length_of_a_quarter_circle() -> None:
    points = _circle([0, 30, 60, 90])
    curve = smooth_curve(points, start=np.array([0.0, 1.0]), end=np.array([-1.0, 0.0]))
    assert length(curve) == pytest.approx(50 * np.pi, abs=0.05)  # closed form
    assert np.abs(np.hypot(*curve.T) - 100).max() < 0.02


def test_a_circle_is_found_without_being_told_its_directions() -> None:
    curve = smooth_curve(_circle([0, 30, 60, 90]))
    assert np.abs(np.hypot(*curve.T) - 100).max() < 0.02


def test_a_quarter_ellipse_comes_near_its_length_by_the_elliptic_integral() -> None:
    angles = np.deg2rad(np.linspace(0, 90, 7))
    points = np.column_stack([80 * np.cos(angles), 120 * np.sin(angles)])
    curve = smooth_curve(points, start=np.array([0.0, 1.0]), end=np.array([-1.0, 0.0]))
    true = 120 * ellipe(1 - (80 / 120) ** 2)  # closed form, by SciPy
    assert length(curve) == pytest.approx(true, abs=0.1)


@pytest.mark.parametrize("chord_error", [0.002, 0.02, 0.2])
def test_steps_lie_within_the_chord_error_of_the_true_arc(chord_error: float) -> None:
    arc = cubic_arcs(np.array([[0.0, 0.0], [150.0, 40.0]]), start=np.array([0.0, 1.0]), end=np.array([1.0, 0.2]))[0]
    share = np.linspace(0, 1, 5001)[:, None]
    rest = 1 - share
    dense = rest**3 * arc[0] + 3 * rest**2 * share * arc[1] + 3 * rest * share**2 * arc[2] + share**3 * arc[3]
    steps = flatten_arc(arc, chord_error=chord_error)
    worst = distances(dense, steps).max()
    assert worst <= chord_error
    assert worst > chord_error / 20  # no more steps than are needed, by and large


def test_the_flattened_length_is_the_integral_of_the_arcs_speed() -> None:
    arcs = cubic_arcs(np.array([[0.0, 0.0], [70.0, 90.0], [180.0, 100.0]]))

    def speed(share: float, arc: NDArray[np.float64]) -> float:
        rest = 1 - share
        first, second, third = np.diff(arc, axis=0)
        return float(np.hypot(*(3 * (rest**2 * first + 2 * rest * share * second + share**2 * third))))

    true = sum(quad(speed, 0, 1, args=(arc,))[0] for arc in arcs)  # SciPy's quadrature
    assert length(smooth_curve(np.array([[0.0, 0.0], [70.0, 90.0], [180.0, 100.0]]))) == pytest.approx(true, abs=0.05)


def test_given_points_and_directions_are_kept() -> None:
    points = np.array([[0.0, 0.0], [40.0, 55.0], [90.0, 70.0], [150.0, 20.0]])
    curve = smooth_curve(points, start=np.array([0.3, 1.0]), end=np.array([0.0, -1.0]))
    for point in points:
        assert (curve == point).all(axis=1).any()
    arcs = cubic_arcs(points, start=np.array([0.3, 1.0]), end=np.array([0.0, -1.0]))
    leaving = arcs[0, 1] - arcs[0, 0]
    assert leaving[0] * 1.0 - leaving[1] * 0.3 == pytest.approx(0, abs=1e-9)
    for before, after in pairwise(arcs):  # no kink between arcs
        one, two = before[3] - before[2], after[1] - after[0]
        assert one[0] * two[1] - one[1] * two[0] == pytest.approx(0, abs=1e-9)
        assert one @ two > 0


def test_two_points_without_directions_make_a_straight_line() -> None:
    assert smooth_curve(np.array([[0.0, 0.0], [30.0, 40.0]])).tolist() == [[0.0, 0.0], [30.0, 40.0]]


def test_one_direction_at_two_points_makes_a_circular_arc() -> None:
    curve = smooth_curve(np.array([[100.0, 0.0], [0.0, 100.0]]), start=np.array([0.0, 1.0]))
    assert np.abs(np.hypot(*curve.T) - 100).max() < 0.05  # one cubic for a quarter circle: 0.027 % of the radius
