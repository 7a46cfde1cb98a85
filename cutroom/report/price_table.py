"""What the rules of a cloth cost, in words for the person at the table."""

from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction

from cutroom.model.price import Claim, Found, Priced, RulePrice, WidthPrice
from cutroom.report.figures import say_money
from cutroom.units import Unit, length_words

NOTHING = 0.05
"""A difference of less than this (mm) is none."""


def price_lines(priced: Priced, unit: Unit, seed: int) -> Iterator[str]:
    """The prices of one cloth, line by line.

    Args:
        priced: The cloth.
        unit: The unit people see.
        seed: Of the searches.
    """

    def words(length: float) -> str:
        return length_words(length, unit)

    found = priced.found
    plies = "" if priced.plies == 1 else f", {priced.plies} plies"
    yield f"{priced.fabric}: {words(found.length)} of {words(priced.width)} usable width{plies}"
    yield f"  found in {_seconds(found)}, seed {seed}; {_least(found, unit)}"
    yield ""
    if priced.rules:
        rows = [_rule(one, unit) for one in priced.rules]
        head = "rule", "says", "instead", "with it", "without", "it costs", "money"
        yield from _table([head, *rows])
        yield f"  without a rule: found from the marker with it, in {_each(priced.rules)}, seed {seed}"
        if any(one.cost > NOTHING and one.claim is not Claim.EXACT for one in priced.rules):
            yield "  what is not called proven may change with more seconds"
    elif not priced.left_out:
        yield "  no rule is in force"
    if priced.left_out:
        yield f"  broken off before: {', '.join(priced.left_out)}"
    yield from _together(priced, unit)
    if priced.widths:
        yield ""
        what = "cheapest garment" if all(row.cost is not None for row in priced.widths if row.found) else "least cloth"
        yield f"  widths, the {what} first (end allowances included):"
        names = "width", "usable", "marker", "found in", "money each", ""
        yield from _table([names, *(_width(row, unit, priced.width) for row in priced.widths)])
    if priced.next_width is not None:
        wider = priced.next_width
        yield ""
        less = words(found.length - wider.found.length)
        yield (
            f"  from {words(wider.usable)} usable ({words(wider.width)} edge to edge) on {wider.piece} goes beside the "
            f"rest: {words(wider.found.length)}, {less} less, found in {_seconds(wider.found)}"
        )


def _least(found: Found, unit: Unit) -> str:
    if found.proven:
        return f"proven: none can be shorter ({found.least_by})"
    least, left = length_words(found.least, unit), length_words(found.length - found.least, unit)
    return f"none can be shorter than {least} ({found.least_by}), so at most {left} is left to save"


def _rule(one: RulePrice, unit: Unit) -> tuple[str, ...]:
    lengths = [length_words(found.length, unit) for found in (one.bound, one.free)]
    if one.cost <= NOTHING:
        cost = "nothing, proven" if one.bound.proven and one.claim is Claim.EXACT else "nothing found"
        return one.rule, one.now, one.relaxed, *lengths, cost, ""
    cost = length_words(one.cost, unit)
    cost = {
        Claim.EXACT: f"{cost}, proven",
        Claim.AT_MOST: f"at most {cost}",
        Claim.AT_LEAST: f"at least {cost}",
        Claim.FOUND: cost,
    }[one.claim]
    return one.rule, one.now, one.relaxed, *lengths, cost, _money(one.money)


def _together(priced: Priced, unit: Unit) -> Iterator[str]:
    one = priced.together
    if one is None:
        return
    if one.cost <= NOTHING:
        yield "  two garments cut together, each one way: nothing saved was found"
        return
    nap = max((rule for rule in priced.rules if rule.rule == "nap"), key=lambda rule: rule.cost, default=None)
    free = nap is not None and nap.cost > NOTHING and one.free.length <= nap.free.length + NOTHING
    nothing = "; nap then costs nothing" if free else ""
    money = "" if one.money is None else f" ({_money(one.money)})"
    yield (
        f"  two garments cut together, each one way: {length_words(one.free.length, unit)} each, "
        f"{length_words(one.cost, unit)}{money} less{nothing}; found in {_seconds(one.free)}"
    )


def _width(row: WidthPrice, unit: Unit, own: float) -> tuple[str, ...]:
    notes = ["the job's own"] if row.own else []
    if row.usable < own - NOTHING:
        notes.append(f"{length_words(own - row.usable, unit)} too narrow for the marker above")
        past = [name if times == 1 else f"{times} x {name}" for name, times in Counter(row.past).items()]
        notes.append(f"past its edge: {'; '.join(past)}" if past else "no piece of it lies past its edge")
    sizes = length_words(row.width, unit), length_words(row.usable, unit)
    if row.found is None:
        return *sizes, "none", "", "", "; ".join([*notes, row.refused])
    found = length_words(row.found.length, unit) + (", proven" if row.found.proven else "")
    return *sizes, found, _seconds(row.found), _money(row.cost), "; ".join(notes)


def _money(amount: float | None) -> str:
    return "" if amount is None else say_money(Fraction(amount))


def _seconds(found: Found) -> str:
    return f"{found.seconds:.1f} s"


def _each(rules: Sequence[RulePrice]) -> str:
    spent = sorted(one.free.seconds for one in rules)
    low, high = f"{spent[0]:.1f}", f"{spent[-1]:.1f}"
    return f"{low} s each" if low == high else f"{low} to {high} s"


def _table(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Rows in columns, the first row being their heads; columns with nothing in them are left out."""
    kept = [column for column in range(len(rows[0])) if any(row[column] for row in rows[1:])]
    wide = {column: max(len(row[column]) for row in rows) for column in kept}
    for row in rows:
        yield "  " + "  ".join(row[column].ljust(wide[column]) for column in kept).rstrip()
