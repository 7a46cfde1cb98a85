"""Travel against a lower bound, and seconds to find the order, for markers of 50, 500 and 5,000 pieces.

Run: `python -m tests.bench.cutting [PIECES ...]`; files are measured by `tests.bench.writing`. Seconds
are shown, never asserted; they are those of the processor.
"""

import sys
import time
from collections.abc import Callable, Sequence
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from cutroom.draft.blocks import draft
from cutroom.draft.bodies import misses_body
from cutroom.geometry.polygon import area
from cutroom.model.fabric import Fabric, Nap
from cutroom.model.marker import Marker, Placement
from cutroom.model.order import StyleAsked, Wearer
from cutroom.model.plot import Role, Stroke
from cutroom.plot import cut_order as cutting
from cutroom.plot import sequence as drawing
from cutroom.plot.compose import compose
from cutroom.plot.sequence import sequence
from cutroom.prepare.ready import prepare, with_allowances
from tests.bench.nearest_neighbour import nearest_travel
from tests.bench.travel_bound import Lines, free_bound, tree_bound

T = TypeVar("T")
Reals = NDArray[np.float64]
CLOTH = Fabric("linen", 1500.0, selvedge=10.0, nap=Nap.NONE, gap=3.0)
CUT = {Role.CUT, Role.NOTCH, Role.DRILL}
LITTLE = 50_000.0  # mm2
LONG = 30_000
"""Lines from which on the prices of the bound are changed less often."""


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


def run_of(stroke: Stroke) -> Reals:
    """The points of a stroke, a closed one ending where it started."""
    return np.vstack([stroke.points, stroke.points[:1]]) if stroke.closed else stroke.points


def nearest_neighbour(strokes: Sequence[Stroke]) -> float:
    """Travel always on to the nearest end, or to the nearest of the starts offered to the cutting order."""
    return nearest_travel(cutting._offers(list(strokes), {}).doors((0.0, 0.0)))


def say_free_bound(lines: Sequence[Reals], travel: float) -> None:
    """Travel of the drawing order beside the bound for closed lines that are begun at any of the starts offered."""
    doors = drawing.offered_doors(lines, (0.0, 0.0))
    bound, seconds = timed(lambda: free_bound(doors, travel, rounds=1000 if len(lines) < LONG else 100))
    print(f"           {travel / bound:.3f} x the bound for any starts offered ({seconds:.0f} s)", flush=True)


def order_figures(strokes: Sequence[Stroke], before: dict[str, float]) -> None:
    """Travel of the cutting order and of the drawing order, and how their seconds grow beside n log n."""
    cuts = [stroke for stroke in strokes if stroke.role in CUT]
    ordered, seconds = timed(lambda: cutting.cut_order(cuts))
    _say_order("cutting", as_lines(ordered), seconds, nearest_neighbour(cuts), before, rule=True)
    drawn = [stroke for stroke in strokes if stroke.role not in CUT]
    way, seconds = timed(lambda: sequence([run_of(stroke) for stroke in drawn]))
    ends = np.array([((0.0, 0.0), (0.0, 0.0)), *((line[0], line[-1]) for line in way)])
    lines = Lines(ends, np.arange(len(ends)), np.zeros(len(ends), dtype=np.bool_))
    _say_order("drawing", lines, seconds, nearest_neighbour(drawn), before, rule=False)
    say_free_bound([run_of(stroke) for stroke in drawn], lines.travel)


def _say_order(
    word: str, lines: Lines, seconds: float, nearest: float, before: dict[str, float], *, rule: bool
) -> None:
    rounds = 150 if len(lines.ends) < LONG else 100
    bound, seconds_bound = timed(lambda: tree_bound(lines, rule=rule, rounds=rounds))
    count = len(lines.ends) - 1
    pace = seconds / (count * np.log(count))
    growth = f" ({pace / before[word]:.2f} times n log n)" if word in before else ""
    before[word] = pace
    print(
        f"  {word}  {count:7} lines in {seconds:5.2f} s{growth}   travel {lines.travel / 1000:9.1f} m   "
        f"{lines.travel / bound:.3f} x the bound for these starts{', piece by piece' if rule else ''} "
        f"({seconds_bound:.0f} s)   {lines.travel / nearest:.3f} x nearest neighbour"
        f"{', which heeds no order of cutting' if rule else ''}",
        flush=True,
    )


def main() -> None:
    """Print the table."""
    before: dict[str, float] = {}
    for count in [int(word) for word in sys.argv[1:]] or [50, 500, 5000]:
        marker = rows_of_pieces(count)
        plot, seconds = timed(lambda marker=marker: compose(marker, legend=(), title="bench"))  # type: ignore[misc]
        points = sum(len(stroke.points) for stroke in plot.strokes)
        print(f"{count} pieces, {len(plot.strokes)} strokes, {points} points: composed in {seconds:.2f} s")
        order_figures(plot.strokes, before)


if __name__ == "__main__":
    main()
