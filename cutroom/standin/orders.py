"""What a machine does one thing at a time, as its language told it."""

from abc import ABC, abstractmethod
from collections.abc import Iterator
from dataclasses import dataclass

from cutroom.standin.motion import Vector


@dataclass(frozen=True, slots=True)
class Order:
    """One thing to do.

    Attributes:
        size: Bytes it took in the machine's memory; they are free again when it is done.
        vector: A move, or None.
        down: The tool's new state, or None.
        pen: The new pen, or None.
        advance: The paper is moved on.
        reply: What to say when it is reached: `where`, `status`, `fault` or nothing.
        reset: The machine is set to its beginning.
    """

    size: int
    vector: Vector | None = None
    down: bool | None = None
    pen: int | None = None
    advance: bool = False
    reply: str = ""
    reset: bool = False


class Reader(ABC):
    """Bytes to orders, one byte at a time, as a machine does it.

    Attributes:
        held: Bytes taken of a command that is not whole yet.
        faults: What it could not understand.
    """

    held: int = 0

    def __init__(self) -> None:
        self.faults: list[str] = []

    @abstractmethod
    def feed(self, byte: int) -> Iterator[Order]:
        """One byte more."""

    @abstractmethod
    def forget(self, at: tuple[float, float], *, down: bool, pen: int) -> None:
        """Drop what is not whole, and go on from where the machine stands."""
