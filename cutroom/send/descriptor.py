"""Bytes through a descriptor of the operating system, whatever lies behind it: a port, a socket, a pipe, a file."""

import os
import select

from cutroom.send.faults import line_fault


def give(fd: int, data: bytes, within: float, name: str) -> int:
    """Hand over bytes as soon as some are taken.

    Args:
        fd: The descriptor.
        data: What to hand over.
        within: Longest time to wait (s).
        name: What messages call the line.

    Returns:
        How many of the first were taken; 0 when none were in the time allowed.

    Raises:
        DeviceError: The machine is gone.
    """
    try:
        _, ready, _ = select.select([], [fd], [], within)
        return os.write(fd, data) if ready else 0
    except BlockingIOError:
        return 0
    except OSError as fault:
        raise line_fault(fault, name) from fault


def hear(fd: int, most: int, within: float, name: str) -> bytes | None:
    """What was said since, at most so many bytes.

    Args:
        fd: The descriptor.
        most: Bytes at most.
        within: Longest time to wait (s).
        name: What messages call the line.

    Returns:
        The bytes; empty when the other side has ended, None when nothing was said in the time allowed.

    Raises:
        DeviceError: The machine is gone.
    """
    try:
        ready, _, _ = select.select([fd], [], [], within)
        return os.read(fd, most) if ready else None
    except BlockingIOError:
        return None
    except OSError as fault:
        raise line_fault(fault, name) from fault
