"""The hand on the keyboard while a machine runs: Ctrl-C stops after the stroke, again gives up; Ctrl-Z pauses."""

import select
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

from cutroom.send.sender import Wish


class Hand:
    """What is wanted now."""

    def __init__(self) -> None:
        self._stops = 0
        self._paused = False

    def wish(self) -> Wish:
        """See `Control`; Enter ends a pause."""
        if self._stops > 1:
            return Wish.GIVE_UP
        if self._stops:
            return Wish.STOP
        if self._paused and sys.stdin.isatty() and select.select([sys.stdin], [], [], 0)[0]:
            sys.stdin.readline()
            self._paused = False
        return Wish.PAUSE if self._paused else Wish.GO

    def stop(self, _number: int = 0, _frame: FrameType | None = None) -> None:
        """Stop after this stroke; once more: at once."""
        self._stops += 1

    def pause(self, _number: int = 0, _frame: FrameType | None = None) -> None:
        """Pause, or go on."""
        self._paused = not self._paused

    def go_on(self, _number: int = 0, _frame: FrameType | None = None) -> None:
        """Go on."""
        self._paused = False


@contextmanager
def hand_on() -> Iterator[Hand]:
    """Turn Ctrl-C, Ctrl-Z and what other programs may send into wishes, for as long as the block runs."""
    hand = Hand()
    if threading.current_thread() is not threading.main_thread():
        yield hand
        return
    wanted = {
        signal.SIGINT: hand.stop,
        signal.SIGTERM: hand.stop,
        signal.SIGTSTP: hand.pause,
        signal.SIGCONT: hand.go_on,
    }
    before = {number: signal.signal(number, does) for number, does in wanted.items()}
    try:
        yield hand
    finally:
        for number, does in before.items():
            signal.signal(number, does)
