"""What to mind before cutting, in the order in which forgetting it hurts."""

from collections.abc import Sequence

from cutroom.model.cutter import Cutter, Language, ToolKind
from cutroom.model.fabric import Fabric, Spread
from cutroom.model.profile import Plotter
from cutroom.report.values import MarkerSheet, Report

_LAW = (
    "Law and people first",
    (
        (
            "Local safety codes, the employer's rules, the fire insurer's terms and the machine's manual come before "
            "anything printed here. Where a licence or training is asked for, only people who have it do the work."
        ),
        "This program checks no machine guard, no flammability or cord rule for children's clothes, no labelling law.",
        "Body measurements are personal: keep them in the room, and put a code on sheets that leave it.",
    ),
)
_BLADES = (
    "Blades and moving machines",
    (
        (
            "Knives, rotary and band blades: power off before a blade is changed, guard down, presser foot down, "
            "chain-mail glove on the holding hand. Cut away from the body; cap and store blades."
        ),
        "A blade cuts through the cloth and no deeper; try depth and offset on scrap. Hold a drill upright.",
        (
            "Plotters and cutting tables start without warning: no hair, cords, jewellery or scissors near the gantry, "
            "nobody beside it while it finds its zero, and know where the emergency stop is."
        ),
        "Plug and unplug serial cables with the power off.",
    ),
)
_LASER = (
    "Laser and fumes",
    (
        (
            "Never leave a running laser. Somebody stays with it, extinguisher at hand, extraction on, lid shut, "
            "interlocks untouched; never run it open."
        ),
        (
            "Never cut PVC, vinyl, chlorine-coated or unknown cloth: the gas poisons people and eats the machine. "
            "Fluoropolymers, carbon, glass, foams and flame-proofed goods: ask for the data sheet first."
        ),
        (
            "Cloth burns: thin, fluffy, napped and coated goods flare up. One ply, a clean tray, no lint; melting "
            "synthetics stick to skin. Lead fumes out or filter them as local law asks."
        ),
        "No power or speed is safe because it is printed somewhere: cut your own test piece.",
    ),
)


_FIRST_RUN = (
    "Local safety codes and the machine's manual come first. The files were checked by program only.",
    "First run: no blade, no beam, no ink: tool up or power off, over paper, slowly, a hand at the emergency stop.",
    "Keep hands, hair, cords and jewellery off the gantry, and never leave a running machine alone.",
)
_FIRST_KNIFE = (
    "Blade: a wrong offset rounds every corner, a deep one cuts the bed. Try both on scrap; power off to change it."
)
_FIRST_DRAG = "Set the blade pointing along the bed before the start: the file takes it to stand so."
_FIRST_BEAM = (
    "Laser: lid shut, extraction on, extinguisher at hand, eyes behind what the machine's class asks for. Never PVC, "
    "vinyl or unknown cloth: the fumes poison people. No power or speed here is safe until your own test piece says so."
)


_FIRST_COLOURS = (
    "{}: the colour of a line chooses the tool, and nothing else of it is in the file. Set power and speed at the "
    "machine for each, in this order: {}. See on its screen that it keeps the order of the lines, too."
)


_FIRST_ANY = (
    "Drawings that any machine may take: let a knife or a beam follow them only with what its own manual asks for."
)


def first_run(machines: Sequence[Plotter | Cutter], *, for_any: bool = False) -> tuple[str, ...]:
    """What to mind before machines run a file for the first time: once, in plain words; nothing for none.

    Args:
        machines: That are known.
        for_any: Some file may go to any machine, so to one with a knife or a beam, too.
    """
    kinds = {tool.kind for machine in machines if isinstance(machine, Cutter) for tool in machine.tools}
    said = [*(_FIRST_RUN if machines or for_any else ())]
    if for_any or any(isinstance(one, Cutter) and one.language is Language.DXF for one in machines):
        said.append(_FIRST_ANY)
        kinds |= {ToolKind.TANGENTIAL_KNIFE, ToolKind.LASER}
    if kinds & {ToolKind.DRAG_KNIFE, ToolKind.TANGENTIAL_KNIFE}:
        said.append(_FIRST_KNIFE)
    if ToolKind.DRAG_KNIFE in kinds:
        said.append(_FIRST_DRAG)
    if ToolKind.LASER in kinds:
        said.append(_FIRST_BEAM)
    said += [_colours(one) for one in machines if isinstance(one, Cutter) and one.language is Language.SVG]
    return tuple(said)


def _colours(cutter: Cutter) -> str:
    return _FIRST_COLOURS.format(cutter.name, ", ".join(f"{tool.rgb} {tool.name}" for tool in cutter.tools))


def cautions(report: Report) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Headings and sentences, for the markers of this report."""
    cloth = [sentence for sheet in report.markers for sentence in _of_cloth(sheet)]
    paper = (
        (
            "Measure the printed 100 mm square and the long bar, along and across, before any cloth is cut. Off by "
            "more than 0.5 %: stop."
        ),
        "Make a toile first for a new client or a new draft. Ease figures are a start, not a promise.",
        "The files were checked by program only and were not tried on your machine. First run: pen up, paper, slow.",
        "The share of cloth used is that of this layout; another cloth width or order gives another.",
    )
    return (_LAW, _BLADES, _LASER, ("Paper and scale", paper), ("This cloth", tuple(cloth)))


def _of_cloth(sheet: MarkerSheet) -> tuple[str, ...]:
    fabric = sheet.marker.fabric
    pieces = sum(line.count for line in sheet.cut_list)
    return (
        f"{fabric.name}: {_lies(fabric)} Check the face and stroke the nap by hand, in daylight.",
        f"{fabric.name}: no roll may be narrower than {fabric.width:.0f} mm. Measure start, middle and end.",
        f"{fabric.name}: count {pieces} pieces, left and right, against the cut list before the first cut.",
        *((f"{fabric.name}: no wash or steam test is recorded.",) if fabric.shrink_warp is None else ()),
    )


def _lies(fabric: Fabric) -> str:
    if fabric.spread is Spread.OPEN:
        return f"this plan has the face {fabric.face.value}."
    return "this plan has right sides together."
