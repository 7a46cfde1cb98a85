"""One pattern piece as drafted or taken in, on the seam line, before allowance."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise

from cutroom.errors import PieceError
from cutroom.model.arrays import Points, frozen_points
from cutroom.model.finding import Finding
from cutroom.model.laying import Meet, RoughBlock, Shares

WIDEST_ALLOWANCE = 200.0
"""An allowance of this much (mm) or more is taken for a slip of the pen."""


class Cut(StrEnum):
    """How a piece is cut from the cloth."""

    PAIR = "pair"  # a left and a right, mirror images
    SINGLE = "single"  # as drawn, seen from the right side of the cloth
    FOLD = "fold"  # half a piece, its fold edge laid on the fold of the cloth


class Hand(StrEnum):
    """Which side of the body a piece belongs to, as the wearer has it."""

    LEFT = "left"
    RIGHT = "right"

    @property
    def other(self) -> "Hand":
        """The mirror image's hand."""
        return Hand.RIGHT if self is Hand.LEFT else Hand.LEFT


class EdgeKind(StrEnum):
    """What becomes of an edge."""

    SEAM = "seam"
    HEM = "hem"  # turned up: its allowance ends mirror the seams it turns against
    FOLD = "fold"  # never cut: the middle of a piece cut on the fold


class Corner(StrEnum):
    """How the allowance of an edge meets that of the next edge, at the edge's end."""

    AUTO = "auto"  # folded back at a hem, stepped between unlike seams in one line, else mitred; hollow ones clipped
    MITRED = "mitred"  # both run on until they meet, cut off square where that runs far out
    CONTINUED = "continued"  # both run on until they meet, however far: sewn first, then crossed
    SQUARED = "squared"  # square to this seam, which is sewn first, so that its two plies end together
    SQUARED_NEXT = "squared to next"  # square to the next seam, which is sewn first
    FOLDED = "folded back"  # this edge turns up: its allowance ends as the next one's mirrored in its seam line
    FOLDED_NEXT = "next folded back"  # the next edge turns up
    BLUNTED = "blunted"  # cut off square across, no further out than the allowance
    STEPPED = "stepped"  # each ends square at the turn point: a jog between unlike seams in one line
    CLEARED = "cleared"  # a hollow corner trimmed where its allowances meet
    CLIPPED = "clipped"  # a hollow corner trimmed, and a slit to clip it by

    @property
    def turned(self) -> "Corner":
        """The same corner when the outline is run round the other way."""
        other = {
            Corner.SQUARED: Corner.SQUARED_NEXT,
            Corner.SQUARED_NEXT: Corner.SQUARED,
            Corner.FOLDED: Corner.FOLDED_NEXT,
            Corner.FOLDED_NEXT: Corner.FOLDED,
        }
        return other.get(self, self)


class NotchKind(StrEnum):
    """The shape of a notch."""

    SLIT = "slit"  # a cut straight in
    V_IN = "v in"  # a V cut into the allowance
    V_OUT = "v out"  # a V that stands out of the cut line
    T = "t"  # a cut straight in with a bar across its end
    BOX = "box"  # a rectangle cut into the allowance


@dataclass(frozen=True, slots=True, eq=False)
class Edge:
    """The seam line from one turn point to the next.

    Attributes:
        name: `armhole`, `cap front`, `side seam`; unique within the piece.
        points: `(n, 2)` read-only, mm; first and last are turn points; counter-clockwise round the piece.
        allowance: Seam allowance outwards (mm); 0 is a raw edge, and what a fold has.
        kind: Seam, hem or fold.
        corner: How its allowance meets the next edge's, at its end.
        turns: Where its allowance is turned again, besides on the seam line itself: distances outwards from there,
            growing (mm). A hem turned twice has one, a turn-up of a trouser leg has two.
        gap: Its own gap when its piece is laid (mm), or None for the piece's.
    """

    name: str
    points: Points
    allowance: float = 0.0
    kind: EdgeKind = EdgeKind.SEAM
    corner: Corner = Corner.AUTO
    turns: tuple[float, ...] = ()
    gap: float | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", frozen_points(self.points))
        if self.turns and any(not low < high for low, high in pairwise((0.0, *self.turns, self.allowance))):
            raise PieceError(
                f"its hem is {self.allowance:g} mm wide and turns at {', '.join(f'{at:g}' for at in self.turns)} mm",
                "Write growing distances from the hem line, all less than the allowance",
                place=f'edge "{self.name}"',
            )
        if len(self.points) < 2:
            raise PieceError("it has fewer than two points", "Give it a start and an end", place=f'edge "{self.name}"')
        if not 0 <= self.allowance < WIDEST_ALLOWANCE:
            raise PieceError(
                f"its allowance is {self.allowance:g} mm, wanted 0 to less than {WIDEST_ALLOWANCE:g}",
                "Check the allowance and its unit",
                place=f'edge "{self.name}"',
            )


