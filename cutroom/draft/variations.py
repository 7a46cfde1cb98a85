"""Variations of a set-in sleeve: recipes of general operations on the block, worked out from its own lines.

Nothing is drafted anew but the cuff. (Common practice, no source; the operations are the usual ones of flat cutting.)

*Elbow, three-quarter, short, cap.* Cut off: on the elbow line; half way from there to the wrist line; at a depth
below the bicep line; close below the underarm with the hem hollowed over the arm.
*Bell.* Slashed from hem to cap and spread at the hem; the cap keeps its length.
*Puffed.* Cut short, raised above the notches, slashed from cap to hem and spread at the cap between the notches; what
the cap gains is gathered.
*Gathered.* Cut off by the depth of the cuff, spread at the hem, and the fullness gathered into a cuff.
*Two-piece.* Underarm seams trued straight, split at a front and a back seam, both under parts merged, and both pieces
bent at the elbow by a slash opened at the back seam; the top sleeve's back seam is eased over the elbow.
"""

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from cutroom.draft.cuff import draft_cuff
from cutroom.draft.lines import meeting, point
from cutroom.draft.options import Option, Told
from cutroom.errors import DraftError
from cutroom.geometry.polyline import length, lengths_along
from cutroom.model.alteration import (
    Add,
    CutOff,
    Finish,
    Fullness,
    Lengthen,
    Merge,
    SetNotch,
    Slash,
    Split,
    Spot,
    Step,
    TrueUp,
)
from cutroom.model.piece import EdgeKind, NamedLine, Piece, SewnSeam
from cutroom.units import both_units

SLASHES = 10
ABOVE_NOTCH = 12.0
"""Fullness of a cap starts this far (mm) above its notches."""
CAP_UNDERARM, CAP_HOLLOW = 20.0, 30.0
"""Underarm seam of a cap sleeve, and how far its hem is hollowed over the arm (mm)."""
BLOUSE_OVER = 15.0
"""A gathered sleeve is this much (mm) longer than arm less cuff, to fall over it."""
OPENING = 70.0
"""Opening of a cuffed sleeve in the underarm seam (mm)."""
SEAM_AT = 0.66
"""The seams of a two-piece sleeve stand this share of the half width from the middle."""
AROUND_ELBOW = 70.0
"""Notches of a two-piece sleeve stand this far (mm) above and below the elbow line."""

VARIATION_OPTIONS = (
    Option(
        "sleeve",
        "long",
        "What sleeve it is",
        ("long", "three-quarter", "elbow", "short", "cap", "bell", "puffed", "gathered", "two-piece"),
    ),
    Option("short depth", 101.6, "Bicep line down to the hem of a short or puffed sleeve"),
    Option("bell flare", 260.0, "What the hem of a bell sleeve gains"),
    Option("puff", 150.0, "What the cap of a puffed sleeve gains"),
    Option("puff height", 25.0, "How much higher the cap of a puffed sleeve is"),
    Option("gathers", 160.0, "What the hem of a gathered sleeve gains"),
    Option("cuff depth", 50.0, "Depth of the cuff when worn"),
    Option("cuff ease", 30.0, "Added to the wrist girth for the cuff"),
    Option("cuff underlap", 20.0, "What of the cuff goes under its other end"),
    Option("elbow bend", 15.0, "How far the back of a two-piece sleeve is opened at the elbow"),
)
"""What a sleeve's variations may be told."""


def sleeve_recipe(sleeve: Piece, measures: Mapping[str, float], told: Told) -> tuple[Step, ...]:
    """The steps that make the variation asked for out of a whole sleeve.

    Args:
        sleeve: The sleeve block, its bicep line on y = 0.
        measures: Body measurements by name (mm).
        told: Options, among them those of `VARIATION_OPTIONS`.

    Returns:
        The steps; none for a long sleeve.

    Raises:
        DraftError: An option leaves no sleeve.
    """
    recipe = _RECIPES.get(told.word("sleeve"))
    return recipe(sleeve, measures, told) if recipe else ()


def _elbow(sleeve: Piece, _measures: Mapping[str, float], _told: Told) -> tuple[Step, ...]:
    return _cut_at(sleeve, _level(sleeve, "elbow line"), "elbow line")


def _three_quarter(sleeve: Piece, _measures: Mapping[str, float], _told: Told) -> tuple[Step, ...]:
    middle = (_level(sleeve, "elbow line") + _level(sleeve, "wrist line")) / 2
    return _cut_at(sleeve, middle, "three-quarter sleeve")


