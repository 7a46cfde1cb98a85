"""The shapes of the files a person writes: every key there is, and nothing else.

A job file is TOML. Lengths are numbers (`6.5`) or text (`"5 3/4"`, `"14.6 cm"`); a number, or a fraction without a
unit, stands in the file's `unit`.

The job:
    title: What the job is called; without it, the file's name.
    unit: `in`, `cm` or `mm`. Asked for.
    clients, sizes: Tables of body measurements, `[clients.ines]` or `[sizes.12]`. The code is all that sheets show.
    styles: Tables, `[styles.blouse]`.
    garments: The lines of the order, `[[garments]]`.
    fabrics: Tables, `[fabrics.linen]`.
    write: What to write.

A style is drafted from a block, or its pieces are given by points:
    block: `blouse`, `sleeve`, `skirt` ...
    options: What the draft is told: lengths, lists of lengths, words, true or false.
    pieces: `[[styles.skirt.pieces]]`.
    seams: What is sewn to what, to be walked, for pieces given by points.
    allowance: Seam allowance of every edge that nothing else is said of; 1/2 in when left out.
    hem: The same for hems; 1 1/2 in when left out.
    allowances: By edge, `side = 1`, or by piece and edge, `"front.side" = 1`.
    corners: How the allowance of an edge meets the next one's, counter-clockwise, by the edge that ends in the corner:
        `side = "squared"`. `auto`, `mitred` (cut off where it runs far out), `continued` (sewn first and crossed),
        `squared` (square to this seam, which is sewn first), `squared to next`, `folded back` (this edge turns up),
        `next folded back`, `blunted`, `stepped`; of hollow corners `cleared` or `clipped`.
    turns: Where a hem is turned again, measured out from the hem line: `hem = [1]` for a hem turned twice,
        `hem = [1.5, 3]` for a turn-up.
    notch: How notches are made: kind (`slit`, `v in`, `v out`, `t`, `box`), depth, width; hems and folds, false for no
        notches at the ends of hems and folds.
    notches: Added to its pieces: edge `"front.side"`, and one of at, from_end, share, line, or mate: the notch
        `"back.side.hip"` that it meets when the seam is walked; count, kind, name. They run counter-clockwise.
    alterations: What is done to its pieces, `[[styles.blouse.alterations]]`; see `alterations.py`.
    laying: How pieces may be laid, by piece, `[styles.blouse.laying]`: `facing = { gap = "5 mm", tilt = 2 }`: its own
        gap, of which two pieces keep the mean, and degrees that it may be tilted off the grain, at most 5. Edges may
        have gaps of their own, `strap = { edges = { end = "10 mm", side = 0 } }`: then sides keep the mean of theirs.
    shared_lines: Pieces that may share a cut line, `[[styles.bag.shared_lines]]`:
        pieces: `["strap", "loop"]`, or one piece, whose copies do. Asked for.
        gap: How near they may lie to one another, whatever gap they keep from all others: 0 for a knife, for a laser
            the width that it burns away. Asked for.
    matches: What meets on stripes or checks, `[[styles.jacket.matches]]`:
        points: `["front.side.hip", "back.side.hip"]`, one point a piece: piece, edge and notch (its name, or its number
            along the edge). Instead: `{ piece = "front", corner = ["side", "hem"] }`, where two edges meet, or
            `{ piece = "front", at = [40, 2] }`, x and y as the piece is drawn. Asked for.
        name: What sheets call it; the first point when left out.
        stripe: true when they fall on the stripe itself; a single point always does.
        along, across: false when that repeat need not be matched.
    rough_blocks: Pieces of a garment that are cut roughly together, as for fusing or for a second cutting by hand, and
        each by its own line afterwards, `[[styles.shirt.rough_blocks]]`; each garment has its own block:
        name: What sheets call it. Asked for.
        pieces: `["collar", "collar stand"]`. Asked for.
        allowance: How far its straight line runs outside them; 15 to 30 mm is usual. Asked for.
        gap: Between its pieces; their usual one when left out.
    grading: How pieces given by points grow, `[styles.skirt.grading]`:
        base: The size they are given in. Asked for.
        sizes: All sizes, from small to large. Asked for.
        notches: `share` of their edge, or `distance` from its nearer end, is kept; `share` when left out.
        rules: `{ piece = "front", point = ["side", "hem"], step = ["1/4", "1/8"] }`: the turn point in which the two
            edges meet moves so far, x and y, from each size to the next; `steps` lists each step by itself.

A piece is drawn as seen from the right side of the cloth:
    name: `front`; unique in the style. Asked for.
    cut: `pair`, `single` or `fold` (half of it, laid on the fold). Asked for.
    quantity: Pairs, singles or fold pieces to one garment; 1 when left out.
    cloth: Which cloth of the garment; `self` when left out.
    crossways: true when it may also lie across the grain.
    hand: `left` or `right`, the side of the wearer it is drawn for; `left` when left out.
    grain: `up`, `down`, `left`, `right`, or two points; it points the way the nap runs. Asked for.
    edges: Round the piece either way; the last ends where the first starts.
    drills: `{ name = "dart", at = [3, 4], diameter = "2 mm" }`.
    lines: `{ name = "dart leg", points = [[0, 0], [1, 4]] }`, drawn inside.
    cutouts: The same, closed lines inside that are cut.
    darts: `{ edge = "waist", at = 4, width = "3/4", point = [4, 20], pressed = "start" }`; at is its middle,
        pressed `start` or `end`, whichever end of the edge it is pressed to; set_back, of its drill hole, 13 mm when
        left out; pleat = true when its sides do not meet.
    rows: Marks evenly spaced: `{ name = "buttonhole", first = [1, 30], last = [1, 2], count = 6, start = 1, end = 2 }`.
    pressing: What steam takes from it, let out besides the shrinkage: `{ warp = "1 %", weft = "0.5 %" }`.
    block: It is first cut roughly, this much larger all round, and cut again after fusing.

An edge runs from one turn point to the next:
    name: Unique in the piece. Asked for.
    points: Both its ends, and what lies between. Its first point is the last point of the edge before it.
    kind: `seam`, `hem` or `fold`; `seam` when left out.
    allowance: Its own, before what the style says.
    curve: true for a smooth curve through the points.
    notches: `{ at = 9, count = 1, name = "hip" }`; `at` runs along the edge from its first point as written. Instead of
        at: from_end, share (0.5 is its middle), or line, the name of a line drawn inside that meets it. Its own kind.
    corner: How its allowance meets the next edge's, as the edges are written.
    turns: Where a hem is turned again, measured out from the hem line.

A seam:
    name: `side`.
    first, second: Edges laid end to end from the common end on, `["front.side"]`.
    first_from_end, second_from_end: true when its edges, as a counter-clockwise outline has them, run towards the
        common end, so that each is walked backwards.
    ease: How much longer the second is meant to be; 0 when left out.
    within: Difference that may pass; 1 mm when left out.

A garment:
    name: What sheets call it; without it, style and client.
    style: One of the styles.
    for: A client or a size.
    copies: How many garments are wanted; 1 when left out.
    fabric: The fabric it is cut from, or
    fabrics: Fabrics by the cloth that pieces ask for, `{ self = "linen", fusible = "interfacing" }`.

A fabric; the facts that spoil work when they are forgotten are asked for:
    width: Edge to edge, of the narrowest roll; a tube is measured flat, from fold to fold. Asked for.
    spread: `open`, `folded`, `face-to-face` or `tubular`. Asked for.
    nap: `none`, `by-garment` or `one-way`. Asked for.
    face: `up` or `down`. Asked for when the cloth is spread open; the other spreads show both.
    shrinkage: `"not tested"`, or `{ warp = "3 %", weft = "2 %" }`, or a swatch before and after the wash,
        `{ warp = ["50.0", "48.5"], weft = ["50", "49"] }`. Asked for.
    selvedge: Strip at each edge that is not used; 0 when left out.
    gap: Least distance between cut lines; 0 when left out.
    plies: Sheets in the lay, or folded thicknesses; 1 when left out, 2 when they lie face to face.
    end_allowance: Extra cloth at each end; 10 mm when left out.
    price: Money per metre.
    widths: Other widths in which the same cloth may be had, to be compared by `cutroom price`:
        `[{ width = 56, price = 12.50 }]`, edge to edge; each with its price where the fabric has one.
    note: Composition, nap on the wearer.
    flaws: Where it is spoilt, `[{ along = [30, 32], across = [10, 12], name = "slub" }]`: along from the marker's start
        line, across from the lower edge of the cloth, selvedge included, or from the fold. Instead of along and
        across: points, the corners of any outline. Pieces keep half their gap from it.
    used: Where it was cut into already, written likewise.
    length: Cloth that there is, ends not included; a marker that takes more is refused.
    table: Length of the cutting table: no piece crosses its ends, one table's length after another.
    pattern: Stripes or checks, `{ along = "7 cm", across = "2.4 cm", symmetric = false }`:
        along, across: What repeats along the cloth (cross stripes), across it (stripes along the cloth), or both.
        symmetric: true when it looks the same turned end for end; otherwise no piece is turned. Asked for.
        tolerance: How far matched points may be off; 0.5 mm when left out.
        from_edge: From the lower edge of the cloth, or from the fold, to the middle of a stripe; 0 when left out.
        from_start: From the start line to the middle of a cross stripe; the marker chooses it when left out.
    sections: `mixed`, or `sizes` for each size by itself, closed by a straight line; `mixed` when left out.
    shade: Most length that the pieces of one garment may take up together, for cloth whose colour runs off.
    open_part: true when, behind a folded or tubular lay, a part of it is opened out for its single pieces.
    go_on_from: Path of a marker (`linen-marker.json`) to go on from, also one in which pieces were moved by hand; a
        piece with `"locked": true` stays exactly where it lies.

What to write:
    files: Kinds of file. Asked for.
    plotter: A plotter's name, or the path of your own profile; asked for by `marker-hpgl`.
    cutters: Names of cutters, or paths of your own profiles, one for each of `cut-gcode`, `cut-hpgl`,
        `cut-dxf` and `cut-svg`.
    paper: `A4`, `Letter` ...; asked for by `tiles-pdf`.
    square_measured: What the printed 100 mm square measured.
    go_on: true to write although a check says stop.

Profiles of plotters and cutters are described in the profiles themselves.
"""

