"""What a rule costs, to the figures that arithmetic gives: common practice, no source; worked out beside each test."""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from cutroom.cli import main
from cutroom.job.markers import make_marker
from cutroom.job.pricing import price as job_price
from cutroom.job.pricing import pricing_bytes
from cutroom.nest.problem import Layout
from cutroom.report.price_table import price_lines
from tests.jobs import GORES, SKIRT, job_text, rectangle

CLOTH = """
width = {width}
selvedge = 1
spread = "{spread}"
face = "up"
nap = "none"
gap = "1/4"
end_allowance = "0.4"
shrinkage = "not tested"
"""
CORDUROY = """
width = {width}
spread = "open"
face = "up"
nap = "{nap}"
shrinkage = "not tested"
price = 10
"""
PANELS = rectangle("front", "single", "72", "40") + rectangle("back", "single", "74", "40")
HIP = """
[[styles.it.matches]]
name = "hip"
points = [{ piece = "front", at = [40, 20] }, { piece = "back", at = ["41.5", 20] }]
"""
STRIPED = """
width = {width}
spread = "open"
face = "up"
nap = "none"
gap = 0.5
shrinkage = "not tested"
price = 20
{pattern}
"""
STRIPE = 'pattern = { along = 7, symmetric = false, tolerance = "0.1 mm" }'


@cache
def priced(text: str, tries: int) -> tuple[dict[str, Any], str]:
    """The only cloth of a job: its figures, and its words with single spaces."""
    Path("job.toml").write_text(text, encoding="utf-8")
    pricing = job_price(Path("job.toml"), tries=tries)
    (cloth,) = pricing.fabrics
    (fabric,) = json.loads(pricing_bytes(pricing))["fabrics"]
    return fabric, " ".join(" ".join(price_lines(cloth, pricing.unit, pricing.seed)).split())


def price(text: str, *, tries: int = 25) -> dict[str, Any]:
    return priced(text, tries)[0]


def said(text: str, *, tries: int = 25) -> str:
    return priced(text, tries)[1]


def rule(fabric: dict[str, Any], name: str, relaxed: str = "") -> dict[str, Any]:
    (found,) = (one for one in fabric["rules"] if one["rule"] == name and relaxed in one["relaxed"])
    assert isinstance(found, dict)
    return found


def test_the_fold_of_a_skirt_costs_an_inch_and_three_quarters() -> None:
    """Opened out: 26 + 13 1/2 + 13 1/2 + 3 1/2 + 3 x 1/4 = 57 1/4 of 58 side by side, 30 long; folded 31 3/4."""
    fold = rule(price(job_text(SKIRT, CLOTH.format(width=60, spread="folded") + "price = 12")), "fold")
    assert fold["with_it"]["length_mm"] == pytest.approx(31.75 * 25.4, abs=1e-9)
    assert fold["without_it"]["length_mm"] == pytest.approx(30.0 * 25.4, abs=1e-9)
    assert fold["cost_mm"] == pytest.approx(1.75 * 25.4, abs=1e-9)
    assert fold["cost_money"] == pytest.approx(0.53)  # 12 a metre times 0.04445 m = 0.5334


def test_the_nap_of_a_gored_skirt_costs_80_cm_at_most() -> None:
    """Turned end for end by turns, seven gores are 6 x 20 + 30 = 150 wide: one row. All one way they need two."""
    fabric = price(job_text(GORES, CORDUROY.format(width=150, nap="one-way"), unit="cm"))
    nap = rule(fabric, "nap")
    assert nap["without_it"]["length_mm"] == pytest.approx(800.0)
    assert nap["without_it"]["proven"]
    assert 800.0 < nap["with_it"]["length_mm"] <= 1600.0
    assert nap["cost_mm"] == pytest.approx(nap["with_it"]["length_mm"] - 800.0)
    assert nap["cost_mm"] == pytest.approx(800.0)
    assert nap["cost_money"] == pytest.approx(8.0)
    assert nap["claim"] in {"at most", "exact"}


