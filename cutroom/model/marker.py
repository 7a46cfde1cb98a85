"""The marker: the single source of truth of which every file is a projection."""

from dataclasses import dataclass, field

from cutroom.model.fabric import Fabric
from cutroom.model.finding import Finding
from cutroom.model.prepared import PreparedPiece

GRID = 0.0001
"""Placement shifts are whole multiples of this (mm): sixteenths of an inch lie on it, so that pieces cut to them fill a
width exactly, and a marker's file can say every shift as it is."""


def on_grid(shift: float) -> float:
    """The place on the grid (mm) nearest to a shift."""
    return round(shift, 4) + 0.0  # never -0.0


@dataclass(frozen=True, slots=True)
class Placement:
    """One piece laid on the cloth: flipped first (y to -y), then turned about its own origin, then shifted.

    Attributes:
        piece: Name of the piece.
        garment: The order's line.
        size: A size or a client's code.
        copy: Which of the garments of that line, from 1.
        flipped: Laid the other hand up.
        turn_deg: Counter-clockwise turn (degrees).
        x: Shift along the cloth (mm).
        y: Shift across the cloth (mm).
        locked: It stays where it lies when the marker is gone on from.
    """

    piece: str
    garment: str
    size: str
    copy: int
    flipped: bool
    turn_deg: float
    x: float
    y: float
    locked: bool = False

    @property
    def key(self) -> tuple[str, str, str]:
        """`(garment, size, name)` of the prepared piece."""
        return self.garment, self.size, self.piece


@dataclass(frozen=True, slots=True)
class Block:
    """Pieces that are cut roughly as one block.

    Attributes:
        name: `collar`.
        outline: The line it is cut by, counter-clockwise, marker coordinates (mm).
        placements: Which of the marker's placements it holds.
    """

    name: str
    outline: tuple[tuple[float, float], ...]
    placements: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Marker:
    """An arrangement of pieces on one width of cloth.

    x runs along the cloth from the start line; y across it from the lower edge of the usable width or from the fold.

    Attributes:
        name: Names its files: `linen`.
        fabric: The cloth and how it is spread.
        length: Used length (mm).
        placements: The pieces laid.
        pieces: The prepared pieces that the placements refer to.
        boxes_length: Length (mm) that the same pieces take when packed by their boxes, for comparison, or None.
        seed: Seed of the search.
        tries: Arrangements tried.
        pattern_start: From the start line to the first line of the cloth's pattern across it (mm), below its repeat;
            None where nothing repeats along the cloth.
        sections: Where each section ends, as a straight line across the cloth (mm), the last one's end included; empty
            when the marker is in one piece.
        findings: What was found while it was laid.
        bound: Length (mm) that no marker of the same pieces by the same rules can fall below, proven, or None.
        bound_by: What proves it: `the area of the pieces`.
        blocks: Blocks of pieces that are cut roughly together.
    """

    name: str
    fabric: Fabric
    length: float
    placements: tuple[Placement, ...]
    pieces: tuple[PreparedPiece, ...]
    boxes_length: float | None = None
    seed: int = 0
    tries: int = 1
    pattern_start: float | None = None
    sections: tuple[float, ...] = ()
    findings: tuple[Finding, ...] = ()
    bound: float | None = None
    bound_by: str = ""
    blocks: tuple[Block, ...] = ()
    _by_key: dict[tuple[str, str, str], PreparedPiece] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_by_key", {piece.key: piece for piece in self.pieces})

    @property
    def width(self) -> float:
        """Usable width (mm)."""
        return self.fabric.usable_width

    def prepared(self, placement: Placement) -> PreparedPiece:
        """The prepared piece that a placement lays."""
        return self._by_key[placement.key]
