"""The rules of cloth on the report, in words."""

from dataclasses import replace

from cutroom.model.fabric import Area, Fabric, Nap, Pattern
from cutroom.model.laying import Meet
from cutroom.report.figures import ply_step, to_buy
from cutroom.report.rules import rules_in_force
from cutroom.units import Unit
from tests.builders import a_marker, a_placement, a_prepared_piece

STRIPES = Pattern(along=70.0, across=24.0, symmetric=False, from_edge=30.0)


def test_a_plain_cloth_has_nothing_to_say() -> None:
    assert rules_in_force(a_marker(fabric=Fabric("linen", 300.0, nap=Nap.NONE)), Unit.MILLIMETRE) == ()


def test_velvet_asks_which_way_it_is_worn() -> None:
    facts = dict(rules_in_force(a_marker(fabric=Fabric("velvet", 300.0, nap=Nap.ONE_WAY)), Unit.CENTIMETRE))
    assert "choose up or down before anything is cut" in facts["nap on the wearer"]
    assert "pile running up" in facts["nap on the wearer"]


def test_the_table_is_told_how_stripes_must_lie() -> None:
    piece = replace(a_prepared_piece(), meets=(Meet("hip", (40.0, 0.0)),))
    other = replace(a_prepared_piece("back"), meets=(Meet("hip", (40.0, 0.0)),))
    fabric = Fabric("check", 300.0, nap=Nap.NONE, pattern=STRIPES, plies=4)
    marker = replace(a_marker(fabric=fabric, pieces=[piece, other], length=1505.0), pattern_start=50.0)
    facts = dict(rules_in_force(marker, Unit.CENTIMETRE))
    assert "has a way of its own: no piece is turned" in facts["pattern"]
    assert facts["lay the cloth so"].startswith("a stripe's middle 5 cm")
    assert "which is 6 cm" in facts["lay the cloth so"]  # 1 cm is left at each end
    assert "154 cm" in facts["every ply alike"]
    assert "22 whole repeats" in facts["every ply alike"]
    assert facts["match: hip"].startswith("front and back meet there")
    assert "6 mm" in facts["across"] or "0.6 cm" in facts["across"]


def test_several_striped_plies_are_bought_by_whole_repeats() -> None:
    """150.5 cm and 1 cm at each end are 152.5; 22 repeats of 7 cm are 154."""
    fabric = Fabric("check", 300.0, pattern=STRIPES, plies=4)
    assert to_buy(1505.0, 10.0, 4, ply_step(fabric)).ply == 1540
    assert ply_step(replace(fabric, plies=1)) == 0.0


def test_flaws_tables_gaps_tilts_and_locks_are_told() -> None:
    piece = replace(a_prepared_piece(), gap=5.0, tilt_deg=2.0)
    slub = Area("slub", ((10.0, 20.0), (30.0, 20.0), (30.0, 40.0), (10.0, 40.0)))
    fabric = Fabric("linen", 300.0, nap=Nap.NONE, flaws=(slub,), table=5000.0, length=2000.0)
    placements = [a_placement(piece, 0, 20, turn_deg=358.5), replace(a_placement(piece, 300, 20), locked=True)]
    facts = dict(rules_in_force(a_marker(fabric=fabric, pieces=[piece], placements=placements), Unit.MILLIMETRE))
    assert facts["slub"].startswith("kept clear: 10 mm")
    assert "every 5000 mm" in facts["table"]
    assert "leaves 1400 mm" in facts["cloth there is"]
    assert "front 5 mm" in facts["own gaps"]
    assert facts["tilt"] == "off the grain front up to 2°; 1 lie so, 1.5° at most"
    assert facts["locked"] == "1 piece kept where they lay"
