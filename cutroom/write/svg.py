"""SVG in millimetres: one user unit is 1 mm, one group a role, no transforms."""

from collections.abc import Mapping
from types import MappingProxyType
from xml.sax.saxutils import escape

from cutroom.model.plot import Plot, Role, Stroke
from cutroom.write.numbers import dot_as_line, lines_as_text

_LOOKS = {
    Role.FABRIC: ("#8a6d3b", 0.7, ""),
    Role.SHEET: ("#55606b", 0.4, ""),
    Role.CUT: ("#1d2733", 0.6, ' fill="#dbe6f1" fill-opacity="0.7"'),
    Role.CUTOUT: ("#1d2733", 0.6, ' fill="#ffffff"'),
    Role.SEAM: ("#3f6fa3", 0.3, ""),
    Role.NOTCH: ("#b3261e", 0.6, ""),
    Role.GRAIN: ("#2c7a54", 0.4, ""),
    Role.DRILL: ("#8e3b9e", 0.4, ""),
    Role.LABEL: ("#1f2a35", 0.45, ""),
}
"""Groups in the order they are painted: colour, width of the line (mm) on a small drawing, and what else."""

_SMALL, _HEAVIEST = 600.0, 3.0
"""Lines of a drawing longer than this (mm) grow with it, up to so many times, for it is looked at from farther off."""
_WRITTEN = {Role.SHEET, Role.LABEL}
"""Groups with lettering, whose lines grow less, so that small letters stay open."""


def write_svg(plot: Plot, colours: Mapping[Role, str] = MappingProxyType({})) -> bytes:
    """The drawing as SVG.

    Args:
        plot: The drawing.
        colours: Colours (`#1d2733`) of kinds of lines, such as those of a plotter's pens, in place of the usual ones.

    Returns:
        UTF-8; x runs from the drawing's lower corner, y down from its upper one, in millimetres to 0.001.
    """
    left, top = plot.lower[0], plot.upper[1]
    width, height = plot.upper[0] - left, top - plot.lower[1]
    by_role: dict[Role, list[Stroke]] = {role: [] for role in _LOOKS}
    for stroke in plot.strokes:
        by_role[stroke.role].append(stroke)
    box = f'width="{width:.10g}mm" height="{height:.10g}mm" viewBox="0 0 {width:.10g} {height:.10g}"'
    ends = 'stroke-linecap="round" stroke-linejoin="round"'
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" {box} fill="none" {ends}>',
        f"<title>{escape(plot.title)}</title>",
        *(f"<desc>{escape(line)}</desc>" for line in plot.words[:1]),
    ]
    larger = min(max(width, height) / _SMALL, _HEAVIEST)
    for role, (usual, thin, more) in _LOOKS.items():
        colour = colours.get(role, usual)
        grown = max(1.0, larger**0.75 if role in _WRITTEN else larger)
        lines.append(f'<g id="{role}" stroke="{colour}" stroke-width="{thin * grown:.3g}"{more}>')
        points = [dot_as_line(stroke.points) for stroke in by_role[role]]
        texts = lines_as_text(points, first="M %.3f,%.3f", then=" L %.3f,%.3f", scale=(1.0, -1.0), offset=(-left, top))
        lines.extend(_path(stroke, text) for stroke, text in zip(by_role[role], texts, strict=True))
        lines.append("</g>")
    return "\n".join([*lines, "</svg>", ""]).encode()


def _path(stroke: Stroke, along: str) -> str:
    owner = "" if stroke.placement is None else f' data-placement="{stroke.placement}"'
    bare = ' fill="none"' if stroke.role is Role.CUT and not stroke.closed else ""
    return f'<path d="{along}{" Z" if stroke.closed else ""}"{owner}{bare}/>'
