"""A marker as DXF R2000: millimetres, a layer a role, a polyline a stroke."""

import io
import re

import numpy as np

from cutroom.model.plot import Plot, Role, Stroke
from cutroom.write.numbers import lines_as_text, number_as_text

_COLOURS = {
    Role.CUT: 7, Role.SEAM: 5, Role.NOTCH: 1, Role.GRAIN: 3, Role.DRILL: 6, Role.LABEL: 8,
    Role.FABRIC: 30, Role.SHEET: 9, Role.CUTOUT: 7,
}  # fmt: skip
_MILLIMETRES = 4  # $INSUNITS


def write_marker_dxf(plot: Plot) -> bytes:
    """The drawing as a DXF file.

    The frame of the file (header, tables, objects) comes from ezdxf with its dates and identifiers taken out; the
    strokes are written as text, which is many times faster for long markers.

    Args:
        plot: The drawing; coordinates are written as they are.

    Returns:
        DXF R2000 (AC1015): LWPOLYLINE a stroke, CIRCLE a drill hole, on layers named by the roles.
    """
    head, owner, first, tail = _frame(plot)
    lines = [head]
    texts = lines_as_text(
        [stroke.points for stroke in plot.strokes], first="10\n%.4f\n20\n%.4f", then="\n10\n%.4f\n20\n%.4f"
    )
    for handle, (stroke, along) in enumerate(zip(plot.strokes, texts, strict=True), start=first):
        lines.append(_entity(stroke, along, f"{handle:X}", owner))
    handle = first + len(plot.strokes)
    text = "\n".join([*lines, tail, ""])
    return re.sub(r"(\$HANDSEED\n *5\n)\w+", rf"\g<1>{handle:X}", text, count=1).encode("ascii")


def _entity(stroke: Stroke, along: str, handle: str, owner: str) -> str:
    common = f"5\n{handle}\n330\n{owner}\n100\nAcDbEntity\n8\n{stroke.role}"
    if stroke.role is Role.DRILL:
        centre = stroke.points.mean(axis=0)
        radius = number_as_text(float(np.hypot(*(stroke.points[0] - centre))))
        x, y = (number_as_text(number) for number in centre.tolist())
        return f"0\nCIRCLE\n{common}\n100\nAcDbCircle\n10\n{x}\n20\n{y}\n30\n0.0\n40\n{radius}"
    closed = 1 if stroke.closed else 0
    return f"0\nLWPOLYLINE\n{common}\n100\nAcDbPolyline\n90\n{len(stroke.points)}\n70\n{closed}\n{along}"


def _frame(plot: Plot) -> tuple[str, str, int, str]:
    """Text before the entities, handle of model space, first free handle, text after the entities."""
    from ezdxf.filemanagement import new

    document = new("R2000")
    document.header["$INSUNITS"] = _MILLIMETRES
    document.header["$MEASUREMENT"] = 1
    document.modelspace().reset_extents((*plot.lower, 0.0), (*plot.upper, 0.0))
    width, height = np.subtract(plot.upper, plot.lower).tolist()
    middle = np.add(plot.upper, plot.lower) / 2
    document.set_modelspace_vport(max(height, width / 2), (float(middle[0]), float(middle[1])))
    drawn = {stroke.role for stroke in plot.strokes}
    for role in (role for role in Role if role is not Role.CUTOUT or role in drawn):
        document.layers.add(role, color=_COLOURS[role])
    stream = io.StringIO()
    document.write(stream)
    head, tail = _dateless(stream.getvalue()).split("\nENTITIES\n")
    return f"{head}\nENTITIES", document.modelspace().layout_key, int(document.header["$HANDSEED"], 16), tail.rstrip()


def _dateless(text: str) -> str:
    """A DXF text with its dates and random identifiers made the same on any day."""
    text = re.sub(r"(\$TD\w+\n *40\n)[^\n]*", r"\g<1>2451545.0", text)
    text = re.sub(r"(\$(?:VERSION|FINGERPRINT)GUID\n *2\n)[^\n]*", r"\g<1>{00000000-0000-0000-0000-000000000000}", text)
    return re.sub(r"\n\d+\.\d+[^\n]* @ \d{4}-[^\n]*", "\ncutroom", text)