def _short(sleeve: Piece, _measures: Mapping[str, float], told: Told) -> tuple[Step, ...]:
    return _cut_at(sleeve, -told.length("short depth"), "short depth")


def _cap(sleeve: Piece, _measures: Mapping[str, float], _told: Told) -> tuple[Step, ...]:
    hollow = np.array([[0.0, CAP_HOLLOW - CAP_UNDERARM]])
    front, back = Spot("underarm front", -CAP_UNDERARM), Spot("underarm back", CAP_UNDERARM)
    return (
        CutOff(sleeve.name, front, back, "cap front", kind=EdgeKind.SEAM, through=hollow),
        TrueUp(sleeve.name, ("hem",), points=1, square=True),
    )


def _bell(sleeve: Piece, _measures: Mapping[str, float], told: Told) -> tuple[Step, ...]:
    full = Fullness(sleeve.name, ("cap front", "cap back"), ("hem",), 0.0, told.length("bell flare"), slashes=SLASHES)
    return full, TrueUp(sleeve.name, ("hem",), points=4, square=True)


def _puffed(sleeve: Piece, measures: Mapping[str, float], told: Told) -> tuple[Step, ...]:
    low, high = _notch_runs(sleeve)
    whole = length(sleeve.edge("cap back").points)
    start, end = Spot("cap front", low + ABOVE_NOTCH), Spot("cap back", whole - high - ABOVE_NOTCH)
    cap = "cap front", "cap back"
    return (
        *_short(sleeve, measures, told),
        Lengthen(sleeve.name, start, end, told.length("puff height"), gathers=True),
        Fullness(sleeve.name, cap, ("hem",), told.length("puff"), 0.0, low + ABOVE_NOTCH, high + ABOVE_NOTCH, SLASHES),
        TrueUp(sleeve.name, cap, low + ABOVE_NOTCH / 2, high + ABOVE_NOTCH / 2, 8, gathers=True),
        TrueUp(sleeve.name, ("hem",), points=4, square=True),
    )


def _gathered(sleeve: Piece, measures: Mapping[str, float], told: Told) -> tuple[Step, ...]:
    bottom = _level(sleeve, "wrist line") + told.length("cuff depth") - BLOUSE_OVER
    cuff = draft_cuff(
        measures["wrist"] + told.length("cuff ease"), told.length("cuff depth"), told.length("cuff underlap")
    )
    around = length(cuff.edge("wrist").points)
    now = 2 * abs(float(np.interp(bottom, *_side(sleeve)[:, ::-1].T)))
    seam = SewnSeam("wrist", (("cuff", "wrist"),), ((sleeve.name, "hem"),), now - around, first_from_end=True)
    return (
        *_cut_at(sleeve, bottom, "cuff depth"),
        Add(cuff, (seam,)),
        Fullness(sleeve.name, ("cap front", "cap back"), ("hem",), 0.0, told.length("gathers"), slashes=SLASHES),
        TrueUp(sleeve.name, ("hem",), points=4, gathers=True, square=True),
        SetNotch(sleeve.name, Spot("underarm front", OPENING), name="opening"),
        SetNotch(sleeve.name, Spot("underarm back", -OPENING), name="opening"),
        Finish(sleeve.name, "hem", EdgeKind.SEAM, "wrist"),
    )


