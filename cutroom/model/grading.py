"""Grade rules: how the turn points of pieces given in one size move from size to size."""

from dataclasses import dataclass
from enum import StrEnum

Step = tuple[float, float]


class NotchGrade(StrEnum):
    """What of a notch's place is kept when its edge grows."""

    SHARE = "share"  # its share of the edge
    DISTANCE = "distance"  # its distance from the nearer end of the edge


@dataclass(frozen=True, slots=True)
class GradeRule:
    """How one turn point moves.

    Attributes:
        piece: The piece.
        point: The two edges that meet in the turn point.
        steps: `(dx, dy)` from each size to the next larger (mm), one fewer than there are sizes.
    """

    piece: str
    point: tuple[str, str]
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Grading:
    """The rules of a style.

    Attributes:
        base: The size its pieces are given in.
        sizes: All sizes, from small to large.
        rules: One for each turn point that moves; the others stay.
        notches: What of the notches' places is kept.
    """

    base: str
    sizes: tuple[str, ...]
    rules: tuple[GradeRule, ...]
    notches: NotchGrade = NotchGrade.SHARE
