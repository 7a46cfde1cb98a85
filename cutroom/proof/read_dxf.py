"""Reads the lines of a marker DXF back, with a reader of its own making: ezdxf."""

import io

import numpy as np
from ezdxf.document import Drawing
from ezdxf.entities.circle import Circle
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.line import Line as DxfLine
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.entities.polyline import Polyline
from ezdxf.filemanagement import read
from ezdxf.lldxf.const import DXFError

from cutroom.errors import ProofError
from cutroom.model.finding import Finding
from cutroom.model.plot import Role
from cutroom.proof.expected import ring
from cutroom.proof.lines import Array, Line, Reading, tidy
from cutroom.proof.words import WRITE_AGAIN, shortened, stop

_BROKEN = (DXFError, OSError, ValueError, KeyError, IndexError, TypeError, AttributeError, StopIteration, EOFError)
"""What ezdxf was seen to raise on files that are cut off or no DXF."""


def open_dxf(data: bytes) -> tuple[Drawing, list[Finding]]:
    """Open a DXF strictly; what a repair would have been needed for is told.

    Raises:
        ProofError: It is no DXF, or is cut off.
    """
    try:
        document = read(io.StringIO(data.decode("cp1252", errors="replace").replace("\r\n", "\n")))
        auditor = document.audit()
    except _BROKEN as error:
        raise ProofError("it cannot be read as DXF: it is cut off or damaged", WRITE_AGAIN, place="file") from error
    faults = [*auditor.errors, *auditor.fixes]
    return document, [stop("file", f"a DXF reader had to repair it: {fault.message}") for fault in faults]


def read_dxf(data: bytes) -> Reading:
    """The lines of a marker DXF, grouped by layer.

    Raises:
        ProofError: It is no DXF, or is cut off.
    """
    document, findings = open_dxf(data)
    for name, wanted, meaning in (("$INSUNITS", 4, "millimetres"), ("$MEASUREMENT", 1, "metric")):
        value = document.header.get(name)
        if value != wanted:
            findings.append(stop("file header", f"{name} is {value}, wanted {wanted} ({meaning})"))
    if document.dxfversion != "AC1015":
        findings.append(stop("file header", f"the version is {document.dxfversion}, wanted AC1015"))
    lines: list[Line] = []
    for entity in document.modelspace():
        layer = str(entity.dxf.layer)
        shape = _shape(entity)
        if layer not in set(Role):
            findings.append(stop(f"layer {layer}", "it is no layer of a marker"))
        elif shape is None:
            findings.append(
                stop(f"layer {layer}", f"a {entity.dxftype()} is extra: a marker has only plain lines there")
            )
        elif not np.isfinite(shape[0]).all() or not len(shape[0]):
            findings.append(stop(f"layer {layer}", f"a {entity.dxftype()} has no points, or one that is not a number"))
        else:
            points, closed = tidy(shape[0], closed=shape[1])
            lines.append(Line(points, closed, layer, Role(layer)))
    return Reading(tuple(lines), shortened(findings))


def _shape(entity: DXFEntity) -> tuple[Array, bool] | None:
    """Points and closedness of an entity, or None when it is not a plain line or circle."""
    if isinstance(entity, LWPolyline):
        rows = np.array(entity.get_points("xyb"), dtype=np.float64).reshape(-1, 3)
        return None if rows[:, 2].any() else (rows[:, :2], bool(entity.closed))
    if isinstance(entity, Polyline):
        if entity.has_arc or not entity.is_2d_polyline:
            return None
        return np.array([(point.x, point.y) for point in entity.points()]).reshape(-1, 2), bool(entity.is_closed)
    if isinstance(entity, DxfLine):
        ends = entity.dxf.start, entity.dxf.end
        return np.array([(end.x, end.y) for end in ends]), False
    if isinstance(entity, Circle):
        centre = entity.dxf.center
        return ring(centre.x, centre.y, 2 * float(entity.dxf.radius)), True
    return None
