"""`price`: what each rule of a cloth costs, and which width is best."""

import time
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from cutroom.errors import CutroomError
from cutroom.job.going_on import Started, read_started
from cutroom.job.make import Stage, Tell
from cutroom.job.manifest import json_bytes
from cutroom.job.markers import make_marker
from cutroom.job.pieces import Drafted, draft_order, prepare_order, read_order
from cutroom.job.relaxing import Relaxed, relaxations, two_together
from cutroom.job.widths import WORTH, beside, name_of, on_width, past_the_edge, width_of
from cutroom.model.fabric import Fabric, Roll, Spread
from cutroom.model.lay import Lay
from cutroom.model.marker import Marker
from cutroom.model.order import Order
from cutroom.model.price import Found, NextWidth, Priced, RulePrice, WidthPrice
from cutroom.nest.problem import Progress
from cutroom.nest.warm import FIRST_RUN, is_warm, start_warming
from cutroom.plan.lays import plan_lays
from cutroom.report.figures import exact, money, to_buy
from cutroom.units import Unit

BASE = 2
"""Shares of the time for the marker with all rules; every other marker gets one."""
GUESSES = 3
"""Wider cloths that are tried, at most, for the next one worth having."""
BACK = 0.3
"""Part of a share for taking what was found without a rule back to the pieces with it."""


@dataclass(frozen=True, slots=True)
class Pricing:
    """A job, priced.

    Attributes:
        title: What the job is called.
        unit: The unit people see.
        seconds: Time asked for (s).
        seed: Of the searches.
        tries: Arrangements asked for, or None.
        fabrics: Each of its cloths.
        stopped: It was broken off by hand; what had not been begun is left out.
    """

    title: str
    unit: Unit
    seconds: float
    seed: int
    tries: int | None
    fabrics: tuple[Priced, ...]
    stopped: bool


@dataclass(slots=True)
class _Search:
    """The searches of a pricing, and what they are given.

    Attributes:
        file: The job file, for messages.
        seed: Of each.
        tries: For each, or None.
        say: Told where the work is.
        share: Time for one (s).
        stopped: Broken off by hand.
    """

    file: str
    seed: int
    tries: int | None
    say: Tell
    share: float = 0.0
    stopped: bool = False

    def find(self, words: str, lay: Lay, start: Started | None = None, shares: float = 1.0) -> "_Laid":
        """Make the marker of a lay, from another one on where it is given."""
        began = time.monotonic()

        def tell(part: Lay, progress: Progress) -> None:
            self.say(Stage("laying", f"{lay.fabric.name}, {words}", progress, part))

        marker, layout = make_marker(
            lay,
            seconds=self.share * shares,
            seed=self.seed,
            tries=self.tries,
            started=start,
            progress=tell,
            file=self.file,
        )
        self.stopped = self.stopped or layout.stopped
        spent = time.monotonic() - began
        assert marker.bound is not None
        return _Laid(lay, marker, Found(marker.length, marker.bound, marker.bound_by, spent, layout.tries))


@dataclass(frozen=True, slots=True, eq=False)
class _Laid:
    """A marker with what is known of its length."""

    lay: Lay
    marker: Marker
    found: Found

    @property
    def length(self) -> float:
        return self.found.length

    @property
    def start(self) -> Started:
        """It as what another is gone on from."""
        return Started(self.marker.placements, self.marker.pattern_start)


def price(
    job: Path,
    *,
    seconds: float = 60.0,
    seed: int = 1,
    tries: int | None = None,
    tell: Tell | None = None,
) -> Pricing:
    """Lay the markers of a job, then lay them again with one rule relaxed at a time and on other widths.

    Every marker without a rule is looked for from the one with it on, so that it is never longer. What turns up on the
    way and keeps the rule is taken for the marker with it as well.

    Args:
        job: The job file.
        seconds: Time for all of it (s).
        seed: Of the searches.
        tries: Arrangements to try for each marker, whatever the clock says.
        tell: Told where the work is.

    Raises:
        CutroomError: The job cannot be laid.
    """
    say = tell or (lambda _: None)
    start_warming()
    say(Stage("reading the job"))
    order = read_order(job)
    say(Stage("drafting"))
    drafted = draft_order(order)
    say(Stage("preparing the pieces"))
    lays = plan_lays(order.garments, order.fabrics, prepare_order(order, drafted))
    started = read_started(order, ())
    if not is_warm():
        say(Stage(FIRST_RUN))
    search = _Search(order.file, seed, tries, say)
    priced = []
    for lay in lays:
        if search.stopped:
            break
        start = started.get(lay.fabric.name)
        priced.append(_price_lay(order, drafted, lay, start, search, seconds / len(lays)))
    return Pricing(order.title, order.unit, seconds, seed, tries, tuple(priced), search.stopped)


