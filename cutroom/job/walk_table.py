"""The table of seams walked: lengths, what the second side is longer by, what was wanted, and where notches meet."""

from collections.abc import Iterator, Mapping, Sequence

from cutroom.prepare.walk import Met, Walked
from cutroom.units import Unit, format_length

_HEADS = ("seam", "first side", "second side", "longer by", "wanted", "")


def walk_table(walked: Sequence[Walked], unit: Unit, as_cut: Mapping[str, Sequence[Walked]] | None = None) -> str:
    """Seams walked as plain text in columns; notches stand under their seam, measured from its common end.

    Under a seam whose pieces are let out for shrinkage stand its lengths as cut, and so the ease before the wash.

    Args:
        walked: The seams of one style in one size.
        unit: The unit people see.
        as_cut: Seams walked on the pieces as they are let out, by what they are cut from.
    """
    if not walked:
        return "no seams to walk\n"
    cut = {
        seam.seam: [(cloth, one) for cloth, seams in (as_cut or {}).items() for one in seams if one.seam == seam.seam]
        for seam in walked
    }
    rows = [_HEADS, *(row for seam in walked for row in _rows(seam, cut[seam.seam], unit))]
    widths = [max(len(row[column]) for row in rows) for column in range(len(_HEADS))]
    text = (
        "  ".join(
            cell.rjust(width) if column in range(1, 5) else cell.ljust(width)
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    )
    return "\n".join(text) + "\n"


def _rows(seam: Walked, cut: Sequence[tuple[str, Walked]], unit: Unit) -> Iterator[tuple[str, ...]]:
    def say(length: float) -> str:
        return format_length(length, unit)

    off = seam.difference - seam.ease
    verdict = "as wanted" if abs(off) <= seam.within else f"{say(abs(off))} too {'long' if off > 0 else 'short'}"
    yield seam.seam, say(seam.first), say(seam.second), say(seam.difference), say(seam.ease), verdict
    for cloth, one in cut:
        yield f"  let out for {cloth}", say(one.first), say(one.second), say(one.difference), "", "before the wash"
    for met in seam.marks:
        ends = [say(mark.at) if mark else "-" for mark in (met.first, met.second)]
        yield f"  {_called(met)}", *ends, say(met.difference) if met.first and met.second else "-", "", ""


def _called(met: Met) -> str:
    """What a pair of marks is called: by its notch, and how many slits that has."""
    marks = [mark for mark in (met.first, met.second) if mark and mark.count]
    name = next((mark.name for mark in marks if mark.name), "")
    slits = (
        "double " if any(mark.count == 2 for mark in marks) else "triple " if any(m.count > 2 for m in marks) else ""
    )
    joint = any(mark and not mark.count for mark in (met.first, met.second))
    return f"{name} {slits}notch{' at a seam' if joint else ''}".strip()