@dataclass(frozen=True, slots=True)
class Notch:
    """A mark across the allowance, so that two seams meet where they should.

    Attributes:
        edge: The edge it stands on.
        at: Distance along the seam line from the start of the edge (mm).
        count: 1 on front edges, 2 on back edges, 3 by custom at a zip end.
        kind: Its shape; None for the piece's usual one.
        name: What it is for, or empty.
    """

    edge: str
    at: float
    count: int = 1
    kind: NotchKind | None = None
    name: str = ""


@dataclass(frozen=True, slots=True)
class NotchForm:
    """How the notches of a piece are made.

    Attributes:
        kind: Shape of those that do not say their own.
        depth: How deep they are cut (mm); 0 for as deep as custom and the allowance let them.
        width: Of V, T and box (mm); 0 for the width usual for the kind.
        hems: A notch at both ends of each turn of a hem, by itself.
        folds: A notch at both ends of the fold of a piece cut on the fold, by itself.
    """

    kind: NotchKind = NotchKind.SLIT
    depth: float = 0.0
    width: float = 0.0
    hems: bool = True
    folds: bool = True


@dataclass(frozen=True, slots=True)
class NotchAsked:
    """A notch asked for by name, to be set once its piece is there; distances run as the edge does.

    Attributes:
        piece: The piece.
        edge: The edge.
        at: Distance from its start (mm).
        from_end: Distance from its end (mm).
        share: Share of its length from its start, 0 to 1.
        line: Where the line of that name, drawn or of the construction, meets it.
        mate: `(piece, edge, notch)`: where that notch comes to lie when the seam of both edges is walked.
        count: 1, 2 or 3.
        kind: Its shape; None for the piece's usual one.
        name: What it is for.
    """

    piece: str
    edge: str
    at: float | None = None
    from_end: float | None = None
    share: float | None = None
    line: str | None = None
    mate: tuple[str, str, str] | None = None
    count: int = 1
    kind: NotchKind | None = None
    name: str = ""


class Pressed(StrEnum):
    """Which way the cloth of a dart or a pleat is pressed."""

    START = "start"  # towards the start of the edge
    END = "end"

    @property
    def turned(self) -> "Pressed":
        """The same way when the edge is run from its other end."""
        return Pressed.END if self is Pressed.START else Pressed.START


@dataclass(frozen=True, slots=True)
class Dart:
    """Cloth taken in from an edge: a dart that ends in a point, or a pleat folded along parallel lines.

    The edge runs on over the mouth as it is drawn; preparing shapes it so that its raw edge is caught in the seam.

    Attributes:
        name: `waist dart`.
        edge: The edge it opens on.
        start: Where the mouth begins, along the seam line from the start of the edge (mm).
        end: Where it ends.
        point: Where the legs meet, piece frame (mm); of a pleat, where its fold line ends.
        pleat: Its legs do not meet: both run alongside the fold line.
        pressed: Which way it is pressed.
        set_back: The drill hole stands this far (mm) short of the point.
    """

    name: str
    edge: str
    start: float
    end: float
    point: tuple[float, float]
    pleat: bool = False
    pressed: Pressed = Pressed.START
    set_back: float = 13.0


@dataclass(frozen=True, slots=True)
class DrillHole:
    """A hole that marks a point inside the piece.

    Attributes:
        name: `bust dart`, for example.
        at: Where, piece frame (mm).
        diameter: mm.
    """

    name: str
    at: tuple[float, float]
    diameter: float = 2.0


