"""The lines that a file of a marker must hold, worked out from the marker alone."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import count, takewhile

import numpy as np

from cutroom.model.marker import Marker, Placement
from cutroom.model.plot import Role
from cutroom.model.prepared import PreparedPiece
from cutroom.proof.lines import NOWHERE, Array, Lines, Look, lines_of, tidy_all

DRILL_SIDES = 24
"""A drill hole is drawn as a polygon of this many sides."""


def turned(points: Array, turn_deg: float) -> Array:
    """Points (`(n, 2)`, mm) turned counter-clockwise about (0, 0); quarter turns without rounding."""
    quarter, rest = divmod(turn_deg % 360.0, 90.0)
    if rest == 0:
        cosine, sine = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    else:
        cosine, sine = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    x, y = points[:, 0], points[:, 1]
    return np.column_stack((cosine * x - sine * y, sine * x + cosine * y))


def posed(points: Array, placement: Placement) -> Array:
    """Points of a piece (`(n, 2)`, mm) where a placement lays them: flipped, then turned, then shifted."""
    if placement.flipped:
        points = points * (1.0, -1.0)
    return np.add(turned(points, placement.turn_deg), (placement.x, placement.y))


def reading_turn(turn_deg: float) -> float:
    """The turn of lettering (degrees, above -90 to 90) on a piece with that turn: never upside down."""
    turn = turn_deg % 180.0
    return turn - 180.0 if turn > 90.0 else turn


def ring(x: float, y: float, diameter: float) -> Array:
    """A hole (mm) as a `(24, 2)` polygon, counter-clockwise from angle 0."""
    angles = np.arange(DRILL_SIDES) * (2 * np.pi / DRILL_SIDES)
    return np.column_stack((x + diameter / 2 * np.cos(angles), y + diameter / 2 * np.sin(angles)))


def label_lines(piece: PreparedPiece, placement: Placement) -> list[Array]:
    """The lettering of a placed piece, mm: turned as it reads on it, but never mirrored and never upside down."""
    label = piece.label_mirrored if placement.flipped else piece.label
    centre = posed(np.array([label.centre]), placement)
    return [turned(stroke, reading_turn(placement.turn_deg + label.turn_deg)) + centre for stroke in label.strokes]


def placed_lines(piece: PreparedPiece, placement: Placement) -> list[tuple[Role, Array, bool]]:
    """Everything that one placement draws: role, points (mm) and whether they close."""
    lines = [(Role.CUTOUT, posed(line, placement), True) for line in piece.cutouts]
    lines.append((Role.CUT, posed(piece.cut_line, placement), True))
    if len(piece.seam_line):
        lines.append((Role.SEAM, posed(piece.seam_line, placement), True))
    lines += [(Role.SEAM, posed(line, placement), False) for line in piece.lines]
    lines += [(Role.NOTCH, posed(line, placement), False) for line in piece.notches]
    for x, y, diameter in piece.drills:
        ((at_x, at_y),) = posed(np.array([(x, y)]), placement).tolist()
        lines.append((Role.DRILL, ring(at_x, at_y, diameter), True))
    lines += [(Role.GRAIN, posed(line, placement), False) for line in piece.grain]
    lines += [(Role.LABEL, line, False) for line in label_lines(piece, placement)]
    return lines


def kept_clear(marker: Marker) -> Iterator[tuple[Array, bool]]:
    """Lines that are no piece's: flaws, with their diagonals, used areas, rough blocks, ends of sections and table."""
    cloth = marker.fabric
    shown = [area for area in cloth.flaws + cloth.used if min(x for x, _ in area.outline) < marker.length]
    for area in shown:
        yield np.array(area.outline), True
        if area in cloth.flaws and len(area.outline) == 4:
            one, two, three, four = area.outline
            yield np.array([one, three]), False
            yield np.array([two, four]), False
    for block in marker.blocks:
        yield np.array(block.outline), True
    across = list(marker.sections[:-1])
    if cloth.table:
        across += takewhile(lambda at: at < marker.length - 0.01, (cloth.table * number for number in count(1)))
    for x in across:
        yield np.array([(x, 0.0), (x, marker.width)]), False


def expected_lines(marker: Marker, group: Callable[[Role], str | None]) -> Lines:
    """The lines that must be in a file of the marker.

    Args:
        marker: The marker.
        group: What a format tells the lines of a role apart by; None when it leaves the role out.
    """
    groups = {role: group(role) for role in Role}
    looks = [(name, role) for role, name in groups.items() if name is not None]
    known: dict[tuple[tuple[str, str, str], bool, float], Lines] = {}
    drawn: list[Lines] = []
    for placement in marker.placements:
        key = (placement.key, placement.flipped, placement.turn_deg)
        if key not in known:
            bare = replace(placement, x=0.0, y=0.0)
            known[key] = _tidied(placed_lines(marker.prepared(placement), bare), looks)
        drawn.append(known[key])
    length, width = marker.length, marker.width
    cloth = np.array([(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)])
    rest = [(cloth, True), *kept_clear(marker)]
    drawn.append(_tidied([(Role.FABRIC, points, closed) for points, closed in rest], looks))
    shifts = np.array([*((placement.x, placement.y) for placement in marker.placements), (0.0, 0.0)])
    owners = np.array([*range(len(marker.placements)), NOWHERE])
    counts = np.concatenate([lines.counts for lines in drawn])
    return Lines(
        np.concatenate([lines.points for lines in drawn])
        + np.repeat(shifts, [len(lines.points) for lines in drawn], axis=0),
        counts,
        np.concatenate([lines.closed for lines in drawn]),
        tuple(looks),
        np.concatenate([lines.look for lines in drawn]),
        np.repeat(owners, [len(lines) for lines in drawn]),
        np.zeros(len(counts), dtype=np.bool_),
    )


def _tidied(lines: Sequence[tuple[Role, Array, bool]], looks: Sequence[Look]) -> Lines:
    """Lines of those looks, tidied; those of other roles, and empty ones, are left out."""
    codes = {role: code for code, (_, role) in enumerate(looks)}
    told = [(points, closed, codes[role]) for role, points, closed in lines if role in codes and len(points)]
    points, counts, closed = tidy_all(
        np.concatenate([points for points, _, _ in told]) if told else np.zeros((0, 2)),
        np.array([len(points) for points, _, _ in told], dtype=np.int64),
        np.array([closed for _, closed, _ in told], dtype=np.bool_),
    )
    return lines_of(points, counts, closed, looks=looks, look=np.array([code for _, _, code in told], dtype=np.int64))
