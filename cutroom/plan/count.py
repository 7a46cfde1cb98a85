"""The count: what the order needs of each piece and hand, and what a marker yields through its spread."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cutroom.geometry.polygon import area
from cutroom.model.fabric import Fabric, Face, Spread
from cutroom.model.finding import Finding, Severity
from cutroom.model.lay import Counted
from cutroom.model.order import Garment
from cutroom.model.piece import Cut, Hand
from cutroom.model.prepared import PreparedPiece


@dataclass(frozen=True, slots=True)
class Hands:
    """Pieces by hand; `whole` are pieces of which a left and a right are the same."""

    left: int = 0
    right: int = 0
    whole: int = 0

    def times(self, count: int) -> "Hands":
        """So many times as many."""
        return Hands(self.left * count, self.right * count, self.whole * count)

    def plus(self, other: "Hands") -> "Hands":
        """Both together."""
        return Hands(self.left + other.left, self.right + other.right, self.whole + other.whole)


def needed(piece: PreparedPiece, copies: int) -> Hands:
    """What so many garments need of a piece."""
    count = piece.quantity * copies
    if piece.symmetric or piece.cut is Cut.FOLD:
        return Hands(whole=2 * count if piece.cut is Cut.PAIR else count)
    if piece.cut is Cut.PAIR:
        return Hands(left=count, right=count)
    return Hands(left=count) if piece.hand is Hand.LEFT else Hands(right=count)


def laid_on(piece: PreparedPiece, copies: int, fabric: Fabric) -> Fabric:
    """The part of a lay that a piece lies on: the opened one where the folded one cannot bring it in exact numbers.

    Args:
        piece: The piece.
        copies: Garments that need it.
        fabric: The fabric it is cut from.
    """
    if not (fabric.open_part and fabric.has_fold) or piece.cut is Cut.FOLD:
        return fabric
    need, got = needed(piece, copies), yielded(piece, fabric, flipped=False)
    exact = need.left == need.right if not got.whole else need.whole % got.whole == 0
    return fabric if exact else fabric.opened()


def parts_of(fabrics: Mapping[str, Fabric]) -> dict[str, Fabric]:
    """Fabrics by name, and their opened parts."""
    opened = [fabric.opened() for fabric in fabrics.values() if fabric.open_part]
    return {**fabrics, **{part.name: part for part in opened}}


def yielded(piece: PreparedPiece, fabric: Fabric, *, flipped: bool) -> Hands:
    """What one placement yields from the whole lay.

    | spread | one placement gives |
    |---|---|
    | open, face up | `plies` of the hand laid; face down, of the other |
    | folded or tubular | `plies` left and `plies` right; of a fold piece `plies` whole |
    | face to face | half of `plies` of each hand |

    Common practice, no source.
    """
    plies = fabric.plies
    if piece.cut is Cut.FOLD:
        return Hands(whole=plies)
    sheets = 2 * plies if fabric.has_fold else plies
    if piece.symmetric:
        return Hands(whole=sheets)
    if fabric.has_fold or fabric.spread is Spread.FACE_TO_FACE:
        return Hands(left=sheets // 2, right=sheets // 2)
    seen = flipped != (fabric.face is Face.DOWN)
    hand = piece.hand.other if seen else piece.hand
    return Hands(left=plies) if hand is Hand.LEFT else Hands(right=plies)


def cut_list(
    garments: Sequence[Garment],
    fabrics: Mapping[str, Fabric],
    pieces: Sequence[PreparedPiece],
    found: Mapping[tuple[str, str, str], tuple[int, int]],
) -> tuple[Counted, ...]:
    """What is needed of every piece, beside what comes out of the lays.

    Args:
        garments: The lines of the order.
        fabrics: Cloths by name.
        pieces: Every prepared piece.
        found: By `(garment, size, piece)`: how many placements lie as drawn, and how many flipped.
    """
    copies = {(garment.name, garment.wearer): garment for garment in garments}
    lines = []
    for piece in pieces:
        garment = copies[piece.garment, piece.size]
        fabric = laid_on(piece, garment.copies, fabrics[garment.fabrics[piece.cloth]])
        drawn, flipped = found.get(piece.key, (0, 0))
        need = needed(piece, garment.copies)
        got = yielded(piece, fabric, flipped=False).times(drawn)
        got = got.plus(yielded(piece, fabric, flipped=True).times(flipped))
        lines.append(
            Counted(
                garment=piece.garment,
                size=piece.size,
                piece=piece.name,
                cloth=piece.cloth,
                fabric=fabric.name,
                left=need.left,
                right=need.right,
                whole=need.whole,
                got_left=got.left,
                got_right=got.right,
                got_whole=got.whole,
                area=area(piece.cut_line),
            )
        )
    return tuple(lines)


def check_count(lines: Sequence[Counted], fabrics: Mapping[str, Fabric]) -> tuple[Finding, ...]:
    """STOP for every piece that would be missing, with what the slip would cost; WARN for every one too many."""
    findings = []
    fabrics = parts_of(fabrics)
    for line in lines:
        place = f'{line.garment} ({line.size}), piece "{line.piece}"'
        if line.short:
            findings.append(Finding(Severity.STOP, place, _missing(line, fabrics[line.fabric]), _fix(line)))
        elif line.over:
            what = f"{_hands(line.got_left, line.got_right, line.got_whole)} come out, {line.over} more than ordered"
            fix = "Order as many garments as the plies give, or lay fewer plies"
            findings.append(Finding(Severity.WARN, place, what, fix))
    return tuple(findings)


def _missing(line: Counted, fabric: Fabric) -> str:
    what = (
        f"{_hands(line.got_left, line.got_right, line.got_whole)} come out; "
        f"need {_hands(line.left, line.right, line.whole)} ({line.short} short)"
    )
    cloth_area = line.short * line.area / 1e6
    length = line.short * line.area / fabric.width / 1000
    what += f". Cutting them again would take {cloth_area:.2f} m² or {length:.2f} m of this cloth"
    return what + (f", {length * fabric.price:.2f} at {fabric.price:g} a metre" if fabric.price is not None else "")


def _fix(line: Counted) -> str:
    if line.got_left + line.got_right >= line.left + line.right and not line.whole:
        return "Lay one of them flipped for each that is of the wrong hand"
    return "Lay the missing pieces before anything is cut"


def _hands(left: int, right: int, whole: int) -> str:
    if whole or not (left or right):
        return f"{whole}"
    return f"{left} L, {right} R"
