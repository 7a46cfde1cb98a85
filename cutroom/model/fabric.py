"""Cloth, and how it is spread."""

from dataclasses import dataclass, replace
from enum import StrEnum

from cutroom.errors import FabricError


class Spread(StrEnum):
    """How the cloth lies on the table."""

    OPEN = "open"
    FOLDED = "folded"  # lengthwise, right sides in; the fold is y = 0
    FACE_TO_FACE = "face-to-face"  # plies in pairs, right sides together
    TUBULAR = "tubular"  # a flat tube: a fold at y = 0 and another at the full width


class Nap(StrEnum):
    """Which way the pieces may point."""

    NONE = "none"  # each piece this way or turned end for end
    BY_GARMENT = "by-garment"  # all pieces of a garment one way; garments may differ
    ONE_WAY = "one-way"  # every piece the same way


class Face(StrEnum):
    """Which side of the cloth looks up on the table."""

    UP = "up"
    DOWN = "down"


@dataclass(frozen=True, slots=True)
class Roll:
    """Another width in which the same cloth may be had.

    Attributes:
        width: Edge to edge (mm), of the narrowest such roll.
        price: Money per metre of length, or None.
    """

    width: float
    price: float | None = None


class Sections(StrEnum):
    """Whether sizes lie among each other in a marker."""

    MIXED = "mixed"
    SIZES = "sizes"  # each size by itself, closed by a straight line across the cloth


@dataclass(frozen=True, slots=True)
class Area:
    """A part of the cloth on which nothing is laid.

    Attributes:
        name: What it is: `flaw 1`, `slub`.
        outline: Its corners, counter-clockwise, marker coordinates (mm).
    """

    name: str
    outline: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Pattern:
    """Stripes or checks.

    Attributes:
        along: Repeat along the cloth (mm): of cross stripes and checks; 0 where nothing repeats along it.
        across: Repeat across the cloth (mm), likewise.
        symmetric: It looks the same turned end for end; a stripe lies with its middle on each line of the pattern.
        tolerance: How far (mm) two matched points may be off each other's place.
        from_start: From the marker's start line to the first line across the cloth (mm); None where the marker may
            start anywhere in the pattern.
        from_edge: From y = 0 to the first line along the cloth (mm).
    """

    along: float = 0.0
    across: float = 0.0
    symmetric: bool = False
    tolerance: float = 0.5
    from_start: float | None = None
    from_edge: float = 0.0


@dataclass(frozen=True, slots=True)
class Fabric:
    """One cloth of an order.

    Attributes:
        name: `linen`.
        width: Edge to edge (mm), of the narrowest roll; of a tube, from fold to fold as it lies flat.
        selvedge: Strip at each edge that is not used (mm); a tube has none.
        spread: How it is spread.
        nap: Which way pieces may point.
        face: Which side looks up. A folded, tubular or face-to-face spread has both.
        gap: Least distance between cut lines (mm).
        plies: Sheets of cloth in the lay; for a folded or tubular spread, folded thicknesses.
        end_allowance: Extra cloth at each end of the lay (mm).
        shrink_warp: Shrinkage along the cloth as a fraction, or None when no test is recorded.
        shrink_weft: Shrinkage across the cloth as a fraction, or None.
        price: Money per metre of length, or None.
        note: What the room says of it: composition, nap direction on the wearer.
        widths: Other widths in which it may be had.
        flaws: Where it is spoilt.
        used: Where it was cut into already.
        length: Cloth that there is (mm), without end allowances, or None when it is bought as needed.
        table: Length (mm) of the cutting table, whose ends no piece crosses, or None where it is long enough.
        pattern: Its stripes or checks, or None.
        sections: Whether sizes lie among each other.
        shade: Most length (mm) that the pieces of one garment may take up, from the first's start to the last's end;
            None where the colour is even.
        open_part: On a folded spread: singles are cut from a part of the lay behind it that lies open.
        go_on_from: Path of a marker to go on from, or empty.
        part_of: Name of the fabric that this is the opened part of, or empty.
    """

    name: str
    width: float
    selvedge: float = 0.0
    spread: Spread = Spread.OPEN
    nap: Nap = Nap.ONE_WAY
    face: Face = Face.UP
    gap: float = 0.0
    plies: int = 1
    end_allowance: float = 10.0
    shrink_warp: float | None = None
    shrink_weft: float | None = None
    price: float | None = None
    note: str = ""
    widths: tuple[Roll, ...] = ()
    flaws: tuple[Area, ...] = ()
    used: tuple[Area, ...] = ()
    length: float | None = None
    table: float | None = None
    pattern: Pattern | None = None
    sections: Sections = Sections.MIXED
    shade: float | None = None
    open_part: bool = False
    go_on_from: str = ""
    part_of: str = ""

    def __post_init__(self) -> None:
        if self.width <= 0 or self.usable_width <= 0:
            raise FabricError(
                f"nothing is left of a width of {self.width:g} mm with {self.selvedge:g} mm of selvedge at each edge",
                "Check the width, the selvedge and their unit",
                place=f'fabric "{self.name}"',
            )

    @property
    def usable_width(self) -> float:
        """Width (mm) on which pieces are laid, as the cloth lies: halved when folded; a tube is measured flat."""
        between = self.width - 2 * self.selvedge
        return between / 2 if self.spread is Spread.FOLDED else between

    @property
    def has_fold(self) -> bool:
        """A fold runs along y = 0."""
        return self.spread in {Spread.FOLDED, Spread.TUBULAR}

    @property
    def forbidden(self) -> tuple[Area, ...]:
        """Everything on which nothing may be laid."""
        return self.flaws + self.used

    @property
    def way(self) -> Nap:
        """Which way pieces may point, the pattern considered: one that is not symmetric has a way of its own."""
        return Nap.ONE_WAY if self.pattern is not None and not self.pattern.symmetric else self.nap

    def opened(self) -> "Fabric":
        """The part of a folded or tubular lay that lies opened out behind it, as many plies, the face as it is said."""
        pattern = self.pattern
        if pattern is not None and pattern.across and self.spread is Spread.FOLDED:  # the fold is now the middle
            pattern = replace(pattern, from_edge=(self.usable_width + pattern.from_edge) % pattern.across)
        return replace(
            self,
            name=f"{self.name} opened",
            width=2 * self.usable_width + 2 * self.selvedge if self.has_fold else self.width,
            spread=Spread.OPEN,
            pattern=pattern,
            open_part=False,
            go_on_from="",
            part_of=self.name,
        )
