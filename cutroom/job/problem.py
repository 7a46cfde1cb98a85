"""A lay put to the nest: the rules of cloth as shapes and poses."""

from collections.abc import Sequence

from cutroom.geometry.polygon import area
from cutroom.job.matching import OnPattern, on_pattern
from cutroom.model.arrays import frozen_points
from cutroom.model.fabric import Fabric, Nap, Spread
from cutroom.model.lay import Lay, Wanted
from cutroom.model.piece import Cut
from cutroom.model.prepared import PreparedPiece
from cutroom.nest.problem import Item, Match, Pose, Problem

MOST_SHAPES, LEAST_TILTED = 28, 6
"""Shapes, each turn and hand of a piece counted, up to which tilts are tried where tries are counted, so that no clock
says how many; and how many tilted ones in any case."""


def poses(
    wanted: Wanted, fabric: Fabric, *, tilts: Sequence[float] = (), matched: OnPattern | None = None
) -> tuple[Pose, ...]:
    """How a piece may lie: the turns its nap allows, across the grain where it may, tilted, and which hand up.

    Args:
        wanted: The piece.
        fabric: The cloth.
        tilts: Degrees off the grain to be tried, shares of what the piece allows.
        matched: What of it must meet the cloth's pattern: it then lies along the grain.
    """
    piece = wanted.piece
    turns = [0.0] if fabric.way is Nap.ONE_WAY or not (matched is None or matched.may_be_turned) else [0.0, 180.0]
    if piece.cut is Cut.FOLD:  # turned end for end and flipped, it still has its fold edge on the fold
        folds = (False, True) if fabric.spread is Spread.TUBULAR and _either_fold(fabric, matched) else (False,)
        return tuple(Pose(flipped=(turn == 180.0) != far, turn_deg=turn) for far in folds for turn in turns)
    if piece.crossways and matched is None and fabric.way is not Nap.BY_GARMENT:
        turns += [90.0, 270.0]
    turns += [(turn + sign * share * piece.tilt_deg) % 360.0 for share in tilts for sign in (1, -1) for turn in turns]
    flips = (False, True) if wanted.flipped is None else (wanted.flipped,)
    if piece.symmetric or (wanted.flipped is None and matched is not None and not matched.may_be_flipped):
        flips = flips[:1]
    found = tuple(Pose(flipped=flipped, turn_deg=turn) for turn in dict.fromkeys(turns) for flipped in flips)
    if fabric.way is not Nap.ONE_WAY:
        return found
    return tuple(pose for pose in found if pose.quarter != (1 if pose.flipped and not piece.symmetric else 3))


def _either_fold(fabric: Fabric, matched: OnPattern | None) -> bool:
    """A fold piece may lie on the far fold of a tube: where it is matched it keeps to the near one."""
    return matched is None or fabric.pattern is None or matched.repeat[1] == 0


def tilted(lay: Lay, *, most: float = MOST_SHAPES) -> dict[tuple[str, str, str], tuple[float, ...]]:
    """The shares of its tilt that each piece is tried at: fewer, and of the largest pieces only, the more there are.

    The work grows with the square of the shapes. On stripes and checks nothing is tilted: it would show.

    Args:
        lay: The lay.
        most: Shapes up to which tilts are tried.
    """
    shapes: dict[tuple[str, str, str], set[tuple[float, bool]]] = {}
    leaning: dict[tuple[str, str, str], Wanted] = {}
    for wanted in lay.wanted:
        plain = {(pose.turn_deg % 180.0, pose.flipped) for pose in poses(wanted, lay.fabric)}
        shapes.setdefault(wanted.piece.key, set()).update(plain)
        if _leans(wanted, lay.fabric):
            leaning[wanted.piece.key] = wanted
    count = {key: len(own) for key, own in shapes.items()}
    if 4 * sum(count[key] for key in leaning) <= MOST_SHAPES - sum(count.values()):
        return dict.fromkeys(leaning, (0.5, 1.0))
    more = most - sum(count.values())
    more = max(more, LEAST_TILTED)
    chosen: dict[tuple[str, str, str], tuple[float, ...]] = {}
    for key in sorted(leaning, key=lambda key: -area(leaning[key].piece.cut_line)):
        more -= 2 * count[key]
        if more >= 0:
            chosen[key] = (1.0,)
    return chosen


def _leans(wanted: Wanted, fabric: Fabric) -> bool:
    return wanted.piece.tilt_deg > 0 and wanted.piece.cut is not Cut.FOLD and fabric.pattern is None


def problem_of(
    lay: Lay, *, pattern_start: float | None = None, tilt: bool = True, most: float = MOST_SHAPES
) -> Problem:
    """A lay as the nest sees it.

    Args:
        lay: What to lay.
        pattern_start: From the start line to the first line of the pattern across the cloth (mm), where the cloth
            leaves it open; `Marker.pattern_start` of a marker made already.
        tilt: Pieces that may be tilted are.
        most: Shapes up to which they are.

    Raises:
        FabricError: Matches of a garment contradict each other.
    """
    fabric = lay.fabric
    matched = on_pattern((wanted.piece for wanted in lay.wanted), fabric.pattern)
    shares = tilted(lay, most=most) if tilt else {}
    items = tuple(
        Item(
            name=f"{wanted.piece.garment} ({wanted.piece.size}), {wanted.piece.name}",
            outline=wanted.piece.cut_line,
            poses=poses(wanted, fabric, tilts=shares.get(wanted.piece.key, ()), matched=matched.get(wanted.piece.key)),
            on_fold=wanted.piece.cut is Cut.FOLD,
            group=f"{wanted.piece.garment}/{wanted.piece.size}/{wanted.copy}",
            gap=wanted.piece.gap,
            match=_match(wanted, fabric, matched.get(wanted.piece.key), pattern_start or 0.0),
            side_gaps=_side_gaps(wanted.piece, fabric),
            shares=wanted.piece.shares,
            leans=tilt and _leans(wanted, fabric),
        )
        for wanted in lay.wanted
    )
    return Problem(
        width=fabric.usable_width,
        gap=fabric.gap,
        items=items,
        fold=fabric.has_fold,
        far_fold=fabric.spread is Spread.TUBULAR,
        same_way=fabric.way is Nap.BY_GARMENT,
        forbidden=tuple(frozen_points(area.outline) for area in fabric.forbidden),
        table=fabric.table,
    )


def _side_gaps(piece: PreparedPiece, fabric: Fabric) -> tuple[float, ...]:
    """The gap of each side of a cut line (mm); empty where all are alike."""
    if not piece.edge_gaps:
        return ()
    gaps = [fabric.gap if piece.gap is None else piece.gap] * len(piece.cut_line)
    for edge in piece.edge_gaps:
        for side in edge.sides:
            gaps[side] = edge.gap
    return tuple(gaps)


def _match(wanted: Wanted, fabric: Fabric, matched: OnPattern | None, pattern_start: float) -> Match | None:
    """What the nest is told of the pattern: each of two points that meet may be half the tolerance off."""
    pattern = fabric.pattern
    if matched is None or pattern is None:
        return None
    start = pattern_start if pattern.from_start is None else pattern.from_start
    side = -1.0 if wanted.flipped else 1.0
    return Match(
        matched.point,
        matched.repeat,
        (start + matched.place[0], pattern.from_edge + side * matched.place[1]),
        pattern.tolerance / 2,
    )
