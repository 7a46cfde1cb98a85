"""Trousers: front and back with a dart each, a waistband open at the centre front, and a fly of one piece.

From memory, the usual English construction, in our own words. The crease line is the grain. Half the hip and its ease
is shared so that the back is 10 mm wider than the front on each side.

*Front.* The centre front stands a twelfth of the hip and 15 mm before the crease line, and leans in 10 mm at the waist;
the waist rises 8 mm to the side.
The fork reaches a sixteenth of the hip and 5 mm beyond it on the crotch line; the curve passes 30 mm from the corner.
*Back.* Its upright stands three quarters of the centre front's distance from the crease line. The seat seam turns off
it half way up and meets the waist 20 mm farther in and 20 mm higher. The fork reaches half as far again as the
front's; the curve passes 46 mm from the corner.
*Legs.* The knee line is 50 mm above the middle of the inside leg. On hem and knee the back is 10 mm wider on each side
than the front, the front's hem 5 mm narrower on each side than the half. The back fork is lowered until both
inside legs are of one length, and the back waist moved at the side until both side seams are.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cutroom.draft.blouse import waist_names
from cutroom.draft.bodice import LEAST_DART, waist_edges
from cutroom.draft.lines import mirrored_piece, named, point, turned_piece, unit
from cutroom.draft.options import Option, Told
from cutroom.draft.waistband import draft_waistband
from cutroom.errors import DraftError
from cutroom.geometry.curve import smooth_curve
from cutroom.geometry.polyline import length, lengths_along
from cutroom.model.piece import Cut, DrillHole, Edge, EdgeKind, Hand, NamedLine, Notch, Piece, SewnSeam, Style
from cutroom.units import both_units

NEEDS = ("waist", "hip", "body rise", "inside leg")
OPTIONS = (
    Option("waist ease", 15.0, "Added to the waist girth"),
    Option("hip ease", 45.0, "Added to the hip girth"),
    Option("rise ease", 10.0, "Added to the body rise"),
    Option("hem width", 0.0, "Round the hem of a leg; 0 for three tenths of the hip and 110 mm"),
    Option("flare", 0.0, "How much narrower a leg is at the knee than a straight one, all round"),
    Option("fly length", 0.0, "Opening of the centre front; 0 for 170 mm, less where the hip line lies higher"),
    Option("fly width", 0.0, "Width of the fly; 0 for 40 mm, less on a short opening"),
    Option("band width", 35.0, "Width of the waistband when worn"),
    Option("band overlap", 40.0, "What the waistband reaches beyond the centre front"),
)
FRONT_DART, BACK_DART = 90.0, 125.0
FRONT_TURN, BACK_TURN = 30.0, 46.0
SIDE_RISE = 8.0
MOST_SIDE = 32.0
"""What the side seam takes of the difference of hip and waist on a quarter at most (mm)."""

Line = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class TrouserFrame:
    """The numbers of a pair of trousers (mm); heights are measured down from the waist.

    Attributes:
        hip_down: Hip line.
        crotch: Crotch line.
        knee: Knee line.
        hem: Hem line.
        quarter: A quarter of hip and ease.
        waist: A quarter of waist and ease.
        centre: Crease line to the centre front.
        fork: Centre front to the end of the front fork.
        half_hem: Crease line to the front's hem.
        half_knee: Crease line to the front's knee.
    """

    hip_down: float
    crotch: float
    knee: float
    hem: float
    quarter: float
    waist: float
    centre: float
    fork: float
    half_hem: float
    half_knee: float


def draft_trousers(name: str, size: str, measures: Mapping[str, float], told: Told) -> Style:
    """Draft the trousers.

    Args:
        name: Name of the style.
        size: A size or a client's code.
        measures: Waist, hip, body rise and inside leg (mm); waist to hip, thigh, knee and ankle if they were taken.
        told: The options of `OPTIONS`.

    Returns:
        The style, with its seams to be walked.

    Raises:
        DraftError: It cannot be drafted from these.
    """
    frame = _frame(measures, told)
    told = _with_fly(frame, told)
    front = turned_piece(_front(frame, told))
    back = mirrored_piece(turned_piece(_back(frame, front)))
    runs = {body.name: [length(body.edge(edge).points) for edge in waist_names(body)] for body in (front, back)}
    around = sum(runs["front"]) + sum(runs["back"])
    band = draft_waistband(
        around,
        told.length("band width"),
        sum(runs["back"]),
        fold="centre back",
        overlap=told.length("band overlap"),
    )
    fly = _fly(told)
    seams = (
        SewnSeam("side", (("front", "side"),), (("back", "side"),), second_from_end=True),
        SewnSeam("inside leg", (("front", "inside leg"),), (("back", "inside leg"),), second_from_end=True),
        SewnSeam("fly", (("front", "centre front"),), (("fly", "front"),), first_from_end=True),
        SewnSeam(
            "waistband",
            (*(("back", edge) for edge in waist_names(back)), *(("front", edge) for edge in waist_names(front)[::-1])),
            (("waistband", "waist"),),
        ),
    )
    hips = frame.quarter * 4
    unmeasured = "waist to hip" not in measures
    facts = (
        ("hip with ease", both_units(hips)),
        ("crotch line below waist", both_units(frame.crotch)),
        ("inside leg seam", both_units(_ring_length(front, "inside leg"))),
        ("side seam", both_units(_ring_length(front, "side"))),
        ("hem", both_units(_ring_length(front, "hem") + _ring_length(back, "hem"))),
        ("front crotch", both_units(_ring_length(front, "crotch") + _ring_length(front, "centre front"))),
        ("back crotch", both_units(_ring_length(back, "crotch"))),
        *((("waist to hip", f"{both_units(frame.hip_down)}, not measured: the usual depth"),) * unmeasured),
        *((f"{part} ease", both_units(told.length(f"{part} ease"))) for part in ("waist", "hip", "rise")),
    )
    return Style(name, size, (front, back, band, fly), seams, facts)


def _frame(measures: Mapping[str, float], told: Told) -> TrouserFrame:
    hip, leg = measures["hip"], measures["inside leg"]
    crotch = measures["body rise"] + told.length("rise ease")
    down = measures.get("waist to hip", hip_depth(measures["body rise"]))
    if down > crotch - 40:
        what = f"the hip line is {both_units(down)} below the waist and the crotch line {both_units(crotch)}"
        raise DraftError(what, "Measure waist to hip and body rise again", place="trousers")
    quarter = (hip + told.length("hip ease")) / 4
    waist = (measures["waist"] + told.length("waist ease")) / 4
    if waist > quarter + 10:
        what = f"the waist {both_units(measures['waist'])} is too large for the hip {both_units(hip)}"
        raise DraftError(what, "Give the hip more ease: trousers hang from the wider of the two", place="trousers")
    hem = told.length("hem width") or 0.3 * hip + 110
    if hem < measures.get("ankle", 0.0) + 40:
        what = f"a hem of {both_units(hem)} will not pass the foot"
        raise DraftError(what, "Make it wider", place="hem width")
    half_hem = hem / 4 - 5
    centre, fork = hip / 12 + 15, hip / 16 + 5
    half_knee = half_hem + 13 - told.length("flare") / 4
    knee_girth = 4 * half_knee + 20
    if knee_girth < measures.get("knee", 0.0) + 20:
        what = f"a knee of {both_units(knee_girth)} is too narrow for one of {both_units(measures['knee'])}"
        raise DraftError(what, "Make the hem wider or the flare less", place="trousers")
    if half_knee > quarter - centre - 10:
        what = f"a knee of {both_units(knee_girth)} is wider than the hip leaves room for"
        raise DraftError(what, "Make the hem narrower, or the flare more", place="hem width")
    thigh = 2 * quarter + 2.5 * fork + 0.25 * centre
    if thigh < measures.get("thigh", 0.0) + 20:
        what = f"{both_units(thigh)} round the thigh is too narrow for one of {both_units(measures['thigh'])}"
        raise DraftError(what, "Give the hip more ease", place="trousers")
    return TrouserFrame(
        down, crotch, crotch + leg / 2 - 50, crotch + leg, quarter, waist, centre, fork, half_hem, half_knee
    )


def hip_depth(rise: float) -> float:
    """The depth of the hip (mm) where it was not measured: 205 mm, less on a body whose rise is less than 280 mm."""
    return 205.0 * min(1.0, rise / 280.0)


def _with_fly(frame: TrouserFrame, told: Told) -> Told:
    """The options with a fly that fits the seat, where none was asked for."""
    room = 5.0 * ((frame.hip_down - 10) // 5)
    long = told.length("fly length") or min(170.0, room)
    return told.with_default(fly_length=long, fly_width=told.length("fly width") or min(40.0, round(0.3 * long)))


def _front(frame: TrouserFrame, told: Told) -> Piece:
    """Set out upside down, waist at y = 0, crease line at x = 0, side to the right."""
    x = -frame.centre
    top, low = point(x + 10, 0.0), point(x, frame.hip_down)
    fork = point(x - frame.fork, frame.crotch)
    turn = point(x, frame.crotch) - unit(point(1.0, 1.0)) * FRONT_TURN
    curve = smooth_curve(np.vstack([low, turn, fork]), start=low - top, end=point(-1.0, 0.0))
    seat = np.vstack([top, curve])
    opening = told.length("fly length")
    if not 60 < opening < length(seat[:2]) - 5:
        what = f"a fly of {both_units(opening)} does not end above the hip line"
        raise DraftError(what, f"Make it {both_units(60)} to {both_units(length(seat[:2]) - 5)}", place="fly length")
    end = top + unit(low - top) * opening
    side_in, dart = _taken(frame.quarter - 5 - 10 - frame.waist)
    side_top = point(x + frame.quarter - 5 - side_in, -SIDE_RISE)
    side = _side(side_top, point(x + frame.quarter - 5, frame.hip_down), frame, 0.0)
    waist, lines, drills = _waist(top, side_top, side, FRONT_DART, dart, (1.0, 0.0), 0.0)
    inside = _inside(fork, frame, 0.0)
    edges = (
        *waist,
        Edge("side", side),
        Edge("hem", np.vstack([side[-1], inside[0]]), kind=EdgeKind.HEM),
        Edge("inside leg", inside),
        Edge("crotch", np.vstack([curve[::-1], end])),
        Edge("centre front", np.vstack([end, top])),
    )
    return _leg("front", edges, frame, lines, drills, point(x - frame.fork, 0.0))


def _back(frame: TrouserFrame, front: Piece) -> Piece:
    """As the front; its fork and its waist at the side are moved until its seams have the lengths of the front's."""
    inside_long, side_long = _ring_length(front, "inside leg"), _ring_length(front, "side")
    x = -0.75 * frame.centre
    top, half = point(x + 20, -20.0), point(x, frame.crotch / 2)
    reach = -frame.centre - 1.5 * frame.fork

    def inside_of(drop: float) -> Line:
        return _inside(point(reach, frame.crotch + drop), frame, 10.0)

    drop = _solve(lambda at: length(inside_of(at)) - inside_long, -40.0, 60.0, "inside leg")
    inside = inside_of(drop)
    fork = inside[-1]
    turn = point(x, frame.crotch) - unit(point(1.0, 1.0)) * BACK_TURN
    seat = np.vstack([top, smooth_curve(np.vstack([half, turn, fork]), start=half - top, end=point(-1.0, 0.12))])
    side_in, dart = _taken(frame.quarter + 5 - 20 - frame.waist)

    def side_of(rise: float) -> Line:
        start = point(x + frame.quarter + 5 - side_in, -rise)
        return _side(start, point(x + frame.quarter + 5, frame.hip_down), frame, 10.0)

    side = side_of(_solve(lambda at: length(side_of(at)) - side_long, -40.0, 40.0, "side seam"))
    way = unit(point(frame.crotch / 2 + 20, 20.0))
    waist, lines, drills = _waist(top, side[0], side, BACK_DART, dart, (float(way[0]), float(way[1])), 0.12)
    edges = (
        *waist,
        Edge("side", side),
        Edge("hem", np.vstack([side[-1], inside[0]]), kind=EdgeKind.HEM),
        Edge("inside leg", inside),
        Edge("crotch", seat[::-1]),
    )
    back = _leg("back", edges, frame, lines, drills, point(reach, 0.0))
    return replace(back, notches=front.notches)  # set out the same way round: where they meet when walked