from typing import Annotated, Any

import msgspec

Length = int | float | str
LengthKey = Annotated[Length, msgspec.Meta(description="a length: a number, or text such as '5 3/4' or '14.6 cm'")]
Text = Annotated[str, msgspec.Meta(description="text in quotes")]
Count = Annotated[int, msgspec.Meta(description="a whole number")]
Number = Annotated[int | float, msgspec.Meta(description="a number")]
Colour = Annotated[int | str, msgspec.Meta(description="the number of a colour, or red, green and blue: '#b3261e'")]
Flag = Annotated[bool, msgspec.Meta(description="true or false")]
Pair = tuple[Length, Length]
PointKey = Annotated[Pair, msgspec.Meta(description="a point [x, y]")]
PointsKey = Annotated[tuple[Pair, ...], msgspec.Meta(description="a list of points [[x, y], [x, y]]")]
Names = Annotated[tuple[str, ...], msgspec.Meta(description="a list of names in quotes")]
Table = Annotated[dict[str, Any], msgspec.Meta(description="a table of keys")]
Tables = Annotated[tuple[Any, ...], msgspec.Meta(description="a list of tables")]
Option = Annotated[
    bool | int | float | str | tuple[Length, ...],
    msgspec.Meta(description="a length, a list of lengths, a word, or true or false"),
]


