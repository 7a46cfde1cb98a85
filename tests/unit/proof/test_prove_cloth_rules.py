"""The proof of a marker's rules of cloth: what is kept passes, and each slip that is planted is told."""

from dataclasses import replace

import numpy as np
import pytest

from cutroom.model.fabric import Area, Fabric, Nap, Pattern, Sections
from cutroom.model.laying import EdgeGap, Meet, Shares
from cutroom.model.marker import Marker, Placement
from cutroom.model.prepared import PreparedPiece
from cutroom.proof import prove_marker
from tests.unit.proof import emitters as emit


def a_square(**facts: object) -> PreparedPiece:
    """100 mm, with its lower left corner at the origin."""
    outline = np.array([(0, 0), (100, 0), (100, 100), (0, 100.0)])
    return replace(emit.a_piece(), name="square", crossways=False, cut_line=outline, **facts)  # type: ignore[arg-type]


def told(
    *places: tuple[float, float, float, bool],
    piece: PreparedPiece | None = None,
    pattern_start: float | None = None,
    lines: tuple[float, ...] = (),
    sizes: tuple[str, ...] = (),
    **cloth: object,
) -> str:
    piece = piece or a_square()
    sizes = sizes or ("12",) * len(places)
    placements = tuple(
        Placement("square", "blouse", size, 1, flipped, turn, x, y)
        for (x, y, turn, flipped), size in zip(places, sizes, strict=True)
    )
    pieces = tuple(replace(piece, size=size) for size in dict.fromkeys(sizes))
    fabric = Fabric("linen", **({"width": 300.0, "nap": Nap.NONE} | cloth))  # type: ignore[arg-type]
    marker = emit.settled(Marker("linen", fabric, 1.0, placements, pieces))
    marker = replace(marker, pattern_start=pattern_start, sections=lines)
    return "\n".join(str(finding) for finding in prove_marker(marker))


def an_area(x: float, y: float, size: float = 20.0) -> tuple[Area, ...]:
    return (Area("slub", ((x, y), (x + size, y), (x + size, y + size), (x, y + size))),)


@pytest.mark.parametrize(
    ("x", "y", "gap", "words"),
    [
        (100.0, 0.0, 0.0, ""),
        (99.995, 0.0, 0.0, ""),
        (99.0, 0.0, 0.0, "it lies on slub and covers 20.0 mm"),
        (40.0, 40.0, 0.0, "it lies on slub and covers 400.0 mm"),
        (102.0, 0.0, 4.0, ""),
        (101.0, 0.0, 4.0, "it lies 1.00 mm from slub, wanted 2 mm"),
    ],
)
def test_flaws_and_used_areas_are_kept_clear(x: float, y: float, gap: float, words: str) -> None:
    spoilt = told((0, 0, 0, False), gap=gap, flaws=an_area(x, y))
    for text in (spoilt, told((0, 0, 0, False), gap=gap, used=an_area(x, y))):
        assert words in text
        assert bool(words) is bool(text)


def test_own_gaps_are_kept_as_their_mean() -> None:
    own = a_square(gap=10.0)
    assert told((0, 0, 0, False), (110, 0, 0, False), piece=own, gap=2.0) == ""
    assert "they lie 8.00 mm apart, wanted 10 mm" in told((0, 0, 0, False), (108, 0, 0, False), piece=own, gap=2.0)


@pytest.mark.parametrize(("x", "caught"), [(150.0, False), (100.0, True), (200.0, False), (51.0, True), (50.0, False)])
def test_the_end_of_the_table_is_not_crossed(x: float, caught: bool) -> None:
    assert ("crosses the end of the table at 150.0 mm" in told((x, 0, 0, False), table=150.0)) is caught


@pytest.mark.parametrize(
    ("turn", "tilt", "words"),
    [
        (2.0, 2.0, ""),
        (358.0, 2.0, ""),
        (181.5, 2.0, ""),
        (2.5, 2.0, "off the grain (turned 2.5 degrees, allowed 2 off it)"),
        (2.0, 0.0, "off the grain (turned 2 degrees)"),
    ],
)
def test_a_tilt_is_held_against_what_the_piece_allows(turn: float, tilt: float, words: str) -> None:
    text = told((150, 150, turn, False), piece=a_square(tilt_deg=tilt))
    assert words in text
    assert bool(words) is bool(text)


def test_on_a_one_way_cloth_a_tilted_piece_still_points_one_way() -> None:
    leaning = a_square(tilt_deg=2.0)
    assert told((150, 150, 1.0, False), piece=leaning, nap=Nap.ONE_WAY) == ""
    assert "against the nap" in told((150, 150, 179.0, False), piece=leaning, nap=Nap.ONE_WAY)


HIP = (Meet("hip", (30.0, 20.0)),)


@pytest.mark.parametrize(
    ("second", "words"),
    [
        ((170.0, 0.0, 0, False), ""),
        ((170.4, 0.0, 0, False), ""),
        ((171.0, 0.0, 0, False), 'at "hip" the pattern is 1.00 mm off, along the cloth, wanted 0.5 mm'),
        ((150.0, 0.0, 0, False), 'at "hip" the pattern is 20.00 mm off'),
    ],
)
def test_matched_points_fall_on_one_place_of_the_repeat(second: tuple[float, float, int, bool], words: str) -> None:
    pattern = Pattern(along=70.0, symmetric=True)
    text = told((30, 0, 0, False), second, piece=a_square(meets=HIP), pattern=pattern, pattern_start=5.0)
    assert words in text
    assert bool(words) is bool(text)


