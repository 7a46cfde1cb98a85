"""A marker in sections: each size by itself, or garments kept together for their shade."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from cutroom.errors import FabricError
from cutroom.geometry.polygon import area, bounds
from cutroom.job.going_on import Started
from cutroom.model.fabric import Area, Fabric, Sections
from cutroom.model.lay import Lay
from cutroom.model.marker import on_grid
from cutroom.nest.grid import UNITS, units_down, units_up
from cutroom.nest.problem import Layout, Pose, posed
from cutroom.units import both_units

FIRST = 0.7
"""Share of its time in which a section is first laid; the rest is for laying it again with a garment less."""
FILLED = 0.85
"""Share of the cloth that a section is taken to fill before any has been laid."""

LayOne = Callable[[Lay, float, Started | None], tuple[Layout, float | None]]
"""Lays a part of a lay in so many seconds, from what was there: its layout, and where the pattern starts in it."""
Garment = tuple[str, str, int]


@dataclass(frozen=True, slots=True)
class Sectioned:
    """A marker's layout in sections.

    Attributes:
        layout: All items of the lay.
        pattern_start: Where the pattern starts (mm), or None.
        ends: Where each section ends (mm).
    """

    layout: Layout
    pattern_start: float | None
    ends: tuple[float, ...]


def is_in_sections(fabric: Fabric) -> bool:
    """The cloth asks for sections."""
    return fabric.sections is Sections.SIZES or fabric.shade is not None


def in_sections(lay: Lay, lay_one: LayOne, *, seconds: float, started: Started | None) -> Sectioned:
    """Every section laid by itself and set behind the one before.

    Args:
        lay: What to lay.
        lay_one: Lays a part of it.
        seconds: For all of them (s), shared by the area of their pieces.
        started: A marker to go on from.

    Raises:
        FabricError: Pieces are locked, or a garment alone is longer than its shade allows.
    """
    if started is not None and started.has_locks:
        raise FabricError(
            "pieces are locked in a marker of sections, whose places move when a section before them changes",
            "Unlock them, or lay the section as a job of its own",
        )
    building = _Building(lay, lay_one, seconds, started)
    if lay.fabric.shade is None:
        sizes = dict.fromkeys(wanted.piece.size for wanted in lay.wanted)
        for size in sizes:
            members = [number for number, wanted in enumerate(lay.wanted) if wanted.piece.size == size]
            building.add(members, *building.lay(members, 1.0))
    else:
        _by_shade(building, lay, lay.fabric.shade)
    return building.built()


def _by_shade(building: "_Building", lay: Lay, shade: float) -> None:
    """Garments in their order, as many to a section as are found to go within the length."""
    garments: dict[Garment, list[int]] = {}
    for number, wanted in enumerate(lay.wanted):
        garments.setdefault((wanted.piece.garment, wanted.piece.size, wanted.copy), []).append(number)
    left = list(garments)
    filled = FILLED
    while left:
        room, group = shade * lay.fabric.usable_width * filled, [left[0]]
        while len(group) < len(left) and building.area_of(_members(garments, left[: len(group) + 1])) <= room:
            group.append(left[len(group)])
        share = FIRST
        while True:
            members = _members(garments, group)
            layout, start = building.lay(members, share)
            if layout.length <= shade:
                break
            if len(group) == 1:
                garment, size, copy = group[0]
                raise FabricError(
                    f"its pieces alone take {both_units(layout.length)} of the cloth, and {both_units(shade)} keep one "
                    "shade",
                    "Allow a longer shade, take wider cloth, or give it more seconds",
                    place=f"{garment} ({size}) {copy}",
                )
            group, share = group[:-1], 1 - FIRST
        building.add(members, layout, start)
        filled = building.area_of(members) / (lay.fabric.usable_width * layout.length)
        left = left[len(group) :]


def _members(garments: dict[Garment, list[int]], group: Sequence[Garment]) -> list[int]:
    return sorted(number for garment in group for number in garments[garment])


class _Building:
    """A marker as far as its sections have been laid."""

    def __init__(self, lay: Lay, lay_one: LayOne, seconds: float, started: Started | None) -> None:
        self.whole, self.lay_one, self.seconds, self.started = lay, lay_one, seconds, started
        self.gap = units_up(max(lay.gaps)) / UNITS
        self.areas = [area(wanted.piece.cut_line) for wanted in lay.wanted]
        self.at = 0.0
        self.ends: list[float] = []
        self.found: list[tuple[list[int], Layout, float]] = []
        self.pattern_start: float | None = None

    def area_of(self, members: Sequence[int]) -> float:
        """Of pieces (mm2)."""
        return sum(self.areas[number] for number in members)

    def lay(self, members: list[int], share: float) -> tuple[Layout, float | None]:
        """Some of the pieces, laid where the next section begins."""
        part = Lay(self._fabric(), tuple(self.whole.wanted[number] for number in members), self.whole.pieces)
        seconds = self.seconds * share * self.area_of(members) / sum(self.areas)
        return self.lay_one(part, seconds, self._begun(part))

    def add(self, members: list[int], layout: Layout, start: float | None) -> None:
        """Set a section that was laid behind the others."""
        pattern = self.whole.fabric.pattern
        if self.pattern_start is None and start is not None and pattern is not None:
            self.pattern_start = start
        self.found.append((members, layout, self.at))
        self.ends.append(self.at + layout.length)
        self.at = on_grid(units_up(self.at + layout.length) / UNITS + self.gap)

    def built(self) -> Sectioned:
        """The whole."""
        placed = [
            replace(laid, item=members[laid.item], x=on_grid(laid.x + at))
            for members, layout, at in self.found
            for laid in layout.placed
        ]
        layouts = [layout for _, layout, _ in self.found]
        boxes = sum(layout.boxes_length for layout in layouts) + self.gap * (len(layouts) - 1)
        whole = Layout(
            tuple(sorted(placed, key=lambda laid: laid.item)),
            round(self.ends[-1], 6),
            boxes,
            sum(layout.tries for layout in layouts),
            any(layout.stopped for layout in layouts),
            sum(layout.larger * self.area_of(members) for members, layout, _ in self.found) / sum(self.areas),
        )
        return Sectioned(whole, self.pattern_start, tuple(round(end, 6) for end in self.ends))

    def _fabric(self) -> Fabric:
        """The cloth from where the next section begins."""
        fabric, pattern = self.whole.fabric, self.whole.fabric.pattern
        if pattern is not None and pattern.along:
            known = pattern.from_start if pattern.from_start is not None else self.pattern_start
            if known is not None:
                pattern = replace(pattern, from_start=(known - self.at) % pattern.along)
        return replace(
            fabric,
            flaws=_moved(fabric.flaws, self.at),
            used=_moved(fabric.used, self.at),
            pattern=pattern,
            sections=Sections.MIXED,
            shade=None,
        )

    def _begun(self, part: Lay) -> Started | None:
        """What a marker to go on from lays of a section, moved to the start line."""
        if self.started is None:
            return None
        inside = {(wanted.piece.key, wanted.copy) for wanted in part.wanted}
        own = [one for one in self.started.placements if (one.key, one.copy) in inside]
        if not own:
            return None
        outlines = {piece.key: piece.cut_line for piece in part.pieces}
        left = min(one.x + bounds(posed(outlines[one.key], Pose(one.flipped, one.turn_deg)))[0] for one in own)
        by = units_down(left) / UNITS
        return Started(tuple(replace(one, x=on_grid(one.x - by)) for one in own), self.started.pattern_start)


def _moved(areas: tuple[Area, ...], by: float) -> tuple[Area, ...]:
    """Areas seen from further along the cloth (mm)."""
    return tuple(replace(one, outline=tuple((x - by, y) for x, y in one.outline)) for one in areas)
