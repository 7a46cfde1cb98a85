"""Words in a plotter's own letters: written where the strokes would be, proven, and one planted fault a case."""

import re
from dataclasses import replace

import numpy as np
import pytest

from cutroom.model.marker import Marker
from cutroom.model.plot import Role
from cutroom.model.profile import Plotter
from cutroom.plot.compose import compose
from cutroom.plot.frames import frame
from cutroom.proof.prove import prove_file
from cutroom.proof.proved import Proved
from cutroom.write.hpgl import write_hpgl
from tests.builders import a_label, a_marker, a_plotter, a_prepared_piece
from tests.planting import planted

MARKER = a_marker()
PLOTTER = replace(a_plotter(width=1000.0, frame=2000.0, largest=80000), own_letters=True)


def written(plotter: Plotter = PLOTTER, marker: Marker = MARKER) -> bytes:
    return write_hpgl(frame(compose(marker, legend=(), title="linen"), plotter), plotter)


def proved(data: bytes, plotter: Plotter = PLOTTER, marker: Marker = MARKER) -> Proved:
    plot = compose(marker, legend=(), title="linen")
    return prove_file("marker-hpgl", data, marker, lower=plot.lower, upper=plot.upper, plotter=plotter)


def told(data: bytes, plotter: Plotter = PLOTTER) -> str:
    found = proved(data, plotter)
    assert found.refused
    return "\n".join(str(finding) for finding in found.findings)


def words_of(data: bytes) -> list[bytes]:
    return re.findall(rb"LB([^\x03]*)\x03", data)


def test_every_line_of_words_is_written_once_and_its_strokes_are_gone() -> None:
    data = written()
    assert sorted(words_of(data)) == [b"12", b"12 left", b"12 right", b"back", b"front", b"front"]
    assert not proved(data).refused
    assert len(data) < len(written(replace(PLOTTER, own_letters=False)))


@pytest.mark.parametrize("form", ["absolute", "relative", "encoded", "encoded 7-bit"])
@pytest.mark.parametrize("correction", [(1.0, 1.0), (1.004, 0.991)])
@pytest.mark.parametrize("length", [2000.0, 250.0, 181.3])
def test_they_pass_in_every_form_and_frame_and_on_a_machine_put_right(
    form: str, correction: tuple[float, float], length: float
) -> None:
    plotter = replace(PLOTTER, form=form, correction=correction, frame=length)
    data = written(plotter)
    assert 3 <= len(words_of(data)) <= 6  # a line of words that two frames share stays strokes
    assert not proved(data, plotter).refused


def test_words_with_letters_that_no_plotter_has_stay_strokes() -> None:
    piece = replace(a_prepared_piece(), label=a_label(("manga inés", "12")), label_mirrored=a_label(("½", "12")))
    marker = a_marker(pieces=(piece,))
    data = written(marker=marker)
    assert words_of(data) == [b"12"] * 3
    assert not proved(data, marker=marker).refused


def test_a_turned_piece_is_lettered_along_itself() -> None:
    assert (
        b"DI0.0000,1.0000;" in written()
    )  # the third piece lies turned by a quarter (HP-GL, from memory: DI0,1 reads up)
    assert written().count(b"DI") == 2  # said when it changes, not with every line


def test_without_a_pen_for_them_there_are_none() -> None:
    bare = replace(PLOTTER, pens={**PLOTTER.pens, Role.LABEL: 0})
    assert not words_of(written(bare))
    assert not proved(written(bare), bare).refused


def test_a_machine_that_is_not_asked_to_is_refused_when_it_writes() -> None:
    assert "which its profile does not ask for" in told(written(), replace(PLOTTER, own_letters=False))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (rb"LB12 right", b"LB12 rigth", 'the machine writes "12 rigth" where "12 right" belongs'),
        (rb"LB12 right", b"LB12 left", 'the machine writes "12 left" where "12 right" belongs'),
        (rb"PU(\d+),(\d+);((?:SI|DI)[^L]*)LBback", rb"PU\g<1>,9\2;\3LBback", "where none belongs"),
        (rb"(?s)LBback\x03", b"", "missing"),
        (b"(PU\\d+,\\d+;)(SI[^L]*)?LBback\x03", b"\\1\\2LBback\x03\\1LBback\x03", '"back" is written once more'),
        (rb"SI0.(\d)", rb"SI0.9", "mm long in capitals of|wide"),
        (rb"(SI[\d.]+),0.5", rb"\1,0.6", "in capitals of 6.00 mm"),
        (rb"DI1.0000,0.0000", rb"DI0.9998,0.0200", r"reads \+1.1 degrees out of its way"),
        (rb"DI0.0000,1.0000", rb"DI0.0000,-1.0000", r"reads [+-]180.0 degrees out of its way"),
        (rb"SP2;", b"SP1;", "is written with pen 1, wanted 2"),
        (rb"SI[\d.]+,[\d.]+;", b"", "before pen, place and size of its letters are said"),
        (rb"(PU\d+,\d+);(SI[^L]*)?LBfront", rb"\1;PD;\2LBfront", "with the pen down"),
        (rb"(SI)", rb"LO5;\1", "the command 'LO' is not one that a marker needs"),
        (rb"(SI)", rb"DT#;\1", "missing|is not one"),
    ],
)
def test_planted_faults(old: bytes, new: bytes, said: str) -> None:
    assert re.search(said, told(planted(written(), old, new)))


def test_a_word_half_a_millimetre_off_is_told() -> None:
    data = written()
    found = re.search(rb"PU(\d+),(\d+);(SI[^L]*)?LB12 right", data)
    assert found is not None
    moved = data.replace(b"PU%s,%s;" % found.group(1, 2), b"PU%d,%s;" % (int(found[1]) + 20, found[2]), 1)
    assert re.search(r'"12 right" stands 0\.(49|50|51) mm from its place', told(moved))


def test_words_reach_as_far_as_their_strokes() -> None:
    """The machine's letters stand where the strokes would: same baseline, same left and right end."""
    plot = compose(MARKER, legend=(), title="linen")
    for line in plot.lettered:
        points = np.vstack([plot.strokes[index].points for index in range(*line.strokes)]) - line.at
        turn = np.radians(line.turn_deg)
        along = points @ (np.cos(turn), np.sin(turn))
        up = points @ (-np.sin(turn), np.cos(turn))
        assert along.min() == pytest.approx(0, abs=1e-6)
        assert along.max() == pytest.approx(line.width, abs=1e-6)
        assert up.max() == pytest.approx(line.height, abs=0.05 * line.height)
