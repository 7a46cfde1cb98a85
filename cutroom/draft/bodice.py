"""A fitted bodice: front with bust dart and waist dart, back with waist dart (proportions from memory).

*Frame.* Both halves are set out with the centre on x = 0 and the waist on y = 0; the front is then turned over, so
that front, back and sleeve are all of the right-hand side of the body, seen from the right side of the cloth.

*Back.* The nape is the back length above the waist, the underarm the scye depth below the nape. Width on the
underarm line: a quarter of bust and ease, 5 mm narrower than the front. Neck half width: a fifth of the neck less
2 mm, rising a third of that. The shoulder slopes 18 degrees and is longer than the front's by the shoulder ease.

*Front, bust dart closed.* Width 5 mm wider. The side seam is the back's own side seam, so both have one length.
The bust point lies a tenth of the bust and 2 mm from the centre, 20 mm below the underarm; the bust dart's point
stands 25 mm off it towards the side.

*Front, bust dart opened.* All above the dart is turned about the dart's point by the dart angle (a quarter of
a degree for each centimetre of bust, less 9; 8 to 20 degrees), which lifts the underarm and opens the dart with equal
legs in the side seam. The side of the neck stands above the lifted underarm as the back's does, less 18 mm; the neck
is a fifth of the neck measure less 7 mm wide and less 2 mm deep; the shoulder slopes 22 degrees.

*Curves.* Armholes are square to shoulder and side seam. Necks are square to the centre; at the shoulder the front one
starts 14 degrees steeper than square and the back one as much flatter. So all run on without a kink once sewn. The
front armhole lies 12 mm nearer the centre and is hollower than the back's.

*Waist.* What the bust line has over the waist line goes a third into the side seam (15 to 30 mm) and the rest into
a waist dart; less than 8 mm makes no dart.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutroom.draft.darts import OpenDart, dart_mouth, open_dart, waist_dart
from cutroom.draft.lines import left_of, mirrored_piece, named, point, turned, unit
from cutroom.draft.measurements import body_scale
from cutroom.draft.options import Option, Told
from cutroom.errors import DraftError
from cutroom.geometry.curve import smooth_curve
from cutroom.geometry.polyline import length, part_of
from cutroom.model.piece import Cut, DrillHole, Edge, EdgeKind, Hand, NamedLine, Notch, Piece
from cutroom.units import both_units

NEEDS = ("bust", "waist", "hip", "neck", "back length", "shoulder")
OPTIONS = (
    Option("bust ease", 100.0, "Added to the bust girth"),
    Option("waist ease", 80.0, "Added to the waist girth"),
    Option("hip ease", 60.0, "Added to the hip girth"),
    Option("body", "hip", "Where the body ends: at the hip with a hem, or at the waist with a seam", ("hip", "waist")),
    Option("shoulder ease", 6.0, "How much longer the back shoulder is than the front"),
    Option("neck wider", 0.0, "Both necks wider at the shoulder, along the shoulder"),
    Option("front neck deeper", 0.0, "Front neck lower at the centre"),
    Option("back neck deeper", 0.0, "Back neck lower at the centre"),
    Option("front cut", "fold", "How the front is cut", ("fold", "pair")),
    Option("back cut", "pair", "How the back is cut; a pair has a centre back seam", ("pair", "fold")),
)

FRONT_SLOPE_DEG, BACK_SLOPE_DEG = 22.0, 18.0
NECK_LEAN_DEG = 14.0
"""How much steeper than square to the shoulder the front neck starts, and how much flatter the back neck."""
SIDE_STEP = 5.0
"""The side seam stands this far (mm) behind the quarter."""
DART_DOWN = 60.0
"""Bust dart below the underarm along the side seam (mm)."""
LEAST_DART = 8.0
"""A narrower waist dart (mm) is not sewn; the side seam takes it."""
SMALLEST_SCOOP = 25.0
"""Least run of the armhole (mm) from the chest width out to the underarm."""


@dataclass(frozen=True, slots=True)
class BodiceFrame:
    """The numbers front and back share (mm).

    Attributes:
        back_length: Waist to nape.
        scye: Nape to underarm.
        hip_down: Waist to hip.
        quarter: A quarter of bust and ease.
        side_in: Step of the side seam from underarm in to the waist; negative steps out.
        hip_out: Step from the underarm out to the hip; negative steps in.
        dart: Width of each waist dart, 0 for none.
        half_back: Half the back width, ease in it.
        half_front: Half the front width, ease in it.
        shoulder: Shoulder length.
        neck: Neck girth.
        bust: Bust girth.
    """

    back_length: float
    scye: float
    hip_down: float
    quarter: float
    side_in: float
    hip_out: float
    dart: float
    half_back: float
    half_front: float
    shoulder: float
    neck: float
    bust: float

    @property
    def neck_half(self) -> float:
        """Half width of the back neck (mm)."""
        return self.neck / 5 - 2


def frame_bodice(measures: Mapping[str, float], told: Told) -> tuple[BodiceFrame, tuple[tuple[str, str], ...]]:
    """The numbers of a bodice, and what the draft sheet says of those that were not measured.

    Raises:
        DraftError: The measurements leave no room for an armhole or a side seam.
    """
    facts: list[tuple[str, str]] = []

    def taken(name: str, derived: float, rule: str) -> float:
        if name in measures:
            return measures[name]
        facts.append((name, f"{both_units(derived)}, not measured: {rule}"))
        return derived

    bust, neck, shoulder = measures["bust"], measures["neck"], measures["shoulder"]
    quarter = (bust + told.length("bust ease")) / 4
    spare = quarter - (measures["waist"] + told.length("waist ease")) / 4
    side_in = min(spare, max(15.0, min(30.0, spare / 3)))
    if spare - side_in < LEAST_DART:
        side_in = spare
    reach = neck / 5 - 2 + shoulder * 0.95
    half_back = (
        taken("back width", 2 * min(bust / 8 + 69, reach - 13), "a quarter of bust and 138 mm, within the shoulder") / 2
        + 5
    )
    half_front = taken("front width", 2 * (half_back - 17), "the back width less 24 mm") / 2 + 5
    frame = BodiceFrame(
        back_length=measures["back length"],
        scye=taken("scye depth", bust / 12 + 137, "a twelfth of bust and 137 mm"),
        hip_down=taken("waist to hip", 205.0 * body_scale(measures), "the usual depth"),
        quarter=quarter,
        side_in=side_in,
        hip_out=(measures["hip"] + told.length("hip ease")) / 4 - quarter,
        dart=spare - side_in,
        half_back=half_back,
        half_front=half_front,
        shoulder=shoulder,
        neck=neck,
        bust=bust,
    )
    _check_frame(frame)
    return frame, tuple(facts)


def draft_bodice(measures: Mapping[str, float], told: Told) -> tuple[Piece, Piece, tuple[tuple[str, str], ...]]:
    """Draft front and back.

    Args:
        measures: Body measurements by name (mm).
        told: The options of `OPTIONS`.

    Returns:
        Front, back, and the lines of the draft sheet.

    Raises:
        DraftError: They cannot be drafted from these.
    """
    frame, derived = frame_bodice(measures, told)
    front, back = _front(frame, told), _back(frame, told)
    facts = (
        *derived,
        ("armhole front", both_units(length(front.edge("armhole").points))),
        ("armhole back", both_units(length(back.edge("armhole").points))),
        ("waist dart", both_units(frame.dart) if frame.dart else "none"),
        ("bust dart", f"{bust_angle_deg(frame.bust):.1f} degrees"),
    )
    return mirrored_piece(front), back, facts


def bust_angle_deg(bust: float) -> float:
    """Angle of the bust dart for a bust girth (mm)."""
    return min(20.0, max(8.0, bust / 40 - 9))


def armhole_notch(piece: Piece) -> float:
    """Distance (mm) of the armhole's notch from the underarm: two fifths of the way up."""
    return 0.4 * length(piece.edge("armhole").points)


