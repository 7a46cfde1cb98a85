"""From an order to its prepared pieces: drafted, walked, given allowance, made ready."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TypeVar

from cutroom.alter.alter import alter
from cutroom.alter.grade import grade_style
from cutroom.draft.blocks import BLOCKS, check_wearer, draft, judge, recipe
from cutroom.errors import CutroomError, DraftError, FaultsError, OrderError, PieceError, raise_all
from cutroom.model.alteration import Derive, Facing, Step
from cutroom.model.finding import Finding
from cutroom.model.order import Garment, Order, StyleAsked
from cutroom.model.piece import Piece, Style
from cutroom.model.prepared import PreparedPiece
from cutroom.prepare.axes import on_the_cloth
from cutroom.prepare.check import check_pieces
from cutroom.prepare.meeting import unmatched_seams, with_laying
from cutroom.prepare.placing import place_notches
from cutroom.prepare.ready import prepare, with_allowances
from cutroom.prepare.walk import Walked, check_walk, walk
from cutroom.read.job import read_job
from cutroom.units import in_words

T = TypeVar("T")

FELT = 0.05
"""A side of a seam that is let out by no more than this (mm) is cut as it was drafted."""


def read_order(job: Path) -> Order:
    """The order of a job file.

    Raises:
        CutroomError: All that is wrong with it, together.
    """
    return read_job(job, blocks=BLOCKS, judge=lambda asked, wearer: judge(asked, wearer) if asked.block else None)


@dataclass(frozen=True, slots=True, eq=False)
class Drafted:
    """An order's styles, drafted and checked.

    Attributes:
        styles: By `(style, wearer)`.
        walked: Seams walked, by `(style, wearer)`.
        findings: What reading, drafting and walking found.
    """

    styles: dict[tuple[str, str], Style]
    walked: dict[tuple[str, str], tuple[Walked, ...]]
    findings: tuple[Finding, ...]


def draft_order(order: Order) -> Drafted:
    """Every style of an order for everyone it is ordered for, with its seams walked.

    Raises:
        CutroomError: All that cannot be drafted, together.
    """
    styles: dict[tuple[str, str], Style] = {}
    walked: dict[tuple[str, str], tuple[Walked, ...]] = {}
    findings: list[Finding] = list(order.findings)
    faults: list[CutroomError] = []
    words = partial(in_words, unit=order.unit)
    for garment in order.garments:
        key = garment.style, garment.wearer
        if key in styles:
            continue
        try:
            style, noticed = _style(order, garment)
        except FaultsError as several:
            faults.extend(several.at(file=order.file).spoken(words).faults)
            continue
        except CutroomError as fault:
            faults.append(fault.at(file=order.file).spoken(words))
            continue
        style = replace(style, facts=tuple((name, words(text)) for name, text in style.facts))
        styles[key] = style
        findings.extend(noticed)
        findings.extend(style.findings)
        walked[key] = walk(style)
        findings.extend(check_walk(walked[key]))
        findings.extend(check_pieces(style, walked[key]))
    raise_all(faults)
    return Drafted(styles, walked, tuple(finding.spoken(words) for finding in findings))


def prepare_order(order: Order, drafted: Drafted) -> tuple[PreparedPiece, ...]:
    """Every piece of every line of the order, ready to be laid.

    Raises:
        CutroomError: All that cannot be prepared, together.
    """
    pieces: list[PreparedPiece] = []
    faults: list[CutroomError] = []
    for garment in order.garments:
        for piece in drafted.styles[garment.style, garment.wearer].pieces:
            try:
                if piece.cloth not in garment.fabrics:
                    raise OrderError(
                        f'nothing says which fabric its "{piece.cloth}" pieces are cut from',
                        f'Add it to the garment: fabrics = {{ {piece.cloth} = "..." }}',
                        place=f'{garment.name}, piece "{piece.name}"',
                    )
                fabric = order.fabrics[garment.fabrics[piece.cloth]]
                number = len(pieces) + 1
                pieces.append(prepare(piece, garment=garment.name, size=garment.wearer, fabric=fabric, number=number))
            except CutroomError as fault:
                faults.append(fault.at(file=order.file).spoken(partial(in_words, unit=order.unit)))
    raise_all(faults)
    return tuple(pieces)


def walk_as_cut(order: Order, garment: Garment, style: Style) -> tuple[Walked, ...]:
    """The seams of a style walked once more on its pieces as they are cut: let out for shrinkage and for pressing.

    Args:
        order: The order.
        garment: The line of it that says which fabrics the style is cut from.
        style: The style as it was drafted.

    Returns:
        The seams whose sides are cut longer or shorter than they are drafted; of them only the lengths are of use.
    """

    def cut(piece: Piece) -> Piece:
        fabric = order.fabrics[garment.fabrics[piece.cloth]]
        return on_the_cloth(piece, fabric.shrink_warp or 0.0, fabric.shrink_weft or 0.0)

    sewn = {name for seam in style.seams for name, _ in (*seam.first, *seam.second)}
    try:
        let_out = replace(style, pieces=tuple(cut(piece) for piece in style.pieces if piece.name in sewn))
    except (PieceError, KeyError):  # preparing says what is wrong with it
        return ()
    before = {seam.seam: (seam.first, seam.second) for seam in walk(style)}
    return tuple(
        seam
        for seam in walk(let_out)
        if max(abs(now - then) for now, then in zip((seam.first, seam.second), before[seam.seam], strict=True)) > FELT
    )


def _style(order: Order, garment: Garment) -> tuple[Style, tuple[Finding, ...]]:
    asked, wearer = order.styles[garment.style], order.wearers[garment.wearer]
    if asked.block:
        noticed = check_wearer(asked, wearer)
        try:
            style = draft(asked, wearer)
        except CutroomError as fault:  # a figure in doubt is the likeliest reason
            doubts = [DraftError(finding.what, finding.fix, place=finding.place) for finding in noticed]
            raise FaultsError([fault, *doubts]) from fault
        steps = *recipe(asked, wearer, style), *asked.alterations
    else:
        style, noticed = Style(asked.name, wearer.code, asked.pieces, asked.seams), ()
        if asked.grading is not None:
            style = grade_style(style, asked.grading, wearer.code)
        steps = asked.alterations
    altered = alter(style, steps)
    asked = _as_called_now(asked, altered)
    _refuse_strange_edges(asked, altered)
    if asked.block or steps:
        asked = replace(asked, allowances=_allowances(asked, altered, steps))
    dressed = replace(altered, pieces=tuple(with_allowances(piece, asked) for piece in altered.pieces))
    notched = place_notches(dressed, asked.notches)
    unmatched = unmatched_seams(notched, asked.matches)
    laid = with_laying(notched, asked.laying, asked.matches, asked.shared_lines, asked.rough_blocks)
    return laid, (*noticed, *unmatched)


def _as_called_now(asked: StyleAsked, style: Style) -> StyleAsked:
    """What is said of an edge by its old name, said of what the alterations have made of it.

    An allowance and the turns of a hem hold for every part; a corner for the part that ends where the edge ended.
    """

    def carried(said: Mapping[str, T], *, last: bool = False) -> dict[str, T]:
        now = dict(said)
        for (piece, edge), parts in style.became.items():
            for key, full in ((edge, False), (f"{piece}.{edge}", True)):
                if key not in said:
                    continue
                for name in parts[-1:] if last else parts:
                    now.setdefault(f"{name[0]}.{name[1]}" if full else name[1], said[key])
                if parts and key not in known:
                    now.pop(key, None)  # of an edge that is gone it is kept, and refused
        return now

    there = {(piece.name, edge.name) for piece in style.pieces for edge in piece.edges}
    known = {edge for _, edge in there} | {f"{piece}.{edge}" for piece, edge in there}
    return replace(
        asked,
        allowances=carried(asked.allowances),
        corners=carried(asked.corners, last=True),
        turns=carried(asked.turns),
    )


def _allowances(asked: StyleAsked, altered: Style, steps: Sequence[Step]) -> dict[str, float]:
    """What a style and its alterations say of allowances: given edges keep theirs, whatever they are called now."""
    known = {(edge.name, edge.kind) for piece in asked.pieces for edge in piece.edges}
    kept = {
        f"{piece.name}.{edge.name}": edge.allowance
        for piece in altered.pieces
        for edge in piece.edges
        if (edge.name, edge.kind) in known or (asked.pieces and edge.allowance)
    }
    for step in steps:
        if isinstance(step, Facing | Derive) and step.allowance is not None:
            taken = [piece for piece in altered.pieces if piece.name == step.name]
            kept |= {f"{piece.name}.{edge.name}": step.allowance for piece in taken for edge in piece.edges}
    return {**kept, **asked.allowances}


def _refuse_strange_edges(asked: StyleAsked, style: Style) -> None:
    """An allowance, a corner or a turn for an edge that is not there would be silently lost."""
    edges = {edge.name for piece in style.pieces for edge in piece.edges}
    full = {f"{piece.name}.{edge.name}" for piece in style.pieces for edge in piece.edges}
    raise_all(
        OrderError(
            f'no edge is called "{name}"',
            f"Name one of: {', '.join(sorted(edges))}; or piece and edge, such as {min(full)}",
            place=f"styles.{asked.name}.{key}",
        )
        for key, names in (("allowances", asked.allowances), ("corners", asked.corners), ("turns", asked.turns))
        for name in names
        if name not in edges | full
    )
