"""Trousers, the flared skirt, cuff and pocket against worked figures.

The worked figures are arithmetic from the construction as described in the module (from memory, the usual English
construction), for a hip of 960 mm: a twelfth is 80, a sixteenth is 60.
"""

import numpy as np
import pytest
from shapely import Polygon

from cutroom.alter.alter import alter
from cutroom.draft.blocks import draft, recipe
from cutroom.draft.bodies import misses_body
from cutroom.draft.options import Value
from cutroom.errors import DraftError
from cutroom.geometry.polyline import length
from cutroom.model.order import StyleAsked, Wearer
from cutroom.model.piece import Cut, Piece, Style
from cutroom.prepare.walk import check_walk, walk

SIZES = ("00", "0", "2", "4", "6", "8", "10", "12", "14", "16", "18", "20")
BODY = {"waist": 700.0, "hip": 960.0, "body rise": 280.0, "inside leg": 780.0, "waist to hip": 205.0}


def _trousers(body: dict[str, float] | None = None, **options: Value) -> Style:
    return draft(StyleAsked("trousers", "trousers", options), Wearer("T", body or BODY))


def _shape(piece: Piece) -> Polygon:
    return Polygon(np.vstack([edge.points[:-1] for edge in piece.edges]))


def _line(piece: Piece, name: str) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    return next(line.points for line in piece.construction if line.name == name)


def _width(piece: Piece, name: str) -> float:
    """Width of a piece on one of its construction lines (mm)."""
    y = float(_line(piece, name)[0, 1])
    strip = Polygon([(-999, y), (999, y), (999, y + 0.01), (-999, y + 0.01)])
    low, _, high, _ = _shape(piece).intersection(strip).bounds
    return high - low


def test_the_worked_figures_of_a_96_hip() -> None:
    style = _trousers(hem_width=420.0)
    front, back = style.piece("front"), style.piece("back")
    crease = float(_line(front, "crease line")[0, 0])
    side = front.edge("side").points
    hip = abs(float(side[np.argmin(np.abs(side[:, 1] - _line(front, "hip line")[0, 1])), 0]) - crease)
    assert hip == pytest.approx((960 + 45) / 4 - 5 - (80 + 15), abs=0.1)  # a quarter, less 5, less the centre's 95
    fork = front.edge("crotch").points[0]
    assert abs(fork[0] - crease) == pytest.approx(80 + 15 + 60 + 5)
    assert fork[1] == pytest.approx(_line(front, "crotch line")[0, 1])
    assert abs(back.edge("crotch").points[-1, 0] - crease) == pytest.approx(95 + 1.5 * 65)
    assert length(front.edge("hem").points) == pytest.approx(200)  # half of 420, less 10
    assert length(back.edge("hem").points) == pytest.approx(220)
    assert _width(front, "knee line") == pytest.approx(200 + 26, abs=0.1)
    assert _width(back, "knee line") == pytest.approx(220 + 26, abs=0.1)


def test_seams_and_waistband_fit_in_all_sizes() -> None:
    for size in SIZES:
        style = _trousers(misses_body(size))
        assert check_walk(walk(style)) == ()
        for piece in style.pieces:
            assert _shape(piece).is_valid, (size, piece.name)
            assert _shape(piece).exterior.is_ccw
        assert length(style.piece("front").edge("inside leg").points) == pytest.approx(
            length(style.piece("back").edge("inside leg").points), abs=0.05
        )


def test_closed_darts_leave_the_waist_asked() -> None:
    style = _trousers()
    waist = length(style.piece("waistband").edge("waist").points)
    assert 2 * waist == pytest.approx(700 + 15, abs=10)  # the curve of the waist adds a little
    assert style.piece("waistband").cut is Cut.FOLD
    assert style.piece("fly").cut is Cut.SINGLE


def test_the_crotch_is_a_usual_one() -> None:
    # common practice, no source: front and back crotch together 620 to 740 mm at a rise of 28 cm; ANSUR II women
    # (2012) have a mean crotch length of 621 mm from the navel through to the navel
    style = _trousers()
    front = sum(length(style.piece("front").edge(name).points) for name in ("crotch", "centre front"))
    back = length(style.piece("back").edge("crotch").points)
    assert 620 <= front + back <= 740
    assert 40 <= back - front <= 110


@pytest.mark.parametrize(
    ("changed", "options", "words"),
    [
        ({"waist": 1100.0}, {}, "too large for the hip"),
        ({"waist to hip": 280.0}, {}, "hip line"),
        ({"thigh": 900.0}, {}, "round the thigh"),
        ({"knee": 520.0}, {}, "knee"),
        ({"ankle": 400.0}, {}, "pass the foot"),
        ({}, {"hem width": 900.0}, "wider than the hip"),
        ({}, {"fly length": 260.0}, "fly"),
        ({}, {"fly width": 10.0}, "fly"),
    ],
)
def test_trousers_that_cannot_be_are_refused(changed: dict[str, float], options: dict[str, Value], words: str) -> None:
    with pytest.raises(DraftError, match=words) as caught:
        _trousers({**BODY, **changed}, **options)
    assert caught.value.fix


def test_a_flared_skirt_has_no_dart_and_the_waist_of_the_straight_one() -> None:
    for size in SIZES:
        for flare in (0.0, 120.0):
            asked = StyleAsked("skirt", "skirt", {"skirt": "flared", "flare": flare})
            wearer = Wearer(size, misses_body(size))
            straight = draft(asked, wearer)
            style = alter(straight, recipe(asked, wearer, straight))
            assert check_walk(walk(style)) == ()
            for name in ("front", "back"):
                old, new = straight.piece(name), style.piece(name)
                assert not any("dart" in edge.name for edge in new.edges)
                assert length(new.edge("hem").points) > length(old.edge("hem").points) + flare * 0.9
                assert _shape(new).is_valid
                assert new.edge(f"centre {name}").points[:, 0] == pytest.approx([0.0, 0.0], abs=1e-6)


def test_pockets_have_the_size_and_bottom_asked() -> None:
    for bottom, area in (("square", 0.0), ("pointed", 130 * 20 / 2), ("rounded", (4 - np.pi) * 20**2 / 2)):
        pocket = draft(StyleAsked("pocket", "patch pocket", {"bottom": bottom}), Wearer("T", {})).pieces[0]
        assert _shape(pocket).area == pytest.approx(130 * 150 - area, abs=1)
    with pytest.raises(DraftError, match="no room"):
        draft(StyleAsked("pocket", "patch pocket", {"point": 140.0}), Wearer("T", {}))


@pytest.mark.parametrize("kind", ["stand", "flat"])
def test_collars_have_the_length_of_the_neck_in_all_sizes(kind: str) -> None:
    for size in SIZES:
        style = draft(StyleAsked("blouse", "blouse", {"collar": kind}), Wearer(size, misses_body(size)))
        assert check_walk(walk(style)) == ()
        collar = style.piece("collar")
        necks = sum(length(style.piece(name).edge("neck").points) for name in ("front", "back"))
        assert length(collar.edge("neck").points) == pytest.approx(necks, abs=0.01)
        assert _shape(collar).is_valid
        assert _shape(collar).exterior.is_ccw


def test_collars_that_do_not_fit_are_refused() -> None:
    for kind, option, value in (("stand", "stand spring", 400.0), ("flat", "collar width", 300.0)):
        with pytest.raises(DraftError, match="does not"):
            draft(StyleAsked("blouse", "blouse", {"collar": kind, option: value}), Wearer("10", misses_body("10")))