def _leg(
    name: str,
    edges: tuple[Edge, ...],
    frame: TrouserFrame,
    lines: tuple[NamedLine, ...],
    drills: tuple[DrillHole, ...],
    fork: Line,
) -> Piece:
    side = next(edge.points for edge in edges if edge.name == "side")
    inside = next(edge.points for edge in edges if edge.name == "inside leg")
    wide = float(side[:, 0].max())
    notches = (
        Notch("side", _at_height(side, frame.hip_down), name="hip"),
        Notch("side", _at_height(side, frame.knee), name="knee"),
        Notch("inside leg", _at_height(inside, frame.knee), name="knee"),
    )
    return Piece(
        name,
        edges,
        np.array([[0.0, frame.hip_down], [0.0, frame.hem - 60.0]]),
        cut=Cut.PAIR,
        hand=Hand.RIGHT,
        notches=notches,
        drills=drills,
        lines=lines,
        construction=(
            named("crease line", point(0.0, 0.0), point(0.0, frame.hem)),
            named("waist line", point(float(fork[0]), 0.0), point(wide, 0.0)),
            named("hip line", point(float(fork[0]), frame.hip_down), point(wide, frame.hip_down)),
            named("crotch line", point(float(fork[0]), frame.crotch), point(wide, frame.crotch)),
            named("knee line", point(-frame.half_knee - 10, frame.knee), point(frame.half_knee + 10, frame.knee)),
        ),
    )


