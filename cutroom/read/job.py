"""The job file: what is to be made, for whom, from which cloth, and what to write.

`shapes.py` lists its keys. All faults of a file are found in one reading.
"""

from collections.abc import Callable, Collection, Mapping
from pathlib import Path
from typing import Any

from cutroom.errors import CutroomError, DraftError, FileError, OrderError, raise_all
from cutroom.model.cutter import Language
from cutroom.model.fabric import Fabric
from cutroom.model.order import Garment, Order, Outputs, StyleAsked, Wearer
from cutroom.model.piece import WIDEST_ALLOWANCE
from cutroom.read.alterations import read_alteration
from cutroom.read.cloth import read_fabric
from cutroom.read.cutter import read_cutter
from cutroom.read.finish import read_corners, read_notch_form, read_notches_asked, read_turns
from cutroom.read.given import Allowances, read_piece, read_seam
from cutroom.read.grading import read_grading
from cutroom.read.laying import read_block, read_laying, read_match, read_shared
from cutroom.read.printer import read_sheet
from cutroom.read.profile import read_plotter
from cutroom.read.profile_files import names_a_file
from cutroom.read.reading import Reading, echo, joined
from cutroom.read.shapes import GarmentShape, JobShape, Length, LengthKey, Option, StyleShape, WriteShape
from cutroom.read.toml import load_toml
from cutroom.units import Unit

FILE_KINDS = (
    "pieces-dxf",
    "marker-dxf",
    "marker-hpgl",
    "marker-pdf",
    "tiles-pdf",
    "marker-svg",
    "marker-json",
    "cut-gcode",
    "cut-hpgl",
    "cut-dxf",
    "cut-svg",
    "report-html",
)
"""The kinds of file that a job may ask for."""

_UNITS = ("in", "cm", "mm")
_FRACTION_SIGNS = "½¼¾⅛⅜⅝⅞⅓⅔"


Judge = Callable[[StyleAsked, Wearer], None]
"""Raises a CutroomError when a style cannot be drafted from a wearer's measurements."""


def read_job(path: Path, *, blocks: Collection[str] = (), judge: Judge | None = None) -> Order:
    """Read a job file.

    Args:
        path: The file.
        blocks: The blocks that can be drafted; none given, any word is taken.
        judge: Says what a style misses of the measurements of whoever it is ordered for, so that this is reported with
            all the rest.

    Returns:
        The order, in mm.

    Raises:
        FileError: There is no such file, or it is not TOML.
        FaultsError: All that is wrong in it, each with its place; a single fault is raised by itself.
    """
    raw = load_toml(path)
    reading = Reading(str(path), Unit.MILLIMETRE)
    shape = reading.table(JobShape, raw, "")
    _read_unit(reading, shape.unit)
    for group in ("clients", "sizes", "styles", "fabrics"):
        if any(not name.strip() for name in getattr(shape, group) or {}):
            reading.fault(group, "one of them has no name", f"Write [{group}.name]", OrderError)
    wearers = _read_wearers(reading, shape)
    styles = {name: _read_style(reading, name, one, blocks) for name, one in (shape.styles or {}).items()}
    for graded in (style.grading for style in styles.values() if style is not None):
        for size in graded.sizes if graded else ():
            wearers.setdefault(size, Wearer(size, {}))
    fabrics = {name: read_fabric(reading, name, one) for name, one in (shape.fabrics or {}).items()}
    garments = [
        _read_garment(reading, one, number, (wearers, styles, fabrics))
        for number, one in enumerate(shape.garments or (), start=1)
    ]
    if not garments and not reading.faulted("garments"):
        reading.fault(
            "garments",
            "the order asks for no garment",
            "Add a line [[garments]] with style, for and fabric",
            OrderError,
        )
    if judge is not None:
        _judge_measures(reading, shape, styles, wearers, judge)
    _judge_twins(reading, [garment for garment in garments if garment is not None])
    outputs = _read_outputs(reading, shape.write, path.parent)
    raise_all(reading.found)
    return Order(
        title=shape.title or path.stem,
        file=str(path),
        unit=reading.unit,
        wearers=wearers,
        styles={name: style for name, style in styles.items() if style is not None},
        garments=tuple(garment for garment in garments if garment is not None),
        fabrics={name: fabric for name, fabric in fabrics.items() if fabric is not None},
        outputs=outputs,
    )


