"""What stands round the entities of a DXF R2000: header, tables and objects, the same on any day."""

import io
import re
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

_INCHES, _MILLIMETRES = 1, 4  # $INSUNITS


@dataclass(frozen=True, slots=True)
class Frame:
    """Text before and after the entities.

    Attributes:
        head: Up to and with the start of the entities.
        owner: Handle of model space.
        first: First free handle.
        tail: From the end of the entities on.
    """

    head: str
    owner: str
    first: int
    tail: str


def dxf_frame(
    layers: Iterable[tuple[str, int]],
    *,
    lower: tuple[float, float],
    upper: tuple[float, float],
    inches: bool = False,
) -> Frame:
    """The frame of a DXF R2000 (AC1015), made by ezdxf, its dates and random identifiers taken out.

    Args:
        layers: Names and colours.
        lower: Least x and y of what is drawn, the file's unit.
        upper: Greatest.
        inches: The unit is inches, not mm.
    """
    from ezdxf.filemanagement import new

    document = new("R2000")
    document.header["$INSUNITS"] = _INCHES if inches else _MILLIMETRES
    document.header["$MEASUREMENT"] = 0 if inches else 1
    document.modelspace().reset_extents((*lower, 0.0), (*upper, 0.0))
    width, height = np.subtract(upper, lower).tolist()
    middle = np.add(upper, lower) / 2
    document.set_modelspace_vport(max(height, width / 2), (float(middle[0]), float(middle[1])))
    for name, colour in layers:
        document.layers.add(name, color=colour)
    stream = io.StringIO()
    document.write(stream)
    head, tail = _dateless(stream.getvalue()).split("\nENTITIES\n")
    first = int(document.header["$HANDSEED"], 16)
    return Frame(f"{head}\nENTITIES", document.modelspace().layout_key, first, tail.rstrip())


def with_seed(text: str, handle: int) -> str:
    """The text with its next free handle said in the header."""
    return re.sub(r"(\$HANDSEED\n *5\n)\w+", rf"\g<1>{handle:X}", text, count=1)


def _dateless(text: str) -> str:
    """A DXF text with its dates and random identifiers made the same on any day."""
    text = re.sub(r"(\$TD\w+\n *40\n)[^\n]*", r"\g<1>2451545.0", text)
    text = re.sub(r"(\$(?:VERSION|FINGERPRINT)GUID\n *2\n)[^\n]*", r"\g<1>{00000000-0000-0000-0000-000000000000}", text)
    return re.sub(r"\n\d+\.\d+[^\n]* @ \d{4}-[^\n]*", "\ncutroom", text)
