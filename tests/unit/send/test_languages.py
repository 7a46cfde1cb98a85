"""Files as passages: where the tool is up, what is drawn before and after, and what sets a machine again."""

import io
import math
import re
import sys
from itertools import accumulate, islice

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutroom.errors import FileError
from cutroom.send.gcode import Gcode, Handling
from cutroom.send.hpgl import Hpgl
from cutroom.send.language import AsIs, Contents, Language, Passage, contents_of

TWO_FRAMES = b"IN;VS40;SP1;PU0,0;PD400,0,400,400;PU800,0;PD800,400;SP2;PU0,40;PD0,80;PU;PG;SP1;PU0,0;PD40,0;PU;SP0;PG;"


def read(data: bytes, language: Language | None = None) -> list[Passage]:
    return list((language or Hpgl(frame_mm=100.0)).passages(io.BytesIO(data)))


def head_before(data: bytes, number: int, *, marks: bool = False, language: Language | None = None) -> bytes:
    """What is sent before passage `number` (from 0) when sending begins there."""
    contents = contents_of(read(data, type(language)() if language else None))
    language = language or Hpgl(frame_mm=100.0)
    for count, _ in enumerate(language.passages(io.BytesIO(data)), start=1):
        if count == number:
            break
    return language.head(contents, marks=marks)


def test_passages_joined_are_the_file_and_end_where_the_pen_may_rest() -> None:
    passages = read(TWO_FRAMES)
    assert [one.data for one in passages] == [
        b"IN;VS40;SP1;PU0,0;PD400,0,400,400;",
        b"PU800,0;PD800,400;",
        b"SP2;PU0,40;PD0,80;",
        b"PU;PG;",
        b"SP1;PU0,0;PD40,0;",
        b"PU;SP0;PG;",
    ]
    assert [one.strokes for one in passages] == [1, 1, 1, 0, 1, 0]
    assert [one.frame for one in passages] == [0, 0, 0, 0, 1, 1]
    assert [one.advances for one in passages] == [False, False, False, True, False, True]


def test_places_and_lengths_are_in_millimetres_of_paper() -> None:
    passages = read(TWO_FRAMES)
    first, second, *_ = passages
    assert (first.low, first.high, first.left, first.right) == (0, 10, 0, 10)  # 40 plotter units to the mm (HP-GL)
    assert (first.ink, first.travel) == (20, 0)
    assert second.travel == pytest.approx(math.hypot(10, 10))
    assert (passages[4].low, passages[4].high) == (100, 101)  # the second frame, 100 mm further on
    contents = contents_of(passages)
    assert (contents.strokes, contents.frames, contents.size) == (4, 2, len(TWO_FRAMES))
    assert (contents.low, contents.high, contents.ink) == (0, 101, 20 + 10 + 1 + 1)


def test_lengths_of_later_frames_are_unknown_without_a_profile() -> None:
    passages = read(TWO_FRAMES, Hpgl())
    assert passages[4].low > passages[4].high
    assert passages[0].high == 10


def test_before_a_passage_the_machine_is_set_as_it_was_and_nothing_else() -> None:
    assert head_before(TWO_FRAMES, 1) == b"IN;VS40;SP1;PU;"
    assert head_before(TWO_FRAMES, 3) == b"IN;VS40;SP2;PU;"
    doubled = b"IN;SP1;VS10;PW.3,1;VS40;PW.5,2;VS20,2;PW.4,1;" + TWO_FRAMES[8:]
    assert head_before(doubled, 1) == b"IN;VS40;PW.5,2;VS20,2;PW.4,1;SP1;PU;"


def test_a_second_reset_forgets_what_was_set_before_it() -> None:
    assert head_before(b"IN;VS40;SP1;PU0,0;PD1,1;IN;SP2;PU0,0;PD2,2;PU;", 2) == b"IN;SP2;PU;"


