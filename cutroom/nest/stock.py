"""The stock of a problem: every shape that may be laid, and all no-fit polygons between them.

A *form* is an outline flipped and turned, up to a half turn; identical outlines share their forms. A *variant* is a
form with its half turn and the room it has across the strip: what the search lays.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from cutroom.geometry.kernels.edges import write_all_planes
from cutroom.geometry.kernels.nofit import no_fit
from cutroom.geometry.polygon import area, bounds
from cutroom.nest.forms import Shelf, mirrored_parts, starts_of, sum_parts
from cutroom.nest.grid import UNITS, units_down, units_up
from cutroom.nest.known import Form, Found, Known, Pair, Reals, Wholes
from cutroom.nest.problem import Item, Laid, Pose, Problem, has_place, places_across, posed, used_length
from cutroom.nest.side_by_side import side_by_side
from cutroom.nest.working import COARSER, COARSEST, MANY, MOST

__all__ = ["Book", "Reals", "Stock", "Variant", "Wholes", "gather", "sum_parts"]


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
        larger: By what share of their area the shapes that are laid are larger than the items.
    """

    problem: Problem
    variants: tuple[Variant, ...]
    choices: tuple[tuple[tuple[Pose, Variant], ...], ...]
    book: Book
    fixtures: tuple[Fixture, ...] = ()
    larger: float = 0.0

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


