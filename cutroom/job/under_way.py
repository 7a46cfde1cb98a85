"""A planned sending, carried out."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import replace

from cutroom.errors import FileError
from cutroom.job.sending import Planned, rewound, written_whole
from cutroom.model.profile import Flow
from cutroom.send.clock import WallClock
from cutroom.send.flow import Asked, Gauge, gauge_of
from cutroom.send.items import Start, begun_at
from cutroom.send.journal import Journal, journal_of
from cutroom.send.language import Stop, contents_of
from cutroom.send.lines import opened
from cutroom.send.resume import Found, Standing, ask_place, begun, find_start
from cutroom.send.sender import Control, Progress, Sender, Sent
from cutroom.send.transport import Clock, Transport


def send_planned(
    planned: Planned,
    *,
    control: Control | None = None,
    tell: Callable[[Progress], None] | None = None,
    say: Callable[[str], None] = lambda _: None,
    clock: Clock | None = None,
) -> Sent:
    """Send what was planned.

    Args:
        planned: What and where to.
        control: Where wishes come from.
        tell: Told how far it is.
        say: Told what a person must know: what is in doubt, how the crosses are used.
        clock: The time; the wall clock when nothing is said.

    Raises:
        DeviceError: The machine is not there, taken, or broke off.
        FileError: It cannot be begun where it was asked for.
        KeyboardInterrupt: It was given up.
    """
    journal = None if written_whole(planned.connection) else Journal(journal_of(planned.copy.path))
    line = opened(planned.connection, job=planned.copy.path.name)
    try:
        return send_along(planned, line, journal, control=control, tell=tell, say=say, clock=clock or WallClock())
    finally:
        if journal is not None:
            journal.close()


def send_along(
    planned: Planned,
    line: AbstractContextManager[Transport],
    journal: Journal | None,
    *,
    control: Control | None,
    tell: Callable[[Progress], None] | None,
    say: Callable[[str], None],
    clock: Clock,
) -> Sent:
    """Send what was planned along a line, which is opened only when it is known that it can be begun.

    Args:
        planned: What to send.
        line: Opens the line, and closes it.
        journal: What the sending is written down in, or None where none is needed; its records are those before it.
        control: As for `send_planned`.
        tell: The same.
        say: The same.
        clock: The same.

    Raises:
        DeviceError: As for `send_planned`.
        FileError: The same.
        KeyboardInterrupt: The same.
    """
    if planned.before is not None and planned.before.memory and planned.connection.buffer_bytes is None:
        planned = replace(planned, connection=replace(planned.connection, buffer_bytes=planned.before.memory))
    start = planned.start
    if start is None and planned.connection.flow is not Flow.ENQUIRY:
        start = _after_a_break(planned, None, journal, say)
    with line as open_line:
        gauge = gauge_of(open_line, planned.connection, clock)
        if start is None:
            start = _after_a_break(planned, gauge, journal, say)
        gauge.start()
        return _run(planned, open_line, gauge, start, journal, clock, control, tell, say)


def _run(
    planned: Planned,
    line: Transport,
    gauge: Gauge,
    start: Start,
    journal: Journal | None,
    clock: Clock,
    control: Control | None,
    tell: Callable[[Progress], None] | None,
    say: Callable[[str], None],
) -> Sent:
    connection = planned.connection
    if journal is not None:
        memory = gauge.memory if isinstance(gauge, Asked) else connection.buffer_bytes
        before = planned.before if planned.wanted.resume else None
        rested = before is not None and before.rested == start.byte
        journal.note(begun(planned.copy.sha256, start, memory, done=before.done if before and rested else None))
    language = planned.language()
    contents = planned.contents or contents_of(())
    marks = planned.wanted.marks and not planned.cuts
    try:
        head, items = begun_at(rewound(planned.copy), language, contents, start, marks=marks)
    except FileError as fault:
        raise fault.at(file=str(planned.copy.path)) from fault
    if start.byte or planned.wanted.resume or planned.wanted.place:
        say(_how_to_lay(start, crosses=b"PD" in head, cuts=planned.cuts))
    sender = Sender(line, connection, gauge, clock=clock, journal=journal, control=control, tell=tell)
    sent = sender.run(head, items, language, end=planned.device.end if planned.device else "")
    if sent.whole or not written_whole(connection):
        until = clock.now() + connection.patience_s
        while not line.finish(connection.answer_s) and clock.now() < until:
            pass
    return sent


def _how_to_lay(start: Start, *, crosses: bool, cuts: bool) -> str:
    """How the paper must lie when it is not the beginning, or not the first time that it is begun."""
    lay = f"Lay the paper so that the start line of frame {start.frame + 1} is where the machine begins"
    if crosses:
        return (
            f"{lay}. Crosses are drawn first, their middle 5 mm past that line at both its ends: when they do not "
            "stand there on the old drawing, stop (Ctrl-C) and lay it anew."
        )
    if cuts:
        return f"{lay}. No crosses are cut: see where the lifted tool stands first, and stop (Ctrl-C) when it is wrong."
    return f"{lay}."


def _after_a_break(planned: Planned, gauge: Gauge | None, journal: Journal | None, say: Callable[[str], None]) -> Start:
    """Where to go on after a sending that broke off; what is in doubt is said."""
    before = planned.before
    assert before is not None

    def place() -> Stop | None:
        if not isinstance(gauge, Asked):
            return None
        say("The machine draws what it still holds.")
        stop = ask_place(gauge)
        if stop is None and journal is not None:
            journal.note({"what": "off"})
        return stop

    if isinstance(gauge, Asked):
        gauge.memory = before.memory or gauge.memory
    found = find_start(rewound(planned.copy), planned.language(), before, place)
    _look_first(planned, before, found)
    if gauge is None and before.rested is None:
        say("A machine that cannot be asked may hold half a command: switch it off and on before it is sent anything.")
    if found.doubt is not None:
        first, last = found.doubt
        say(
            f"Strokes {first} to {last} went to the machine and may be drawn already, or wrong: they are drawn "
            "(again), so that none is missing. Look at them."
        )
    return found.start


def _look_first(planned: Planned, before: Standing, found: Found) -> None:
    """Where only eyes can tell, a person must say where to go on."""
    asked = planned.connection.flow is Flow.ENQUIRY
    if not asked and before.memory is None and found.doubt is not None:
        raise FileError(
            f"nobody knows how much the machine can hold, so strokes {found.doubt[0]} to {found.doubt[1]} are in doubt",
            "Look which stroke is the last one drawn and say --from-stroke, or --from-length; buffer_bytes in "
            "[connection] of its profile would tell",
            file=str(planned.copy.path),
        )
    if found.moved:
        frame, stroke = found.start.frame + 1, found.start.strokes + 1
        raise FileError(
            f"the paper may have moved on after frame {frame}, or not",
            f"Look: if it has and frame {frame} is whole, say --from-frame {frame + 1}; if not, --from-stroke {stroke}",
            file=str(planned.copy.path),
        )
