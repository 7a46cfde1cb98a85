"""The files of a job: all made and proven in memory first, then put in their folder."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from cutroom.errors import CutroomError, PlotError
from cutroom.job.machines import Machines
from cutroom.job.manifest import Written, marker_bytes
from cutroom.model.cutter import Cutter, Language
from cutroom.model.estimate import Estimate, Saved
from cutroom.model.finding import Finding, Severity
from cutroom.model.marker import Marker
from cutroom.model.order import Order
from cutroom.model.plot import Plot
from cutroom.model.prepared import PreparedPiece
from cutroom.model.toolpath import Toolpaths
from cutroom.plan.count import check_count, cut_list
from cutroom.plot.compose import compose
from cutroom.plot.frames import frame
from cutroom.plot.tile import tile
from cutroom.plot.timing import saved_by_sharing, time_cut, time_plot
from cutroom.plot.toolpath import toolpaths
from cutroom.proof.cut import prove_cut
from cutroom.proof.hands import Count
from cutroom.proof.prove import prove_file
from cutroom.proof.proved import Proved
from cutroom.read.job import FILE_KINDS
from cutroom.write.cut_dxf import write_cut_dxf
from cutroom.write.cut_hpgl import write_cut_hpgl
from cutroom.write.cut_svg import write_cut_svg
from cutroom.write.gcode import write_gcode
from cutroom.write.hpgl import write_hpgl
from cutroom.write.marker_dxf import write_marker_dxf
from cutroom.write.pdf import write_pdf
from cutroom.write.pieces_dxf import write_pieces_dxf
from cutroom.write.svg import write_svg
from cutroom.write.tiles_pdf import write_tiles

MARKER = "marker-json"
ENDINGS = {
    "marker-dxf": "marker.dxf",
    "marker-hpgl": "marker.plt",
    "marker-pdf": "marker.pdf",
    "tiles-pdf": "tiles.pdf",
    "marker-svg": "marker.svg",
    MARKER: "marker.json",
    "cut-gcode": "cut.nc",
    "cut-hpgl": "cut.plt",
    "cut-dxf": "cut.dxf",
    "cut-svg": "cut.svg",
}
"""Name of a marker's file after the fabric's name, by kind."""
CUT_WRITERS: Mapping[Language, Callable[[Toolpaths, Cutter], bytes]] = {
    Language.ISO: write_gcode,
    Language.HPGL: write_cut_hpgl,
    Language.DXF: write_cut_dxf,
    Language.SVG: write_cut_svg,
}
PIECES, REPORT = ("pieces.dxf", "pieces-dxf"), ("report.html", "report-html")
LONGEST = 60
"""Letters of a name that go into a file's."""


@dataclass(frozen=True, slots=True, eq=False)
class Output:
    """A file, made and proven, not yet on the disk.

    Attributes:
        name: Its name in the folder.
        data: Its bytes.
        written: What the manifest says of it.
    """

    name: str
    data: bytes
    written: Written


@dataclass(frozen=True, slots=True, eq=False)
class Drawing:
    """A marker and the drawing of it that every file of it is made from."""

    marker: Marker
    plot: Plot
    stem: str


def draw(marker: Marker, *, title: str, legend: tuple[str, ...], stem: str) -> Drawing:
    """The drawing of a marker, whose files' names start with a stem."""
    return Drawing(marker, compose(marker, legend=legend, title=f"{title}: {marker.name}"), stem)


def file_stem(name: str) -> str:
    """A fabric's name as a file may be called."""
    return re.sub(r"[^\w.-]+", "-", name).strip("-.")[:LONGEST] or "cloth"


def file_stems(names: Sequence[str]) -> tuple[str, ...]:
    """A stem for each name, all unlike, also where capitals do not count."""
    stems: list[str] = []
    for name in names:
        plain = stem = file_stem(name)
        number = 2
        while stem.casefold() in {taken.casefold() for taken in stems}:
            stem, number = f"{plain}-{number}", number + 1
        stems.append(stem)
    return tuple(stems)


def make_pieces_file(order: Order, pieces: tuple[PreparedPiece, ...]) -> Output | None:
    """The pieces one by one, read back and proven; None when the job does not ask for them."""
    if PIECES[1] not in order.outputs.kinds:
        return None
    from cutroom.proof.pieces import prove_pieces  # loads a DXF reader, which takes half a second

    data = write_pieces_dxf(pieces, title=order.title)
    return _output(PIECES[0], data, "", prove_pieces(data, pieces), ())


