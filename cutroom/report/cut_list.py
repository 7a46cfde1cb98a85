"""The cut list: what must lie on the table when the cutting is done."""

from collections.abc import Sequence

from cutroom.report.values import CutLine

MOST_BOXES = 12
"""More boxes than this to a line are written as a number."""


def boxes(count: int) -> str:
    """Boxes to tick, one a piece: `☐ ☐`; many are written `☐ × 40`."""
    return " ".join("☐" * count) if count <= MOST_BOXES else f"☐ × {count}"


def cut_list_text(lines: Sequence[CutLine]) -> str:
    """The cut list as plain text in columns, with its total; pieces that carry a number have it in front of their name.

    Args:
        lines: One for each piece and hand.
    """
    heads = ("how many", "piece", "hand", "garment", "for", "fabric")
    rows = [(f"{line.count}", named(line), line.hand, line.garment, line.size, fabric_of(line)) for line in lines]
    widths = [max(len(row[column]) for row in [heads, *rows]) for column in range(len(heads))]
    text = [
        "  ".join(cell.rjust(width) if column == 0 else cell.ljust(width) for column, (cell, width) in enumerate(pairs))
        for row in [heads, *rows]
        for pairs in [list(zip(row, widths, strict=True))]
    ]
    count = sum(line.count for line in lines)
    text.append(f"{count} piece{'' if count == 1 else 's'} in all")
    return "\n".join(line.rstrip() for line in text) + "\n"


def named(line: CutLine) -> str:
    """The piece's name, after the number that it carries instead: `no. 7: tab`."""
    return f"no. {line.number}: {line.piece}" if line.number else line.piece


def fabric_of(line: CutLine) -> str:
    """The fabric, and which cloth of the garment that is when it is not the main one."""
    return line.fabric if line.cloth == "self" else f"{line.fabric} ({line.cloth})"
