"""The stock of a problem: every shape that may be laid, and all no-fit polygons between them.

A *form* is an outline flipped and turned, up to a half turn; identical outlines share their forms. A *variant* is a
form with its half turn and the room it has across the strip: what the search lays.
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.kernels.convex import sum_convex
from cutroom.geometry.kernels.nofit import no_fit
from cutroom.geometry.polygon import area, bounds
from cutroom.nest.grid import steps_down, steps_up
from cutroom.nest.problem import Pose, Problem, posed, room_across
from cutroom.nest.working import (
    COARSER,
    COARSEST,
    MANY,
    MOST,
    convex_parts,
    gap_figure,
    simplify_outwards,
    snap_outwards,
)

Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Form:
    """A working shape as convex parts, in units: bare, and grown by the gap; where each part starts; their areas."""

    bare: Wholes
    bare_starts: Wholes
    grown: Wholes
    grown_starts: Wholes
    sizes: Reals


@dataclass(frozen=True, slots=True)
class Variant:
    """A form that may be laid.

    Attributes:
        number: Its place in the stock.
        form: Which form.
        sign: 1, or -1 when it is turned half round.
        box: Of the true outline, least x, least y, greatest x, greatest y (mm).
        low: Least shift across (units).
        high: Greatest shift across (units).
    """

    number: int
    form: int
    sign: int
    box: tuple[float, float, float, float]
    low: int
    high: int


Book = tuple[Wholes, Wholes, Wholes, Wholes, Wholes, Reals, Wholes, Wholes, Reals]
"""The arrays that `geometry.kernels.spots` calls the book, in its order."""


@dataclass(frozen=True, slots=True, eq=False)
class Stock:
    """What a search lays.

    Attributes:
        problem: What was asked.
        variants: All variants.
        choices: For each item, its poses that fit and the variant of each.
        book: No-fit polygons of all pairs of forms.
    """

    problem: Problem
    variants: tuple[Variant, ...]
    choices: tuple[tuple[tuple[Pose, Variant], ...], ...]
    book: Book


def gather(problem: Problem) -> Stock:
    """Work out every shape and every no-fit polygon of a problem."""
    simple: dict[bytes, Reals] = {}
    forms: dict[tuple[bytes, bool, float], int] = {}
    made: list[Form] = []
    twins: list[int | None] = []
    variants: dict[tuple[int, int, bool], Variant] = {}
    choices = []
    figure = gap_figure(problem.gap)
    many = len({item.outline.tobytes() for item in problem.items}) > MANY
    coarser, corners = (COARSEST, MOST // 2) if many else (COARSER, MOST)
    for item in problem.items:
        outline = item.outline.tobytes()
        if outline not in simple:
            simple[outline] = simplify_outwards(item.outline, coarser=coarser, most=corners)
        fitting = []
        for pose in item.poses:
            least, most = room_across(problem, item, pose)
            low, high = steps_up(least), steps_down(most)
            if low > high:
                continue
            turn = pose.turn_deg % 360.0
            sign, turn = (1, turn) if turn < 180.0 else (-1, turn - 180.0)
            key = (outline, pose.flipped, turn)
            if key not in forms:
                twin = forms.get((outline, not pose.flipped, turn)) if turn == 0 else None
                forms[key] = len(made)
                twins.append(twin)
                made.append(_form(posed(simple[outline], pose) * sign, figure) if twin is None else _image(made[twin]))
                if twin is not None:
                    twins[twin] = forms[key]
            form = forms[key]
            if (form, sign, item.on_fold) not in variants:
                variant = Variant(len(variants), form, sign, bounds(posed(item.outline, pose)), low, high)
                variants[form, sign, item.on_fold] = variant
            fitting.append((pose, variants[form, sign, item.on_fold]))
        choices.append(tuple(fitting))
    return Stock(problem, tuple(variants.values()), tuple(choices), _book(made, twins, tuple(variants.values())))


def _form(shape: Reals, figure: Wholes) -> Form:
    parts = convex_parts(snap_outwards(shape))
    grown = [sum_parts(part, figure) for part in parts]
    sizes = np.array([area(part.astype(np.float64)) for part in parts])
    return Form(np.vstack(parts), _starts(parts), np.vstack(grown), _starts(grown), sizes)


def _image(form: Form) -> Form:
    """The mirror image of a form, y to -y, exactly."""
    bare, grown = (
        _mirrored_parts(points, starts, (1, -1))
        for points, starts in ((form.bare, form.bare_starts), (form.grown, form.grown_starts))
    )
    return Form(bare, form.bare_starts, grown, form.grown_starts, form.sizes)


def _mirrored_parts(points: Wholes, starts: Wholes, factors: tuple[int, int]) -> Wholes:
    """Convex parts with their coordinates multiplied by 1 or -1, each still counter-clockwise."""
    turned = points * np.array(factors, dtype=np.int64)
    if factors[0] == factors[1]:
        return turned
    rows = np.arange(len(points))
    part = np.repeat(np.arange(len(starts) - 1), np.diff(starts))
    return np.ascontiguousarray(turned[starts[part] + starts[part + 1] - 1 - rows])


def sum_parts(one: Wholes, two: Wholes) -> Wholes:
    """The Minkowski sum of two convex outlines (units)."""
    out = np.zeros((len(one) + len(two), 2), dtype=np.int64)
    return one + two if len(two) == 1 else out[: sum_convex(one, 0, len(one), two, 0, len(two), out, 0)].copy()


def _starts(arrays: list[Wholes] | list[Reals]) -> Wholes:
    return np.concatenate([[0], np.cumsum([len(array) for array in arrays])]).astype(np.int64)


def _no_fit(fixed: Form, moving: Form, sign: int) -> tuple[Wholes, Wholes, Reals]:
    turned = np.ascontiguousarray(-sign * moving.bare)
    order = np.argsort(-np.add.outer(fixed.sizes, moving.sizes).ravel(), kind="stable")
    return no_fit(fixed.grown, fixed.grown_starts, turned, moving.bare_starts, order)


Found = tuple[Wholes, Wholes, Reals]


def _book(forms: list[Form], twins: list[int | None], variants: tuple[Variant, ...]) -> Book:
    """All no-fit polygons, each pair worked out once; that of two mirror images is taken from their originals."""
    signs = [{variant.sign for variant in variants if variant.form == form} for form in range(len(forms))]
    table = np.full((len(forms), len(forms), 2), -1, dtype=np.int64)
    wanted: list[tuple[Form, Form, int]] = []
    places: list[tuple[int, tuple[int, int]]] = []
    for one in range(len(forms)):
        for two in range(one + 1):
            for unlike, sign in enumerate((1, -1)):
                if not any(a * b == sign for a in signs[one] for b in signs[two]):
                    continue
                image = _from_images(table, twins[one], twins[two], unlike)
                table[one, two, unlike] = len(places)
                if image is None:
                    places.append((len(wanted), (1, 1)))
                    wanted.append((forms[one], forms[two], sign))
                else:
                    of, factors = image
                    before = places[of][1]
                    places.append((places[of][0], (before[0] * factors[0], before[1] * factors[1])))
    with ThreadPoolExecutor() as pool:  # the compiled loops let go of the interpreter's lock
        worked_out = list(pool.map(lambda pair: _no_fit(*pair), wanted))
    return _bound(table, [_turned(worked_out[of], factors) for of, factors in places])


def _from_images(table: Wholes, one: int | None, two: int | None, unlike: int) -> tuple[int, tuple[int, int]] | None:
    """Where the no-fit polygon of two forms' mirror images stands already, and what it is to be multiplied by."""
    if one is None or two is None:
        return None
    if one >= two:
        at, factors = int(table[one, two, unlike]), (1, -1)
    else:  # the roles are changed, which turns the region half round, unless one form is turned half round already
        at, factors = int(table[two, one, unlike]), ((1, -1) if unlike else (-1, 1))
    return None if at < 0 else (at, factors)


