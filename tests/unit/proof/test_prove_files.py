"""A sound file passes the proof without a word, whatever the format."""

from dataclasses import replace

import numpy as np
import pytest

from cutroom.model.fabric import Nap
from cutroom.model.marker import Marker
from cutroom.model.plot import Role
from cutroom.model.profile import Paper, Plotter
from cutroom.proof import Proved, figures, prove_file, prove_marker
from tests.unit.proof import emitters as emit

KINDS = ("marker-dxf", "marker-svg", "marker-hpgl", "marker-pdf", "tiles-pdf")


def write(kind: str, drawn: list[emit.Drawn], marker: Marker, plotter: Plotter, paper: Paper) -> bytes:
    return {
        "marker-dxf": lambda: emit.as_dxf(drawn),
        "marker-svg": lambda: emit.as_svg(drawn, marker),
        "marker-hpgl": lambda: emit.as_hpgl(drawn, marker, plotter),
        "marker-pdf": lambda: emit.as_pdf(drawn, marker),
        "tiles-pdf": lambda: emit.as_tiles(drawn, marker, paper),
    }[kind]()


def proved(kind: str, drawn: list[emit.Drawn], marker: Marker, plotter: Plotter | None = None) -> Proved:
    plotter, paper = plotter or emit.a_plotter(), emit.a_paper()
    lower, upper = emit.corners(marker)
    data = write(kind, drawn, marker, plotter, paper)
    return prove_file(kind, data, marker, lower=lower, upper=upper, plotter=plotter, paper=paper)


@pytest.mark.parametrize("kind", KINDS)
def test_a_sound_file_passes(kind: str) -> None:
    marker = emit.a_marker(3)
    found = proved(kind, emit.compose(marker), marker)
    assert found.findings == ()
    assert not found.refused
    assert sum(count.drawn + count.flipped + count.either for count in found.counts) == 6
    assert found.deviation <= {"marker-hpgl": 0.0125 + 1e-9, "marker-pdf": 0.002, "tiles-pdf": 0.002}.get(kind, 1e-4)


@pytest.mark.parametrize("kind", KINDS)
def test_sound_files_of_random_markers_raise_no_alarm(kind: str) -> None:
    for seed in range(20):
        marker = emit.a_marker(seed, count=3 + seed % 5, nap=(Nap.NONE, Nap.ONE_WAY)[seed % 2])
        assert prove_marker(marker) == ()
        plotter = emit.a_plotter(frame=(5000.0, 200.0, 131.7)[seed % 3])
        assert proved(kind, emit.compose(marker), marker, plotter).findings == (), f"seed {seed}"


def test_a_folded_marker_passes() -> None:
    marker = emit.a_folded_marker()
    assert prove_marker(marker) == ()
    for kind in KINDS:
        assert proved(kind, emit.compose(marker), marker).findings == ()


def test_drill_holes_may_be_circles() -> None:
    marker = emit.a_marker(3)
    lower, upper = emit.corners(marker)
    data = emit.as_dxf(emit.compose(marker), circles=True)
    assert prove_file("marker-dxf", data, marker, lower=lower, upper=upper).findings == ()


def test_outlines_may_start_anywhere_and_run_either_way() -> None:
    marker = emit.a_marker(4)
    drawn = [
        replace(one, points=np.roll(one.points, 7, axis=0)[::-1] if one.closed else one.points[::-1])
        for one in emit.compose(marker)
    ]
    for kind in KINDS:
        assert proved(kind, drawn, marker).findings == ()


def test_points_may_be_added_on_a_line() -> None:
    marker = emit.a_marker(4)
    drawn = []
    for one in emit.compose(marker):
        middle = (one.points[0] + one.points[1]) / 2
        same = one.role in {Role.SHEET, Role.FABRIC}
        points = one.points if same else np.vstack((one.points[:1], middle, one.points[1:]))
        drawn.append(replace(one, points=points))
    for kind in ("marker-dxf", "marker-svg", "marker-hpgl", "marker-pdf"):
        assert proved(kind, drawn, marker).findings == ()


def test_a_role_without_a_pen_is_left_out() -> None:
    marker = emit.a_marker(5)
    pens = dict.fromkeys(Role, 1) | {Role.SEAM: 0, Role.LABEL: 2}
    assert proved("marker-hpgl", emit.compose(marker), marker, emit.a_plotter(pens=pens, frame=150.0)).findings == ()


def test_a_corrected_print_is_proven_with_its_correction() -> None:
    # 97 mm measured of 100: 1.030928 (arithmetic).
    marker = emit.a_marker(6)
    paper = emit.a_paper((100 / 97, 100 / 99))
    lower, upper = emit.corners(marker)
    data = emit.as_tiles(emit.compose(marker), marker, paper)
    assert prove_file("tiles-pdf", data, marker, lower=lower, upper=upper, paper=paper).findings == ()
    uncorrected = emit.a_paper()
    data = emit.as_tiles(emit.compose(marker), marker, uncorrected)
    assert prove_file("tiles-pdf", data, marker, lower=lower, upper=upper, paper=paper).refused


def test_the_hands_are_counted_from_the_file() -> None:
    marker = emit.a_marker(7, count=8)
    found = proved("marker-dxf", emit.compose(marker), marker)
    for count in found.counts:
        laid = [one for one in marker.placements if one.key == (count.garment, count.size, count.piece)]
        if count.piece == "piece 2":  # the symmetric one
            assert (count.drawn, count.flipped, count.either) == (0, 0, len(laid))
        else:
            flipped = sum(one.flipped for one in laid)
            assert (count.drawn, count.flipped, count.either) == (len(laid) - flipped, flipped, 0)


def test_figures_are_worked_out_afresh() -> None:
    marker = emit.a_marker(8)
    seen = figures(marker)
    assert seen.length == pytest.approx(marker.length, abs=0.01)
    # Shoelace by hand, as another way to the area than shapely's.
    area = 0.0
    for one in marker.placements:
        x, y = marker.prepared(one).cut_line.T
        area += abs(float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))) / 2
    assert seen.area == pytest.approx(area)
    assert seen.utilisation == pytest.approx(area / (marker.width * seen.length))


def test_a_kind_without_a_proof_is_a_programmers_mistake() -> None:
    marker = emit.a_marker(1)
    with pytest.raises(ValueError, match="no proof for marker-hpgl"):
        prove_file("marker-hpgl", b"", marker, lower=(0, 0), upper=(1, 1))
