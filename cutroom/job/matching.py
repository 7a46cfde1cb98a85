"""Stripes and checks: from points that meet to where on the pattern each piece must fall.

In the frame of a piece as drawn, a point `m` of a piece that lies at `s` falls on `s + m`. A match says that of several
pieces this is one and the same, up to whole repeats. Along a chain of matches all places follow from one; where nothing
ties a chain to the stripe itself, its first match is laid on it. A piece laid as the other hand, or end for end, sees
the pattern as in a mirror: its place is the negative.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from cutroom.errors import FabricError
from cutroom.model.fabric import Pattern
from cutroom.model.laying import Meet
from cutroom.model.prepared import PreparedPiece

SAME = 1e-6
"""Places on the repeat that are no further apart (mm) are one."""


@dataclass(frozen=True, slots=True)
class OnPattern:
    """What of a piece must fall where on the pattern.

    Attributes:
        point: Along and across in the axes of the piece (mm).
        repeat: Along and across (mm); 0 where nothing need be matched.
        place: Where on the repeat, from a line of the pattern (mm), the piece lying as drawn.
    """

    point: tuple[float, float]
    repeat: tuple[float, float]
    place: tuple[float, float]

    @property
    def may_be_turned(self) -> bool:
        """Turned end for end it falls on the same place."""
        return all(_is_own_image(place, repeat) for place, repeat in zip(self.place, self.repeat, strict=True))

    @property
    def may_be_flipped(self) -> bool:
        """Laid as the other hand it falls on the same place."""
        return _is_own_image(self.place[1], self.repeat[1])


def on_pattern(pieces: Iterable[PreparedPiece], pattern: Pattern | None) -> dict[tuple[str, str, str], OnPattern]:
    """Where on the pattern each piece that is matched must fall, by its key.

    Args:
        pieces: The pieces of a lay.
        pattern: Of the cloth.

    Raises:
        FabricError: Two matches of a garment contradict each other.
    """
    if pattern is None:
        return {}
    garments: dict[tuple[str, str], list[PreparedPiece]] = {}
    for piece in pieces:
        if piece.meets:
            garments.setdefault((piece.garment, piece.size), []).append(piece)
    found = {}
    for members in garments.values():
        along = _places(members, 0, pattern.along, pattern.tolerance)
        across = _places(members, 1, pattern.across, pattern.tolerance)
        for piece in members:
            x, y = along.get(piece.name), across.get(piece.name)
            if x is None and y is None:
                continue
            found[piece.key] = OnPattern(
                (x[0] if x else 0.0, y[0] if y else 0.0),
                (pattern.along if x else 0.0, pattern.across if y else 0.0),
                (x[1] if x else 0.0, y[1] if y else 0.0),
            )
    return found


def _is_own_image(place: float, repeat: float) -> bool:
    return repeat <= 0 or apart(place, -place, repeat) <= SAME


def apart(one: float, two: float, repeat: float) -> float:
    """How far two places are apart on a repeat (mm)."""
    off = (one - two) % repeat
    return min(off, repeat - off)


def _places(
    pieces: Sequence[PreparedPiece], axis: int, repeat: float, tolerance: float
) -> dict[str, tuple[float, float]]:
    """For each piece its point on one axis and where on the repeat it falls."""
    if repeat <= 0:
        return {}
    meets = {piece.name: [meet for meet in piece.meets if (meet.along, meet.across)[axis]] for piece in pieces}
    names = list(dict.fromkeys(meet.name for own in meets.values() for meet in own))
    fixed = {meet.name for own in meets.values() for meet in own if meet.stripe}
    lies: dict[str, float] = {}
    places: dict[str, float] = {}
    for name in [*(one for one in names if one in fixed), *(one for one in names if one not in fixed)]:
        if name not in places:
            places[name] = 0.0
        elif name in fixed and apart(places[name], 0.0, repeat) > tolerance:
            raise _contradiction(pieces, name, apart(places[name], 0.0, repeat))
        _follow(pieces, meets, axis, repeat, tolerance, lies, places)
    return {name: (own[0].at[axis], places[own[0].name]) for name, own in meets.items() if own}


def _follow(
    pieces: Sequence[PreparedPiece],
    meets: dict[str, list[Meet]],
    axis: int,
    repeat: float,
    tolerance: float,
    lies: dict[str, float],
    places: dict[str, float],
) -> None:
    """Everything that follows from the places known so far."""
    growing = True
    while growing:
        growing = False
        for name, own in meets.items():
            known = next((meet for meet in own if meet.name in places), None)
            if known is None:
                continue
            if name not in lies:
                lies[name] = places[known.name] - known.at[axis]
                growing = True
            for meet in own:
                place = (lies[name] + meet.at[axis]) % repeat
                if meet.name not in places:
                    places[meet.name] = place
                    growing = True
                elif apart(place, places[meet.name], repeat) > tolerance:
                    raise _contradiction(pieces, meet.name, apart(place, places[meet.name], repeat), name)


def _contradiction(pieces: Sequence[PreparedPiece], match: str, off: float, piece: str = "") -> FabricError:
    where = f', piece "{piece}"' if piece else ""
    return FabricError(
        f'the match "{match}" cannot be kept with the others: it would be {off:.1f} mm off',
        "Leave out the match that shows least, or move its notch",
        place=f"{pieces[0].garment} ({pieces[0].size}){where}",
    )
