"""Ctrl-C put off while files are being put in their places."""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType


class Pressed:
    """Whether Ctrl-C was pressed meanwhile."""

    def __init__(self) -> None:
        self.times = 0

    def note(self, _number: int, _frame: FrameType | None) -> None:
        """Remember it; a third press is meant."""
        self.times += 1
        if self.times > 2:
            raise KeyboardInterrupt


@contextmanager
def put_off() -> Iterator[Pressed]:
    """Let Ctrl-C wait until the block is done, so that what was laid is not lost.

    Outside the main thread, and where Ctrl-C is ignored altogether, nothing is changed.

    Yields:
        Whether it was pressed.
    """
    pressed = Pressed()
    if threading.current_thread() is not threading.main_thread():
        yield pressed
        return
    before = signal.getsignal(signal.SIGINT)
    if before is signal.SIG_IGN:
        yield pressed
        return
    signal.signal(signal.SIGINT, pressed.note)
    try:
        yield pressed
    finally:
        signal.signal(signal.SIGINT, before)
