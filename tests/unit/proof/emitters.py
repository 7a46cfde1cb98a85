"""Markers and tiny emitters for testing the proof: written from the contract of the files, sharing no code with it."""

import io
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import ezdxf
import numpy as np
from ezdxf import units
from numpy.typing import NDArray
from reportlab.pdfgen.canvas import Canvas
from shapely import affinity
from shapely.geometry import LineString, MultiLineString, Polygon, box

from cutroom.model.fabric import Fabric, Nap, Spread
from cutroom.model.marker import Marker, Placement
from cutroom.model.piece import Cut
from cutroom.model.plot import Role
from cutroom.model.prepared import Label, PreparedPiece
from cutroom.model.profile import Paper, Plotter

Array = NDArray[np.float64]
MM = 72 / 25.4
LOWER = (-160.0, -25.0)


@dataclass(frozen=True)
class Drawn:
    role: Role
    points: Array
    closed: bool
    placement: int | None = None


def lettering(text_seed: int) -> tuple[Array, ...]:
    """Strokes that look a little like an F and an L, so that mirror images differ, and a dot."""
    wide = 3.0 + text_seed % 4
    return (
        np.array([(-wide, -5), (-wide, 5), (0, 5.0)]),
        np.array([(-wide, 0), (-1, 0.5)]),
        np.array([(2, 5), (2, -5), (2 + wide, -5.0)]),
        np.array([(4.0, 2.0), (5, 3), (5, 4), (4, 2)]),
    )


def a_piece(
    name: str = "front",
    *,
    seed: int = 1,
    cut: Cut = Cut.PAIR,
    size: str = "12",
    radius: float = 45.0,
    sides: int = 40,
    symmetric: bool = False,
    crossways: bool = False,
    garment: str = "blouse",
) -> PreparedPiece:
    """A lumpy round piece; about its own grain symmetric if asked; with a straight fold edge when cut on the fold."""
    rng = np.random.default_rng(seed)
    if cut is Cut.FOLD:
        rise = np.linspace(0, np.pi, sides)
        bulge = radius * (0.7 + 0.3 * rng.random(sides))
        cut_line = np.column_stack((bulge * np.cos(rise), bulge * np.sin(rise)))
        cut_line[[0, -1], 1] = 0.0
    else:
        angle = np.arange(sides) * 2 * np.pi / sides
        wave = 0.8 + 0.15 * np.cos(2 * angle + 0.3 * (not symmetric)) + 0.05 * np.cos(3 * angle + 0.8 * (not symmetric))
        bulge = radius * wave * (1.0 if symmetric else 1 - 0.002 * rng.random(sides))
        cut_line = np.column_stack((bulge * np.cos(angle), bulge * np.sin(angle)))
    inward = np.array((0.0, 0.0 if cut is not Cut.FOLD else 0.35 * radius))
    seam_line = inward + 0.85 * (cut_line - inward)
    if cut is Cut.FOLD:
        seam_line[[0, -1], 1] = 0.0
    where = sorted(rng.choice(np.arange(2, sides - 2), 3, replace=False).tolist())
    notches = tuple(np.array([cut_line[one], cut_line[one] + 0.1 * (inward - cut_line[one])]) for one in where)
    high = 0.3 * radius if cut is Cut.FOLD else 0.0
    return PreparedPiece(
        garment=garment, size=size, name=name, cut=cut, quantity=1, cloth="self", crossways=crossways,
        cut_line=cut_line, seam_line=seam_line, turns=cut_line[[0, -1]], notches=notches,
        drills=((8.0, high + 6.0, 3.0),),
        grain=(np.array([(-20.0, high), (20.0, high)]), np.array([(15.0, high + 2), (20.0, high), (15.0, high - 2)])),
        lines=(np.array([(-10.0, high + 8), (0.0, high + 12), (6.0, high + 11)]),),
        label=Label((name, size), (-4.0, high + 2), lettering(seed), 10.0),
        label_mirrored=Label((name, size), (-4.0, high - 2), lettering(seed + 1), 10.0),
    )  # fmt: skip


