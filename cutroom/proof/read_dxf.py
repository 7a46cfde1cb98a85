"""Reads the lines of a marker DXF back: the lines with a reader of its own, the structure with ezdxf.

A DXF is pairs of lines, a group code and a value; every entity begins at code 0.
"""

import io
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from cutroom.errors import ProofError
from cutroom.model.finding import Finding
from cutroom.model.plot import Role
from cutroom.proof.expected import ring
from cutroom.proof.lines import Array, Reading, lines_of, tidy_all
from cutroom.proof.words import WRITE_AGAIN, shortened, stop

if TYPE_CHECKING:
    from ezdxf.document import Drawing

_BROKEN = (OSError, ValueError, KeyError, IndexError, TypeError, AttributeError, StopIteration, EOFError)
"""What ezdxf was seen to raise, beside its own errors, on files that are cut off or no DXF."""
_SAMPLE = 200
"""Of a longer drawing ezdxf is given this many entities, with all the rest of the file: it takes a second
for each thousand or so."""
_CLOSED = 1
_ROLES = {role.value: role for role in Role}
_PLAIN = ["5", "330", "100", "8", "100", "90", "70"]
"""Groups before the corners of a plain polyline: handle, owner, layer, how many corners, flags."""
_SECTION = re.compile(r"(?:\A|\n) *0\nSECTION\n *2\nENTITIES(?=\n)")
_END = re.compile(r"\n *0\nENDSEC(?=\n)")
_ENTITY = re.compile(r"\n *0\n(?!VERTEX\n|SEQEND\n)(?=[0-9]*[A-Z])")
"""A row of 0 before a name can only be a group 0: where it is a value, a number comes next."""


def open_dxf(text: str) -> "tuple[Drawing, list[Finding]]":
    """Open a DXF strictly with ezdxf; what a repair would have been needed for is told.

    Raises:
        ProofError: It is no DXF, or is cut off.
    """
    from ezdxf.filemanagement import read  # half a second to load, and not every run reads a DXF
    from ezdxf.lldxf.const import DXFError

    try:
        document = read(io.StringIO(text))
        auditor = document.audit()
    except (DXFError, *_BROKEN) as error:
        raise _broken() from error
    faults = [*auditor.errors, *auditor.fixes]
    return document, [stop("file", f"a DXF reader had to repair it: {fault.message}") for fault in faults]


def decoded(data: bytes) -> str:
    """The text of a DXF, its lines ended alike."""
    return data.decode("cp1252", errors="replace").replace("\r\n", "\n")


def _broken() -> ProofError:
    return ProofError("it cannot be read as DXF: it is cut off or damaged", WRITE_AGAIN, place="file")


def read_dxf(data: bytes) -> Reading:
    """The lines of a marker DXF, grouped by layer.

    Raises:
        ProofError: It is no DXF, or is cut off.
    """
    entities = entities_of(data)
    document, faults = open_first(entities, _SAMPLE)
    findings = _header(document) + faults
    many: list[Array] = []
    closed: list[bool] = []
    looks: list[int] = []
    codes = {role: code for code, role in enumerate(Role)}
    for rows in entities:
        found = _plain_line(rows) or _line(rows[0], *codes_and_values(rows))
        if isinstance(found, Finding):
            findings.append(found)
        else:
            many.append(found[0])
            closed.append(found[1])
            looks.append(codes[found[2]])
    lines = lines_of(
        *tidy_all(
            np.concatenate(many) if many else np.zeros((0, 2)),
            np.array([len(points) for points in many], dtype=np.int64),
            np.array(closed, dtype=np.bool_),
        ),
        looks=[(role.value, role) for role in Role],
        look=np.array(looks, dtype=np.int64),
    )
    return Reading(lines, shortened(findings))


@dataclass(frozen=True, slots=True, eq=False)
class Entities:
    """The entities of a DXF, one by one; what belongs to a polyline of the old form goes with it.

    Attributes:
        text: The file.
        begins: Where each entity begins, after its group 0,
        end: and where the last one ends.
    """

    text: str
    begins: list[int]
    end: int

    @property
    def head(self) -> list[str]:
        """All rows before the entities."""
        return self.text[: self.begins[0] if self.begins else self.end].split("\n")

    def __iter__(self) -> Iterator[list[str]]:
        """The rows of each: what it is, then a code and a value by turns."""
        for begin, after in zip(self.begins, [*self.begins[1:], -1], strict=True):
            end = self.end if after < 0 else self.text.rindex("\n", begin, after - 1)
            yield self.text[begin:end].split("\n")


def entities_of(data: bytes) -> Entities:
    """The entities of a DXF.

    Raises:
        ProofError: It is no DXF, or is cut off.
    """
    text = decoded(data)
    start = _SECTION.search(text)
    end = _END.search(text, start.end() - 1) if start else None
    if start is None or end is None:
        raise _broken()
    begins = [found.end() for found in _ENTITY.finditer(text, start.end() - 1, end.start())]
    if begins and text[start.end() : begins[0]].strip() != "0":
        raise _broken()
    return Entities(text, begins, end.start())


