"""How fast pieces are made ready, and whether any made piece, however bad, is lost: `python tests/bench/preparing.py`.

Speed: pieces of 200 points with mixed allowances, notches and labels, on one core, held against Shapely's plain buffer
of the same seam lines in the same run. Soundness: random degenerate pieces; each must end in a cut line that holds the
whole seam line, or in an error with a name; anything else is counted as lost.
"""

import argparse
import math
import sys
import time
from collections import Counter
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from cutroom.errors import CutroomError
from cutroom.model.fabric import Fabric, Nap
from cutroom.model.piece import Corner, Cut, DrillHole, Edge, EdgeKind, Notch, Piece
from cutroom.prepare.ready import prepare

WIDTHS = (0.0, 6.0, 10.0, 12.7, 25.0, 40.0)
LINEN = Fabric("linen 150", 1500.0, nap=Nap.ONE_WAY, shrink_warp=0.03, shrink_weft=0.02)

Line = NDArray[np.float64]


def plain_piece(number: int, rng: np.random.Generator) -> Piece:
    """A piece like a bodice's: 200 points, eight edges, four of them curved, six notches."""
    corners = np.array([(0, 0), (250, 0), (265, 210), (240, 420), (150, 470), (95, 430), (20, 455), (-10, 200)], float)
    corners *= rng.uniform(0.8, 1.2)
    corners += rng.uniform(-4, 4, corners.shape)
    edges = []
    for i, start in enumerate(corners):
        end = corners[(i + 1) % 8]
        share = np.linspace(0, 1, 26)
        across = np.array([-(end - start)[1], (end - start)[0]])
        bow = 0.12 * math.sin(i * 2.1) * np.sin(np.pi * share)
        points = start + share[:, None] * (end - start) + bow[:, None] * across
        kind = EdgeKind.HEM if i == 0 else EdgeKind.SEAM
        edges.append(Edge(f"edge {i}", points, WIDTHS[1 + (i + number) % 4] if i else 38.1, kind))
    notches = tuple(Notch(f"edge {i}", 25.0 + number % 7, 1 + i % 2) for i in (1, 2, 3, 5, 6, 7))
    return Piece(
        f"front {number}",
        tuple(edges),
        np.array([(120.0, 400.0), (120.0, 60.0)]),
        Cut.PAIR,
        notches=notches,
        drills=(DrillHole("dart", (130.0, 180.0)),),
    )


def measure_speed(count: int) -> float:
    """Print the seconds taken for some pieces; return the ratio to plain buffers of the same pieces."""
    rng = np.random.default_rng(1)
    pieces = [plain_piece(number, rng) for number in range(count)]
    start = time.process_time()
    for piece in pieces:
        prepare(piece, garment="Blouse for a bench", size="12", fabric=LINEN)
    took = time.process_time() - start
    start = time.process_time()
    for piece in pieces:
        ring = np.vstack([edge.points[:-1] for edge in piece.edges])
        np.array(shapely.Polygon(ring).buffer(10.0, join_style="mitre").exterior.coords)
    plain = time.process_time() - start
    print(
        f"{count} pieces of 200 points: {took:.2f} s, {1000 * took / count:.2f} ms each; "
        f"plain buffers {plain:.2f} s; ratio {took / plain:.1f}"
    )
    return took / plain


def bad_ring(rng: np.random.Generator) -> Line:
    """An outline as nobody should draw it, counter-clockwise more or less."""
    kind = int(rng.integers(0, 9))
    size = float(rng.choice([1.5, 20.0, 200.0, 3000.0]))
    count = int(rng.integers(3, 14))
    angles = np.sort(rng.uniform(0, 2 * math.pi, count))
    ring = size * rng.uniform(0.15, 1.0, count)[:, None] * np.column_stack([np.cos(angles), np.sin(angles)])
    if kind == 0:  # a needle
        ring = np.array([(0, 0), (size, 0), (size, size * rng.uniform(1e-4, 0.02))])
    elif kind == 1:  # a cusp, in and out along nearly the same line
        tip = rng.uniform(-0.4, 0.4, 2) * size
        ring = np.array(
            [(-size, -size), (size, -size), (size, size), (tip[0] + 1e-3 * size, size), tip, (tip[0], size)]
        )
        ring = np.vstack([ring, (-size, size)])
    elif kind == 2:  # near-duplicate points
        ring = np.repeat(ring, 3, axis=0) + rng.normal(0, float(rng.choice([1e-9, 1e-6, 1e-3, 0.02])), (3 * count, 2))
    elif kind == 3:  # touches itself
        ring = np.array([(0, 0), (2, 0), (2, 2), (1, rng.choice([0.0, 1e-9, 1e-4, 0.05])), (0, 2)]) * size
    elif kind == 4:  # a scribble, which may well cross itself
        ring = rng.uniform(-size, size, (count, 2))
    elif kind == 5:  # an edge of very many points, wavy
        many = int(rng.integers(500, 5000)) if rng.random() < 0.05 else 400
        x = np.linspace(0, size, many)
        wave = size * rng.uniform(0, 0.05) * np.sin(x / size * rng.uniform(3, 60))
        ring = np.vstack([np.column_stack([x, wave]), [(size, size), (0, size)]])
    elif kind == 6:  # a narrow strip
        ring = np.array([(0, 0), (size, 0), (size, 3.0), (0, 3.0)]) + rng.normal(0, 0.05, (4, 2))
    elif kind == 7:  # deep hollows narrower than their allowance
        x = np.linspace(0, size, 40)
        ring = np.vstack(
            [[(0, 0), (size, 0)], np.column_stack([x, size - size * rng.random() * (np.arange(40) % 2)])[::-1]]
        )
    return np.asarray(ring, dtype=np.float64)


