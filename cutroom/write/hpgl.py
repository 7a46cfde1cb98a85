"""HP-GL for pen plotters: whole coordinates, no arcs, nothing that a plotter of 1983 lacks."""

from collections.abc import Sequence
from itertools import groupby

from cutroom.model.plot import Framed, PenRun, PenText
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
        on its own. Words in the machine's own letters follow the lines of their pen: `SI` says the width and the height
        of a capital (cm), `DI` which way they read, `LB` the words up to the terminator that machines begin with (ETX).
    """
    speed = "" if plotter.pen_speed is None else f"VS{plotter.pen_speed:g};"
    between = f"PU;{plotter.between}".encode("ascii")  # never feed with the pen down
    texts = framed.texts or ((),) * len(framed.frames)
    frames = between.join(_frame(runs, some, plotter) for runs, some in zip(framed.frames, texts, strict=True))
    return b"".join([f"IN;{plotter.start}{speed}".encode("ascii"), frames, plotter.end.encode("ascii")])


def _frame(runs: Sequence[PenRun], texts: Sequence[PenText], plotter: Plotter) -> bytes:
    parts: list[bytes] = []
    waiting = list(texts)
    for pen, some in groupby(runs, key=lambda run: run.pen):
        parts.append(f"SP{pen};{_hand(pen, plotter)}".encode("ascii"))
        parts.append(runs_as_hpgl([run.points for run in some], plotter.form))
        parts.append(_words([text for text in waiting if text.pen == pen]))
        waiting = [text for text in waiting if text.pen != pen]
    for pen in sorted({text.pen for text in waiting}):
        parts.append(f"SP{pen};{_hand(pen, plotter)}".encode("ascii"))
        parts.append(_words([text for text in waiting if text.pen == pen]))
    return b"".join(parts)


def _words(texts: Sequence[PenText]) -> bytes:
    """Words of one pen; how large they are and which way they read is said when it changes."""
    parts: list[str] = []
    said = ("", "")
    for text in texts:
        looks = f"SI{_pair(text.size, 10.0)}", f"DI{_pair(text.way, 1.0)}"
        parts.append(f"PU{text.at[0]},{text.at[1]};")
        parts += [look for look, before in zip(looks, said, strict=True) if look != before]
        parts.append(f"LB{text.words}\x03")
        said = looks
    return "".join(parts).encode("ascii")


def _pair(pair: tuple[float, float], unit: float) -> str:
    one, other = (f"{round(value / unit, 4) + 0.0:.4f}" for value in pair)
    return f"{one},{other};"


def _hand(pen: int, plotter: Plotter) -> str:
    """How hard and how fast a pen is led, where the profile says so."""
    force = f"FS{plotter.forces[pen]};" if pen in plotter.forces else ""
    return force + (f"VS{plotter.speeds[pen]:g};" if pen in plotter.speeds else "")
