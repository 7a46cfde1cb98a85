"""Proves a DXF of single pieces, block by block, against the prepared pieces."""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from ezdxf.document import Drawing
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.line import Line as DxfLine
from ezdxf.entities.point import Point
from ezdxf.entities.polyline import Polyline
from ezdxf.entities.text import Text
from ezdxf.layouts.blocklayout import BlockLayout

from cutroom.errors import ProofError
from cutroom.model.finding import Finding
from cutroom.model.piece import Cut, NotchKind
from cutroom.model.prepared import PreparedPiece
from cutroom.proof.hands import Count
from cutroom.proof.lines import Array, Line, Within, tidy
from cutroom.proof.match import match
from cutroom.proof.proved import Proved
from cutroom.proof.read_dxf import decoded, open_dxf
from cutroom.proof.words import shortened, stop

LIMIT = Within(0.01)
ANGLE_LIMIT_DEG = 0.1
BOUNDARY, TURNS, CURVES, MIRROR, GRAIN, INSIDE, DRILLS, SEWN, WORDS = (
    "1", "2", "3", "6", "7", "8", "13", "14", "15",
)  # fmt: skip
CUT_OUT = "11"
LAYER_OF = {NotchKind.SLIT: "4", NotchKind.V_IN: "4", NotchKind.V_OUT: "4", NotchKind.T: "80", NotchKind.BOX: "81"}
NOTCH_LAYERS = ("4", "80", "81", "82", "83")


@dataclass(slots=True, eq=False)
class _Block:
    """One block as read: lines, points `(x, y, z, angle, thickness)` and text by layer."""

    name: str
    lines: dict[str, list[Line]] = field(default_factory=dict)
    points: dict[str, list[tuple[float, float, float, float, float]]] = field(default_factory=dict)
    texts: dict[str, list[str]] = field(default_factory=dict)
    strange: list[str] = field(default_factory=list)

    def said(self, keyword: str) -> str | None:
        """The value of a `Keyword: value` text."""
        return _said(self.texts.get(BOUNDARY, []), keyword)


def prove_pieces(data: bytes, pieces: Sequence[PreparedPiece]) -> Proved:
    """Prove a DXF of pieces: one block a piece, with its lines, marks, quantity and unit.

    Args:
        data: The bytes of the file.
        pieces: The prepared pieces it was written from.
    """
    try:
        document, findings = open_dxf(decoded(data))
    except ProofError as error:
        return Proved("pieces-dxf", "nothing: it cannot be read", 0.0, (), (stop(error.place, error.what, error.fix),))
    if any(byte > 126 for byte in data):
        findings.append(stop("file", "it holds letters that are not plain ASCII"))
    findings += _style(document)
    blocks = [_read(block) for block in document.blocks if not block.name.startswith("*") and _has_lines(block)]
    inserted = [str(one.dxf.name) for one in document.modelspace().query("INSERT")]
    deviation, counts = 0.0, []
    block_of, free = _assign(pieces, blocks)
    for index, piece in enumerate(pieces):
        name = f'"{piece.name}", size {piece.size}, of "{piece.garment}"'
        block = block_of.get(index)
        if block is None:
            findings.append(stop(name, "the piece is missing from the file"))
            continue
        if inserted.count(block.name) != 1:
            what = f'its block "{block.name}" is inserted {inserted.count(block.name)} times, wanted once'
            findings.append(stop(name, what))
        told, off = _prove_block(piece, block)
        findings += [stop(name, what) for what in told]
        deviation = max(deviation, off)
        counts.append(_count(piece, block))
    findings += [stop(f'block "{block.name}"', "the block is extra: no piece is like it") for block in free]
    compared = f"{len(blocks)} blocks held against {len(pieces)} prepared pieces, to {LIMIT.limit:g} mm"
    return Proved("pieces-dxf", compared, deviation, tuple(counts), shortened(findings))


def _style(document: Drawing) -> list[Finding]:
    texts = [str(one.dxf.text) for one in document.modelspace().query("TEXT") if one.dxf.layer == BOUNDARY]
    units = _said(texts, "Units")
    findings = []
    if (units or "").upper() != "METRIC":
        findings.append(stop("style text", f'"Units" says {units or "nothing"}, wanted METRIC'))
    if not _said(texts, "Style Name"):
        findings.append(stop("style text", '"Style Name" is missing'))
    return findings


def _said(texts: Sequence[str], keyword: str) -> str | None:
    for text in texts:
        head, colon, value = text.partition(":")
        if colon and head.strip().casefold() == keyword.casefold():
            return value.strip()
    return None


def _has_lines(block: BlockLayout) -> bool:
    return any(entity.dxftype() in {"POLYLINE", "LINE", "POINT"} for entity in block)


