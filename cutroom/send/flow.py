"""How a sender learns that a machine can take more, and what it has done with what it took."""

from abc import ABC, abstractmethod

from cutroom.errors import DeviceError
from cutroom.model.profile import Connection, Flow, Line
from cutroom.send.faults import SilentError
from cutroom.send.transport import Clock, Transport

FILES = frozenset({Line.FILE, Line.SPOOL, Line.OUTPUT})
"""Lines with no machine's memory behind them: what is handed over is done."""
_LOOK_S = 0.05
"""Time between two looks at a machine that is full (s)."""
_CHECK_S = 15.0
"""Time between two checks that the machine still is the one it was (s); each lets it run empty for a moment."""
_TRIES = 3
_ASK_ROOM, _ASK_FAULT, _DROP, _STATUS = b"\x1b.B", b"\x1b.E", b"\x1b.K", b"OS;"
_STATE, _AT_REST = b"\x1b.O", {"8", "24", "40", "56"}
"""Extended status (7470A manual): 8 is an empty memory, with 16 and 32 for its view button and its paper lever."""
_INITIALISED = 8
"""The bit of the status that is set when the machine was switched on or told IN, and cleared by asking (OS)."""
_GARBLED = {"15": "letters came garbled to it", "16": "its memory ran over"}
"""Answers to `ESC . E` (7475A manual, chapter 10; the numbers from memory)."""
_HELD_MOST = 512
"""Bytes that may lie on this side of a serial line at once; few, so that stopping does not take long."""


class DamageError(DeviceError):
    """Bytes of the last block came wrong: what was drawn of it cannot be trusted."""


class SwitchedOffError(DeviceError):
    """The machine lost its memory in the middle of the work."""


class Gauge(ABC):
    """How full a machine is."""

    def __init__(self, line: Transport, connection: Connection, clock: Clock) -> None:
        self.line, self.connection, self.clock = line, connection, clock

    def start(self) -> None:  # noqa: B027 - most need none
        """Before the first byte."""

    def forgive(self) -> None:  # noqa: B027 - most know nothing
        """The machine was told to go back to its beginning: that it did so is no fault."""

    def check(self, handed: int, *, last: bool = False) -> bool:  # noqa: ARG002 - most cannot
        """Between two passages, now and then: let the machine say that it has carried out all it was given.

        Args:
            handed: Bytes handed over so far.
            last: Nothing more comes, so it must be known.

        Returns:
            Whether it said so now.

        Raises:
            SwitchedOffError: Its memory was lost on the way.
        """
        return False

    @abstractmethod
    def room(self, handed: int) -> int:
        """Bytes that may be handed over now; 0 for none yet.

        Args:
            handed: Bytes handed over so far.

        Raises:
            DeviceError: The machine is gone or does not answer; `DamageError` when it says that bytes came wrong.
        """

    @abstractmethod
    def done(self, handed: int) -> int | None:
        """Bytes that the machine has surely carried out, of those handed over, or None when nobody knows."""

    @abstractmethod
    def empty(self, handed: int) -> bool:
        """Everything has been carried out, as far as can be known from here."""


class Unasked(Gauge):
    """The line itself stops and goes: XON/XOFF, RTS/CTS, the network, a file."""

    def room(self, handed: int) -> int:  # noqa: ARG002 - the line knows
        """See `Gauge`."""
        if self.connection.line is not Line.SERIAL:
            return 1 << 16
        held = self.line.unsent()
        if held >= _HELD_MOST:
            self.clock.sleep(_LOOK_S)
            return 0
        return _HELD_MOST - held

    def done(self, handed: int) -> int | None:
        """See `Gauge`. What the machine may still hold is taken off."""
        if self.connection.line in FILES:
            return handed
        if self.connection.buffer_bytes is None:
            return None
        return max(0, handed - self.line.unsent() - self.connection.buffer_bytes)

    def empty(self, handed: int) -> bool:  # noqa: ARG002 - the machine's own memory cannot be seen
        """See `Gauge`: all has left this side."""
        if self.line.unsent() == 0:
            return True
        self.clock.sleep(_LOOK_S)
        return False


