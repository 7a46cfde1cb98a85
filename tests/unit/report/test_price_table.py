"""What may be said of a price follows from what is proven of its two lengths."""

import pytest

from cutroom.model.price import Claim, Found, Priced, RulePrice, WidthPrice
from cutroom.report.price_table import price_lines
from cutroom.units import Unit


def found(length: float, least: float) -> Found:
    return Found(length, least, "the longest piece", 2.0, 9)


def a_price(bound: Found, free: Found, money: float | None = 1.5) -> RulePrice:
    return RulePrice("nap", "every piece one way", "pieces either way", bound, free, money)


def lines(priced: Priced) -> list[str]:
    return [" ".join(line.split()) for line in price_lines(priced, Unit.CENTIMETRE, 3)]


def a_cloth(*rules: RulePrice, widths: tuple[WidthPrice, ...] = (), together: RulePrice | None = None) -> Priced:
    return Priced(
        "cord", 1500.0, 4, 10.0, 4, rules[0].bound if rules else found(900, 700), rules, together, widths, None
    )


@pytest.mark.parametrize(
    ("bound", "free", "claim", "words"),
    [
        (found(900, 900), found(800, 800), Claim.EXACT, "10.0 cm, proven"),
        (found(900, 850), found(800, 800), Claim.AT_MOST, "at most 10.0 cm"),
        (found(900, 900), found(800, 750), Claim.AT_LEAST, "at least 10.0 cm"),
        (found(900, 850), found(800, 750), Claim.FOUND, "90.0 cm 80.0 cm 10.0 cm 1.50"),
        (found(900, 900), found(900, 900), Claim.EXACT, "nothing, proven"),
        (found(900, 850), found(900, 750), Claim.FOUND, "nothing found"),
    ],
)
def test_a_price_claims_no_more_than_is_proven(bound: Found, free: Found, claim: Claim, words: str) -> None:
    price = a_price(bound, free)
    assert price.claim is claim
    assert any(words in line for line in lines(a_cloth(price)))


def test_proven_is_said_only_where_the_bound_meets_the_length() -> None:
    assert found(900.04, 900).proven
    assert not found(900.2, 900).proven
    head = lines(a_cloth(a_price(found(900, 900), found(800, 700))))
    assert head[0] == "cord: 90.0 cm of 150.0 cm usable width, 4 plies"
    assert head[1] == "found in 2.0 s, seed 3; proven: none can be shorter (the longest piece)"
    head = lines(a_cloth(a_price(found(900, 850), found(800, 700))))
    assert head[1].endswith("none can be shorter than 85.0 cm (the longest piece), so at most 5.0 cm is left to save")


def test_a_cost_is_never_negative() -> None:
    assert a_price(found(900, 800), found(950, 800)).cost == 0


def test_a_cloth_without_rules_or_prices_says_so() -> None:
    assert "no rule is in force" in lines(a_cloth())
    words = lines(a_cloth(a_price(found(900, 800), found(800, 700), None)))
    assert not any("money" in line for line in words)


def test_two_together_says_when_the_nap_then_costs_nothing() -> None:
    nap = a_price(found(1600, 800), found(800, 800))
    together = RulePrice("together", "", "", found(1600, 800), found(800, 746), 32.0)
    assert any(
        "80.0 cm each, 80.0 cm (32.00) less; nap then costs nothing" in line
        for line in lines(a_cloth(nap, together=together))
    )
    dearer = RulePrice("together", "", "", found(1600, 800), found(900, 746), 28.0)
    assert not any("costs nothing" in line for line in lines(a_cloth(nap, together=dearer)))
    free = a_price(found(900, 800), found(900, 800))
    assert not any("costs nothing" in line for line in lines(a_cloth(free, together=together)))
    none = RulePrice("together", "", "", found(1600, 800), found(1600, 746), 0.0)
    assert any("each one way: nothing saved was found" in line for line in lines(a_cloth(nap, together=none)))


def test_a_roll_narrower_than_the_marker_lists_what_lies_past_its_edge() -> None:
    own = WidthPrice(1500.0, 1460.0, found(900, 800), 12.0, 11.04, 1.38e6, own=True)
    narrow = WidthPrice(
        1485.0, 1445.0, found(950, 800), 11.0, 10.67, 1.44e6, past=("shirt (M), front",) * 2 + ("shirt (M), cuff",)
    )
    cloth = Priced("cord", 1460.0, 1, 12.0, 1, found(900, 800), (), None, (narrow, own), None)
    text = lines(cloth)
    assert "widths, the cheapest garment first (end allowances included):" in text
    (row,) = (line for line in text if line.startswith("148.5 cm"))
    assert row == (
        "148.5 cm 144.5 cm 95.0 cm 2.0 s 10.67 1.5 cm too narrow for the marker above; "
        "past its edge: 2 x shirt (M), front; shirt (M), cuff"
    )
    assert any(line.startswith("150.0 cm 146.0 cm 90.0 cm 2.0 s 11.04 the job's own") for line in text)
