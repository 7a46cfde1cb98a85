"""Facts and figures of a marker as name and text, for the page."""

from cutroom.model.fabric import Fabric, Nap, Spread
from cutroom.model.marker import Marker
from cutroom.report.figures import (
    areas_laid,
    bought_for,
    exact,
    money,
    not_enough,
    ply_step,
    saving_left,
    say_metres,
    say_money,
    say_yards,
    utilisation,
)
from cutroom.report.values import MarkerSheet
from cutroom.units import Unit, format_length

Facts = tuple[tuple[str, str], ...]

_SPREADS = {
    Spread.OPEN: "open, every ply the same side up",
    Spread.FOLDED: "folded lengthwise, right sides in; the fold is the lower edge of the picture",
    Spread.FACE_TO_FACE: "face to face, plies in pairs with right sides together",
    Spread.TUBULAR: "tubular, a flat tube with a fold at both edges",
}
_NAPS = {
    Nap.NONE: "none: pieces point ⟷ either way",
    Nap.BY_GARMENT: "by garment ⟶ or ⟵: all pieces of a garment point one way, garments may differ",
    Nap.ONE_WAY: "one way ⟶: every piece points along the arrow, as in the picture",
}


def two_units(length: float, unit: Unit) -> str:
    """A length (mm) in the job's unit and in the other system: `31 3/4 in (806.5 mm)`."""
    other = Unit.MILLIMETRE if unit is Unit.INCH else Unit.INCH
    return f"{format_length(length, unit)} ({format_length(length, other)})"


def exactly(length: float, unit: Unit) -> str:
    """The same for what was asked for or must be measured off, with no digit lost: `0.4 in (10.16 mm)`."""
    sixteenths = length / 25.4 * 16
    whole = abs(sixteenths - round(sixteenths)) < 0.01
    inches = format_length(length, Unit.INCH) if whole else f"{_trimmed(length / 25.4, 3)} in"
    metric = f"{_trimmed(length / 10, 3)} cm" if unit is Unit.CENTIMETRE else f"{_trimmed(length, 3)} mm"
    return f"{inches} ({metric})" if unit is Unit.INCH else f"{metric} ({inches})"


def _trimmed(number: float, places: int) -> str:
    return f"{number:.{places}f}".rstrip("0").rstrip(".")


def face_word(fabric: Fabric) -> str:
    """Which side of the cloth looks up, in a word or two."""
    return fabric.face.value if fabric.spread is Spread.OPEN else "right sides in"


def nap_word(fabric: Fabric) -> str:
    """Which way the nap lets pieces point, with its arrow."""
    return {Nap.NONE: "none ⟷", Nap.BY_GARMENT: "by garment ⟶ or ⟵", Nap.ONE_WAY: "one way ⟶"}[fabric.way]


def cloth_facts(fabric: Fabric, unit: Unit) -> Facts:
    """What must be true of the cloth on the table."""
    if fabric.spread is Spread.OPEN:
        face = f"{fabric.face.value.upper()} on the table"
    else:
        face = "right sides together: the wrong side shows"
    folded = ", as it lies folded" if fabric.has_fold else ""
    return (
        ("face", face),
        ("nap", _NAPS[fabric.way] + (", for the pattern has a way of its own" if fabric.way is not fabric.nap else "")),
        ("spread", f"{_SPREADS[fabric.spread]}; plies: {fabric.plies}"),
        ("usable width", f"{exactly(fabric.usable_width, unit)}{folded}"),
        (
            "narrowest roll",
            (
                f"{exactly(fabric.width, unit)} edge to edge, of which {exactly(fabric.selvedge, unit)} "
                "at each edge is left unused"
            ),
        ),
        ("shrinkage", _shrinkage(fabric)),
        ("gap", f"{exactly(fabric.gap, unit)} at least between cut lines"),
        *((("note", fabric.note),) if fabric.note else ()),
    )


def _shrinkage(fabric: Fabric) -> str:
    if fabric.shrink_warp is None or fabric.shrink_weft is None:
        return "wash/steam test not recorded; nothing was added"
    return (
        f"tested: {fabric.shrink_warp * 100:.2f} % along, {fabric.shrink_weft * 100:.2f} % across; "
        f"seam lines scaled by {1 / (1 - fabric.shrink_warp):.6f} and {1 / (1 - fabric.shrink_weft):.6f}, "
        "then allowances added"
    )


def marker_figures(sheet: MarkerSheet, unit: Unit) -> Facts:
    """Length, share used, cloth to buy, what was saved, and what it costs."""
    marker, fabric = sheet.marker, sheet.marker.fabric
    buy = bought_for(marker)
    short = not_enough(buy)
    rows = [
        ("marker length", two_units(marker.length, unit)),
        ("garments", f"{sheet.garments} from the whole lay"),
        ("cloth used", f"{utilisation(marker) * 100:.2f} % of usable width × length"),
        (
            "what that means",
            (
                f"{areas_laid(marker) / 1e6:.4f} m² inside the cut lines ÷ {marker.width * marker.length / 1e6:.4f} m² "
                "of usable width × marker length; selvedges and end allowances are not in it"
            ),
        ),
        (
            "one ply",
            f"{exactly(float(buy.ply), unit)}: the marker and {exactly(fabric.end_allowance, unit)} at each end"
            + (", rounded up to whole repeats" if ply_step(fabric) else ""),
        ),
        ("whole lay", f"{buy.plies} {'ply' if buy.plies == 1 else 'plies'}: {exactly(float(buy.needed), unit)}"),
        (
            "buy",
            f"{say_yards(buy.yards)} (by the 1/8 yd) or {say_metres(buy.metric)} (by 10 cm)"
            + (f"; {short} is not enough" if short else ""),
        ),
    ]
    if sheet.garments > 0:
        rows.append(("for one garment", two_units(float(buy.needed / sheet.garments), unit)))
    if marker.boxes_length is not None:
        rows.append(("saved against boxes", _saved(marker.boxes_length, marker.length, unit)))
    if marker.bound is not None:
        rows.append(("could still be saved", _could_be_saved(marker, unit)))
    if fabric.price is not None:
        cost = money(fabric.price, buy.metric)
        text = f"{say_money(cost)} for {say_metres(buy.metric)} at {fabric.price:.2f} a metre"
        if sheet.garments > 0:
            text += f"; {say_money(cost / sheet.garments)} a garment"
        rows.append(("cost", text))
    return tuple(rows)


def _could_be_saved(marker: Marker, unit: Unit) -> str:
    """What a better marker could save at most, and why no more."""
    left = saving_left(marker)
    tilted = any(piece.tilt_deg > 0 for piece in marker.pieces) and marker.fabric.pattern is None
    rules = "by these rules" + (" and at the tilts that were tried" if tilted else "")
    if left <= 0:
        return f"nothing: {marker.bound_by}: no marker of these pieces {rules} can be shorter"
    bound = two_units(marker.bound or 0.0, unit)
    return (
        f"at most {two_units(float(left), unit)} a ply, {float(left) / marker.length * 100:.1f} %: {rules} these "
        f"pieces need {bound} at least, for {marker.bound_by}; whether a marker that short exists is not known"
    )


def _saved(boxes_length: float, length: float, unit: Unit) -> str:
    saved = exact(boxes_length) - exact(length)
    boxes = f"laid by their boxes the same pieces take {two_units(boxes_length, unit)}"
    if saved <= 0:
        return f"nothing: {boxes}"
    return f"{two_units(float(saved), unit)} a ply, {float(saved / exact(boxes_length)) * 100:.1f} %: {boxes}"
