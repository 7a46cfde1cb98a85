"""What a job, or the recipe of a variation, asks to be done to a style's pieces: one frozen value for each step."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from cutroom.model.arrays import Points, frozen_points
from cutroom.model.piece import Cut, EdgeKind, Piece, SewnSeam


class Leave(StrEnum):
    """What becomes of the opening when a dart is pivoted away."""

    DART = "dart"
    FULLNESS = "fullness"


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on an edge of a piece.

    Attributes:
        edge: The edge.
        at: Distance along it from its start, counter-clockwise (mm); less than 0 counts from its end.
        share: Instead of `at`, a share of its length, 0 to 1.
    """

    edge: str
    at: float = 0.0
    share: float | None = None


@dataclass(frozen=True, slots=True)
class Slash:
    """Slash a piece from edge to edge and spread it; an end that is not opened is the pivot.

    Attributes:
        piece: The piece.
        start: Where the slash starts.
        end: Where it ends, on another edge.
        open_start: How far it is opened at its start (mm).
        open_end: The same at its end.
        gathers: What the edges gain is gathered or eased in: their seams' ease grows by it.
    """

    piece: str
    start: Spot
    end: Spot
    open_start: float = 0.0
    open_end: float = 0.0
    gathers: bool = False


@dataclass(frozen=True, slots=True)
class Fullness:
    """Add fullness: slashes spread evenly from one run of edges to another, all opened alike.

    Attributes:
        piece: The piece.
        along: Edges that follow each other counter-clockwise.
        to: The edges across from them, counter-clockwise.
        open_along: What `along` gains altogether (mm).
        open_to: What `to` gains altogether (mm).
        start: Run of `along` left as it is at its start (mm).
        end: The same at its end.
        slashes: How many.
        gathers: As in `Slash`.
    """

    piece: str
    along: tuple[str, ...]
    to: tuple[str, ...]
    open_along: float = 0.0
    open_to: float = 0.0
    start: float = 0.0
    end: float = 0.0
    slashes: int = 6
    gathers: bool = True


@dataclass(frozen=True, slots=True)
class Pivot:
    """Close a dart by pivoting part of the piece about the dart's point, and open it elsewhere.

    Attributes:
        piece: The piece.
        dart: The dart's name: `bust dart`.
        to: Where it is opened.
        leave: As a dart, or as fullness of the edge.
        share: How much of the dart's angle is moved there, above 0 to 1; the rest stays where it is.
        name: What the dart opened there is called; empty for the dart's own name, or `… 2` when some of it stays.
    """

    piece: str
    dart: str
    to: Spot
    leave: Leave = Leave.DART
    share: float = 1.0
    name: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Split:
    """Split a piece in two along a line, which becomes a seam.

    Attributes:
        piece: The piece.
        start: Where the line starts.
        end: Where it ends, on another edge.
        seam: Name of the new seam and of its edge on both pieces.
        names: The piece to the right of the line as it runs, and the one to its left.
        through: `(n, 2)` points a smooth line passes on its way (mm); none for a straight line.
        notches: Distances from the start of the line (mm) of notches on both sides.
    """

    piece: str
    start: Spot
    end: Spot
    seam: str
    names: tuple[str, str]
    through: Points = field(default_factory=lambda: frozen_points([]))
    notches: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "through", frozen_points(self.through))


@dataclass(frozen=True, slots=True, eq=False)
class CutOff:
    """Cut a piece off along a line and throw one part away.

    Attributes:
        piece: The piece.
        start: Where the line starts.
        end: Where it ends, on another edge.
        keep: An edge, whole or in part, of the part that is kept.
        edge: Name of the new edge.
        kind: What becomes of it.
        through: As in `Split`.
    """

    piece: str
    start: Spot
    end: Spot
    keep: str
    edge: str = "hem"
    kind: EdgeKind = EdgeKind.HEM
    through: Points = field(default_factory=lambda: frozen_points([]))

    def __post_init__(self) -> None:
        object.__setattr__(self, "through", frozen_points(self.through))


@dataclass(frozen=True, slots=True)
class Merge:
    """Merge two pieces along an edge of each, laid edge to edge; the seam between them is gone.

    Attributes:
        first: Piece that stays where it is.
        first_edge: Its edge.
        second: Piece that is laid against it.
        second_edge: Its edge.
        name: What the merged piece is called.
    """

    first: str
    first_edge: str
    second: str
    second_edge: str
    name: str


