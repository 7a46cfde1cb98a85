"""The proof of rough blocks: what is kept passes, and each slip that is planted is told."""

from dataclasses import replace

import numpy as np

from cutroom.model.fabric import Area, Fabric, Nap
from cutroom.model.laying import RoughBlock
from cutroom.model.marker import Block, Marker, Placement
from cutroom.model.prepared import PreparedPiece
from cutroom.proof import prove_marker
from tests.unit.proof import emitters as emit

ROUGH = RoughBlock("neck", 10.0, 2.0)


def a_square(name: str, *, block: RoughBlock | None = ROUGH) -> PreparedPiece:
    outline = np.array([(0, 0), (100, 0), (100, 100), (0, 100.0)])
    return replace(emit.a_piece(), name=name, crossways=False, cut_line=outline, block=block)


def line(left: float, low: float, right: float, high: float) -> tuple[tuple[float, float], ...]:
    return (left, low), (right, low), (right, high), (left, high)


GOOD = (
    (("collar", 10.0, 10.0), ("stand", 112.0, 10.0), ("back", 228.0, 10.0)),
    Block("block neck 1", line(0, 0, 222, 120), (0, 1)),
)


def told(
    places: tuple[tuple[str, float, float], ...] = GOOD[0],
    blocks: tuple[Block, ...] = (GOOD[1],),
    **cloth: object,
) -> str:
    placements = tuple(Placement(name, "blouse", "12", 1, False, 0.0, x, y) for name, x, y in places)
    pieces = (a_square("collar"), a_square("stand"), a_square("back", block=None))
    fabric = Fabric("linen", **({"width": 300.0, "nap": Nap.NONE, "gap": 6.0} | cloth))  # type: ignore[arg-type]
    ends = [x + 100.0 for _, x, _ in places] + [x for block in blocks for x, _ in block.outline]
    return "\n".join(
        str(one) for one in prove_marker(Marker("linen", fabric, max(ends), placements, pieces, blocks=blocks))
    )


def moved(**by: tuple[float, float]) -> tuple[tuple[str, float, float], ...]:
    return tuple((name, x + by.get(name, (0, 0))[0], y + by.get(name, (0, 0))[1]) for name, x, y in GOOD[0])


def test_a_block_that_is_kept_passes() -> None:
    assert told() == ""
    assert told(moved(back=(-228.0, 116.0)), width=400.0) == ""


def test_a_piece_that_lies_too_near_to_the_line_of_its_block_or_beyond_it() -> None:
    assert "it lies 9.00 mm inside the line of its block, wanted 10 mm" in told(moved(collar=(-1.0, 0.0)))
    assert "it lies 0.00 mm inside the line of its block" in told(moved(stand=(0.0, 150.0)))


def test_pieces_of_a_block_keep_its_gap_and_a_block_keeps_the_cloths() -> None:
    wide = replace(GOOD[1], outline=line(0, 0, 240, 120))
    assert "they lie 1.00 mm apart, wanted 2 mm" in told(moved(stand=(-1.0, 0.0)))
    text = told(moved(back=(17.0, 0.0)), (wide,))
    assert "they lie 5.00 mm apart, wanted 6 mm" in text
    assert "block neck 1" in text


def test_a_block_keeps_to_the_cloth_as_a_piece_does() -> None:
    assert "beyond the usable width" in told(width=119.0)
    slub = (Area("slub", line(0, 0, 5, 5)),)
    assert "it lies on slub" in told(flaws=slub)
    assert "crosses the end of the table" in told(table=200.0)


def test_every_piece_of_a_block_lies_in_it_and_no_other() -> None:
    assert "does not hold all its pieces" in told(blocks=())
    assert "does not hold all its pieces" in told(blocks=(replace(GOOD[1], placements=(0,)),))
    assert "was not asked for" in told(blocks=(replace(GOOD[1], placements=(0, 1, 2)),))
    assert "a piece that the marker does not lay" in told(blocks=(replace(GOOD[1], placements=(0, 7)),))
    assert "a piece that the marker does not lay, or none" in told(blocks=(replace(GOOD[1], outline=()),))


def test_a_block_drawn_across_itself_is_told() -> None:
    crossed = replace(GOOD[1], outline=((0, 0), (222, 120), (222, 0), (0, 120)))
    assert "its line crosses itself" in told(blocks=(crossed,))
