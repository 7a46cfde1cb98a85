"""A straight skirt: front on the fold, back with a centre back opening, a dart in each half, a waistband.

Half the hip and its ease is shared so that the front is 10 mm wider than the back on each half. Of what hip has over
waist on each quarter 45 in 100 (10 to 35 mm) go into the side seam and the rest into a dart, 95 mm deep in front and
130 mm at the back. The waist rises a little to the side (12 mm) and drops at the centre back (10 mm). The waist line
is square to centre, dart legs and side seam, so that it closes smooth. (Common practice, no source.)

*Flared.* The straight skirt with its waist darts pivoted into the hem, and more flare slashed in if that is asked.
"""

from collections.abc import Mapping

import numpy as np

from cutroom.draft.blouse import band_seam, waist_names
from cutroom.draft.bodice import LEAST_DART, SIDE_STEP, waist_edges
from cutroom.draft.lines import mirrored_piece, named, point, turned_piece
from cutroom.draft.measurements import body_scale
from cutroom.draft.options import Option, Told
from cutroom.draft.waistband import draft_waistband
from cutroom.errors import DraftError
from cutroom.geometry.curve import smooth_curve
from cutroom.geometry.polyline import length
from cutroom.model.alteration import Fullness, Leave, Pivot, Spot, Step, TrueUp
from cutroom.model.piece import Cut, Edge, EdgeKind, Hand, Notch, Piece, SewnSeam, Style
from cutroom.units import both_units

NEEDS = ("waist", "hip")
OPTIONS = (
    Option("waist ease", 20.0, "Added to the waist girth"),
    Option("hip ease", 40.0, "Added to the hip girth"),
    Option("skirt length", 600.0, "Waist to hem at the centre front"),
    Option("opening depth", 190.0, "Waist down to the end of the centre back opening"),
    Option("band width", 30.0, "Width of the waistband when worn"),
    Option("skirt", "straight", "How the skirt falls", ("straight", "flared")),
    Option("flare", 0.0, "What each half of a flared skirt gains at the hem, besides what the closed dart gives"),
)
SIDE_RISE, BACK_DROP = 12.0, 10.0
FRONT_DART, BACK_DART = 95.0, 130.0


def draft_skirt(name: str, size: str, measures: Mapping[str, float], told: Told) -> Style:
    """Draft the skirt.

    Args:
        name: Name of the style.
        size: A size or a client's code.
        measures: Waist and hip (mm), and waist to hip if it was taken.
        told: The options of `OPTIONS`.

    Returns:
        The style, with its seams to be walked.

    Raises:
        DraftError: It cannot be drafted from these.
    """
    down = measures.get("waist to hip", 205.0 * body_scale(measures))
    quarter = (measures["hip"] + told.length("hip ease")) / 4
    spare = quarter - (measures["waist"] + told.length("waist ease")) / 4
    long = told.length("skirt length")
    if spare < 0:
        what = f"the waist {both_units(measures['waist'])} is too large for the hip {both_units(measures['hip'])}"
        raise DraftError(
            what, "Give the hip more ease: a straight skirt hangs from the wider of the two", place="skirt"
        )
    if long < down + 50:
        what = f"its length {both_units(long)} ends at the hip"
        raise DraftError(what, f"Make it {both_units(down + 50)} or longer", place="skirt length")
    side_in = min(spare, max(10.0, min(35.0, spare * 0.45)))
    if spare - side_in < LEAST_DART:
        side_in = spare
    dart = spare - side_in
    front = _half("front", quarter + SIDE_STEP, (side_in, dart), (down, long), 0.0)
    back = mirrored_piece(
        _half("back", quarter - SIDE_STEP, (side_in, dart), (down, long), BACK_DROP, told.length("opening depth"))
    )
    edges = {body.name: [length(body.edge(edge).points) for edge in waist_names(body)] for body in (front, back)}
    band = draft_waistband(sum(edges["front"]) + sum(edges["back"]), told.length("band width"), sum(edges["front"]))
    facts = [("waist dart", both_units(dart) if dart else "none"), ("skirt length", both_units(long))]
    if "waist to hip" not in measures:
        facts.append(("waist to hip", f"{both_units(down)}, not measured: the usual depth"))
    facts += [(f"{part} ease", both_units(told.length(f"{part} ease"))) for part in ("waist", "hip")]
    seams = (SewnSeam("side", (("front", "side"),), (("back", "side"),), second_from_end=True), band_seam(front, back))
    return Style(name, size, (front, back, band), seams, tuple(facts))