def codes_and_values(rows: list[str]) -> tuple[list[int], list[str]]:
    """The group codes of an entity, and what stands under each.

    Raises:
        ProofError: A code is no number, or one has no value.
    """
    try:
        codes = [int(code) for code in rows[1::2]]
    except ValueError as error:
        raise _broken() from error
    if len(rows) % 2 == 0:
        raise _broken()
    return codes, rows[2::2]


def open_first(entities: Entities, most: int) -> "tuple[Drawing, list[Finding]]":
    """The same as `open_dxf`, of a longer file with its first entities only, whose faults then say nothing.

    Args:
        entities: The entities.
        most: So many are kept.

    Raises:
        ProofError: It is no DXF, or is cut off.
    """
    text = entities.text
    if len(entities.begins) <= most:
        return open_dxf(text)
    end = text.rindex("\n", 0, entities.begins[most] - 1)
    document, _ = open_dxf(text[:end] + text[entities.end :])
    return document, []


def _header(document: "Drawing") -> list[Finding]:
    findings = []
    for name, wanted, meaning in (("$INSUNITS", 4, "millimetres"), ("$MEASUREMENT", 1, "metric")):
        value = document.header.get(name)
        if value != wanted:
            findings.append(stop("file header", f"{name} is {value}, wanted {wanted} ({meaning})"))
    if document.dxfversion != "AC1015":
        findings.append(stop("file header", f"the version is {document.dxfversion}, wanted AC1015"))
    return findings


def plain_corners(rows: list[str]) -> tuple[Array, bool] | None:
    """Corners and closedness of an LWPOLYLINE without arcs that is written as most are; None for any other entity."""
    many, first = (len(rows) - 1) // 4 - len(_PLAIN) // 2, 1 + 2 * len(_PLAIN)
    if rows[0] != "LWPOLYLINE" or rows[1:first:2] != _PLAIN or many < 1 or rows[first - 3] != str(many):
        return None
    if rows[first::4] != ["10"] * many or rows[first + 2 :: 4] != ["20"] * many or rows[first - 1] not in {"0", "1"}:
        return None
    points = plain_numbers(rows[first + 1 :: 2])
    return None if points is None or len(points) != many else (points, rows[first - 1] == "1")


def plain_numbers(texts: list[str]) -> Array | None:
    """Numbers by twos, `(n, 2)`, or None when they are none."""
    try:
        numbers = [*map(float, texts)]
    except ValueError:
        return None
    if len(numbers) % 2 or not math.isfinite(sum(numbers)):
        return None
    return np.array(numbers).reshape(-1, 2)


def _plain_line(rows: list[str]) -> tuple[Array, bool, Role] | None:
    """Points, closedness and layer of an entity that is written as most are; None for any other."""
    plain = plain_corners(rows)
    return (*plain, _ROLES[rows[8]]) if plain is not None and rows[8] in _ROLES else None


def _line(kind: str, codes: list[int], values: list[str]) -> tuple[Array, bool, Role] | Finding:
    """Points, closedness and layer of an entity, or what is wrong with it."""
    layer = next((value for code, value in zip(codes, values, strict=True) if code == 8), "0")
    if layer not in _ROLES:
        return stop(f"layer {layer}", "it is no layer of a marker")
    try:
        shape = _shape(kind, codes, values)
    except ValueError:
        return stop(f"layer {layer}", f"a {kind} has a coordinate too few, or one that is not a number")
    if shape is None:
        return stop(
            f"layer {layer}", f"a {kind} is extra: a marker has only plain lines there, in the plane of the cloth"
        )
    return *shape, _ROLES[layer]


def _shape(kind: str, codes: list[int], values: list[str]) -> tuple[Array, bool] | None:
    """Points and closedness of an entity; None when it is not a plain line or circle of the model."""

    def numbers(wanted: int) -> Array:
        return np.array([value for code, value in zip(codes, values, strict=True) if code == wanted], dtype=np.float64)

    if numbers(42).any() or numbers(67).any() or (numbers(230) != 1).any():
        return None
    if kind == "LWPOLYLINE":
        points = np.column_stack((numbers(10), numbers(20)))
        flags = next((int(value) for code, value in zip(codes, values, strict=True) if code == 70), 0)
        closed = bool(flags & _CLOSED)
        if len(points) != numbers(90).sum():
            raise ValueError
    elif kind == "LINE":
        points, closed = np.array([(*numbers(10), *numbers(20)), (*numbers(11), *numbers(21))]), False
    elif kind == "CIRCLE":
        (x,), (y,), (radius,) = numbers(10), numbers(20), numbers(40)
        points, closed = ring(float(x), float(y), 2 * float(radius)), True
    else:
        return None
    if not len(points) or not np.isfinite(points).all():
        raise ValueError
    return points, closed
