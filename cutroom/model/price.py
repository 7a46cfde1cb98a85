"""What the rules of a cloth cost: the same pieces laid with one rule relaxed at a time, and on other widths."""

from dataclasses import dataclass
from enum import StrEnum

PROVEN = 0.05
"""A length no further than this (mm) above what is proven least is taken for the least: shapes are rounded outwards."""


class Claim(StrEnum):
    """What may be said of a difference between two lengths that were found."""

    EXACT = "exact"  # neither can be shorter
    AT_MOST = "at most"  # the length without the rule cannot be shorter, the one with it may be
    AT_LEAST = "at least"  # the length with the rule cannot be shorter, the one without it may be
    FOUND = "found"  # both may be


@dataclass(frozen=True, slots=True)
class Found:
    """The shortest marker that was found for some pieces under some rules.

    Attributes:
        length: Its length (mm).
        least: Length (mm) that every marker of them takes, proven.
        least_by: What proves it.
        seconds: Time it was looked for (s).
        tries: Arrangements tried.
    """

    length: float
    least: float
    least_by: str
    seconds: float
    tries: int

    @property
    def proven(self) -> bool:
        """No marker of these pieces can be shorter."""
        return self.length <= self.least + PROVEN


@dataclass(frozen=True, slots=True)
class RulePrice:
    """What one rule costs.

    Attributes:
        rule: The rule, in a word: `nap`.
        now: What it says: `every piece one way`.
        relaxed: What would hold instead: `each garment one way`.
        bound: The marker with the rule.
        free: The marker without it; never longer.
        money: What the difference costs in all plies, or None where the cloth has no price.
    """

    rule: str
    now: str
    relaxed: str
    bound: Found
    free: Found
    money: float | None

    @property
    def cost(self) -> float:
        """Length (mm) of one ply that the rule takes."""
        return max(0.0, self.bound.length - self.free.length)

    @property
    def claim(self) -> Claim:
        """What may be said of the cost."""
        if self.free.proven:
            return Claim.EXACT if self.bound.proven else Claim.AT_MOST
        return Claim.AT_LEAST if self.bound.proven else Claim.FOUND


@dataclass(frozen=True, slots=True)
class WidthPrice:
    """What a garment costs when its pieces are laid on cloth of some width.

    Attributes:
        width: Edge to edge (mm).
        usable: On which pieces are laid (mm), as it lies.
        found: The marker on it, or None where the pieces do not go on it.
        price: Money per metre, or None.
        cost: Money for one garment, end allowances included, or None.
        cloth: Cloth for one garment (mm2), edge to edge, end allowances included; None where nothing goes on it.
        past: Pieces of the marker of the job's own width that would lie past the edge of this one.
        refused: Why the pieces do not go on it; empty where they do.
        own: It is the width that the job names.
    """

    width: float
    usable: float
    found: Found | None
    price: float | None
    cost: float | None
    cloth: float | None
    past: tuple[str, ...] = ()
    refused: str = ""
    own: bool = False


@dataclass(frozen=True, slots=True)
class NextWidth:
    """The next width at which another piece goes beside the others.

    Attributes:
        piece: The piece.
        usable: The usable width (mm) it takes, as the cloth lies.
        width: The same edge to edge (mm), unfolded.
        found: The marker on it.
    """

    piece: str
    usable: float
    width: float
    found: Found


@dataclass(frozen=True, slots=True)
class Priced:
    """One cloth of a job, priced.

    Attributes:
        fabric: Its name.
        width: Its usable width (mm), as it lies.
        plies: Of the lay.
        price: Money per metre, or None.
        garments: Garments that are cut from it.
        found: The marker with all rules.
        rules: What each rule costs.
        together: Two garments in one marker, each one way, as a price of its own for each; None where that is no
            question. Its lengths are those of one garment.
        widths: Widths compared, the cheapest garment first; empty where there is but one.
        next_width: The next width that another piece goes beside the others on, or None.
        left_out: Rules that are in force and were not come to, because it was broken off.
    """

    fabric: str
    width: float
    plies: int
    price: float | None
    garments: int
    found: Found
    rules: tuple[RulePrice, ...]
    together: RulePrice | None
    widths: tuple[WidthPrice, ...]
    next_width: NextWidth | None
    left_out: tuple[str, ...] = ()
