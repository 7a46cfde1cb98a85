"""What a run of the program left: its manifest, and its markers whole."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cutroom.errors import CutroomError, FileError
from cutroom.model.cutter import Cutter
from cutroom.model.marker import Marker, on_grid
from cutroom.model.profile import Paper, Plotter
from cutroom.read.plain import plain_of, value_of

LARGEST = 1 << 30
"""A file above this many bytes was not written by this program."""


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """A marker, and the corners of its drawing (mm)."""

    marker: Marker
    lower: tuple[float, float]
    upper: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Listed:
    """A file that a manifest lists.

    Attributes:
        path: Its name in the folder.
        kind: Its kind.
        sha256: Of its bytes.
        marker: The marker it shows, or empty.
        passed: Its proof passed.
        seconds: What its machine takes over it (s), or None when that is not said.
    """

    path: str
    kind: str
    sha256: str
    marker: str
    passed: bool
    seconds: float | None


@dataclass(frozen=True, slots=True, eq=False)
class Manifest:
    """What a manifest says of its folder.

    Attributes:
        folder: Where its files are.
        files: Those it lists.
        plotter: What `marker-hpgl` was written for, or None.
        paper: What `tiles-pdf` was written for, or None.
        cutters: What the cutters' files were written for, by kind.
    """

    folder: Path
    files: tuple[Listed, ...]
    plotter: Plotter | None
    paper: Paper | None
    cutters: dict[str, Cutter]


def read_bytes(path: Path) -> bytes:
    """The bytes of a file.

    Raises:
        FileError: It is not there, or cannot be read.
    """
    try:
        if path.stat().st_size > LARGEST:
            raise FileError(f"it is larger than {LARGEST >> 20} MB", "Name a file of this program", str(path))
        return path.read_bytes()
    except FileNotFoundError as error:
        raise FileError("there is no such file", "Check its name and its folder", str(path)) from error
    except OSError as error:
        raise FileError(f"it cannot be read ({error.strerror})", "Check who may read it", str(path)) from error


def read_drawn(path: Path) -> Drawn:
    """The marker of a file of the kind `marker-json`, whole.

    Raises:
        FileError: It is no such file, or was changed by hand.
    """
    raw = _json(path)
    whole, corners = raw.get("whole"), raw.get("drawing_mm")
    if not isinstance(whole, dict) or not isinstance(corners, list) or len(corners) != 2:
        raise FileError("it does not hold its marker whole", "Make it again with this version", str(path))
    try:
        marker = value_of(Marker, whole, "whole")
        lower, upper = (value_of(_Corner, {"at": corner}, "drawing_mm").at for corner in corners)
        known = {piece.key for piece in marker.pieces}
        lost = [placement for placement in marker.placements if placement.key not in known]
        if lost:
            raise FileError(f'"{lost[0].piece}" is laid and not listed', "Take the file as it was written", "", "whole")
    except CutroomError as error:
        raise error.at(file=str(path)) from error
    laid = [{key: row.get(key) for key in _PLACED} for row in raw.get("pieces", []) if isinstance(row, dict)]
    if laid != [_placed(marker, number) for number in range(len(marker.placements))]:
        raise FileError(
            "its pieces were moved by hand, and the marker it holds whole was not",
            "Go on from it with make, which writes the files anew, and prove those",
            str(path),
        )
    return Drawn(marker, lower, upper)


def read_listed(path: Path) -> tuple[Listed, ...]:
    """The files that a manifest lists.

    Raises:
        FileError: It is no manifest of this program.
    """
    return _listed(_json(path), path)


def read_manifest(path: Path) -> Manifest:
    """A manifest.

    Raises:
        FileError: It is no manifest of this program.
    """
    raw = _json(path)
    files = _listed(raw, path)
    try:
        machines = raw.get("machines", {})
        plotter = (
            None if machines.get("plotter") is None else value_of(Plotter, machines["plotter"], "machines.plotter")
        )
        paper = None if machines.get("paper") is None else value_of(Paper, machines["paper"], "machines.paper")
        cutters = {
            str(kind): value_of(Cutter, cutter, f"machines.cutters.{kind}")
            for kind, cutter in machines.get("cutters", {}).items()
        }
    except (KeyError, TypeError, AttributeError) as error:
        raise _no_manifest(path) from error
    except CutroomError as error:
        raise error.at(file=str(path)) from error
    return Manifest(path.parent, files, plotter, paper, cutters)


def _listed(raw: dict[str, Any], path: Path) -> tuple[Listed, ...]:
    files = []
    try:
        proofs = {row["path"]: row for row in raw["proof"]}
        for row in raw["files"]:
            name = str(row["path"])
            if Path(name).name != name:
                raise FileError(f'"{name}" leads out of its folder', "Take the manifest as it was written", str(path))
            proof = proofs.get(name, {})
            marker = str(row.get("marker", proof.get("marker", "")))
            seconds = row.get("time", {}).get("seconds")
            known = isinstance(seconds, int | float) and not isinstance(seconds, bool)
            files.append(
                Listed(
                    name, str(row["kind"]), str(row["sha256"]), marker,
                    passed=proof.get("passed") is True, seconds=float(seconds) if known else None,
                )
            )  # fmt: skip
    except (KeyError, TypeError, AttributeError) as error:
        raise _no_manifest(path) from error
    return tuple(files)


def _no_manifest(path: Path) -> FileError:
    return FileError("it is no manifest of this program", "Name the manifest.json of a folder", str(path))


@dataclass(frozen=True, slots=True)
class _Corner:
    at: tuple[float, float]


_PLACED = ("piece", "garment", "size", "copy", "flipped", "turn_deg", "x_mm", "y_mm")


def _placed(marker: Marker, number: int) -> dict[str, Any]:
    said = plain_of(marker.placements[number])
    return {
        **{key: said[key] for key in _PLACED[:6]},
        "x_mm": on_grid(said["x"]),
        "y_mm": on_grid(said["y"]),
    }


def _json(path: Path) -> dict[str, Any]:
    try:
        raw = json.loads(read_bytes(path))
    except (ValueError, RecursionError) as error:
        raise FileError("it is no JSON", "Name a file that this program wrote", str(path)) from error
    if not isinstance(raw, dict):
        raise FileError("it holds no table", "Name a file that this program wrote", str(path))
    return raw
