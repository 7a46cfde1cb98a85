"""Array types of the kernels' declared signatures: C order, and never written to unless said so.

Coordinates are whole units of 0.0001 mm wherever a kernel judges, so that its answers are exact; floating point only
proposes.
"""

from numba import types

WHOLES = types.Array(types.int64, 1, "C", readonly=True)
WHOLE_ROWS = types.Array(types.int64, 2, "C", readonly=True)
WHOLE_CUBES = types.Array(types.int64, 3, "C", readonly=True)
REAL_ROWS = types.Array(types.float64, 2, "C", readonly=True)
REALS = types.Array(types.float64, 1, "C", readonly=True)
REAL_ROWS_OUT = types.Array(types.float64, 2, "C")
WHOLE_ROWS_OUT = types.Array(types.int64, 2, "C")
WHOLES_OUT = types.Array(types.int64, 1, "C")

EPSILON = 0.01
"""Units. A proposing kernel counts a point as covered only when it lies deeper than this."""

SLIVER = 2.0
"""Units. An edge this short (along plus across) counts as a point."""
