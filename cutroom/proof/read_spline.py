"""A SPLINE of a DXF as places along it: de Boor's recursion, as near to the curve as arcs are seen.

Groups (DXF reference, from memory): 70 flags, 71 the degree, 72 and 73 how many knots (40) and control points (10, 20,
30) follow, 74 fit points, 41 weights, 210 to 230 which way up it lies.
"""

import numpy as np

from cutroom.proof.lines import Array
from cutroom.proof.runs import ARC_ERROR

_DEGREE = 3
_PLANE = {0, 8}  # flags: neither closed nor periodic nor rational; lying in a plane
_MOST = 1000  # places to one span at most


def spline_points(codes: list[int], values: list[str], unit: float) -> Array:
    """Places along a spline.

    Args:
        codes: Its groups.
        values: What stands under each.
        unit: mm to one of its units.

    Raises:
        ValueError: It is damaged, or no plain cubic spline.
    """
    said: dict[int, list[float]] = {}
    for code, value in zip(codes, values, strict=True):
        if code in {10, 20, 30, 40, 41, 70, 71, 72, 73, 74, 210, 220, 230}:
            said.setdefault(code, []).append(float(value))
    knots, control = np.array(said.get(40, [])), np.array((said.get(10, []), said.get(20, []))).T
    whole = [[float(len(knots))], [float(len(control))], [float(_DEGREE)]] == [said.get(code) for code in (72, 73, 71)]
    flat = not any(said.get(30, [])) and [said.get(code, [0.0])[0] for code in (210, 220)] == [0.0, 0.0]
    plain = {*said.get(70, [0.0])} <= _PLANE and not any(said.get(74, [0.0])) and {*said.get(41, [1.0])} == {1.0}
    if not (whole and flat and plain and said.get(230, [1.0]) == [1.0]):
        raise ValueError
    if len(knots) != len(control) + _DEGREE + 1 or len(control) <= _DEGREE:
        raise ValueError
    if not (np.isfinite(knots).all() and np.isfinite(control).all() and (np.diff(knots) >= 0).all()):
        raise ValueError
    ends = (knots[: _DEGREE + 1], knots[-_DEGREE - 1 :])
    if any(np.ptp(end) for end in ends) or knots[0] == knots[-1]:
        raise ValueError  # it must begin and end in its first and last control point
    return _along(knots, control, ARC_ERROR / unit)


def _along(knots: Array, control: Array, error: float) -> Array:
    """Places so near each other that the straight bits between them leave the curve by no more than an error.

    Between two knots it is off by at most h^2 / 8 times its greatest second derivative, itself a spline of degree 1.
    """
    spans = np.flatnonzero(np.diff(knots) > 0)
    first = _derived(control, knots, _DEGREE)
    second = np.hypot(*_derived(first, knots[1:-1], _DEGREE - 1).T)
    bend = np.maximum(second[spans - 3], second[spans - 2])
    wide = knots[spans + 1] - knots[spans]
    counts = np.clip(np.ceil(wide * np.sqrt(bend / (8 * error))), 1, _MOST).astype(np.int64)
    which = np.repeat(spans, counts)
    share = (np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)) / np.repeat(counts, counts)
    places = knots[which] + share * np.repeat(wide, counts)
    rows = [control[which - _DEGREE + step] for step in range(_DEGREE + 1)]
    for level in range(1, _DEGREE + 1):
        for step in range(_DEGREE, level - 1, -1):
            low, high = knots[which - _DEGREE + step], knots[which + 1 + step - level]
            ratio = ((places - low) / (high - low))[:, None]
            rows[step] = (1 - ratio) * rows[step - 1] + ratio * rows[step]
    return np.vstack((rows[_DEGREE], control[-1:]))


def _derived(control: Array, knots: Array, degree: int) -> Array:
    """Control points of the derivative; where knots meet, and it has none, 0."""
    wide = knots[degree + 1 : degree + len(control)] - knots[1 : len(control)]
    found: Array = np.diff(control, axis=0) * np.divide(degree, wide, out=np.zeros_like(wide), where=wide > 0)[:, None]
    return found
