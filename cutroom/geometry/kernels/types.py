"""Array types of the kernels' declared signatures: C order, and never written to unless said so.

Coordinates are whole units of 0.0001 mm wherever a kernel judges, so that its answers are exact; floating point only
proposes.

A place in an array that was itself read from one is made `np.uint64` in the innermost loops: a place that might be
negative costs a second look, and keeps a loop from being done several at a time.
"""

import numpy as np
from numba import types
from numpy.typing import NDArray

Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]
Seed = NDArray[np.uint64]
Shorts = NDArray[np.int32]

WHOLES = types.Array(types.int64, 1, "C", readonly=True)
WHOLE_ROWS = types.Array(types.int64, 2, "C", readonly=True)
WHOLE_CUBES = types.Array(types.int64, 3, "C", readonly=True)
REAL_CUBES = types.Array(types.float64, 3, "C", readonly=True)
REAL_CUBES_OUT = types.Array(types.float64, 3, "C")
SEED = types.Array(types.uint64, 1, "C")
WORDS_OUT = SEED
SHORTS = types.Array(types.int32, 1, "C", readonly=True)
SHORTS_OUT = types.Array(types.int32, 1, "C")
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

FIELD: types.Type = types.Tuple((WHOLES, REAL_ROWS, REAL_ROWS, SHORTS))  # type: ignore[no-untyped-call]
"""The borders of `p` no-fit polygons, and over each a grid that tells how deep a cell lies. In this order:

starts `(p + 1,)`: the first column of each polygon in lines `(7, e)`; lines, see `depth`; grids `(p, 6)`, see `depth`;
cells `(c,)`: how deep (units) every point of a cell lies at least; OUT where all of it lies outside.
"""
GROUND: types.Type = types.Tuple((WHOLE_ROWS, REAL_ROWS, REAL_CUBES, REAL_ROWS, FIELD))  # type: ignore[no-untyped-call]
"""What does not change in a search, `v` ways to lie and `p` no-fit polygons. In this order:

pairs `(v, v)`: the polygon of a way that moves and one that lies; signs `(v, v)`: 1 or -1, what to multiply the way
from the lying to the moving piece by; boxes `(v, v, 4)`: the box of the region, about the lying piece; rooms `(v, 9)`:
least x, what is to be kept from the far end, least y, greatest y; repeat and start of the cloth's pattern along, then
across, and its tolerance (units); the field of the polygons.
"""
SCRATCH: types.Type = types.Tuple(  # type: ignore[no-untyped-call]
    (REAL_ROWS_OUT, REAL_CUBES_OUT, WHOLES_OUT, FLAGS_OUT, WORDS_OUT, WHOLES_OUT)
)
"""What a search reckons on, `n` pieces, `v` ways, `w` ways of one piece at most. In this order:

rows `(n + 4, 4)`; fences `(w, 4, n)`: for each way of the piece that is moved, the least and greatest x and y at which
its box meets that of each other's region; slots `(v,)`: which of the fences is a way's; met `(n,)`: which others it
meets, and the same eight to a word, little end first, with nothing behind the last of them; tally `(3,)`: sweeps,
places sought for a piece, and places tried for that.
"""
BOARD: types.Type = types.Tuple(  # type: ignore[no-untyped-call]
    (REAL_ROWS, WHOLES, REAL_ROWS, WHOLES, WHOLES, SCRATCH, REAL_CUBES_OUT)
)
"""How `n` pieces lie. In this order:

spots `(n, 2)`: x and y (units); worn `(n,)`: the way each lies; weights `(n, n)`: of each pair's overlap; first
`(n + 1,)` and choices: the ways each may lie; a piece with none does not move; the scratch; kept `(v, k, 4)`: places
found before for pieces with that first choice: 1 where there is one, x, y, way.
"""

SWEPT, SOUGHT, TRIED = range(3)
"""Places of the tally."""
LEAST_X, FAR, LOW, HIGH, REPEAT_X, START_X, REPEAT_Y, START_Y, TOLERANCE = range(9)
"""Columns of the ground's rooms."""

OUT = -1
"""In a cell of a field: no point of it lies inside."""

Field = tuple[Wholes, Reals, Reals, Shorts]
Ground = tuple[Wholes, Reals, Reals, Reals, Field]
Flags = NDArray[np.bool_]
Scratch = tuple[Reals, Reals, Wholes, Flags, Seed, Wholes]
Board = tuple[Reals, Wholes, Reals, Wholes, Wholes, Scratch, Reals]
