"""Reads the lines of a marker SVG back, with the standard library's XML reader and a path reader of its own."""

import re
from xml.etree import ElementTree as ET

import numpy as np

from cutroom.errors import ProofError
from cutroom.model.finding import Finding
from cutroom.model.plot import Role
from cutroom.proof.lines import Array, Line, Reading, tidy
from cutroom.proof.words import WRITE_AGAIN, shortened, stop

SVG = "{http://www.w3.org/2000/svg}"
_SILENT = {f"{SVG}{name}" for name in ("title", "desc", "style", "metadata", "defs")}
_TOKEN = re.compile(r"\s*,?\s*(?:([A-Za-z])|([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?))")
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)"
_PLAIN = re.compile(rf"\s*M\s*({_NUMBER}(?:[ ,L]+{_NUMBER})*)\s*(Z?)\s*")
_PLACE = r"-?\d+\.\d+,-?\d+\.\d+"
_PLAIN_BENT = re.compile(rf"M{_PLACE}(?: (?:L|A(\d+\.\d+),\1 0 [01] [01] ){_PLACE})*")
_NUMBERS = {"M": 2, "L": 2, "H": 1, "V": 1, "A": 7}
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
    root, findings = svg_root(data)
    scale, origin, faults = user_units(root, lower, upper)
    findings += faults
    lines: list[Line] = []
    for group in root:
        if group.tag == f"{SVG}g" and group.get("id") in set(Role):
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
        elif group.tag not in _SILENT and not (group.tag == f"{SVG}rect" and not lines):
            findings.append(stop("file", f"<{group.tag.removeprefix(SVG)}> stands outside the groups of the marker"))
    return Reading(tuple(lines), shortened(findings))


def svg_root(data: bytes) -> tuple[ET.Element, list[Finding]]:
    """The drawing of an SVG, and whether anything in it lies elsewhere than its coordinates say.

    Raises:
        ProofError: It is no SVG, or is cut off.
    """
    if b"<!DOCTYPE" in data or b"<!ENTITY" in data:
        raise ProofError("it declares entities, which a drawing has no need of", WRITE_AGAIN, place="file")
    if b"<?xml-stylesheet" in data:
        raise ProofError("it takes its looks from elsewhere, where they may change", WRITE_AGAIN, place="file")
    try:
        root = ET.fromstring(data)
    except (ET.ParseError, ValueError, LookupError) as error:
        raise ProofError("it cannot be read as SVG: it is cut off or damaged", WRITE_AGAIN, place="file") from error
    if root.tag != f"{SVG}svg":
        raise ProofError("it is no SVG", WRITE_AGAIN, place="file")
    what = "an element is transformed; coordinates must be plain millimetres"
    return root, [stop("file", what) for element in root.iter() if "transform" in element.attrib]


def user_units(
    root: ET.Element, lower: tuple[float, float], upper: tuple[float, float]
) -> tuple[Array, Array, list[Finding]]:
    """Millimetres to the user unit in x and y, and the corner of the view box (user units).

    Args:
        root: The drawing.
        lower: Least x and y that its page must show (mm).
        upper: Greatest x and y.

    Raises:
        ProofError: It does not say how long its unit is.
    """
    sizes = [_MM.fullmatch(root.get(name, "").strip()) for name in ("width", "height")]
    try:
        box = [float(part) for part in root.get("viewBox", "").replace(",", " ").split()]
    except ValueError:
        box = []
    size = np.array([float(found[1]) for found in sizes if found])
    sound = len(size) == 2 and len(box) == 4 and np.isfinite(box).all() and min(*size, *box[2:]) > 0
    if not sound:
        raise ProofError("its width and height are not in mm, or it has no view box", WRITE_AGAIN, place="file")
    wanted = np.array(upper) - np.array(lower)
    findings = []
    if np.abs(size - wanted).max() > 0.01:
        what = f"the page is {size[0]:.2f} x {size[1]:.2f} mm, wanted {wanted[0]:.2f} x {wanted[1]:.2f} mm"
        findings.append(stop("page", what))
    scale = size / np.array(box[2:])
    if abs(scale[0] / scale[1] - 1) > 1e-5:
        findings.append(stop("page", f"its unit is {scale[0]:.5f} mm in x and {scale[1]:.5f} mm in y"))
    return scale, np.array(box[:2]), findings


def _placement(element: ET.Element) -> int | None:
    text = element.get("data-placement", "")
    return int(text) if text.isascii() and text.isdigit() else None


def _element(element: ET.Element, role: Role) -> tuple[list[tuple[Array, bool]], list[Finding]]:
    if element.tag in _SILENT or (element.tag == f"{SVG}text" and role is Role.SHEET):
        return [], []
    if element.tag != f"{SVG}path":
        return [], [stop(f"group {role}", f"<{element.tag.removeprefix(SVG)}> is extra: a marker has only paths there")]
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
    runs = read_corners(text)
    if runs is None or any(table[:, 2].any() for table, _ in runs):
        return None
    return [(table[:, :2], closed) for table, closed in runs]


def read_corners(text: str) -> list[tuple[Array, bool]] | None:
    """The subpaths of a path of straight lines and arcs of circles (M L H V A Z), or None when it is another.

    Returns:
        Of each its corners `(n, 4)`, and whether it closes: x, y, and of the arc that leads there its radius (0: it is
        straight) and its flags, 1 for more than half a turn and 2 for angles that rise. All in user units.
    """
    if _PLAIN_BENT.fullmatch(text):
        return [(_plain_corners(text), False)]
    runs: list[tuple[list[tuple[float, float, float, int]], bool]] = []
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
        want = _NUMBERS.get(command.upper(), 0)
        steps = [float(number) for _, number in tokens[place : place + want] if number]
        if not want or len(steps) < want:
            return None
        place += want
        base = at if command.islower() else (0.0, 0.0)
        radius, flags = 0.0, 0
        if command in {"A", "a"}:
            if steps[0] != steps[1] or not {steps[3], steps[4]} <= {0.0, 1.0}:
                return None
            radius, flags = abs(steps[0]), int(steps[3] + 2 * steps[4])
            steps = steps[5:]
        x = steps[0] + base[0] if command.upper() != "V" else at[0]
        y = steps[-1] + base[1] if command.upper() != "H" else at[1]
        bend = (0.0, 0) if (x, y) == at else (radius, flags)
        at = (x, y)
        if command.upper() == "M":
            runs.append(([(x, y, 0.0, 0)], False))
            start, command = at, "L" if command == "M" else "l"
        elif not runs:
            return None
        elif runs[-1][1]:
            runs.append(([(*start, 0.0, 0), (*at, *bend)], False))
        else:
            runs[-1][0].append((*at, *bend))
    return [(np.array(corners, dtype=np.float64), closed) for corners, closed in runs]


def _plain_corners(text: str) -> Array:
    """The corners of a path with arcs that is written as most are: each of its bits as the seven numbers of an arc."""
    bits = text.replace("M", "0 0 0 0 0 ").replace("L", "0 0 0 0 0 ").replace("A", "").replace(",", " ").split()
    table = np.array(bits, dtype=np.float64).reshape(-1, 7)
    same = np.concatenate(([False], (table[1:, 5:] == table[:-1, 5:]).all(axis=1)))
    corners = np.column_stack((table[:, 5:], table[:, 0], table[:, 3] + 2 * table[:, 4]))
    corners[same, 2:] = 0.0
    return corners
