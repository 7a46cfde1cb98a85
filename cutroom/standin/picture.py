"""A picture of what a machine drew, frame beside frame."""

from collections.abc import Sequence

from cutroom.standin.machine import Drawn

_PENS = ("#1c1b19", "#8a1f11", "#1b4f72", "#2f6b2f", "#7a4a9c", "#a8650a", "#4b4b4b", "#0f6b6b")
_MARGIN = 10.0


def picture(drawn: Sequence[Drawn], *, frame: float, title: str = "what the stand-in drew") -> bytes:
    """An SVG, one unit to the millimetre.

    Args:
        drawn: The runs.
        frame: Length by which the paper moves on (mm).
        title: What it is called.
    """
    placed = [(run.pen, [(x + run.frame * frame, y) for x, y in run.points]) for run in drawn]
    places = [point for _, points in placed for point in points] or [(0.0, 0.0)]
    left, right = min(x for x, _ in places) - _MARGIN, max(x for x, _ in places) + _MARGIN
    low, high = min(y for _, y in places) - _MARGIN, max(y for _, y in places) + _MARGIN
    width, height = right - left, high - low
    size = f'width="{width:.1f}mm" height="{height:.1f}mm" viewBox="0 0 {width:.3f} {height:.3f}"'
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}>',
        f"<title>{title.replace('&', '&amp;').replace('<', '&lt;')}</title>",
        '<g fill="none" stroke-width="0.4" stroke-linecap="round" stroke-linejoin="round">',
    ]
    for pen, points in placed:
        path = " ".join(f"{x - left:.3f},{high - y:.3f}" for x, y in points)
        lines.append(f'<polyline stroke="{_PENS[(pen - 1) % len(_PENS)]}" points="{path}"/>')
    return "\n".join([*lines, "</g>", "</svg>", ""]).encode()
