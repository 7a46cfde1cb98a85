"""The clock on the wall."""

import time


class WallClock:
    """Time as it really passes (s)."""

    def now(self) -> float:
        """Seconds since some beginning."""
        return time.monotonic()

    def sleep(self, seconds: float) -> None:
        """Wait."""
        time.sleep(seconds)
