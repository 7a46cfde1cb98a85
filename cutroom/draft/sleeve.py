"""A set-in sleeve in one piece (common practice, no source).

The centre line is the grain. On it stand, square, the bicep line at the cap height below the cap point, the wrist
line at the sleeve length below it, and the elbow line half way between those two, raised a little. Half the girth
of bicep, elbow and wrist, each with its ease, is set off to either side; the underarm seams join these points
straight. The cap is described in `cap`. Front is to the right (+x): a right sleeve seen from its right side.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutroom.draft.cap import CapShape, cap_side, slant_points, solve_height
from cutroom.draft.lines import named, point
from cutroom.draft.options import Option, Told
from cutroom.draft.variations import VARIATION_OPTIONS
from cutroom.errors import DraftError
from cutroom.geometry.polyline import length
from cutroom.model.piece import Cut, Edge, EdgeKind, Hand, NamedLine, Notch, Piece
from cutroom.units import both_units

FRONT_SHARE = 0.45
"""Share of the cap ease that lies before the shoulder notch (common practice, no source)."""

NEEDS = ("bicep", "elbow", "wrist", "sleeve length")
SHAPE_OPTIONS = (
    Option("bicep ease", 50.8, "Added to the bicep girth"),
    Option("elbow ease", 38.1, "Added to the elbow girth"),
    Option("wrist ease", 50.8, "Added to the wrist girth"),
    Option("cap height", 146.05, "Cap point down to the bicep line, where it is not solved from an armhole"),
    Option("elbow raise", 12.7, "The elbow line above the middle of bicep line and wrist line"),
    Option("front offsets", (20.32, 7.62, -12.7), "Cap off the front slanted line, from the cap point down"),
    Option("back offsets", (15.24, 7.62, -10.16), "Cap off the back slanted line, from the cap point down"),
    *VARIATION_OPTIONS,
)
"""What shapes a sleeve."""

OPTIONS = (
    *SHAPE_OPTIONS,
    Option("armhole front", 0.0, "Front armhole on the seam line; with the back one the cap height is solved"),
    Option("armhole back", 0.0, "Back armhole on the seam line; 0 when not known"),
    Option("cap ease", 31.75, "How much longer the cap is than the armhole, when that is known"),
    Option("front notch", 88.9, "Underarm up to the single notch along the front cap"),
    Option("back notch", 95.25, "Underarm up to the middle of the double notch along the back cap"),
)
"""What a sleeve drafted by itself may be told."""


@dataclass(frozen=True, slots=True)
class Armhole:
    """An armhole that a sleeve is to fit, on its seam line.

    Attributes:
        front: Length from underarm to shoulder on the front (mm).
        back: The same on the back (mm).
        front_notch: Underarm to the single notch (mm).
        back_notch: Underarm to the middle of the double notch (mm).
    """

    front: float
    back: float
    front_notch: float
    back_notch: float


@dataclass(frozen=True, slots=True)
class SleeveFrame:
    """The lines a sleeve hangs on, its cap point at (0, height), its bicep line on y = 0.

    Attributes:
        cap: Shape of the cap.
        height: Cap height (mm).
        elbow: Half width on the elbow line (mm).
        wrist: Half width on the wrist line (mm).
        elbow_y: Where the elbow line is (mm), below 0.
        wrist_y: Where the wrist line is (mm).
    """

    cap: CapShape
    height: float
    elbow: float
    wrist: float
    elbow_y: float
    wrist_y: float


def frame_sleeve(measures: Mapping[str, float], told: Told, height: float) -> SleeveFrame:
    """Set out the lines of a sleeve for a cap height.

    Raises:
        DraftError: The sleeve is too short for its cap, or an ease leaves no width.
    """
    halves = []
    for name in ("bicep", "elbow", "wrist"):
        width = measures[name] + told.length(f"{name} ease")
        if width <= 0:
            raise DraftError(
                f"the ease leaves {both_units(width)} of width", f"Make the {name} ease larger", place=name
            )
        halves.append(width / 2)
    bicep, elbow, wrist = halves
    wrist_y = height - measures["sleeve length"]
    elbow_y = wrist_y / 2 + told.length("elbow raise")
    if elbow_y > -20 or wrist_y > elbow_y - 20:
        raise DraftError(
            f"a cap {both_units(height)} high leaves no room for an elbow line in a sleeve of "
            f"{both_units(measures['sleeve length'])}",
            "Check the sleeve length, or make the cap lower",
            place="sleeve",
        )
    front, back = (_three(told.lengths(f"{side} offsets")) for side in ("front", "back"))
    return SleeveFrame(CapShape(bicep, front, back, (bicep - elbow) / -elbow_y), height, elbow, wrist, elbow_y, wrist_y)


def solve_sleeve(measures: Mapping[str, float], told: Told, wanted: float) -> SleeveFrame:
    """Set out a sleeve whose cap has the wanted length (mm) within 0.1 mm.

    The cap height moves the elbow line and with it, a very little, the direction of the cap's ends; so the height is
    solved again until it stands still.

    Raises:
        DraftError: No cap height gives that length; the message says what would.
    """
    most = measures["sleeve length"] - 2 * told.length("elbow raise") - 80
    height = told.length("cap height")
    for _ in range(30):
        found = solve_height(frame_sleeve(measures, told, height).cap, wanted, most=most)
        if abs(found - height) < 0.01:
            return frame_sleeve(measures, told, found)
        height = found
    raise DraftError("its cap height does not settle", "Give the cap height instead of the ease", place="cap")


def draft_sleeve(
    measures: Mapping[str, float], told: Told, armhole: Armhole | None = None
) -> tuple[Piece, tuple[tuple[str, str], ...]]:
    """Draft the sleeve.

    Args:
        measures: Bicep, elbow, wrist and sleeve length of the body (mm).
        told: The options of `SHAPE_OPTIONS`; with an armhole also `cap ease`.
        armhole: What the cap is to fit; None takes the cap height from the options.

    Returns:
        The sleeve, and the lines of its draft sheet.

    Raises:
        DraftError: It cannot be drafted from these.
    """
    if armhole is None:
        frame = frame_sleeve(measures, told, told.length("cap height"))
        marks, facts = (told.length("front notch"), told.length("back notch"), 0.0), []
    else:
        frame = solve_sleeve(measures, told, armhole.front + armhole.back + told.length("cap ease"))
        sides = [length(cap_side(frame.cap, frame.height, back=back)) for back in (False, True)]
        ease = sum(sides) - armhole.front - armhole.back
        shoulder = armhole.front + FRONT_SHARE * ease - sides[0]
        marks = (armhole.front_notch, armhole.back_notch, shoulder)
        facts = _ease_facts(armhole, sides, shoulder)
    edges = _edges(frame)
    piece = Piece(
        "sleeve",
        edges,
        np.array([[0.0, frame.height * 0.6], [0.0, edges[0].points[0, 1] * 0.8]]),
        cut=Cut.PAIR,
        hand=Hand.RIGHT,
        notches=_notches(edges, marks),
        construction=_construction(frame),
    )
    return piece, (*facts, *_facts(frame, edges))


def _three(offsets: tuple[float, ...]) -> tuple[float, float, float]:
    first, second, third = offsets
    return first, second, third


def _edges(frame: SleeveFrame) -> tuple[Edge, ...]:
    """Hem, underarm front, cap front, cap back, underarm back."""
    front = np.array([[frame.wrist, frame.wrist_y], [frame.elbow, frame.elbow_y], [frame.cap.half, 0.0]])
    flip = np.array([-1.0, 1.0])
    back = (front * flip)[::-1]
    return (
        Edge("hem", np.vstack([back[-1], front[0]]), kind=EdgeKind.HEM),
        Edge("underarm front", front),
        Edge("cap front", cap_side(frame.cap, frame.height, back=False)),
        Edge("cap back", (cap_side(frame.cap, frame.height, back=True) * flip)[::-1]),
        Edge("underarm back", back),
    )


def _notches(edges: tuple[Edge, ...], marks: tuple[float, float, float]) -> tuple[Notch, ...]:
    """One on the front of the cap, two on the back, the shoulder's, and the elbow on both underarm seams."""
    front, back, shoulder = marks
    cap_front, cap_back = length(edges[2].points), length(edges[3].points)
    for name, at, whole in (("front notch", front, cap_front), ("back notch", back, cap_back)):
        if not 6 < at < whole - 6:
            raise DraftError(
                f"it is {both_units(at)} up a cap edge of {both_units(whole)}", "Set it nearer the middle", place=name
            )
    lower = length(edges[1].points[:2])
    return (
        Notch("cap front", front, name="front"),
        Notch("cap back", cap_back - back, count=2, name="back"),
        Notch("cap back", shoulder, name="shoulder")
        if shoulder >= 0
        else Notch("cap front", cap_front + shoulder, name="shoulder"),
        Notch("underarm front", lower, name="elbow"),
        Notch("underarm back", length(edges[4].points) - lower, name="elbow"),
    )


