"""What the proof works out for many lines at once is what it works out for each by itself."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutroom.plot.compose import compose
from cutroom.proof import read_pdf as reader
from cutroom.proof.lines import Line, Within, gather, looped, segments, tidy, tidy_all
from cutroom.proof.match import match
from cutroom.write.pdf import write_pdf
from tests.builders import a_marker

_POINTS = st.lists(st.tuples(st.integers(0, 2), st.integers(0, 2)), min_size=1, max_size=7)
_LINES = st.lists(st.tuples(_POINTS, st.booleans()), min_size=1, max_size=6)


@given(_LINES)
def test_many_lines_are_tidied_as_each_is(lines: list[tuple[list[tuple[int, int]], bool]]) -> None:
    many = [np.array(points, dtype=np.float64) for points, _ in lines]
    counts, closed = np.array([len(points) for points in many]), np.array([is_closed for _, is_closed in lines])
    points, counts, closed = tidy_all(np.concatenate(many), counts, closed)
    parts = np.split(points, np.cumsum(counts)[:-1])
    for line, (_, said), part, is_closed in zip(many, lines, parts, closed.tolist(), strict=True):
        wanted, wanted_closed = tidy(line, closed=said)
        assert part.tolist() == wanted.tolist()
        assert is_closed == wanted_closed


@given(_LINES)
def test_bits_of_many_lines_are_those_of_each(lines: list[tuple[list[tuple[int, int]], bool]]) -> None:
    many = [Line(np.array(points, dtype=np.float64), closed and len(points) > 2) for points, closed in lines]
    bits, owners = segments(many)
    for number, line in enumerate(many):
        points = looped(line)
        wanted = np.stack((points[:-1], points[1:]), axis=1) if len(points) > 1 else np.stack((points, points), axis=1)
        assert bits[owners == number].tolist() == wanted.tolist()
    for line, again in zip(many, gather(many), strict=True):
        assert again.points.tolist() == line.points.tolist()
        assert again.closed == line.closed


@given(st.lists(st.tuples(st.integers(-60, 60), st.integers(-60, 60)), min_size=1, max_size=12), st.integers(0, 11))
def test_lines_near_each_other_are_looked_at_wherever_they_lie(places: list[tuple[int, int]], turn: int) -> None:
    """Every line moved by less than the limit is found again, also across the borders of what is looked at at once."""
    far = 0.01 * np.array([np.cos(turn), np.sin(turn)])
    wanted = [Line(np.array([(x, y), (x + 1.0, y + 2.0)]) / 7, closed=False) for x, y in dict.fromkeys(places)]
    found = [Line(line.points + 0.999 * far, closed=False) for line in reversed(wanted)]
    assert match(wanted, found, Within(0.01)).missing == ()


def test_a_pdf_is_read_alike_as_it_lies_in_memory_and_call_by_call(monkeypatch: pytest.MonkeyPatch) -> None:
    data = write_pdf(compose(a_marker(), legend=("one",), title="test"))
    (sheet,), _ = reader.read_pdf(data)
    monkeypatch.setattr(reader, "_SEEN", np.dtype([*reader._SEEN.descr, ("more", "V4")]))  # as if it lay otherwise
    (asked,), _ = reader.read_pdf(data)
    assert len(sheet.lines) > 10
    assert sheet.lines.points.tolist() == asked.lines.points.tolist()
    assert sheet.lines.counts.tolist() == asked.lines.counts.tolist()
    assert sheet.lines.closed.tolist() == asked.lines.closed.tolist()
