"""What goes wrong on purpose: one fault, at one byte, from a seed."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np


class FaultKind(StrEnum):
    """What can go wrong."""

    GARBLED = "garbled"  # one letter comes changed
    UNPLUGGED = "unplugged"  # the line breaks off
    JAM = "jam"  # the paper sticks, until it is cleared
    SLOW = "slow"  # it moves twenty times as slowly
    STORM = "storm"  # it says stop and go all the time
    SWITCHED_OFF = "switched off"  # its power fails and comes back


@dataclass(frozen=True, slots=True)
class Fault:
    """A fault to come.

    Attributes:
        kind: What.
        byte: Before which byte that it takes, from 0.
    """

    kind: FaultKind
    byte: int


def fault_of(seed: int, *, within: int) -> Fault:
    """The fault of a seed, somewhere within so many bytes."""
    rng = np.random.default_rng(seed)
    kinds = list(FaultKind)
    return Fault(kinds[int(rng.integers(0, len(kinds)))], int(rng.integers(0, max(1, within))))
