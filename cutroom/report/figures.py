"""The figures of a lay, worked out exactly: what to buy is rounded up, never to the nearest."""

from dataclasses import dataclass
from fractions import Fraction

from cutroom.geometry.polygon import area
from cutroom.model.fabric import Fabric
from cutroom.model.marker import Marker

METRE_STEP = Fraction(100)
"""Shops that sell by the metre cut by 10 cm (mm; common practice, no source)."""
LEAST_SAID = 0.01
"""Less than this is not told as something that a marker could save (mm)."""
YARD = Fraction(9144, 10)
YARD_STEP = YARD / 8
"""Shops that sell by the yard cut by the eighth (mm; common practice, no source)."""


@dataclass(frozen=True, slots=True)
class ToBuy:
    """Cloth to buy for one lay.

    Attributes:
        ply: Marker and both end allowances (mm): what one ply is cut to.
        plies: Plies of the lay.
        needed: All plies (mm), before rounding.
        metric: Rounded up to 10 cm (mm).
        yards: Rounded up to 1/8 yd (yards).
    """

    ply: Fraction
    plies: int
    needed: Fraction
    metric: Fraction
    yards: Fraction


def exact(length: float) -> Fraction:
    """A length (mm) as a fraction, to the nearest 0.001 mm, so that no float's last digit buys an eighth more."""
    return Fraction(round(length * 1000), 1000)


def round_up(length: Fraction, step: Fraction) -> Fraction:
    """The least whole number of steps that is not less than a length (mm)."""
    return -(-length // step) * step


def ply_step(fabric: Fabric) -> float:
    """What each of several plies is rounded up to (mm), so that all begin alike: the repeat along the cloth; else 0."""
    return fabric.pattern.along if fabric.pattern is not None and fabric.plies > 1 else 0.0


def to_buy(marker_length: float, end_allowance: float, plies: int, step: float = 0.0) -> ToBuy:
    """Cloth to buy for a lay.

    Args:
        marker_length: Length of the marker (mm).
        end_allowance: Extra cloth at each end of every ply (mm).
        plies: How many.
        step: What a ply is rounded up to (mm), see `ply_step`; 0 for nothing.
    """
    ply = exact(marker_length) + 2 * exact(end_allowance)
    if step:
        ply = round_up(ply, exact(step))
    needed = ply * plies
    return ToBuy(ply, plies, needed, round_up(needed, METRE_STEP), round_up(needed, YARD_STEP) / YARD)


def bought_for(marker: Marker) -> ToBuy:
    """Cloth to buy for a lay of a marker, its plies in whole repeats where they must begin alike."""
    return to_buy(marker.length, marker.fabric.end_allowance, marker.fabric.plies, ply_step(marker.fabric))


def say_yards(yards: Fraction) -> str:
    """Yards in eighths: `2 3/8 yd`."""
    whole, rest = divmod(yards, 1)
    return (
        f"{' '.join(part for part in (f'{whole}' if whole or not rest else '', f'{rest}' if rest else '') if part)} yd"
    )


def say_metres(length: Fraction) -> str:
    """A length (mm) in metres to the shop's step: `2.40 m`."""
    return f"{float(length / 1000):.2f} m"


def not_enough(buy: ToBuy) -> str:
    """The eighth below, which would be too short: `7/8 yd`; empty when that is nothing."""
    below = buy.yards - Fraction(1, 8)
    return say_yards(below) if below > 0 else ""


def areas_laid(marker: Marker) -> float:
    """Area inside the cut lines of all placements (mm2), as they lie: half a fold piece counts as its half."""
    each = {piece.key: area(piece.cut_line) for piece in marker.pieces}
    return sum(each[placement.key] for placement in marker.placements)


def utilisation(marker: Marker) -> float:
    """Area inside the cut lines over usable width times length, 0 to 1; ends and selvedges are not in it."""
    whole = marker.width * marker.length
    return areas_laid(marker) / whole if whole > 0 else 0.0


def saving_left(marker: Marker) -> Fraction:
    """What any marker of the same pieces by the same rules could still save of the length (mm), at most.

    Nothing where no more than LEAST_SAID is left, or nothing is proven.
    """
    left = Fraction(0) if marker.bound is None else exact(marker.length) - exact(marker.bound)
    return left if left > exact(LEAST_SAID) else Fraction(0)


def money(price: float, length: Fraction) -> Fraction:
    """What a length (mm) costs at a price per metre, to the hundredth, halves up."""
    cents = Fraction(repr(price)) * length / 1000 * 100
    return Fraction((cents + Fraction(1, 2)) // 1, 100)


def say_money(amount: Fraction) -> str:
    """Money with two places."""
    return f"{float(amount):.2f}"
