"""Left and right counted through the way the cloth is spread (common practice, no source)."""

from dataclasses import replace

import pytest

from cutroom.model.fabric import Fabric, Face, Nap, Spread
from cutroom.model.finding import Severity
from cutroom.model.lay import Counted
from cutroom.model.order import Garment
from cutroom.model.piece import Cut, Hand
from cutroom.model.prepared import PreparedPiece
from cutroom.plan.count import check_count, cut_list
from cutroom.plan.lays import plan_lays
from cutroom.prepare.ready import prepare
from tests.drawing import a_polygon_piece
from tests.jobs import job_text, make

LEG = [(0.0, 0.0), (700.0, 0.0), (700.0, 400.0), (300.0, 600.0), (0.0, 500.0)]
FLY = [(0.0, 0.0), (200.0, 0.0), (180.0, 60.0), (0.0, 50.0)]
CLOTH = Fabric("drill", 1500.0, nap=Nap.ONE_WAY, price=12.0)


def trousers(fabric: Fabric) -> dict[str, PreparedPiece]:
    """Front, back and fly; a fly is cut once, for the left."""
    drawn = {
        "front": a_polygon_piece(LEG, 0, name="front", cut=Cut.PAIR),
        "back": a_polygon_piece([(x * 1.1, y * 1.1) for x, y in LEG], 0, name="back", cut=Cut.PAIR),
        "fly": a_polygon_piece(FLY, 0, name="fly", cut=Cut.SINGLE, hand=Hand.LEFT),
    }
    return {name: prepare(piece, garment="trousers", size="40", fabric=fabric) for name, piece in drawn.items()}


def order(copies: int) -> Garment:
    return Garment("trousers", "trousers", "40", copies, {"self": "drill"})


def counted(fabric: Fabric, copies: int, laid: dict[str, tuple[int, int]]) -> dict[str, Counted]:
    pieces = trousers(fabric)
    found = {pieces[name].key: hands for name, hands in laid.items()}
    lines = cut_list([order(copies)], {"drill": fabric}, list(pieces.values()), found)
    return {line.piece: line for line in lines}


def test_two_fronts_of_the_drawn_hand_are_stopped_with_the_count() -> None:
    lines = counted(CLOTH, 1, {"front": (2, 0), "back": (1, 1), "fly": (1, 0)})
    (stop,) = check_count(list(lines.values()), {"drill": CLOTH})
    assert stop.severity is Severity.STOP
    assert 'piece "front"' in stop.place
    assert "2 L, 0 R come out; need 1 L, 1 R (1 short)" in stop.what
    assert "flipped" in stop.fix


def test_mirroring_one_of_them_passes() -> None:
    lines = counted(CLOTH, 1, {"front": (1, 1), "back": (1, 1), "fly": (1, 0)})
    assert check_count(list(lines.values()), {"drill": CLOTH}) == ()


def test_twenty_plies_face_up_give_twenty_of_each() -> None:
    cloth = replace(CLOTH, plies=20)
    lines = counted(cloth, 20, {"front": (1, 1), "back": (1, 1), "fly": (1, 0)})
    assert (lines["front"].got_left, lines["front"].got_right, lines["fly"].got_left) == (20, 20, 20)
    assert check_count(list(lines.values()), {"drill": cloth}) == ()


def test_face_to_face_two_fronts_of_either_hand_give_twenty_of_each_and_a_fly_laid_once_is_10_short() -> None:
    cloth = replace(CLOTH, spread=Spread.FACE_TO_FACE, plies=20)
    lines = counted(cloth, 20, {"front": (2, 0), "back": (0, 2), "fly": (1, 0)})
    assert (lines["front"].got_left, lines["front"].got_right) == (20, 20)
    assert (lines["back"].got_left, lines["back"].got_right) == (20, 20)
    (stop,) = check_count(list(lines.values()), {"drill": cloth})
    assert "10 L, 10 R come out; need 20 L, 0 R (10 short)" in stop.what


def test_a_stop_says_what_the_slip_would_have_cost() -> None:
    """20 fronts of 0.35 m2 are 7 m2: 4.67 m of 1.5 m cloth, 56.00 at 12 a metre."""
    line = Counted("trousers", "40", "front", "self", "drill", 20, 20, 0, 40, 0, 0, 0.35e6)
    (stop,) = check_count([line], {"drill": CLOTH})
    assert "7.00 m² or 4.67 m of this cloth, 56.00 at 12 a metre" in stop.what


@pytest.mark.parametrize("face", list(Face))
def test_cloth_spread_face_down_turns_single_pieces_over_and_only_those(face: Face) -> None:
    cloth = replace(CLOTH, face=face)
    (lay,) = plan_lays([order(1)], {"drill": cloth}, list(trousers(cloth).values()))
    fly = [wanted.flipped for wanted in lay.wanted if wanted.piece.name == "fly"]
    fronts = sorted(bool(wanted.flipped) for wanted in lay.wanted if wanted.piece.name == "front")
    assert fly == [face is Face.DOWN]
    assert fronts == [False, True]


def test_a_single_piece_on_folded_cloth_is_refused_never_doubled(capsys: pytest.CaptureFixture[str]) -> None:
    fly = """
[[styles.it.pieces]]
name = "fly"
cut = "single"
grain = "right"
edges = [
  { name = "a", points = [[0, 0], [8, 0]] },
  { name = "b", points = [[8, 0], [7, 2]] },
  { name = "c", points = [[7, 2], [0, 2]] },
  { name = "d", points = [[0, 2], [0, 0]] },
]
"""
    cloth = 'width = 60\nspread = "folded"\nnap = "one-way"\nshrinkage = "not tested"'
    code, manifest = make(job_text(fly, cloth))
    said = capsys.readouterr().err
    assert code == 1
    assert manifest == {}
    assert 'piece "fly": it is a single piece (1 wanted) and the cloth is folded' in said
    assert 'spread = "open"' in said
