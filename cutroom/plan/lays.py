"""From an order to what must lie on each cloth, counted through the way the cloth is spread."""

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import islice

from cutroom.errors import CutroomError, FabricError, OrderError, raise_all
from cutroom.model.fabric import Fabric, Spread
from cutroom.model.lay import Lay, Wanted
from cutroom.model.order import Garment
from cutroom.model.prepared import PreparedPiece
from cutroom.plan.count import laid_on, needed, parts_of, yielded

MOST = 3000
"""Placements on one cloth; more is a slip of the pen, or several lays."""


def plan_lays(
    garments: Sequence[Garment],
    fabrics: Mapping[str, Fabric],
    pieces: Sequence[PreparedPiece],
) -> tuple[Lay, ...]:
    """One lay a fabric, in the order the fabrics are first needed; of a folded one another for its opened part.

    A placement counts for what it yields: on open cloth one piece a ply; on folded cloth and between plies that lie
    face to face a left and a right.

    Args:
        garments: The lines of the order.
        fabrics: Cloths by name.
        pieces: Every prepared piece of every garment.

    Raises:
        OrderError: Nothing is ordered.
        FabricError: A piece cannot come out right from the way its cloth is spread.
    """
    if not garments or not pieces:
        raise OrderError("nothing is ordered", "Ask for at least one garment with at least one piece")
    lays: dict[str, list[Wanted]] = {}
    used: dict[str, list[PreparedPiece]] = {}
    faults: list[CutroomError] = []
    for garment in garments:
        for piece in (piece for piece in pieces if (piece.garment, piece.size) == (garment.name, garment.wearer)):
            fabric = laid_on(piece, garment.copies, fabrics[garment.fabrics[piece.cloth]])
            try:
                wanted = list(islice(_wanted(garment, piece, fabric), MOST + 1))
            except CutroomError as fault:
                faults.append(fault)
                continue
            lays.setdefault(fabric.name, []).extend(wanted)
            if len(lays[fabric.name]) > MOST:
                raise OrderError(
                    f"the order lays more than {MOST} pieces in one marker",
                    "Check the copies, lay more plies, or cut it in several jobs",
                    place=f'fabric "{fabric.name}", {garment.name}',
                )
            used.setdefault(fabric.name, []).append(piece)
    raise_all(faults)
    parts = parts_of(fabrics)
    names = sorted(lays, key=lambda name: _order(parts[name], tuple(lays)))
    return tuple(Lay(parts[name], tuple(lays[name]), tuple(used[name])) for name in names)


def _order(fabric: Fabric, needed_first: tuple[str, ...]) -> tuple[int, bool]:
    """Fabrics as they are first needed, an opened part behind the folded one that it belongs to."""
    whole = fabric.part_of or fabric.name
    firsts = [needed_first.index(name) for name in (whole, f"{whole} opened") if name in needed_first]
    return min(firsts), bool(fabric.part_of)


def _wanted(garment: Garment, piece: PreparedPiece, fabric: Fabric) -> Iterator[Wanted]:
    """The placements of one piece that bring what its garments need."""
    place = f'{garment.name} ({garment.wearer}), piece "{piece.name}"'
    if fabric.spread is Spread.FACE_TO_FACE and fabric.plies % 2:
        raise FabricError(
            f"{fabric.plies} plies cannot lie face to face in pairs",
            "Lay an even number",
            place=f'fabric "{fabric.name}"',
        )
    need = needed(piece, garment.copies)
    drawn, flipped = (yielded(piece, fabric, flipped=laid) for laid in (False, True))
    hands: list[tuple[bool | None, int]]
    if need.whole:
        hands = [(None, math.ceil(need.whole / drawn.whole))]
    elif drawn.left and drawn.right:
        if need.left != need.right:
            raise _single_refused(fabric, place, need.left + need.right)
        hands = [(None, math.ceil(need.left / drawn.left))]
    else:
        lefts = math.ceil(need.left / max(drawn.left, flipped.left))
        rights = math.ceil(need.right / max(drawn.right, flipped.right))
        hands = [(False, lefts if drawn.left else rights), (True, rights if drawn.left else lefts)]
    side_by_side = math.ceil(garment.copies / (fabric.plies // (2 if fabric.spread is Spread.FACE_TO_FACE else 1)))
    for laid, count in hands:
        for k in range(count):
            yield Wanted(piece, 1 + k * side_by_side // count, laid)


def _open_out(fabric: Fabric) -> str:
    behind = "have a part of the lay opened out behind it for its singles (open_part = true), " * fabric.has_fold
    fix = (
        f'spread "{fabric.name}" open for it (a second fabric of the same cloth with spread = "open"), or, if the two '
        "sides of the piece are alike, draw it so"
    )
    words = behind + fix
    return words[0].upper() + words[1:]


def _single_refused(fabric: Fabric, place: str, count: int) -> FabricError:
    how = {
        Spread.FOLDED: "the cloth is folded",
        Spread.TUBULAR: "the cloth is a tube",
        Spread.FACE_TO_FACE: "the plies lie face to face",
    }[fabric.spread]
    return FabricError(
        f"it is a single piece ({count} wanted) and {how}: every placement gives a left and a right, so half of "
        f"them would be of the wrong hand",
        _open_out(fabric),
        place=place,
    )
