"""What a job file asks for, in millimetres, before anything is drafted."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from cutroom.model.alteration import Step
from cutroom.model.fabric import Fabric
from cutroom.model.finding import Finding
from cutroom.model.grading import Grading
from cutroom.model.laying import BlockAsked, Laying, MatchAsked, SharedAsked
from cutroom.model.piece import Corner, NotchAsked, NotchForm, Piece, SewnSeam
from cutroom.units import Unit


@dataclass(frozen=True, slots=True)
class Wearer:
    """A client, or a size of a table.

    Attributes:
        code: How the sheets name them: a code or a size, never more than is needed.
        measures: Body measurements by name (mm).
    """

    code: str
    measures: Mapping[str, float]


@dataclass(frozen=True, slots=True, eq=False)
class StyleAsked:
    """A style of the job file.

    Attributes:
        name: Its name in the job.
        block: The block it is drafted from (`blouse`, `sleeve`, `skirt`), or empty when its pieces are given.
        options: What the draft is told, by name: lengths in mm, words and truth values as they are.
        pieces: Pieces given outright.
        allowances: Allowance by edge name, or by `piece.edge` (mm).
        allowance: Allowance of every other edge (mm).
        hem_allowance: Allowance of hems that are not named (mm).
        seams: What is sewn to what, where pieces are given outright.
        corners: Corner by the edge that ends in it, or by `piece.edge`.
        turns: Second turns of hems, by edge or by `piece.edge` (mm).
        notches: Notches to be added.
        notch_form: How notches are made.
        alterations: What is done to its pieces, in this order.
        grading: How pieces that are given grow from size to size.
        laying: How pieces may be laid, by their names.
        matches: What meets on the cloth's pattern.
        shared_lines: Pieces that may share cut lines.
        rough_blocks: Pieces that are cut roughly together.
    """

    name: str
    block: str = ""
    options: Mapping[str, float | str | bool | tuple[float, ...]] = field(default_factory=dict)
    pieces: tuple[Piece, ...] = ()
    allowances: Mapping[str, float] = field(default_factory=dict)
    allowance: float = 12.7
    hem_allowance: float = 38.1
    seams: tuple[SewnSeam, ...] = ()
    corners: Mapping[str, Corner] = field(default_factory=dict)
    turns: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    notches: tuple[NotchAsked, ...] = ()
    notch_form: NotchForm = field(default_factory=NotchForm)
    alterations: tuple[Step, ...] = ()
    grading: Grading | None = None
    laying: Mapping[str, Laying] = field(default_factory=dict)
    matches: tuple[MatchAsked, ...] = ()
    shared_lines: tuple[SharedAsked, ...] = ()
    rough_blocks: tuple[BlockAsked, ...] = ()


@dataclass(frozen=True, slots=True)
class Garment:
    """One line of the order.

    Attributes:
        name: Its name: `blouse for Ines`.
        style: The style.
        wearer: The client or size.
        copies: How many garments.
        fabrics: Fabric by the cloth that pieces ask for: `self` to `linen`.
    """

    name: str
    style: str
    wearer: str
    copies: int
    fabrics: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Outputs:
    """What to write.

    Attributes:
        kinds: Kinds of file, as named in the manifest.
        plotter: Name of the plotter profile.
        paper: Name of the paper for tiles.
        square_measured: What a printed 100 mm test square measured (mm), or None.
        go_on: Write even though a check says stop, except when pieces would be missing or of the wrong hand.
        cutters: Names of the cutter profiles, no two of one language.
    """

    kinds: tuple[str, ...]
    plotter: str
    paper: str
    square_measured: float | None = None
    go_on: bool = False
    cutters: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Order:
    """A whole job file.

    Attributes:
        title: What the job is called.
        file: The job file, for messages.
        unit: The unit people see on its sheets.
        wearers: Clients and sizes by code.
        styles: Styles by name.
        garments: The lines of the order.
        fabrics: Cloths by name.
        outputs: What to write.
        findings: What was noticed while reading, such as a wrist larger than a bicep.
    """

    title: str
    file: str
    unit: Unit
    wearers: Mapping[str, Wearer]
    styles: Mapping[str, StyleAsked]
    garments: tuple[Garment, ...]
    fabrics: Mapping[str, Fabric]
    outputs: Outputs
    findings: tuple[Finding, ...] = ()
