"""From a lay to a marker: put to the nest as its rules ask, and the nest's answer put back."""

import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial

from cutroom.errors import CutroomError, FabricError, NestError
from cutroom.geometry.polygon import bounds
from cutroom.job.blocks import in_blocks, loosened
from cutroom.job.flaws import flaw_findings
from cutroom.job.going_on import Started, go_on
from cutroom.job.problem import MOST_SHAPES, problem_of
from cutroom.job.sections import in_sections, is_in_sections
from cutroom.model.finding import Finding, Severity
from cutroom.model.lay import Lay
from cutroom.model.marker import Marker, Placement, on_grid
from cutroom.nest.bound import lower_bound
from cutroom.nest.grid import UNITS, units_down
from cutroom.nest.known import Known
from cutroom.nest.problem import Laid, Layout, Problem, Progress, laid_outline, used_length
from cutroom.nest.solve import solve
from cutroom.proof.marker import prove_marker

WORKERS = 2
"""Searches side by side."""
SAME = 0.005
"""Layouts whose lengths are no further apart than this (mm) are as long as each other."""
COARSE = 0.01
"""Shapes that are larger than their pieces by this share, or more, are told of."""
STRAIGHT = 0.6
"""Share of the time in which pieces that may be tilted are laid on the grain, to begin with."""
FLAWLESS = 0.3
"""Share of the time in which a cloth with flaws is laid as if it had none, to begin with and to know what they cost."""
STARTS = 4
"""Places of the pattern at the start line that are tried, at most."""

Tell = Callable[[Lay, Progress], None]
"""Told of each better layout: what is laid, the whole order on its cloth or a section of it, and where its pieces lie.
Together they are what a picture needs."""


def make_marker(
    lay: Lay,
    *,
    seconds: float,
    seed: int,
    tries: int | None = None,
    started: Started | None = None,
    progress: Tell | None = None,
    file: str = "",
) -> tuple[Marker, Layout]:
    """The pieces of a lay laid on their cloth.

    Args:
        lay: What to lay.
        seconds: Time to spend (s).
        seed: Seed of the search.
        tries: Most arrangements to try, or None for as many as the time allows.
        started: A marker of the same lay to go on from, its locked pieces to stay where they are.
        progress: Told of each improvement; of one lay each is shorter than the one before.
        file: The job file, for messages.

    Returns:
        The marker, and the nest's own account of it.

    Raises:
        CutroomError: A piece does not go on the cloth.
    """
    fabric = lay.fabric
    try:
        if all(piece.block is None for piece in lay.pieces):
            return _made(lay, seconds, seed, tries, started, progress)
        blocked, begun = in_blocks(lay, started)
        marker, layout = _made(blocked.lay, seconds, seed, tries, begun, progress)
        bound = lower_bound(problem_of(loosened(lay), pattern_start=marker.pattern_start))
        return replace(blocked.restored(marker), bound=bound.length, bound_by=bound.by), layout
    except CutroomError as fault:
        place = ", ".join(part for part in (f'fabric "{fabric.name}"', fault.place) if part)
        raise FabricError(fault.what, fault.fix, file, place) from fault


def _made(
    lay: Lay, seconds: float, seed: int, tries: int | None, started: Started | None, progress: Tell | None
) -> tuple[Marker, Layout]:
    """The marker; on cloth with flaws first as if there were none, so that it is known what they cost."""
    fabric = lay.fabric
    if is_in_sections(fabric):
        return _in_sections(lay, seconds, seed, tries, started, progress)
    if not fabric.flaws or started is not None:
        layout, pattern_start, locked = _laid(lay, seconds, seed, tries, started, progress)
        return marker_of(lay, layout, seed=seed, pattern_start=pattern_start, locked=locked), layout
    whole = replace(lay, fabric=replace(fabric, flaws=()))
    free, _, _ = _laid(whole, FLAWLESS * seconds, seed, tries, None, None)
    layout, pattern_start, _ = _laid(
        lay, (1 - FLAWLESS) * seconds, seed, 1 if free.stopped else tries, Started(placed=free.placed), progress
    )
    layout = replace(layout, stopped=layout.stopped or free.stopped)
    marker = marker_of(lay, layout, seed=seed, pattern_start=pattern_start)
    findings = (*marker.findings, *flaw_findings(lay, problem_of(lay), free, layout))
    return replace(marker, findings=findings), layout


