"""Travel against a lower bound, and seconds to find the order, for markers of 50, 500 and 5,000 pieces.

Run: `python -m tests.bench.cutting [PIECES ...]`; files are measured by `tests.bench.writing`. Seconds
are shown, never asserted; they are those of the processor.
"""

import sys
import time
from collections.abc import Callable, Sequence
from typing import TypeVar

import numpy as np

from cutroom.draft.blocks import draft
from cutroom.draft.bodies import misses_body
from cutroom.geometry.kernels.tour import nearest_way, plant
from cutroom.geometry.polygon import area
from cutroom.model.fabric import Fabric, Nap
from cutroom.model.marker import Marker, Placement
from cutroom.model.order import StyleAsked, Wearer
from cutroom.model.plot import Role, Stroke
from cutroom.plot import cut_order as cutting
from cutroom.plot.compose import compose
from cutroom.plot.sequence import Doors, sequence, travel
from cutroom.prepare.ready import prepare, with_allowances
from tests.bench.travel_bound import Lines, tree_bound

T = TypeVar("T")
CLOTH = Fabric("linen", 1500.0, selvedge=10.0, nap=Nap.NONE, gap=3.0)
CUT = {Role.CUT, Role.NOTCH, Role.DRILL}
LITTLE = 50_000.0  # mm2
BOUNDED = 30_000
"""Lines of which at most the drawing's bound is worked out: it lists all hops inside a piece."""


def rows_of_pieces(count: int, *, seed: int = 1) -> Marker:
    """So many pieces of three sizes in rows across the cloth, 3 mm apart, every other of a pair flipped.

    Up to a thousand they are pieces of blouses; of more only little ones, facings, flies and pockets, so that the
    marker is no longer than a long roll.
    """
    many = count > 1000
    pieces = []
    for style in ("blouse", "trousers", "patch pocket") if many else ("blouse",):
        asked = StyleAsked(style, style)
        for size in ("8", "12", "16"):
            garment = style[0].upper() if many else f"{style} {size}"
            pieces += [
                prepare(with_allowances(piece, asked), garment=garment, size=size, fabric=CLOTH)
                for piece in draft(asked, Wearer(size, misses_body(size))).pieces
            ]
    pieces = [piece for piece in pieces if not many or area(piece.cut_line) < LITTLE]
    rng = np.random.default_rng(seed)
    placements: list[Placement] = []
    x = y = deep = 0.0
    for number in range(count):
        piece = pieces[int(rng.integers(len(pieces)))]
        low, high = piece.cut_line.min(axis=0), piece.cut_line.max(axis=0)
        long, wide = np.round(high - low + 3.0, 2).tolist()
        flipped = piece.cut.value == "pair" and number % 2 == 1
        if y + wide > CLOTH.usable_width:
            x, y, deep = round(x + deep, 2), 0.0, 0.0
        shift = (x - low[0], y + (high[1] if flipped else -low[1]))
        at = [float(np.ceil(value * 100) / 100) for value in shift]
        placements.append(Placement(piece.name, piece.garment, piece.size, number + 1, flipped, 0.0, at[0], at[1]))
        y, deep = round(y + wide, 2), max(deep, long)
    return Marker("linen", CLOTH, float(np.ceil(x + deep)), tuple(placements), tuple(pieces))


def timed(work: Callable[[], T]) -> tuple[T, float]:
    """A result and the seconds of computing it took."""
    start = time.process_time()
    result = work()
    return result, time.process_time() - start


def as_lines(ordered: Sequence[Stroke]) -> Lines:
    """Strokes in their order, after the place where the tool starts."""
    ends = [((0.0, 0.0), (0.0, 0.0)), *((s.points[0], s.points[0 if s.closed else -1]) for s in ordered)]
    piece = [0, *(1 if s.placement is None else s.placement + 2 for s in ordered)]
    return Lines(np.array(ends), np.array(piece), np.array([True, *(s.role is Role.CUT for s in ordered)]))