def test_crosses_stand_at_both_ends_of_the_start_line_and_never_below_nought() -> None:
    wide = b"IN;SP1;PU0,0;PD400,8000;PU0,0;PD1,1;PU;SP0;"
    head = head_before(wide, 1, marks=True)
    assert head == (
        b"IN;SP1;PU0,200;PD400,200;PU200,0;PD200,400;PU0,7800;PD400,7800;PU200,7600;PD200,8000;PU;"
    )  # fmt: skip
    assert head_before(TWO_FRAMES, 1, marks=True).count(b"PD") == 2  # too narrow for two


def test_relative_moves_begin_again_where_the_pen_stood() -> None:
    data = b"IN;SP1;PA;PU100,100;PR;PD10,0,10,0;PU5,5;PD0,10;PU;"
    passages = read(data)
    assert [one.strokes for one in passages] == [1, 1, 0]
    assert head_before(data, 1) == b"IN;SP1;PU;PA;PU120,100;PR;"


def test_an_encoded_polyline_is_read_as_its_published_square() -> None:
    # A square of 100 mm with its corner at (10, 10) mm, base 32: digits as in the PCL 5 reference, part II (HP-GL/2),
    # pages 20-35 to 20-41; the whole as ezdxf and hp2xx both read it
    (square,) = [one for one in read(b"IN;SP1;PE7<=?x?x?Yf__?Yf@Yf__@Yf;SP0;") if one.strokes]
    assert (square.low, square.high, square.left, square.right) == (10, 110, 10, 110)
    assert square.ink == pytest.approx(400)
    plain = read(b"IN;SP1;PU400,400;PD4400,400,4400,4400,400,4400,400,400;SP0;")[0]
    assert (plain.ink, plain.low, plain.high) == (square.ink, square.low, square.high)
    base64 = bytes.fromhex("50453c3d5fcb5fcb3f7cc0bfbf3f7cc0407cc0bfbf407cc03b")
    (again,) = [one for one in read(b"IN;SP1;" + base64 + b"SP0;") if one.strokes]
    assert (again.ink, again.low, again.high) == (square.ink, square.low, square.high)


def test_text_is_drawn_to_its_terminator_whatever_it_says() -> None:
    passages = read(b"IN;SP1;PU0,0;LBPU;PD9,9;\x03PU5,5;PD6,6;PU;")
    assert [one.strokes for one in passages] == [1, 1, 0]
    assert passages[0].data.endswith(b"\x03")
    assert read(b"IN;SP1;DT@;PU0,0;LBPD;@PU5,5;PD6,6;")[0].data.endswith(b"@")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"%PDF-1.7\n", "byte 1: it is no HPGL"),
        (b"  0\r\nSECTION\r\n", "byte 1: it is no HPGL"),
        (b"G21\nG90\n", "byte 1: it is no HPGL"),
        (b"IN;SP1;PU0,0;PD1;", "a move has an x without its y"),
        (b"IN;SP1;PU0,0;PD1,x;", "byte 14: it is no HPGL"),
        (b"IN;SP1;PU0,0;PD1,1e;", "it is no HPGL"),
        (b"IN;SP1;PU0,0;PD1..2,3;", "holds what is no number"),
        (b"IN;SP1;PU0,0;QQ1,1;", "byte 14: it is no HPGL: QQ1,1; is none of its commands"),
        (b"IN;SP1;PU0,0;PD1,1;\xff\xfe\x00junk", "byte 20: it is no HPGL"),
        (b"IN;SP1;PR;PD1,1;", "it moves by a distance before it stands anywhere"),
        (b"IN;SP1;LBno end", "byte 8: it is no HPGL"),
        (b"IN;SP1;PE7<=?x", "byte 8: it is no HPGL"),
        (b"IN;SP1;PE<=\xcb;", "an encoded line is cut off"),
    ],
)
def test_bytes_that_are_no_hpgl_are_refused_with_their_place(data: bytes, said: str) -> None:
    with pytest.raises(FileError) as caught:
        read(data)
    assert said in str(caught.value)
    assert "byte" in caught.value.place


def test_where_only_the_machine_knows_the_pen_nothing_begins_again() -> None:
    with pytest.raises(FileError, match="after its command PM only the machine knows"):
        head_before(b"IN;SP1;PU0,0;PM0;PD1,1;PM2;EP;PU2,2;PD3,3;PU;", 2)


