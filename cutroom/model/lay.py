"""What must lie on each cloth, and how many pieces of each hand come out of it."""

from dataclasses import dataclass

from cutroom.model.fabric import Fabric
from cutroom.model.prepared import PreparedPiece


@dataclass(frozen=True, slots=True, eq=False)
class Wanted:
    """One piece to be laid once.

    Attributes:
        piece: The prepared piece.
        copy: Which of the garments of its line it is counted to, from 1.
        flipped: Laid the other hand up; None when either will do.
    """

    piece: PreparedPiece
    copy: int
    flipped: bool | None


@dataclass(frozen=True, slots=True, eq=False)
class Lay:
    """Everything that goes on one cloth.

    Attributes:
        fabric: The cloth and how it is spread.
        wanted: The pieces to lay, one entry a placement.
        pieces: The prepared pieces behind them.
    """

    fabric: Fabric
    wanted: tuple[Wanted, ...]
    pieces: tuple[PreparedPiece, ...]

    @property
    def gaps(self) -> frozenset[float]:
        """The fabric's gap and those that pieces and their edges have of their own (mm)."""
        own = (piece.gap for piece in self.pieces if piece.gap is not None)
        edges = (edge.gap for piece in self.pieces for edge in piece.edge_gaps)
        return frozenset([self.fabric.gap, *own, *edges, *(one.shares.gap for one in self.pieces if one.shares)])

    @property
    def garments(self) -> frozenset[tuple[str, str, int]]:
        """The garments that its pieces are counted to: `(garment, size, copy)`."""
        return frozenset((one.piece.garment, one.piece.size, one.copy) for one in self.wanted)


@dataclass(frozen=True, slots=True)
class Counted:
    """One line of the cut list: a piece of a garment, how many are needed and how many come out.

    Attributes:
        garment: The order's line.
        size: A size or a client's code.
        piece: The piece.
        cloth: Which cloth of the garment: `self`, `lining`.
        fabric: The fabric it is cut from.
        left: Needed for the left side.
        right: Needed for the right side.
        whole: Needed of a piece that is its own mirror image, or is cut on the fold.
        got_left: What comes out of the lay.
        got_right: Likewise.
        got_whole: Likewise.
        area: Area inside the cut line, as it lies (mm2).
    """

    garment: str
    size: str
    piece: str
    cloth: str
    fabric: str
    left: int
    right: int
    whole: int
    got_left: int
    got_right: int
    got_whole: int
    area: float

    @property
    def short(self) -> int:
        """Pieces that would be missing."""
        return (
            max(0, self.left - self.got_left)
            + max(0, self.right - self.got_right)
            + max(0, self.whole - self.got_whole)
        )

    @property
    def over(self) -> int:
        """Pieces that would be cut for nothing."""
        return (
            max(0, self.got_left - self.left)
            + max(0, self.got_right - self.right)
            + max(0, self.got_whole - self.whole)
        )