def skirt_recipe(style: Style, _measures: Mapping[str, float], told: Told) -> tuple[Step, ...]:
    """The steps that make a flared skirt of a straight one: darts closed into the hem, more flare slashed in."""
    if told.word("skirt") != "flared":
        return ()
    steps: list[Step] = []
    for body in (style.piece("front"), style.piece("back")):
        dart = next((line.points for line in body.lines if line.name == "waist dart leg"), None)
        hem = body.edge("hem").points
        if dart is not None:
            at = abs(float(dart[-1, 0] - hem[0, 0]))
            steps.append(Pivot(body.name, "waist dart", Spot("hem", at), Leave.FULLNESS))
        if told.length("flare"):
            around = _as_round(body, waist_names(body))
            rest = abs(float(body.grain[0, 0] - body.edge(f"centre {body.name}").points[0, 0])) + 15
            rests = (0.0, 0.0) if body.name == "front" else (0.0, rest)  # the centre stays on the grain
            steps.append(Fullness(body.name, around, ("hem",), 0.0, told.length("flare"), *rests, slashes=4))
        steps.append(TrueUp(body.name, ("hem",), points=3, square=True))
    return tuple(steps)


def _as_round(body: Piece, names: tuple[str, ...]) -> tuple[str, ...]:
    """Names of edges in their order round the piece."""
    order = [edge.name for edge in body.edges]
    return tuple(sorted(names, key=order.index))


def _half(
    name: str,
    quarter: float,
    taken: tuple[float, float],
    lengths: tuple[float, float],
    drop: float,
    opening: float | None = None,
) -> Piece:
    """One half, set out upside down with its centre on x = 0 and its waist at y = 0, then turned: side at -x."""
    (side_in, dart), (down, long) = taken, lengths
    centre, top = point(0.0, drop), point(quarter - side_in, -SIDE_RISE)
    hip, low = point(quarter, down), point(quarter, long)
    side = np.vstack([smooth_curve(np.vstack([top, hip]), end=point(0.0, 1.0)), low])
    axis, deep = quarter * 0.42, BACK_DART if opening is not None else FRONT_DART
    if dart:
        waist, lines, drills = waist_edges(centre, top, side[1] - side[0], point(axis, deep), dart)
    else:
        way = point(float(side[1, 1] - side[0, 1]), float(side[0, 0] - side[1, 0]))
        curve = smooth_curve(np.vstack([centre, top]), start=point(1.0, 0.0), end=way)
        waist, lines, drills = (Edge("waist", curve),), (), ()
    middle = "centre front" if opening is None else "centre back"
    notches = [Notch("side", length(side) - (long - down), name="hip")]
    if opening is not None:
        if not 20 < opening < long - 20:
            what = f"the opening would end {both_units(opening)} below the waist"
            raise DraftError(what, "End it between waist and hem", place="opening depth")
        notches.append(Notch(middle, long - drop - opening, count=3, name="opening"))
    piece = Piece(
        name,
        (
            *waist,
            Edge("side", side),
            Edge("hem", np.vstack([low, point(0.0, long)]), kind=EdgeKind.HEM),
            Edge(
                middle,
                np.vstack([point(0.0, long), centre]),
                kind=EdgeKind.FOLD if opening is None else EdgeKind.SEAM,
            ),
        ),
        np.array([[quarter / 5, drop + long * 0.1], [quarter / 5, long * 0.9]]),
        cut=Cut.FOLD if opening is None else Cut.PAIR,
        hand=Hand.RIGHT,
        notches=tuple(notches),
        drills=drills,
        lines=lines,
        construction=(
            named("centre line", point(0.0, 0.0), point(0.0, long)),
            named("waist line", point(0.0, 0.0), point(quarter - side_in, 0.0)),
            named("hip line", point(0.0, down), hip),
        ),
    )
    return turned_piece(piece)
