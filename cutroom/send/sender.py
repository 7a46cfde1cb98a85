"""The sender: passages to a machine, one after the other, and a journal of them.

Bytes of a passage may be cut anywhere, for a small memory must be fed in small bites; but the work rests, stops and
begins again only between passages. Before bytes go out the journal says up to where they may; what the machine has
surely carried out is written with the next bite. So after any crash the passages in doubt are known.
"""

from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from cutroom.errors import DeviceError
from cutroom.model.profile import Connection, Line
from cutroom.send.flow import FILES, Asked, DamageError, Gauge, SwitchedOffError
from cutroom.send.journal import Journal
from cutroom.send.language import Language, Passage
from cutroom.send.transport import Clock, Transport

_BITE = 256
"""Bytes that go out at once on a serial line; more where a line is fast."""
_BITE_FAST = 16384
_AHEAD_FAST = 1 << 16
"""Bytes that the journal says may go out at once on a fast line."""
_WAIT_S = 0.25
_TOLD_S = 0.1


class Wish(StrEnum):
    """What the person at the machine wants."""

    GO = "go"
    PAUSE = "pause"
    STOP = "stop"
    GIVE_UP = "give up"  # at once, in the middle of a stroke


class State(StrEnum):
    """What the sender is doing."""

    SENDING = "sending"
    WAITING = "waiting"
    PAUSED = "paused"
    STOPPING = "stopping"
    ENDING = "ending"  # all is sent; the machine is still at it


@dataclass(frozen=True, slots=True)
class Progress:
    """How far it is.

    Attributes:
        state: What is being done.
        strokes: Strokes handed over.
        drawn: Strokes that are surely drawn, or None when nobody knows.
        place: Greatest place along the paper that was handed over (mm).
        bytes: Bytes of the file handed over or left out.
        seconds: Since it began (s).
    """

    state: State
    strokes: int
    drawn: int | None
    place: float
    bytes: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Sent:
    """How it ended.

    Attributes:
        whole: All was sent; otherwise it was stopped at a resting place.
        byte: Bytes of the file up to that place.
        strokes: Strokes up to it.
        seconds: Time it took (s).
    """

    whole: bool
    byte: int
    strokes: int
    seconds: float


class Control(Protocol):
    """Where wishes come from."""

    def wish(self) -> Wish:
        """What is wanted now."""


@dataclass(frozen=True, slots=True)
class Item:
    """A passage in its file.

    Attributes:
        passage: The passage.
        byte: Bytes of the file up to its end.
        strokes: Strokes up to its end.
    """

    passage: Passage
    byte: int
    strokes: int


