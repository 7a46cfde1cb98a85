"""Commands about machines and the files for them: which machines there are, and whether a file is still sound."""

import sys
from pathlib import Path
from typing import Annotated

from cyclopts import App, Parameter


def cutters_command() -> int:
    """List the cutters that a job file may name."""
    from cutroom.read.cutter import list_cutters, read_cutter

    for name in list_cutters():
        cutter = read_cutter(name)
        tools = ", ".join(f"{tool.name} ({tool.kind})" for tool in cutter.tools)
        print(f"{name:24} {cutter.title}; bed {cutter.length:g} x {cutter.width:g} mm; {tools}; {cutter.language}")
    return 0


def printers_command() -> int:
    """List the desktop printers that a job may name in place of a paper."""
    from cutroom.read.printer import list_printers, read_printer

    for name in list_printers():
        sheet = read_printer(name)
        size = f"{sheet.width:g} x {sheet.height:g} mm"
        print(f"{name:24} {sheet.name}, {size}; margins {sheet.margin:g} mm, overlap {sheet.overlap:g} mm")
    return 0


def proof_command(
    path: Path,
    *,
    against: Path | None = None,
    machine: Annotated[str, Parameter(help="The plotter or cutter it is for: name or path of its profile.")] = "",
    paper: Annotated[str, Parameter(help="The paper or the printer that tiles are for: A4.")] = "",
    kind: Annotated[str, Parameter(help="Kind of the file, where it cannot be told from its bytes.")] = "",
) -> int:
    """Prove a folder of files again by its manifest, or one file that came back from elsewhere against a marker.

    Parameters
    ----------
    path
        A manifest.json or its folder; with --against, the file.
    against
        The marker that the file must be of: a file of the kind marker-json.
    """
    from cutroom.job.proving import prove_against, prove_folder

    if against is None:
        rows = prove_folder(path)
    else:
        rows = (prove_against(path, against, machine=machine, paper=paper, kind=kind),)
    for row in rows:
        far = "" if row.deviation is None else f"; largest deviation {row.deviation:.4f} mm"
        print(f"{'proven ' if row.passed else 'REFUSED'} {row.path} ({row.kind}): {row.compared}{far}")
        for finding in row.findings:
            print(f"        {finding}")
    return 0 if all(row.passed for row in rows) else 3


profile_app = App(name="profile", help="Measure a machine and put it right.")


@profile_app.command(name="check")
def check_command(name: str, *, out: Path = Path()) -> int:
    """Write a calibration plot: bars, a square with its diagonals, marks made twice, pen crosses.

    Parameters
    ----------
    name
        The plotter, cutter or printer, or the path of its profile.
    out
        The folder for the file.
    """
    from cutroom.job.calibrating import read_machine, write_check
    from cutroom.model.profile import Paper
    from cutroom.report.cautions import first_run

    checked = write_check(name, out)
    print(checked.path)
    machine = read_machine(name)
    for words in first_run([] if isinstance(machine, Paper) else [machine]):
        print(words)
    if isinstance(machine, Paper):
        print("Print it at 100 %, actual size; never let the printer fit it to the page.")
    print(
        f"Measure the bar along the bed or the paper ({checked.along:g} mm) and the bar across ({checked.across:g} mm)."
    )
    print("Both diagonals of the square must be of one length, and the marks that were made twice must look like one.")
    print(f"Then: cutroom profile correct {name} --along MEASURED --across MEASURED")
    return 0


@profile_app.command(name="correct")
def correct_command(
    name: str,
    *,
    along: Annotated[str, Parameter(help='What the bar along measures, with its unit: 998.5mm or "39 5/16 in".')] = "",
    across: Annotated[str, Parameter(help="What the bar across measures.")] = "",
    forget: Annotated[bool, Parameter(help="Take the machine as it is from now on.", negative="")] = False,
) -> int:
    """Store what was measured on a calibration plot; every later file for the machine is put right by it.

    Parameters
    ----------
    name
        The plotter, cutter or printer, or the path of its profile.
    """
    from cutroom.job.calibrating import forget_correction, store_correction
    from cutroom.units import parse_length

    if forget:
        forget_correction(name)
        print(f"{name} is taken as it is.")
        return 0
    if not along and not across:
        print("Nothing was measured. Give --along and --across, or --forget.", file=sys.stderr)
        return 2
    factors = store_correction(
        name, along=parse_length(along) if along else None, across=parse_length(across) if across else None
    )
    print(f"{name}: from now on {factors[0]:.6f} times along and {factors[1]:.6f} times across.")
    print("Write its calibration plot again and measure once more.")
    return 0


def register(app: App) -> None:
    """Put these commands into the program."""
    app.command(cutters_command, name="cutters")
    app.command(printers_command, name="printers")
    app.command(proof_command, name="proof")
    app.command(profile_app)
