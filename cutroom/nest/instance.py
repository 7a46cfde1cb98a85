"""Open strip-packing instances: read into problems, and answered in their own axes and numbers."""

import json
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from cutroom.errors import FileError
from cutroom.geometry.polygon import area, signed_area
from cutroom.model.arrays import Points, frozen_points
from cutroom.model.marker import on_grid
from cutroom.nest.problem import Item, Layout, Pose, Problem, posed

FREE_TURNS = 8
"""Turns tried, evenly round, where an instance allows any."""


@dataclass(frozen=True, slots=True)
class Instance:
    """An instance made ready.

    Attributes:
        problem: Scaled so that the strip is 1 to 10 m wide: the grid of shifts is then fine enough.
        ids: The instance's id of each item of the problem.
        scale: Millimetres to the instance's unit, a power of ten.
        off_grid: `(n, 2)`, by how much (mm) each item was moved to start on the grid of shifts: whatever an instance
            counts an outline's corners from, two that fill the width exactly are to fit.
    """

    problem: Problem
    ids: tuple[int | str, ...]
    scale: float
    off_grid: Points


def read_instance(path: Path) -> Instance:
    """Read an instance.

    Raises:
        FileError: It is not there, or is not such an instance.
    """
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise FileError(f"cannot be read ({error.strerror})", "Check the name and try again", file=str(path)) from error
    except ValueError as error:
        raise FileError(f"is not JSON ({error})", "Give a strip-packing instance as JSON", file=str(path)) from error
    try:
        return _instance(found)
    except (KeyError, TypeError, ValueError, AttributeError, OverflowError) as error:
        raise FileError(
            f"is not a strip-packing instance ({type(error).__name__}: {error})",
            "Give strip_height and items, each with shape.data, demand and allowed_orientations",
            file=str(path),
        ) from error


def _instance(found: Any) -> Instance:
    width = float(found["strip_height"])
    if not (math.isfinite(width) and width > 0):
        raise ValueError("strip_height is not above 0")
    scale = 10.0 ** (3 - math.floor(math.log10(width)))
    items: list[Item] = []
    ids: list[int | str] = []
    off_grid: list[Points] = []
    for number, entry in enumerate(found["items"]):
        points = frozen_points(entry["shape"]["data"])
        if len(points) > 1 and (points[0] == points[-1]).all():
            points = points[:-1]
        points = points[(points != np.roll(points, -1, axis=0)).any(axis=1)]
        if len(points) < 3:
            raise ValueError(f"item {number} encloses nothing")
        turns = entry.get("allowed_orientations")
        turns = [360.0 / FREE_TURNS * turn for turn in range(FREE_TURNS)] if turns is None else turns
        poses = tuple(Pose(turn_deg=float(turn)) for turn in turns)
        scaled = _rounded((points if signed_area(points) > 0 else points[::-1]) * scale)
        corner = scaled.min(axis=0)
        off = corner - [on_grid(float(at)) for at in corner]
        outline = frozen_points(_rounded(scaled - off))
        name = entry.get("id", number)
        demand = entry.get("demand", 1)
        if demand != int(demand) or demand < 0:
            raise ValueError(f"the demand of item {number} is {demand}")
        for _ in range(int(demand)):
            items.append(Item(str(name), outline, poses))
            ids.append(name)
            off_grid.append(off)
    problem = Problem(_rounded(np.array([width * scale]))[0], 0.0, tuple(items))
    return Instance(problem, tuple(ids), scale, frozen_points(np.reshape(off_grid, (-1, 2))))


def _rounded(values: np.ndarray[Any, np.dtype[np.float64]]) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Values (mm) rounded to a billionth, so that decimals survive the change of scale."""
    return np.round(values, 9)


def answer(instance: Instance, layout: Layout, seconds: float) -> dict[str, object]:
    """A layout in the instance's own numbers: length, density, seconds and placements."""
    scale, problem = instance.scale, instance.problem
    covered = sum(area(item.outline) for item in problem.items)
    shifts = [(laid.x, laid.y) - posed(instance.off_grid[laid.item, None], laid.pose)[0] for laid in layout.placed]
    return {
        "length": _own(layout.length, scale),
        "density": covered / (layout.length * problem.width),
        "seconds": round(seconds, 3),
        "placements": [
            {
                "item": instance.ids[laid.item],
                "rotation_deg": laid.pose.turn_deg,
                "x": _own(x, scale),
                "y": _own(y, scale),
            }
            for laid, (x, y) in zip(layout.placed, shifts, strict=True)
        ],
    }


def _own(length: float, scale: float) -> float:
    return round(length / scale, 12)
