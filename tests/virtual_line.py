"""A serial line in virtual time between the sender and the stand-in: nothing waits, and faults come when they are told.

The operating system's buffer, the speed of the line and the obeying of XOFF are those of a real port.
"""

from collections import deque
from dataclasses import dataclass, field

from cutroom.errors import DeviceError
from cutroom.send.transport import Transport
from cutroom.standin.machine import XOFF, XON, Machine

_BITS = 10
"""Signals to a letter: start, eight of data, stop."""


class Killed(BaseException):
    """The sender is killed (kill -9): nothing of it runs any more."""


@dataclass
class Plan:
    """What goes wrong, and after how many bytes of the line; None for never.

    Attributes:
        kill: The sender dies.
        kill_loses: Bytes of the operating system's buffer are lost with it (a power cut of the computer).
        unplug: The cable is pulled; what is under way is lost.
        power: The machine is switched off and on.
        garble: A byte to the machine is changed; the machine notices.
        garble_reply: An answer of the machine is changed.
        jam: The paper sticks.
        slow: The machine becomes slow.
        storm: The machine says XOFF and XON again and again.
    """

    kill: int | None = None
    kill_loses: bool = False
    unplug: int | None = None
    power: int | None = None
    garble: int | None = None
    garble_reply: int | None = None
    jam: int | None = None
    slow: int | None = None
    storm: int | None = None


@dataclass
class World:
    """Time, the line and the machine. The sender's clock."""

    machine: Machine
    baud: int = 9600
    held_most: int = 4096
    plan: Plan = field(default_factory=Plan)
    hardware: bool = False
    obeys_xoff: bool = False
    held: deque[int] = field(default_factory=deque)
    replies: bytearray = field(default_factory=bytearray)
    carried: int = 0
    said: int = 0
    time: float = 0.0
    plugged: bool = True
    xoff: bool = False
    log: list[str] = field(default_factory=list)
    heard: bytearray = field(default_factory=bytearray)
    blocked: bool = False
    due: float | None = None
    pause_to: float = 0.0

    def now(self) -> float:
        return self.time

    def sleep(self, seconds: float) -> None:
        self.pass_to(self.time + seconds)

    def pass_to(self, when: float) -> None:
        """Let bytes cross and the machine move until a time."""
        while True:
            if self.held and self.plugged and not self._stopped():
                if self.due is None:
                    self.due = max(self.time, self.pause_to) + _BITS / self.baud
                if self.due > when:
                    break
                self.time, self.due = max(self.time, self.due), None
                self._carry(self.held.popleft())
                continue
            self.due = None
            change = self.machine.next_change()
            if not self.held or not self.plugged or change is None or change > when:
                break
            self.time = max(self.time, change)  # the machine may say go when it has done something
            self.machine.advance(self.time)
            self._listen()
        self.time = max(self.time, when)
        self.machine.advance(self.time)
        self._listen()

    def _stopped(self) -> bool:
        return self.blocked or (self.obeys_xoff and self.xoff) or (self.hardware and not self.machine.ready)

    def _carry(self, byte: int) -> None:
        plan, number = self.plan, self.carried
        self.carried += 1
        self.heard.append(byte)
        garbled = plan.garble == number
        self.machine.take(bytes([byte ^ 4 if garbled else byte]), self.time, garbled=garbled)
        self._listen()
        if plan.unplug == number:
            self.plugged = False
            self.held.clear()
            self.log.append("unplugged")
        if plan.power == number:
            self.machine.switch_off_and_on(self.time)
            self.xoff = False
            self.log.append("power")
        if plan.jam == number:
            self.machine.jam(self.time)
            self.log.append("jam")
        if plan.slow == number:
            self.machine.slow = 20.0
        if plan.storm is not None and number >= plan.storm and number % 7 == 0:
            self.pause_to = self.time + 0.05  # XOFF, and XON a moment later
        if plan.kill == number:
            if plan.kill_loses:
                self.held.clear()
            self.log.append("killed")
            raise Killed

    def _listen(self) -> None:
        for byte in self.machine.said():
            if byte in {XON, XOFF} and self.machine.kind.xon_xoff:
                self.xoff = byte == XOFF
                continue
            if self.plan.garble_reply == self.said:
                byte ^= 1
            self.said += 1
            if self.plugged:
                self.replies.append(byte)


class VirtualLine(Transport):
    """The sender's end."""

    answers = True

    def __init__(self, world: World) -> None:
        self.name = "virtual port"
        self.world = world
        self.open = True

    def send(self, data: bytes, within: float) -> int:
        self._alive()
        world = self.world
        until = world.time + within
        while (room := world.held_most - len(world.held)) < 1 and world.time < until:
            world.sleep(min(0.01, until - world.time))
            self._alive()
        taken = data[: max(0, room)]
        world.held.extend(taken)
        world.sleep(0.0001)
        self._alive()
        return len(taken)

    def receive(self, within: float) -> bytes:
        self._alive()
        world = self.world
        until = world.time + within
        while not world.replies and world.time < until:
            world.sleep(min(0.002, until - world.time))
            self._alive()
        said, world.replies = bytes(world.replies), bytearray()
        return said

    def unsent(self) -> int:
        self._alive()
        return len(self.world.held)

    def finish(self, within: float) -> bool:
        self._alive()
        until = self.world.time + within
        while self.unsent():
            if self.world.time >= until:
                return False
            self.world.sleep(0.02)
        return True

    def close(self) -> None:
        if self.open:
            self.open = False

    def _alive(self) -> None:
        if not self.open:
            raise DeviceError("the line is closed", "Send again", file=self.name)
        if not self.world.plugged:
            raise DeviceError("the machine is gone: the line was broken off", "Look; --resume", file=self.name)