def _taken(spare: float) -> tuple[float, float]:
    """What of the spare width goes into the side seam and what into the dart (mm)."""
    if spare <= 0:
        return spare, 0.0
    side = min(MOST_SIDE, spare * 0.5)
    dart = spare - side
    return (spare, 0.0) if dart < LEAST_DART else (side, dart)


def _side(top: Line, hip: Line, frame: TrouserFrame, more: float) -> Line:
    """Waist, hip, knee, hem."""
    knee, hem = point(frame.half_knee + more, frame.knee), point(frame.half_hem + more, frame.hem)
    return np.vstack([smooth_curve(np.vstack([top, hip, knee]), end=hem - knee), hem])


def _inside(fork: Line, frame: TrouserFrame, more: float) -> Line:
    """Hem, knee, fork."""
    knee, hem = point(-frame.half_knee - more, frame.knee), point(-frame.half_hem - more, frame.hem)
    return np.vstack([hem, smooth_curve(np.vstack([knee, fork]), start=knee - hem)])


def _waist(
    centre: Line, side: Line, seam: Line, deep: float, dart: float, way: tuple[float, float], lean: float
) -> tuple[tuple[Edge, ...], tuple[NamedLine, ...], tuple[DrillHole, ...]]:
    """The waist, with a dart at its middle square to it."""
    if not dart:
        curve = smooth_curve(np.vstack([centre, side]), start=point(*way))
        return (Edge("waist", curve),), (), ()
    middle = centre + (side - centre) * 0.5
    tip = middle + unit(point(-lean, 1.0)) * deep
    return waist_edges(centre, side, seam[1] - seam[0], tip, dart, way)


