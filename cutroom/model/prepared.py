"""A piece made ready for the machine: everything that will be drawn or cut, and nothing else."""

from dataclasses import dataclass

from cutroom.model.arrays import Points, frozen_many, frozen_points
from cutroom.model.laying import EdgeGap, Meet, RoughBlock, Shares
from cutroom.model.piece import Cut, Hand, NotchKind


@dataclass(frozen=True, slots=True)
class LabelLine:
    """Where one line of a label's words stands.

    Attributes:
        at: Left end of its letters on the baseline, about the label's centre (mm).
        width: From there to their right end (mm).
        strokes: How many strokes draw it.
    """

    at: tuple[float, float]
    width: float
    strokes: int


@dataclass(frozen=True, slots=True, eq=False)
class Label:
    """Lettering as single strokes, inside the piece.

    The strokes stand about (0, 0), reading along +x. Composing a marker sets them down at the posed centre,
    turned by their own turn and by the pose but never mirrored and never upside down.

    Attributes:
        words: The lines of text, for readers and listings.
        centre: Middle of the text box, piece axes (mm).
        strokes: Each `(n, 2)`, mm, about the centre.
        height: Capital height (mm).
        turn_deg: Reading direction in piece axes (degrees, counter-clockwise), 0 along the grain; as the piece lies
            when it is flipped, for the lettering of a flipped piece.
        lines: Of each line of the words where it stands, for machines with letters of their own; empty when that is
            not known, or nothing is lettered. Their strokes follow each other.
    """

    words: tuple[str, ...]
    centre: tuple[float, float]
    strokes: tuple[Points, ...]
    height: float
    turn_deg: float = 0.0
    lines: tuple[LabelLine, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "strokes", frozen_many(self.strokes))


@dataclass(frozen=True, slots=True, eq=False)
class PreparedPiece:
    """One piece of one garment in one size, ready to be laid.

    Piece axes: x along the grain, pointing the way the nap runs; y across. The half of a fold piece lies at y >= 0
    with its fold edge on y = 0. Everything is flattened to a chord error of 0.02 mm.

    Attributes:
        garment: The order's line: `blouse for Ines`.
        size: A size or a client's code.
        name: The piece: `front`.
        cut: Pair, single or on the fold.
        quantity: Pairs, singles or fold pieces to one garment.
        cloth: Which cloth of the garment it is cut from.
        crossways: It may also lie across the grain.
        cut_line: `(n, 2)` closed without repeating the first point, counter-clockwise (mm).
        seam_line: `(m, 2)`, likewise.
        turns: `(k, 2)`: the vertices of cut line and seam line that are turn points; the others are curve points.
        notches: Each `(2, 2)` or longer: from the cut line inwards (mm).
        drills: `(x, y, diameter)` each (mm).
        grain: Strokes of the grainline and its arrow heads; the first is the line itself.
        lines: Lines drawn inside the piece.
        label: Lettering for the piece as drawn.
        label_mirrored: Lettering for the piece laid flipped.
        hand: Side of the body of the piece as drawn.
        symmetric: It is its own mirror image, so a left and a right are the same thing.
        notch_kinds: The shape of each notch, in their order; empty when all are slits.
        cutouts: `(n, 2)` closed lines inside the piece that are cut, clockwise (mm).
        number: The number it carries instead of words when it is too small for them; 0 when it has its words.
        gap: Its own gap when it is laid (mm), or None for the fabric's.
        tilt_deg: How far it may be tilted off the grain, either way (degrees).
        meets: Points that meet the cloth's pattern.
        edge_gaps: Gaps of single edges.
        shares: With which pieces it may share a cut line, or None.
        block: The block of several pieces that it is cut roughly in, or None.
    """

    garment: str
    size: str
    name: str
    cut: Cut
    quantity: int
    cloth: str
    crossways: bool
    cut_line: Points
    seam_line: Points
    turns: Points
    notches: tuple[Points, ...]
    drills: tuple[tuple[float, float, float], ...]
    grain: tuple[Points, ...]
    lines: tuple[Points, ...]
    label: Label
    label_mirrored: Label
    hand: Hand = Hand.LEFT
    symmetric: bool = False
    notch_kinds: tuple[NotchKind, ...] = ()
    cutouts: tuple[Points, ...] = ()
    number: int = 0
    gap: float | None = None
    tilt_deg: float = 0.0
    meets: tuple[Meet, ...] = ()
    edge_gaps: tuple[EdgeGap, ...] = ()
    shares: Shares | None = None
    block: RoughBlock | None = None

    def __post_init__(self) -> None:
        for name in ("cut_line", "seam_line", "turns"):
            object.__setattr__(self, name, frozen_points(getattr(self, name)))
        for name in ("notches", "grain", "lines", "cutouts"):
            object.__setattr__(self, name, frozen_many(getattr(self, name)))

    @property
    def key(self) -> tuple[str, str, str]:
        """`(garment, size, name)`: what a placement refers to."""
        return self.garment, self.size, self.name
