"""A drawing cut up for a desktop printer, in sheets that overlap."""

import math
from dataclasses import replace

import numpy as np

from cutroom.errors import PlotError
from cutroom.model.plot import Plot, Tile, Tiling
from cutroom.model.profile import Paper
from cutroom.plot.clip import clip_strokes, stroke_boxes


def tile(plot: Plot, paper: Paper) -> Tiling:
    """Cut a drawing up in sheets of paper, upright or on their side, whichever takes fewer.

    Row `r` and column `c` (from 0, from the lower left) show the window whose lower-left corner is the drawing's own
    plus `(c * step, r * step)`; a step is the window less the overlap. Sheets on which nothing is drawn are left out.

    Args:
        plot: The drawing.
        paper: The sheet, its margins, its overlap and the printer's correction.

    Returns:
        The sheets, row after row from the bottom.

    Raises:
        PlotError: Margins and overlap leave nothing of the sheet.
    """
    sheets = ((paper.width, paper.height), (paper.height, paper.width))
    factors = (paper.correction, paper.correction[::-1])  # a sheet on its side is turned in the printer
    grids = [_grid(plot, paper, sheet, some) for sheet, some in zip(sheets, factors, strict=True)]
    fewer = 0 if math.prod(grids[0]) <= math.prod(grids[1]) else 1
    tiling = Tiling(
        title=plot.title,
        paper=paper.name,
        sheet=sheets[fewer],
        margin=paper.margin,
        overlap=paper.overlap,
        correction=factors[fewer],
        rows=grids[fewer][1],
        columns=grids[fewer][0],
        tiles=(),
        words=plot.words,
    )
    return replace(tiling, tiles=_tiles(plot, tiling))


def _grid(plot: Plot, paper: Paper, sheet: tuple[float, float], factors: tuple[float, float]) -> tuple[int, int]:
    counts = []
    for side, factor, low, high in zip(sheet, factors, plot.lower, plot.upper, strict=True):
        step = (side - 2 * paper.margin) / factor - paper.overlap
        if step <= 0:
            raise PlotError(
                f"margins of {paper.margin:g} mm and an overlap of {paper.overlap:g} mm leave nothing of {side:g} mm",
                "Make the margins or the overlap smaller, or take larger paper",
                place=f'paper "{paper.name}"',
            )
        counts.append(max(1, math.ceil((high - low - paper.overlap) / step - 1e-9)))
    return counts[0], counts[1]


def _tiles(plot: Plot, tiling: Tiling) -> tuple[Tile, ...]:
    boxes = stroke_boxes(plot.strokes)
    lower, window = np.array(plot.lower), np.array(tiling.window)
    tiles = []
    for row in range(tiling.rows):
        bottom = lower[1] + row * (window[1] - tiling.overlap)
        near = np.flatnonzero((boxes[:, 1] <= bottom + window[1]) & (boxes[:, 3] >= bottom))
        strokes, row_boxes = tuple(plot.strokes[index] for index in near.tolist()), boxes[near]
        for column in range(tiling.columns):
            corner = lower + (column, row) * (window - tiling.overlap)
            inside = clip_strokes(strokes, row_boxes, corner, corner + window)
            if inside:
                tiles.append(Tile(row, column, (float(corner[0]), float(corner[1])), inside))
    return tuple(tiles)
