"""How long a file takes on its machine."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Estimate:
    """Seconds that a machine takes over a file.

    Attributes:
        working_s: With the tool down.
        travel_s: With the tool up, between runs.
        lift_s: Lifting the tool and putting it down.
        wait_s: Changing tools, moving the paper on.
        line_s: Sending the file over its serial line, which goes on while the machine moves; 0 for other lines.
    """

    working_s: float
    travel_s: float
    lift_s: float
    wait_s: float = 0.0
    line_s: float = 0.0

    @property
    def machine_s(self) -> float:
        """What the machine itself takes."""
        return self.working_s + self.travel_s + self.lift_s + self.wait_s

    @property
    def total_s(self) -> float:
        """What it takes in all: the machine or its line, whichever is slower."""
        return max(self.machine_s, self.line_s)

    @property
    def line_bound(self) -> bool:
        """The machine waits for its line."""
        return self.line_s > self.machine_s


@dataclass(frozen=True, slots=True)
class Saved:
    """What cutting shared lines once saves beside cutting them with each piece.

    Attributes:
        length: Of cut line (mm); less than nothing when the ends that reach over are longer than what is shared.
        seconds: None when the machine's speeds are not known.
    """

    length: float
    seconds: float | None
