"""The stock of a problem: every shape that may be laid, and all no-fit polygons between them.

A *form* is an outline flipped and turned, up to a half turn; identical outlines share their forms. A *variant* is a
form with its half turn and the room it has across the strip: what the search lays.
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.kernels.convex import sum_convex
from cutroom.geometry.kernels.edges import write_box, write_planes
from cutroom.geometry.kernels.nofit import no_fit
from cutroom.geometry.polygon import area, bounds
from cutroom.nest.grid import steps_down, steps_up
from cutroom.nest.problem import Pose, Problem, posed, room_across
from cutroom.nest.working import COARSER, MOST, convex_parts, gap_figure, simplify_outwards, snap_outwards

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
    variants: dict[tuple[int, int, bool], Variant] = {}
    choices = []
    figure = gap_figure(problem.gap)
    for item in problem.items:
        outline = item.outline.tobytes()
        if outline not in simple:
            simple[outline] = simplify_outwards(item.outline, coarser=COARSER, most=MOST)
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
                forms[key] = len(made)
                shape = posed(simple[outline], pose)
                made.append(_form(shape * sign, figure))
            form = forms[key]
            if (form, sign, item.on_fold) not in variants:
                variant = Variant(len(variants), form, sign, bounds(posed(item.outline, pose)), low, high)
                variants[form, sign, item.on_fold] = variant
            fitting.append((pose, variants[form, sign, item.on_fold]))
        choices.append(tuple(fitting))
    return Stock(problem, tuple(variants.values()), tuple(choices), _book(made, tuple(variants.values())))


def _form(shape: Reals, figure: Wholes) -> Form:
    parts = convex_parts(snap_outwards(shape))
    grown = [sum_parts(part, figure) for part in parts]
    sizes = np.array([area(part.astype(np.float64)) for part in parts])
    return Form(np.vstack(parts), _starts(parts), np.vstack(grown), _starts(grown), sizes)


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


def _book(forms: list[Form], variants: tuple[Variant, ...]) -> Book:
    signs = [{variant.sign for variant in variants if variant.form == form} for form in range(len(forms))]
    table = np.full((len(forms), len(forms), 2), -1, dtype=np.int64)
    wanted: list[tuple[Form, Form, int]] = []
    for one in range(len(forms)):
        for two in range(one + 1):
            for unlike, sign in enumerate((1, -1)):
                if any(a * b == sign for a in signs[one] for b in signs[two]):
                    table[one, two, unlike] = len(wanted)
                    wanted.append((forms[one], forms[two], sign))
    with ThreadPoolExecutor() as pool:  # the compiled loops let go of the interpreter's lock
        found = list(pool.map(lambda pair: _no_fit(*pair), wanted))
    points, firsts, borders = [one[0] for one in found], [one[1] for one in found], [one[2] for one in found]
    corners = np.vstack(points)
    offsets = _starts(points)
    part_starts = np.concatenate([[0], *(first[1:] + offset for first, offset in zip(firsts, offsets, strict=False))])
    parts = np.concatenate([[0], np.cumsum([len(first) - 1 for first in firsts])])
    boxes, pair_boxes = np.zeros((len(part_starts) - 1, 4), dtype=np.int64), np.zeros((len(points), 4), dtype=np.int64)
    planes = np.zeros((len(corners), 3))
    for part in range(len(boxes)):
        write_box(corners, part_starts[part], part_starts[part + 1], boxes[part])
        write_planes(corners, part_starts[part], part_starts[part + 1], planes)
    for pair in range(len(points)):
        write_box(corners, offsets[pair], offsets[pair + 1], pair_boxes[pair])
    return (table, parts.astype(np.int64), part_starts.astype(np.int64), corners, boxes, planes, pair_boxes,
            _starts(borders), np.vstack(borders))  # fmt: skip