def bad_piece(rng: np.random.Generator) -> Piece:
    """A piece cut into edges anywhere, with any allowances and corners."""
    ring = bad_ring(rng)
    count = int(rng.integers(1, min(len(ring), 6) + 1))
    starts = np.sort(rng.choice(len(ring), count, replace=False))
    corners, kinds = list(Corner), [EdgeKind.SEAM] * 5 + [EdgeKind.HEM]
    edges = []
    for i, start in enumerate(starts):
        stop = int(starts[(i + 1) % count])
        places = np.arange(start, stop + 1 if stop > start else stop + len(ring) + 1) % len(ring)
        corner = corners[int(rng.integers(len(corners)))] if rng.random() < 0.5 else Corner.AUTO
        width, kind = float(rng.choice(WIDTHS)), kinds[int(rng.integers(6))]
        turns = (width / 2,) if rng.random() < 0.1 and width else ()
        edges.append(Edge(f"e{i}", ring[places], width, kind, corner, turns))
    box = np.ptp(ring, axis=0) + 1
    grain = np.array([(0.0, 0.0), rng.normal(0, 1, 2) * box + 2.0])
    notches = tuple(Notch(edge.name, float(rng.uniform(0, 30))) for edge in edges if rng.random() < 0.2)
    return Piece("bad", tuple(edges), grain, notches=notches)


def count_lost(count: int, seed: int) -> int:
    """Print how many bad pieces came through, were refused or were lost, and how long they took; return the lost."""
    rng = np.random.default_rng(seed)
    told: Counter[str] = Counter()
    refused: Counter[str] = Counter()
    start = time.process_time()
    stops = []
    for number in range(count):
        stops.append(time.process_time())
        piece = bad_piece(rng)
        try:
            done = prepare(piece, garment="g", size="s", fabric=LINEN, number=1)
        except CutroomError as error:
            told["refused by name"] += 1
            refused[error.what.split(" mm")[0][:32]] += 1
            continue
        except Exception as error:  # noqa: BLE001  # anything at all is a loss, and is counted
            told["lost: crashed"] += 1
            print(f"piece {number}: {type(error).__name__}: {error}")
            continue
        cut, seam = shapely.Polygon(done.cut_line), shapely.Polygon(done.seam_line)
        if not cut.is_valid or not cut.buffer(2e-5).covers(seam):
            told["lost: the cut line crosses itself or the seam line"] += 1
            print(f"piece {number}: valid {cut.is_valid}, {seam.difference(cut).area:.6f} mm2 of it outside")
            continue
        told["prepared"] += 1
    stops.append(time.process_time())
    slowest = max((after - before for before, after in pairwise(stops)), default=0.0)
    print(
        f"{count} bad pieces in {stops[-1] - start:.1f} s, the first half in {stops[count // 2] - start:.1f} s, "
        f"the slowest in {slowest:.2f} s: {dict(told)}"
    )
    print("refused:", dict(refused.most_common(12)))
    return sum(number for words, number in told.items() if words.startswith("lost"))


def main() -> int:
    """Run both; 1 when a piece was lost."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pieces", type=int, default=1000)
    parser.add_argument("--bad", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    measure_speed(max(1, asked.pieces // 10))
    measure_speed(asked.pieces)
    return 1 if count_lost(asked.bad, asked.seed) else 0


if __name__ == "__main__":
    sys.exit(main())
