"""A machine, as far as a file for it must know."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from cutroom.model.plot import Role


@dataclass(frozen=True, slots=True)
class Plotter:
    """A pen or ink plotter that takes HPGL.

    Attributes:
        name: The profile's file name: `roll-pen-plotter`.
        title: What the machine is, in words.
        width: Drawable width across the paper (mm).
        frame: Longest drawable length of one frame along the paper (mm).
        pens: Pen number by role; 0 leaves the role out.
        pen_speed: Pen-down speed (cm/s) to ask for, or None to leave the machine's own.
        start: HPGL sent after `IN;`.
        between: HPGL sent between frames.
        end: HPGL sent at the end.
        largest: Greatest coordinate (plotter units) the machine takes.
    """

    name: str
    title: str
    width: float
    frame: float
    pens: Mapping[Role, int] = field(default_factory=dict)
    pen_speed: float | None = None
    start: str = ""
    between: str = "PG;"
    end: str = "PU;SP0;"
    largest: int = 32767


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet for a desktop printer.

    Attributes:
        name: `A4`, `Letter`.
        width: mm, portrait.
        height: mm.
        margin: Strip at every edge that is not printed (mm).
        overlap: Strip that neighbouring sheets share (mm).
        correction: Factors `(along, across)` the paper that put right a printer that is out of scale.
    """

    name: str
    width: float
    height: float
    margin: float = 10.0
    overlap: float = 10.0
    correction: tuple[float, float] = (1.0, 1.0)
