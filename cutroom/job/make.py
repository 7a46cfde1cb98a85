"""`make`: from a job file to a folder of proven files and its manifest."""

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from cutroom.errors import OrderError, ProofError, raise_all
from cutroom.job.files import drop_files, put_file
from cutroom.job.going_on import Started, read_started
from cutroom.job.interrupt import put_off
from cutroom.job.machines import Machines, find_machines
from cutroom.job.manifest import Written, manifest_bytes
from cutroom.job.markers import make_marker
from cutroom.job.output import (
    ENDINGS,
    PIECES,
    REPORT,
    Drawing,
    Output,
    draw,
    file_stems,
    make_marker_files,
    make_pieces_file,
)
from cutroom.job.pieces import Drafted, draft_order, prepare_order, read_order
from cutroom.job.sheets import legend, report_bytes
from cutroom.model.finding import Finding, Severity
from cutroom.model.lay import Counted, Lay
from cutroom.model.marker import Marker
from cutroom.model.order import Order
from cutroom.model.prepared import PreparedPiece
from cutroom.nest.problem import Progress
from cutroom.nest.warm import FIRST_RUN, is_warm, start_warming, warm_strokes
from cutroom.plan.count import check_count, cut_list
from cutroom.plan.lays import plan_lays
from cutroom.prepare.check import check_labels
from cutroom.proof.marker import prove_marker
from cutroom.report.cautions import first_run
from cutroom.report.sending import FOR_ANY_MACHINE
from cutroom.units import Unit, in_words
from cutroom.write.svg import write_svg


@dataclass(frozen=True, slots=True)
class Stage:
    """Where the work is, for whoever waits.

    Attributes:
        words: What is being done now.
        fabric: The fabric being laid, or empty.
        progress: How its laying goes, or None.
        lay: What is being laid, whose pieces the progress has the places of, or None.
    """

    words: str
    fabric: str = ""
    progress: Progress | None = None
    lay: Lay | None = None


Tell = Callable[[Stage], None]


@dataclass(frozen=True, slots=True, eq=False)
class Made:
    """What `make` made.

    Attributes:
        folder: Where the files are.
        manifest: The manifest's bytes.
        markers: The markers.
        written: The files, sound and refused.
        counted: The cut list.
        findings: Everything that was found on the way.
        unit: The unit people see.
        stopped: The search was broken off by hand.
        cautions: What to mind before the machines run the files for the first time.
    """

    folder: Path
    manifest: bytes
    markers: tuple[Marker, ...]
    written: tuple[Written, ...]
    counted: tuple[Counted, ...]
    findings: tuple[Finding, ...]
    unit: Unit
    stopped: bool
    cautions: tuple[str, ...] = ()

    @property
    def exit_code(self) -> int:
        """0 done, 3 a proof refused a file, 130 stopped by hand after saving the best."""
        if any(not file.passed for file in self.written):
            return 3
        return 130 if self.stopped else 0


def make(
    job: Path,
    out: Path,
    *,
    seconds: float = 10.0,
    seed: int = 1,
    tries: int | None = None,
    go_on_from: Sequence[Path] = (),
    tell: Tell | None = None,
) -> Made:
    """Run the whole chain.

    Args:
        job: The job file.
        out: The folder that the files go to.
        seconds: Time until the markers stand, reading and drafting included, shared between the fabrics (s).
        seed: Seed of the search.
        tries: Arrangements to try for each fabric, whatever the clock says; None for as many as the time allows.
        go_on_from: Markers to go on from, each for the fabric of its name; before those that the job names.
        tell: Told where the work is.

    Returns:
        What was made. A file that its proof refuses is left as `name.refused`.

    Raises:
        CutroomError: The job cannot be done with this input; nothing has been written.
    """
    say: Tell = tell or _quiet
    start = time.monotonic()
    start_warming()
    say(Stage("reading the job"))
    order = read_order(job)
    machines = find_machines(order.outputs, order.unit)
    if machines.all_of_them:
        warm_strokes()
    started = read_started(order, go_on_from)
    say(Stage("drafting"))
    drafted = draft_order(order)
    _stop_for(order, drafted.findings)
    say(Stage("preparing the pieces"))
    pieces = prepare_order(order, drafted)
    lays = plan_lays(order.garments, order.fabrics, pieces)
    with ThreadPoolExecutor(1) as aside:  # needs no marker, and the laying leaves a core free
        loose = aside.submit(make_pieces_file, order, pieces)
        left = max(0.0, seconds - (time.monotonic() - start))
        markers, stopped = _lay_all(order, lays, started, left, seed, tries, say)
    with put_off() as pressed:  # what has been laid is written, even when Ctrl-C comes now
        made = _file_all(out, order, machines, drafted, pieces, markers, loose.result(), say)
    return replace(made, stopped=stopped or pressed.times > 0)


