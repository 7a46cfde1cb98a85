"""A plotter that is not there: it takes bytes into a small memory, moves in its own time, and keeps what it drew.

Nothing here waits: time is whatever number it is told. Room in its memory comes free when a move is done, so what it
answers about its room is what it has drawn.
"""

from collections import deque
from dataclasses import dataclass, field

from cutroom.standin.gcode import GcodeReader
from cutroom.standin.hpgl import HpglReader
from cutroom.standin.motion import Motion, Vector, seconds, speed_after
from cutroom.standin.orders import Order, Reader

XON, XOFF, ESCAPE = 0x11, 0x13, 0x1B
AHEAD = 48
"""Moves that it looks ahead at."""
_WITH_NUMBERS = frozenset(b"@HIMNPQST")
_FRAMING, _OVERFLOW = 15, 16


Tools = tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class Kind:
    """What sort of machine it stands in for.

    Attributes:
        motion: How it moves.
        memory: Bytes it can hold.
        language: `hpgl` or `gcode`.
        xon_xoff: It says stop by XOFF and go by XON.
        answers: It answers when it is asked: room, faults, where its pen is.
        threshold: Room (bytes) below which it says stop.
        tools: What puts each of its tools down and what lifts it, in a program; empty for the usual words.
    """

    motion: Motion = field(default_factory=Motion)
    memory: int = 1024
    language: str = "hpgl"
    xon_xoff: bool = False
    answers: bool = True
    threshold: int = 80
    tools: Tools = ()


@dataclass(slots=True)
class Drawn:
    """A run drawn with the tool down.

    Attributes:
        frame: Frames that the paper had moved on.
        pen: Number of the pen.
        points: Places it went through (mm).
        begun: When (s).
        ended: When its last move was done (s).
    """

    frame: int
    pen: int
    points: list[tuple[float, float]]
    begun: float
    ended: float = 0.0


@dataclass(slots=True)
class _Doing:
    """The order being carried out."""

    order: Order
    begun: float
    ends: float
    speed_after: float = 0.0