class Shape(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A table of a file. A key that was left out is None; which are asked for, and why, is said where it is read."""


class JobShape(Shape, frozen=True):
    """The whole job file."""

    title: Text | None = None
    unit: Text | None = None
    clients: Table | None = None
    sizes: Table | None = None
    styles: Table | None = None
    garments: Tables | None = None
    fabrics: Table | None = None
    write: Table | None = None


class StyleShape(Shape, frozen=True):
    """A style."""

    block: Text | None = None
    options: Table | None = None
    pieces: Tables | None = None
    seams: Tables | None = None
    allowance: LengthKey | None = None
    hem: LengthKey | None = None
    allowances: Table | None = None
    corners: Table | None = None
    turns: Table | None = None
    notch: Table | None = None
    notches: Tables | None = None
    alterations: Tables | None = None
    grading: Table | None = None
    laying: Table | None = None
    matches: Tables | None = None
    shared_lines: Tables | None = None
    rough_blocks: Tables | None = None


class LayingShape(Shape, frozen=True):
    """How a piece may be laid."""

    gap: LengthKey | None = None
    tilt: Number | None = None
    edges: Table | None = None


class BlockShape(Shape, frozen=True):
    """Pieces that are cut roughly together."""

    name: Text | None = None
    pieces: Names | None = None
    allowance: LengthKey | None = None
    gap: LengthKey | None = None


class SharedShape(Shape, frozen=True):
    """Pieces that may share a cut line."""

    pieces: Names | None = None
    gap: LengthKey | None = None


class MatchShape(Shape, frozen=True):
    """Points that meet on the cloth's pattern."""

    name: Text | None = None
    points: Annotated[tuple[Any, ...], msgspec.Meta(description="a list of points")] | None = None
    stripe: Flag | None = None
    along: Flag | None = None
    across: Flag | None = None


class MatchPointShape(Shape, frozen=True):
    """A point of a piece that is not named by a notch."""

    piece: Text | None = None
    corner: Names | None = None
    at: PointKey | None = None


class GradingShape(Shape, frozen=True):
    """The grade rules of a style."""

    base: Annotated[str | int, msgspec.Meta(description="a size")] | None = None
    sizes: Annotated[tuple[str | int, ...], msgspec.Meta(description="a list of sizes")] | None = None
    notches: Text | None = None
    rules: Tables | None = None


class GradeRuleShape(Shape, frozen=True):
    """How a turn point moves."""

    piece: Text | None = None
    point: Names | None = None
    step: PointKey | None = None
    steps: PointsKey | None = None


class PieceShape(Shape, frozen=True):
    """A piece given by points."""

    name: Text | None = None
    cut: Text | None = None
    quantity: Count | None = None
    cloth: Text | None = None
    crossways: Flag | None = None
    hand: Text | None = None
    grain: Annotated[
        str | tuple[Pair, Pair] | None,
        msgspec.Meta(description="up, down, left, right, or two points [[x, y], [x, y]]"),
    ] = None
    edges: Tables | None = None
    drills: Tables | None = None
    lines: Tables | None = None
    cutouts: Tables | None = None
    darts: Tables | None = None
    rows: Tables | None = None
    pressing: Annotated[dict[str, Any] | None, msgspec.Meta(description="{ warp = '1 %', weft = '0.5 %' }")] = None
    block: LengthKey | None = None


class EdgeShape(Shape, frozen=True):
    """An edge of a piece."""

    name: Text | None = None
    points: PointsKey | None = None
    kind: Text | None = None
    allowance: LengthKey | None = None
    curve: Flag | None = None
    notches: Tables | None = None
    corner: Text | None = None
    turns: Annotated[tuple[Length, ...] | None, msgspec.Meta(description="a list of lengths")] = None


class NotchShape(Shape, frozen=True):
    """A notch on an edge."""

    at: LengthKey | None = None
    from_end: LengthKey | None = None
    share: Number | None = None
    line: Text | None = None
    count: Count | None = None
    kind: Text | None = None
    name: Text | None = None


class NotchAskedShape(Shape, frozen=True):
    """A notch that a style adds."""

    edge: Text | None = None
    at: LengthKey | None = None
    from_end: LengthKey | None = None
    share: Number | None = None
    line: Text | None = None
    mate: Text | None = None
    count: Count | None = None
    kind: Text | None = None
    name: Text | None = None


class NotchFormShape(Shape, frozen=True):
    """How notches are made."""

    kind: Text | None = None
    depth: LengthKey | None = None
    width: LengthKey | None = None
    hems: Flag | None = None
    folds: Flag | None = None


class DartShape(Shape, frozen=True):
    """A dart or a pleat."""

    name: Text | None = None
    edge: Text | None = None
    at: LengthKey | None = None
    width: LengthKey | None = None
    point: PointKey | None = None
    pleat: Flag | None = None
    pressed: Text | None = None
    set_back: LengthKey | None = None


class RowShape(Shape, frozen=True):
    """Marks evenly spaced along a line."""

    name: Text | None = None
    first: PointKey | None = None
    last: PointKey | None = None
    count: Count | None = None
    start: LengthKey | None = None
    end: LengthKey | None = None
    diameter: LengthKey | None = None


class DrillShape(Shape, frozen=True):
    """A drill hole in a piece."""

    name: Text | None = None
    at: PointKey | None = None
    diameter: LengthKey | None = None


class LineShape(Shape, frozen=True):
    """A line drawn inside a piece."""

    name: Text | None = None
    points: PointsKey | None = None


class SeamShape(Shape, frozen=True):
    """Edges that are sewn together."""

    name: Text | None = None
    first: Names | None = None
    second: Names | None = None
    first_from_end: Flag | None = None
    second_from_end: Flag | None = None
    ease: LengthKey | None = None
    within: LengthKey | None = None


class GarmentShape(Shape, frozen=True):
    """A line of the order."""

    name: Text | None = None
    style: Text | None = None
    wearer: Annotated[str | int, msgspec.Meta(description="a client or a size")] | None = msgspec.field(
        default=None, name="for"
    )
    copies: Count | None = None
    fabric: Text | None = None
    fabrics: Annotated[dict[str, str], msgspec.Meta(description="a table such as { self = 'linen' }")] | None = None


class FabricShape(Shape, frozen=True):
    """A cloth."""

    width: LengthKey | None = None
    selvedge: LengthKey | None = None
    spread: Text | None = None
    nap: Text | None = None
    face: Text | None = None
    gap: LengthKey | None = None
    plies: Count | None = None
    end_allowance: LengthKey | None = None
    shrinkage: (
        Annotated[str | dict[str, Any], msgspec.Meta(description="'not tested' or { warp = '3 %', weft = '2 %' }")]
        | None
    ) = None
    price: Number | None = None
    note: Text | None = None
    widths: Tables | None = None
    flaws: Tables | None = None
    used: Tables | None = None
    length: LengthKey | None = None
    table: LengthKey | None = None
    pattern: Table | None = None
    sections: Text | None = None
    shade: LengthKey | None = None
    open_part: Flag | None = None
    go_on_from: Text | None = None


class AreaShape(Shape, frozen=True):
    """A flaw, or a used area."""

    name: Text | None = None
    along: Annotated[Pair, msgspec.Meta(description="where it begins and ends [30, 32]")] | None = None
    across: Annotated[Pair, msgspec.Meta(description="where it begins and ends [30, 32]")] | None = None
    points: PointsKey | None = None


class PatternShape(Shape, frozen=True):
    """Stripes or checks."""

    along: LengthKey | None = None
    across: LengthKey | None = None
    symmetric: Flag | None = None
    tolerance: LengthKey | None = None
    from_edge: LengthKey | None = None
    from_start: LengthKey | None = None


class RollShape(Shape, frozen=True):
    """Another width of a cloth."""

    width: LengthKey | None = None
    price: Number | None = None


class ShrinkageShape(Shape, frozen=True):
    """What a swatch lost in the wash."""

    warp: (
        Annotated[str | Pair, msgspec.Meta(description="a percentage such as '3 %' or a swatch [before, after]")] | None
    ) = None
    weft: (
        Annotated[str | Pair, msgspec.Meta(description="a percentage such as '3 %' or a swatch [before, after]")] | None
    ) = None


class WriteShape(Shape, frozen=True):
    """What to write."""

    files: Names | None = None
    plotter: Text | None = None
    cutters: Names | None = None
    paper: Text | None = None
    square_measured: LengthKey | None = None
    go_on: Flag | None = None


class PlotterShape(Shape, frozen=True):
    """A plotter's profile."""

    title: Text | None = None
    unit: Text | None = None
    width: LengthKey | None = None
    frame: LengthKey | None = None
    largest: Count | None = None
    pen_speed: Number | None = None
    start: Text | None = None
    between: Text | None = None
    end: Text | None = None
    pens: Table | None = None
    forces: Table | None = None
    speeds: Table | None = None
    colours: Table | None = None
    form: Text | None = None
    letters: Text | None = None
    motion: Table | None = None
    connection: Table | None = None


class PrinterShape(Shape, frozen=True):
    """A desktop printer's profile."""

    title: Text | None = None
    unit: Text | None = None
    language: Text | None = None
    paper: Text | None = None
    margin: LengthKey | None = None
    overlap: LengthKey | None = None


class CutterShape(Shape, frozen=True):
    """A cutter's profile."""

    title: Text | None = None
    unit: Text | None = None
    language: Text | None = None
    length: LengthKey | None = None
    width: LengthKey | None = None
    origin: PointKey | None = None
    turned: Count | None = None
    inches: Flag | None = None
    arcs: Flag | None = None
    splines: Flag | None = None
    tolerance: LengthKey | None = None
    version: Text | None = None
    form: Text | None = None
    largest: Count | None = None
    turn_axis: Text | None = None
    start: Names | None = None
    end: Names | None = None
    strip: LengthKey | None = None
    small: LengthKey | None = None
    shared_lines: Text | None = None
    tools: Table | None = None
    motion: Table | None = None
    connection: Table | None = None


class ToolShape(Shape, frozen=True):
    """A tool of a cutter, `[tools.knife]` of its profile."""

    kind: Text | None = None
    does: Names | None = None
    number: Count | None = None
    layer: Text | None = None
    colour: Colour | None = None
    offset: LengthKey | None = None
    kerf: LengthKey | None = None
    corner_deg: Number | None = None
    overcut: LengthKey | None = None
    lead: LengthKey | None = None
    speed: Number | None = None
    power: Number | None = None
    force: Count | None = None
    choose: Names | None = None
    down: Names | None = None
    up: Names | None = None


class MotionShape(Shape, frozen=True):
    """How fast a machine moves, `[motion]` of its profile."""

    speed: Number | None = None
    travel_speed: Number | None = None
    acceleration: Number | None = None
    lift_s: Number | None = None
    choose_s: Number | None = None
    advance_s: Number | None = None
    corner: Number | None = None


class ConnectionShape(Shape, frozen=True):
    """The way to a machine, `[connection]` of its profile."""

    line: Text | None = None
    address: Text | None = None
    baud: Count | None = None
    parity: Text | None = None
    flow: Text | None = None
    buffer_bytes: Count | None = None
    answer_s: Number | None = None
    patience_s: Number | None = None
