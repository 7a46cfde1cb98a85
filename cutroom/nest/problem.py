"""What the nest is asked, and what it answers: shapes, poses and a strip."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from cutroom.errors import NestError
from cutroom.geometry.affine import pose_points
from cutroom.geometry.polygon import bounds, crossing_place, signed_area
from cutroom.model.arrays import Points, frozen_points
from cutroom.model.laying import Shares
from cutroom.model.marker import GRID
from cutroom.nest.grid import UNITS, units_between, units_down, units_up

ON_LINE = 0.01
"""A locked item may be so much further off the cloth's pattern than it should (mm)."""
LATE, BROKEN_OFF = 1, 2
"""Why searches are to end: time is over, once each has something; or at once."""


@dataclass(frozen=True, slots=True)
class Pose:
    """How an outline lies, apart from its shift.

    Attributes:
        flipped: y becomes -y first.
        turn_deg: Then turned counter-clockwise about the origin (degrees).
    """

    flipped: bool = False
    turn_deg: float = 0.0

    @property
    def quarter(self) -> int:
        """Which of the four ways it points, its tilt apart: quarter turns, 0 to 3."""
        return round(self.turn_deg / 90.0) % 4


@dataclass(frozen=True, slots=True)
class Match:
    """Stripes or checks of the cloth that a point of an item must fall on.

    Attributes:
        point: x and y of the point, in the item's own axes (mm).
        repeat: Of the pattern, along and across the cloth (mm); 0 where it is plain.
        phase: Where the pattern wants the point: x and y, up to whole repeats (mm).
        tolerance: How far off it may fall (mm).
    """

    point: tuple[float, float]
    repeat: tuple[float, float]
    phase: tuple[float, float] = (0.0, 0.0)
    tolerance: float = 0.5

    def shift(self, pose: Pose) -> tuple[float, float]:
        """A shift along and across (mm) that meets it in a pose; whole repeats on do too."""
        x, y = pose_points(np.array([self.point]), flipped=pose.flipped, turn_deg=pose.turn_deg)[0]
        return self.phase[0] - float(x), self.phase[1] - float(y)

    def off_by(self, laid: "Laid") -> float:
        """How far (mm) from the nearest place that meets it something lies, along or across, whichever is more."""
        off = 0.0
        for start, repeat, at in zip(self.shift(laid.pose), self.repeat, (laid.x, laid.y), strict=True):
            if repeat > 0:
                off = max(off, abs((at - start + repeat / 2) % repeat - repeat / 2))
        return off

    def is_met_across(self, pose: Pose, least: float, most: float) -> bool:
        """Some shift across, from `least` to `most` (mm), meets it in a pose."""
        repeat, start = self.repeat[1], self.shift(pose)[1]
        if repeat <= 0:
            return least <= most
        met = start + math.ceil((least - self.tolerance - start) / repeat - 1e-9) * repeat
        return least <= most and met <= most + self.tolerance + 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Item:
    """One outline to be laid once.

    Attributes:
        name: For messages.
        outline: `(n, 2)`, mm, counter-clockwise, simple.
        poses: The poses it may lie in.
        on_fold: Its fold edge is y = 0 in its own axes and must lie on the fold.
        group: The garment it belongs to; see `Problem.same_way`.
        gap: Of this item (mm), instead of the problem's: two items keep the mean of theirs.
        match: What of the cloth's pattern it must meet, or None.
        side_gaps: The gap of each side of its outline (mm), the first from point 0 to point 1; empty where all keep the
            item's. Straight out from a side half its gap is kept, round a corner half the less of its sides'; what two
            items keep does not overlap.
        shares: With which items it may share a cut line, or None.
        leans: Its poses are some of many: it may be tilted by any angle between them.
    """

    name: str
    outline: Points
    poses: tuple[Pose, ...] = (Pose(),)
    on_fold: bool = False
    group: str = ""
    gap: float | None = None
    match: Match | None = None
    side_gaps: tuple[float, ...] = ()
    shares: Shares | None = None
    leans: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "outline", frozen_points(self.outline))
        place = f'piece "{self.name}"'
        if self.side_gaps and len(self.side_gaps) != len(self.outline):
            raise ValueError(f"{place}: {len(self.side_gaps)} gaps for {len(self.outline)} sides")
        if len(self.outline) < 3 or signed_area(self.outline) <= 0:
            raise NestError(
                "its outline encloses nothing, or runs clockwise", "Give a counter-clockwise outline", place=place
            )
        if not self.poses:
            raise NestError("it may lie in no pose", "Allow at least one turn", place=place)


