"""Cloth, and how it is spread."""

from dataclasses import dataclass
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