def _turned(found: Found, factors: tuple[int, int]) -> Found:
    """A no-fit polygon with its coordinates multiplied by 1 or -1."""
    if factors == (1, 1):
        return found
    points, firsts, border = found
    across = border * np.array([*factors, *factors], dtype=np.float64)
    if factors[0] != factors[1]:  # the region stays on the left of its border
        across = across[:, [2, 3, 0, 1]]
    return _mirrored_parts(points, firsts, factors), firsts, np.ascontiguousarray(across)


def _bound(table: Wholes, found: list[Found]) -> Book:
    """The no-fit polygons as flat arrays."""
    points, firsts, borders = [one[0] for one in found], [one[1] for one in found], [one[2] for one in found]
    corners = np.vstack(points)
    offsets = _starts(points)
    part_starts = np.concatenate([[0], *(first[1:] + offset for first, offset in zip(firsts, offsets, strict=False))])
    part_starts = part_starts.astype(np.int64)
    parts = np.concatenate([[0], np.cumsum([len(first) - 1 for first in firsts])]).astype(np.int64)
    return (table, parts, part_starts, corners, _boxes(corners, part_starts), _planes(corners, part_starts),
            _boxes(corners, offsets), _starts(borders), np.vstack(borders))  # fmt: skip


def _boxes(points: Wholes, starts: Wholes) -> Wholes:
    """Least x, least y, greatest x and greatest y of each run of rows."""
    low, high = np.minimum.reduceat(points, starts[:-1]), np.maximum.reduceat(points, starts[:-1])
    return np.ascontiguousarray(np.hstack([low, high]))


def _planes(points: Wholes, starts: Wholes) -> Reals:
    """The edges of convex outlines as half-planes, as the kernel `write_planes` has them."""
    after = np.arange(1, len(points) + 1)
    after[starts[1:] - 1] = starts[:-1]
    along, across = (points[after] - points).astype(np.float64).T
    size = np.sqrt(along * along + across * across)
    a, b = -across / size, along / size
    return np.ascontiguousarray(np.column_stack([a, b, a * points[:, 0] + b * points[:, 1]]))