def test_two_gored_skirts_cut_together_pay_nothing_for_the_nap() -> None:
    """Fourteen gores, seven each way, make two full rows: 160 for both."""
    fabric = price(job_text(GORES, CORDUROY.format(width=150, nap="one-way"), unit="cm"))
    assert fabric["two_together"]["without_it"]["length_mm"] == pytest.approx(800.0)
    words = said(job_text(GORES, CORDUROY.format(width=150, nap="one-way"), unit="cm"))
    assert "two garments cut together, each one way: 80.0 cm each, 80.0 cm (8.00) less; nap then costs nothing" in words
    both = price(
        job_text(GORES, CORDUROY.format(width=150, nap="by-garment"), unit="cm", copies=2)
    )  # fmt: skip
    nap = rule(both, "nap", "either way")
    assert nap["with_it"]["length_mm"] == pytest.approx(1600.0)
    assert nap["cost_mm"] == 0
    assert both["two_together"] is None


def test_matching_a_cross_stripe_costs_what_the_remainders_say() -> None:
    """One behind the other: 72 + 0.5 + 74 = 146.5. The hips on the stripe, which lies 6.5 (mod 7) from the start line.

    The back then begins at 0 (mod 7) and the front at 1.5 (mod 7). Behind the back the front's first place is 78.5:
    150.5. Behind the front, at 1.5, the back's is 77: 151.
    """
    pattern = 'pattern = { along = 7, symmetric = false, tolerance = "0.1 mm", from_start = 6.5 }'
    text = job_text(PANELS + HIP + "stripe = true\n", STRIPED.format(width=45, pattern=pattern), unit="cm")
    matching = rule(price(text, tries=80), "matching")
    assert matching["with_it"]["length_mm"] == pytest.approx(1505.0, abs=0.1)
    assert matching["without_it"]["length_mm"] == pytest.approx(1465.0, abs=0.01)
    assert matching["cost_mm"] == pytest.approx(40.0, abs=0.1)
    assert matching["cost_money"] == pytest.approx(0.8)
    assert matching["claim"] == "at most"


def test_where_the_marker_may_begin_anywhere_in_the_stripe_matching_costs_less() -> None:
    """The front first, at 0: the back must begin at 5.5 (mod 7), first at 75.5: 149.5, a centimetre less than above."""
    matching = rule(price(job_text(PANELS + HIP, STRIPED.format(width=45, pattern=STRIPE), unit="cm")), "matching")
    assert matching["with_it"]["length_mm"] == pytest.approx(1495.0, abs=0.1)
    assert matching["cost_mm"] == pytest.approx(30.0, abs=0.1)


def test_side_by_side_matching_costs_nothing() -> None:
    fabric = price(job_text(PANELS + HIP, STRIPED.format(width=81, pattern=STRIPE), unit="cm"))
    matching = rule(fabric, "matching")
    assert matching["with_it"]["length_mm"] == pytest.approx(740.0, abs=0.05)
    assert matching["cost_mm"] == pytest.approx(0.0, abs=0.05)


def test_a_stripe_that_has_a_way_of_its_own_is_priced_by_itself() -> None:
    text = job_text(GORES, CORDUROY.format(width=150, nap="none") + STRIPE, unit="cm")
    way = rule(price(text), "pattern")
    assert way["without_it"]["length_mm"] == pytest.approx(800.0)
    assert way["cost_mm"] == pytest.approx(800.0)


def test_a_flaw_and_the_end_of_the_table_are_priced() -> None:
    """Squares of 40 on cloth 45 wide take 80. A flaw at 38 to 42 moves both behind it, a table of 70 one to 70."""
    squares = rectangle("yoke", "pair", "40", "40")
    plain = 'width = 45\nspread = "open"\nface = "up"\nnap = "none"\nshrinkage = "not tested"\n'
    flawed = price(
        job_text(squares, plain + "flaws = [{ along = [38, 42], across = [10, 30] }]\n", unit="cm")
    )  # fmt: skip
    flaw = rule(flawed, "flaws")
    assert flaw["with_it"]["length_mm"] == pytest.approx(1220.0)
    assert flaw["cost_mm"] == pytest.approx(420.0)
    assert flaw["claim"] == "at most"
    table = rule(price(job_text(squares, plain + "table = 70\n", unit="cm")), "table")
    assert table["with_it"]["length_mm"] == pytest.approx(1100.0)
    assert table["cost_mm"] == pytest.approx(300.0)


