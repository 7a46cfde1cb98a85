"""A marker as DXF R2000: millimetres, a layer a role, a polyline a stroke."""

import numpy as np

from cutroom.model.plot import Plot, Role, Stroke
from cutroom.write.dxf_frame import dxf_frame, with_seed
from cutroom.write.numbers import lines_as_text, number_as_text

_COLOURS = {
    Role.CUT: 7, Role.SEAM: 5, Role.NOTCH: 1, Role.GRAIN: 3, Role.DRILL: 6, Role.LABEL: 8,
    Role.FABRIC: 30, Role.SHEET: 9, Role.CUTOUT: 7,
}  # fmt: skip


def write_marker_dxf(plot: Plot) -> bytes:
    """The drawing as a DXF file.

    The frame of the file (header, tables, objects) comes from ezdxf with its dates and identifiers taken out; the
    strokes are written as text, which is many times faster for long markers.

    Args:
        plot: The drawing; coordinates are written as they are.

    Returns:
        DXF R2000 (AC1015): LWPOLYLINE a stroke, CIRCLE a drill hole, on layers named by the roles.
    """
    drawn = {stroke.role for stroke in plot.strokes}
    layers = [(role.value, _COLOURS[role]) for role in Role if role is not Role.CUTOUT or role in drawn]
    frame = dxf_frame(layers, lower=plot.lower, upper=plot.upper)
    lines = [frame.head]
    texts = lines_as_text(
        [stroke.points for stroke in plot.strokes], first="10\n%.4f\n20\n%.4f", then="\n10\n%.4f\n20\n%.4f"
    )
    for handle, (stroke, along) in enumerate(zip(plot.strokes, texts, strict=True), start=frame.first):
        lines.append(_entity(stroke, along, f"{handle:X}", frame.owner))
    text = "\n".join([*lines, frame.tail, ""])
    return with_seed(text, frame.first + len(plot.strokes)).encode("ascii")


def _entity(stroke: Stroke, along: str, handle: str, owner: str) -> str:
    common = f"5\n{handle}\n330\n{owner}\n100\nAcDbEntity\n8\n{stroke.role}"
    if stroke.role is Role.DRILL:
        centre = stroke.points.mean(axis=0)
        radius = number_as_text(float(np.hypot(*(stroke.points[0] - centre))))
        x, y = (number_as_text(number) for number in centre.tolist())
        return f"0\nCIRCLE\n{common}\n100\nAcDbCircle\n10\n{x}\n20\n{y}\n30\n0.0\n40\n{radius}"
    closed = 1 if stroke.closed else 0
    return f"0\nLWPOLYLINE\n{common}\n100\nAcDbPolyline\n90\n{len(stroke.points)}\n70\n{closed}\n{along}"
