"""Forms: the working shapes of outlines, flipped, turned and grown, made once and shared by all that are alike."""

from dataclasses import replace

import numpy as np

from cutroom.geometry.kernels.convex import sum_convex
from cutroom.geometry.polygon import area
from cutroom.geometry.union import grown_by_sides
from cutroom.model.laying import Shares
from cutroom.nest.grid import UNITS
from cutroom.nest.known import Form, Known, Reals, Wholes
from cutroom.nest.problem import Pose, Problem, posed
from cutroom.nest.working import convex_parts, gap_figure, simplify_outwards, snap_outwards

Key = tuple[bytes, bool, float, tuple[float, ...], Shares | None]
"""Of a form: its outline, flipped, its turn below 180 degrees, the gaps of its sides, and with what it shares lines."""


class Shelf:
    """The forms of a problem; an outline is simplified once, and a mirror image taken from its original.

    Attributes:
        made: The forms, by their numbers.
        twins: For each the form that is its mirror image, or None.
        known: What was worked out before.
    """

    def __init__(self, known: Known, coarser: tuple[float, ...], corners: int) -> None:
        self.made: list[Form] = []
        self.twins: list[int | None] = []
        self.known = known
        self._coarser, self._corners = coarser, corners
        self._numbers: dict[Key, int] = {}

    def form(
        self, outline: Reals, pose: Pose, gaps: tuple[float, ...], shares: Shares | None = None
    ) -> tuple[int, int]:
        """The number of the form of an outline in a pose, and its sign.

        Args:
            outline: `(n, 2)`, mm.
            pose: How it lies.
            gaps: Of each of its sides (mm), or one for all; it is grown by half of them.
            shares: With what it may share cut lines.
        """
        turn, sign = half_turned(pose)
        key: Key = (outline.tobytes(), pose.flipped, turn, gaps, shares)
        if key not in self._numbers:
            twin = self._numbers.get((key[0], not pose.flipped, *key[2:])) if turn == 0 else None
            self._numbers[key] = self.add(self._formed(outline, key, twin), twin)
        return self._numbers[key], sign

    def of_item(self, problem: Problem, item: int, pose: Pose) -> tuple[int, int]:
        """The number of the form of an item in a pose, and its sign."""
        one = problem.items[item]
        return self.form(one.outline, pose, problem.sides_of(item), one.shares)

    def grown_by(self, outline: Reals) -> float:
        """By how much the simpler shape of an outline is larger than it (mm2); 0 where it has none here."""
        simple = self.known.simple.get((outline.tobytes(), (), self._coarser))
        return 0.0 if simple is None else area(simple) - area(outline)

    def add(self, form: Form, twin: int | None = None) -> int:
        """Put a form on the shelf: its number."""
        self.made.append(form)
        self.twins.append(twin)
        if twin is not None:
            self.twins[twin] = len(self.made) - 1
        return len(self.made) - 1

    def _formed(self, outline: Reals, key: Key, twin: int | None) -> Form:
        mark = (*key, self._coarser)
        if mark not in self.known.forms:
            if twin is None:
                _, flipped, turn, gaps, shares = key
                form = self._made(outline, Pose(flipped, turn), gaps)
                if shares is not None:
                    form = replace(
                        form, shares=shares.name, close=self._made(outline, Pose(flipped, turn), (shares.gap,))
                    )
            else:
                form = image_of(self.made[twin])
            self.known.forms[mark] = form
        return self.known.forms[mark]

    def _made(self, outline: Reals, pose: Pose, gaps: tuple[float, ...]) -> Form:
        own = gaps if len(set(gaps)) > 1 else ()
        mark = (outline.tobytes(), own, self._coarser)
        if mark not in self.known.simple:
            if own:
                outline = grown_by_sides(outline, [gap / 2 for gap in own], lambda reach: gap_figure(reach) / UNITS)
            self.known.simple[mark] = simplify_outwards(outline, coarser=self._coarser, most=self._corners)
        parts = convex_parts(snap_outwards(posed(self.known.simple[mark], pose)))
        return _grown(parts, 0.0 if own else gaps[0] / 2)


def half_turned(pose: Pose) -> tuple[float, int]:
    """The turn of a pose below 180 degrees, and -1 where it is half a turn more, else 1."""
    turn = pose.turn_deg % 360.0
    return (turn, 1) if turn < 180.0 else (turn - 180.0, -1)


def _grown(parts: list[Wholes], margin: float) -> Form:
    figure = gap_figure(margin)
    grown = [sum_parts(part, figure) for part in parts]
    sizes = np.array([area(part.astype(np.float64)) for part in parts])
    return Form(np.vstack(grown), starts_of(grown), sizes)


def image_of(form: Form) -> Form:
    """The mirror image of a form, y to -y, exactly."""
    close = None if form.close is None else image_of(form.close)
    return replace(form, parts=mirrored_parts(form.parts, form.starts, (1, -1)), close=close)


def mirrored_parts(points: Wholes, starts: Wholes, factors: tuple[int, int]) -> Wholes:
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


def starts_of(arrays: list[Wholes] | list[Reals]) -> Wholes:
    """Where each of several arrays starts when they stand end to end, and where the last ends."""
    return np.concatenate([[0], np.cumsum([len(array) for array in arrays])]).astype(np.int64)
