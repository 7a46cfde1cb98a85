"""Short ways to make small valid values for tests. All names and garments are invented."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from cutroom.geometry.lettering import text_strokes, text_width
from cutroom.model.fabric import Fabric, Nap
from cutroom.model.marker import Marker, Placement
from cutroom.model.piece import Cut
from cutroom.model.plot import Role
from cutroom.model.prepared import Label, LabelLine, PreparedPiece
from cutroom.model.profile import Paper, Plotter

ALLOWANCE = 10.0


def a_label(words: tuple[str, ...], centre: tuple[float, float] = (60.0, 25.0), height: float = 5.0) -> Label:
    """Lines of lettering about a centre."""
    strokes: list[NDArray[np.float64]] = []
    lines: list[LabelLine] = []
    for row, line in enumerate(words):
        left, base = -text_width(line, height) / 2, (len(words) / 2 - 0.8 - row) * 1.6 * height
        some = [np.add(stroke, (left, base)) for stroke in text_strokes(line, height)]
        first, last = np.vstack(some)[:, 0].min(), np.vstack(some)[:, 0].max()
        lines.append(LabelLine((float(first), base), float(last - first), len(some)))
        strokes.extend(some)
    return Label(words, centre, tuple(strokes), height, lines=tuple(lines))


def a_prepared_piece(
    name: str = "front", *, garment: str = "blouse", size: str = "12", cut: Cut = Cut.PAIR, quantity: int = 1
) -> PreparedPiece:
    """An L of 200 by 120 mm with one rounded corner, so that no turn makes it its own mirror image.

    The allowance is 10 mm all round; a piece cut on the fold has its fold on y = 0 and no allowance there.
    """
    bend = np.deg2rad(np.linspace(-90, 0, 9))
    bend_xy = np.column_stack([np.cos(bend), np.sin(bend)])

    def outline(allowance: float) -> NDArray[np.float64]:
        floor = 0.0 if cut is Cut.FOLD else -allowance
        turns_after = [(200 + allowance, 60 + allowance), (80 + allowance, 60 + allowance),
                       (80 + allowance, 120 + allowance), (-allowance, 120 + allowance)]  # fmt: skip
        round_corner = (170.0, 30.0) + (30 + allowance) * bend_xy
        if cut is Cut.FOLD:
            round_corner = np.array([(200 + allowance, 0.0)])
        return np.vstack([(-allowance, floor), round_corner, turns_after])

    cut_line, seam_line = outline(ALLOWANCE), outline(0.0)
    notches = [np.array([(120.0, 70.0), (120.0, 64.0)]), np.array([(126.0, 70.0), (126.0, 64.0)])]
    if cut is not Cut.FOLD:
        notches.append(np.array([(60.0, -10.0), (60.0, -4.0)]))
    grain = (
        np.array([(20.0, 50.0), (180.0, 50.0)]),
        np.array([(172.0, 53.0), (180.0, 50.0), (172.0, 47.0)]),
    )
    corners = np.array(
        [point for line in (cut_line, seam_line) for point in (line if len(line) < 9 else line[[0, *range(-4, 0)]])]
    )
    return PreparedPiece(
        garment=garment,
        size=size,
        name=name,
        cut=cut,
        quantity=quantity,
        cloth="self",
        crossways=False,
        cut_line=cut_line,
        seam_line=seam_line,
        turns=corners,
        notches=tuple(notches),
        drills=((40.0, 90.0, 3.0),),
        grain=grain,
        lines=(np.array([(20.0, 80.0), (40.0, 90.0), (60.0, 80.0)]),),
        label=a_label((name, f"{size} right" if cut is Cut.PAIR else size)),
        label_mirrored=a_label((name, f"{size} left" if cut is Cut.PAIR else size)),
    )


def a_placement(
    piece: PreparedPiece, x: float, y: float, *, turn_deg: float = 0.0, flipped: bool = False, copy: int = 1
) -> Placement:
    """A piece laid somewhere."""
    return Placement(piece.name, piece.garment, piece.size, copy, flipped, turn_deg, x, y)


def a_marker(
    name: str = "linen",
    *,
    fabric: Fabric | None = None,
    pieces: Sequence[PreparedPiece] | None = None,
    placements: Sequence[Placement] | None = None,
    length: float = 600.0,
) -> Marker:
    """A marker of one pair of pieces and a third turned a quarter, on 300 mm of one-way cloth."""
    pieces = tuple(pieces or (a_prepared_piece(), a_prepared_piece("back", cut=Cut.SINGLE)))
    if placements is None:
        first, last = pieces[0], pieces[-1]
        placements = (
            a_placement(first, 12.0, 12.0),
            a_placement(first, 12.0, 288.0, flipped=True),
            a_placement(last, 587.75, 12.25, turn_deg=90.0),
        )
    return Marker(name, fabric or Fabric(name, 300.0, nap=Nap.ONE_WAY), length, tuple(placements), pieces)


def a_plotter(
    *, width: float = 900.0, frame: float = 819.175, largest: int = 32767, pens: dict[Role, int] | None = None
) -> Plotter:
    """A pen plotter whose coordinates end at 32767 plotter units, with pen 1 for all but lettering."""
    pens = pens if pens is not None else {role: 2 if role is Role.LABEL else 1 for role in Role}
    return Plotter("roll-pen-plotter", "A pen plotter", width, frame, pens, largest=largest)


def a_paper(*, correction: tuple[float, float] = (1.0, 1.0)) -> Paper:
    """A4 with 10 mm margins and overlaps."""
    return Paper("A4", 210.0, 297.0, correction=correction)