def _file_all(
    out: Path,
    order: Order,
    machines: Machines,
    drafted: Drafted,
    pieces: tuple[PreparedPiece, ...],
    markers: tuple[Marker, ...],
    loose: Output | None,
    say: Tell,
) -> Made:
    """Count, check, write and prove; nothing is put in the folder before all of it is known."""
    counted = cut_list(order.garments, order.fabrics, pieces, _laid(markers))
    counts = check_count(counted, order.fabrics)
    laid = tuple(finding for marker in markers for finding in prove_marker(marker))
    raise_all(
        [
            *(OrderError(f.what, f.fix, order.file, f.place) for f in counts if f.severity is Severity.STOP),
            *(ProofError(f.what, f.fix, order.file, f.place) for f in laid if f.severity is Severity.STOP),
        ]
    )
    stems = file_stems([marker.name for marker in markers])
    drawings = [
        draw(marker, title=order.title, legend=legend(order, marker), stem=stem)
        for marker, stem in zip(markers, stems, strict=True)
    ]
    outputs = [loose] if loose is not None else []
    outputs += make_marker_files(order, pieces, drawings, machines, tell=lambda words: say(Stage(words)))
    proven = (finding for output in outputs for finding in output.written.findings)
    words = partial(in_words, unit=order.unit)
    nested = (finding.spoken(words) for marker in markers for finding in marker.findings)
    findings = (*drafted.findings, *check_labels(pieces), *counts, *laid, *nested, *_boxes_only(markers), *proven)
    made = Made(
        out, b"", markers, tuple(output.written for output in outputs), counted, findings, order.unit, stopped=False
    )  # fmt: skip
    if REPORT[1] in order.outputs.kinds:
        page = _report(order, drafted, made, drawings, outputs, machines)
        outputs.append(page)
        made = replace(made, written=(*made.written, page.written))
    for_any = not machines.cutters and any(kind in FOR_ANY_MACHINE for kind in order.outputs.kinds)
    made = replace(made, cautions=first_run(machines.all_of_them, for_any=for_any))
    return _put_all(order, made, outputs, stems, machines)


def _boxes_only(markers: tuple[Marker, ...]) -> Iterator[Finding]:
    for marker in markers:
        if marker.tries == 0:
            yield Finding(
                Severity.WARN,
                f'fabric "{marker.name}"',
                "the pieces were laid by their boxes alone: the time was over before anything better could be tried "
                "(the first run on a machine spends it on getting ready)",
                "Run it again, or give it more seconds, for less cloth",
            )


def _quiet(_: Stage) -> None:
    """Say nothing."""


def _stop_for(order: Order, findings: tuple[Finding, ...]) -> None:
    """Findings that would spoil cloth end the work, unless the job says to go on."""
    if order.outputs.go_on:
        return
    raise_all(
        OrderError(finding.what, f'{finding.fix}, or say "go_on = true" under [write]', order.file, finding.place)
        for finding in findings
        if finding.severity is Severity.STOP
    )


def _lay_all(
    order: Order,
    lays: tuple[Lay, ...],
    started: Mapping[str, Started],
    seconds: float,
    seed: int,
    tries: int | None,
    say: Tell,
) -> tuple[tuple[Marker, ...], bool]:
    """Every lay as a marker; broken off by hand, the rest are laid once and no more."""
    markers: list[Marker] = []
    stopped = False
    for lay in lays:
        name = lay.fabric.name
        words = f"laying {len(lay.wanted)} pieces on {name}"
        say(Stage(words if is_warm() else f"{FIRST_RUN}; then {words}", name))

        def progress(part: Lay, progress: Progress, name: str = name) -> None:
            say(Stage("laying", name, progress, part))

        marker, layout = make_marker(
            lay,
            seconds=seconds / len(lays),
            seed=seed,
            tries=1 if stopped else tries,
            started=started.get(name),
            progress=progress,
            file=order.file,
        )
        markers.append(marker)
        stopped = stopped or layout.stopped
    return tuple(markers), stopped


def _laid(markers: tuple[Marker, ...]) -> dict[tuple[str, str, str], tuple[int, int]]:
    found: dict[tuple[str, str, str], tuple[int, int]] = {}
    for marker in markers:
        for placement in marker.placements:
            drawn, flipped = found.get(placement.key, (0, 0))
            found[placement.key] = (drawn + (not placement.flipped), flipped + placement.flipped)
    return found


def _report(
    order: Order, drafted: Drafted, made: Made, drawings: list[Drawing], outputs: list[Output], machines: Machines
) -> Output:
    pictures = {
        output.written.marker: output.data.decode() for output in outputs if output.written.kind == "marker-svg"
    }
    for drawing in drawings:
        if drawing.marker.name not in pictures:
            pictures[drawing.marker.name] = write_svg(drawing.plot).decode()
    data = report_bytes(
        order, drafted, made.markers, made.counted, made.findings, made.written, pictures, machines.scale
    )  # fmt: skip
    return Output(REPORT[0], data, Written(REPORT[0], REPORT[1], "", "a sheet for people", None, passed=True))


def _put_all(order: Order, made: Made, outputs: list[Output], stems: tuple[str, ...], machines: Machines) -> Made:
    """Clear what an earlier run left, put the new files, the manifest last."""
    names = [f"{stem}-{ending}" for stem in stems for ending in ENDINGS.values()]
    drop_files(made.folder, (*names, PIECES[0], REPORT[0], "manifest.json"))
    written = tuple(
        replace(output.written, sha256=put_file(made.folder / output.name, output.data)) for output in outputs
    )
    manifest = manifest_bytes(order, made.markers, written, made.counted, made.findings, machines)
    put_file(made.folder / "manifest.json", manifest)
    return replace(made, written=written, manifest=manifest)
