"""Where straight lines cut outlines: chords at given heights, and the first hit of a ray."""

import numpy as np
from numpy.typing import NDArray


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
    meets = np.full((len(heights), most + most % 2), np.inf)
    meets[lines, np.arange(len(lines)) - np.repeat(np.cumsum(counts) - counts, counts)] = (
        outline[edges, 0] + (heights[lines] - y0[edges]) * lean
    )
    meets.sort(axis=1)
    starts, stops = meets[:, ::2], meets[:, 1::2]
    with np.errstate(invalid="ignore"):
        sizes = np.nan_to_num(stops - starts, nan=-1.0, posinf=-1.0)
    best = sizes.argmax(axis=1)
    rows = np.arange(len(heights))
    chords = np.column_stack([starts[rows, best], stops[rows, best]])
    chords[sizes[rows, best] < 0] = 0.0
    return chords


def first_hit(
    start: NDArray[np.float64], along: NDArray[np.float64], line: NDArray[np.float64], reach: float
) -> tuple[float, float, NDArray[np.float64]] | None:
    """Where a ray first meets a line.

    Args:
        start: `(2,)`, mm.
        along: `(2,)`, its unit direction.
        line: `(n, 2)`, mm.
        reach: How far the ray goes (mm).

    Returns:
        Distance along the ray (mm), place on the line as `segment + share`, and the point `(2,)`; None when it misses.
    """
    x, y = line[:, 0] - start[0], line[:, 1] - start[1]
    off = x * along[1] - y * along[0]
    left, right = off < -1e-9, off > 1e-9
    apart = (left[:-1] & left[1:]) | (right[:-1] & right[1:])
    cos, sin = float(along[0]), float(along[1])
    best: tuple[float, int, float] | None = None
    for segment in (~apart).nonzero()[0].tolist():  # two or three: plain numbers are quicker than arrays of them
        first, last = off[segment : segment + 2].tolist()
        if first == last:
            continue
        share = min(max(first / (first - last), 0.0), 1.0)
        near, far = (float(x[i]) * cos + float(y[i]) * sin for i in (segment, segment + 1))
        away = near + share * (far - near)
        if -1e-9 <= away <= reach and (best is None or away < best[0]):
            best = away, segment, share
    if best is None:
        return None
    away, segment, share = best
    return away, segment + share, line[segment] + share * (line[segment + 1] - line[segment])