def pricing_bytes(pricing: Pricing) -> bytes:
    """A pricing as JSON; lengths in mm, money for the whole lay, of widths for one garment."""
    return json_bytes(
        {
            "title": pricing.title,
            "seconds": pricing.seconds,
            "seed": pricing.seed,
            "tries": pricing.tries,
            "stopped": pricing.stopped,
            "fabrics": [_fabric(priced) for priced in pricing.fabrics],
        }
    )


def _fabric(priced: Priced) -> dict[str, object]:
    wider = priced.next_width
    return {
        "fabric": priced.fabric,
        "width_mm": priced.width,
        "plies": priced.plies,
        "price_per_m": priced.price,
        "garments": priced.garments,
        "marker": _found(priced.found),
        "rules": [_rule(one) for one in priced.rules],
        "two_together": None if priced.together is None else _rule(priced.together),
        "left_out": list(priced.left_out),
        "widths": [
            {
                "width_mm": row.width,
                "usable_mm": row.usable,
                "price_per_m": row.price,
                "marker": None if row.found is None else _found(row.found),
                "money_each": row.cost,
                "cloth_each_mm2": None if row.cloth is None else round(row.cloth, 3),
                "past_its_edge": list(row.past),
                "refused": row.refused,
                "own": row.own,
            }
            for row in priced.widths
        ],
        "next_width": None
        if wider is None
        else {
            "piece": wider.piece,
            "usable_mm": wider.usable,
            "width_mm": wider.width,
            "marker": _found(wider.found),
        },
    }


def _found(found: Found) -> dict[str, object]:
    return {
        "length_mm": round(found.length, 6),
        "bound_mm": round(found.least, 6),
        "bound_by": found.least_by,
        "proven": found.proven,
        "seconds": round(found.seconds, 3),
        "tries": found.tries,
    }


def _rule(one: RulePrice) -> dict[str, object]:
    return {
        "rule": one.rule,
        "now": one.now,
        "relaxed": one.relaxed,
        "with_it": _found(one.bound),
        "without_it": _found(one.free),
        "cost_mm": round(one.cost, 6),
        "cost_money": one.money,
        "claim": one.claim,
    }


def _price_lay(
    order: Order, drafted: Drafted, lay: Lay, started: Started | None, search: _Search, seconds: float
) -> Priced:
    fabric = lay.fabric
    locked = sum(one.locked for one in started.placements) if started is not None else 0
    relaxed = tuple(relaxations(order, drafted, lay, locked=locked))
    together = None if locked else two_together(lay)
    rolls = _rolls(lay)
    search.share = seconds / (BASE + len(relaxed) + (together is not None) + len(rolls) + 1)
    base = search.find("all rules", lay, started, BASE)
    tried = _on_rolls(base, rolls, search)
    base = _shorter(base, tried)
    freed: list[_Laid] = []
    for one in relaxed:
        if search.stopped:
            break
        base, free = _without(one, base, search)
        freed.append(free)
    twice = None if together is None or search.stopped else _freely(together, base, search)
    garments = sum(
        garment.copies
        for garment in order.garments
        if any((piece.garment, piece.size) == (garment.name, garment.wearer) for piece in lay.pieces)
    )
    return Priced(
        fabric=fabric.name,
        width=fabric.usable_width,
        plies=fabric.plies,
        price=fabric.price,
        garments=garments,
        found=base.found,
        rules=tuple(_price_of(one, base, free) for one, free in zip(relaxed, freed, strict=False)),
        together=None if together is None or twice is None else _price_of(together, base, twice),
        widths=_compared(base, rolls, tried, garments),
        next_width=_next_width(base, search),
        left_out=tuple(f"{one.rule} ({one.relaxed})" for one in relaxed[len(freed) :]),
    )


def _freely(one: Relaxed, base: _Laid, search: _Search, shares: float = 1.0) -> _Laid:
    """The marker without a rule, from the one with it on."""
    words = f"{one.rule}: {one.relaxed}"
    start = one.start(base.marker)
    return search.find(words, one.lay, Started(start, base.marker.pattern_start) if start else None, shares)


def _without(one: Relaxed, base: _Laid, search: _Search) -> tuple[_Laid, _Laid]:
    """The marker with all rules, bettered where what is found without one keeps it, and the marker without it."""
    free = _freely(one, base, search, 1.0 - BACK)
    if (
        one.one_to_one
        and one.rule != "locks"
        and free.length < base.length
        and not (base.found.proven or search.stopped)
    ):
        try:
            again = search.find("all rules", base.lay, free.start, BACK)
        except CutroomError:  # some piece lies as the rule forbids
            return base, free
        if again.length < base.length:
            return again, free
    return base, free