class Sender:
    """One sending."""

    def __init__(
        self,
        line: Transport,
        connection: Connection,
        gauge: Gauge,
        *,
        clock: Clock,
        journal: Journal | None = None,
        control: Control | None = None,
        tell: Callable[[Progress], None] | None = None,
    ) -> None:
        """Take all that is needed.

        Args:
            line: The open line.
            connection: How patient to be.
            gauge: How full the machine is.
            clock: The time.
            journal: Where to write down what is sent, or None for files, which are whole or not there.
            control: Where wishes come from.
            tell: Told how far it is.
        """
        self._line, self._connection, self._gauge, self._clock = line, connection, gauge, clock
        self._journal, self._control, self._tell = journal, control, tell
        serial = connection.line is Line.SERIAL
        self._bite = _BITE if serial else _BITE_FAST
        self._stride = 0 if serial else _AHEAD_FAST
        self._handed = 0
        self._ends: deque[tuple[int, Item]] = deque()
        self._done: Item | None = None
        self._seen: Item | None = None
        self._last: Item | None = None
        self._place = 0.0
        self._ahead = -1
        self._waiting = bytearray()
        self._began = clock.now()
        self._told = -1.0
        self._state = State.SENDING

    def run(self, head: bytes, items: Iterable[Item], language: Language, *, end: str) -> Sent:
        """Send.

        Args:
            head: What sets the machine first.
            items: What to send.
            language: What it is in.
            end: The profile's words at the end of a file, for when it is stopped.

        Returns:
            How it ended. The line is not finished when it was stopped and is a file.

        Raises:
            DeviceError: The machine is gone, or takes nothing for longer than its patience.
            KeyboardInterrupt: It was given up.
        """
        self._waiting += head
        opened = False
        for item in items:
            match self._wish():
                case Wish.STOP if language.rests:
                    return self._stop(language, end)
                case Wish.PAUSE if language.rests and not self._pause(language):
                    return self._stop(language, end)
                case _:
                    pass
            self._waiting += item.passage.data
            if not opened:
                self._open(language)
                opened = True
            elif item.passage.resets:
                self._gauge.forgive()
            self._last = item
            self._place = max(self._place, item.passage.high)
            self._ends.append((self._handed + len(self._waiting), item))
            if len(self._waiting) >= self._bite:
                self._hand_over()
        self._hand_over()
        self._drain()
        if self._journal is not None:
            self._journal.note({"what": "whole"})
        self._say(State.ENDING, at_once=True)
        return self._sent(whole=True)

    def _open(self, language: Language) -> None:
        """What only sets the machine goes out first, so that it can be asked before anything is drawn."""
        cut = language.opening(bytes(self._waiting))
        if not cut or not isinstance(self._gauge, Asked):
            return
        rest = bytes(self._waiting[cut:])
        del self._waiting[cut:]
        self._hand_over()
        self._check()
        self._waiting += rest

    def _sent(self, *, whole: bool) -> Sent:
        last = self._last
        seconds = self._clock.now() - self._began
        return Sent(whole, last.byte if last else 0, last.strokes if last else 0, seconds)

    def _wish(self) -> Wish:
        wish = self._control.wish() if self._control else Wish.GO
        if wish is Wish.GIVE_UP:
            raise KeyboardInterrupt
        return wish

    def _hand_over(self) -> None:
        """Give the machine what waits, as it can take it."""
        since, first = self._clock.now(), self._handed == 0
        sent = 0
        data = bytes(self._waiting)
        if self._handed:
            self._check()
        self._write_down()
        while sent < len(data):
            try:
                room = self._gauge.room(self._handed)
            except DamageError as fault:
                raise self._with_doubt(fault) from fault
            taken = self._line.send(data[sent : sent + room], _WAIT_S) if room else 0
            sent += taken
            self._handed += taken
            if taken:
                since, first = self._clock.now(), False
                self._settle()
                self._say(State.SENDING)
            else:
                self._be_patient(since, self._connection.answer_s if first else self._connection.patience_s)
        self._waiting.clear()

    def _be_patient(self, since: float, longest: float) -> None:
        stopping = self._wish() is Wish.STOP
        self._settle()
        self._say(State.STOPPING if stopping else State.WAITING)
        if self._clock.now() - since > longest:
            raise DeviceError(
                f"it has taken nothing for {longest:g} s",
                "Look whether it is switched on, on line and has paper; then send again with --resume",
                file=self._line.name,
            )

    def _write_down(self) -> None:
        """Before bytes go out: up to where they may, and what is surely done."""
        if self._journal is None or self._last is None:
            return
        self._settle()
        if self._last.byte > self._ahead:
            self._ahead = self._last.byte + self._stride
            done, seen = (item.byte if item else None for item in (self._done, self._seen))
            self._journal.note({"what": "ahead", "byte": self._ahead, "done": done, "seen": seen})

    def _settle(self) -> None:
        """Note the passages that the machine has carried out."""
        done = self._gauge.done(self._handed)
        files = self._connection.line in FILES
        while self._ends and done is not None and self._ends[0][0] < done + files:
            self._seen = self._ends.popleft()[1]
        if not isinstance(self._gauge, Asked):
            self._done = self._seen
        while len(self._ends) > 1 and done is None and self._ends[1][0] <= self._handed:
            self._ends.popleft()

    def _drain(self) -> None:
        """Wait until the machine has carried out everything, as far as can be known."""
        since, handed = self._clock.now(), -1
        while True:
            try:
                if self._gauge.empty(self._handed):
                    break
            except DamageError as fault:
                raise self._with_doubt(fault) from fault
            done = self._gauge.done(self._handed)
            if done != handed:
                since, handed = self._clock.now(), done if done is not None else -1
            self._be_patient(since, self._connection.patience_s)
            self._say(State.ENDING)
        self._check(last=True)

    def _check(self, *, last: bool = False) -> None:
        """What is handed over ends a passage: see whether the machine has done it all."""
        try:
            if not self._gauge.check(self._handed, last=last):
                return
        except SwitchedOffError:
            if self._journal is not None:
                self._journal.note({"what": "off"})
            raise
        except DamageError as fault:
            raise self._with_doubt(fault) from fault
        while self._ends and self._ends[0][0] <= self._handed:
            self._seen = self._done = self._ends.popleft()[1]

    def _pause(self, language: Language) -> bool:
        """Lift the tool and wait; False when it is to be stopped."""
        self._waiting += language.lift()
        self._hand_over()
        while (wish := self._wish()) is Wish.PAUSE:
            self._say(State.PAUSED)
            self._clock.sleep(_WAIT_S)
        return wish is not Wish.STOP

    def _stop(self, language: Language, end: str) -> Sent:
        """Lift the tool, leave the machine safe, and write down where."""
        self._waiting += language.goodbye(end)
        self._hand_over()
        self._say(State.STOPPING, at_once=True)
        self._drain()
        if self._journal is not None and self._last is not None:
            done = self._done.byte if self._done else None
            self._journal.note({"what": "rested", "byte": self._last.byte, "done": done})
        return self._sent(whole=False)

    def _with_doubt(self, fault: DamageError) -> DamageError:
        """The fault with the strokes that may be wrong, which the journal remembers."""
        assert isinstance(self._gauge, Asked)
        sound = [item for end, item in self._ends if end < self._gauge.sound]  # its lift came whole too
        item = sound[-1] if sound else self._seen
        first, last = item.strokes if item else 0, self._last.strokes if self._last else 0
        if self._journal is not None:
            self._journal.note({"what": "damaged", "byte": item.byte if item else None})
        fault.what += f": strokes {first + 1} to {max(last, first + 1)} may be drawn wrong"
        return fault

    def _say(self, state: State, *, at_once: bool = False) -> None:
        now = self._clock.now()
        if self._tell is None or (not at_once and state is self._state and now - self._told < _TOLD_S):
            return
        self._told, self._state = now, state
        known = self._gauge.done(self._handed) is not None
        last = self._last
        self._tell(
            Progress(
                state,
                last.strokes if last else 0,
                (self._seen.strokes if self._seen else 0) if known else None,
                self._place,
                last.byte if last else 0,
                now - self._began,
            )
        )