@dataclass(frozen=True, slots=True)
class Problem:
    """Items to be laid on a strip, 0 <= y <= width and 0 <= x, in the least length.

    Attributes:
        width: Across the strip (mm).
        gap: Least distance between items (mm); not kept from the start nor from selvedges.
        items: What is to be laid.
        fold: y = 0 is a fold: items keep the gap from it, unless they lie on it.
        far_fold: y = width is a fold as well: an item flipped or turned so that its fold edge is up lies there.
        same_way: All items of a group take poses of one and the same turn.
        forbidden: Outlines on the strip that nothing may cover, `(n, 2)` mm counter-clockwise: flaws, used areas. Items
            keep half their gap from them.
        locked: Items that lie where they lie.
        table: Length (mm) of the cutting table, none of whose ends an item may cross; None where it is long enough.
    """

    width: float
    gap: float
    items: tuple[Item, ...]
    fold: bool = False
    far_fold: bool = False
    same_way: bool = False
    forbidden: tuple[Points, ...] = ()
    locked: tuple["Laid", ...] = ()
    table: float | None = None

    @property
    def free(self) -> tuple[int, ...]:
        """The items that are not locked."""
        locked = {laid.item for laid in self.locked}
        return tuple(item for item in range(len(self.items)) if item not in locked)

    def gap_of(self, item: int) -> float:
        """The gap of an item (mm), where none of its sides has its own."""
        own = self.items[item].gap
        return self.gap if own is None else own

    def sides_of(self, item: int) -> tuple[float, ...]:
        """The gaps of an item's sides (mm), all of them; one for all where they are alike."""
        return self.items[item].side_gaps or (self.gap_of(item),)

    def least_gap(self, item: int) -> float:
        """The least gap that an item keeps on any side, from any other (mm)."""
        shares = self.items[item].shares
        return min(*self.sides_of(item), math.inf if shares is None else shares.gap)

    def widest_gap(self, item: int) -> float:
        """The widest gap that an item keeps on any side, from any other (mm)."""
        shares = self.items[item].shares
        return max(*self.sides_of(item), 0.0 if shares is None else shares.gap)


@dataclass(frozen=True, slots=True)
class Laid:
    """One item where it lies: posed, then shifted.

    Attributes:
        item: Which item of the problem.
        pose: One of its poses.
        x: Shift along the strip (mm), a whole multiple of 0.0001.
        y: Shift across the strip (mm), likewise.
    """

    item: int
    pose: Pose
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Layout:
    """An answer.

    Attributes:
        placed: All items, in the problem's order.
        length: Used length (mm), the greatest x of any outline.
        boxes_length: Length (mm) that the same items take when packed by their boxes.
        tries: Orders laid and steps of the local search.
        stopped: The search was broken off by hand.
        larger: By what share of their area the shapes that were laid are larger than the items: what is lost, at most,
            by laying simpler ones.
    """

    placed: tuple[Laid, ...]
    length: float
    boxes_length: float
    tries: int = 0
    stopped: bool = False
    larger: float = 0.0


@dataclass(frozen=True, slots=True)
class Progress:
    """How a search goes.

    Attributes:
        length: Best length so far (mm).
        tries: Tries so far.
        seconds: Time since the start.
        placed: The best layout so far, all items in order.
    """

    length: float
    tries: int
    seconds: float
    placed: tuple[Laid, ...] = ()


def posed(outline: Points, pose: Pose) -> Points:
    """An outline in a pose, not yet shifted; counter-clockwise, `(n, 2)` mm."""
    points: Points = pose_points(outline, flipped=pose.flipped, turn_deg=pose.turn_deg)
    return points[::-1] if pose.flipped else points


def laid_outline(item: Item, laid: Laid) -> Points:
    """An item's outline where it lies; counter-clockwise, `(n, 2)` mm."""
    shifted: Points = posed(item.outline, laid.pose) + np.array([laid.x, laid.y])
    return shifted


def used_length(items: Sequence[Item], placed: Sequence[Laid]) -> float:
    """Greatest x of any laid outline (mm), to a millionth."""
    return round(max(laid.x + bounds(posed(items[laid.item].outline, laid.pose))[2] for laid in placed), 6)


