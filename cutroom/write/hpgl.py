"""HP-GL for pen plotters: absolute integers, no arcs, no device lettering, nothing a plotter of 1983 lacks."""

from collections.abc import Sequence

from cutroom.model.plot import Framed, PenRun
from cutroom.model.profile import Plotter


def write_hpgl(framed: Framed, plotter: Plotter) -> bytes:
    """The bytes to send to a plotter.

    Args:
        framed: The drawing in frames, in plotter units.
        plotter: What to send before, between and after the frames.

    Returns:
        `IN;`, the profile's start, frame after frame of `SPn;PUx,y;PDx,y,...;` with the profile's words between them,
        and its end. Each frame chooses its pens anew, so that it can be sent again on its own.
    """
    speed = "" if plotter.pen_speed is None else f"VS{plotter.pen_speed:g};"
    frames = f"PU;{plotter.between}".join(_frame(runs) for runs in framed.frames)  # never feed with the pen down
    return f"IN;{plotter.start}{speed}{frames}{plotter.end}".encode("ascii")


def _frame(runs: Sequence[PenRun]) -> str:
    words: list[str] = []
    pen = 0
    for run in runs:
        if run.pen != pen:
            pen = run.pen
            words.append(f"SP{pen};")
        x, y, *rest = map(str, run.points.ravel().tolist())
        words.append(f"PU{x},{y};PD{','.join(rest or (x, y))};")  # a dot is a line to itself
    return "".join(words)