def _in_sections(
    lay: Lay, seconds: float, seed: int, tries: int | None, started: Started | None, progress: Tell | None
) -> tuple[Marker, Layout]:
    """The marker, each section of it laid by itself; broken off by hand, what is left is laid once and no more."""
    stopped = False

    def lay_one(part: Lay, seconds: float, begun: Started | None) -> tuple[Layout, float | None]:
        nonlocal stopped
        layout, pattern_start, _ = _laid(part, seconds, seed, 1 if stopped else tries, begun, progress)
        stopped = stopped or layout.stopped
        return layout, pattern_start

    found = in_sections(lay, lay_one, seconds=seconds, started=started)
    marker = marker_of(lay, found.layout, seed=seed, pattern_start=found.pattern_start)
    return replace(marker, sections=found.ends), found.layout


def marker_of(
    lay: Lay, layout: Layout, *, seed: int, pattern_start: float | None = None, locked: frozenset[int] = frozenset()
) -> Marker:
    """The marker that a layout of a lay is, with the least length that is proven for its pieces."""
    bound = lower_bound(problem_of(lay, pattern_start=pattern_start))
    placements = tuple(
        Placement(
            piece=lay.wanted[laid.item].piece.name,
            garment=lay.wanted[laid.item].piece.garment,
            size=lay.wanted[laid.item].piece.size,
            copy=lay.wanted[laid.item].copy,
            flipped=laid.pose.flipped,
            turn_deg=laid.pose.turn_deg,
            x=laid.x,
            y=laid.y,
            locked=laid.item in locked,
        )
        for laid in layout.placed
    )
    return Marker(
        name=lay.fabric.name,
        fabric=lay.fabric,
        length=layout.length,
        placements=placements,
        pieces=lay.pieces,
        boxes_length=layout.boxes_length,
        seed=seed,
        tries=layout.tries,
        pattern_start=pattern_start,
        bound=bound.length,
        bound_by=bound.by,
        findings=tuple(_coarseness(lay, layout)),
    )


def _coarseness(lay: Lay, layout: Layout) -> Iterator[Finding]:
    """A NOTE where outlines of very many corners were laid by shapes that stand out."""
    if layout.larger >= COARSE:
        what = f"outlines of many corners were laid by simpler shapes that hold them and are {layout.larger:.1%} larger"
        fix = "Leave out points that do not show, and less cloth may do"
        yield Finding(Severity.NOTE, f'fabric "{lay.fabric.name}"', what, fix)


def _laid(
    lay: Lay, seconds: float, seed: int, tries: int | None, started: Started | None, progress: Tell | None
) -> tuple[Layout, float | None, frozenset[int]]:
    """The layout of a lay, where the pattern starts in it, and which of its items are locked."""
    pattern = lay.fabric.pattern
    repeat = pattern.along if pattern is not None else 0.0
    known = started.pattern_start if started is not None else None
    if pattern is not None and pattern.from_start is not None:
        known = pattern.from_start
    starts = [known] if known is not None or not repeat else _pattern_starts(lay, repeat, started)
    share = 1.0 if len(starts) == 1 else 0.5 / len(starts)
    searches = _Searches(lay, seed=seed, tries=tries, progress=progress)
    tried: list[tuple[Layout, float | None]] = []
    for start in starts:
        tried.append((searches.found(start, share * seconds, started), start))
        if tried[-1][0].stopped:
            break
    layout, start = _best(tried)
    if len(starts) > 1 and not layout.stopped:
        going = replace(started or Started(), placed=layout.placed)
        again = searches.found(start, 0.5 * seconds, going)
        layout, start = _best([(again, start), (layout, start)])
    if repeat:
        start = (start or 0.0) % repeat
        bound = lay.fabric.forbidden or lay.fabric.table is not None or (started is not None and started.has_locks)
        if not bound and pattern is not None and pattern.from_start is None:
            layout, start = _to_the_start(lay, layout, start, repeat)
    locked = frozenset(laid.item for laid in _problem_from(lay, start, started, tilt=True)[0].locked)
    return layout, start if repeat else None, locked


def _best(tried: Sequence[tuple[Layout, float | None]]) -> tuple[Layout, float | None]:
    """Of layouts, each with its place of the pattern: the shortest, the first of equals."""
    return min(tried, key=lambda one: round(one[0].length / (2 * SAME)))


