"""A label keeps off all that is drawn on its piece, and where there is room as far as its own lines stand apart.

Held against shapely, which knows nothing of the grid on which the room is looked for. That lettering needs as much air
round it as between its lines is common practice, no source.
"""

import numpy as np
import shapely
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from cutroom.geometry.affine import pose_points
from cutroom.model.fabric import Fabric
from cutroom.model.piece import Cut, DrillHole, NamedLine, Notch, Piece
from cutroom.model.prepared import PreparedPiece
from cutroom.prepare.label import BESIDE, CLEAR
from cutroom.prepare.ready import prepare
from cutroom.prepare.room import CELLS
from tests.drawing import a_polygon_piece

CLOTH = Fabric("linen", 2000.0)
UNIT = st.floats(0.0, 1.0)


@st.composite
def pieces(draw: st.DrawFn) -> Piece:
    """Star-shaped pieces, hollow ones among them, with notches, drill holes and lines inside, wherever they fall."""
    count = draw(st.integers(4, 9))
    angles = (np.arange(count) + 0.7 * np.array(draw(st.lists(UNIT, min_size=count, max_size=count)))) / count
    reach = 0.45 + np.array(draw(st.lists(UNIT, min_size=count, max_size=count)))
    size = np.array(draw(st.tuples(st.floats(60.0, 300.0), st.floats(50.0, 300.0))))
    ways = np.column_stack((np.cos(2 * np.pi * angles), np.sin(2 * np.pi * angles)))
    corners = [(float(x), float(y)) for x, y in reach[:, None] * ways * size]

    def inside() -> tuple[float, float]:
        corner, share = draw(st.integers(0, count - 1)), draw(st.floats(0.05, 0.85))
        return corners[corner][0] * share, corners[corner][1] * share

    lines = [np.array([inside(), (0.0, 0.0)]) for _ in range(draw(st.integers(0, 2)))]
    return a_polygon_piece(
        corners,
        name="yoke",
        cut=draw(st.sampled_from((Cut.PAIR, Cut.SINGLE))),
        grain=np.array([(-10.0, draw(st.floats(-50.0, 50.0))), (10.0, 0.0)]),
        notches=(Notch("e1", float(np.hypot(*np.subtract(corners[2], corners[1]))) / 2),),
        drills=tuple(DrillHole("", inside(), 4.0) for _ in range(draw(st.integers(0, 2)))),
        lines=tuple(
            NamedLine(f"l{number}", line) for number, line in enumerate(lines) if np.ptp(line, axis=0).max() > 1
        ),
    )


def drawn_on(piece: PreparedPiece) -> shapely.Geometry:
    rings = [shapely.LinearRing(piece.seam_line)]
    rings += [shapely.Point(x, y).buffer(size / 2).exterior for x, y, size in piece.drills]
    return shapely.union_all([*rings, *map(shapely.LineString, (*piece.grain, *piece.lines, *piece.notches))])


def letters_of(piece: PreparedPiece) -> shapely.MultiLineString:
    label = piece.label
    return shapely.MultiLineString(
        [
            pose_points(stroke, turn_deg=label.turn_deg, shift=label.centre)
            for stroke in label.strokes
            if len(stroke) > 1
        ]
    )


def has_room(piece: PreparedPiece, lines: shapely.Geometry, width: float, tall: float, clear: float) -> bool:
    """Whether the letters' box has room with so much air about it, three cells of the grid to spare on every side."""
    seam = shapely.Polygon(piece.seam_line)
    left, low, right, high = seam.bounds
    spare = 3 * np.array([right - left, high - low]) / CELLS + clear
    half = np.array([width, tall]) / 2 + spare
    x, y = np.meshgrid(np.linspace(left, right, 50), np.linspace(low, high, 50))
    boxes = shapely.box(x - half[0], y - half[1], x + half[0], y + half[1]).ravel()
    shapely.prepare(seam)
    shapely.prepare(lines)
    return bool((shapely.contains(seam, boxes) & ~shapely.intersects(lines, boxes)).any())


@given(piece=pieces())
def test_labels_stand_clear(piece: Piece) -> None:
    done = prepare(piece, garment="blouse for Ines", size="12", fabric=CLOTH, number=7)
    if done.label.words == ("7",):
        return  # it is too small for words
    lines, letters = drawn_on(done), letters_of(done)
    height = done.label.height
    wanted, least = (max(CLEAR, share * height) for share in BESIDE)
    away = shapely.distance(lines, letters)
    assert shapely.Polygon(done.seam_line).contains(letters)
    assert away >= least - 0.01
    if not done.label.turn_deg and away < wanted - 0.01:
        extents: NDArray[np.float64] = np.ptp(shapely.get_coordinates(letters), axis=0)
        assert not has_room(done, lines, float(extents[0]), float(extents[1]), wanted)


def test_the_last_line_of_a_label_does_not_touch_the_grainline_of_a_roomy_piece() -> None:
    """A sleeve's size: its grainline runs through the middle of the room that is free."""
    piece = a_polygon_piece([(0, 0), (560, 0), (560, 340), (0, 340)], grain=np.array([(0.0, 170.0), (10.0, 170.0)]))
    done = prepare(piece, garment="blouse for Ines", size="12", fabric=CLOTH)
    assert done.label.height == 14.0
    grain = shapely.union_all([shapely.LineString(line) for line in done.grain])
    assert shapely.distance(grain, letters_of(done)) >= 0.8 * 14.0 - 0.01
