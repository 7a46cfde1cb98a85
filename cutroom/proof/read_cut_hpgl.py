"""Reads a cutter's HP-GL back: its runs by the number of the tool."""

from collections.abc import Sequence

import numpy as np

from cutroom.model.cutter import Cutter, Tool
from cutroom.model.finding import Finding
from cutroom.proof.read_hpgl import UNITS, machine_after
from cutroom.proof.runs import Runs, beyond_bed, runs_of
from cutroom.proof.words import shortened, stop


def read_cut_hpgl(data: bytes, cutter: Cutter) -> Runs:
    """The runs of a cutter's HP-GL.

    Raises:
        ProofError: It is no HP-GL.
    """
    _, machine = machine_after(data, cutter.form)
    findings = machine.findings
    if machine.down or machine.pen:
        findings.append(stop("end of the file", "the tool is not up and put away: the file is cut off or unfinished"))
    if machine.advances:
        findings.append(stop("file", "it moves the cloth on, which this machine does not do"))
    names = {tool.number: tool.name for tool in cutter.tools}
    points, starts = machine.points, machine.starts
    if np.abs(points).max(initial=0.0) > cutter.largest:
        findings.append(stop("file", f"a coordinate is beyond {cutter.largest} plotter units"))
    numbers = [number for _, number, _ in machine.begun]
    strange = [number for number in numbers if number not in names]
    findings += [stop("file", f"it takes tool {number}, which the machine does not have") for number in strange]
    runs = runs_of([names.get(number, "") for number in numbers], points / UNITS, starts)
    findings += _hands(machine.hands, cutter)
    return Runs(runs, shortened([*findings, *beyond_bed(runs, cutter)]))


def _hands(hands: Sequence[tuple[str, str]], cutter: Cutter) -> list[Finding]:
    """Forces and speeds that are not those of the profile."""
    findings: list[Finding] = []
    wanted = {tool.number: tool for tool in cutter.tools}
    tool: Tool | None = None
    said: dict[str, float] = {}

    def judge() -> None:
        if tool is None:
            return
        for name, value, word in (
            ("FS", tool.force, "force"), ("VS", None if tool.speed is None else tool.speed / 10, "speed"),
        ):  # fmt: skip
            if value is not None and abs(said.get(name, -1.0) - value) > 0.01 * value:
                findings.append(stop(f"tool {tool.number}", f"its {word} is not the {value:g} of the profile"))

    for name, rest in hands:
        if name == "SP":
            judge()
            tool = wanted.get(int(rest or 0))
        else:
            said[name] = float(rest.split(",")[0] or 0)
    judge()
    return findings
