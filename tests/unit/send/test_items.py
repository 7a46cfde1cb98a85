"""Beginning elsewhere than at the beginning: what is sent, what is left out, and what sets the machine."""

import io
from collections.abc import Callable

import pytest

from cutroom.errors import FileError
from cutroom.send.hpgl import Hpgl
from cutroom.send.items import Start, begun_at, from_frame, from_length, from_stroke, numbered
from cutroom.send.language import contents_of
from cutroom.send.resume import Standing, find_start
from cutroom.standin.compare import drawn_by

# strokes by place along the paper (mm): 1 at 0-10, 2 at 50-60, 3 at 10-20, 4 at 55-65, 5 at 0-5; pens change on the way
DATA = (
    b"IN;VS20;SP1;PU0,0;PD400,0;PU2000,0;PD2400,0;SP2;PU400,40;PD800,40;PU2200,40;PD2600,40;SP3;PU0,80;PD200,80;PU;SP0;"
)


def language() -> Hpgl:
    return Hpgl(frame_mm=100.0)


def sent(start: Start) -> bytes:
    contents = contents_of(language().passages(io.BytesIO(DATA)))
    head, items = begun_at(io.BytesIO(DATA), language(), contents, start, marks=False)
    return head + b"".join(item.passage.data for item in items)


def strokes(data: bytes) -> list[tuple[int, float, float]]:
    return [(run.pen, run.points[0][0], run.points[-1][0]) for run in drawn_by(data)]


def test_a_length_begins_with_the_first_stroke_beyond_it() -> None:
    start = from_length(numbered(language().passages(io.BytesIO(DATA))), 30.0, drawn_to=0, say=str)
    assert start.strokes == 1
    assert strokes(sent(start)) == strokes(DATA)[1:]


def test_what_lies_before_the_length_and_is_known_to_be_drawn_is_left_out_and_the_pens_stay_right() -> None:
    """The journal knows that four strokes are drawn; the paper is spoilt from 30 mm on."""
    four = list(numbered(language().passages(io.BytesIO(DATA))))[3]
    start = from_length(numbered(language().passages(io.BytesIO(DATA))), 30.0, drawn_to=four.byte, say=str)
    assert strokes(sent(start)) == [(1, 50, 60), (2, 55, 65), (3, 0, 5)]


def test_left_out_strokes_are_left_out_once_more_when_that_breaks_off_too() -> None:
    whole = list(numbered(language().passages(io.BytesIO(DATA))))
    start = Start(whole[0].byte, 1, 0, 30.0, whole[3].byte)
    now = Standing("x", start, whole[1].byte, whole[1].byte, whole[3].byte, 100)
    found = find_start(io.BytesIO(DATA), language(), now, lambda: None)
    assert found.doubt == (3, 3)  # counted from the place, the one stroke that may be drawn
    assert strokes(sent(found.start)) == [(2, 55, 65), (3, 0, 5)]


@pytest.mark.parametrize(
    ("find", "said"),
    [
        (lambda found: from_stroke(found, 6), "it has 5 strokes and none of number 6"),
        (lambda found: from_frame(found, 2), "it has 1 frame and none of number 2"),
        (lambda found: from_length(found, 65.0, drawn_to=0, say=str), r"the drawing ends at 65\.0 of paper"),
    ],
)
def test_a_place_beyond_the_end_is_said(find: Callable[[object], Start], said: str) -> None:
    with pytest.raises(FileError, match=said):
        find(numbered(language().passages(io.BytesIO(DATA))))


def test_a_byte_within_a_stroke_is_no_beginning() -> None:
    with pytest.raises(FileError, match="no place where the tool rests"):
        sent(Start(20, 0))


def stopped(at: tuple[float, float, bool] | None, *, done: int, ahead: int) -> tuple[int, tuple[int, int] | None]:
    """Strokes before the place that is found when the pen stands somewhere, and those in doubt."""
    whole = list(numbered(language().passages(io.BytesIO(DATA))))
    byte = whole[done - 1].byte if done else 0
    now = Standing("x", Start(), byte, byte, whole[ahead - 1].byte, 100)
    found = find_start(io.BytesIO(DATA), language(), now, lambda: at)
    return found.start.strokes, found.doubt


def test_the_place_of_the_pen_says_which_stroke_was_the_last() -> None:
    assert stopped((400, 0, True), done=1, ahead=4) == (1, None)  # still at the end of the sure one
    assert stopped((2000, 0, False), done=1, ahead=4) == (1, None)  # on its way to the second
    assert stopped((2400, 0, True), done=1, ahead=4) == (2, None)  # the second is done
    assert stopped((800, 40, True), done=1, ahead=4) == (3, None)
    assert stopped((2600, 40, False), done=1, ahead=4) == (4, None)  # done and lifted
    assert stopped((9999, 9999, True), done=1, ahead=4) == (1, (2, 4))  # nowhere that it should be
    assert stopped(None, done=1, ahead=4) == (1, (2, 4))  # it cannot be asked
    assert stopped(None, done=4, ahead=4) == (4, None)  # nothing is in doubt
