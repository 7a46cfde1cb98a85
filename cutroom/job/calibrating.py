"""A machine measured and put right: its calibration plot written, and what was measured on it stored."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from cutroom.errors import FileError, ProfileError
from cutroom.geometry.plotter_units import in_plotter_units
from cutroom.job.files import put_file
from cutroom.job.output import CUT_WRITERS, ENDINGS
from cutroom.model.cutter import Cutter
from cutroom.model.plot import Framed, PenRun, Plot, Role, Stroke
from cutroom.model.profile import Paper, Plotter
from cutroom.model.toolpath import Toolpath, Toolpaths
from cutroom.plot.calibration import Calibration, calibration
from cutroom.plot.compensate import lead
from cutroom.plot.toolpath import in_chords
from cutroom.read.cutter import list_cutters, read_cutter
from cutroom.read.printer import list_printers, read_printer
from cutroom.read.profile import list_plotters, read_plotter
from cutroom.read.profile_files import CORRECTIONS, correction_of, names_a_file, own_folder
from cutroom.read.reading import listed
from cutroom.read.toml import load_toml
from cutroom.write.hpgl import write_hpgl
from cutroom.write.pdf import write_pdf

_KINDS: dict[type, str] = {Plotter: "marker-hpgl", Paper: "marker-pdf"}
MOST = 0.1
"""A machine may be out by this share at most; more is a wrong unit, not a machine to be put right."""


@dataclass(frozen=True, slots=True)
class Checked:
    """A calibration plot that was written: where it is, and how long its bars are meant to be (mm)."""

    path: Path
    along: float
    across: float


def read_machine(name: str) -> Plotter | Cutter | Paper:
    """A plotter, a cutter or the sheet of a printer, by its name or the path of its profile.

    Raises:
        ProfileError: There is no such machine, or its profile is wrong.
    """
    said = load_toml(Path(name)) if names_a_file(name) else {}
    if name in list_printers() or "paper" in said:
        return read_printer(name)
    if name in list_cutters() or "language" in said:
        return read_cutter(name)
    if name in list_plotters() or names_a_file(name):
        return read_plotter(name)
    known = listed([*list_plotters(), *list_cutters(), *list_printers()])
    raise ProfileError(
        f'there is no machine "{name}"', f"Write one of {known}, or the path of a profile", place="machine"
    )


def write_check(name: str, out: Path) -> Checked:
    """Write the calibration plot of a machine.

    Args:
        name: The machine.
        out: Folder for the file.

    Raises:
        CutroomError: There is no such machine, or it is too small.
    """
    machine = read_machine(name)
    drawing, data = _drawn_for(machine)
    kind = machine.language if isinstance(machine, Cutter) else _KINDS[type(machine)]
    path = out / f"{_name_of(machine)}-check{Path(ENDINGS[kind]).suffix}"
    put_file(path, data)
    return Checked(path, drawing.along, drawing.across)


def _name_of(machine: Plotter | Cutter | Paper) -> str:
    """The name of its profile."""
    return Path(machine.printer).stem if isinstance(machine, Paper) else machine.name


def _drawn_for(machine: Plotter | Cutter | Paper) -> tuple[Calibration, bytes]:
    if isinstance(machine, Plotter):
        return _for_plotter(machine)
    return _for_printer(machine) if isinstance(machine, Paper) else _for_cutter(machine)


def _for_printer(paper: Paper) -> tuple[Calibration, bytes]:
    """One upright sheet; along is its height, for that is the way it runs through the printer."""
    across, along = paper.correction
    wide, high = paper.width - 2 * paper.margin, paper.height - 2 * paper.margin
    name = _name_of(paper)
    drawing = calibration(high / along, wide / across, [1], title=name, place=f'printer "{name}"')
    strokes = []
    for mark in drawing.marks:
        x, y = mark.points.T
        page = np.column_stack((wide - y * across, x * along)) + paper.margin
        strokes.append(Stroke(Role.SHEET, page))
    return drawing, write_pdf(Plot(name, (0.0, 0.0), (paper.width, paper.height), tuple(strokes)))


def _for_plotter(plotter: Plotter) -> tuple[Calibration, bytes]:
    length, width = (
        side / factor for side, factor in zip((plotter.frame, plotter.width), plotter.correction, strict=True)
    )
    pens = sorted({number for number in plotter.pens.values() if number})
    drawing = calibration(length, width, pens, title=plotter.name, place=f'plotter "{plotter.name}"')
    runs = tuple(PenRun(mark.pen, in_plotter_units(mark.points * plotter.correction)) for mark in drawing.marks)
    return drawing, write_hpgl(Framed("check", (0,), (runs,)), plotter)


def _for_cutter(cutter: Cutter) -> tuple[Calibration, bytes]:
    """Each tool makes its own marks, tool after tool; marks are made twice only by the tool that is measured."""
    sides = np.subtract((cutter.length, cutter.width), cutter.origin) / cutter.correction
    tools = [tool for tool in cutter.tools if Role.CUT not in tool.roles] + [
        tool for tool in cutter.tools if Role.CUT in tool.roles
    ]
    numbers = list(range(len(tools)))
    drawing = calibration(float(sides[0]), float(sides[1]), numbers, title=cutter.name, place=f'cutter "{cutter.name}"')
    paths = []
    for number, tool in enumerate(tools):
        heading = 0.0
        for mark in (mark for mark in drawing.marks if mark.pen == number):
            runs, heading = lead(tool, mark.points, closed=False, heading=heading)
            for run in runs:
                points, bulges = np.add(run.points * cutter.correction, cutter.origin), run.bulges
                if not cutter.arcs:
                    points, bulges = in_chords(points, bulges, tool, cutter)
                paths.append(Toolpath(tool.name, points, bulges, Role.SHEET))
    return drawing, CUT_WRITERS[cutter.language](Toolpaths("check", tuple(paths)), cutter)


def store_correction(name: str, *, along: float | None, across: float | None) -> tuple[float, float]:
    """Store what was measured on a machine's calibration plot; every later file is put right by it.

    Args:
        name: The machine.
        along: What the bar along measured (mm), or None to leave that axis as it is.
        across: What the bar across measured.

    Returns:
        The factors along and across from now on.

    Raises:
        ProfileError: The measure is out by more than a machine can be.
        FileError: The factors cannot be stored.
    """
    machine = read_machine(name)
    drawing, _ = _drawn_for(machine)
    factors = []
    before = machine.correction[::-1] if isinstance(machine, Paper) else machine.correction
    for word, wanted, measured, old in (
        ("along", drawing.along, along, before[0]),
        ("across", drawing.across, across, before[1]),
    ):
        factor = old if measured is None else old * wanted / measured
        if not abs(factor - 1) <= MOST:
            raise ProfileError(
                f"the bar {word} should be {wanted:g} mm; {measured:g} mm would make it {factor:.3f} times as long",
                f"Check the unit: write {wanted:g}mm or {wanted / 25.4:.2f}in if it was right",
                place=word,
            )
        factors.append(round(factor, 6))
    _store(_name_of(machine), (factors[0], factors[1]))
    return factors[0], factors[1]


def forget_correction(name: str) -> None:
    """Take a machine as it is from now on.

    Raises:
        CutroomError: There is no such machine, or nothing can be stored.
    """
    _store(_name_of(read_machine(name)), (1.0, 1.0))


def _store(name: str, factors: tuple[float, float]) -> None:
    path = own_folder() / CORRECTIONS
    stored = {known: correction_of(known) for known in load_toml(path)} if path.is_file() else {}
    stored[name] = factors
    if '"' in name or "\n" in name:
        raise FileError("a profile's name cannot hold quotes", "Rename its file", name)
    rows = ["# Factors as measured on calibration plots; written by the program.\n"]
    for known, (along, across) in sorted(stored.items()):
        if (along, across) != (1.0, 1.0):
            rows.append(f'["{known}"]\nalong = {along:.6f}\nacross = {across:.6f}\n')
    put_file(path, "\n".join(rows).encode("utf-8"))
