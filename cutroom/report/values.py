"""What the job hands to the report: plain values, ready to be printed."""

from dataclasses import dataclass

from cutroom.model.finding import Finding
from cutroom.model.marker import Marker
from cutroom.report.scale import ScaleVerdict
from cutroom.units import Unit


@dataclass(frozen=True, slots=True)
class CutLine:
    """One line of the cut list: one piece of one hand.

    Attributes:
        garment: The order's line.
        size: A size or a client's code.
        piece: `front`.
        hand: `left`, `right`, `on the fold`, `as drawn`.
        cloth: Which cloth of the garment: `self`.
        fabric: The fabric that is: `linen`.
        count: How many.
        number: The number it carries because it is too small for its name; 0 when it carries its name.
    """

    garment: str
    size: str
    piece: str
    hand: str
    cloth: str
    fabric: str
    count: int
    number: int = 0


@dataclass(frozen=True, slots=True)
class Recount:
    """A second count, taken from a written file.

    Attributes:
        file: The file.
        what: What was counted: `closed outlines on layer CUT`, `front, left`.
        wanted: How many there should be.
        found: How many there are.
    """

    file: str
    what: str
    wanted: int
    found: int


@dataclass(frozen=True, slots=True)
class WalkLine:
    """One seam walked.

    Attributes:
        size: A size or a client's code, with the style if it needs one.
        seam: `front armhole and cap`.
        first: Length of the first side on the seam line (mm).
        second: Length of the second (mm).
        ease: How much longer the second is meant to be (mm).
        within: Difference (mm) from that which may pass.
    """

    size: str
    seam: str
    first: float
    second: float
    ease: float = 0.0
    within: float = 1.0

    @property
    def difference(self) -> float:
        """Second less first (mm)."""
        return self.second - self.first

    @property
    def fits(self) -> bool:
        """The difference is the ease that is meant, near enough."""
        return abs(self.difference - self.ease) <= self.within


@dataclass(frozen=True, slots=True)
class DraftFacts:
    """What a draft says of itself.

    Attributes:
        style: The style.
        size: A size or a client's code.
        facts: Name and text of each: the solved cap height.
    """

    style: str
    size: str
    facts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class ProofRow:
    """What reading a file back showed.

    Attributes:
        file: The file.
        kind: `marker-dxf`.
        compared: What was compared, in words.
        deviation: Largest deviation (mm), or None where nothing was measured.
        passed: The file says what the marker says.
        sha256: Its hash.
    """

    file: str
    kind: str
    compared: str
    deviation: float | None
    passed: bool
    sha256: str


@dataclass(frozen=True, slots=True, eq=False)
class MarkerSheet:
    """One marker on the report.

    Attributes:
        marker: The marker.
        picture: It as an SVG document, or empty.
        cut_list: What is cut from it, one line for each piece and hand.
        garments: How many garments the whole lay gives.
        recounts: Second counts from the written files.
        file: The name of the file to draw or print it from, or empty.
    """

    marker: Marker
    picture: str
    cut_list: tuple[CutLine, ...]
    garments: int
    recounts: tuple[Recount, ...] = ()
    file: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Report:
    """Everything on the report.

    Attributes:
        title: What the job is called.
        unit: The unit people see first.
        markers: The markers.
        walks: The seams walked.
        drafts: What the drafts say.
        findings: What the checks found.
        proofs: What reading the files back showed.
        scale: What the test square said, or None when none was measured.
        made_by: Program and version, for the foot of the page.
    """

    title: str
    unit: Unit
    markers: tuple[MarkerSheet, ...]
    walks: tuple[WalkLine, ...] = ()
    drafts: tuple[DraftFacts, ...] = ()
    findings: tuple[Finding, ...] = ()
    proofs: tuple[ProofRow, ...] = ()
    scale: ScaleVerdict | None = None
    made_by: str = "cutroom"