def room_across(problem: Problem, item: Item, pose: Pose) -> tuple[float, float]:
    """Least and greatest shift across (mm) of an item in a pose; least above greatest when there is no room."""
    _, low, _, high = bounds(posed(item.outline, pose))
    deep, tall = _kept_clear(problem, item, pose)
    top = problem.width - (tall if problem.far_fold else high)
    if not item.on_fold:
        return -(deep if problem.fold else low), top
    if abs(low) <= 1e-6:
        return 0.0, (0.0 if top >= -1e-9 else -1.0)
    if problem.far_fold and abs(high) <= 1e-6:
        return problem.width, (problem.width if problem.width + deep >= -1e-9 else -1.0)
    return 0.0, -1.0


def places_across(problem: Problem, item: Item, pose: Pose) -> tuple[int, int]:
    """As `room_across`, in whole units."""
    return units_between(*room_across(problem, item, pose))


def _goes_across(problem: Problem, item: Item, pose: Pose) -> bool:
    """An item fits across the cloth in a pose, and meets its pattern there."""
    low, high = places_across(problem, item, pose)
    return low <= high and (item.match is None or item.match.is_met_across(pose, low / UNITS, high / UNITS))


def _units_along(item: Item, pose: Pose) -> int:
    left, _, right, _ = bounds(posed(item.outline, pose))
    return units_up(right) - units_down(left)


def has_place(problem: Problem, item: Item, pose: Pose) -> bool:
    """An item may lie in a pose somewhere: across the cloth, where it meets the pattern, and on the table."""
    is_short = problem.table is None or _units_along(item, pose) <= units_down(problem.table)
    return is_short and _goes_across(problem, item, pose)


def with_places_only(problem: Problem) -> Problem:
    """The same, but of each item that is not locked only those poses in which it has a place."""
    items = list(problem.items)
    for number in problem.free:
        item = items[number]
        poses = tuple(pose for pose in item.poses if has_place(problem, item, pose))
        items[number] = item if len(poses) == len(item.poses) else replace(item, poses=poses)
    return replace(problem, items=tuple(items))


def _kept_clear(problem: Problem, item: Item, pose: Pose) -> tuple[float, float]:
    """Least and greatest y (mm) of an item in a pose, not yet shifted, and of what it keeps clear of a fold."""
    points = pose_points(item.outline, flipped=pose.flipped, turn_deg=pose.turn_deg)
    gaps = np.array(item.side_gaps or (problem.gap if item.gap is None else item.gap,))
    less, y = np.minimum(gaps, np.roll(gaps, 1)), points[:, 1]
    low, high = float((y - less).min()), float((y + less).max())
    if item.side_gaps:
        along = np.roll(points, -1, axis=0) - points
        out = gaps * along[:, 0] / np.hypot(*along.T) * (1.0 if pose.flipped else -1.0)
        reached = np.concatenate([y + out, np.roll(y, -1) + out])
        low, high = min(low, float(reached.min())), max(high, float(reached.max()))
    return low, high


def refuse_unlayable(problem: Problem) -> None:
    """Refuse what no search can lay.

    Raises:
        NestError: There is nothing to lay, the strip has no width, an outline crosses itself, or an item does not fit.
    """
    if not problem.items:
        raise NestError("there is nothing to lay", "Order at least one piece")
    if not problem.width > 0 or problem.gap < 0:
        raise NestError(
            f"the width is {problem.width:g} mm and the gap {problem.gap:g} mm", "Give a width above 0 and no gap below"
        )
    checked: set[bytes] = set()
    for item in problem.items:
        place = f'piece "{item.name}"'
        if item.on_fold and not problem.fold:
            raise NestError(
                "it is laid on the fold, and this cloth has none", "Fold the cloth or open the piece", place=place
            )
        if item.outline.tobytes() not in checked:
            checked.add(item.outline.tobytes())
            crossing = crossing_place(item.outline)
            if crossing is not None:
                raise NestError(
                    f"its outline crosses or touches itself at x {crossing[0]:.1f}, y {crossing[1]:.1f} mm",
                    "Draw the outline without the loop",
                    place=place,
                )
        _refuse_too_wide(problem, item, place)
        _refuse_unmatched(problem, item, place)
        _refuse_too_long(problem, item, place)
    _refuse_locks(problem)


def _refuse_unmatched(problem: Problem, item: Item, place: str) -> None:
    """Refuse an item that meets the cloth's pattern nowhere across the strip."""
    match = item.match
    if match is None or match.repeat[1] <= 0:
        return
    if any(_goes_across(problem, item, pose) for pose in item.poses):
        return
    raise NestError(
        f"it meets the stripe nowhere across the cloth: the pattern repeats every {match.repeat[1]:.2f} mm and it has "
        "less room than that",
        "Choose another line to match, or take wider cloth",
        place=place,
    )


