"""The commands that send to machines, and the stand-in to send to."""

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter
from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn

from cutroom.cli.commands import app
from cutroom.report.times import clock

if TYPE_CHECKING:
    from cutroom.job.sending import Planned
    from cutroom.send.language import Contents
    from cutroom.send.sender import Progress as Sending

_MM = 1000.0


@app.command(name="send")
def send_command(
    file: Path,
    *,
    to: Annotated[
        str, Parameter(help="A profile with a [connection], or serial:, tcp:, spool:, file: an address, or -.")
    ],
    at: Annotated[str, Parameter(help="An address in place of the profile's.")] = "",
    plotter: Annotated[str, Parameter(help="A profile, when --to is an address: frames, end, speeds.")] = "",
    from_stroke: Annotated[int | None, Parameter(help="Begin with this stroke.")] = None,
    from_frame: Annotated[int | None, Parameter(help="Begin with this frame.")] = None,
    from_length: Annotated[str, Parameter(help="Begin at this length of paper: 3.2m, 126in.")] = "",
    resume: Annotated[bool, Parameter(help="Go on where the last sending broke off.", negative="")] = False,
    anew: Annotated[bool, Parameter(help="Begin at the beginning, whatever was sent before.", negative="")] = False,
    marks: Annotated[bool, Parameter(help="Draw registration crosses where it begins again.")] = True,
    check: Annotated[bool, Parameter(help="Say what would be sent, and send nothing.", negative="")] = False,
    unproven: Annotated[bool, Parameter(help="Send a file that nothing proves.", negative="")] = False,
    as_is: Annotated[bool, Parameter(help="Send the bytes without looking into them.", negative="")] = False,
    yes: Annotated[bool, Parameter(help="The cautions are read, and somebody stands by.", negative="")] = False,
) -> int:
    """Send a proven file to a machine, from its beginning or from where it broke off.

    Ctrl-C stops after the stroke, again gives up at once; Ctrl-Z pauses with the pen up.

    Parameters
    ----------
    file
        The file, beside the manifest.json that proves it.
    """
    from cutroom.job.hand import hand_on
    from cutroom.job.proven import taken
    from cutroom.job.sending import Wanted, plan_sending
    from cutroom.job.under_way import send_planned
    from cutroom.units import parse_length

    length = parse_length(from_length) if from_length else None
    wanted = Wanted(to, at, plotter, from_stroke, from_frame, length, resume, anew, marks, as_is)
    for name, number in (("--from-stroke", from_stroke), ("--from-frame", from_frame)):
        if number is not None and number < 1:
            _say(f"{name} is {number}. Count from 1.")
            return 2
    with taken(file) as copy:
        if copy.doubt is not None and not unproven:
            raise copy.doubt
        planned = plan_sending(copy, wanted)
        for words in planned.cautions if check or planned.may_move else ():
            _say(words)
        for words in _described(planned):
            _say(words)
        if check:
            return 0
        if planned.moves and not resume and not (yes or _agreed()):
            _say("Nothing was sent. Say --yes when the cautions are read and somebody stands by the machine.")
            return 1
        try:
            with hand_on() as hand, _shown(planned) as tell:
                sent = send_planned(planned, control=hand, tell=tell, say=_say)
        except KeyboardInterrupt:
            _say(f"Given up in the middle of the work. Go on with: cutroom send {file} --to {to} --resume")
            return 130
    if sent.whole:
        _say(f"Sent: {sent.strokes} strokes, {sent.byte} bytes, in {clock(sent.seconds)}.")
        return 0
    _say(f"Stopped after stroke {sent.strokes}. Go on with: cutroom send {file} --to {to} --resume")
    return 130


def _described(planned: "Planned") -> Iterator[str]:
    """What is sent, and how long it takes."""
    kind = planned.copy.kind or planned.language().name
    proof = "proven" if planned.copy.proven else "NOT proven"
    yield f"{planned.copy.path}: {kind}, {planned.copy.size} bytes, {proof}"
    if planned.contents and planned.contents.strokes:
        yield _holds(planned.contents)
    if planned.seconds is not None:
        yield f"about {clock(planned.seconds)} for the whole"
    if planned.start is None:
        yield "it begins where the last sending broke off"
    elif planned.start.byte:
        yield f"it begins with stroke {planned.start.strokes + 1}, in frame {planned.start.frame + 1}"
    where = planned.connection.address or "standard output"
    yield f"to {where} ({planned.connection.line})"


