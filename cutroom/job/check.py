"""`check` and `draft`: a job looked over before anything is laid, and its drafts drawn full size."""

from collections.abc import Iterator
from pathlib import Path

from cutroom.job.files import put_file
from cutroom.job.output import file_stem
from cutroom.job.pieces import Drafted, draft_order, prepare_order, read_order
from cutroom.model.finding import Severity
from cutroom.model.order import Order
from cutroom.plan.lays import plan_lays
from cutroom.plot.draft_sheet import compose_draft
from cutroom.units import both_units
from cutroom.write.pdf import write_pdf
from cutroom.write.svg import write_svg


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
        lines += ["", f"{style}, {size}"]
        lines += [f"  {name}: {text}" for name, text in drawn.facts]
        lines += list(_walks(drafted, style, size))
    for lay in lays:
        lines += ["", f"{lay.fabric.name}: {len(lay.wanted)} placements, spread {lay.fabric.spread}"]
    lines += (
        ["", *(str(finding) for finding in drafted.findings)] if drafted.findings else ["", "Nothing to put right."]
    )
    return "\n".join(lines), any(finding.severity is Severity.STOP for finding in drafted.findings)


def draw_drafts(job: Path, out: Path) -> Iterator[Path]:
    """Write every drafted style of a job full size, as PDF and SVG, and say where.

    Raises:
        CutroomError: The job cannot be read or drafted.
    """
    order = read_order(job)
    drafted = draft_order(order)
    yield from _sheets(order, drafted, out)


def _sheets(order: Order, drafted: Drafted, out: Path) -> Iterator[Path]:
    for (style, size), drawn in drafted.styles.items():
        plot = compose_draft(drawn, title=f"{order.title}: {style}, {size}", unit=order.unit)
        for ending, data in (("pdf", write_pdf(plot)), ("svg", write_svg(plot))):
            path = out / f"{file_stem(f'{style}-{size}')}-draft.{ending}"
            put_file(path, data)
            yield path


def _walks(drafted: Drafted, style: str, size: str) -> Iterator[str]:
    for seam in drafted.walked[style, size]:
        yield (
            f"  {seam.seam}: {both_units(seam.first)} against {both_units(seam.second)}, "
            f"difference {both_units(seam.difference)}, wanted {both_units(seam.ease)}"
        )