def _refuse_too_long(problem: Problem, item: Item, place: str) -> None:
    """Refuse an item that is longer than the table as it goes on the cloth."""
    if problem.table is None or any(has_place(problem, item, pose) for pose in item.poses):
        return
    shortest = min(_units_along(item, pose) for pose in item.poses if _goes_across(problem, item, pose)) / UNITS
    digits = _digits(shortest - problem.table)
    raise NestError(
        f"it is {shortest:.{digits}f} mm long, the table {problem.table:.{digits}f}",
        "Take a longer table, or cut this piece by hand",
        place=place,
    )


def _digits(short: float) -> int:
    """Digits behind the point with which two lengths are told apart that differ by so much (mm)."""
    return 2 if short >= 0.01 else 4


def _refuse_locks(problem: Problem) -> None:
    """Refuse locks of unknown or repeated items, in poses they may not take, off the strip, the fold or the pattern.

    Where every item that meets the pattern is locked, whether they meet it is for the proof to say.
    """
    seen: set[int] = set()
    ways: dict[str, tuple[int, str]] = {}
    held = {laid.item for laid in problem.locked}
    all_matched = all(number in held for number, item in enumerate(problem.items) if item.match is not None)
    for laid in problem.locked:
        if not 0 <= laid.item < len(problem.items) or laid.item in seen:
            raise NestError(
                f"piece number {laid.item} is locked twice or is none of the pieces", "Lock each piece once"
            )
        seen.add(laid.item)
        item = problem.items[laid.item]
        place = f'piece "{item.name}"'
        if laid.pose not in item.poses:
            raise NestError("it is locked in a pose that it may not take", "Unlock it, or allow the pose", place=place)
        low, below, _, above = bounds(laid_outline(item, laid))
        least, most = places_across(problem, item, laid.pose)
        is_in_room = least <= round(laid.y * UNITS) <= most
        is_on_cloth = low >= -GRID and below >= -GRID and above <= problem.width + GRID
        if item.on_fold and is_on_cloth and not is_in_room:
            raise NestError("it is locked with its fold edge off the fold", "Move it on to the fold", place=place)
        if low < -1e-6 or not is_in_room:
            raise NestError("it is locked where it lies beside the cloth", "Move it on to the cloth", place=place)
        match = None if all_matched else item.match
        if match is not None and (off := match.off_by(laid)) > match.tolerance + ON_LINE:
            raise NestError(
                f"it is locked {off:.2f} mm off the place where it meets the cloth's pattern as that starts here",
                "Move it there, or unlock it",
                place=place,
            )
        ways.setdefault(item.group, (laid.pose.quarter, item.name))
        if problem.same_way and ways[item.group][0] != laid.pose.quarter:
            raise NestError(
                f'it is locked pointing the other way than "{ways[item.group][1]}", and all pieces of its garment must '
                "point alike",
                "Turn one of them, or unlock it",
                place=place,
            )


def _refuse_too_wide(problem: Problem, item: Item, place: str) -> None:
    wants = []
    for pose in item.poses:
        _, low, _, high = bounds(posed(item.outline, pose))
        least, most = room_across(problem, item, pose)
        if item.on_fold and most < least and least == 0.0 and abs(low) > 1e-6:
            continue
        first, last = units_between(least, most)
        if first <= last:
            return
        deep, tall = _kept_clear(problem, item, pose)
        from_fold = -deep if abs(low) > 1e-6 else tall if problem.far_fold else high
        wants.append(from_fold if item.on_fold else problem.width + least - most)
    if not wants:
        raise NestError("no pose lays its fold edge on the fold", "Draw the fold edge along y = 0", place=place)
    wanted, digits = min(wants), _digits(min(wants) - problem.width)
    if item.on_fold:
        raise NestError(
            f"it needs {wanted:.{digits}f} mm from the fold to the {'other fold' if problem.far_fold else 'edge'} of "
            f"the cloth and has {problem.width:.{digits}f}: {wanted - problem.width:.{digits}f} mm too wide",
            "Fold wider cloth, or spread it open and lay the piece whole",
            place=place,
        )
    raise NestError(
        f"it needs a width of {wanted:.{digits}f} mm and has {problem.width:.{digits}f}: "
        f"{wanted - problem.width:.{digits}f} mm too wide",
        f"Take cloth with at least {wanted:.{digits}f} mm of usable width, or allow it to be turned",
        place=place,
    )
