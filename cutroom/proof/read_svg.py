"""Reads the lines of a marker SVG back, with the standard library's XML reader and a path reader of its own."""

import re
from xml.etree import ElementTree as ET

import numpy as np

from cutroom.errors import ProofError
from cutroom.model.finding import Finding
from cutroom.model.plot import Role
from cutroom.proof.lines import Array, Line, Reading, tidy
from cutroom.proof.words import WRITE_AGAIN, shortened, stop

_SVG = "{http://www.w3.org/2000/svg}"
_SILENT = {f"{_SVG}{name}" for name in ("title", "desc", "style", "metadata", "defs")}
_TOKEN = re.compile(r"\s*,?\s*(?:([A-Za-z])|([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?))")
_PLAIN = re.compile(r"\s*M((?:[ ,L]*[-+]?(?:\d+\.?\d*|\.\d+))+)\s*(Z?)\s*")
_MM = re.compile(r"(\d+(?:\.\d*)?)mm")


def read_svg(data: bytes, lower: tuple[float, float], upper: tuple[float, float]) -> Reading:
    """The lines of a marker SVG, grouped by role, in marker coordinates.

    Args:
        data: The file.
        lower: Least x and y of the plot (mm).
        upper: Greatest x and y of the plot (mm).

    Raises:
        ProofError: It is no SVG, or is cut off.
    """
    if b"<!DOCTYPE" in data or b"<!ENTITY" in data:
        raise ProofError("it declares entities, which a drawing has no need of", WRITE_AGAIN, place="file")
    try:
        root = ET.fromstring(data)
    except (ET.ParseError, ValueError, LookupError) as error:
        raise ProofError("it cannot be read as SVG: it is cut off or damaged", WRITE_AGAIN, place="file") from error
    if root.tag != f"{_SVG}svg":
        raise ProofError("it is no SVG", WRITE_AGAIN, place="file")
    scale, origin, findings = _scale(root, lower, upper)
    lines: list[Line] = []
    for element in root.iter():
        if "transform" in element.attrib:
            findings.append(stop("file", "an element is transformed; coordinates must be plain millimetres"))
    for group in root:
        if group.tag == f"{_SVG}g" and group.get("id") in set(Role):
            role = Role(str(group.get("id")))
            for element in group:
                found, fault = _element(element, role)
                findings += fault
                for points, closed in found:
                    page = (points - origin) * scale
                    points, closed = tidy(
                        np.column_stack((page[:, 0] + lower[0], upper[1] - page[:, 1])), closed=closed
                    )
                    lines.append(Line(points, closed, role.value, role, _placement(element)))
        elif group.tag not in _SILENT and not (group.tag == f"{_SVG}rect" and not lines):
            findings.append(stop("file", f"<{group.tag.removeprefix(_SVG)}> stands outside the groups of the marker"))
    return Reading(tuple(lines), shortened(findings))


def _scale(
    root: ET.Element, lower: tuple[float, float], upper: tuple[float, float]
) -> tuple[Array, Array, list[Finding]]:
    """Millimetres to the user unit in x and y, and the corner of the view box (user units)."""
    sizes = [_MM.fullmatch(root.get(name, "").strip()) for name in ("width", "height")]
    try:
        box = [float(part) for part in root.get("viewBox", "").replace(",", " ").split()]
    except ValueError:
        box = []
    if None in sizes or len(box) != 4 or min(box[2:]) <= 0:
        raise ProofError("its width and height are not in mm, or it has no view box", WRITE_AGAIN, place="file")
    size = np.array([float(found[1]) for found in sizes if found])
    wanted = np.array(upper) - np.array(lower)
    findings = []
    if np.abs(size - wanted).max() > 0.01:
        what = f"the page is {size[0]:.2f} x {size[1]:.2f} mm, wanted {wanted[0]:.2f} x {wanted[1]:.2f} mm"
        findings.append(stop("page", what))
    return size / np.array(box[2:]), np.array(box[:2]), findings


def _placement(element: ET.Element) -> int | None:
    text = element.get("data-placement", "")
    return int(text) if text.isascii() and text.isdigit() else None


def _element(element: ET.Element, role: Role) -> tuple[list[tuple[Array, bool]], list[Finding]]:
    if element.tag in _SILENT or (element.tag == f"{_SVG}text" and role is Role.SHEET):
        return [], []
    if element.tag != f"{_SVG}path":
        return [], [
            stop(f"group {role}", f"<{element.tag.removeprefix(_SVG)}> is extra: a marker has only paths there")
        ]
    paths = read_path(element.get("d", ""))
    if paths is None:
        return [], [stop(f"group {role}", "a path has other parts than moves, straight lines and closings")]
    return paths, []


def read_path(text: str) -> list[tuple[Array, bool]] | None:
    """The subpaths of a path of straight lines (M L H V Z, absolute or relative), or None when it is another."""
    plain = _PLAIN.fullmatch(text)
    if plain is not None:
        numbers = np.array(plain[1].replace("L", " ").replace(",", " ").split(), dtype=np.float64)
        return [(numbers.reshape(-1, 2), bool(plain[2]))] if len(numbers) % 2 == 0 else None
    runs: list[tuple[list[tuple[float, float]], bool]] = []
    tokens = _TOKEN.findall(text)
    if "".join(_TOKEN.sub("", text).split()):
        return None
    at, start, command, place = (0.0, 0.0), (0.0, 0.0), "", 0
    while place < len(tokens):
        letter = tokens[place][0]
        if letter:
            command, place = letter, place + 1
        if command in {"Z", "z"}:
            if not letter or not runs:
                return None
            runs[-1] = (runs[-1][0], True)
            at = start
            continue
        want = {"M": 2, "L": 2, "H": 1, "V": 1}.get(command.upper(), 0)
        steps = [float(number) for _, number in tokens[place : place + want] if number]
        if not want or len(steps) < want:
            return None
        place += want
        base = at if command.islower() else (0.0, 0.0)
        x = steps[0] + base[0] if command.upper() != "V" else at[0]
        y = steps[-1] + base[1] if command.upper() != "H" else at[1]
        at = (x, y)
        if command.upper() == "M":
            runs.append(([at], False))
            start, command = at, "L" if command == "M" else "l"
        elif not runs:
            return None
        elif runs[-1][1]:
            runs.append(([start, at], False))
        else:
            runs[-1][0].append(at)
    return [(np.array(points), closed) for points, closed in runs]