def _check_frame(frame: BodiceFrame) -> None:
    reach = frame.neck_half + frame.shoulder * 0.95  # cosine of the back slope
    checks = (
        (frame.back_length - frame.scye - DART_DOWN, 20.0, "side seam above the waist", "scye depth and back length"),
        (
            frame.quarter - SIDE_STEP - frame.half_back,
            SMALLEST_SCOOP,
            "armhole width at the back",
            "bust and back width",
        ),
        (frame.quarter - frame.half_front, SMALLEST_SCOOP + 15, "armhole width at the front", "bust and front width"),
        (reach + 10 - frame.half_back, 0.0, "shoulder over the back width", "shoulder, neck and back width"),
        (reach + 2 - frame.half_front, 0.0, "shoulder over the front width", "shoulder, neck and front width"),
    )
    for found, wanted, what, which in checks:
        if found < wanted:
            raise DraftError(
                f"{what} would be {both_units(found)}, wanted {both_units(wanted)} or more",
                f"Measure {which} again",
                place="bodice",
            )


def _side(frame: BodiceFrame, quarter: float, *, hip: bool) -> NDArray[np.float64]:
    """The side seam with its dart closed, from the bottom up to the underarm."""
    underarm = point(quarter, frame.back_length - frame.scye)
    waist = point(quarter - frame.side_in, 0.0)
    if not hip:
        return np.vstack([waist, underarm])
    low = point(quarter + frame.hip_out, -frame.hip_down)
    narrowest = frame.side_in * (frame.side_in + frame.hip_out) > 0
    way = point(0.0, 1.0) if narrowest else underarm - low
    below = smooth_curve(np.vstack([low, waist]), start=point(0.0, 1.0), end=way)
    return np.vstack([below[:-1], smooth_curve(np.vstack([waist, underarm]), start=way)])


