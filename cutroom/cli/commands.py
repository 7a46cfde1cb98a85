"""The command line: arguments, progress, exit codes; no rule of the trade.

Exit codes: 0 done; 1 cannot be done with this input; 2 usage; 3 a proof refused a file; 130 stopped by Ctrl-C after
saving the best so far.
"""

import gc
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import App, CycloptsError, Parameter

from cutroom import __version__
from cutroom.cli import machines
from cutroom.errors import CutroomError, FaultsError

if TYPE_CHECKING:
    from cutroom.job.make import Made

SHOWN = 20
"""Faults shown at once; the rest are counted."""

app = App(
    name="cutroom",
    help="From body measurements to proven files for the plotter, the printer and the cutter.",
    version=__version__,
    version_flags=["--version"],
    help_format="plaintext",
)


machines.register(app)


@app.command(name="make")
def make_command(
    job: Path,
    *,
    out: Path,
    seconds: Annotated[float, Parameter(help="Time until the markers stand, in seconds.")] = 10.0,
    seed: Annotated[int, Parameter(help="Seed of the search; the same seed and tries give the same bytes.")] = 1,
    tries: Annotated[int | None, Parameter(help="Arrangements to try for each fabric.")] = None,
    go_on_from: Annotated[
        list[Path] | None,
        Parameter("--from", help="A marker (...-marker.json) to go on from; once for each fabric.", negative=""),
    ] = None,
    json: Annotated[bool, Parameter(help="Print the manifest instead of words.", negative="")] = False,
) -> int:
    """Draft, prepare, lay, write and prove everything that a job file asks for.

    Parameters
    ----------
    job
        The job file.
    out
        The folder for the files; it is made when missing.
    """
    from cutroom.cli.progress import shown_progress
    from cutroom.job.make import make

    if _too_little(seconds, tries, seed):
        return 2
    with shown_progress(seconds) as tell:
        made = make(job, out, seconds=seconds, seed=seed, tries=tries, go_on_from=go_on_from or (), tell=tell)
    if json:
        print(made.manifest.decode(), end="")
    else:
        _say_made(made)
    return made.exit_code


@app.command(name="check")
def check_command(job: Path, *, out: Path | None = None) -> int:
    """Draft a job and walk its seams: lengths, ease, and what would have to be put right.

    Parameters
    ----------
    job
        The job file.
    out
        A folder for a sheet of every style with the findings marked where they are; without it nothing is written.
    """
    from cutroom.job.check import check_text, draw_check

    if out is not None:  # first: it shows pieces too that cannot be prepared, which ends the text
        for path in draw_check(job, out):
            print(path)
    text, stops = check_text(job)
    print(text)
    return 1 if stops else 0


@app.command(name="draft")
def draft_command(
    job: Path,
    *,
    out: Path,
    scale: Annotated[float | None, Parameter(help="4 for a quarter of full size; 1 when nothing is said.")] = None,
    construction: Annotated[bool, Parameter(help="Draw the lines it was constructed by.")] = True,
    nested: Annotated[bool, Parameter(help="The sizes of each style on top of each other; 1:4.", negative="")] = False,
    meet: Annotated[str, Parameter(help="Lay nested sizes together where this edge starts.")] = "",
) -> int:
    """Write a sheet of every style: edges, lengths, allowances, notches, construction lines, findings.

    Parameters
    ----------
    job
        The job file.
    out
        The folder for the sheets; it is made when missing.
    """
    from cutroom.job.check import draw_drafts, draw_nested

    if scale is not None and not 1 <= scale <= 20:
        print(f"The scale is {scale:g}. Give --scale 1 (full size) up to --scale 20.", file=sys.stderr)
        return 2
    if nested:
        paths = draw_nested(job, out, scale=scale or 4.0, meet=meet)
    else:
        paths = draw_drafts(job, out, scale=scale or 1.0, construction=construction)
    for path in paths:
        print(path)
    return 0


@app.command(name="price")
def price_command(
    job: Path,
    *,
    seconds: Annotated[float, Parameter(help="Time for all markers together, in seconds.")] = 60.0,
    seed: Annotated[int, Parameter(help="Seed of the searches.")] = 1,
    tries: Annotated[int | None, Parameter(help="Arrangements to try for each marker.")] = None,
    json: Annotated[bool, Parameter(help="Print figures instead of words.", negative="")] = False,
) -> int:
    """Say what each rule of the cloth costs, in length and money, and which width is the best; nothing is written.

    Parameters
    ----------
    job
        The job file.
    """
    from cutroom.cli.progress import shown_progress
    from cutroom.job.pricing import price, pricing_bytes
    from cutroom.report.price_table import price_lines

    if _too_little(seconds, tries, seed):
        return 2
    with shown_progress(seconds) as tell:
        pricing = price(job, seconds=seconds, seed=seed, tries=tries, tell=tell)
    if json:
        print(pricing_bytes(pricing).decode(), end="")
        return 130 if pricing.stopped else 0
    for priced in pricing.fabrics:
        for line in price_lines(priced, pricing.unit, pricing.seed):
            print(line)
        print()
    if pricing.stopped:
        print("Stopped by hand: what had not been begun is left out.")
        return 130
    return 0