def gather(
    problem: Problem,
    *,
    start: tuple[Laid, ...] = (),
    left: Callable[[], float] = lambda: math.inf,
    known: Known | None = None,
) -> Stock:
    """Work out every shape and every no-fit polygon of a problem.

    Tilted shapes come last, the largest pieces first, and only as many as half of the time that is left then allows:
    the work grows with the square of the shapes, and an item may always lie untilted.

    Args:
        problem: What is to be laid.
        start: Laid items whose poses are wanted in any case.
        left: Seconds that are left.
        known: What was worked out before; is added to.
    """
    many = len({item.outline.tobytes() for item in problem.items}) > MANY
    shelf = Shelf(known or Known(), *((COARSEST, MOST // 2) if many else (COARSER, MOST)))
    held = {laid.item: laid.pose for laid in problem.locked}
    rooms = [_rooms(problem, item, held.get(number)) for number, item in enumerate(problem.items)]
    wanted = {(laid.item, laid.pose) for laid in (*start, *problem.locked)}
    found: dict[tuple[int, Pose], tuple[int, int]] = {}
    later: dict[bytes, list[tuple[int, Pose]]] = {}
    for number, fitting in enumerate(rooms):
        stands = not all(map(_is_tilted, fitting))
        for pose in fitting:
            if stands and _is_tilted(pose) and (number, pose) not in wanted:
                later.setdefault(problem.items[number].outline.tobytes(), []).append((number, pose))
            else:
                found[number, pose] = shelf.of_item(problem, number, pose)
    fixtures = tuple(_fixtures(problem, shelf, start))
    regions = Regions(shelf, {one.variant.form for one in fixtures})
    regions.work_out({*found.values(), *((one.variant.form, one.variant.sign) for one in fixtures)})
    limit = left() / 2 if left() < math.inf else -math.inf
    for group in sorted(later.values(), key=lambda group: -area(problem.items[group[0][0]].outline)):
        forms = {way: shelf.of_item(problem, *way) for way in group}
        if not regions.work_out(set(forms.values()), is_late=lambda: left() <= limit):
            break
        found |= forms
    variants: dict[tuple[int, int, int, int, Lattice], Variant] = {}
    choices = []
    for number, (item, fitting) in enumerate(zip(problem.items, rooms, strict=True)):
        fits = []
        for pose in (pose for pose in fitting if (number, pose) in found):
            (form, sign), (low, high), lattice = found[number, pose], fitting[pose], _lattice(item, pose)
            key = (form, sign, low, high, lattice)
            if key not in variants:
                box = bounds(posed(item.outline, pose))
                variants[key] = Variant(len(variants), form, sign, box, low, high, lattice)
            fits.append((pose, variants[key]))
        choices.append(tuple(fits))
    numbered = tuple(
        replace(one, variant=replace(one.variant, number=len(variants) + place)) for place, one in enumerate(fixtures)
    )
    larger = sum(shelf.grown_by(item.outline) for item in problem.items) / sum(
        area(one.outline) for one in problem.items
    )
    return Stock(problem, tuple(variants.values()), tuple(choices), regions.book(), numbered, larger)


def _is_tilted(pose: Pose) -> bool:
    return pose.turn_deg % 90.0 != 0


def _rooms(problem: Problem, item: Item, held: Pose | None) -> dict[Pose, tuple[int, int]]:
    """The poses in which an item has a place, or is held, and its shifts across (units)."""
    return {
        pose: places_across(problem, item, pose)
        for pose in item.poses
        if pose == held or has_place(problem, item, pose)
    }


def _lattice(item: Item, pose: Pose) -> Lattice:
    """Where an item in a pose meets the cloth's pattern."""
    match = item.match
    if match is None:
        return Lattice()
    x, y = match.shift(pose)
    return Lattice((match.repeat[0] * UNITS, match.repeat[1] * UNITS), (x * UNITS, y * UNITS), match.tolerance * UNITS)


def _fixtures(problem: Problem, shelf: Shelf, start: Sequence[Laid]) -> Iterator[Fixture]:
    """Flaws and used areas as they lie, and the ends of the table as lines across the strip; not yet numbered.

    There are ends enough for all items one after another four times over, and for the layouts to begin with.
    """
    for outline in problem.forbidden:
        x, y, _, _ = bounds(outline)
        at = (units_down(x), units_down(y))
        own = outline - np.array(at) / UNITS
        form, sign = shelf.form(own, Pose(), (0.0,))
        yield Fixture(Variant(0, form, sign, bounds(own), at[1], at[1]), *at)
    if problem.table is None:
        return
    wall = np.array([[0, -UNITS], [0, units_up(problem.width) + UNITS]], dtype=np.int64)
    form = shelf.add(Form(wall, np.array([0, 2], dtype=np.int64), np.zeros(1)))
    longest = sum(max(way[2] - way[0] for way in _boxes_of(item)) for item in problem.items)
    reach = used_length(problem.items, start) if start else 0.0
    for end in range(1, 2 + math.ceil(max(4 * longest, reach) / problem.table)):
        line = Variant(0, form, 1, (0.0, -1.0, 0.0, problem.width + 1.0), 0, 0)
        yield Fixture(line, units_down(end * problem.table), 0)


def _boxes_of(item: Item) -> list[tuple[float, float, float, float]]:
    return [bounds(posed(item.outline, pose)) for pose in item.poses]


def _no_fit(fixed: Form, moving: Form, sign: int) -> tuple[Wholes, Wholes, Reals]:
    if fixed.shares == moving.shares and fixed.close is not None and moving.close is not None:
        fixed, moving = fixed.close, moving.close
    turned = np.ascontiguousarray(-sign * moving.parts)
    order = np.argsort(-np.add.outer(fixed.sizes, moving.sizes).ravel(), kind="stable")
    return no_fit(fixed.parts, fixed.starts, turned, moving.starts, order)


Place = tuple[int, int, int]
"""Of a no-fit polygon in the table: two forms, and 1 where one of them is turned half round, else 0."""


@dataclass(frozen=True, slots=True)
class _Image:
    """A no-fit polygon that stands in the table already, and what its coordinates are to be multiplied by."""

    place: Place
    factors: tuple[int, int]


class Regions:
    """The no-fit polygons of the forms of a shelf, each pair worked out once; of two images, taken from the originals.

    Attributes:
        _signs: The signs of each form that is there.
        _places: By their places the polygons that are there, and what their coordinates are to be multiplied by.
    """

    def __init__(self, shelf: Shelf, fixed: set[int]) -> None:
        """Set up a book in which nothing stands yet.

        Args:
            shelf: The forms.
            fixed: Forms of what does not move: between two of them nothing is worked out.
        """
        self._shelf, self._fixed = shelf, fixed
        self._signs: dict[int, set[int]] = {}
        self._places: dict[Place, tuple[Found, tuple[int, int]]] = {}

    def work_out(self, ways: set[tuple[int, int]], *, is_late: Callable[[], bool] = lambda: False) -> bool:
        """Work out all regions that forms, each with its sign, have with those that are there already.

        Returns:
            Whether it was done in time; if not, the book stands as it stood.
        """
        signs = {form: set(own) for form, own in self._signs.items()}
        for form, sign in ways:
            signs.setdefault(form, set()).add(sign)
        known = self._shelf.known.regions
        places = dict(self._missing(signs))
        wanted = [one for one in dict.fromkeys(places.values()) if isinstance(one, Pair) and one not in known]

        def work_out(pair: Pair) -> None:
            if not is_late():
                known[pair] = _no_fit(*pair)

        side_by_side(work_out, wanted)
        if any(pair not in known for pair in wanted):
            return False
        self._signs = signs
        for place, one in places.items():
            if isinstance(one, Pair):
                self._places[place] = known[one], (1, 1)
            else:
                found, before = self._places[one.place]
                self._places[place] = found, (before[0] * one.factors[0], before[1] * one.factors[1])
        return True

    def _missing(self, signs: dict[int, set[int]]) -> Iterator[tuple[Place, "Pair | _Image"]]:
        """Places of the table that are still empty, and what is to stand there."""
        made, twins = self._shelf.made, self._shelf.twins
        seen: set[Place] = set()
        for one in sorted(signs):
            for two in (two for two in sorted(signs) if two <= one):
                for unlike, sign in enumerate((1, -1)):
                    place = one, two, unlike
                    if place in self._places or not any(a * b == sign for a in signs[one] for b in signs[two]):
                        continue
                    if one in self._fixed and two in self._fixed:
                        continue
                    image = _from_images(twins[one], twins[two], unlike)
                    there = image is not None and (image.place in self._places or image.place in seen)
                    yield place, image if image is not None and there else Pair(made[one], made[two], sign)
                    seen.add(place)

    def book(self) -> Book:
        """The no-fit polygons as flat arrays."""
        count = len(self._shelf.made)
        table = np.full((count, count, 2), -1, dtype=np.int64)
        for number, place in enumerate(self._places):
            table[place] = number
        found = [_turned(*one) for one in self._places.values()]
        points, firsts, borders = [one[0] for one in found], [one[1] for one in found], [one[2] for one in found]
        corners = np.vstack(points)
        offsets = starts_of(points)
        part_starts = np.concatenate(
            [[0], *(first[1:] + offset for first, offset in zip(firsts, offsets, strict=False))]
        )
        part_starts = part_starts.astype(np.int64)
        parts = np.concatenate([[0], np.cumsum([len(first) - 1 for first in firsts])]).astype(np.int64)
        return (table, parts, part_starts, corners, _boxes(corners, part_starts), _planes(corners, part_starts),
                _boxes(corners, offsets), starts_of(borders), np.vstack(borders))  # fmt: skip


def _from_images(one: int | None, two: int | None, unlike: int) -> _Image | None:
    """Where the no-fit polygon of two forms' mirror images stands."""
    if one is None or two is None:
        return None
    if one >= two:
        return _Image((one, two, unlike), (1, -1))
    # the roles are changed, which turns the region half round, unless one form is turned half round already
    return _Image((two, one, unlike), (1, -1) if unlike else (-1, 1))


def _turned(found: Found, factors: tuple[int, int]) -> Found:
    """A no-fit polygon with its coordinates multiplied by 1 or -1."""
    if factors == (1, 1):
        return found
    points, firsts, border = found
    across = border * np.array([*factors, *factors], dtype=np.float64)
    if factors[0] != factors[1]:  # the region stays on the left of its border
        across = across[:, [2, 3, 0, 1]]
    return mirrored_parts(points, firsts, factors), firsts, np.ascontiguousarray(across)


def _boxes(points: Wholes, starts: Wholes) -> Wholes:
    """Least x, least y, greatest x and greatest y of each run of rows."""
    low, high = np.minimum.reduceat(points, starts[:-1]), np.maximum.reduceat(points, starts[:-1])
    return np.ascontiguousarray(np.hstack([low, high]))


def _planes(points: Wholes, starts: Wholes) -> Reals:
    """The edges of convex outlines as half-planes; see `geometry.kernels.edges.write_planes`."""
    planes = np.zeros((len(points), 3))
    write_all_planes(points, starts, planes)
    return planes
