"""A marker that was written earlier, read to be gone on from; people may have moved, turned and locked its pieces."""

from pathlib import Path

import msgspec

from cutroom.errors import FileError
from cutroom.model.marker import Placement, on_grid

FURTHEST = 1e6
"""A piece further off than this (mm) is a slip of the pen."""


class PlacementShape(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A piece where it lies, as a marker's file has it."""

    piece: str
    garment: str
    size: str
    copy: int
    flipped: bool
    turn_deg: float
    x_mm: float
    y_mm: float
    locked: bool = False


class MarkerShape(msgspec.Struct, frozen=True):
    """What of a marker's file is gone on from."""

    name: str
    pieces: tuple[PlacementShape, ...]
    pattern_start_mm: float | None = None


def read_marker(path: Path) -> tuple[str, tuple[Placement, ...], float | None]:
    """The marker that a file of the kind `marker-json` holds.

    Returns:
        Its name; where its pieces lie, to the nearest 0.0001 mm; where the cloth's pattern starts in it (mm), or None.

    Raises:
        FileError: There is no such file, or it is not such a marker.
    """
    file = str(path)
    try:
        shape = msgspec.json.decode(path.read_bytes(), type=MarkerShape)
    except FileNotFoundError as error:
        raise FileError("there is no such marker", "Check its name and its folder", file) from error
    except OSError as error:
        raise FileError(f"it cannot be read ({error.strerror})", "Check who may read it", file) from error
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise FileError(
            f"it is not a marker that was written as marker-json ({error})",
            "Name the file that ends in marker.json, and write numbers, true and false as they stand there",
            file,
        ) from error
    for number, one in enumerate(shape.pieces, start=1):
        if not max(abs(one.x_mm), abs(one.y_mm), abs(one.turn_deg)) <= FURTHEST:
            what = f"it lies at x {one.x_mm:g}, y {one.y_mm:g} mm, turned {one.turn_deg:g} degrees"
            raise FileError(what, "Put it on the cloth", file, f'piece {number}, "{one.piece}"')
    return shape.name, tuple(_placement(one) for one in shape.pieces), shape.pattern_start_mm


def _placement(shape: PlacementShape) -> Placement:
    return Placement(
        piece=shape.piece,
        garment=shape.garment,
        size=shape.size,
        copy=shape.copy,
        flipped=shape.flipped,
        turn_deg=shape.turn_deg,
        x=on_grid(shape.x_mm),
        y=on_grid(shape.y_mm),
        locked=shape.locked,
    )
