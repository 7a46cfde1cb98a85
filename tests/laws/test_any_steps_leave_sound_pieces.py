"""Whatever steps are asked for in whatever order: they are done or refused in words, and what is left is sound."""

from contextlib import suppress

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from cutroom.alter.alter import alter
from cutroom.draft.blocks import draft
from cutroom.draft.bodies import misses_body
from cutroom.errors import CutroomError
from cutroom.geometry.polyline import length
from cutroom.model.alteration import (
    CutOff,
    Derive,
    Extend,
    Facing,
    Fullness,
    Leave,
    Lengthen,
    Merge,
    Mirror,
    Pivot,
    Slash,
    Split,
    Spot,
    Step,
    TrueUp,
)
from cutroom.model.fabric import Fabric
from cutroom.model.order import StyleAsked, Wearer
from cutroom.model.piece import Piece, Style
from cutroom.prepare.check import check_pieces
from cutroom.prepare.ready import prepare, with_allowances
from cutroom.prepare.walk import check_walk, walk
from tests.laws.test_all_goes_with_the_cloth import laden

CLOTH = Fabric("linen", 2000.0)
BLOCKS = [
    draft(StyleAsked(name, name), Wearer("12", misses_body("12")))
    for name in ("bodice", "blouse", "skirt", "trousers", "sleeve")
]
KEEP = Slash, Fullness, Lengthen, Extend, TrueUp, Split, Merge, Mirror


@st.composite
def asked(draw: st.DrawFn, style: Style) -> Step:
    """Any step, its edges and amounts drawn blindly: most of them make no sense, and must be refused."""
    piece = draw(st.sampled_from(style.pieces))
    edges = st.sampled_from([edge.name for edge in piece.edges])
    spots = st.builds(lambda edge, share: Spot(edge, share=share), edges, st.floats(0.0, 1.0))
    wide = st.floats(0.0, 60.0)
    way = st.floats(-60.0, 60.0)
    darts = [dart.name for dart in piece.darts]
    darts += [line.name.removesuffix(" leg") for line in piece.lines if line.name.endswith(" leg")]
    new = f"{piece.name} {len(style.pieces)}"
    kinds: list[st.SearchStrategy[Step]] = [
        st.builds(Slash, st.just(piece.name), spots, spots, wide, wide),
        st.builds(lambda a, b, one, two, n: Fullness(piece.name, (a,), (b,), one, two, slashes=n),
                  edges, edges, wide, wide, st.integers(1, 5)),
        st.builds(Lengthen, st.just(piece.name), spots, spots, way),
        st.builds(Extend, st.just(piece.name), edges, way),
        st.builds(lambda edge, n: TrueUp(piece.name, (edge,), points=n), edges, st.integers(0, 5)),
        st.builds(Pivot, st.just(piece.name), st.sampled_from(darts or ["none"]), spots, st.sampled_from(Leave),
                  st.sampled_from((1.0, 0.5))),
        st.builds(lambda a, b: Split(piece.name, a, b, f"seam {new}", (f"{new} a", f"{new} b")), spots, spots),
        st.builds(lambda a, b, keep: CutOff(piece.name, a, b, keep, f"cut {new}"), spots, spots, edges),
        st.just(Mirror((piece.name,))),
        st.builds(lambda edge, size: Facing(piece.name, (edge,), size, f"{new} facing"), edges, st.floats(10.0, 80.0)),
        st.builds(lambda by: Derive(piece.name, f"{new} lining", "lining", by), st.floats(-3.0, 5.0)),
    ]  # fmt: skip
    seams = [seam for seam in style.seams if seam.name.startswith("seam ")]
    if seams:
        seam = seams[-1]
        kinds.append(st.just(Merge(*seam.first[0], *seam.second[0], f"{new} whole")))
    return draw(st.one_of(kinds))


def _carried(style: Style) -> tuple[int, int, int]:
    return (
        sum(len(piece.darts) for piece in style.pieces),
        sum(len(piece.drills) for piece in style.pieces),
        sum(len(piece.cutouts) for piece in style.pieces),
    )


def _sound(piece: Piece) -> None:
    for edge, after in zip(piece.edges, (*piece.edges[1:], piece.edges[0]), strict=True):
        assert np.hypot(*(edge.points[-1] - after.points[0])) < 1e-6
    sizes = {edge.name: length(edge.points) + 1e-6 for edge in piece.edges}
    assert len(sizes) == len(piece.edges)
    assert all(-1e-6 <= notch.at <= sizes[notch.edge] for notch in piece.notches)
    assert all(-1e-6 <= dart.start < dart.end <= sizes[dart.edge] for dart in piece.darts)


@settings(max_examples=100, deadline=None)
@given(data=st.data())
def test_steps_are_done_or_refused_and_nothing_is_lost(data: st.DataObject) -> None:
    style = data.draw(laden() | st.sampled_from(BLOCKS))
    for _ in range(data.draw(st.integers(1, 4))):
        step = data.draw(asked(style))
        after = _done(style, step)
        if after is None:
            continue
        if isinstance(step, KEEP):
            assert _carried(after) == _carried(style)
        style = after
        for piece in style.pieces:
            _sound(piece)
    check_walk(walk(style))
    check_pieces(style)
    for piece in style.pieces:
        _prepared_or_refused(piece)


def _done(style: Style, step: Step) -> Style | None:
    """The style after a step, or None where it was refused in words."""
    refused: CutroomError | None = None
    try:
        return alter(style, [step])
    except CutroomError as fault:
        refused = fault
    assert refused.what
    assert refused.fix
    assert refused.place.startswith(f"{style.name}, alteration 1")
    return None


def _prepared_or_refused(piece: Piece) -> None:
    with suppress(CutroomError):  # what it refuses, it refuses in words: its own tests read them
        prepare(with_allowances(piece, StyleAsked("s")), garment="g", size="12", fabric=CLOTH, number=1)