def _holds(contents: "Contents") -> str:
    reach = f"{contents.high / _MM:.2f} m of paper, " if contents.high > 0 else ""
    frames = f"{contents.frames} frame{'s' * (contents.frames != 1)}"
    return (
        f"{contents.strokes} strokes in {frames}, {reach}{contents.ink / _MM:.1f} m drawn, "
        f"{contents.travel / _MM:.1f} m between"
    )


def _agreed() -> bool:
    """Somebody at a terminal says yes."""
    if not sys.stdin.isatty():
        return False
    print("Type yes when they are read and somebody stands by the machine: ", end="", file=sys.stderr, flush=True)
    return sys.stdin.readline().strip().casefold() == "yes"


def _say(words: str) -> None:
    """Everything is said on standard error: standard output may be the line."""
    print(words, file=sys.stderr, flush=True)


@contextmanager
def _shown(planned: "Planned") -> Iterator[Callable[["Sending"], None] | None]:
    """Strokes, paper and time left, on a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    whole, total = planned.copy.size, planned.contents.strokes if planned.contents else 0
    first = planned.start.byte if planned.start else planned.before.done if planned.before else 0
    columns = (TextColumn("{task.description}"), BarColumn(), TextColumn("{task.fields[words]}"))
    with Progress(*columns, console=Console(stderr=True), transient=True) as bars:
        task = bars.add_task("sending", total=max(1, whole - first), words="")

        def tell(now: "Sending") -> None:
            done = max(0, now.bytes - first)
            drawn = now.strokes if now.drawn is None else now.drawn
            words = f"stroke {drawn}{f' of {total}' if total else ''}"
            if now.place > 0:
                words += f", {now.place / _MM:.2f} m of paper"
            if done > 0.02 * (whole - first) and now.seconds > 2:
                words += f", {clock(now.seconds * (whole - first - done) / done)} left"
            if now.state == "paused":
                words += "; paused: Enter to go on"
            bars.update(task, description=now.state, completed=done, words=words)

        yield tell


@app.command(name="stand-in")
def stand_in_command(
    *,
    listen: Annotated[str, Parameter(help="HOST:PORT of this computer; without it a serial port is made up.")] = "",
    memory: Annotated[int, Parameter(help="Bytes it holds.")] = 1024,
    baud: Annotated[int, Parameter(help="Speed of its line.")] = 9600,
    hurry: Annotated[float, Parameter(help="How much faster than a real machine.")] = 1.0,
    xon_xoff: Annotated[bool, Parameter(help="It says stop and go by XOFF and XON.", negative="")] = False,
    program: Annotated[bool, Parameter(help="It takes ISO 6983 programs instead of HPGL.", negative="")] = False,
    machine: Annotated[
        str, Parameter(help="The profile it stands in for: its language, its tools' words and its speeds.")
    ] = "",
    fault: Annotated[int | None, Parameter(help="Seed of something that goes wrong.")] = None,
    picture: Annotated[Path | None, Parameter(help="An SVG of what it drew.")] = None,
    compare: Annotated[Path | None, Parameter(help="A file that the drawing is held against.")] = None,
    frame: Annotated[float, Parameter(help="Length of a frame for the picture, in mm.")] = 3000.0,
    quiet_s: Annotated[
        float, Parameter(help="End after so many seconds in which nothing came and all is drawn.")
    ] = 10.0,
) -> int:
    """Stand in for a machine: take what is sent, draw it, say whether it is the file's. Ends when it is quiet.

    Nothing moves; it is for trying out a line, and what to do when something goes wrong.
    """
    from cutroom.job.files import put_file
    from cutroom.job.stand_in import judged, kind_of, opened_link
    from cutroom.standin.faults import fault_of
    from cutroom.standin.machine import Machine
    from cutroom.standin.picture import picture as draw
    from cutroom.standin.serve import serve

    if memory < 16 or baud < 1 or hurry <= 0 or quiet_s <= 0:
        _say("Give --memory 16 or more, and --baud, --hurry and --quiet-s above 0.")
        return 2
    taking = Machine(kind_of(machine, memory=memory, xon_xoff=xon_xoff, program=program))
    link = opened_link(listen)
    planted = None if fault is None else fault_of(fault, within=4000)
    print(f"{link.name}", flush=True)
    quiet = [time.monotonic()]

    def until(_ended: int) -> bool:
        if not taking.idle or not taking.drawn:
            quiet[0] = time.monotonic()
        return time.monotonic() - quiet[0] > quiet_s

    try:
        serve(link, taking, baud=baud, hurry=hurry, fault=planted, until=until, say=_say)
    except KeyboardInterrupt:
        pass
    finally:
        link.close()
        if picture is not None:
            put_file(picture, draw(taking.drawn, frame=frame))
    words, same = judged(taking, compare)
    print(words)
    return 0 if same else 1