def test_whitespace_line_ends_and_missing_semicolons_are_the_languages_own() -> None:
    passages = read(b" IN ;\r\nSP 1 PU 0 0 PD 400,0\nPU 0,400 PD400 400\r\n;PU;SP0;\r\n\x1a")
    assert [one.strokes for one in passages] == [1, 1, 0]
    assert contents_of(passages).ink == 20
    assert b"".join(one.data for one in passages).startswith(b" IN ;\r\nSP 1 ")


# words after ISO 6983-1, and G20 and G21 for inches and millimetres as most interpreters have them: from memory
GCODE = b"""%
(marker)
G21 G90 G17
F3000
G0 Z5
G0 X10 Y0
G1 Z-1
G1 X20 Y0
X20 Y10
G0 Z5
G0 X0 Y5
G1 Z-1
G2 X10 Y15 I5 J5
G0 Z5
M2
%
"""


def test_a_program_of_g_words_rests_where_the_tool_is_lifted() -> None:
    passages = read(GCODE, Gcode())
    assert [one.strokes for one in passages] == [1, 1]
    assert passages[1].data.startswith(b"G0 X0 Y5\n")
    assert b"".join(one.data for one in passages) == GCODE
    assert (passages[0].low, passages[0].high, passages[0].ink) == (10, 20, 20)
    head = head_before(GCODE, 1, marks=True, language=Gcode())
    assert head == b"G21\nG17\nF3000\nG90\nG0 Z5\nG0 X0 Y0\nG0 X20 Y10\n"


def test_a_beam_is_on_between_m3_and_m5() -> None:
    program = b"G20\nG90\nM3 S0\nM5\nG0 X1 Y1\nM3 S500\nG1 X2 Y1 F20\nM5\nG0 X0 Y0\nM3 S500\nG1 X1 Y0\nM5\nM30\n"
    passages = read(program, Gcode())
    assert [one.strokes for one in passages] == [1, 1]
    assert passages[0].ink == pytest.approx(25.4)
    head = head_before(program, 1, marks=True, language=Gcode())
    assert head == b"M5\nG20\nS500\nF20\nG90\nG0 X0 Y0\nG0 X2 Y1\n"
    assert head.count(b"M3") == 0  # the beam stays off until the program itself lights it


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"IN;SP1;PU0,0;", "byte 1: it is no ISO 6983 program"),
        (b"G21\nG90\nHello\n", "byte 9: it is no ISO 6983 program"),
        (b"G21\nG1 X\n", "byte 5: it is no ISO 6983 program"),
        (b"\x00\x01\x02", "byte 1: it is no ISO 6983 program"),
    ],
)
def test_bytes_that_are_no_program_are_refused_with_their_place(data: bytes, said: str) -> None:
    with pytest.raises(FileError) as caught:
        read(data, Gcode())
    assert said in str(caught.value)


def test_a_lifted_machine_is_left_safe() -> None:
    hpgl = Hpgl()
    assert hpgl.goodbye("PU;SP0;PG;") == b"PU;SP0;"  # the paper stays where it is
    assert hpgl.goodbye("PU;VS10;SP0;NR;") == b"PU;VS10;SP0;"
    gcode = Gcode()
    list(gcode.passages(io.BytesIO(GCODE)))
    assert gcode.goodbye("M2") == b"M5\nG90 G0 Z5\nM2\n"


OWN = (Handling(("M64 P1", "G4 P0.2"), ("M65 P1", "G4 P0.2")), Handling(("G1 Z12 F600",), ("G0 Z0",)))
"""A knife on an output of the machine, and a pen whose Z is the wrong way round: no usual word among them."""


