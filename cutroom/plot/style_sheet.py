"""A style on one sheet: its pieces in rows with all that is said about them, what was found, and the scale."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from cutroom.errors import PlotError
from cutroom.geometry.lettering import text_width
from cutroom.model.finding import Finding
from cutroom.model.plot import Plot, Stroke
from cutroom.plot.piece_view import Look, Shown, view_piece
from cutroom.plot.scale_mark import scale_mark
from cutroom.plot.words import LEADING, wrapped, written
from cutroom.units import Unit

SMALL, FULL = 3.0, 6.0
"""Height of the capitals (mm) of small words on a scaled sheet and on one at full size."""
_SHAPE = 1.5
"""A sheet is about this many times as wide as it is high."""

Block = list[Stroke]


def look_at(scale: float, unit: Unit, *, construction: bool = False) -> Look:
    """How a sheet at a scale looks.

    Args:
        scale: 1 for full size, 4 for a quarter.
        unit: The unit people see.
        construction: Construction lines are drawn.
    """
    return Look(unit, scale, FULL if scale == 1 else SMALL, construction)


def compose_style(
    shown: Sequence[Shown],
    look: Look,
    *,
    title: str,
    facts: Sequence[str] = (),
    findings: Sequence[Finding] = (),
) -> Plot:
    """Draw a style.

    Args:
        shown: Its pieces; the numbers of their marks count `findings` from 1.
        look: How the sheet looks.
        title: What the sheet is called.
        facts: Lines that stand under the title.
        findings: What was found, listed under the pieces.

    Returns:
        The drawing, its lower left corner at (0, 0), in mm of the sheet.

    Raises:
        PlotError: A word cannot be lettered.
        PieceError: A piece and what was prepared of it do not belong together.
    """
    try:
        blocks = [view_piece(one, look).strokes for one in shown]
        lines = [line for place, found in enumerate(findings, start=1) for line in ("", f"{place}. {found}")]
        return assemble(blocks, look, title=title, facts=facts, notes=(*_key(shown, look), *lines))
    except ValueError as error:
        raise PlotError(f"{error}", "Write names with Latin letters", place=title) from error


def assemble(blocks: Sequence[Block], look: Look, *, title: str, facts: Sequence[str], notes: Sequence[str]) -> Plot:
    """Set drawn pieces in rows under a title, with the scale mark and notes below them.

    Args:
        blocks: Strokes of each piece, anywhere.
        look: How the sheet looks.
        title: What the sheet is called.
        facts: Lines under the title.
        notes: Lines beside the scale mark; an empty one leaves a gap.

    Raises:
        ValueError: A letter cannot be drawn.
    """
    h, gap = look.height, 5 * look.height
    rows = _in_rows(blocks, gap)
    mark = scale_mark(look.scale, look.unit, h)
    lead = float(np.ptp(np.array(_box(mark)), axis=0)[0]) + gap
    width = max(float(_box(rows)[1][0]) if rows else 0.0, text_width(title, 2 * h), lead + 30 * h)
    note_lines = [line for note in notes for line in (wrapped(note, h, width - lead) if note else [""])]
    foot = [*_moved(_top_left(mark), 0.0, 0.0), *_moved(_column(note_lines, h), lead, 0.0)]
    head = [*_moved(written(title, 2 * h, (0.0, -2 * h)), 0, 0), *_moved(_in_columns(facts, h, width), 0.0, -5 * h)]
    strokes: Block = []
    top = 0.0
    for part in (head, rows, foot):
        if part:
            low, high = _box(part)
            strokes += _moved(part, 0.0, top - float(high[1]))
            top -= float(high[1] - low[1]) + gap
    low, high = _box(strokes)
    shift = gap - low
    return Plot(
        title,
        (0.0, 0.0),
        (float(np.ceil(high[0] + shift[0] + gap)), float(np.ceil(high[1] + shift[1] + gap))),
        tuple(_moved(strokes, float(shift[0]), float(shift[1]))),
        tuple(line for line in (*facts, *notes) if line),
    )


def _key(shown: Sequence[Shown], look: Look) -> list[str]:
    lines = []
    if any(one.prepared is not None for one in shown):
        lines += [
            "Whole lines are cut, dashed lines are sewn; dimension lines measure what is cut, over all.",
            "Lengths of edges are those of the seam line; + is the allowance beyond it.",
        ]
    if any(one.prepared is None for one in shown):
        lines.append("Pieces that could not be prepared are drawn on their seam line, without allowance.")
    if look.construction:
        lines.append("Dotted lines are lines of the construction.")
    return lines


def _in_rows(blocks: Sequence[Block], gap: float) -> Block:
    """Blocks in rows, the tallest first, at the width that makes the sheet smallest and not too narrow."""
    if not blocks:
        return []
    boxes = [_box(block) for block in blocks]
    sizes = [high - low + gap for low, high in boxes]
    order = sorted(range(len(blocks)), key=lambda place: -float(sizes[place][1]))
    tall = [(float(sizes[place][0]), float(sizes[place][1])) for place in order]
    widths = [sum(x for x, _ in tall[: k + 1]) for k in range(len(tall))]
    rows = [_shelved(tall, max(width, *(x for x, _ in tall))) for width in widths]
    best = min(rows, key=lambda row: row[1] * row[2] * max(1.0, row[2] / row[1], row[1] / row[2] / _SHAPE))
    return [
        stroke
        for place, (x, y) in zip(order, best[0], strict=True)
        for stroke in _moved(blocks[place], x - float(boxes[place][0][0]), y - float(boxes[place][0][1]))
    ]


def _shelved(sizes: Sequence[tuple[float, float]], wide: float) -> tuple[list[tuple[float, float]], float, float]:
    """Lower left corners of boxes, tallest first, in rows no wider than that; a low one stands on the one before it.

    Returns:
        The corners, and the width and height (mm) of all.
    """
    places: list[tuple[float, float]] = []
    ground, row, left, column, filled, reached = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for x, y in sizes:
        if places and filled + y <= row and left + x <= max(wide, left + column):
            places.append((left, ground + filled))
            column, filled = max(column, x), filled + y
        else:
            left += column
            if not places or left + x > wide:
                ground, row, left = ground - y, y, 0.0
            places.append((left, ground))
            column, filled = x, y
        reached = max(reached, left + column)
    return places, reached, -ground


def _column(lines: Sequence[str], height: float) -> Block:
    return [s for row, line in enumerate(lines) for s in written(line, height, (0.0, -height - row * LEADING * height))]


def _in_columns(lines: Sequence[str], height: float, width: float) -> Block:
    """Short lines in as many columns as there is room for, read downwards."""
    if not lines:
        return []
    step = max(text_width(line, height) for line in lines) + 4 * height
    count = max(1, min(len(lines), int((width + 4 * height) / step)))
    deep = -(-len(lines) // count)
    return [
        stroke
        for start in range(0, len(lines), deep)
        for stroke in _moved(_column(lines[start : start + deep], height), start / deep * step, 0.0)
    ]


def _top_left(strokes: Block) -> Block:
    low, high = _box(strokes)
    return _moved(strokes, -float(low[0]), -float(high[1]))


def _box(strokes: Sequence[Stroke]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    points = np.vstack([stroke.points for stroke in strokes])
    return points.min(axis=0), points.max(axis=0)


def _moved(strokes: Sequence[Stroke], x: float, y: float) -> Block:
    shift = np.array([x, y])
    return [Stroke(stroke.role, stroke.points + shift, stroke.closed) for stroke in strokes]