@pytest.mark.parametrize(
    ("second", "words"),
    [
        ((170.0, 150.0, 0, False), ""),
        ((170.0, 151.0, 0, False), 'at "hip" the pattern is 1.00 mm off, across the cloth, wanted 0.5 mm'),
        ((171.0, 150.0, 0, False), 'at "hip" the pattern is 1.00 mm off, along the cloth, wanted 0.5 mm'),
    ],
)
def test_checks_are_held_both_ways(second: tuple[float, float, float, bool], words: str) -> None:
    # the point lies 20 mm up: at 70 on the first, on a line of the pattern, and two repeats on at the second
    pattern = Pattern(along=70.0, across=50.0, from_edge=20.0, symmetric=True)
    text = told((30, 50, 0, False), second, piece=a_square(meets=HIP), pattern=pattern, pattern_start=60.0)
    assert words in text
    assert bool(words) is bool(text)


def test_a_pattern_that_looks_different_end_for_end_lets_nothing_be_turned() -> None:
    turned = (150.0, 150.0, 180.0, False)
    one_way = Pattern(along=70.0, symmetric=False)
    assert "pattern that has a way of its own" in told(turned, pattern=one_way, pattern_start=0.0)
    assert told(turned, pattern=replace(one_way, symmetric=True), pattern_start=0.0) == ""
    assert "does not say where the pattern starts" in told((0, 0, 0, False), pattern=one_way)


@pytest.mark.parametrize(("y", "words"), [(180.0, ""), (181.0, "1.00 mm off the stripe, across the cloth")])
def test_left_and_right_mirror_each_other_on_an_axis_of_the_stripe(y: float, words: str) -> None:
    """The left's point lies at 40 + 20, on an axis; the right, flipped, at y - 20: on another."""
    pattern = Pattern(across=25.0, symmetric=True, from_edge=10.0)
    stripe = a_square(meets=(Meet("centre", (0.0, 20.0), stripe=True),))
    text = told((0, 40, 0, False), (200, y, 0, True), piece=stripe, pattern=pattern)
    assert words in text
    assert bool(words) is bool(text)


def test_sections_are_not_crossed_and_hold_one_size_each() -> None:
    both = ((0.0, 0.0, 0, False), (110.0, 0.0, 0, False))

    def said(sizes: tuple[str, str], *sections: float) -> str:
        return told(*both, sizes=sizes, lines=sections, sections=Sections.SIZES)

    assert said(("12", "14"), 105.0, 210.0) == ""
    assert "crosses the line at 150.0 mm that closes a section" in said(("12", "14"), 150.0, 210.0)
    assert "do not lie in a section of their own" in said(("12", "12"), 105.0, 210.0)
    assert "do not lie in a section of their own" in said(("12", "14"), 210.0)


def test_a_garment_keeps_within_its_shade_and_the_marker_within_its_cloth() -> None:
    both = ((0.0, 0.0, 0, False), (110.0, 0.0, 0, False))
    assert told(*both, shade=210.0, length=210.0) == ""
    assert "take up 210.0 mm of the cloth, where at most 200 mm keep one shade" in told(*both, shade=200.0)
    text = told(*both, length=200.0)
    assert "210.0 mm long, and there are 200.0 mm of this cloth; past its end lies " in text


EDGED = a_square(edge_gaps=(EdgeGap("lower", 20.0, (0,)), EdgeGap("upper", 0.0, (2,))))


@pytest.mark.parametrize(
    ("x", "y", "flipped", "nearer"),
    [
        (0.0, 110.0, False, ""),  # 20 below the upper one, 0 above the lower one: 10 between them
        (0.0, 109.0, False, "1.00"),
        (0.0, 200.0, True, ""),  # upper on upper: nothing between them
        (104.0, 0.0, False, ""),  # side by side: the usual gap, also beside their lower corners
        (103.0, 0.0, False, "1.00"),
        (0.0, -20.0, True, ""),  # lower on lower: 20 between them
        (0.0, -18.0, True, "2.00"),
    ],
)
def test_gaps_of_edges_are_kept_edge_by_edge(x: float, y: float, flipped: bool, nearer: str) -> None:
    text = told((0, 150, 0, False), (x, y + 150, 0, flipped), piece=EDGED, gap=4.0, width=500.0)
    assert nearer in text
    assert bool(nearer) is bool(text)
    assert not text or "nearer to each other than the gaps of their edges" in text


def test_a_flaw_is_kept_clear_edge_by_edge() -> None:
    assert told((0, 50, 0, False), piece=EDGED, gap=4.0, flaws=an_area(0, 150)) == ""
    assert told((0, 50, 0, False), piece=EDGED, gap=4.0, flaws=an_area(0, 20)) == ""
    text = told((0, 50, 0, False), piece=EDGED, gap=4.0, flaws=an_area(0, 25))
    assert "it lies 5.00 mm nearer to slub than half the gaps of its edges" in text
    assert "covers 400.0 mm" in told((0, 50, 0, False), piece=EDGED, gap=4.0, flaws=an_area(40, 90))


def test_pieces_that_share_a_cut_line_may_touch_and_no_nearer() -> None:
    straps = a_square(shares=Shares("bag: strap", 0.0))
    assert told((0, 0, 0, False), (100, 0, 0, False), piece=straps, gap=4.0) == ""
    assert "they overlap" in told((0, 0, 0, False), (99, 0, 0, False), piece=straps, gap=4.0)
    burnt = a_square(shares=Shares("bag: strap", 0.3))
    assert told((0, 0, 0, False), (100.3, 0, 0, False), piece=burnt, gap=4.0) == ""
    text = told((0, 0, 0, False), (100.1, 0, 0, False), piece=burnt, gap=4.0)
    assert "they lie 0.10 mm apart, wanted 0.3 mm" in text
