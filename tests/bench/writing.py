"""How long does every machine's file of a long marker take to write and to prove, and how much memory?

Run: `python -m tests.bench.writing [--pieces 5000] [KIND ...]`. Each kind of file has a process of its own, whose most
memory (resident, marker and drawing included) is shown. Seconds are those of the processor; a small marker is written
and proven first, so that what is loaded once a process does not count. Beside them, how many times as long it is as
writing the same polylines by a plain call: ezdxf's R12 writer, reportlab's paths, or `str.join` of the points.
"""

import argparse
import io
import multiprocessing
import resource
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import chain

from ezdxf.addons.r12writer import r12writer
from reportlab.pdfgen.canvas import Canvas

from cutroom.model.marker import Marker
from cutroom.model.plot import Plot
from cutroom.plot.compose import compose
from cutroom.plot.frames import frame
from cutroom.plot.tile import tile
from cutroom.plot.toolpath import toolpaths
from cutroom.proof.cut import prove_cut
from cutroom.proof.prove import prove_file
from cutroom.proof.proved import Proved
from cutroom.read.cutter import read_cutter
from cutroom.read.profile import FORMS, read_paper, read_plotter
from cutroom.write.hpgl import write_hpgl
from cutroom.write.marker_dxf import write_marker_dxf
from cutroom.write.pdf import write_pdf
from cutroom.write.svg import write_svg
from cutroom.write.tiles_pdf import write_tiles
from tests.bench.cutting import rows_of_pieces, timed
from tests.cutters import SHIPPED, WRITERS

Line = list[tuple[float, float]]
LONG = 2e6
"""Length of bed and of roll (mm) that no marker here is longer than."""
PAPER = "A0"


@dataclass(frozen=True, slots=True)
class Measured:
    """What one file took: bytes, seconds to compose the drawing, to write, to prove, by the plain call; most memory."""

    size: int
    compose: float
    write: float
    prove: float
    plain: float
    memory_mb: float
    findings: int


def write(kind: str, marker: Marker, plot: Plot) -> bytes:
    """The bytes of a file: its kind, or `marker-hpgl` and a form, or the language of a cutter and its name."""
    language, _, name = kind.partition(" ")
    if language == "marker-dxf":
        return write_marker_dxf(plot)
    if language == "marker-svg":
        return write_svg(plot)
    if language == "marker-pdf":
        return write_pdf(plot, [placement.size for placement in marker.placements])
    if language == "tiles-pdf":
        return write_tiles(tile(plot, read_paper(PAPER)))
    if language == "marker-hpgl":
        plotter = replace(read_plotter("roll-pen-plotter"), width=2000.0, form=name)
        return write_hpgl(frame(plot, plotter), plotter)
    cutter = replace(read_cutter(name), length=LONG, width=2000.0)
    return WRITERS[language](toolpaths(plot, cutter), cutter)


def prove(kind: str, data: bytes, marker: Marker, plot: Plot) -> Proved:
    """The proof of a file."""
    language, _, name = kind.partition(" ")
    if language.startswith("cut-"):
        return prove_cut(language, data, marker, replace(read_cutter(name), length=LONG, width=2000.0))
    plotter = replace(read_plotter("roll-pen-plotter"), width=2000.0, form=name or "absolute")
    paper = read_paper(PAPER)
    return prove_file(language, data, marker, lower=plot.lower, upper=plot.upper, plotter=plotter, paper=paper)


def by_plain_call(kind: str, lines: Sequence[Line]) -> tuple[str, Callable[[], object]]:
    """A plain library call that writes polylines, and its name."""
    if kind.split(" ", maxsplit=1)[0].endswith("dxf"):
        return "ezdxf", lambda: _by_ezdxf(lines)
    if kind.split(" ", maxsplit=1)[0].endswith("pdf"):
        return "reportlab", lambda: _by_reportlab(lines)
    return "str.join", lambda: "\n".join(" ".join(f"{x:.3f},{y:.3f}" for x, y in line) for line in lines).encode()


def _by_ezdxf(lines: Sequence[Line]) -> None:
    with r12writer(io.StringIO()) as dxf:
        for line in lines:
            dxf.add_polyline_2d(line)


def _by_reportlab(lines: Sequence[Line]) -> None:
    canvas = Canvas(io.BytesIO(), pageCompression=1)
    for line in lines:
        path = canvas.beginPath()
        path.moveTo(*line[0])
        for x, y in line[1:]:
            path.lineTo(x, y)
        canvas.drawPath(path)
    canvas.save()


def measure(kind: str, marker: Marker) -> Measured:
    """Write and prove one kind of file in this process, which has done nothing else."""
    small = rows_of_pieces(20)
    plot = compose(small, legend=(), title="bench")
    prove(kind, write(kind, small, plot), small, plot)
    plot, composed = timed(lambda: compose(marker, legend=(), title="bench"))
    data, written = timed(lambda: write(kind, marker, plot))
    proved, proven = timed(lambda: prove(kind, data, marker, plot))
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    lines = [list(map(tuple, stroke.points.tolist())) for stroke in plot.strokes]
    _, plain = timed(by_plain_call(kind, lines)[1])
    return Measured(len(data), composed, written, proven, plain, memory, len(proved.findings))


def kinds_of_files() -> list[str]:
    """Every kind that is measured."""
    cutters = [f"{read_cutter(name).language} {name}" for name in SHIPPED]
    hpgl = [f"marker-hpgl {form}" for form in FORMS]
    return list(chain(hpgl, ["marker-dxf", "marker-svg", "marker-pdf", "tiles-pdf"], cutters))


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="How long does a file take?")
    parser.add_argument("--pieces", type=int, default=5000)
    parser.add_argument("kinds", nargs="*", help="kinds of files; all when none is named")
    arguments = parser.parse_args()
    marker = rows_of_pieces(arguments.pieces)
    strokes = compose(marker, legend=(), title="bench").strokes
    points = sum(len(stroke.points) for stroke in strokes)
    print(f"{arguments.pieces} pieces, {len(strokes)} strokes, {points} points")
    context = multiprocessing.get_context("spawn")
    for kind in arguments.kinds or kinds_of_files():
        with context.Pool(1) as pool:
            found = pool.apply(measure, (kind, marker))
        name = by_plain_call(kind, ())[0]
        written = f"written {found.write:6.2f} s ({found.write / found.plain:5.2f} x {name})"
        print(
            f"{kind:34}{found.size / 1e6:6.1f} MB   composed {found.compose:5.2f} s   {written:38}"
            f"proven {found.prove:6.2f} s   {found.memory_mb:5.0f} MiB   {found.findings} findings",
            flush=True,
        )


if __name__ == "__main__":
    main()