def run_of(stroke: Stroke) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """The points of a stroke, a closed one ending where it started."""
    return np.vstack([stroke.points, stroke.points[:1]]) if stroke.closed else stroke.points


def nearest_neighbour(strokes: Sequence[Stroke]) -> float:
    """Travel always on to the nearest end, or to the nearest of the starts offered to the cutting order."""
    offers = [cutting._offer(stroke, ()) for stroke in strokes]
    doors: Doors = cutting._doors(offers, (0.0, 0.0))
    way = nearest_way(doors.places, doors.back, doors.owner, doors.first, 0, *plant(doors.places))
    return travel(doors, way)


def order_figures(strokes: Sequence[Stroke]) -> None:
    """Travel of the cutting order and of the drawing order."""
    cuts = [stroke for stroke in strokes if stroke.role in CUT]
    ordered, seconds = timed(lambda: cutting.cut_order(cuts))
    lines = as_lines(ordered)
    bound, seconds_bound = timed(lambda: tree_bound(lines, rule=True, rounds=150 if len(cuts) < BOUNDED else 100))
    nearest = nearest_neighbour(cuts)
    print(
        f"  cutting  {len(cuts):7} lines in {seconds:5.2f} s   travel {lines.travel / 1000:9.1f} m   "
        f"{lines.travel / bound:.3f} x the bound for these starts, piece by piece ({seconds_bound:.0f} s)   "
        f"{lines.travel / nearest:.3f} x nearest neighbour, which heeds no order of cutting"
    )
    drawn = [stroke for stroke in strokes if stroke.role not in CUT]
    runs = [run_of(stroke) for stroke in drawn]
    owners = [-1 if stroke.placement is None else stroke.placement for stroke in drawn]
    tagged = {run.tobytes()[:64] + run.tobytes()[-64:]: owner for run, owner in zip(runs, owners, strict=True)}
    way, seconds = timed(lambda: sequence(runs, groups=owners))
    ends = np.array([((0.0, 0.0), (0.0, 0.0)), *((line[0], line[-1]) for line in way)])
    pieces = [0, *(_owner(tagged, line) + 2 for line in way)]
    lines = Lines(ends, np.array(pieces), np.zeros(len(ends), dtype=np.bool_))
    nearest = nearest_neighbour(drawn)
    words = "bound not worked out"
    if len(drawn) < BOUNDED:
        near = 400 if len(drawn) < 5000 else 100
        bound, seconds_bound = timed(lambda: tree_bound(lines, rule=False, near=near))
        words = f"{lines.travel / bound:.3f} x the bound for these starts ({seconds_bound:.0f} s)"
    print(
        f"  drawing  {len(drawn):7} lines in {seconds:5.2f} s   travel {lines.travel / 1000:9.1f} m   {words}   "
        f"{lines.travel / nearest:.3f} x nearest neighbour"
    )


def _owner(tagged: dict[bytes, int], line: np.ndarray[tuple[int, int], np.dtype[np.float64]]) -> int:
    for way in (line, line[::-1]):
        data = np.ascontiguousarray(way).tobytes()
        if data[:64] + data[-64:] in tagged:
            return tagged[data[:64] + data[-64:]]
    return -1  # a closed line begun elsewhere: taken as nobody's, which only widens what the bound may choose from


def main() -> None:
    """Print the table."""
    for count in [int(word) for word in sys.argv[1:]] or [50, 500, 5000]:
        marker = rows_of_pieces(count)
        plot, seconds = timed(lambda marker=marker: compose(marker, legend=(), title="bench"))  # type: ignore[misc]
        points = sum(len(stroke.points) for stroke in plot.strokes)
        print(f"{count} pieces, {len(plot.strokes)} strokes, {points} points: composed in {seconds:.2f} s")
        order_figures(plot.strokes)


if __name__ == "__main__":
    main()
