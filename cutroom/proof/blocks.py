"""Proves the rough blocks of a marker: each holds its pieces, all of them, as far inside as its allowance says."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from shapely.geometry import Polygon

from cutroom.model.finding import Finding
from cutroom.model.laying import RoughBlock
from cutroom.model.marker import Block, Marker, Placement
from cutroom.proof.cloth_rules import CLOSE, NEST_AGAIN
from cutroom.proof.lines import Array
from cutroom.proof.words import name_of, stop


def prove_blocks(marker: Marker, outlines: Sequence[Array]) -> Iterator[Finding]:
    """A STOP for each piece that is not in its block, is in another's, or lies too near to its line.

    Args:
        marker: The marker.
        outlines: The cut line of each placement, `(n, 2)`, mm, where it lies.
    """
    wanted: dict[tuple[RoughBlock, str, str, int], set[int]] = defaultdict(set)
    for index, placement in enumerate(marker.placements):
        rough = marker.prepared(placement).block
        if rough is not None:
            wanted[rough, placement.garment, placement.size, placement.copy].add(index)
    held = [set(block.placements) for block in marker.blocks]
    for (asked, garment, size, copy), members in wanted.items():
        if members not in held:
            what = f'its block "{asked.name}" does not hold all its pieces, and nothing else'
            yield stop(f'"{garment}" {copy}, size {size}', what, NEST_AGAIN)
    for block, members in zip(marker.blocks, held, strict=True):
        if members not in wanted.values():
            yield stop(block.name, "the marker has a block that was not asked for", NEST_AGAIN)
            continue
        shape = Polygon(block.outline)
        for index in sorted(members):
            own = marker.prepared(marker.placements[index]).block
            piece = Polygon(outlines[index])
            inside = shape.exterior.distance(piece) if shape.contains(piece) else 0.0
            if own is not None and inside < own.allowance - CLOSE:
                what = f"it lies {inside:.2f} mm inside the line of its block, wanted {own.allowance:g} mm"
                yield stop(name_of(marker, index), what, NEST_AGAIN)
        if not shape.is_valid or shape.area <= 0:
            yield stop(block.name, "its line crosses itself", NEST_AGAIN)


def from_outside(marker: Marker) -> Marker:
    """The marker as it looks from outside its blocks: each a piece, by its own line, in place of those it holds."""
    if not marker.blocks:
        return marker
    held = {index for block in marker.blocks for index in block.placements}
    placements = [one for index, one in enumerate(marker.placements) if index not in held]
    pieces = list(marker.pieces)
    for block in marker.blocks:
        first = marker.placements[min(block.placements)]
        line = np.array(block.outline)
        piece = replace(
            marker.prepared(first), name=block.name, cut_line=line, gap=None, edge_gaps=(), shares=None, meets=()
        )
        pieces.append(piece)
        placements.append(Placement(block.name, first.garment, first.size, first.copy, False, 0.0, 0.0, 0.0))
    return replace(marker, placements=tuple(placements), pieces=tuple(pieces), blocks=())


def from_inside(marker: Marker, block: Block) -> Marker:
    """The pieces of one block alone, with the gap that they keep in it."""
    pieces = []
    for piece in marker.pieces:
        if piece.block is not None and piece.block.gap is not None:
            pieces.append(replace(piece, gap=piece.block.gap, edge_gaps=(), shares=None))
        else:
            pieces.append(piece)
    placements = tuple(marker.placements[index] for index in block.placements)
    return replace(marker, placements=placements, pieces=tuple(pieces), blocks=())
