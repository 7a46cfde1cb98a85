"""The stock of a problem: every shape that may be laid, and all no-fit polygons between them.

A *form* is an outline flipped and turned, up to a half turn; identical outlines share their forms. A *variant* is a
form with its half turn and the room it has across the strip: what the search lays.
"""

import math
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.kernels.convex import sum_convex
from cutroom.geometry.kernels.nofit import no_fit
from cutroom.geometry.polygon import area, bounds
from cutroom.geometry.union import grown_by_sides
from cutroom.model.laying import Shares
from cutroom.nest.grid import UNITS, steps_down, steps_up
from cutroom.nest.problem import Item, Pose, Problem, posed, room_across
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
    """A working shape, grown by half its gap, as convex parts in units: where each part starts; their areas.

    `close` is what counts between forms that share cut lines with one another by the name of `shares`.
    """

    parts: Wholes
    starts: Wholes
    sizes: Reals
    shares: str = ""
    close: "Form | None" = None


@dataclass(frozen=True, slots=True)
class Lattice:
    """Shifts (units) that meet the cloth's pattern: `start` and whole repeats on, each way; a repeat of 0 is free."""

    repeat: tuple[float, float] = (0.0, 0.0)
    start: tuple[float, float] = (0.0, 0.0)
    tolerance: float = 0.0


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
        lattice: Shifts that meet the cloth's pattern.
    """

    number: int
    form: int
    sign: int
    box: tuple[float, float, float, float]
    low: int
    high: int
    lattice: Lattice = Lattice()


@dataclass(frozen=True, slots=True)
class Fixture:
    """What lies where it lies and is no item: a flaw, a used area, the end of a table; shifts in units."""

    variant: Variant
    x: int
    y: int


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
        fixtures: What lies already and is no item.
    """

    problem: Problem
    variants: tuple[Variant, ...]
    choices: tuple[tuple[tuple[Pose, Variant], ...], ...]
    book: Book
    fixtures: tuple[Fixture, ...] = ()

    def way(self, item: int, pose: Pose) -> Variant:
        """The variant of an item in one of its poses."""
        return next(variant for own, variant in self.choices[item] if own == pose)

    @property
    def meets_pattern(self) -> bool:
        """Some item must meet the cloth's pattern."""
        return any(item.match is not None for item in self.problem.items)

    @property
    def lying(self) -> Wholes:
        """`(k, 4)`, form, sign, x and y (units) of all that lies already: fixtures, then locked items."""
        rows = [(one.variant.form, one.variant.sign, one.x, one.y) for one in self.fixtures]
        for laid in self.problem.locked:
            way = self.way(laid.item, laid.pose)
            rows.append((way.form, way.sign, round(laid.x * UNITS), round(laid.y * UNITS)))
        return np.array(rows, dtype=np.int64).reshape(-1, 4)


