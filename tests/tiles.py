"""Markers of rectangles that touch, for tests of lines that are cut once."""

from dataclasses import replace

import numpy as np

from cutroom.model.fabric import Fabric, Nap
from cutroom.model.marker import Marker
from cutroom.model.piece import Cut
from tests.builders import a_label, a_placement, a_prepared_piece

WIDE, HIGH = 60.0, 40.0


def tiled(columns: int, rows: int, gap: float = 0.0) -> Marker:
    """Rectangles of 60 by 40 mm with a notch and a hole each, row on row, column on column, so far (mm) apart."""
    cut_line = np.array([(0.0, 0.0), (WIDE, 0.0), (WIDE, HIGH), (0.0, HIGH)])
    piece = replace(
        a_prepared_piece("pocket", cut=Cut.SINGLE, quantity=columns * rows),
        cut_line=cut_line,
        seam_line=cut_line * ((WIDE - 10) / WIDE, (HIGH - 10) / HIGH) + 5.0,
        turns=cut_line,
        notches=(np.array([(20.0, 0.0), (20.0, 4.0)]),),
        drills=((30.0, 30.0, 3.0),),
        grain=(np.array([(20.0, 12.0), (40.0, 12.0)]),),
        lines=(),
        label=a_label(("pocket",), (30.0, 20.0)),
        label_mirrored=a_label(("pocket",), (30.0, 20.0)),
    )
    placements = [
        a_placement(piece, 10 + column * (WIDE + gap), 10 + row * (HIGH + gap), copy=1 + column * rows + row)
        for column in range(columns)
        for row in range(rows)
    ]
    fabric = Fabric("linen", 30 + rows * (HIGH + gap), nap=Nap.ONE_WAY)
    return Marker("linen", fabric, 30 + columns * (WIDE + gap), tuple(placements), (piece,))