def make_marker_files(
    order: Order,
    pieces: tuple[PreparedPiece, ...],
    drawings: Iterable[Drawing],
    machines: Machines,
    *,
    tell: Callable[[str], None],
) -> Iterator[Output]:
    """Every file of the markers, each read back and proven; the marker itself always, to prove the others by later.

    Raises:
        CutroomError: A machine or paper cannot take a drawing.
    """
    asked = [kind for kind in order.outputs.kinds if kind in ENDINGS]
    for drawing in drawings:
        for kind in dict.fromkeys([*asked, MARKER]):
            name = f"{drawing.stem}-{ENDINGS[kind]}"
            tell(f"writing and proving {name}")
            yield _marker_file(order, pieces, drawing, machines, kind, name)


def _marker_file(
    order: Order, pieces: tuple[PreparedPiece, ...], drawing: Drawing, machines: Machines, kind: str, name: str
) -> Output:
    marker, plot = drawing.marker, drawing.plot
    if kind == MARKER:
        said = Written(name, kind, marker.name, "the marker itself", None, passed=True)
        return Output(name, marker_bytes(marker, plot.lower, plot.upper), said)
    try:
        data, time = _bytes_of(kind, marker, plot, machines)
    except CutroomError as fault:
        raise fault.at(file=order.file, place=f'{kind} of fabric "{marker.name}"') from fault
    saved = None
    if kind in machines.cutters:
        cutter = machines.cutters[kind]
        proved = prove_cut(kind, data, marker, cutter)
        saved = _saved(plot, cutter) if cutter.shared_once else None
    else:
        proved = prove_file(
            kind, data, marker, lower=plot.lower, upper=plot.upper, plotter=machines.plotter, paper=machines.paper
        )
    return _output(name, data, marker.name, proved, _count_again(order, pieces, marker, proved.counts), time, saved)


def _saved(plot: Plot, cutter: Cutter) -> Saved:
    """What is saved where shared lines are cut once."""
    once, each = (toolpaths(plot, replace(cutter, shared_once=one)) for one in (True, False))
    return saved_by_sharing(once, each, cutter)


def _bytes_of(kind: str, marker: Marker, plot: Plot, machines: Machines) -> tuple[bytes, Estimate | None]:
    """The file, and what its machine takes over it where that is known."""
    match kind:
        case "marker-dxf":
            return write_marker_dxf(plot), None
        case "marker-svg":
            colours = {} if machines.plotter is None else machines.plotter.colours_of_roles()
            return write_svg(plot, colours), None
        case "marker-pdf":
            return write_pdf(plot, [placement.size for placement in marker.placements]), None
        case "tiles-pdf" if machines.paper is not None:
            return write_tiles(tile(plot, machines.paper)), None
        case "marker-hpgl" if machines.plotter is not None:
            framed = frame(plot, machines.plotter)
            data = write_hpgl(framed, machines.plotter)
            return data, time_plot(framed, machines.plotter, len(data))
        case _ if kind in machines.cutters:
            cutter = machines.cutters[kind]
            paths = toolpaths(plot, cutter)
            data = CUT_WRITERS[cutter.language](paths, cutter)
            return data, time_cut(paths, cutter, len(data))
        case _:
            raise PlotError(f"nothing writes {kind}", f"Write one of: {', '.join(FILE_KINDS)}")


def _count_again(
    order: Order, pieces: tuple[PreparedPiece, ...], marker: Marker, counts: tuple[Count, ...]
) -> tuple[Finding, ...]:
    """The pieces counted from the file, once more through the spread, held against the order."""
    if not counts:
        return ()
    found = {(c.garment, c.size, c.piece): (c.drawn + c.either, c.flipped) for c in counts}
    here = {piece.key for piece in marker.pieces}
    lines = cut_list(order.garments, order.fabrics, tuple(piece for piece in pieces if piece.key in here), found)
    return tuple(f for f in check_count(lines, order.fabrics) if f.severity is Severity.STOP)


def _output(
    name: str,
    data: bytes,
    marker: str,
    proved: Proved,
    more: tuple[Finding, ...],
    time: Estimate | None = None,
    saved: Saved | None = None,
) -> Output:
    findings = (*proved.findings, *more)
    passed = all(finding.severity is not Severity.STOP for finding in findings)
    final = name if passed else f"{name}.refused"
    said = Written(
        final, proved.kind, marker, proved.compared, proved.deviation, passed=passed,
        findings=findings, counts=proved.counts, time=time, saved=saved,
    )  # fmt: skip
    return Output(final, data, said)
