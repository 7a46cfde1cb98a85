"""Pen-down runs as HP-GL: absolute, relative, or the encoded polyline of HP-GL/2.

The encoded polyline (PE): each number is doubled, one is added for a negative one, and it is written in digits of base
64 (or 32 on seven-bit lines), the least first, the last with a mark. `<` is a move with the pen up, `=` makes the next
pair absolute, `7` asks for base 32. HP, PCL 5 Printer Language Technical Reference Manual, Part II, pages 20-35 to 41.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Wholes = NDArray[np.int64]


def runs_as_hpgl(runs: Sequence[Wholes], form: str) -> bytes:
    """Runs of one pen, each `(n, 2)` plotter units.

    Args:
        runs: A run of one point is a dot.
        form: `absolute`, `relative`, `encoded` or `encoded 7-bit`.

    Returns:
        Moves and lines; absolute mode is on afterwards.
    """
    if form.startswith("encoded"):
        return _encoded(runs, seven_bit=form != "encoded")
    words = (_relative if form == "relative" else _absolute)(runs)
    return "".join(words).encode("ascii")


def _absolute(runs: Sequence[Wholes]) -> list[str]:
    words = []
    for run in runs:
        x, y, *rest = map(str, run.ravel().tolist())
        words.append(f"PU{x},{y};PD{','.join(rest or (x, y))};")  # a dot is a line to itself
    return words


def _relative(runs: Sequence[Wholes]) -> list[str]:
    if not runs:
        return []
    whole = np.concatenate(runs)
    ends = np.cumsum([len(run) for run in runs]) * 2
    steps = np.diff(whole, axis=0, prepend=0).ravel().tolist()
    firsts = whole[np.append(0, ends[:-1] // 2)].tolist()
    words = []
    for (x, y), (start, end) in zip(firsts, pairwise([0, *ends.tolist()]), strict=True):
        words.append(f"PA;PU{x},{y};PR;PD{','.join(map(str, steps[start + 2 : end] or (0, 0)))};")
    return [*words, "PA;"]


def _encoded(runs: Sequence[Wholes], *, seven_bit: bool) -> bytes:
    """One instruction for all runs: the first place absolute, then every place as a step from the last."""
    if not runs:
        return b""
    whole = np.concatenate([run if len(run) > 1 else np.repeat(run, 2, axis=0) for run in runs])
    steps = np.diff(whole, axis=0, prepend=np.zeros((1, 2), dtype=np.int64))
    texts = _digits(steps.ravel(), 32 if seven_bit else 64)
    ends = np.cumsum([0, *(2 * max(len(run), 2) for run in runs)]).tolist()
    parts = [b"PE7" if seven_bit else b"PE", b"<="]
    for start, end in pairwise(ends):
        parts.extend([b"<" if start else b"", *texts[start:end]])
    return b"".join([*parts, b";"])


def _digits(values: Wholes, base: int) -> list[bytes]:
    """Each number in digits, the least first."""
    left = 2 * np.abs(values) + (values < 0)
    bits = base.bit_length() - 1
    last = 191 if base == 64 else 95
    columns, used = [], np.ones(len(left), dtype=np.int64)
    while True:
        more = left >= base
        columns.append(np.where(more, 63 + left % base, last + left))
        if not more.any():
            break
        left = np.where(more, left >> bits, 0)
        used += more
    table = np.column_stack(columns).astype(np.uint8)
    return [row[:count].tobytes() for row, count in zip(table, used.tolist(), strict=True)]