def a_marker(
    seed: int = 0, *, count: int = 6, nap: Nap = Nap.NONE, across: int = 2, radius: float = 45.0, sides: int = 40
) -> Marker:
    """Pieces in rows, turned and flipped as the nap allows."""
    rng = np.random.default_rng(seed)
    cell = 2.2 * radius
    kinds = tuple(
        a_piece(
            f"piece {number}",
            seed=seed * 7 + number,
            radius=radius,
            sides=sides,
            symmetric=number % 3 == 2,
            crossways=number == 1,
        )
        for number in range(min(4, count))
    )
    placements = []
    for index in range(count):
        piece = kinds[int(rng.integers(len(kinds)))]
        turn = float(rng.choice([0.0, 180.0])) if nap is Nap.NONE else 0.0
        if piece.crossways:
            turn = float(rng.choice([0.0, 90.0, 270.0]))
        x = round(cell * (index // across + 0.5) + rng.uniform(-1, 1), 2)
        y = round(cell * (index % across + 0.5) + rng.uniform(-1, 1), 2)
        flipped = bool(rng.integers(2))
        if piece.crossways and turn and nap is Nap.ONE_WAY:  # all of one hand alike, the other hand mirrored
            turn = 270.0 if flipped and not piece.symmetric else 90.0
        if piece.crossways and nap is Nap.BY_GARMENT:
            turn = 0.0
        placements.append(Placement(piece.name, piece.garment, piece.size, index + 1, flipped, turn, x, y))
    return settled(Marker("linen", Fabric("linen", cell * across, nap=nap, gap=1.0), 1.0, tuple(placements), kinds))


def a_folded_marker() -> Marker:
    """A fold piece on the fold of folded cloth, and a pair beside it."""
    back, front = a_piece("back", seed=5, cut=Cut.FOLD), a_piece("front", seed=6)
    placements = (
        Placement("back", "blouse", "12", 1, False, 0.0, 50.0, 0.0),
        Placement("front", "blouse", "12", 1, False, 0.0, 150.0, 50.0),
    )
    fabric = Fabric("linen", 220.0, spread=Spread.FOLDED)
    return settled(Marker("linen", fabric, 1.0, placements, (back, front)))


def settled(marker: Marker) -> Marker:
    """The marker with the length that its pieces take."""
    most = max(float(pose(marker.prepared(one).cut_line, one)[:, 0].max()) for one in marker.placements)
    return replace(marker, length=round(most + 0.005, 2))


def changed(marker: Marker, index: int, **facts: float | bool) -> Marker:
    """The marker with one placement changed; its length stays."""
    placements = list(marker.placements)
    placements[index] = replace(placements[index], **facts)  # type: ignore[arg-type]
    return replace(marker, placements=tuple(placements))


def pose(points: Array, placement: Placement) -> Array:
    """By shapely, so that the proof's own arithmetic is checked as well."""
    shape = LineString(points) if len(points) > 1 else LineString([points[0], points[0]])
    if placement.flipped:
        shape = affinity.scale(shape, 1, -1, origin=(0, 0))
    shape = affinity.rotate(shape, placement.turn_deg, origin=(0, 0))
    return np.array(affinity.translate(shape, placement.x, placement.y).coords)[: len(points)]


def compose(marker: Marker) -> list[Drawn]:
    """Everything that a file of the marker draws."""
    drawn = [Drawn(Role.FABRIC, np.array(box(0, 0, marker.length, marker.width).exterior.coords)[:-1], True)]
    for index, one in enumerate(marker.placements):
        piece = marker.prepared(one)
        drawn.append(Drawn(Role.CUT, pose(piece.cut_line, one), True, index))
        drawn.append(Drawn(Role.SEAM, pose(piece.seam_line, one), True, index))
        drawn += [Drawn(Role.SEAM, pose(line, one), False, index) for line in piece.lines]
        drawn += [Drawn(Role.NOTCH, pose(line, one), False, index) for line in piece.notches]
        for x, y, diameter in piece.drills:
            centre = pose(np.array([(x, y)]), one)[0]
            ring = [(math.cos(math.tau * k / 24), math.sin(math.tau * k / 24)) for k in range(24)]
            drawn.append(Drawn(Role.DRILL, centre + np.array(ring) * diameter / 2, True, index))
        drawn += [Drawn(Role.GRAIN, pose(line, one), False, index) for line in piece.grain]
        label = piece.label_mirrored if one.flipped else piece.label
        centre = pose(np.array([label.centre]), one)[0]
        turn = {0: 0.0, 90: 90.0, 180: 0.0, 270: 90.0}[round(one.turn_deg) % 360]
        for stroke in label.strokes:
            shape = affinity.translate(affinity.rotate(LineString(stroke), turn, origin=(0, 0)), *centre)
            drawn.append(Drawn(Role.LABEL, np.array(shape.coords), False, index))
    square = np.array([(-150, 0), (-50, 0), (-50, 100), (-150, 100.0)])
    drawn.append(Drawn(Role.SHEET, square, True))
    drawn.append(Drawn(Role.SHEET, np.array([(0, -10), (marker.length, -10.0)]), False))
    return drawn


def corners(marker: Marker) -> tuple[tuple[float, float], tuple[float, float]]:
    """Lower and upper corner of the plot."""
    return LOWER, (marker.length + 5.0, marker.width + 5.0)


def scaled(drawn: Sequence[Drawn], by: float) -> list[Drawn]:
    return [replace(one, points=one.points * by) for one in drawn]


def only(drawn: Sequence[Drawn], keep: Callable[[Drawn], bool]) -> list[Drawn]:
    return [one for one in drawn if keep(one)]


def as_dxf(drawn: Sequence[Drawn], *, circles: bool = False) -> bytes:
    document = ezdxf.new("R2000", units=units.MM)  # type: ignore[attr-defined]
    document.header["$MEASUREMENT"] = 1
    space = document.modelspace()
    for one in drawn:
        if circles and one.role is Role.DRILL:
            centre = one.points.mean(axis=0)
            radius = float(np.hypot(*(one.points[0] - centre)))
            space.add_circle(tuple(centre), radius, dxfattribs={"layer": one.role})
        else:
            space.add_lwpolyline(one.points.tolist(), close=one.closed, dxfattribs={"layer": one.role})
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode("cp1252")


def as_svg(drawn: Sequence[Drawn], marker: Marker) -> bytes:
    lower, upper = corners(marker)
    wide, high = upper[0] - lower[0], upper[1] - lower[1]
    text = [f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.2f}mm" height="{high:.2f}mm" ']
    text.append(f'viewBox="0 0 {wide:.2f} {high:.2f}"><title>linen</title>')
    for role in Role:
        text.append(f'<g id="{role}">')
        for one in drawn:
            if one.role is role:
                path = " L ".join(f"{x - lower[0]:.4f},{upper[1] - y:.4f}" for x, y in one.points)
                mark = "" if one.placement is None else f' data-placement="{one.placement}"'
                text.append(f'<path d="M {path}{" Z" if one.closed else ""}"{mark}/>')
        text.append("</g>")
    return "".join([*text, "</svg>"]).encode()


def a_plotter(*, frame: float = 5000.0, pens: dict[Role, int] | None = None) -> Plotter:
    return Plotter("pen", "a pen plotter", 2000.0, frame, pens or dict.fromkeys(Role, 1), largest=2**23 - 1)


def plu(mm: float) -> int:
    return math.floor(abs(mm) * 40 + 0.5) * (1 if mm >= 0 else -1)


def as_frames(drawn: Sequence[Drawn], marker: Marker, plotter: Plotter) -> list[str]:
    """The HPGL of each frame; strokes are cut by shapely at the frame edges."""
    lower, upper = corners(marker)
    frames = []
    for frame in range(max(1, math.ceil((upper[0] - lower[0]) / plotter.frame - 1e-9))):
        start = frame * plotter.frame
        window = box(start, -1e6, start + plotter.frame, 1e6)
        text = []
        for one in drawn:
            points = one.points - lower
            loop = np.vstack((points, points[:1])) if one.closed else points
            pen = plotter.pens[one.role]
            inside = points[:, 0].min() >= start and points[:, 0].max() <= start + plotter.frame
            parts = [LineString(loop)] if inside else _parts(LineString(loop), window)
            for part in parts if pen else ():
                (x, y), *rest = [(plu(px - start), plu(py)) for px, py in part.coords]
                text.append(f"SP{pen};PU{x},{y};PD{','.join(f'{a},{b}' for a, b in rest)};")
        frames.append("".join(text))
    return frames


def _parts(line: LineString, window: Polygon) -> list[LineString]:
    cut = line.intersection(window)
    parts = list(cut.geoms) if isinstance(cut, MultiLineString) else [cut]
    return [part for part in parts if isinstance(part, LineString) and part.length > 0]


def as_hpgl(drawn: Sequence[Drawn], marker: Marker, plotter: Plotter) -> bytes:
    return f"IN;{'PU;PG;'.join(as_frames(drawn, marker, plotter))}PU;SP0;".encode()


def _canvas(stream: io.BytesIO, size: tuple[float, float]) -> Canvas:
    canvas = Canvas(stream, pagesize=(size[0] * MM, size[1] * MM), invariant=1)
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas


def _stroke(canvas: Canvas, points: Array, *, closed: bool) -> None:
    path = canvas.beginPath()
    path.moveTo(*(points[0] * MM))
    for point in points[1:]:
        path.lineTo(*(point * MM))
    if closed:
        path.close()
    canvas.drawPath(path)


def as_pdf(drawn: Sequence[Drawn], marker: Marker) -> bytes:
    lower, upper = corners(marker)
    stream = io.BytesIO()
    canvas = _canvas(stream, (upper[0] - lower[0], upper[1] - lower[1]))
    for one in drawn:
        _stroke(canvas, one.points - lower, closed=one.closed)
    canvas.showPage()
    canvas.save()
    return stream.getvalue()


def a_paper(correction: tuple[float, float] = (1.0, 1.0)) -> Paper:
    return Paper("A4", 210.0, 297.0, 10.0, 10.0, correction)


def as_tiles(
    drawn: Sequence[Drawn],
    marker: Marker,
    paper: Paper,
    *,
    leave_out: Sequence[str] = (),
    rename: dict[str, str] | None = None,
    squares: bool = True,
) -> bytes:
    """A cover and sheets, upright; strokes are cut by shapely at the printable area."""
    lower, upper = corners(marker)
    cx, cy = paper.correction
    wide, high = (paper.width - 2 * paper.margin) / cx, (paper.height - 2 * paper.margin) / cy
    step = (wide - paper.overlap, high - paper.overlap)
    columns = math.ceil((upper[0] - lower[0] - paper.overlap) / step[0])
    rows = math.ceil((upper[1] - lower[1] - paper.overlap) / step[1])
    stream = io.BytesIO()
    canvas = _canvas(stream, (paper.width, paper.height))
    canvas.drawString(100, 800, "linen")
    for side, at in ((100.0, 20.0), (101.6, 150.0)) if squares else ():
        square = np.array([(0, 0), (side * cx, 0), (side * cx, side * cy), (0, side * cy)])
        _stroke(canvas, square + (20.0, at), closed=True)  # noqa: RUF005
    canvas.showPage()
    for row in range(rows):
        for column in range(columns):
            name = f"{'ABCDEFGH'[row]}{column + 1}"
            x0, y0 = lower[0] + column * step[0], lower[1] + row * step[1]
            window = box(x0, y0, x0 + wide, y0 + high)
            parts = []
            for one in drawn:
                loop = np.vstack((one.points, one.points[:1])) if one.closed else one.points
                line = LineString(loop)
                if window.contains(line):
                    parts.append((one.points, one.closed))
                elif window.intersects(line):
                    parts += [(np.array(part.coords), False) for part in _parts(line, window)]
            if not parts or name in leave_out:
                continue
            canvas.setStrokeGray(0.6)
            frame = np.array([(10, 10), (200, 10), (200, 287), (10, 287.0)])
            _stroke(canvas, frame, closed=True)
            _stroke(canvas, np.array([(50, 50), (150, 60.0)]), closed=False)
            canvas.drawString(30, 30, f"Sheet {(rename or {}).get(name, name)}")
            canvas.setStrokeGray(0)
            for points, closed in parts:
                page = (points - (x0, y0)) * (cx, cy) + paper.margin
                _stroke(canvas, page, closed=closed)
            canvas.showPage()
    canvas.save()
    return stream.getvalue()