def _judge_measures(
    reading: Reading,
    shape: JobShape,
    styles: Mapping[str, StyleAsked | None],
    wearers: Mapping[str, Wearer],
    judge: Judge,
) -> None:
    """Whether every style can be drafted for whom it is ordered, also where the line of the order has other faults."""
    asked = [(raw.get("style"), str(raw.get("for"))) for raw in shape.garments or () if isinstance(raw, dict)]
    for named, code in dict.fromkeys(asked):
        style, wearer = styles.get(str(named)), wearers.get(code)
        places = (f"clients.{code}", f"sizes.{code}", f"styles.{named}")
        told = any(fault.place.startswith(places) for fault in reading.found)
        if style is None or wearer is None or told:
            continue
        try:
            judge(style, wearer)
        except CutroomError as error:
            reading.keep(error)


def _read_unit(reading: Reading, written: str | None) -> None:
    """Set the unit; without one the rest is read as mm, so that its faults are found too."""
    unit = reading.asked(written, "unit", "a bare number must stand in something", 'unit = "in", "cm" or "mm"')
    if unit is not None and reading.known(unit, _UNITS, "unit", "unit", FileError):
        reading.unit = Unit(unit)


def _read_wearers(reading: Reading, shape: JobShape) -> dict[str, Wearer]:
    wearers: dict[str, Wearer] = {}
    for group, tables in (("clients", shape.clients), ("sizes", shape.sizes)):
        for code, raw in (tables or {}).items():
            place = joined(group, code)
            if code in wearers:
                reading.fault(place, "there is a client of that name too", "Give one of them another code", OrderError)
            if not isinstance(raw, dict):
                reading.fault(
                    place, f"{echo(raw)} is not a table of measures", f"Write [{place}] and the measures under it"
                )
            measures: dict[str, float] = {}
            for name, written in raw.items() if isinstance(raw, dict) else ():
                value: Length | None = reading.converted(written, LengthKey, joined(place, name))
                measure = reading.length(value, joined(place, name), negative=True)
                if measure is not None and measure <= 0:
                    reading.fault(
                        joined(place, name), f"{echo(value)} is no body measure", "Write a length above 0", DraftError
                    )
                elif measure is not None:
                    measures[name] = measure
            wearers[code] = Wearer(code, measures)
    return wearers


def _read_style(reading: Reading, name: str, raw: object, blocks: Collection[str]) -> StyleAsked | None:
    place = joined("styles", name)
    before = len(reading.found)
    shape = reading.table(StyleShape, raw, place)
    named: dict[str, float] = {}
    for edge, written in (shape.allowances or {}).items():
        here = joined(place, f'allowances."{edge}"' if "." in edge else f"allowances.{edge}")
        width = reading.length(reading.converted(written, LengthKey, here), here)
        if width is not None and width >= WIDEST_ALLOWANCE:
            _too_wide(reading, width, here)
        elif width is not None:
            named[edge] = width
    plain = reading.length(shape.allowance, joined(place, "allowance"))
    hem = reading.length(shape.hem, joined(place, "hem"))
    for key, width in (("allowance", plain), ("hem", hem)):
        if width is not None and width >= WIDEST_ALLOWANCE:
            _too_wide(reading, width, joined(place, key))
    allowances = Allowances(named, 12.7 if plain is None else plain, 38.1 if hem is None else hem)
    if (shape.block is None) == (shape.pieces is None) and len(reading.found) == before:
        what = "it has neither a block nor pieces" if shape.block is None else "it has a block and pieces as well"
        reading.fault(place, what, 'Write block = "blouse", or its pieces under [[styles.…pieces]]', OrderError)
    if shape.block is not None and blocks:
        reading.known(shape.block, blocks, joined(place, "block"), "block", OrderError)
    if shape.block is None and shape.options:
        reading.fault(
            joined(place, "options"), "options are for a block, and there is none", "Take them out", OrderError
        )
    options = {
        key: _option(reading, one, joined(place, f"options.{key}")) for key, one in (shape.options or {}).items()
    }
    corners = read_corners(reading, shape, place)
    turns = read_turns(reading, shape.turns, place)
    form = read_notch_form(reading, shape.notch, joined(place, "notch"))
    notches = read_notches_asked(reading, shape.notches or (), place)
    given = [read_piece(reading, one, place, n, allowances) for n, one in enumerate(shape.pieces or (), start=1)]
    pieces = tuple(piece for piece in given if piece is not None)
    for number, piece in enumerate(pieces):
        if any(piece.name == other.name for other in pieces[:number]):
            here = f'{place}, piece "{piece.name}"'
            reading.fault(here, "the style has two pieces of that name", "Give each its own name", OrderError)
    edges = {f"{piece.name}.{edge.name}": (piece.name, edge.name) for piece in pieces for edge in piece.edges}
    alterations = [
        read_alteration(reading, one, f"{place}, alteration {n}")
        for n, one in enumerate(shape.alterations or (), start=1)
    ]
    laying = read_laying(reading, shape.laying, place)
    matches = [read_match(reading, one, f"{place}, match {n}") for n, one in enumerate(shape.matches or (), start=1)]
    sharing: set[str] = set()
    shared = [
        read_shared(reading, one, f"{place}, shared line {n}", sharing)
        for n, one in enumerate(shape.shared_lines or (), start=1)
    ]
    grouped: set[str] = set()
    rough = [
        read_block(reading, one, f"{place}, rough block {n}", grouped)
        for n, one in enumerate(shape.rough_blocks or (), start=1)
    ]
    grading = None if shape.grading is None else read_grading(reading, shape.grading, joined(place, "grading"))
    if grading is not None and shape.block is not None:
        what = "grade rules are for pieces given by points"
        reading.fault(
            joined(place, "grading"), what, "A block is drafted anew for each size: take them out", OrderError
        )
    if pieces and len(pieces) == len(given):
        for edge in named if not alterations else ():
            names = {edge.split(".")[-1] for edge in edges} | set(edges)
            reading.known(edge, sorted(names), joined(place, "allowances"), "edge", OrderError)
        seams = [
            read_seam(reading, one, f"{place}, seam {n}", edges) for n, one in enumerate(shape.seams or (), start=1)
        ]
    else:
        seams = []
    if len(reading.found) > before:
        return None
    own = {f"{piece.name}.{edge.name}": edge.allowance for piece in pieces for edge in piece.edges}
    return StyleAsked(
        name=name,
        block=shape.block or "",
        options={key: option for key, option in options.items() if option is not None},
        pieces=pieces,
        allowances=named | own,
        allowance=allowances.plain,
        hem_allowance=allowances.hem,
        seams=tuple(seam for seam in seams if seam is not None),
        corners=corners,
        turns=turns,
        notches=notches,
        notch_form=form,
        alterations=tuple(step for step in alterations if step is not None),
        grading=grading,
        laying=laying,
        matches=tuple(match for match in matches if match is not None),
        shared_lines=tuple(one for one in shared if one is not None),
        rough_blocks=tuple(one for one in rough if one is not None),
    )