def _pattern_starts(lay: Lay, repeat: float, started: Started | None) -> list[float | None]:
    """Places of the pattern at the start line for which some matched piece lies at it, of the longest pieces first.

    Where a matched piece is locked there is one: that for which this piece meets the pattern.
    """
    problem, _ = _problem_from(lay, 0.0, started, tilt=True)
    for laid in problem.locked:
        match = problem.items[laid.item].match
        if match is not None and match.repeat[0] > 0:
            return [on_grid((laid.x - match.shift(laid.pose)[0]) % repeat) % repeat]
    longest = sorted(
        (item for item in problem.items if item.match is not None and item.match.repeat[0] > 0),
        key=lambda item: bounds(item.outline)[0] - bounds(item.outline)[2],
    )
    starts: list[float] = []
    for item in longest:
        for pose in item.poses:
            left = bounds(laid_outline(item, Laid(0, pose, 0.0, 0.0)))[0]
            turn = 1.0 if pose.turn_deg == 0.0 else -1.0
            assert item.match is not None
            start = on_grid((turn * item.match.point[0] - left - item.match.phase[0]) % repeat) % repeat
            if all(abs(start - other) > SAME for other in starts):
                starts.append(start)
    return list(starts[:STARTS]) or [0.0]


def _problem_from(
    lay: Lay, pattern_start: float | None, started: Started | None, *, tilt: bool, most: float = MOST_SHAPES
) -> tuple[Problem, tuple[Laid, ...]]:
    problem = problem_of(lay, pattern_start=pattern_start, tilt=tilt, most=most)
    return (problem, ()) if started is None else go_on(problem, lay, started)


class _Searches:
    """The searches for a layout of one lay: what shapes do to each other is worked out once for all of them."""

    def __init__(self, lay: Lay, *, seed: int, tries: int | None, progress: Tell | None) -> None:
        workers = WORKERS if tries is None else 1  # counted tries depend on the seed alone
        self.lay, self.seed, self.progress = lay, seed, progress
        self.shortest, self.began = math.inf, time.monotonic()
        self.most = MOST_SHAPES if tries is not None else math.inf  # the nest takes as many as its time allows
        self.nest = partial(solve, seed=seed, tries=tries, workers=workers, progress=self._tell, known=Known())

    def _tell(self, found: Progress) -> None:
        """Pass on what is shorter than all that was found before, also by an earlier search."""
        if self.progress is not None and found.length < self.shortest - SAME:
            self.shortest = found.length
            self.progress(self.lay, replace(found, seconds=time.monotonic() - self.began))

    def found(self, pattern_start: float | None, seconds: float, started: Started | None) -> Layout:
        """One search; what it went on from is kept where nothing shorter is found and it is proven.

        Pieces that may be tilted are laid on the grain first, so that tilting never takes more cloth. A garment that
        lies one way keeps its way then: tilts are each piece's own.
        """
        problem, start = _problem_from(self.lay, pattern_start, started, tilt=True, most=self.most)
        straight, begun = _problem_from(self.lay, pattern_start, started, tilt=False)
        if [item.poses for item in problem.items] == [item.poses for item in straight.items]:
            found = self.nest(problem, seconds=seconds, start=start)
        else:
            found = self._tilted_last(problem, start, straight, begun, seconds)
        length = used_length(problem.items, start) if start else found.length
        if length >= found.length - SAME:
            return found
        kept = replace(found, placed=start, length=length)  # the nest judges shapes that stand out a little
        marker = marker_of(self.lay, kept, seed=self.seed, pattern_start=pattern_start)
        return found if prove_marker(marker) else kept

    def _tilted_last(
        self,
        problem: Problem,
        start: tuple[Laid, ...],
        straight: Problem,
        begun: tuple[Laid, ...],
        seconds: float,
    ) -> Layout:
        try:
            first = self.nest(straight, seconds=STRAIGHT * seconds, start=begun)
        except NestError:  # on the grain a piece does not go on the cloth
            return self.nest(problem, seconds=seconds, start=start)
        if first.stopped:
            return first
        if problem.same_way:
            ways = {laid.item: laid.pose.quarter for laid in first.placed}
            items = tuple(
                replace(item, poses=tuple(pose for pose in item.poses if pose.quarter == ways[number]))
                for number, item in enumerate(problem.items)
            )
            problem = replace(problem, items=items, same_way=False)
        second = self.nest(problem, seconds=(1 - STRAIGHT) * seconds, start=first.placed)
        return replace(second, tries=first.tries + second.tries, boxes_length=first.boxes_length)


def _to_the_start(lay: Lay, layout: Layout, start: float, repeat: float) -> tuple[Layout, float]:
    """The whole layout moved up to the start line, and the pattern with it."""
    items = problem_of(lay).items
    left = min(bounds(laid_outline(items[laid.item], laid))[0] for laid in layout.placed)
    by = units_down(left) / UNITS
    if by <= 0:
        return layout, start
    moved = tuple(replace(laid, x=on_grid(laid.x - by)) for laid in layout.placed)
    return replace(layout, placed=moved, length=used_length(items, moved)), (start - by) % repeat
