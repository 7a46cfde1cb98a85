"""What the sheets say: the legend on every drawing, and the report's values."""

from collections.abc import Callable, Iterator, Mapping, Sequence

from cutroom import __version__
from cutroom.job.manifest import Written
from cutroom.job.pieces import Drafted
from cutroom.model.fabric import Nap, Spread
from cutroom.model.finding import Finding
from cutroom.model.lay import Counted
from cutroom.model.marker import Marker
from cutroom.model.order import Order
from cutroom.model.prepared import PreparedPiece
from cutroom.report.figures import utilisation
from cutroom.report.page import write_report
from cutroom.report.scale import ScaleVerdict
from cutroom.report.values import CutLine, DraftFacts, MarkerSheet, ProofRow, Recount, Report, WalkLine
from cutroom.units import format_length


def legend(order: Order, marker: Marker) -> tuple[str, ...]:
    """The lines at the head of a drawing: the facts that spoil cloth when they are forgotten."""
    fabric = marker.fabric

    def say(length: float) -> str:
        return format_length(length, order.unit)

    shrinkage = "shrinkage not tested"
    if fabric.shrink_warp is not None and fabric.shrink_weft is not None:
        shrinkage = f"let out for shrinkage {fabric.shrink_warp:.1%} along, {fabric.shrink_weft:.1%} across"
    face = f"face {fabric.face}" if fabric.spread is Spread.OPEN else "right sides together"
    nap = {Nap.NONE: "no nap", Nap.ONE_WAY: "nap one way, along the arrow", Nap.BY_GARMENT: "nap by garment"}
    plies = f"{fabric.plies} {'ply' if fabric.plies == 1 else 'plies'}"
    return (
        f"Fabric {fabric.name}, spread {fabric.spread}, {face}, {plies}",
        f"Usable width {say(marker.width)} of the narrowest roll, length {say(marker.length)}",
        f"{nap[fabric.way]}; {shrinkage}",
        f"{len(marker.placements)} pieces laid, {utilisation(marker):.1%} of the cloth used",
        *_cloth_lines(marker, say),
    )


def _cloth_lines(marker: Marker, say: Callable[[float], str]) -> Iterator[str]:
    """What the table must know of flaws, pattern, table and sections."""
    fabric = marker.fabric
    if fabric.forbidden:
        yield f"Kept clear: {', '.join(area.name for area in fabric.forbidden)}"
    if fabric.pattern is not None and marker.pattern_start is not None:
        yield f"Pattern: a stripe's middle {say(marker.pattern_start)} from the start line"
    if fabric.table is not None:
        yield f"No piece crosses the end of the table, every {say(fabric.table)}"
    if marker.sections:
        yield f"Sections end at {', '.join(say(end) for end in marker.sections)}"


def report_bytes(
    order: Order,
    drafted: Drafted,
    markers: tuple[Marker, ...],
    counted: tuple[Counted, ...],
    findings: tuple[Finding, ...],
    written: tuple[Written, ...],
    pictures: Mapping[str, str],
    scale: ScaleVerdict | None,
) -> bytes:
    """The report's page."""
    sheets = tuple(
        MarkerSheet(
            marker=marker,
            picture=pictures[marker.name],
            cut_list=tuple(cut_lines([line for line in counted if line.fabric == marker.name], marker.pieces)),
            garments=sum(
                garment.copies
                for garment in order.garments
                if (marker.fabric.part_of or marker.name) in garment.fabrics.values()
            ),
            recounts=tuple(_recounts(marker, written)),
            file=next((file.path for file in written if file.marker == marker.name and file.passed), ""),
        )
        for marker in markers
    )
    return write_report(
        Report(
            title=order.title,
            unit=order.unit,
            markers=sheets,
            walks=tuple(
                WalkLine(f"{style}, {size}", seam.seam, seam.first, seam.second, seam.ease, seam.within)
                for (style, size), seams in drafted.walked.items()
                for seam in seams
            ),
            drafts=tuple(
                DraftFacts(style, size, drawn.facts) for (style, size), drawn in drafted.styles.items() if drawn.facts
            ),
            findings=findings,
            proofs=tuple(
                ProofRow(file.path, file.kind, file.compared, file.deviation, file.passed, file.sha256)
                for file in written
            ),
            scale=scale,
            made_by=f"cutroom {__version__}",
        )
    )


def cut_lines(counted: Sequence[Counted], pieces: Sequence[PreparedPiece]) -> Iterator[CutLine]:
    """The cut list to tick: one line a piece and hand, with what comes out of the lay, and the numbers pieces carry."""
    numbers = {(piece.garment, piece.size, piece.name): piece.number for piece in pieces}
    for line in counted:
        hands = (("left", line.got_left), ("right", line.got_right), ("as drawn", line.got_whole))
        for hand, count in hands:
            if count:
                number = numbers.get((line.garment, line.size, line.piece), 0)
                yield CutLine(line.garment, line.size, line.piece, hand, line.cloth, line.fabric, count, number)


def _recounts(marker: Marker, written: tuple[Written, ...]) -> Iterator[Recount]:
    for file in written:
        if file.marker != marker.name:
            continue
        for count in file.counts:
            laid = sum(p.key == (count.garment, count.size, count.piece) for p in marker.placements)
            what = f"{count.garment} ({count.size}), {count.piece}"
            yield Recount(file.path, what, laid, count.drawn + count.flipped + count.either)
