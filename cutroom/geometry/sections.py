"""Where straight lines cut outlines: chords at given heights, and the first hits of rays."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Point = tuple[float, float]


def longest_chords(outline: NDArray[np.float64], heights: NDArray[np.float64]) -> NDArray[np.float64]:
    """The longest stretch inside an outline along each of some level lines.

    Args:
        outline: `(n, 2)`, closed without repeating the first point (mm).
        heights: `(k,)`, y of each line (mm).

    Returns:
        `(k, 2)`: x where the stretch starts and ends; both 0 where the line misses the outline.
    """
    ends = np.concatenate([outline[1:], outline[:1]])
    y0, y1 = outline[:, 1], ends[:, 1]
    under = y0 <= heights[:, None]
    lines, edges = (under != np.concatenate([under[:, 1:], under[:, :1]], axis=1)).nonzero()
    counts = np.bincount(lines, minlength=len(heights))
    most = int(counts.max(initial=0))
    if most == 0:
        return np.zeros((len(heights), 2))
    lean = (ends[edges, 0] - outline[edges, 0]) / (y1[edges] - y0[edges])
    meets = np.full((len(heights), most), outline[:, 0].max())  # rows of fewer crossings end in stretches of no length
    meets[lines, np.arange(len(lines)) - np.repeat(np.cumsum(counts) - counts, counts)] = (
        outline[edges, 0] + (heights[lines] - y0[edges]) * lean
    )
    meets.sort(axis=1)
    starts, stops = meets[:, ::2], meets[:, 1::2]
    best = (stops - starts).argmax(axis=1)
    rows = np.arange(len(heights))
    chords = np.column_stack([starts[rows, best], stops[rows, best]])
    chords[counts == 0] = 0.0
    return chords


def first_hits(
    starts: Sequence[Point], alongs: Sequence[Point], reaches: Sequence[float], line: NDArray[np.float64]
) -> list[tuple[float, Point] | None]:
    """Where each of some rays first meets a line.

    Args:
        starts: `(k,)`, x and y of the start of each ray (mm).
        alongs: `(k,)`, its unit direction.
        reaches: `(k,)`, how far it goes (mm).
        line: `(n, 2)`, mm.

    Returns:
        For each ray the place on the line as `segment + share`, and the point; None when it misses.
    """
    from_x, from_y = np.array(starts, dtype=np.float64).reshape(-1, 2).T[:, :, None]
    cos, sin = np.array(alongs, dtype=np.float64).reshape(-1, 2).T[:, :, None]
    x, y = line[:, 0] - from_x, line[:, 1] - from_y
    off, ahead = x * sin - y * cos, x * cos + y * sin
    left, right = off < -1e-9, off > 1e-9
    apart = (left[:, :-1] & left[:, 1:]) | (right[:, :-1] & right[:, 1:])
    rays, segments = np.divmod(np.flatnonzero(~apart), len(line) - 1)
    met = [(value[rays, segments], value[rays, segments + 1]) for value in (off, ahead)]
    best: list[tuple[float, int, float] | None] = [None] * len(starts)
    for ray, segment, first, last, near, far in np.column_stack([rays, segments, *met[0], *met[1]]).tolist():
        if first == last:
            continue
        share = min(max(first / (first - last), 0.0), 1.0)
        away = near + share * (far - near)
        nearest = best[int(ray)]
        if -1e-9 <= away <= reaches[int(ray)] and (nearest is None or away < nearest[0]):
            best[int(ray)] = away, int(segment), share
    return [None if hit is None else (hit[1] + hit[2], _point_on(line, hit[1], hit[2])) for hit in best]


def _point_on(line: NDArray[np.float64], segment: int, share: float) -> Point:
    (x, y), (to_x, to_y) = line[segment : segment + 2].tolist()
    return x + share * (to_x - x), y + share * (to_y - y)
