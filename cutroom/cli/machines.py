"""Commands about machines and the files for them: which machines there are, and whether a file is still sound."""

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


def proof_command(
    path: Path,
    *,
    against: Path | None = None,
    machine: Annotated[str, Parameter(help="The plotter or cutter it is for: name or path of its profile.")] = "",
    paper: Annotated[str, Parameter(help="The paper that tiles are for: A4.")] = "",
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


def register(app: App) -> None:
    """Put these commands into the program."""
    app.command(cutters_command, name="cutters")
    app.command(proof_command, name="proof")
