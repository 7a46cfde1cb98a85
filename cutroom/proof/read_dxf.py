"""Reads the lines of a marker DXF back: the lines with a reader of its own, the structure with ezdxf.

A DXF is pairs of lines, a group code and a value; every entity begins at code 0.
"""

import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from cutroom.errors import ProofError
from cutroom.model.finding import Finding
from cutroom.model.plot import Role
from cutroom.proof.expected import ring
from cutroom.proof.lines import Array, Line, Reading, tidy
from cutroom.proof.words import WRITE_AGAIN, shortened, stop

if TYPE_CHECKING:
    from ezdxf.document import Drawing

_BROKEN = (OSError, ValueError, KeyError, IndexError, TypeError, AttributeError, StopIteration, EOFError)
"""What ezdxf was seen to raise, beside its own errors, on files that are cut off or no DXF."""
_SAMPLE = 200
"""Of a longer drawing ezdxf is given this many entities, with all the rest of the file: it takes a second
for each thousand or so."""
_CLOSED = 1


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
    pairs = entity_pairs(data)
    codes, values = pairs.codes, pairs.values
    begins = [place for place, code in enumerate(codes) if code == 0]
    if begins and begins[0] != 0:
        raise _broken()
    document, faults = open_sample(pairs, begins, _SAMPLE)
    findings = _header(document) + faults
    lines: list[Line] = []
    for begin, stop_at in zip(begins, [*begins[1:], len(codes)], strict=True):
        line = _line(values[begin], codes[begin:stop_at], values[begin:stop_at])
        if isinstance(line, Line):
            lines.append(line)
        else:
            findings.append(line)
    return Reading(tuple(lines), shortened(findings))


@dataclass(frozen=True, slots=True, eq=False)
class Pairs:
    """The entities of a DXF, pair by pair.

    Attributes:
        rows: All rows of the file.
        start: From which of them on the entities stand,
        end: and up to which.
        codes: The group codes of the entities.
        values: What stands under each.
    """

    rows: list[str]
    start: int
    end: int
    codes: list[int]
    values: list[str]


def entity_pairs(data: bytes) -> Pairs:
    """The entities of a DXF.

    Raises:
        ProofError: It is no DXF, or is cut off.
    """
    rows = decoded(data).split("\n")
    try:
        start, end = _entity_rows(rows)
        codes = [int(code) for code in rows[start:end:2]]
    except ValueError as error:
        raise _broken() from error
    return Pairs(rows, start, end, codes, rows[start + 1 : end : 2])


def open_sample(pairs: Pairs, begins: list[int], most: int) -> "tuple[Drawing, list[Finding]]":
    """The same as `open_dxf`, of a longer file with its first entities only, whose faults then say nothing.

    Args:
        pairs: The entities.
        begins: At which pair each begins.
        most: So many are kept.

    Raises:
        ProofError: It is no DXF, or is cut off.
    """
    whole = len(begins) <= most
    end = pairs.end if whole else pairs.start + 2 * begins[most]
    document, faults = open_dxf("\n".join([*pairs.rows[:end], *pairs.rows[pairs.end :]]))
    return document, faults if whole else []


def _entity_rows(rows: list[str]) -> tuple[int, int]:
    """From which row on and up to which the entities stand; ValueError when they do not."""
    for start in (place for place, row in enumerate(rows) if row == "ENTITIES"):
        if start % 2 and start >= 3 and rows[start - 2] == "SECTION":
            end = start + 1
            while True:
                end = rows.index("ENDSEC", end)
                if end % 2 and rows[end - 1].strip() == "0":
                    return start + 1, end - 1
                end += 1
    msg = "no entities"
    raise ValueError(msg)


def _header(document: "Drawing") -> list[Finding]:
    findings = []
    for name, wanted, meaning in (("$INSUNITS", 4, "millimetres"), ("$MEASUREMENT", 1, "metric")):
        value = document.header.get(name)
        if value != wanted:
            findings.append(stop("file header", f"{name} is {value}, wanted {wanted} ({meaning})"))
    if document.dxfversion != "AC1015":
        findings.append(stop("file header", f"the version is {document.dxfversion}, wanted AC1015"))
    return findings


def _line(kind: str, codes: list[int], values: list[str]) -> Line | Finding:
    """An entity as a line, or what is wrong with it."""
    layer = next((value for code, value in zip(codes, values, strict=True) if code == 8), "0")
    if layer not in set(Role):
        return stop(f"layer {layer}", "it is no layer of a marker")
    try:
        shape = _shape(kind, codes, values)
    except ValueError:
        return stop(f"layer {layer}", f"a {kind} has a coordinate too few, or one that is not a number")
    if shape is None:
        return stop(
            f"layer {layer}", f"a {kind} is extra: a marker has only plain lines there, in the plane of the cloth"
        )
    points, closed = tidy(shape[0], closed=shape[1])
    return Line(points, closed, layer, Role(layer))


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
