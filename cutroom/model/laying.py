"""What a style says of how its pieces are laid: gaps, tilts, shared cut lines, and what meets on stripes and checks."""

from collections.abc import Mapping
from dataclasses import dataclass, field

MOST_TILT = 5.0
"""A tilt off the grain of more than this (degrees) is taken for a slip: such a piece twists.

Common practice, no source.
"""


@dataclass(frozen=True, slots=True)
class Laying:
    """How one piece may be laid.

    Attributes:
        gap: Its own gap (mm), instead of the fabric's; two pieces keep the mean of theirs.
        tilt_deg: How far it may be tilted off the grain, either way (degrees).
        edges: Gaps of single edges by their names (mm), instead of the piece's.
    """

    gap: float | None = None
    tilt_deg: float = 0.0
    edges: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class EdgeGap:
    """The gap of an edge of a piece that is ready to be laid.

    Attributes:
        edge: Its name.
        gap: mm; two sides keep the mean of theirs.
        sides: Which sides of the piece's cut line are the edge's: side `k` runs from point `k` to the next.
    """

    edge: str
    gap: float
    sides: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Shares:
    """Pieces that may share a cut line lie as near to one another as they like, down to a gap of their own.

    Attributes:
        name: Pieces that share one name may share a line.
        gap: Least distance between two of them (mm), in place of every other gap: 0 for a knife, the width that a beam
            burns away for a laser.
    """

    name: str
    gap: float = 0.0


@dataclass(frozen=True, slots=True)
class SharedAsked:
    """Pieces of a style that may share cut lines, each with all the others and with its own copies.

    Attributes:
        pieces: Their names.
        gap: Least distance between two of them (mm).
    """

    pieces: tuple[str, ...]
    gap: float


@dataclass(frozen=True, slots=True)
class PointAsked:
    """A point of a piece: exactly one of notch, corner and at is given.

    Attributes:
        piece: The piece.
        notch: `(edge, notch)`: a notch by its name, or by its number along the edge, from 1.
        corner: The turn point in which the two edges meet.
        at: x and y in the frame that the piece is drawn in (mm).
    """

    piece: str
    notch: tuple[str, str] | None = None
    corner: tuple[str, str] | None = None
    at: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class MatchAsked:
    """Points of a garment's pieces that fall on the same place of the cloth's pattern.

    Attributes:
        name: `hip`.
        points: One point a piece.
        stripe: They fall on the stripe itself.
        along: What repeats along the cloth is matched.
        across: What repeats across the cloth is matched.
    """

    name: str
    points: tuple[PointAsked, ...]
    stripe: bool = False
    along: bool = True
    across: bool = True


@dataclass(frozen=True, slots=True)
class Meet:
    """A point of a piece that must meet the cloth's pattern, as a match asks for it.

    Attributes:
        name: Of the match; the points of that name of one garment fall on the same place of the repeat.
        at: In the axes of its piece (mm).
        stripe: It falls on the stripe itself.
        along: What repeats along the cloth counts.
        across: What repeats across the cloth counts.
    """

    name: str
    at: tuple[float, float]
    stripe: bool = False
    along: bool = True
    across: bool = True


@dataclass(frozen=True, slots=True)
class RoughBlock:
    """Pieces of one garment that are cut roughly together, as one block, and each by its own line afterwards.

    Attributes:
        name: `collar`.
        allowance: How far (mm) the line of the block runs outside its pieces.
        gap: Between its pieces (mm), or None for their usual ones.
    """

    name: str
    allowance: float
    gap: float | None = None


@dataclass(frozen=True, slots=True)
class BlockAsked:
    """A block that a style asks for.

    Attributes:
        block: What it is.
        pieces: Names of its pieces.
    """

    block: RoughBlock
    pieces: tuple[str, ...]