def _construction(frame: SleeveFrame) -> tuple[NamedLine, ...]:
    half, top = frame.cap.half, point(0.0, frame.height)
    flip = np.array([-1.0, 1.0])
    front = slant_points(half, frame.height, frame.cap.front)
    back = slant_points(half, frame.height, frame.cap.back) * flip
    lines = [
        named("centre line", top, point(0.0, frame.wrist_y)),
        named("bicep line", point(-half, 0.0), point(half, 0.0)),
        named("elbow line", point(-frame.elbow, frame.elbow_y), point(frame.elbow, frame.elbow_y)),
        named("wrist line", point(-frame.wrist, frame.wrist_y), point(frame.wrist, frame.wrist_y)),
    ]
    for side, points in (("front", front), ("back", back)):
        lines.append(named(f"slanted line {side}", top, points[0]))
        lines += _offsets(side, top, points)
    return tuple(lines)


def _offsets(side: str, top: NDArray[np.float64], points: NDArray[np.float64]) -> list[NamedLine]:
    quarters = [top + (points[0] - top) * place / 4 for place in (1, 2, 3)]
    return [named(f"offset {side} {place}", quarters[place - 1], points[4 - place]) for place in (1, 2, 3)]


def _facts(frame: SleeveFrame, edges: tuple[Edge, ...]) -> tuple[tuple[str, str], ...]:
    slant = float(np.hypot(frame.cap.half, frame.height))
    return (
        ("cap height", both_units(frame.height)),
        ("slanted line", both_units(slant)),
        ("elbow line below cap point", both_units(frame.height - frame.elbow_y)),
        ("width on bicep line", both_units(2 * frame.cap.half)),
        ("width on elbow line", both_units(2 * frame.elbow)),
        ("width on wrist line", both_units(2 * frame.wrist)),
        ("cap front", both_units(length(edges[2].points))),
        ("cap back", both_units(length(edges[3].points))),
        ("underarm seam", both_units(length(edges[1].points))),
    )


def _ease_facts(armhole: Armhole, sides: list[float], shoulder: float) -> list[tuple[str, str]]:
    front, back = sides[0] + shoulder - armhole.front, sides[1] - shoulder - armhole.back
    where = "behind" if shoulder >= 0 else "before"
    return [
        ("armhole front", both_units(armhole.front)),
        ("armhole back", both_units(armhole.back)),
        ("cap ease", both_units(front + back)),
        ("cap ease before the shoulder notch", both_units(front)),
        ("cap ease behind the shoulder notch", both_units(back)),
        ("shoulder notch", f"{both_units(abs(shoulder))} {where} the cap point"),
    ]
