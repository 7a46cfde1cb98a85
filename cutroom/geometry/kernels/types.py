"""Array types of the kernels' declared signatures: C order, and never written to unless said so.

Coordinates are whole units of 0.0001 mm wherever a kernel judges, so that its answers are exact; floating point only
proposes.
"""

from numba import types

WHOLES = types.Array(types.int64, 1, "C", readonly=True)
WHOLE_ROWS = types.Array(types.int64, 2, "C", readonly=True)
WHOLE_CUBES = types.Array(types.int64, 3, "C", readonly=True)
REAL_CUBES = types.Array(types.float64, 3, "C", readonly=True)
SEED = types.Array(types.uint64, 1, "C")
REAL_ROWS = types.Array(types.float64, 2, "C", readonly=True)
REALS = types.Array(types.float64, 1, "C", readonly=True)
REAL_ROWS_OUT = types.Array(types.float64, 2, "C")
WHOLE_ROWS_OUT = types.Array(types.int64, 2, "C")
WHOLES_OUT = types.Array(types.int64, 1, "C")
REALS_OUT = types.Array(types.float64, 1, "C")
FLAGS = types.Array(types.boolean, 1, "C", readonly=True)
FLAGS_OUT = types.Array(types.boolean, 1, "C")
PAIR_OF_REALS: types.Type = types.UniTuple(types.float64, 2)  # type: ignore[no-untyped-call]
PAIR_OF_WHOLES: types.Type = types.UniTuple(types.int64, 2)  # type: ignore[no-untyped-call]
POLYGON: types.Type = types.Tuple((WHOLE_ROWS_OUT, WHOLES_OUT, REAL_ROWS_OUT))  # type: ignore[no-untyped-call]
REGIONS: types.Type = types.Tuple((WHOLE_ROWS_OUT, WHOLE_ROWS_OUT))  # type: ignore[no-untyped-call]

EPSILON = 0.01
"""Units. A proposing kernel counts a point as covered only when it lies deeper than this."""

SLIVER = 2.0
"""Units. An edge this short (along plus across) counts as a point."""