@dataclass(slots=True)
class Machine:
    """The machine; see the module.

    Attributes:
        kind: What sort it is.
        drawn: What it has drawn, in order.
        frame: Frames the paper has moved on.
        overflowed: Bytes lost because its memory was full.
        jammed: The paper is stuck: nothing moves.
        slow: Its speed is divided by it.
        travelled: Length moved with the tool up (mm).
        inked: Length moved with the tool down (mm).
    """

    kind: Kind
    drawn: list[Drawn] = field(default_factory=list)
    frame: int = 0
    overflowed: int = 0
    jammed: bool = False
    slow: float = 1.0
    travelled: float = 0.0
    inked: float = 0.0
    at: tuple[float, float] = (0.0, 0.0)
    down: bool = False
    pen: int = 0
    _reader: Reader = field(init=False)
    _queue: deque[Order] = field(default_factory=deque)
    _queued: int = 0
    _doing: _Doing | None = None
    _time: float = 0.0
    _speed: float = 0.0
    _said: bytearray = field(default_factory=bytearray)
    _escape: bytearray = field(default_factory=bytearray)
    _stopped: bool = False
    _fault: int = 0
    _fresh: bool = True
    _running: bool = False
    _drained: bool = False
    stuck: float = 0.0

    def __post_init__(self) -> None:
        self._reader = HpglReader() if self.kind.language == "hpgl" else GcodeReader(self.kind.tools)

    @property
    def free(self) -> int:
        """Room in its memory (bytes)."""
        return max(0, self.kind.memory - self._queued - self._reader.held)

    @property
    def ready(self) -> bool:
        """Its hardware line says that more may come."""
        return self.free >= self._least

    @property
    def _least(self) -> int:
        return min(self.kind.threshold, self.kind.memory // 3)

    @property
    def idle(self) -> bool:
        """It has nothing to do."""
        return self._doing is None and not self._queue

    @property
    def faults(self) -> list[str]:
        """What it could not understand."""
        return self._reader.faults

    def take(self, data: bytes, now: float, *, garbled: bool = False) -> None:
        """Bytes arrive."""
        self.advance(now)
        for byte in data:
            if garbled:
                self._fault = _FRAMING
            if self._escape or (byte == ESCAPE and self.kind.answers):
                self._escaped(byte)
            elif self.free < 1:
                self.overflowed += 1
                self._fault = _OVERFLOW
            else:
                for order in self._reader.feed(byte):
                    self._queue.append(order)
                    self._queued += order.size
        self.advance(now)
        self._say_stop()

    def said(self) -> bytes:
        """What it has said since it was last listened to."""
        words, self._said = bytes(self._said), bytearray()
        return words

    def advance(self, now: float) -> None:
        """Let time pass until now (s)."""
        while not self.jammed:
            if self._doing is None:
                if not self._queue:
                    break
                self._begin(self._queue.popleft())
            assert self._doing is not None
            if self._doing.ends > now:
                break
            self._end(self._doing)
        self._time = max(self._time, now)
        if self.idle:
            self._speed = 0.0
        if self._drained and self.idle:
            self._drained = False
            self._answer(f"{self.kind.memory}")
        self._say_go()

    def next_change(self) -> float | None:
        """When something next happens by itself (s), or None when nothing will."""
        return None if self._doing is None or self.jammed else self._doing.ends

    def jam(self, now: float) -> None:
        """The paper sticks: nothing moves until it is cleared."""
        self.advance(now)
        self.jammed, self.stuck = True, now

    def clear(self, now: float) -> None:
        """The paper is free again, and the machine goes on where it stuck."""
        if self.jammed and self._doing is not None:
            self._doing.ends += now - self.stuck
        self.jammed = False
        self.advance(now)

    def switch_off_and_on(self, now: float) -> None:
        """Its power fails and comes back: its memory is lost, the pen is where it was put, up."""
        self.advance(now)
        self._drop()
        if self._doing is not None and self._doing.order.vector is not None:
            self._part_drawn(self._doing, now)
        self._queued, self._doing, self._speed = 0, None, 0.0
        self.at, self.down, self.pen, self.jammed = (0.0, 0.0), False, 0, False
        self._running, self._fresh, self._stopped, self._fault = False, True, False, 0
        self._escape.clear()
        self._reader.forget(self.at, down=False, pen=0)

    def _drop(self) -> None:
        """Forget what has not been begun."""
        doing = self._doing.order if self._doing else None
        self._queue.clear()
        self._queued = doing.size if doing else 0
        at = doing.vector.end if doing and doing.vector else self.at
        down = doing.down if doing and doing.down is not None else self.down
        self._reader.forget(at, down=down, pen=self.pen)

    def _begin(self, order: Order) -> None:
        motion = self.kind.motion
        took = after = 0.0
        if order.vector is not None:
            ahead = self._ahead()
            took, after = seconds(order.vector, self._speed, speed_after(order.vector, ahead, motion), motion)
        elif order.down is not None:
            took = motion.lift_s
        elif order.pen is not None and order.pen not in {self.pen, 0}:
            took = motion.change_s
        elif order.advance:
            took = motion.advance_s
        elif order.size and not order.reply:
            after = self._speed  # the end of a command takes no time
        self._doing = _Doing(order, self._time, self._time + took * self.slow, after)

    def _ahead(self) -> list[Vector]:
        """The moves that follow without a stop."""
        vectors: list[Vector] = []
        for order in self._queue:
            if order.vector is not None:
                vectors.append(order.vector)
            elif order.down is not None or order.pen is not None or order.advance or order.reply or order.reset:
                break
            if len(vectors) == AHEAD:
                break
        return vectors

    def _end(self, doing: _Doing) -> None:
        order = doing.order
        self._doing = None
        self._time, self._speed = doing.ends, doing.speed_after
        self._queued -= order.size
        if order.vector is not None:
            self._drawn_to(order.vector, order.vector.end, doing)
        if order.down is not None:
            self.down, self._running = order.down, False
        if order.pen is not None:
            self.pen, self._running = order.pen, False
        if order.advance:
            self.frame, self._running = self.frame + 1, False
        if order.reset:
            self.down, self.pen, self._running, self._fresh = False, 0, False, True
        if order.reply == "where":
            x, y = (round(value * 40) for value in self.at)
            self._answer(f"{x},{y},{int(self.down)}")
        elif order.reply == "status":
            self._answer(f"{16 + 8 * self._fresh + int(self.down)}")
            self._fresh = False
        elif order.reply == "fault":
            self._answer("1" if self.faults else "0")

    def _drawn_to(self, vector: Vector, end: tuple[float, float], doing: _Doing) -> None:
        self.at = end
        if not vector.down:
            self.travelled += vector.length
            self._running = False
            return
        self.inked += vector.length
        if not self._running:
            self.drawn.append(Drawn(self.frame, vector.pen, [vector.start], doing.begun))
            self._running = True
        run = self.drawn[-1]
        run.ended = doing.ends
        if end != run.points[-1] or len(run.points) == 1:
            run.points.append(end)

    def _part_drawn(self, doing: _Doing, now: float) -> None:
        """A move that broke off: drawn as far as it came, at an even pace."""
        vector = doing.order.vector
        if vector is None or doing.ends <= doing.begun or now <= doing.begun:
            return
        share = (now - doing.begun) / (doing.ends - doing.begun)
        x, y = (a + share * (b - a) for a, b in zip(vector.start, vector.end, strict=True))
        self._drawn_to(vector, (x, y), doing)

    def _say_stop(self) -> None:
        if self.kind.xon_xoff and not self._stopped and self.free < self._least:
            self._stopped = True
            self._said.append(XOFF)

    def _say_go(self) -> None:
        if self._stopped and self.free >= 2 * self._least:
            self._stopped = False
            self._said.append(XON)

    def _answer(self, text: str) -> None:
        if self.kind.answers:
            self._said += text.encode("ascii") + b"\r"

    def _escaped(self, byte: int) -> None:
        """Device control: three bytes, then numbers up to a colon for some; obeyed at once, beside the memory.

        An ESC within one that is not whole begins a new one (common practice, no source).
        """
        if byte == ESCAPE:
            self._escape.clear()
        self._escape.append(byte)
        if len(self._escape) < 3:
            if len(self._escape) == 2 and byte != ord("."):
                self._escape.clear()
            return
        if self._escape[2] in _WITH_NUMBERS:
            if byte == ord(":"):
                self._escape.clear()
            return
        letter = chr(self._escape[2])
        self._escape.clear()
        if letter == "B":
            self._answer(f"{self.free}")
        elif letter == "E":
            self._answer(f"{self._fault}")
            self._fault = 0
        elif letter == "L":
            self._drained = True
        elif letter == "O":
            self._answer("8" if self.idle else "0")
        elif letter == "K":
            self._drop()
