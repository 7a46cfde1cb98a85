"""A marker as DXF R2000: millimetres, a layer a role, a polyline a stroke."""

import io
import re
from collections.abc import Iterator

import numpy as np

from cutroom.model.plot import Plot, Role, Stroke
from cutroom.write.numbers import as_text

_COLOURS = {
    Role.CUT: 7, Role.SEAM: 5, Role.NOTCH: 1, Role.GRAIN: 3, Role.DRILL: 6, Role.LABEL: 8,
    Role.FABRIC: 30, Role.SHEET: 9,
}  # fmt: skip
_MILLIMETRES = 4  # $INSUNITS
_PLACES = 6


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
    handle = first
    for stroke in plot.strokes:
        lines.extend(_entity(stroke, f"{handle:X}", owner))
        handle += 1
    text = "\n".join([*lines, tail, ""])
    return re.sub(r"(\$HANDSEED\n *5\n)\w+", rf"\g<1>{handle:X}", text, count=1).encode("ascii")


def _entity(stroke: Stroke, handle: str, owner: str) -> Iterator[str]:
    if stroke.role is Role.DRILL:
        yield from (
            "0",
            "CIRCLE",
            "5",
            handle,
            "330",
            owner,
            "100",
            "AcDbEntity",
            "8",
            stroke.role,
            "100",
            "AcDbCircle",
        )
        centre = stroke.points.mean(axis=0)
        radius = float(np.hypot(*(stroke.points[0] - centre)))
        ((x, y), (size, _)) = as_text(np.array([centre, (radius, 0)]), _PLACES)
        yield from ("10", x, "20", y, "30", "0.0", "40", size)
        return
    yield from ("0", "LWPOLYLINE", "5", handle, "330", owner, "100", "AcDbEntity", "8", stroke.role)
    yield from ("100", "AcDbPolyline", "90", str(len(stroke.points)), "70", "1" if stroke.closed else "0")
    yield "\n".join(f"10\n{x}\n20\n{y}" for x, y in as_text(stroke.points, _PLACES))


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
    for role in Role:
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