def _two_piece(sleeve: Piece, _measures: Mapping[str, float], told: Told) -> tuple[Step, ...]:
    elbow = _level(sleeve, "elbow line")
    hem = sleeve.edge("hem").points
    wide = length(hem)
    low = {side: point(sign * SEAM_AT * wide / 2, float(hem[0, 1])) for side, sign in (("front", 1), ("back", -1))}
    tops, ups, crosses = {}, {}, {}
    for side, sign in (("front", 1.0), ("back", -1.0)):
        points = sleeve.edge(f"cap {side}").points
        order = np.argsort(np.abs(points[:, 0]))
        x = SEAM_AT * float(np.abs(points[:, 0]).max())
        ups[side] = float(np.interp(x, np.abs(points[order, 0]), lengths_along(points)[order]))
        tops[side] = point(sign * x, float(np.interp(x, np.abs(points[order, 0]), points[order, 1])))
        crosses[side] = meeting(low[side], tops[side] - low[side], point(0.0, elbow), point(1.0, 0.0))
    runs = {side: float(np.hypot(*(tops[side] - low[side]))) for side in tops}
    elbows = {side: float(np.hypot(*(crosses[side] - low[side]))) for side in tops}
    if min(elbows.values()) < AROUND_ELBOW + 20:
        raise DraftError(
            f"its elbow is {both_units(min(elbows.values()))} above the hem",
            "A two-piece sleeve needs a longer arm: check the sleeve length",
            place="two-piece sleeve",
        )
    seat = float(np.interp(elbow, *_straight(sleeve)[:, ::-1].T))  # half width there once the underarm is straight
    over = float(crosses["front"][0] - crosses["back"][0])
    bend = told.length("elbow bend")
    under, top = "under sleeve", "top sleeve"
    below, above = AROUND_ELBOW, AROUND_ELBOW
    marks = {side: (elbows[side] - below, elbows[side] + above) for side in runs}
    rests = {side: (elbows[side] - below, runs[side] - elbows[side] - above) for side in runs}
    return (
        TrueUp(sleeve.name, ("underarm front",), points=0),
        TrueUp(sleeve.name, ("underarm back",), points=0),
        Split(
            sleeve.name,
            Spot("hem", wide / 2 + float(low["front"][0])),
            Spot("cap front", ups["front"]),
            "front seam",
            ("front under", top),
            notches=marks["front"],
        ),
        Split(
            top,
            Spot("cap back", ups["back"]),
            Spot("hem", wide / 2 + float(low["back"][0])),
            "back seam",
            ("back under", top),
            notches=tuple(runs["back"] - at for at in marks["back"]),
        ),
        Merge("front under", "underarm front", "back under", "underarm back", under),
        Slash(top, Spot("back seam", -elbows["back"]), Spot("front seam", elbows["front"]), bend, gathers=True),
        Slash(
            under,
            Spot("back seam", elbows["back"]),
            Spot("front seam", -elbows["front"]),
            bend * (2 * seat - over) / over,
            gathers=True,
        ),
        *_trued(top, "front seam", rests["front"]),
        *_trued(under, "front seam", rests["front"][::-1]),
        *_trued(top, "back seam", rests["back"][::-1]),
        *_trued(under, "back seam", rests["back"]),
        TrueUp(under, ("hem",), points=0),
    )


def _trued(piece: str, edge: str, rests: tuple[float, float]) -> tuple[Step, ...]:
    """A seam trued between its notches."""
    return (TrueUp(piece, (edge,), *rests, points=2, gathers=True),)


def _cut_at(sleeve: Piece, bottom: float, place: str) -> tuple[Step, ...]:
    """Cut off square at a level (mm, the bicep line at 0)."""
    side = _side(sleeve)
    least = float(side[0, 1])
    if not least < bottom < -10:
        raise DraftError(
            f"its hem would be {both_units(-bottom)} below the bicep line",
            f"Choose a depth less than {both_units(-least)}",
            place=place,
        )
    at = float(np.interp(bottom, side[:, 1], lengths_along(side)))
    return (CutOff(sleeve.name, Spot("underarm front", at), Spot("underarm back", -at), "cap front"),)


def _side(sleeve: Piece) -> NDArray[np.float64]:
    """The front underarm seam, `(n, 2)`, from the hem up (mm)."""
    return sleeve.edge("underarm front").points


def _straight(sleeve: Piece) -> NDArray[np.float64]:
    ends: NDArray[np.float64] = _side(sleeve)[[0, -1]]
    return ends


def _level(sleeve: Piece, name: str) -> float:
    line: NamedLine = next(line for line in sleeve.construction if line.name == name)
    return float(line.points[0, 1])


def _notch_runs(sleeve: Piece) -> tuple[float, float]:
    """Underarm to the front notch and to the back notch along the cap (mm)."""
    front = next(notch.at for notch in sleeve.notches if notch.name == "front")
    back = next(notch.at for notch in sleeve.notches if notch.name == "back")
    return front, length(sleeve.edge("cap back").points) - back


_Recipe = Callable[[Piece, Mapping[str, float], Told], tuple[Step, ...]]
_RECIPES: Mapping[str, _Recipe] = {
    "elbow": _elbow,
    "three-quarter": _three_quarter,
    "short": _short,
    "cap": _cap,
    "bell": _bell,
    "puffed": _puffed,
    "gathered": _gathered,
    "two-piece": _two_piece,
}
