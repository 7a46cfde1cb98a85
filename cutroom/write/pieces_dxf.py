"""Prepared pieces as DXF, by the published practice ASTM D6673: R12 subset, layers by number, one block a piece.

Layer numbers and texts are from memory; the practice was withdrawn in 2019.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import PlotError
from cutroom.model.piece import Cut, NotchKind
from cutroom.model.prepared import PreparedPiece
from cutroom.write.ascii import seven_bit
from cutroom.write.numbers import number_as_text

_BOUNDARY, _TURN, _CURVE, _NOTCH, _MIRROR, _GRAIN, _INTERNAL, _DRILL, _SEW, _WORDS = (
    "1", "2", "3", "4", "6", "7", "8", "13", "14", "15",
)  # fmt: skip
_CUTOUT = "11"
_NOTCHES = {
    NotchKind.SLIT: _NOTCH, NotchKind.V_IN: _NOTCH, NotchKind.V_OUT: _NOTCH, NotchKind.T: "80", NotchKind.BOX: "81",
}  # fmt: skip
_GAP = 20.0  # between the pieces as they are laid out in the file (mm)
_SMALL = 4.0  # height of the system text (mm)

_Tags = list[str]


def write_pieces_dxf(pieces: Sequence[PreparedPiece], *, title: str) -> bytes:
    """The pieces of a style as a pattern-exchange file.

    Texts are transliterated to seven-bit letters. The grainline is its line without arrow heads. A drill hole's
    diameter is the thickness of its point; a notch's depth is the height of its point, its angle points inwards.

    Args:
        pieces: The pieces, in millimetres and their own axes, grain along x.
        title: The style's name.

    Returns:
        DXF R12 text. It carries no date: the same pieces give the same bytes on any day.

    Raises:
        PlotError: A name or a label has a letter that cannot be written.
    """
    tags: _Tags = ["999", "Pattern pieces after ASTM D6673, millimetres"]
    tags += ["0", "SECTION", "2", "HEADER", "9", "$ACADVER", "1", "AC1009", "0", "ENDSEC"]
    cutouts = [_CUTOUT] if any(piece.cutouts for piece in pieces) else []
    shaped = {_NOTCHES[kind] for piece in pieces for kind in piece.notch_kinds} - {_NOTCH}
    tags += _layers([*cutouts, *sorted(shaped)])
    tags += ["0", "SECTION", "2", "BLOCKS"]
    inserts: _Tags = []
    y = 0.0
    for number, piece in enumerate(pieces, start=1):
        try:
            name = _block_name(number, piece)
            tags += _block(name, piece)
        except PlotError as error:
            raise error.at(place=f'piece "{piece.name}"') from error
        low, high = piece.cut_line.min(axis=0), piece.cut_line.max(axis=0)
        inserts += ["0", "INSERT", "8", _BOUNDARY, "2", name, *_place(0.0 - float(low[0]), y - float(low[1]))]
        y += float(high[1] - low[1]) + _GAP
    size = pieces[0].size if pieces else ""
    style = (f"Style Name: {title}", "Units: METRIC", f"Sample Size: {size}")
    tags += ["0", "ENDSEC", "0", "SECTION", "2", "ENTITIES", *inserts]
    for row, line in enumerate(style):
        tags += _text(_BOUNDARY, line, 0.0, -_GAP - row * _SMALL * 2, _SMALL)
    return "\n".join([*tags, "0", "ENDSEC", "0", "EOF", ""]).encode("ascii")


def _layers(more: Sequence[str]) -> _Tags:
    used = (_BOUNDARY, _TURN, _CURVE, _NOTCH, _MIRROR, _GRAIN, _INTERNAL, _DRILL, _SEW, _WORDS, *more)
    tags = ["0", "SECTION", "2", "TABLES", "0", "TABLE", "2", "LAYER", "70", str(len(used))]
    for colour, layer in enumerate(used):
        tags += ["0", "LAYER", "2", layer, "70", "0", "62", str(7 - colour % 7), "6", "CONTINUOUS"]
    return [*tags, "0", "ENDTAB", "0", "ENDSEC"]


def _block_name(number: int, piece: PreparedPiece) -> str:
    """Unique by its number; R12 takes 31 letters, digits, hyphens and underscores."""
    words = "-".join(seven_bit(word) for word in (piece.name, piece.size, piece.garment))
    plain = "".join(letter if letter.isalnum() else "_" for letter in words.upper())
    return f"P{number:03d}-{plain}"[:31]


def _block(name: str, piece: PreparedPiece) -> _Tags:
    tags: _Tags = ["0", "BLOCK", "8", _BOUNDARY, "2", name, "70", "0", *_place(0, 0)]
    tags += _polyline(_BOUNDARY, piece.cut_line, closed=True)
    tags += _polyline(_SEW, piece.seam_line, closed=True)
    turns = {tuple(point) for point in piece.turns.tolist()}
    for x, y in piece.turns.tolist():
        tags += ["0", "POINT", "8", _TURN, *_place(x, y)]
    for line in (piece.cut_line, piece.seam_line):
        for x, y in line.tolist():
            if (x, y) not in turns:
                tags += ["0", "POINT", "8", _CURVE, *_place(x, y)]
    kinds = piece.notch_kinds or (NotchKind.SLIT,) * len(piece.notches)
    for notch, kind in zip(piece.notches, kinds, strict=True):
        tags += _notch(notch, kind)
    if piece.cut is Cut.FOLD:
        on_fold = piece.cut_line[np.abs(piece.cut_line[:, 1]) < 1e-6]
        tags += _straight(_MIRROR, on_fold[np.argmin(on_fold[:, 0])], on_fold[np.argmax(on_fold[:, 0])])
    if piece.grain:
        tags += _straight(_GRAIN, piece.grain[0][0], piece.grain[0][-1])
    for line in piece.cutouts:
        tags += _polyline(_CUTOUT, line, closed=True)
    for line in piece.lines:
        tags += _polyline(_INTERNAL, line, closed=False)
    for x, y, diameter in piece.drills:
        tags += ["0", "POINT", "8", _DRILL, *_place(x, y), "39", number_as_text(diameter)]
    return [*tags, *_words(piece), "0", "ENDBLK", "8", _BOUNDARY]


def _notch(stroke: NDArray[np.float64], kind: NotchKind) -> _Tags:
    """A notch as a point on the cut line: depth as its height, width as its thickness, angle from there to its tip."""
    base, tip, width = stroke[0], stroke[1], 0.0
    if kind in {NotchKind.V_IN, NotchKind.V_OUT, NotchKind.BOX}:
        base, width = (stroke[0] + stroke[-1]) / 2, math.dist(stroke[0], stroke[-1])
    if kind is NotchKind.BOX:
        tip = (stroke[1] + stroke[2]) / 2
    if kind is NotchKind.T:
        width = math.dist(stroke[2], stroke[3])
    along = tip - base
    tags = ["0", "POINT", "8", _NOTCHES[kind], *_place(base[0], base[1], math.hypot(along[0], along[1]))]
    tags += ["39", number_as_text(width)] if width else []
    return [*tags, "50", number_as_text(math.degrees(math.atan2(along[1], along[0])) % 360)]


def _words(piece: PreparedPiece) -> _Tags:
    pairs = piece.quantity if piece.cut is Cut.PAIR else 0
    system = (
        f"Piece Name: {piece.name}",
        f"Size: {piece.size}",
        f"Quantity: {piece.quantity},{pairs}",
        f"Material: {piece.cloth}",
        f"Annotation: {piece.garment}",
    )
    x, y = piece.label.centre
    lines = [(_BOUNDARY, text, _SMALL) for text in system]
    lines += [(_WORDS, text, piece.label.height) for text in piece.label.words]
    tags: _Tags = []
    for layer, text, height in lines:
        tags += _text(layer, text, x, y, height)
        y -= height * 1.6
    return tags


def _polyline(layer: str, points: NDArray[np.float64], *, closed: bool) -> _Tags:
    tags = ["0", "POLYLINE", "8", layer, "66", "1", *_place(0, 0), "70", "1" if closed else "0"]
    for x, y in points.tolist():
        tags += ["0", "VERTEX", "8", layer, *_place(x, y)]
    return [*tags, "0", "SEQEND", "8", layer]


def _straight(layer: str, start: NDArray[np.float64], end: NDArray[np.float64]) -> _Tags:
    x, y = (number_as_text(number) for number in end.tolist())
    return ["0", "LINE", "8", layer, *_place(start[0], start[1]), "11", x, "21", y, "31", "0.0"]


def _text(layer: str, text: str, x: float, y: float, height: float) -> _Tags:
    return ["0", "TEXT", "8", layer, *_place(x, y), "40", number_as_text(height), "1", seven_bit(text)]


def _place(x: float, y: float, z: float = 0.0) -> _Tags:
    return ["10", number_as_text(x), "20", number_as_text(y), "30", number_as_text(z)]
