"""Short ways to draw valid pieces on the seam line."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cutroom.model.piece import Edge, EdgeKind, Piece

INCH = 25.4

WORKED_SLEEVE = (
    (-7.25, 0), (-6.25, -7.75), (-4.5, -17.5), (4.5, -17.5), (6.25, -7.75), (7.25, 0), (5.1353, 0.9767),
    (3.625, 2.75), (2.2658, 4.7225), (0, 5.5), (-2.2658, 4.7225), (-3.7761, 2.9492), (-5.2864, 1.1758),
)  # fmt: skip
"""A sleeve's control points joined straight, in inches; edge 2 is the hem (common practice, no source)."""


def a_polygon_piece(
    points: Sequence[tuple[float, float]] | NDArray[np.float64],
    allowance: float | Sequence[float] = 10.0,
    kinds: Mapping[int, EdgeKind] | None = None,
    **fields: Any,
) -> Piece:
    """A piece whose edges `e0`, `e1`, ... are straight; grain downwards unless told."""
    count = len(points)
    widths = [allowance] * count if isinstance(allowance, (int, float)) else list(allowance)
    edges = tuple(
        Edge(f"e{i}", np.array([points[i], points[(i + 1) % count]]), widths[i], (kinds or {}).get(i, EdgeKind.SEAM))
        for i in range(count)
    )
    return Piece(fields.pop("name", "piece"), edges, fields.pop("grain", [(0.0, 0.0), (0.0, -1.0)]), **fields)


def in_inches(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Points given in inches, in mm."""
    return [(x * INCH, y * INCH) for x, y in points]