@app.command(name="square")
def square_command(measured: str) -> int:
    """Judge a printed 100 mm test square: what its scale would do to a garment, and what puts it right.

    Parameters
    ----------
    measured
        What it measures, with its unit: 97mm, 9.7cm or "3 7/8 in".
    """
    from cutroom.model.finding import Severity
    from cutroom.report.scale import judge_square
    from cutroom.units import parse_length

    verdict = judge_square(parse_length(measured))
    for words in verdict.words:
        print(words)
    print(f"{verdict.severity.upper()}: {verdict.finding.fix}.")
    return 1 if verdict.severity is Severity.STOP else 0


@app.command(name="plotters")
def plotters_command() -> int:
    """List the plotters that a job file may name."""
    from cutroom.read.profile import list_plotters, read_plotter

    for name in list_plotters():
        plotter = read_plotter(name)
        print(f"{name:24} {plotter.title}; draws {plotter.width:g} mm wide, {plotter.frame:g} mm in one frame")
    return 0


def _too_little(seconds: float, tries: int | None, seed: int) -> bool:
    """Whether the searches are given less than nothing, or no number, after saying so."""
    from cutroom.nest.limits import out_of_range

    if words := out_of_range(seconds, tries, seed):
        print(words, file=sys.stderr)
    return bool(words)


def _say_made(made: "Made") -> None:
    from cutroom.job.sheets import cut_lines
    from cutroom.report.cut_list import cut_list_text
    from cutroom.report.figures import saving_left, utilisation
    from cutroom.report.times import in_words
    from cutroom.units import length_words

    print(cut_list_text(tuple(cut_lines(made.counted, [piece for one in made.markers for piece in one.pieces]))))
    for marker in made.markers:
        long, wide = (length_words(size, made.unit) for size in (marker.length, marker.width))
        line = f"{marker.name}: {long} of {wide}, {utilisation(marker):.1%} used"
        if marker.boxes_length is not None and marker.boxes_length > marker.length:
            line += f"; {length_words(marker.boxes_length - marker.length, made.unit)} saved against boxes"
        if left := float(saving_left(marker)):
            line += f"; at most {length_words(left, made.unit)} more could be saved"
        elif marker.bound is not None:
            line += "; no marker of these pieces by these rules can be shorter"
        print(f"{line} ({marker.tries} arrangements tried)")
    for finding in made.findings:
        print(finding)
    for file in made.written:
        time = "" if file.time is None else f"; {in_words(file.time)}"
        print(f"{'proven ' if file.passed else 'REFUSED'} {made.folder / file.path}: {file.compared}{time}")
    print(f"        {made.folder / 'manifest.json'}")
    if made.stopped:
        print("Stopped by hand: the best marker so far was written.")
    print("Measure the printed test square in both directions before you cut cloth.")
    for caution in made.cautions:
        print(caution)


def main(arguments: list[str] | None = None) -> int:
    """Run a command.

    Args:
        arguments: Words after the program's name; None for those of this process.

    Returns:
        The exit code.
    """
    try:
        result = app(
            arguments, exit_on_error=False, print_error=True, result_action="return_value"
        )  # fmt: skip
    except CycloptsError:
        return 2
    except CutroomError as fault:
        _say_faults(fault)
        return fault.exit_code
    except KeyboardInterrupt:
        print("Stopped by hand before anything was laid. Nothing was written.", file=sys.stderr)
        return 130
    except BrokenPipeError:
        return 0
    return result if isinstance(result, int) else 0


def _say_faults(fault: CutroomError) -> None:
    faults = fault.faults if isinstance(fault, FaultsError) else (fault,)
    for one in faults[:SHOWN]:
        print(one, file=sys.stderr)
    if len(faults) > SHOWN:
        print(f"... and {len(faults) - SHOWN} more.", file=sys.stderr)


def run() -> None:
    """The program: run a command and end the process with its exit code."""
    code = main()
    gc.freeze()  # the process ends now: looking through all its memory for rubbish first would take a second
    sys.exit(code)
