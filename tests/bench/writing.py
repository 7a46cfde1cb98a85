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
    """What one file took.

    Attributes:
        size: Bytes.
        compose: Seconds to compose the drawing,
        lay_out: to work out frames or sheets, the order and the way of the tools,
        write: to write the bytes,
        prove: to prove them,
        plain: and to write the same polylines by the plain call.
        memory_mb: Most memory (MiB).
        findings: What the proof found.
    """

    size: int
    compose: float
    lay_out: float
    write: float
    prove: float
    plain: float
    memory_mb: float
    findings: int


def lay_out(kind: str, marker: Marker, plot: Plot) -> Callable[[], bytes]:
    """What is worked out before a file is written, its writer: frames and sheets, the order, the way of the tools.

    A kind is that of the file, or `marker-hpgl` and a form, or the language of a cutter and its name.
    """
    language, _, name = kind.partition(" ")
    if language == "marker-dxf":
        return lambda: write_marker_dxf(plot)
    if language == "marker-svg":
        return lambda: write_svg(plot)
    if language == "marker-pdf":
        return lambda: write_pdf(plot, [placement.size for placement in marker.placements])
    if language == "tiles-pdf":
        tiling = tile(plot, read_paper(PAPER))
        return lambda: write_tiles(tiling)
    if language == "marker-hpgl":
        plotter = replace(read_plotter("roll-pen-plotter"), width=2000.0, form=name)
        framed = frame(plot, plotter)
        return lambda: write_hpgl(framed, plotter)
    cutter = replace(read_cutter(name), length=LONG, width=2000.0)
    paths = toolpaths(plot, cutter)
    return lambda: WRITERS[language](paths, cutter)


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
    prove(kind, lay_out(kind, small, plot)(), small, plot)
    plot, composed = timed(lambda: compose(marker, legend=(), title="bench"))
    writer, laid = timed(lambda: lay_out(kind, marker, plot))
    data, written = timed(writer)
    del writer
    proved, proven = timed(lambda: prove(kind, data, marker, plot))
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    lines = [list(map(tuple, stroke.points.tolist())) for stroke in plot.strokes]
    _, plain = timed(by_plain_call(kind, lines)[1])
    return Measured(len(data), composed, laid, written, proven, plain, memory, len(proved.findings))


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
        both = (found.lay_out + found.write) / found.plain
        print(
            f"{kind:34}{found.size / 1e6:6.1f} MB   composed {found.compose:4.2f} s   laid out {found.lay_out:5.2f} s  "
            f"written {found.write:5.2f} s   both {both:5.2f} x {name:10}  proven {found.prove:5.2f} s  "
            f"{found.memory_mb:5.0f} MiB   {found.findings} findings",
            flush=True,
        )


if __name__ == "__main__":
    main()
