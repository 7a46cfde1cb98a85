"""`check` and `draft`: a job looked over before anything is laid, and its styles drawn for the wall."""

from collections.abc import Iterator
from pathlib import Path

from cutroom.job.files import put_file
from cutroom.job.output import file_stem
from cutroom.job.pieces import draft_order, prepare_order, read_order, walk_as_cut
from cutroom.job.style_sheets import style_sheets
from cutroom.job.walk_table import walk_table
from cutroom.model.finding import Severity
from cutroom.model.order import Order
from cutroom.model.piece import Style
from cutroom.model.plot import Plot
from cutroom.plan.lays import plan_lays
from cutroom.plot.nested import compose_nested
from cutroom.plot.style_sheet import look_at
from cutroom.prepare.walk import Walked
from cutroom.write.pdf import write_pdf
from cutroom.write.svg import write_svg

CHECK_SCALE = 4.0
"""Scale of the sheets that `check` writes."""


def check_text(job: Path) -> tuple[str, bool]:
    """What walking a job's seams shows, as lines for a terminal, and whether a finding would stop it.

    Raises:
        CutroomError: The job cannot be read, drafted, prepared or spread as it says.
    """
    order = read_order(job)
    drafted = draft_order(order)
    lays = plan_lays(order.garments, order.fabrics, prepare_order(order, drafted))
    lines = [order.title]
    for (style, size), drawn in drafted.styles.items():
        lines += ["", f"{style}, {size}", *(f"  {name}: {text}" for name, text in drawn.facts), ""]
        table = walk_table(drafted.walked[style, size], order.unit, _as_cut(order, (style, size), drawn))
        lines += [f"  {row}" for row in table.splitlines()]
    for lay in lays:
        lines += ["", f"{lay.fabric.name}: {len(lay.wanted)} placements, spread {lay.fabric.spread}"]
    lines += ["", *(str(finding) for finding in drafted.findings or ("Nothing to put right.",))]
    return "\n".join(lines), any(finding.severity is Severity.STOP for finding in drafted.findings)


def _as_cut(order: Order, key: tuple[str, str], style: Style) -> dict[str, tuple[Walked, ...]]:
    """Seams walked on the pieces as they are let out, by the fabrics the style is cut from."""
    found = {}
    for garment in order.garments:
        if (garment.style, garment.wearer) == key:
            used = dict.fromkeys(garment.fabrics[piece.cloth] for piece in style.pieces)
            found[" and ".join(used)] = walk_as_cut(order, garment, style)
    return found


def draw_check(job: Path, out: Path) -> Iterator[Path]:
    """Write a sheet of every style of a job at a quarter of full size, its findings marked, and say where.

    Raises:
        CutroomError: The job cannot be read or drafted.
    """
    order = read_order(job)
    for (style, size), plot in style_sheets(order, scale=CHECK_SCALE, construction=False):
        yield from _written(plot, out, f"{file_stem(f'{style}-{size}')}-check")


def draw_drafts(job: Path, out: Path, *, scale: float = 1.0, construction: bool = True) -> Iterator[Path]:
    """Write a sheet of every style of a job, as PDF and SVG, and say where.

    Args:
        job: The job file.
        out: The folder.
        scale: 1 for full size, 4 for a quarter.
        construction: Construction lines are drawn.

    Raises:
        CutroomError: The job cannot be read or drafted.
    """
    order = read_order(job)
    ending = "draft" if scale == 1 else f"draft-1-to-{scale:g}"
    for (style, size), plot in style_sheets(order, scale=scale, construction=construction):
        yield from _written(plot, out, f"{file_stem(f'{style}-{size}')}-{ending}")


def draw_nested(job: Path, out: Path, *, scale: float = 4.0, meet: str = "") -> Iterator[Path]:
    """Write the sizes of every style on top of each other, as PDF and SVG, and say where.

    Args:
        job: The job file.
        out: The folder.
        scale: 1 for full size, 4 for a quarter.
        meet: Sizes are laid together where the edge of this name starts; empty for the start of the grainline.

    Raises:
        CutroomError: The job cannot be read or drafted, or a style is there in one size only.
    """
    order = read_order(job)
    drafted = draft_order(order)
    for name in dict.fromkeys(style for style, _ in drafted.styles):
        sizes = [drawn for (style, _), drawn in drafted.styles.items() if style == name]
        plot = compose_nested(sizes, look_at(scale, order.unit), title=f"{order.title}: {name}", meet=meet)
        yield from _written(plot, out, f"{file_stem(name)}-sizes")


def _written(plot: Plot, out: Path, stem: str) -> Iterator[Path]:
    for ending, data in (("pdf", write_pdf(plot)), ("svg", write_svg(plot))):
        path = out / f"{stem}.{ending}"
        put_file(path, data)
        yield path