@dataclass(frozen=True, slots=True)
class Mirror:
    """Turn pieces over: each is mirrored in its grainline and belongs to the other side of the body.

    Attributes:
        pieces: The pieces; those that are sewn into one side of a seam go together.
    """

    pieces: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Lengthen:
    """Lengthen a piece at a line, or shorten it by folding cloth out there; the edges it crosses are trued.

    Attributes:
        piece: The piece.
        start: Where the line starts.
        end: Where it ends, on another edge.
        by: How much longer (mm); less than 0 shortens.
        gathers: As in `Slash`.
    """

    piece: str
    start: Spot
    end: Spot
    by: float
    gathers: bool = False


@dataclass(frozen=True, slots=True)
class Extend:
    """Extend a piece: an edge moved out parallel to itself, its neighbours run on straight to meet it.

    Attributes:
        piece: The piece.
        edge: The edge.
        by: How far (mm); less than 0 moves it in.
    """

    piece: str
    edge: str
    by: float


@dataclass(frozen=True, slots=True)
class TrueUp:
    """True edges up: a run of them is drawn again as one smooth curve.

    Attributes:
        piece: The piece.
        edges: Edges that follow each other counter-clockwise; each keeps its turn points.
        start: Run left as it is at the start (mm).
        end: The same at the end.
        points: How many points the curve passes on its way, beside the turn points; 0 draws straight lines.
        gathers: As in `Slash`.
        square: Where it starts and ends at a turn point it is square to the edge beside it, so that it runs on smooth
            over the seam; else it leaves as it did.
    """

    piece: str
    edges: tuple[str, ...]
    start: float = 0.0
    end: float = 0.0
    points: int = 5
    gathers: bool = False
    square: bool = False


@dataclass(frozen=True, slots=True)
class Finish:
    """Say what becomes of an edge: a hem, a seam or a fold, and what it is called.

    Attributes:
        piece: The piece.
        edge: The edge.
        kind: What becomes of it.
        name: Its new name, or empty to keep it.
    """

    piece: str
    edge: str
    kind: EdgeKind
    name: str = ""


@dataclass(frozen=True, slots=True)
class Facing:
    """Take a facing off a piece: a strip of one width along any of its edges, turned over.

    Attributes:
        piece: The piece.
        edges: Edges that follow each other counter-clockwise.
        width: Width of the strip (mm).
        name: What the facing is called.
        cloth: Which cloth of the garment it is cut from.
        allowance: Seam allowance of its outer edge (mm), or None for the style's.
    """

    piece: str
    edges: tuple[str, ...]
    width: float
    name: str
    cloth: str = "self"
    allowance: float | None = None


@dataclass(frozen=True, slots=True)
class Derive:
    """Derive a piece from another for another cloth, such as a lining or an interfacing, turned over.

    Attributes:
        piece: The piece.
        name: What the derived piece is called.
        cloth: Which cloth of the garment it is cut from.
        offset: How far its seam line lies outside the piece's (mm); less than 0 lies inside.
        offsets: The same for single edges, by name.
        allowance: Seam allowance of all its edges (mm), or None for the style's.
        sewn: It is sewn to the other pieces derived for that cloth as the piece is to theirs; None for what is usual: a
            lining is, an interfacing is not.
    """

    piece: str
    name: str
    cloth: str
    offset: float = 0.0
    offsets: Mapping[str, float] = field(default_factory=dict)
    allowance: float | None = None
    sewn: bool | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Add:
    """Add a piece that was drafted to go with others, and what it is sewn to.

    Attributes:
        piece: The piece.
        seams: Seams it is part of.
    """

    piece: Piece
    seams: tuple[SewnSeam, ...] = ()


@dataclass(frozen=True, slots=True)
class Recut:
    """Say how a piece is cut from the cloth.

    Attributes:
        piece: The piece.
        cut: Pair or single.
        quantity: How many to one garment.
    """

    piece: str
    cut: Cut
    quantity: int = 1


@dataclass(frozen=True, slots=True)
class SetNotch:
    """Set a notch.

    Attributes:
        piece: The piece.
        spot: Where.
        count: 1, 2 or 3.
        name: What it is for, or empty.
    """

    piece: str
    spot: Spot
    count: int = 1
    name: str = ""


Step = (
    Slash
    | Fullness
    | Pivot
    | Split
    | CutOff
    | Merge
    | Mirror
    | Lengthen
    | Extend
    | TrueUp
    | Finish
    | Facing
    | Derive
    | Add
    | Recut
    | SetNotch
)
"""One step of an alteration."""