def _read(block: BlockLayout) -> _Block:
    read = _Block(block.name)
    for entity in block:
        layer = str(entity.dxf.layer)
        line = _line(entity, layer)
        if line is not None:
            read.lines.setdefault(layer, []).append(line)
        elif isinstance(entity, Point):
            at = entity.dxf.location
            read.points.setdefault(layer, []).append(
                (at.x, at.y, at.z, float(entity.dxf.get("angle", 0.0)), float(entity.dxf.get("thickness", 0.0)))
            )
        elif isinstance(entity, Text):
            read.texts.setdefault(layer, []).append(str(entity.dxf.text))
        else:
            read.strange.append(f"a {entity.dxftype()} on layer {layer}")
    return read


def _line(entity: DXFEntity, layer: str) -> Line | None:
    if isinstance(entity, Polyline) and not entity.has_arc and len(entity.vertices):
        points = np.array([(point.x, point.y) for point in entity.points()])
        return Line(*tidy(points, closed=bool(entity.is_closed)), layer)
    if isinstance(entity, DxfLine):
        return Line(np.array([(end.x, end.y) for end in (entity.dxf.start, entity.dxf.end)]), closed=False, group=layer)
    return None


def _assign(pieces: Sequence[PreparedPiece], blocks: Sequence[_Block]) -> tuple[dict[int, _Block], list[_Block]]:
    """The block of each piece by its index, and the blocks left over.

    A piece takes a block of its name and size: one with its outline and words, then one with its outline, then any.
    """
    block_of: dict[int, _Block] = {}
    free = list(blocks)
    for likeness in (_worded, _outlined, _named):
        for index, piece in enumerate(pieces):
            block = next((one for one in free if likeness(piece, one)), None) if index not in block_of else None
            if block is not None:
                block_of[index] = block
                free.remove(block)
    return block_of, free


def _named(piece: PreparedPiece, block: _Block) -> bool:
    return _same_text(piece.name, block.said("Piece Name")) and _same_text(piece.size, block.said("Size"))


def _outlined(piece: PreparedPiece, block: _Block) -> bool:
    outline = [Line(*tidy(piece.cut_line, closed=True), BOUNDARY)]
    return _named(piece, block) and not match(outline, block.lines.get(BOUNDARY, []), LIMIT).missing


def _worded(piece: PreparedPiece, block: _Block) -> bool:
    return _outlined(piece, block) and not _words_missing(piece, block)


def _prove_block(piece: PreparedPiece, block: _Block) -> tuple[list[str], float]:
    """What is wrong with a block, and the largest deviation of its lines (mm)."""
    told = [f"{thing} is extra" for thing in block.strange]
    deviation = 0.0
    fold = [_fold_line(piece)] if piece.cut is Cut.FOLD else []
    ends = [np.vstack((piece.grain[0][0], piece.grain[0][-1]))] if piece.grain else []
    groups: tuple[tuple[str, str, list[Array], bool], ...] = (
        (BOUNDARY, "boundary", [piece.cut_line], True),
        (SEWN, "sew line", [piece.seam_line] if len(piece.seam_line) else [], True),
        (INSIDE, "internal line", list(piece.lines), False),
        (CUT_OUT, "cut-out", list(piece.cutouts), True),
        (GRAIN, "grain line", ends, False),
        (MIRROR, "mirror line", fold, False),
    )
    for layer, word, points, closed in groups:
        wanted = [Line(*tidy(line, closed=closed), layer) for line in points]
        found = block.lines.get(layer, [])
        matched = match(wanted, found, LIMIT)
        deviation = max(deviation, matched.deviation)
        if matched.missing:
            told.append(f"{len(matched.missing)} of {len(wanted)} of its {word} is missing, or not where it should be")
        if matched.left:
            told.append(f"{len(matched.left)} {word} is extra on layer {layer}")
        told += [f"its {word} is not closed" for line in found if closed and not line.closed]
    told += [f"lines on layer {layer} are extra" for layer in block.lines if layer not in {row[0] for row in groups}]
    told += _marks(piece, block) + _vertices(piece, block)
    quantity = _quantity(piece)
    if (block.said("Quantity") or "").replace(" ", "") != quantity:
        told.append(f'"Quantity" says {block.said("Quantity") or "nothing"}, wanted {quantity} (as drawn, mirrored)')
    if not _same_text(piece.cloth, block.said("Material")):
        told.append(f'"Material" says {block.said("Material") or "nothing"}, wanted {piece.cloth}')
    told += [f'the words "{words}" are missing' for words in _words_missing(piece, block)]
    return told, deviation


def _fold_line(piece: PreparedPiece) -> Array:
    """The fold edge (mm): along y = 0, from end to end of the cut line there."""
    on_fold = piece.cut_line[np.abs(piece.cut_line[:, 1]) <= LIMIT.limit, 0]
    return np.array([(on_fold.min(), 0.0), (on_fold.max(), 0.0)]) if len(on_fold) else np.zeros((1, 2))


def _quantity(piece: PreparedPiece) -> str:
    return f"{piece.quantity},{piece.quantity if piece.cut is Cut.PAIR else 0}"


def _count(piece: PreparedPiece, block: _Block) -> Count:
    """What the file itself asks for: its quantity text."""
    numbers = [int(part) if part.strip().isdigit() else 0 for part in (block.said("Quantity") or "").split(",")]
    drawn, flipped = (*numbers, 0, 0)[:2]
    return Count(piece.garment, piece.size, piece.name, drawn, flipped, 0)