def test_sections_and_shade_are_priced() -> None:
    """Two pieces of 40 x 20 lie side by side on 45. Three of a size take 80, two sizes 160; all six mixed take 120."""
    three = rectangle("yoke", "single", "40", "20").replace('cut = "single"', 'cut = "single"\nquantity = 3')
    plain = 'width = 45\nspread = "open"\nface = "up"\nnap = "none"\nshrinkage = "not tested"\n'
    sizes = job_text(three, plain + 'sections = "sizes"\n', unit="cm").replace(
        "[sizes.one]", "[sizes.one]\n[sizes.two]"
    )
    again = '[[garments]]\nname = "it"\nstyle = "it"\nfor = "two"\nfabric = "cloth"\n[fabrics.cloth]'
    sections = rule(price(sizes.replace("[fabrics.cloth]", again)), "sections")
    assert sections["with_it"]["length_mm"] == pytest.approx(1600.0)
    assert sections["cost_mm"] == pytest.approx(400.0)
    shade = rule(price(job_text(three, plain + "shade = 85\n", unit="cm", copies=2)), "shade")
    assert shade["without_it"]["length_mm"] == pytest.approx(1200.0)
    assert shade["cost_mm"] >= 0


def test_a_part_opened_out_for_singles_is_priced_by_itself() -> None:
    """The front lies on the fold, 20 long, the single yoke behind it on cloth opened out: only the front has a fold."""
    pieces = rectangle("front", "fold", "20", "10", fold=True) + rectangle("yoke", "single", "10", "15").replace(
        'points = [["10", "15"], [0, "15"]]', 'points = [["10", "15"], [0, "10"]]'
    ).replace('points = [[0, "15"], [0, 0]]', 'points = [[0, "10"], [0, 0]]')
    cloth = 'width = 60\nspread = "folded"\nnap = "none"\nshrinkage = "not tested"\nopen_part = true\n'
    Path("job.toml").write_text(job_text(pieces, cloth, unit="cm"), encoding="utf-8")
    folded, opened = job_price(Path("job.toml"), tries=6).fabrics
    assert [one.rule for one in folded.rules] == ["fold"]
    assert folded.found.length == folded.rules[0].free.length == pytest.approx(200.0)
    assert "fold" not in [one.rule for one in opened.rules]
    assert opened.found.length == pytest.approx(100.0)


def test_only_rules_in_force_are_listed() -> None:
    fabric = price(job_text(GORES, CORDUROY.format(width=150, nap="none"), unit="cm"))
    assert {one["rule"] for one in fabric["rules"]} == {"tilt", "grain"}
    assert all(one["cost_mm"] >= 0 for one in fabric["rules"])
    assert fabric["two_together"] is None
    assert fabric["widths"] == []


def test_words_say_how_long_it_was_looked_for_and_what_is_proven() -> None:
    words = said(job_text(GORES, CORDUROY.format(width=150, nap="one-way"), unit="cm"))
    assert "cloth: 160.0 cm of 150.0 cm usable width found in " in words
    assert "s, seed 1; none can be shorter than" in words
    assert "nap every piece one way pieces either way 160.0 cm 80.0 cm at most 80.0 cm 8.00" in words
    assert "without a rule: found from the marker with it, in " in words


def test_the_same_tries_and_seed_give_the_same_lengths() -> None:
    text = job_text(SKIRT, CLOTH.format(width=60, spread="folded"))

    def lengths() -> list[float]:
        priced.cache_clear()
        return [one["without_it"]["length_mm"] for one in price(text, tries=6)["rules"]]

    assert lengths() == lengths()


def test_the_command_prints_words_or_figures(capsys: pytest.CaptureFixture[str]) -> None:
    Path("job.toml").write_text(job_text(SKIRT, CLOTH.format(width=60, spread="folded")), encoding="utf-8")
    assert main(["price", "job.toml", "--tries", "2"]) == 0
    assert capsys.readouterr().out.startswith(
        "cloth: 31 3/4 in (806.5 mm) of 29 in (736.6 mm) usable width\n  found in "
    )
    assert main(["price", "job.toml", "--seconds", "1", "--seed", "7", "--json"]) == 0
    figures = json.loads(capsys.readouterr().out)
    assert (figures["seconds"], figures["seed"], figures["stopped"]) == (1.0, 7, False)
    assert not list(Path().glob("*/*"))  # nothing is written


