"""The machines and the paper that a job names, with the correction its test square asks for."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from cutroom.model.cutter import Cutter
from cutroom.model.order import Outputs
from cutroom.model.profile import Paper, Plotter
from cutroom.read.cutter import read_cutter
from cutroom.read.printer import read_sheet
from cutroom.read.profile import read_plotter
from cutroom.report.scale import ScaleVerdict, judge_square
from cutroom.units import Unit


@dataclass(frozen=True, slots=True)
class Machines:
    """What the files are written for.

    Attributes:
        plotter: For `marker-hpgl`, else None.
        paper: For `tiles-pdf`, else None; corrected for the printer.
        scale: What the measured test square says, or None when none was measured.
        cutters: By the kind of file they take.
    """

    plotter: Plotter | None
    paper: Paper | None
    scale: ScaleVerdict | None
    cutters: Mapping[str, Cutter] = field(default_factory=dict)

    @property
    def all_of_them(self) -> tuple[Plotter | Cutter, ...]:
        """Every machine that runs a file."""
        return (*(() if self.plotter is None else (self.plotter,)), *self.cutters.values())


def find_machines(outputs: Outputs, unit: Unit) -> Machines:
    """Read the profiles that the outputs need.

    Raises:
        CutroomError: One is not known or is wrong.
    """
    plotter = read_plotter(outputs.plotter) if "marker-hpgl" in outputs.kinds else None
    paper = read_sheet(outputs.paper) if "tiles-pdf" in outputs.kinds else None
    cutters = {cutter.language.value: cutter for cutter in map(read_cutter, outputs.cutters)}
    if outputs.square_measured is None:
        return Machines(plotter, paper, None, cutters)
    scale = judge_square(outputs.square_measured, unit=unit, corrected=paper is not None)
    if paper is not None:
        wide, high = paper.correction
        paper = replace(paper, correction=(wide * scale.correction, high * scale.correction))
    return Machines(plotter, paper, scale, cutters)