def _marks(piece: PreparedPiece, block: _Block) -> list[str]:
    """Notches by place, depth and direction; drill holes by place."""
    told = []
    free = [(*point, layer) for layer in NOTCH_LAYERS for point in block.points.get(layer, [])]
    kinds = piece.notch_kinds or (NotchKind.SLIT,) * len(piece.notches)
    for notch, kind in zip(piece.notches, kinds, strict=True):
        foot, run, width = _notch_figures(notch, kind)
        here = [point for point in free if np.hypot(*(foot - point[:2])) <= LIMIT.limit]
        where = f"{foot[0]:.1f}, {foot[1]:.1f} mm"
        if not here:
            told.append(f"the notch at {where} is missing")
            continue
        point = here[0]
        free.remove(point)
        depth, angle = float(np.hypot(*run)), float(np.degrees(np.arctan2(run[1], run[0])))
        if abs(point[2] - depth) > LIMIT.limit:
            told.append(f"the notch at {where} is {point[2]:.2f} mm deep, wanted {depth:.2f} mm")
        if abs((point[3] - angle + 180) % 360 - 180) > ANGLE_LIMIT_DEG:
            told.append(f"the notch at {where} points to {point[3]:.1f} degrees, wanted {angle:.1f}")
        if abs(point[4] - width) > LIMIT.limit:
            told.append(f"the notch at {where} is {point[4]:.2f} mm wide, wanted {width:.2f} mm")
        if point[5] != LAYER_OF[kind]:
            told.append(f"the notch at {where} is on layer {point[5]}, wanted {LAYER_OF[kind]}")
    told += [f"a notch at {point[0]:.1f}, {point[1]:.1f} mm is extra" for point in free]
    wanted = [(x, y) for x, y, _ in piece.drills]
    told += _points(wanted, block.points.get(DRILLS, []), "drill hole")
    return told


def _notch_figures(notch: Array, kind: NotchKind) -> tuple[Array, Array, float]:
    """Where a notch stands on the cut line, its way from there to its tip, and its width (mm)."""
    first, last = notch[0], notch[-1]
    across = float(np.hypot(*(last - first)))
    if kind is NotchKind.SLIT:
        return first, last - first, 0.0
    if kind is NotchKind.T:
        return first, notch[1] - first, float(np.hypot(*(last - notch[2])))
    middle = np.asarray((first + last) / 2)
    tip = notch[1:-1].mean(axis=0)
    return middle, np.asarray(tip - middle), across


def _points(wanted: Sequence[tuple[float, float]], found: Sequence[tuple[float, ...]], word: str) -> list[str]:
    told = []
    free = list(found)
    for x, y in wanted:
        here = [point for point in free if np.hypot(point[0] - x, point[1] - y) <= LIMIT.limit]
        if here:
            free.remove(here[0])
        else:
            told.append(f"the {word} at {x:.1f}, {y:.1f} mm is missing")
    return told + [f"a {word} at {point[0]:.1f}, {point[1]:.1f} mm is extra" for point in free]


def _vertices(piece: PreparedPiece, block: _Block) -> list[str]:
    """Every turn point is told, and what is told as turn or curve point is a vertex of a line."""
    told = []
    turns = np.array([point[:2] for point in block.points.get(TURNS, [])]).reshape(-1, 2)
    curves = np.array([point[:2] for point in block.points.get(CURVES, [])]).reshape(-1, 2)
    vertices = np.vstack((piece.cut_line, piece.seam_line, *piece.lines))
    missing = _off(piece.turns, turns).sum()
    if missing:
        told.append(f"{missing} turn points are missing")
    if _off(turns, piece.turns).any() or _off(turns, vertices).any():
        told.append("a turn point is extra, or not where it should be")
    if _off(curves, vertices).any():
        told.append("a curve point lies on no line")
    return told


def _off(points: Array, others: Array) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Which points have none of the others within the limit."""
    if not len(others):
        return np.ones(len(points), dtype=np.bool_)
    apart = np.abs(points[:, None] - others[None]).max(axis=2)
    return np.asarray(apart.min(axis=1) > LIMIT.limit, dtype=np.bool_)


def _words_missing(piece: PreparedPiece, block: _Block) -> list[str]:
    found = block.texts.get(WORDS, [])
    return [
        words for words in piece.label.words if words.strip() and not any(_same_text(words, text) for text in found)
    ]


def _same_text(ours: str, theirs: str | None) -> bool:
    """The same words when ours are written in plain ASCII: é as e; other letters may be written as any letters."""
    if theirs is None:
        return False
    plain = unicodedata.normalize("NFKD", ours)
    plain = "".join(letter for letter in plain if not unicodedata.combining(letter)).replace("⁄", "/")
    parts = re.split(r"[^\x20-\x7e]+", " ".join(plain.split()))
    pattern = r".{1,6}".join(re.escape(part) for part in parts)
    return re.fullmatch(pattern, " ".join(theirs.split()), re.IGNORECASE) is not None