def _armhole(
    underarm: NDArray[np.float64],
    tip: NDArray[np.float64],
    wide: float,
    *,
    hollow: float,
    side: NDArray[np.float64],
    shoulder: NDArray[np.float64],
) -> NDArray[np.float64]:
    """From the underarm up to the shoulder; `side` and `shoulder` are the directions of those seams there."""
    level = point(wide, float(underarm[1] + 0.42 * (tip[1] - underarm[1])))
    corner = point(wide, float(underarm[1]))
    low = corner + hollow * point(float(underarm[0]) - wide, float(level[1] - corner[1]))
    return smooth_curve(np.vstack([underarm, low, level, tip]), start=left_of(side), end=left_of(shoulder))


def _neck(
    side: NDArray[np.float64], centre_y: float, shoulder: NDArray[np.float64], lean_deg: float
) -> NDArray[np.float64]:
    """From the shoulder to the centre: square to the centre, and off square to the shoulder by the lean."""
    way = turned(-left_of(shoulder), point(0.0, 0.0), lean_deg)
    return smooth_curve(np.vstack([side, point(0.0, centre_y)]), start=way, end=point(-1.0, 0.0))


def _back(frame: BodiceFrame, told: Told) -> Piece:
    hip = told.word("body") == "hip"
    side = _side(frame, frame.quarter - SIDE_STEP, hip=hip)
    underarm = side[-1]
    along = turned(point(1.0, 0.0), point(0.0, 0.0), -BACK_SLOPE_DEG)
    neck_point = point(frame.neck_half, frame.back_length + frame.neck_half / 3)
    tip = neck_point + along * (frame.shoulder + told.length("shoulder ease"))
    neck_side = neck_point + along * told.length("neck wider")
    nape = frame.back_length - told.length("back neck deeper")
    armhole = _armhole(underarm, tip, frame.half_back, hollow=0.30, side=unit(side[-1] - side[-2]), shoulder=along)
    axis = frame.half_back * 0.5
    bottom, lines, drills = _bottom(frame, side[0], axis, (float(underarm[1]) - 15, -135.0), side[1] - side[0], hip=hip)
    fold = told.word("back cut") == "fold"
    edges = (
        *bottom,
        Edge("side", side),
        Edge("armhole", armhole),
        Edge("shoulder", np.vstack([tip, neck_side])),
        Edge("neck", _neck(neck_side, nape, along, -NECK_LEAN_DEG)),
        Edge("centre back", np.vstack([point(0.0, nape), bottom[0].points[0]]), kind=_centre(fold=fold)),
    )
    marks = (*_waist_notch(side, "side", hip=hip), Notch("armhole", 0.4 * length(armhole), count=2, name="back"))
    return Piece(
        "back",
        edges,
        _grain(axis * 0.5, nape, float(bottom[0].points[0, 1])),
        cut=Cut.FOLD if fold else Cut.PAIR,
        hand=Hand.RIGHT,
        notches=marks,
        drills=drills,
        lines=lines,
        construction=(
            named("centre line", point(0.0, frame.back_length), bottom[0].points[0]),
            named("underarm line", point(0.0, float(underarm[1])), underarm),
            named("waist line", point(0.0, 0.0), point(frame.quarter - SIDE_STEP - frame.side_in, 0.0)),
            named("back width line", point(frame.half_back, float(underarm[1])), point(frame.half_back, float(tip[1]))),
            named("shoulder line", neck_point, tip),
        ),
    )


