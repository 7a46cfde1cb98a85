"""The pictures of the README, drawn anew: `python -m tests.pictures [DIR]`. The same bytes every time."""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely

from cutroom.draft.blocks import draft
from cutroom.draft.bodies import misses_body
from cutroom.job.files import put_file
from cutroom.job.markers import make_marker
from cutroom.job.output import draw
from cutroom.job.pieces import draft_order, prepare_order, read_order
from cutroom.job.style_sheets import style_sheet
from cutroom.model.order import Order, StyleAsked, Wearer
from cutroom.model.plot import Plot, Role, Stroke
from cutroom.plan.lays import plan_lays
from cutroom.plot.nested import compose_nested
from cutroom.plot.style_sheet import look_at
from cutroom.units import Unit
from cutroom.write.svg import write_svg

SAMPLES = Path(__file__).parents[1] / "samples"
TRIES, SEED = 40, 1
SIZES = ("8", "10", "12", "14", "16")


def marker(order: Order) -> Plot:
    """The cloth and what lies on it, without the sheet's furniture."""
    pieces = prepare_order(order, draft_order(order))
    (lay,) = plan_lays(order.garments, order.fabrics, pieces)
    made, _ = make_marker(lay, seconds=3600.0, seed=SEED, tries=TRIES)
    plot = draw(made, title=order.title, legend=(), stem="marker").plot
    strokes = tuple(stroke for stroke in plot.strokes if stroke.role is not Role.SHEET)
    return Plot(plot.title, (-6.0, -6.0), (made.length + 6.0, made.width + 6.0), _thinned(strokes, 0.3))


def sleeve(order: Order) -> Plot:
    """A prepared sleeve with what is said about it: the only piece of its sheet."""
    garment = order.garments[0]
    style = draft_order(order).styles[garment.style, garment.wearer]
    alone = replace(style, pieces=(style.piece("sleeve"),), seams=(), facts=())
    plot = style_sheet(order, garment, alone, (), scale=4.0, construction=False)
    return replace(plot, strokes=_thinned(plot.strokes, 0.03))


def nested() -> Plot:
    """A front in the sizes of ASTM D5585-11e1, laid together at the hem of the centre front."""
    asked = StyleAsked("blouse", block="blouse")
    drawn = [draft(asked, Wearer(size, misses_body(size))) for size in SIZES]
    fronts = [replace(style, pieces=(style.piece("front"),), seams=()) for style in drawn]
    plot = compose_nested(fronts, look_at(4.0, Unit.INCH), title="front, misses' sizes", meet="centre front")
    return replace(plot, strokes=_thinned(plot.strokes, 0.03))


def _thinned(strokes: tuple[Stroke, ...], within: float) -> tuple[Stroke, ...]:
    """Strokes without points that nobody sees: none moves by more than this (mm)."""
    found = []
    for stroke in strokes:
        ring = np.vstack([stroke.points, stroke.points[:1]]) if stroke.closed else stroke.points
        thin = shapely.get_coordinates(shapely.simplify(shapely.LineString(ring), within)) if len(ring) > 2 else ring
        found.append(replace(stroke, points=np.round(thin[:-1] if stroke.closed else thin, 1 if within > 0.1 else 2)))
    return tuple(found)


def main() -> None:
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else SAMPLES / "pictures"
    order = read_order(SAMPLES / "blouses" / "job.toml")
    for name, plot in (("marker", marker(order)), ("sleeve", sleeve(order)), ("nested", nested())):
        data = write_svg(plot)
        put_file(folder / f"{name}.svg", data)
        print(f"{folder / name}.svg: {len(data) / 1000:.0f} kB")


if __name__ == "__main__":
    main()