def test_a_machine_of_its_own_words_rests_where_they_lift_the_tool() -> None:
    program = (
        b"%\nG21 G90\nM3 S9000\nM65 P1\nG4 P0.2\nG0 Z0\n"
        b"N10 G0 X0 Y0\nN20 M64 P1\nG4 P0.2\nG1 X10 Y0 F6000\nM065 P1.0\nG4 P.2\n"
        b"G0 X20 Y0\ng01 z12 f600\nG1 X20 Y10\n(lift) G0 Z0.0\nG0 X0 Y0\nM5\nM30\n%\n"
    )
    passages = read(program, Gcode(OWN))
    assert b"".join(one.data for one in passages) == program
    assert [one.strokes for one in passages] == [1, 1, 0]
    assert [one.data.split(b"\n")[0] for one in passages[1:]] == [b"G0 X20 Y0", b"G0 X0 Y0"]
    assert [one.ink for one in passages] == [10, 10, 0]
    assert [one.strokes for one in read(program, Gcode())] != [1, 1, 0]  # by the usual words the spindle cuts the air


def test_what_is_taken_up_lifts_every_tool_by_its_own_words_first() -> None:
    program = b"G21\nG90\nG0 X0 Y0\nM64 P1\nG4 P0.2\nG1 X10 Y0 F6000\nM65 P1\nG4 P0.2\nG0 X20 Y0\n"
    gcode = Gcode(OWN)
    list(gcode.passages(io.BytesIO(program)))
    lifted = b"M65 P1\nG4 P0.2\nG21\nG90\nG0 Z0\n"
    assert gcode.head(contents_of(()), marks=False) == lifted + b"G21\nF6000\nG90\nG0 X20 Y0\n"
    assert gcode.goodbye("") == lifted + b"M2\n"


@pytest.mark.parametrize("end", ["G0 X0 Y0", "M9\nG0 X0 Y0", "M02", "M9\nM30"])
def test_a_program_that_is_stopped_ends_once_whatever_the_profile_says(end: str) -> None:
    said = Gcode().goodbye(end).decode().splitlines()
    assert [line for line in said if re.fullmatch("M0?2|M30", line)] == said[-1:]


def test_bytes_as_they_are_cannot_begin_again() -> None:
    language = AsIs()
    data = bytes(range(256)) * 1000
    assert b"".join(one.data for one in language.passages(io.BytesIO(data))) == data
    with pytest.raises(FileError, match="nobody knows where it could begin again"):
        language.head(Contents(0, 0, 0, 0, 0, 0, 0, 0, 0, 0), marks=False)


class Trickle(io.BytesIO):
    """A file that gives a few bytes at a time."""

    def __init__(self, data: bytes, sizes: list[int]) -> None:
        super().__init__(data)
        self.sizes = sizes

    def read(self, size: int | None = -1, /) -> bytes:
        del size
        return super().read(self.sizes.pop() if self.sizes else 7)


_POINTS = st.lists(st.tuples(st.integers(0, 32767), st.integers(0, 32767)), min_size=2, max_size=6)


@given(
    strokes=st.lists(st.tuples(st.integers(1, 4), _POINTS), min_size=1, max_size=12), sizes=st.lists(st.integers(1, 9))
)
def test_passages_do_not_depend_on_how_the_bytes_come(
    strokes: list[tuple[int, list[tuple[int, int]]]], sizes: list[int]
) -> None:
    """However a file is cut into reads, its passages are the same, and joined they are the file."""
    data = b"IN;" + b"".join(
        f"SP{pen};PU{points[0][0]},{points[0][1]};PD{','.join(f'{x},{y}' for x, y in points[1:])};".encode()
        for pen, points in strokes
    )
    whole = read(data)
    assert read_from(Trickle(data, sizes)) == whole
    assert b"".join(one.data for one in whole) == data
    assert list(accumulate(one.strokes for one in whole)) == list(range(1, len(strokes) + 1))


def read_from(file: io.BytesIO) -> list[Passage]:
    return list(Hpgl(frame_mm=100.0).passages(file))


def test_a_long_file_is_never_held_whole() -> None:
    class Endless(io.RawIOBase):
        given = 0

        def read(self, size: int = -1, /) -> bytes:
            if self.given > 50_000_000:
                return b""
            block = b"PU1,1;PD2,2,3,3;" * (size // 16)
            self.given += len(block)
            return block

    passages = islice(Hpgl().passages(Endless()), 20_000)  # type: ignore[arg-type]
    assert max(sys.getsizeof(one.data) for one in passages) < 200
    assert Endless.given < 50_000_000
