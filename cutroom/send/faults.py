"""Faults of lines in words, at the one door where they come in."""

import errno

from cutroom.errors import DeviceError


class SilentError(DeviceError):
    """The machine was asked and said nothing."""


_UNHEARD = ("nothing is listening there", "Switch the machine on, or look whether the cable is in")
_TAKEN = ("something else is using it", "End the other program, or wait until it is done")
_NO_WAY = ("there is no way to it in the network", "Look at its cable and its address")
_KNOWN = {
    errno.ENOENT: ("there is no such port or folder", "Look whether the cable is in, and write its name as it is"),
    errno.ENXIO: _UNHEARD,
    errno.ENODEV: _UNHEARD,
    errno.EACCES: (
        "this user may not use it",
        "Ask who looks after this computer; serial ports often want the group dialout",
    ),
    errno.EPERM: ("this user may not use it", "Ask who looks after this computer"),
    errno.EBUSY: _TAKEN,
    errno.EAGAIN: _TAKEN,
    errno.ENOTTY: ("it is no serial port", "Name the port that the machine hangs on, or use file: for a file"),
    errno.EISDIR: ("it is a folder, not a file", "Name a file in it, or use spool: for a folder"),
    errno.ENOTDIR: ("it is not inside a folder", "Name a folder that is there"),
    errno.EFBIG: ("the file has become too large for the disk", "Make room, then send it again"),
    errno.ENOSPC: ("the disk is full", "Make room, then send it again"),
    errno.EROFS: ("nothing can be written there", "Choose another folder"),
    errno.ECONNREFUSED: (
        "it refuses to be connected",
        "Look whether the machine is switched on and free: many take one sender at a time",
    ),
    errno.EHOSTUNREACH: _NO_WAY,
    errno.ENETUNREACH: _NO_WAY,
    errno.ETIMEDOUT: ("it does not answer", "Look whether the machine is switched on, and at its address"),
}
_GONE = {errno.EIO, errno.EPIPE, errno.ECONNRESET, errno.ECONNABORTED, errno.EBADF, errno.ESHUTDOWN}


def line_fault(fault: OSError, name: str) -> DeviceError:
    """A fault of the operating system as one that the person at the machine can put right."""
    number = fault.errno or 0
    if number in _GONE:
        return gone(name)
    what, fix = _KNOWN.get(number, (f"it cannot be used: {fault.strerror or fault}", "Look at the cable and the name"))
    return (SilentError if number == errno.ETIMEDOUT else DeviceError)(what, fix, file=name)


def gone(name: str) -> DeviceError:
    """The machine went away."""
    return DeviceError(
        "the machine is gone: the line was broken off",
        "Look at cable and power, and at what is drawn; then send again with --resume",
        file=name,
    )


def closed(name: str) -> DeviceError:
    """The line was let go of before."""
    return DeviceError("the line is closed", "Send again", file=name)