def _front(frame: BodiceFrame, told: Told) -> Piece:
    hip = told.word("body") == "hip"
    closed = _side(frame, frame.quarter + SIDE_STEP, hip=hip)
    bust = point(frame.bust / 10 + 2, float(closed[-1, 1]) - 20)
    tip_of_dart = bust + point(25.0, 0.0)
    whole, angle = length(closed), bust_angle_deg(frame.bust)
    lower = part_of(closed, 0.0, whole - DART_DOWN)
    upper = turned(part_of(closed, whole - DART_DOWN, whole), tip_of_dart, angle)
    dart = open_dart("bust dart", tip_of_dart, lower[-1], upper[0], lower[-2] - lower[-1], towards_first=True)
    underarm = upper[-1]

    along = turned(point(1.0, 0.0), point(0.0, 0.0), -FRONT_SLOPE_DEG)
    neck_point = point(frame.neck_half - 5, float(underarm[1]) + frame.scye + frame.neck_half / 3 - 18)
    tip = neck_point + along * frame.shoulder
    neck_side = neck_point + along * told.length("neck wider")
    pit = float(neck_point[1]) - frame.neck_half - told.length("front neck deeper")
    armhole = _armhole(underarm, tip, frame.half_front, hollow=0.24, side=unit(upper[-1] - upper[-2]), shoulder=along)
    bottom, lines, drills = _bottom(
        frame, closed[0], float(bust[0]), (float(bust[1]) - 25, -110.0), closed[1] - closed[0], hip=hip
    )
    fold = told.word("front cut") == "fold"
    edges = (
        *bottom,
        Edge("side lower", lower),
        Edge("dart cap", dart.cap),
        Edge("side upper", upper),
        Edge("armhole", armhole),
        Edge("shoulder", np.vstack([tip, neck_side])),
        Edge("neck", _neck(neck_side, pit, along, NECK_LEAN_DEG)),
        Edge("centre front", np.vstack([point(0.0, pit), bottom[0].points[0]]), kind=_centre(fold=fold)),
    )
    marks = (
        *_waist_notch(lower, "side lower", hip=hip),
        Notch("armhole", 0.4 * length(armhole), name="front"),
    )
    return Piece(
        "front",
        edges,
        _grain(float(bust[0]) * 0.5, pit, float(bottom[0].points[0, 1])),
        cut=Cut.FOLD if fold else Cut.PAIR,
        hand=Hand.RIGHT,
        notches=marks,
        drills=(dart.drill, *drills),
        lines=(*dart.legs, *lines),
        construction=(
            named("centre line", neck_point * point(0.0, 1.0), bottom[0].points[0]),
            named("bust line", point(0.0, float(bust[1])), bust, tip_of_dart),
            named("waist line", point(0.0, 0.0), point(frame.quarter + SIDE_STEP - frame.side_in, 0.0)),
            named(
                "front width line", point(frame.half_front, float(underarm[1])), point(frame.half_front, float(tip[1]))
            ),
            named("shoulder line", neck_point, tip),
            named("side seam, dart closed", *closed),
        ),
    )