def _price_of(one: Relaxed, base: _Laid, free: _Laid) -> RulePrice:
    """What a rule costs: what lies under it lies without it as well, so that the length without it is never more."""
    found = free.found
    if one.garments > 1:
        found = replace(found, length=found.length / one.garments, least=found.least / one.garments)
    if one.holds and found.length > base.length:
        found = replace(found, length=base.length)
    fabric = base.lay.fabric
    saved = max(Fraction(0), exact(base.length) - exact(found.length)) * fabric.plies
    cost = None if fabric.price is None else float(money(fabric.price, saved))
    return RulePrice(one.rule, one.now, one.relaxed, base.found, found, cost)


def _rolls(lay: Lay) -> tuple[Roll, ...]:
    """The other widths of a lay's cloth, narrow ones first."""
    others = {roll.width: roll for roll in lay.fabric.widths if roll.width != lay.fabric.width}
    return tuple(others[width] for width in sorted(others))


def _on_rolls(base: _Laid, rolls: tuple[Roll, ...], search: _Search) -> dict[float, _Laid | str]:
    """The markers on other widths, or why there is none; each goes on from that of the width below."""
    fabric = base.lay.fabric
    tried: dict[float, _Laid | str] = {}
    below: _Laid | None = None
    for roll in rolls:
        if search.stopped:
            break
        if roll.width > fabric.width and (below is None or below.length > base.length):
            below = base
        lay = replace(base.lay, fabric=on_width(fabric, roll.width, roll.price))
        start = None if below is None or not _grows(fabric) else below.start
        try:
            below = search.find(f"{roll.width:g} mm wide", lay, start)
        except CutroomError as fault:
            place = fault.place.removeprefix(f'fabric "{fabric.name}", ')
            tried[roll.width] = f"{place}: {fault.what}"
        else:
            tried[roll.width] = below
    return tried


def _grows(fabric: Fabric) -> bool:
    """What lies on it lies on wider cloth as well: not so on a tube, whose far fold moves."""
    return fabric.spread is not Spread.TUBULAR


def _shorter(base: _Laid, tried: dict[float, _Laid | str]) -> _Laid:
    """The job's own marker, or that of a narrower roll when it is shorter: it lies on wider cloth as well."""
    narrower = [one for one in tried.values() if isinstance(one, _Laid) and one.marker.width < base.marker.width]
    best = min(narrower, key=_length, default=base)
    if best.length >= base.length or not _grows(base.lay.fabric):
        return base
    marker = replace(best.marker, fabric=base.lay.fabric)
    return _Laid(base.lay, marker, replace(base.found, length=best.length))


def _compared(
    base: _Laid, rolls: tuple[Roll, ...], tried: dict[float, _Laid | str], garments: int
) -> tuple[WidthPrice, ...]:
    """The widths, the cheapest garment first; by cloth where there are no prices; what does not go comes last."""
    if not tried:
        return ()
    fabric = base.lay.fabric
    rows = [_row(fabric, Roll(fabric.width, fabric.price), base, garments, own=True)]
    for roll in rolls[: len(tried)]:
        laid = tried[roll.width]
        if isinstance(laid, _Laid) and roll.width > fabric.width and _grows(fabric) and laid.length > base.length:
            laid = replace(laid, found=replace(laid.found, length=base.length))
        row = _row(fabric, roll, laid, garments)
        if row.usable < base.marker.width:
            row = replace(row, past=past_the_edge(base.marker, row.usable))
        rows.append(row)
    priced = all(row.cost is not None for row in rows if row.found is not None)

    def dearness(row: WidthPrice) -> tuple[bool, float]:
        amount = row.cost if priced else row.cloth
        return amount is None, amount or 0.0

    return tuple(sorted(rows, key=dearness))


def _length(laid: _Laid) -> float:
    return laid.length


def _row(fabric: Fabric, roll: Roll, laid: _Laid | str, garments: int, *, own: bool = False) -> WidthPrice:
    usable = on_width(fabric, roll.width, roll.price).usable_width
    if isinstance(laid, str):
        return WidthPrice(roll.width, usable, None, roll.price, None, None, refused=laid, own=own)
    needed = to_buy(laid.length, fabric.end_allowance, fabric.plies).needed / garments
    cost = None if roll.price is None else float(money(roll.price, needed))
    return WidthPrice(roll.width, usable, laid.found, roll.price, cost, float(needed) * roll.width, own=own)


def _next_width(base: _Laid, search: _Search) -> NextWidth | None:
    """The next width on which another piece goes beside the others, when a marker without it behind them is found."""
    fabric = base.lay.fabric
    for guess in beside(base.lay, base.marker)[:GUESSES]:
        if search.stopped:
            break
        width = width_of(fabric, guess.usable)
        lay = replace(base.lay, fabric=on_width(fabric, width, None))
        wider = search.find(f"{width:g} mm wide", lay, base.start if _grows(fabric) else None, 1 / GUESSES)
        if wider.length <= guess.length + WORTH:
            return NextWidth(name_of(guess.piece), guess.usable, width, wider.found)
    return None