@dataclass(frozen=True, slots=True, eq=False)
class NamedLine:
    """A line with a name: drawn inside a piece, or a line of its construction.

    Attributes:
        name: `bicep line`, `dart leg`; not necessarily unique.
        points: `(n, 2)` read-only, mm.
    """

    name: str
    points: Points

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", frozen_points(self.points))


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """One pattern piece on its seam line, drawn as seen from the right side of the cloth.

    The piece frame is the draft's own: usually x across the body and y up, the grain down the middle.

    Attributes:
        name: `front`, `back`, `sleeve`; unique within the style.
        edges: The seam line, edge after edge, counter-clockwise; each edge starts where the last one ended.
        grain: `(2, 2)`: the grainline, pointing the way the nap runs, usually from top to hem (mm).
        cut: Pair, single or on the fold.
        quantity: Pairs, singles or whole fold pieces to one garment.
        cloth: Which cloth of the garment it is cut from: `self`, `lining`, `fusible`.
        crossways: It may also lie across the grain.
        hand: Side of the body of the piece as drawn; of no weight for a fold piece.
        notches: Marks on its edges.
        drills: Drill holes.
        lines: Lines drawn inside it, such as dart legs.
        construction: Lines it was drafted by, kept and named.
        notch_form: How its notches are made.
        darts: Darts and pleats still to be opened out by preparing; drafted blocks draw theirs themselves.
        cutouts: Closed lines inside it that are cut.
        press_shrink: What steam and pressing take from it, along the grain and across it, as fractions: it is let
            out by that besides the shrinkage of the cloth.
        block_margin: It is first cut roughly, this far (mm) outside its cut line, and cut again after fusing; 0 for no
            such block.
        gap: Its own gap when it is laid (mm), or None for the fabric's.
        tilt_deg: How far it may be tilted off the grain, either way (degrees).
        meets: Points that meet the cloth's pattern, piece frame.
        shares: With which pieces it may share a cut line, or None.
        block: The block of several pieces that it is cut roughly in, or None.
        taken_off: The piece it was derived from, or empty.
    """

    name: str
    edges: tuple[Edge, ...]
    grain: Points
    cut: Cut = Cut.SINGLE
    quantity: int = 1
    cloth: str = "self"
    crossways: bool = False
    hand: Hand = Hand.LEFT
    notches: tuple[Notch, ...] = ()
    drills: tuple[DrillHole, ...] = ()
    lines: tuple[NamedLine, ...] = ()
    construction: tuple[NamedLine, ...] = field(default=())
    notch_form: NotchForm = field(default_factory=NotchForm)
    darts: tuple[Dart, ...] = ()
    cutouts: tuple[NamedLine, ...] = ()
    press_shrink: tuple[float, float] = (0.0, 0.0)
    block_margin: float = 0.0
    gap: float | None = None
    tilt_deg: float = 0.0
    meets: tuple[Meet, ...] = ()
    shares: Shares | None = None
    block: RoughBlock | None = None
    taken_off: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "grain", frozen_points(self.grain))

    def edge(self, name: str) -> Edge:
        """The edge of that name.

        Raises:
            PieceError: There is none; the names there are are listed.
        """
        for edge in self.edges:
            if edge.name == name:
                return edge
        names = ", ".join(edge.name for edge in self.edges)
        raise PieceError(f'it has no edge "{name}"', f"Name one of its edges: {names}", place=f'piece "{self.name}"')


@dataclass(frozen=True, slots=True)
class SewnSeam:
    """Edges that are sewn together, to be walked against each other.

    Attributes:
        name: `front armhole and cap`.
        first: `(piece, edge)` pairs laid end to end, from the common end on.
        second: The same for the other side.
        ease: How much longer (mm) the second side is meant to be.
        within: Difference (mm) from that which may pass without a word.
        first_from_end: The edges of the first side run towards the common end, so each is walked from its end back.
        second_from_end: The same for the second side.
    """

    name: str
    first: tuple[tuple[str, str], ...]
    second: tuple[tuple[str, str], ...]
    ease: float = 0.0
    within: float = 1.0
    first_from_end: bool = False
    second_from_end: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Style:
    """The set of pieces of one garment in one size or for one client.

    Attributes:
        name: `blouse`.
        size: A size or a client's code.
        pieces: The pieces.
        seams: What is sewn to what.
        facts: Lines of the draft sheet, name and text, such as the solved cap height.
        findings: What an alteration left out or took apart, so that nothing is lost without a word.
        became: What an alteration has made of an edge: the `(piece, edge)` it is called now, or all of them it has
            become, counter-clockwise; none when it is gone.
    """

    name: str
    size: str
    pieces: tuple[Piece, ...]
    seams: tuple[SewnSeam, ...] = ()
    facts: tuple[tuple[str, str], ...] = ()
    findings: tuple[Finding, ...] = ()
    became: Mapping[tuple[str, str], tuple[tuple[str, str], ...]] = field(default_factory=dict)

    def piece(self, name: str) -> Piece:
        """The piece of that name.

        Raises:
            PieceError: There is none.
        """
        for piece in self.pieces:
            if piece.name == name:
                return piece
        names = ", ".join(piece.name for piece in self.pieces)
        raise PieceError(f'there is no piece "{name}"', f"Name one of: {names}", place=f'style "{self.name}"')