def gather(problem: Problem) -> Stock:
    """Work out every shape and every no-fit polygon of a problem."""
    many = len({item.outline.tobytes() for item in problem.items}) > MANY
    shelf = _Shelf(*((COARSEST, MOST // 2) if many else (COARSER, MOST)))
    variants: dict[tuple[int, int, int, int, Lattice], Variant] = {}
    choices = []
    for number, item in enumerate(problem.items):
        fitting = []
        for pose in item.poses:
            least, most = room_across(problem, item, pose)
            low, high = steps_up(least), steps_down(most)
            if low > high or (item.match is not None and not item.match.is_met_across(pose, least, most)):
                continue
            form, sign = shelf.form(item.outline, pose, problem.sides_of(number), item.shares)
            key = (form, sign, low, high, _lattice(item, pose))
            if key not in variants:
                box = bounds(posed(item.outline, pose))
                variants[key] = Variant(len(variants), form, sign, box, low, high, key[-1])
            fitting.append((pose, variants[key]))
        choices.append(tuple(fitting))
    ways = list(variants.values())
    fixtures = tuple(_fixtures(problem, shelf, len(ways)))
    book = _book(shelf.made, shelf.twins, tuple(ways), fixtures)
    return Stock(problem, tuple(ways), tuple(choices), book, fixtures)


class _Shelf:
    """Forms made so far; an outline is simplified once, and a mirror image taken from its original."""

    def __init__(self, coarser: tuple[float, ...], corners: int) -> None:
        self.coarser, self.corners = coarser, corners
        self.made: list[Form] = []
        self.twins: list[int | None] = []
        self._simple: dict[tuple[bytes, tuple[float, ...]], Reals] = {}
        self._forms: dict[tuple[bytes, bool, float, tuple[float, ...], Shares | None], int] = {}

    def form(
        self, outline: Reals, pose: Pose, gaps: tuple[float, ...], shares: Shares | None = None
    ) -> tuple[int, int]:
        """The form of an outline in a pose, and its sign.

        Args:
            outline: `(n, 2)`, mm.
            pose: How it lies.
            gaps: Of each of its sides (mm), or one for all; it is grown by half of them.
            shares: With what it may share cut lines.
        """
        turn = pose.turn_deg % 360.0
        sign, turn = (1, turn) if turn < 180.0 else (-1, turn - 180.0)
        key = (outline.tobytes(), pose.flipped, turn, gaps, shares)
        if key not in self._forms:
            twin = self._forms.get((key[0], not pose.flipped, *key[2:])) if turn == 0 else None
            self._forms[key] = len(self.made)
            if twin is None:
                form = self._made(outline, pose, sign, gaps)
                if shares is not None:
                    close = self._made(outline, pose, sign, (shares.gap,))
                    form = replace(form, shares=shares.name, close=close)
                self.add(form)
            else:
                self.add(_image(self.made[twin]), twin)
        return self._forms[key], sign

    def _made(self, outline: Reals, pose: Pose, sign: int, gaps: tuple[float, ...]) -> Form:
        own = gaps if len(set(gaps)) > 1 else ()
        mark = (outline.tobytes(), own)
        if mark not in self._simple:
            if own:
                outline = grown_by_sides(outline, [gap / 2 for gap in own], lambda reach: gap_figure(reach) / UNITS)
            self._simple[mark] = simplify_outwards(outline, coarser=self.coarser, most=self.corners)
        parts = convex_parts(snap_outwards(posed(self._simple[mark], pose) * sign))
        return _form(parts, 0.0 if own else gaps[0] / 2)

    def add(self, form: Form, twin: int | None = None) -> int:
        """Put a form on the shelf."""
        self.made.append(form)
        self.twins.append(twin)
        if twin is not None:
            self.twins[twin] = len(self.made) - 1
        return len(self.made) - 1


def _form(parts: list[Wholes], margin: float) -> Form:
    figure = gap_figure(margin)
    grown = [sum_parts(part, figure) for part in parts]
    sizes = np.array([area(part.astype(np.float64)) for part in parts])
    return Form(np.vstack(grown), _starts(grown), sizes)


def _lattice(item: Item, pose: Pose) -> Lattice:
    """Where an item in a pose meets the cloth's pattern."""
    match = item.match
    if match is None:
        return Lattice()
    x, y = match.shift(pose)
    return Lattice((match.repeat[0] * UNITS, match.repeat[1] * UNITS), (x * UNITS, y * UNITS), match.tolerance * UNITS)


def _fixtures(problem: Problem, shelf: _Shelf, number: int) -> Iterator[Fixture]:
    """Flaws and used areas as they lie, and the ends of the table as lines across the strip."""
    for outline in problem.forbidden:
        x, y, _, _ = bounds(outline)
        at = (steps_down(x), steps_down(y))
        own = outline - np.array(at) / UNITS
        form, sign = shelf.form(own, Pose(), (0.0,))
        yield Fixture(Variant(number, form, sign, bounds(own), at[1], at[1]), *at)
        number += 1
    if problem.table is None:
        return
    wall = np.array([[0, -UNITS], [0, steps_up(problem.width) + UNITS]], dtype=np.int64)
    form = shelf.add(Form(wall, np.array([0, 2], dtype=np.int64), np.zeros(1)))
    longest = sum(max(way[2] - way[0] for way in _boxes_of(item)) for item in problem.items)
    for end in range(1, 2 + math.ceil(4 * longest / problem.table)):
        yield Fixture(
            Variant(number, form, 1, (0.0, -1.0, 0.0, problem.width + 1.0), 0, 0), steps_down(end * problem.table), 0
        )
        number += 1


def _boxes_of(item: Item) -> list[tuple[float, float, float, float]]:
    return [bounds(posed(item.outline, pose)) for pose in item.poses]


def _image(form: Form) -> Form:
    """The mirror image of a form, y to -y, exactly."""
    close = None if form.close is None else _image(form.close)
    return replace(form, parts=_mirrored_parts(form.parts, form.starts, (1, -1)), close=close)


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
    if fixed.shares == moving.shares and fixed.close is not None and moving.close is not None:
        fixed, moving = fixed.close, moving.close
    turned = np.ascontiguousarray(-sign * moving.parts)
    order = np.argsort(-np.add.outer(fixed.sizes, moving.sizes).ravel(), kind="stable")
    return no_fit(fixed.parts, fixed.starts, turned, moving.starts, order)


Found = tuple[Wholes, Wholes, Reals]


def _book(forms: list[Form], twins: list[int | None], ways: tuple[Variant, ...], fixtures: tuple[Fixture, ...]) -> Book:
    """All no-fit polygons, each pair worked out once; that of two mirror images is taken from their originals."""
    variants = (*ways, *(one.variant for one in fixtures))
    signs = [{variant.sign for variant in variants if variant.form == form} for form in range(len(forms))]
    moving = {variant.form for variant in ways}
    table = np.full((len(forms), len(forms), 2), -1, dtype=np.int64)
    wanted: list[tuple[Form, Form, int]] = []
    places: list[tuple[int, tuple[int, int]]] = []
    for one in range(len(forms)):
        for two in range(one + 1):
            for unlike, sign in enumerate((1, -1)):
                if not any(a * b == sign for a in signs[one] for b in signs[two]):
                    continue
                if one not in moving and two not in moving:
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