def _fly(told: Told) -> Piece:
    """A fly of one piece, its front edge sewn to the right front: straight, with a rounded lower corner."""
    long, wide = told.length("fly length"), told.length("fly width")
    if wide < 25 or wide > long - 30:
        raise DraftError(
            f"a fly {both_units(wide)} wide is no fly", f"Make it {both_units(25)} or wider", place="fly width"
        )
    bend = point(0.0, 0.0), point(wide * 0.7, wide * 0.35), point(wide, wide)
    return Piece(
        "fly",
        (
            Edge("outer", np.vstack([smooth_curve(np.vstack(bend), end=point(0.0, 1.0)), point(wide, long)])),
            Edge("waist", np.array([[wide, long], [0.0, long]])),
            Edge("front", np.array([[0.0, long], [0.0, 0.0]])),
        ),
        np.array([[wide / 2, long * 0.9], [wide / 2, long * 0.3]]),
        cut=Cut.SINGLE,
        hand=Hand.RIGHT,
    )


def _ring_length(piece: Piece, edge: str) -> float:
    return length(piece.edge(edge).points)


def _at_height(line: Line, y: float) -> float:
    """Distance along a line to where it reaches a height (mm)."""
    along = lengths_along(line)
    order = slice(None) if line[-1, 1] > line[0, 1] else slice(None, None, -1)
    return float(np.interp(y, line[order, 1], along[order]))


def _solve(off: Callable[[float], float], low: float, high: float, what: str) -> float:
    """Where a growing difference is nothing, within 0.005 mm; it may fall instead of growing."""
    first, last = off(low), off(high)
    if first * last > 0:
        raise DraftError(f"no {what} of the back fits the front's", "Check the measurements", place="trousers")
    for _ in range(60):
        middle = (low + high) / 2
        value = off(middle)
        if abs(value) < 0.005:
            return middle
        low, high = (middle, high) if value * first > 0 else (low, middle)
    return (low + high) / 2