class Asked(Gauge):
    """The buffer-space enquiry of the old plotters: `ESC . B` is answered with the free bytes, up to a carriage return.

    Before every block the machine is asked twice, and the lesser answer counts, so that one garbled digit cannot flood
    it; then for its fault (`ESC . E`), so that a block that came garbled is known at once (HP 7470A and 7475A
    interfacing manuals, chapter 10).

    Attributes:
        memory: Bytes that the machine can hold.
    """

    def __init__(self, line: Transport, connection: Connection, clock: Clock) -> None:
        super().__init__(line, connection, clock)
        if not line.answers:
            raise DeviceError(
                "this line carries no answers, and the machine would have to be asked for its room",
                'Set flow in [connection] of its profile to "none"',
                file=line.name,
            )
        self.memory = connection.buffer_bytes or 0
        self._free = 0
        self._sound = 0
        self._checked: float | None = None

    @property
    def sound(self) -> int:
        """Bytes handed over that came as they were sent."""
        return self._sound

    def start(self) -> None:
        """Let it draw what it may still hold, drop half a command, and ask for its room while it is empty.

        Half a command would otherwise be ended by the first letters that come, and draw a stroke that nobody sent.
        """
        self._ask(_ASK_FAULT)  # what went wrong before we came is not ours
        self.come_to_rest()
        self.memory = max(self._ask_room(), self.memory)
        self._free = self.memory

    def come_to_rest(self) -> None:
        """Wait until it has carried out all that came whole, then let it forget what did not.

        Raises:
            DeviceError: It stands still with something left to do.
        """
        since, free = self.clock.now(), -1
        while not self._at_rest():
            if self._free != free:
                since, free = self.clock.now(), self._free
            if self.clock.now() - since > self.connection.patience_s:
                raise DeviceError(
                    f"it still has something to draw and has drawn nothing for {self.connection.patience_s:g} s",
                    "See that it is on line and has paper; or switch it off and on, look, and send with --from-stroke",
                    file=self.line.name,
                )
        self._say(_DROP)

    def room(self, handed: int) -> int:
        """See `Gauge`."""
        self._look(handed)
        least = max(1, min(64, self.memory // 4))
        if self._free >= least:
            return self._free
        self.clock.sleep(_LOOK_S)
        return 0

    def done(self, handed: int) -> int:  # noqa: ARG002 - what was handed over since the look is not counted
        """See `Gauge`; so it seems from its room at the last look, unless its power failed."""
        return max(0, self._sound - (self.memory - self._free))

    def check(self, handed: int, *, last: bool = False) -> bool:
        """See `Gauge`. The status tells whether it was switched on, or told IN, since it was last asked (OS, bit 8).

        Its answer comes when all before it is drawn. The first one after an IN is read away.
        """
        now = self.clock.now()
        if self._checked is not None and not last and now - self._checked < _CHECK_S:
            return False
        until = now + self.connection.patience_s
        while not self.empty(handed):
            if self.clock.now() > until:
                return False
        status = self.status()
        if self._checked is not None and status is not None and status & _INITIALISED:
            raise SwitchedOffError(
                "it was switched off and on in the middle of the work",
                "Look at what is drawn, and that the paper lies as it did; then send again with --resume",
                file=self.line.name,
            )
        self._checked = self.clock.now()
        return status is not None

    def forgive(self) -> None:
        """See `Gauge`."""
        self._checked = None

    def status(self) -> int | None:
        """Its status byte, or None when it gives none."""
        answer = self.ask(_STATUS) or ""
        return int(answer) if answer.isdigit() else None

    def switched_on(self) -> bool:
        """It was switched on since it was last asked, or does not say."""
        status = self.status()
        return status is None or bool(status & _INITIALISED)

    def empty(self, handed: int) -> bool:
        """See `Gauge`."""
        self._look(handed)
        if self._free >= self.memory:
            return True
        self.clock.sleep(_LOOK_S)
        return False

    def _at_rest(self) -> bool:
        self._free = self._ask_room()
        if (self.memory and self._free >= self.memory) or self._ask(_STATE) in _AT_REST:
            return True
        self.clock.sleep(_LOOK_S)
        return False

    def ask(self, question: bytes) -> str | None:
        """Its answer to a question in its own language, or None when it gives none."""
        try:
            return self._ask(question)
        except SilentError:
            return None

    def _look(self, handed: int) -> None:
        self._free = self._ask_room()
        fault = self._ask(_ASK_FAULT)
        if fault in _GARBLED:
            raise DamageError(
                _GARBLED[fault],
                "Look at cable, speed and flow control; look at the strokes named, then send again with --resume",
                file=self.line.name,
            )
        self._sound = handed

    def _ask_room(self) -> int:
        for _ in range(_TRIES):
            first, second = self._ask(_ASK_ROOM), self._ask(_ASK_ROOM)
            if first.isdigit() and second.isdigit():
                free, later = int(first), int(second)
                if free <= later and (not self.memory or later <= self.memory):
                    return free
        raise DeviceError(
            "its answers about its room make no sense",
            "Look at the cable, and at baud and parity in [connection] of its profile",
            file=self.line.name,
        )

    def _ask(self, question: bytes) -> str:
        """Ask when all before is through; a late answer to one question must never be taken for one to the next."""
        self._let_through()
        for _ in range(_TRIES):
            self._say(question)
            said = b""
            until = self.clock.now() + self.connection.answer_s
            while b"\r" not in said and self.clock.now() < until:
                said += self.line.receive(_LOOK_S)
            if b"\r" in said:
                return said.partition(b"\r")[0].decode("latin-1").strip()
            self._hush()
        raise SilentError(
            f"it does not answer: asked {_TRIES} times, each time {self.connection.answer_s:g} s",
            "Look whether it is switched on and can be asked; if not, set flow in its profile to what it knows",
            file=self.line.name,
        )

    def _let_through(self) -> None:
        """Wait until all that was handed over has left this side, and nothing that it said is left unheard."""
        until = self.clock.now() + self.connection.patience_s
        while self.line.unsent() and self.clock.now() < until:
            self.clock.sleep(_LOOK_S / 10)
        while self.line.receive(0.0):
            pass

    def _hush(self) -> None:
        """Listen until it has been silent for as long as an answer may take."""
        until = self.clock.now() + self.connection.answer_s
        while self.clock.now() < until:
            if self.line.receive(_LOOK_S):
                until = self.clock.now() + self.connection.answer_s

    def _say(self, question: bytes) -> None:
        rest = question
        until = self.clock.now() + self.connection.answer_s
        while rest:
            rest = rest[self.line.send(rest, _LOOK_S) :]
            if rest and self.clock.now() > until:
                raise DeviceError(
                    f"it has taken nothing for {self.connection.answer_s:g} s",
                    "Look whether it is switched on, on line, and has paper",
                    file=self.line.name,
                )


def gauge_of(line: Transport, connection: Connection, clock: Clock) -> Gauge:
    """The gauge that a connection asks for."""
    return (Asked if connection.flow is Flow.ENQUIRY else Unasked)(line, connection, clock)