def _bottom(
    frame: BodiceFrame,
    side_end: NDArray[np.float64],
    axis: float,
    reach: tuple[float, float],
    side_way: NDArray[np.float64],
    *,
    hip: bool,
) -> tuple[tuple[Edge, ...], tuple[NamedLine, ...], tuple[DrillHole, ...]]:
    """The lower edges from the centre to the side, and the waist dart."""
    top, low = reach
    if hip:
        hem = Edge("hem", np.vstack([point(0.0, float(side_end[1])), side_end]), kind=EdgeKind.HEM)
        if not frame.dart:
            return (hem,), (), ()
        return (hem,), *waist_dart("waist dart", axis, top, low, frame.dart)
    if not frame.dart:
        return (Edge("waist", np.vstack([point(0.0, 0.0), side_end])),), (), ()
    return waist_edges(point(0.0, 0.0), side_end, side_way, point(axis, top), frame.dart)


def waist_edges(
    centre: NDArray[np.float64],
    side: NDArray[np.float64],
    side_way: NDArray[np.float64],
    tip: NDArray[np.float64],
    width: float,
    centre_way: tuple[float, float] = (1.0, 0.0),
) -> tuple[tuple[Edge, ...], tuple[NamedLine, ...], tuple[DrillHole, ...]]:
    """A waist line with an open dart in it, square to centre, dart legs and side seam so that it closes smooth.

    Args:
        centre: `(2,)` its end at the centre, to the left.
        side: `(2,)` its end at the side.
        side_way: `(2,)` direction of the side seam going up from there.
        tip: `(2,)` the dart's point, above.
        width: Width of the dart at the waist (mm).
        centre_way: Direction in which it leaves the centre.

    Returns:
        The edges from centre to side, the stitch lines, the drill hole.
    """
    share = float((tip[0] - centre[0]) / (side[0] - centre[0]))
    first, second = dart_mouth(tip, point(float(tip[0]), float(centre[1] + share * (side[1] - centre[1]))), width)
    to_centre = smooth_curve(np.vstack([centre, first]), start=point(*centre_way), end=left_of(first - tip))
    to_side = smooth_curve(np.vstack([second, side]), start=left_of(second - tip), end=-left_of(side_way))
    dart = open_dart("waist dart", tip, first, second, to_centre[-2] - to_centre[-1], towards_first=True)
    return _dart_edges(dart, to_centre, to_side), dart.legs, (dart.drill,)


def _dart_edges(dart: OpenDart, before: NDArray[np.float64], after: NDArray[np.float64]) -> tuple[Edge, ...]:
    return Edge("waist centre", before), Edge("waist dart cap", dart.cap), Edge("waist side", after)


def _waist_notch(side: NDArray[np.float64], edge: str, *, hip: bool) -> tuple[Notch, ...]:
    if not hip:
        return ()
    below = side[side[:, 1] <= 0.0]
    return (Notch(edge, length(below), name="waist"),)


def _centre(*, fold: bool) -> EdgeKind:
    return EdgeKind.FOLD if fold else EdgeKind.SEAM


def _grain(x: float, top: float, bottom: float) -> NDArray[np.float64]:
    room = (top - bottom) * 0.15
    return np.array([[x, top - room], [x, bottom + room]])