def test_broken_off_by_hand_it_says_what_it_has_and_what_it_has_not(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    laid: list[Layout] = []

    def broken_off(*given: Any, **named: Any) -> tuple[Any, Layout]:
        marker, layout = make_marker(*given, **named)
        laid.append(replace(layout, stopped=len(laid) == 1))  # Ctrl-C while the first rule is relaxed
        return marker, laid[-1]

    monkeypatch.setattr("cutroom.job.pricing.make_marker", broken_off)
    Path("job.toml").write_text(job_text(SKIRT, CLOTH.format(width=60, spread="folded")), encoding="utf-8")
    assert main(["price", "job.toml", "--tries", "6"]) == 130
    words = " ".join(capsys.readouterr().out.split())
    assert len(laid) == 2
    assert "gap 1/4 in (6.3 mm) between pieces none" in words
    assert (
        "broken off before: tilt (tilted up to 2° off it), grain (across it as well), fold (opened out, single)"
        in words
    )
    assert "Stopped by hand: what had not been begun is left out." in words


def test_what_cannot_be_laid_is_refused_with_its_cloth(capsys: pytest.CaptureFixture[str]) -> None:
    Path("job.toml").write_text(job_text(SKIRT, CLOTH.format(width=20, spread="open")), encoding="utf-8")
    assert main(["price", "job.toml", "--tries", "1"]) == 1
    assert 'job.toml: fabric "cloth", piece "it (one), front": it needs a width of' in capsys.readouterr().err
    assert main(["price", "job.toml", "--tries", "0"]) == 2
    assert main(["price", "job.toml", "--seconds", "-1"]) == 2


def test_the_best_width_is_said_and_the_table_can_be_worked_out_by_hand() -> None:
    """57 usable is 1/4 in too narrow for all side by side, so another width wins although it costs more a metre."""
    widths = "widths = [{ width = 60, price = 12.5 }, { width = 45, price = 9 }, { width = 20, price = 6 }]\nprice = 12"
    fabric = price(job_text(SKIRT, CLOTH.format(width=59, spread="open") + widths))
    first, second, third, last = fabric["widths"]
    assert [row["width_mm"] for row in (first, second, third, last)] == pytest.approx(
        [60 * 25.4, 59 * 25.4, 45 * 25.4, 20 * 25.4]
    )
    assert first["marker"]["length_mm"] == pytest.approx(30 * 25.4)
    assert first["money_each"] == pytest.approx(round(12.5 * 30.8 * 0.0254, 2))
    assert second["own"]
    assert second["marker"]["length_mm"] == pytest.approx(31.75 * 25.4)
    assert second["money_each"] == pytest.approx(round(12 * 32.55 * 0.0254, 2))
    assert third["past_its_edge"]
    assert third["marker"]["length_mm"] > second["marker"]["length_mm"]
    assert "it needs a width of 660.40 mm and has 457.20" in last["refused"]


def test_wide_enough_by_a_quarter_of_an_inch_the_job_s_own_width_is_best() -> None:
    widths = "widths = [{ width = 60, price = 12.5 }]\nprice = 12"
    fabric = price(job_text(SKIRT, CLOTH.format(width=59.25, spread="open") + widths))
    assert fabric["widths"][0]["own"]
    assert fabric["widths"][0]["marker"]["length_mm"] == pytest.approx(30 * 25.4)
    assert fabric["next_width"] is None


def test_the_next_width_for_another_piece_side_by_side_is_named() -> None:
    fabric = price(job_text(SKIRT, CLOTH.format(width=59, spread="open")))
    wider = fabric["next_width"]
    assert wider["piece"] == "it (one), waistband"
    assert wider["usable_mm"] == pytest.approx(57.25 * 25.4, abs=0.1)
    assert wider["usable_mm"] >= 57.25 * 25.4
    assert wider["width_mm"] == pytest.approx(59.25 * 25.4, abs=0.1)
    assert wider["marker"]["length_mm"] == pytest.approx(30 * 25.4)


def test_the_next_width_for_a_seventh_gore_is_150() -> None:
    fabric = price(job_text(GORES, CORDUROY.format(width=140, nap="none"), unit="cm"))
    assert fabric["marker"]["length_mm"] > 800.0
    assert fabric["next_width"]["usable_mm"] == pytest.approx(1500.0, abs=0.1)
    assert fabric["next_width"]["marker"]["length_mm"] == pytest.approx(800.0)


def test_two_pieces_on_one_fold_never_lie_beside_each_other() -> None:
    fabric = price(job_text(SKIRT, CLOTH.format(width=60, spread="folded")))
    assert fabric["next_width"] is None
