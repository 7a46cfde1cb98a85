"""A blouse: front on the fold, back with a centre back opening, set-in sleeves, neck facings.

At the hip it ends in a hem, and the opening (a zip) stops below the waist at a triple notch. At the waist it ends in
a waistband and opens all the way down.
"""

from collections.abc import Mapping
from dataclasses import replace

from cutroom.draft import bodice, sleeve
from cutroom.draft.collar import collar_seam, draft_flat, draft_stand
from cutroom.draft.facing import draft_facing
from cutroom.draft.options import Option, Told
from cutroom.draft.waistband import draft_waistband
from cutroom.errors import DraftError
from cutroom.geometry.polyline import length
from cutroom.model.piece import Notch, Piece, SewnSeam, Style
from cutroom.units import both_units

NEEDS = (*bodice.NEEDS, *sleeve.NEEDS)
_NECK = {"neck wider": 12.0, "front neck deeper": 20.0, "back neck deeper": 6.0}
OPTIONS = (
    *(
        replace(option, default=_NECK.get(option.name, option.default))
        for option in bodice.OPTIONS
        if option.name not in {"front cut", "back cut"}
    ),
    *(option for option in sleeve.SHAPE_OPTIONS if option.name != "cap height"),
    Option("cap ease", 25.4, "How much longer the cap is than the armhole"),
    Option("facing width", 55.0, "Width of the neck facings"),
    Option("opening depth", 100.0, "How far the centre back opening reaches below the waist"),
    Option("collar", "none", "What collar it has; it is caught between neck and facings", ("none", "stand", "flat")),
    Option("collar width", 55.0, "Width of a flat collar"),
    Option("collar overlap", 12.0, "How far the shoulders overlap at the arm to draft a flat collar"),
    Option("collar corner", 30.0, "Radius of a flat collar's front corner"),
    Option("stand height", 32.0, "Height of a stand collar"),
    Option("stand spring", 12.0, "Rise of a stand collar's neck edge at the opening"),
    Option("band width", 30.0, "Width of the waistband of a waist-length blouse"),
)


def draft_blouse(name: str, size: str, measures: Mapping[str, float], told: Told) -> Style:
    """Draft the blouse.

    Args:
        name: Name of the style.
        size: A size or a client's code.
        measures: Body measurements by name (mm).
        told: The options of `OPTIONS`.

    Returns:
        The style, with its seams to be walked.

    Raises:
        DraftError: It cannot be drafted from these.
    """
    told = told.with_default(cap_height=146.05, front_cut="fold", back_cut="pair")
    front, back, facts = bodice.draft_bodice(measures, told)
    armhole = sleeve.Armhole(
        front=length(front.edge("armhole").points),
        back=length(back.edge("armhole").points),
        front_notch=bodice.armhole_notch(front),
        back_notch=bodice.armhole_notch(back),
    )
    arm, sleeve_facts = sleeve.draft_sleeve(measures, told, armhole)
    hip = told.word("body") == "hip"
    if hip:
        back = _with_opening(back, told.length("opening depth"))
    wide = told.length("facing width")
    pieces = [front, back, arm]
    pieces += [draft_facing(front, "centre front", wide), draft_facing(back, "centre back", wide)]
    seams = [*body_seams(told.length("shoulder ease")), *sleeve_seams(told.length("cap ease")), *_facing_seams()]
    if told.word("collar") != "none":
        pieces.append(_collar(front, back, told))
        seams.append(collar_seam(stand=told.word("collar") == "stand"))
    if not hip:
        first = waist_names(front), waist_names(back)
        long = sum(
            length(body.edge(edge).points) for body, names in zip((front, back), first, strict=True) for edge in names
        )
        side = sum(length(front.edge(edge).points) for edge in first[0])
        pieces.append(draft_waistband(long, told.length("band width"), side))
        seams.append(band_seam(front, back))
    known = dict(facts)
    return Style(
        name,
        size,
        tuple(pieces),
        tuple(seams),
        (
            *facts,
            *(fact for fact in sleeve_facts if fact[0] not in known),
            *((f"{part} ease", both_units(told.length(f"{part} ease"))) for part in ("bust", "waist", "hip")),
        ),
    )


def _collar(front: Piece, back: Piece, told: Told) -> Piece:
    if told.word("collar") == "stand":
        return draft_stand(front, back, told.length("stand height"), told.length("stand spring"))
    overlap, corner = told.length("collar overlap"), told.length("collar corner")
    return draft_flat(front, back, told.length("collar width"), overlap=overlap, corner=corner)


def body_seams(shoulder_ease: float) -> tuple[SewnSeam, ...]:
    """Shoulder and side of a bodice; the back shoulder is longer by the ease (mm)."""
    return (
        SewnSeam("shoulder", (("front", "shoulder"),), (("back", "shoulder"),), shoulder_ease, second_from_end=True),
        SewnSeam("side", (("front", "side upper"), ("front", "side lower")), (("back", "side"),), second_from_end=True),
    )


def sleeve_seams(cap_ease: float) -> tuple[SewnSeam, ...]:
    """Cap into armhole, from the underarm up the front, over the shoulder and down the back; and the underarm."""
    return (
        SewnSeam(
            "armhole and cap",
            (("front", "armhole"), ("back", "armhole")),
            (("sleeve", "cap front"), ("sleeve", "cap back")),
            cap_ease,
            first_from_end=True,
        ),
        SewnSeam("underarm", (("sleeve", "underarm front"),), (("sleeve", "underarm back"),), first_from_end=True),
    )


def waist_names(body: Piece) -> tuple[str, ...]:
    """Names of a body's waist edges, darts left out, from the centre to the side."""
    names = [edge.name for edge in body.edges]
    return ("waist",) if "waist" in names else ("waist centre", "waist side")


def band_seam(front: Piece, back: Piece) -> SewnSeam:
    """The waistband's seam from the centre front round to the centre back."""
    first = [("front", name) for name in waist_names(front)] + [("back", name) for name in waist_names(back)[::-1]]
    return SewnSeam("waistband", tuple(first), (("waistband", "waist"),), first_from_end=True)


def _facing_seams() -> tuple[SewnSeam, ...]:
    return (
        SewnSeam("front neck", (("front", "neck"),), (("front facing", "neck"),), first_from_end=True),
        SewnSeam("back neck", (("back", "neck"),), (("back facing", "neck"),), second_from_end=True),
        SewnSeam(
            "facing shoulder",
            (("front facing", "shoulder"),),
            (("back facing", "shoulder"),),
            first_from_end=True,
        ),
    )


def _with_opening(back: Piece, depth: float) -> Piece:
    """The back with a triple notch where its opening ends, this far below the waist (mm)."""
    centre = back.edge("centre back").points
    at = float(centre[0, 1]) + depth
    if not 20 < at < length(centre) - 20:
        raise DraftError(
            f"the opening would end {both_units(depth)} below the waist", "End it above the hem", place="opening depth"
        )
    return replace(back, notches=(*back.notches, Notch("centre back", at, count=3, name="opening")))
