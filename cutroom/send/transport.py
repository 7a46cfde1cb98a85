"""What every line to a machine does, whatever it is made of.

Laws, which one suite holds every kind to:

- `send` takes the first bytes of what it is given and says how many; 0 when the line took none in the time allowed.
- Bytes arrive in order, none twice, none changed.
- No call lasts much longer than it was allowed.
- `unsent` never says less than what has surely not left this side.
- The peer sees the end only after `finish`; a file or spooled job that was not finished is not there at all.
- A peer that is gone is a `DeviceError`, never silence; so is using a line that was closed. Closing twice is no fault.
"""

from abc import ABC, abstractmethod
from types import TracebackType
from typing import Protocol, Self


class Clock(Protocol):
    """Time that passes (s). Tests pass one that needs no waiting."""

    def now(self) -> float:
        """Seconds from some beginning; never falls."""

    def sleep(self, seconds: float) -> None:
        """Let some seconds pass."""


class Transport(ABC):
    """A line to a machine.

    Attributes:
        name: What messages call it: `/dev/ttyUSB0`, `plotter:9100`.
        answers: The machine can say something back.
    """

    name: str
    answers: bool = False

    @abstractmethod
    def send(self, data: bytes, within: float) -> int:
        """Hand over the first bytes.

        Args:
            data: What to send; not empty.
            within: Longest time to wait until the line takes any (s).

        Returns:
            How many of its first bytes were taken; 0 when the line is clogged.

        Raises:
            DeviceError: The machine is gone.
        """

    @abstractmethod
    def receive(self, within: float) -> bytes:
        """What the machine said since, waiting for it no longer than some seconds; empty when it said nothing.

        Raises:
            DeviceError: The machine is gone.
        """

    @abstractmethod
    def unsent(self) -> int:
        """Bytes that were handed over and may still be on this side."""

    @abstractmethod
    def finish(self, within: float) -> bool:
        """Say that nothing more comes, once all has left this side.

        Returns:
            Whether it has; False when the line was clogged all the time allowed (s), after which it may be tried again.

        Raises:
            DeviceError: The machine is gone.
        """

    @abstractmethod
    def close(self) -> None:
        """Let go of the line; what was not finished is given up."""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