def _too_wide(reading: Reading, width: float, place: str) -> None:
    what = f"{width:g} mm is no allowance, wanted less than {WIDEST_ALLOWANCE:g} mm"
    reading.fault(place, what, "Check the allowance and its unit", OrderError)


def _option(reading: Reading, written: object, place: str) -> float | str | bool | tuple[float, ...] | None:
    """A length or a list of lengths in mm, a word, or true or false; text that starts like a number is a length."""
    value: bool | float | str | tuple[Length, ...] | None = reading.converted(written, Option, place)
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, tuple):
        lengths = [reading.length(one, place, negative=True) for one in value]
        return tuple(one for one in lengths if one is not None)
    if isinstance(value, str) and not (value.strip()[:1] in set(f"0123456789.+-−{_FRACTION_SIGNS}") and value.strip()):
        return value
    return reading.length(value, place, negative=True)


def _read_garment(
    reading: Reading,
    raw: object,
    number: int,
    known: tuple[Mapping[str, Wearer], Mapping[str, StyleAsked | None], Mapping[str, Fabric | None]],
) -> Garment | None:
    wearers, styles, fabrics = known
    before = len(reading.found)
    named = raw.get("name") if isinstance(raw, dict) else None
    place = f'garment "{named}"' if isinstance(named, str) else f"garment {number}"
    shape = reading.table(GarmentShape, raw, place)
    wearer = None if shape.wearer is None else str(shape.wearer)
    style = reading.asked(shape.style, joined(place, "style"), "it must be made like something", 'style = "blouse"')
    wearer = reading.asked(
        wearer, joined(place, "for"), "it must be made for somebody", 'for = "ines", a client or size'
    )
    if style is not None:
        reading.known(style, styles, joined(place, "style"), "style")
    if wearer is not None:
        reading.known(wearer, wearers, joined(place, "for"), "client or size")
    copies = 1 if shape.copies is None else shape.copies
    if copies < 1:
        reading.fault(
            joined(place, "copies"), f"{copies} is no garment", "Write 1 or more, or take the line out", OrderError
        )
    if shape.fabric is not None and shape.fabrics is not None:
        reading.fault(place, "it has fabric and fabrics as well", "Keep one of them", OrderError)
    cloths = {"self": shape.fabric} if shape.fabric is not None else dict(shape.fabrics or {})
    reading.asked(cloths or None, joined(place, "fabric"), "it must be cut from something", 'fabric = "linen"')
    for cloth, fabric in cloths.items():
        key = "fabric" if shape.fabric is not None else f"fabrics.{cloth}"
        reading.known(fabric, fabrics, joined(place, key), "fabric")
    asked = styles.get(style or "")
    for cloth in sorted({piece.cloth for piece in asked.pieces} - set(cloths)) if asked and cloths else ():
        what = f'style "{style}" has pieces of "{cloth}", and no fabric is named for it'
        reading.fault(
            joined(place, "fabrics"), what, f'Write fabrics = {{ self = "linen", {cloth} = "…" }}', OrderError
        )
    if style is None or wearer is None or len(reading.found) > before:
        return None
    return Garment(shape.name or f"{style} for {wearer}", style, wearer, copies, cloths)


