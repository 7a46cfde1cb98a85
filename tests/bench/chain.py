"""Figures of the chain: pieces prepared, placements laid and bytes written a second, beside a plain peer.

Run: `python -m tests.bench.chain`. Seconds are shown, never asserted.
"""

import time
from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

import shapely

from cutroom.draft.blocks import draft
from cutroom.draft.bodies import misses_body
from cutroom.job.markers import make_marker
from cutroom.model.fabric import Fabric, Nap
from cutroom.model.order import Garment, StyleAsked, Wearer
from cutroom.model.profile import Paper
from cutroom.plan.lays import plan_lays
from cutroom.plot.compose import compose
from cutroom.plot.frames import frame
from cutroom.plot.tile import tile
from cutroom.prepare.ready import prepare, with_allowances
from cutroom.proof.prove import prove_file
from cutroom.read.profile import read_plotter
from cutroom.write.hpgl import write_hpgl
from cutroom.write.marker_dxf import write_marker_dxf
from cutroom.write.pdf import write_pdf
from cutroom.write.svg import write_svg
from cutroom.write.tiles_pdf import write_tiles

T = TypeVar("T")
SIZES = ("4", "6", "8", "10", "12", "14", "16", "18")
CLOTH = Fabric("linen", 1500.0, selvedge=10.0, nap=Nap.NONE, gap=3.0)


def timed(work: Callable[[], T]) -> tuple[T, float]:
    """A result and the seconds it took."""
    start = time.perf_counter()
    result = work()
    return result, time.perf_counter() - start


def main() -> None:
    """Print the table."""
    asked = StyleAsked("blouse", "blouse")
    styles = {size: draft(asked, Wearer(size, misses_body(size))) for size in SIZES}
    drawn = [(size, with_allowances(piece, asked)) for size, style in styles.items() for piece in style.pieces]
    pieces, seconds = timed(
        lambda: [prepare(piece, garment=f"blouse {size}", size=size, fabric=CLOTH) for size, piece in drawn]
    )
    seams = [shapely.Polygon(piece.seam_line) for piece in pieces]
    _, peer = timed(lambda: [seam.buffer(12.7, join_style="mitre") for seam in seams])
    print(f"prepared      {len(pieces) / seconds:10.0f} pieces/s   {seconds / peer:6.1f} x a plain shapely offset")

    garments = [Garment(f"blouse {size}", "blouse", size, 2, {"self": CLOTH.name}) for size in SIZES]
    (lay,) = plan_lays(garments, {CLOTH.name: CLOTH}, pieces)
    make_marker(replace(lay, wanted=lay.wanted[:5]), seconds=0, seed=1, tries=1)  # compiles
    (marker, layout), seconds = timed(lambda: make_marker(lay, seconds=0, seed=1, tries=1))
    boxes = layout.boxes_length / marker.length
    print(f"laid          {len(marker.placements) / seconds:10.0f} placements/s   boxes take {boxes:.3f} x the length")

    plot = compose(marker, legend=(), title="bench")
    plotter = replace(read_plotter("roll-pen-plotter"), width=2000.0)
    paper = Paper("A4", 210.0, 297.0)
    points = [[tuple(point) for point in stroke.points.tolist()] for stroke in plot.strokes]
    plain, peer = timed(lambda: "\n".join(" ".join(f"{x:.4f},{y:.4f}" for x, y in line) for line in points).encode())
    writers: dict[str, Callable[[], bytes]] = {
        "marker-dxf": lambda: write_marker_dxf(plot),
        "marker-svg": lambda: write_svg(plot),
        "marker-pdf": lambda: write_pdf(plot),
        "marker-hpgl": lambda: write_hpgl(frame(plot, plotter), plotter),
        "tiles-pdf": lambda: write_tiles(tile(plot, paper)),
    }
    for kind, writer in writers.items():
        data, seconds = timed(writer)
        proved, checked = timed(
            lambda kind=kind, data=data: prove_file(  # type: ignore[misc]
                kind, data, marker, lower=plot.lower, upper=plot.upper, plotter=plotter, paper=paper
            )
        )
        ratio = (seconds / len(data)) / (peer / len(plain))
        print(
            f"{kind:13} {len(data) / seconds / 1e6:10.1f} MB/s   {ratio:6.1f} x the time a byte of plain joined text"
            f"   proven in {checked:.2f} s ({len(proved.findings)} findings)"
        )


if __name__ == "__main__":
    main()
