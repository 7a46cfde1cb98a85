"""HP-GL for pen plotters: absolute integers, no arcs, no device lettering, nothing a plotter of 1983 lacks."""

from collections.abc import Sequence
from itertools import groupby

from cutroom.model.plot import Framed, PenRun
from cutroom.model.profile import Plotter
from cutroom.write.hpgl_forms import runs_as_hpgl


def write_hpgl(framed: Framed, plotter: Plotter) -> bytes:
    """The bytes to send to a plotter.

    Args:
        framed: The drawing in frames, in plotter units.
        plotter: What to send before, between and after the frames.

    Returns:
        `IN;`, the profile's start, frame after frame of `SPn;PUx,y;PDx,y,...;`, or the profile's other form of it, with
        the profile's words between them, and its end. Each frame chooses its pens anew, so that it can be sent again
        on its own.
    """
    speed = "" if plotter.pen_speed is None else f"VS{plotter.pen_speed:g};"
    between = f"PU;{plotter.between}".encode("ascii")  # never feed with the pen down
    frames = between.join(_frame(runs, plotter) for runs in framed.frames)
    return b"".join([f"IN;{plotter.start}{speed}".encode("ascii"), frames, plotter.end.encode("ascii")])


def _frame(runs: Sequence[PenRun], plotter: Plotter) -> bytes:
    parts: list[bytes] = []
    for pen, some in groupby(runs, key=lambda run: run.pen):
        parts.append(f"SP{pen};{_hand(pen, plotter)}".encode("ascii"))
        parts.append(runs_as_hpgl([run.points for run in some], plotter.form))
    return b"".join(parts)


def _hand(pen: int, plotter: Plotter) -> str:
    """How hard and how fast a pen is led, where the profile says so."""
    force = f"FS{plotter.forces[pen]};" if pen in plotter.forces else ""
    return force + (f"VS{plotter.speeds[pen]:g};" if pen in plotter.speeds else "")