def _judge_twins(reading: Reading, garments: list[Garment]) -> None:
    for number, garment in enumerate(garments):
        if any((garment.name, garment.wearer) == (other.name, other.wearer) for other in garments[:number]):
            what = f'two lines of the order have that name for "{garment.wearer}"'
            reading.fault(f'garment "{garment.name}"', what, "Give each its own name, or raise copies", OrderError)


def _read_outputs(reading: Reading, raw: dict[str, Any] | None, folder: Path) -> Outputs:
    if raw is None:
        reading.asked(raw, "write", "nothing would be written", '[write] and under it files = ["marker-pdf"]')
        return Outputs((), "", "")
    shape = reading.table(WriteShape, raw, "write")
    reading.asked(
        shape.files or None, "write.files", "nothing would be written", 'files = ["marker-pdf", "report-html"]'
    )
    kinds = tuple(dict.fromkeys(shape.files or ()))
    for kind in kinds:
        reading.known(kind, FILE_KINDS, "write.files", "kind of file")
    plotter, paper = shape.plotter or "", shape.paper or ""
    if "marker-hpgl" in kinds:
        reading.asked(shape.plotter, "write.plotter", "each machine takes its own HPGL", 'plotter = "roll-pen-plotter"')
    if "tiles-pdf" in kinds:
        reading.asked(shape.paper, "write.paper", "tiles must fit the sheets in the printer", 'paper = "A4"')
    if plotter and names_a_file(plotter):
        plotter = str(folder / plotter)
        if not Path(plotter).is_file():
            reading.fault(
                "write.plotter", f"there is no file {plotter}", "Check its name; it is looked for beside the job"
            )
            plotter = ""
    if plotter:
        try:
            read_plotter(plotter)
        except CutroomError as error:
            if error.place == "plotter":  # the name is wrong, not the profile
                reading.fault("write.plotter", error.what, error.fix, type(error))
            else:
                reading.keep(error)
    if paper:
        try:
            paper = read_sheet(str(folder / paper) if names_a_file(paper) else paper).named
        except CutroomError as error:
            if error.file:  # what is wrong stands in the printer's profile
                reading.keep(error)
            else:
                reading.fault("write.paper", error.what, error.fix, type(error))
    measured = reading.length(shape.square_measured, "write.square_measured", positive=True)
    cutters = _read_cutters(reading, shape, kinds, folder)
    return Outputs(kinds, plotter, paper, measured, bool(shape.go_on), cutters)


def _read_cutters(reading: Reading, shape: WriteShape, kinds: tuple[str, ...], folder: Path) -> tuple[str, ...]:
    """The cutters as they are found, after noting what is wrong: one is needed for each kind of file they take."""
    place = "write.cutters"
    asked = [kind for kind in kinds if kind in set(Language)]
    if asked:
        reading.asked(shape.cutters or None, place, "each machine takes its own file", 'cutters = ["gantry-laser"]')
    found: dict[str, str] = {}
    for name in shape.cutters or ():
        where = str(folder / name) if names_a_file(name) else name
        try:
            language = read_cutter(where).language
        except CutroomError as error:
            if error.place == "cutter":  # the name is wrong, not the profile
                reading.fault(place, error.what, error.fix, type(error))
            else:
                reading.keep(error)
            continue
        if language in found:
            reading.fault(place, f"two cutters take {language}", "Write one, and make a job of its own for the other")
        found[language] = where
    for kind in asked:
        if found and kind not in found and not reading.faulted(place):
            reading.fault(place, f"none of them takes {kind}", f"Leave {kind} out of files, or name a cutter for it")
    return tuple(found.values())
