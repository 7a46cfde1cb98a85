"""The DXF of single pieces, written here by ezdxf from the layers of ASTM D6673, sound and with faults.

The layers are from memory.
"""

import io
from collections.abc import Callable, Sequence

import ezdxf
import numpy as np
import pytest
from ezdxf.document import Drawing

from cutroom.model.piece import Cut
from cutroom.model.prepared import PreparedPiece
from cutroom.proof import Proved
from cutroom.proof.pieces import prove_pieces
from tests.unit.proof import emitters as emit

PIECES = (
    emit.a_piece("front", seed=1),
    emit.a_piece("manche été", seed=2, cut=Cut.SINGLE),
    emit.a_piece("back", seed=3, cut=Cut.FOLD),
    emit.a_piece("front", seed=4, garment="blouse for M."),
)
ASCII = {"manche été": "manche ete"}


def written(pieces: Sequence[PreparedPiece], change: Callable[[Drawing], None] = lambda _: None) -> bytes:
    document = ezdxf.new("R12")  # type: ignore[attr-defined]
    space = document.modelspace()
    for number, piece in enumerate(pieces):
        block = document.blocks.new(f"P{number}")
        on = [{"layer": str(layer)} for layer in range(16)]
        block.add_polyline2d(piece.cut_line.tolist(), close=True, dxfattribs=on[1])
        block.add_polyline2d(piece.seam_line.tolist(), close=True, dxfattribs=on[14])
        for line in piece.lines:
            block.add_polyline2d(line.tolist(), dxfattribs=on[8])
        for notch in piece.notches:
            run = notch[-1] - notch[0]
            facts = {**on[4], "angle": float(np.degrees(np.arctan2(run[1], run[0])))}
            block.add_point((*notch[0], float(np.hypot(*run))), dxfattribs=facts)
        for x, y, _ in piece.drills:
            block.add_point((x, y, 0), dxfattribs=on[13])
        for x, y in piece.turns:
            block.add_point((x, y, 0), dxfattribs=on[2])
        for x, y in piece.cut_line[1:-1]:
            block.add_point((x, y, 0), dxfattribs=on[3])
        start, end = piece.grain[0][[0, -1]].tolist()
        block.add_line(start, end, dxfattribs=on[7])
        if piece.cut is Cut.FOLD:
            start, end = piece.cut_line[[0, -1]].tolist()
            block.add_line(start, end, dxfattribs=on[6])
        name = ASCII.get(piece.name, piece.name)
        pair = "1,1" if piece.cut is Cut.PAIR else "1,0"
        for text in (f"Piece Name: {name}", f"Size: {piece.size}", f"Quantity: {pair}", "Material: self"):
            block.add_text(text, dxfattribs=on[1])
        for word in (name, piece.size):
            block.add_text(word, dxfattribs=on[15])
        space.add_blockref(f"P{number}", (0, 0))
    for text in ("Style Name: blouse", "Units: METRIC", "Sample Size: 12"):
        space.add_text(text, dxfattribs={"layer": "1"})
    change(document)
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode("cp1252")


def told(found: Proved) -> str:
    assert found.refused
    return "\n".join(str(finding) for finding in found.findings)


def test_a_sound_file_of_pieces_passes_and_is_counted() -> None:
    found = prove_pieces(written(PIECES), PIECES)
    assert found.findings == ()
    assert [(count.drawn, count.flipped) for count in found.counts] == [(1, 1), (1, 0), (1, 0), (1, 1)]


def test_a_missing_and_an_extra_piece_are_told() -> None:
    text = told(prove_pieces(written(PIECES[1:]), PIECES))
    assert '"front", size 12, of "blouse": the piece is missing' in text
    text = told(prove_pieces(written(PIECES), PIECES[1:]))
    assert "the block is extra" in text


def remove(layer: str) -> Callable[[Drawing], None]:
    def change(document: Drawing) -> None:
        block = document.blocks.get("P2")
        block.delete_entity(next(one for one in block if one.dxf.layer == layer))

    return change


@pytest.mark.parametrize(
    ("layer", "what"),
    [
        ("1", "boundary is missing"),
        ("14", "sew line is missing"),
        ("8", "internal line is missing"),
        ("4", "the notch at"),
        ("13", "the drill hole at"),
        ("7", "grain line is missing"),
        ("6", "mirror line is missing"),
        ("2", "turn points are missing"),
        ("15", "the words"),
    ],
)
def test_a_lost_mark_is_told(layer: str, what: str) -> None:
    text = told(prove_pieces(written(PIECES, remove(layer)), PIECES))
    assert what in text
    assert '"back"' in text


def spoil(kind: str) -> Callable[[Drawing], None]:
    def change(document: Drawing) -> None:
        block = document.blocks.get("P0")
        notch = next(one for one in block if one.dxf.layer == "4")
        if kind == "depth":
            notch.dxf.location += (0, 0, 1)
        elif kind == "angle":
            notch.dxf.angle += 90
        elif kind == "place":
            notch.dxf.location += (0.2, 0, 0)
        elif kind == "open":
            next(one for one in block if one.dxf.layer == "14").close(False)  # type: ignore[attr-defined]
        elif kind == "quantity":
            next(one for one in block.query("TEXT") if "Quantity" in one.dxf.text).dxf.text = "Quantity: 2,0"
        elif kind == "units":
            next(
                one for one in document.modelspace().query("TEXT") if "Units" in one.dxf.text
            ).dxf.text = "Units: ENGLISH"
        elif kind == "insert":
            document.modelspace().add_blockref("P0", (0, 0))
        elif kind == "circle":
            block.add_circle((0, 0), 3, dxfattribs={"layer": "13"})

    return change


@pytest.mark.parametrize(
    ("kind", "what"),
    [
        ("depth", "mm deep, wanted"),
        ("angle", "degrees, wanted"),
        ("place", "is missing"),
        ("open", "sew line is not closed"),
        ("quantity", '"Quantity" says 2,0, wanted 1,1'),
        ("units", '"Units" says ENGLISH, wanted METRIC'),
        ("insert", "is inserted 2 times"),
        ("circle", "a CIRCLE on layer 13 is extra"),
    ],
)
def test_a_wrong_mark_is_told(kind: str, what: str) -> None:
    assert what in told(prove_pieces(written(PIECES, spoil(kind)), PIECES))


def test_a_file_of_pieces_that_is_cut_off_is_refused() -> None:
    data = written(PIECES)
    for junk in (b"", b"hello", data[: len(data) // 2], data[:-30]):
        assert prove_pieces(junk, PIECES).refused
