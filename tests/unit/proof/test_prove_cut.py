"""A sound file for a cutter passes the proof without a word, whatever the language, the tools and the way it lies."""

import contextlib
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from cutroom.errors import ProofError
from cutroom.geometry.arcs import straightened
from cutroom.model.cutter import Language
from cutroom.model.plot import Role
from cutroom.model.toolpath import Toolpath, Toolpaths
from cutroom.proof.read_cut_svg import read_cut_svg
from cutroom.proof.runs import unbent
from cutroom.proof.undo import tips
from cutroom.read.profile import FORMS
from cutroom.write.cut_svg import write_cut_svg
from tests.cutters import MARKER, SHIPPED, a_cutter, a_finely_curved_marker, proved, written
from tests.unit.proof import emitters as emit


@pytest.mark.parametrize("name", SHIPPED)
def test_a_sound_file_passes(name: str) -> None:
    cutter = a_cutter(name)
    found = proved(cutter, written(cutter))
    assert found.findings == ()
    assert sum(count.drawn + count.flipped + count.either for count in found.counts) == len(MARKER.placements)
    assert found.deviation < 0.05


@pytest.mark.parametrize("turned", [90, 180, 270])
@pytest.mark.parametrize("name", SHIPPED)
def test_it_may_lie_turned_on_the_bed_and_be_corrected(name: str, turned: int) -> None:
    cutter = replace(a_cutter(name), turned=turned, length=3000.0, width=3000.0, correction=(1.01, 0.985))
    assert proved(cutter, written(cutter)).findings == ()


@pytest.mark.parametrize("form", FORMS)
def test_all_forms_of_hpgl_pass(form: str) -> None:
    cutter = replace(a_cutter("drag-knife-roll-cutter"), form=form)
    assert proved(cutter, written(cutter)).findings == ()


@pytest.mark.parametrize("inches", [False, True])
@pytest.mark.parametrize("arcs", [False, True])
@pytest.mark.parametrize("name", ["gantry-laser", "flatbed-knife", "exchange-dxf"])
def test_inches_arcs_and_chords_pass(name: str, arcs: bool, inches: bool) -> None:
    cutter = replace(a_cutter(name), arcs=arcs, inches=inches, version="R2000" if arcs else "R12")
    found = proved(cutter, written(cutter))
    assert found.findings == ()
    assert found.deviation <= cutter.tolerance + 0.01


@pytest.mark.parametrize("name", SHIPPED)
def test_random_markers_raise_no_alarm(name: str) -> None:
    for seed in range(6):
        marker = emit.a_marker(seed, count=3 + seed)
        cutter = replace(a_cutter(name), length=30000.0, width=3000.0)
        assert proved(cutter, written(cutter, marker), marker).findings == (), f"seed {seed}"


@pytest.mark.parametrize("name", SHIPPED)
def test_the_same_work_gives_the_same_bytes(name: str) -> None:
    cutter = a_cutter(name)
    assert written(cutter) == written(cutter)


def test_tractrix_has_the_angles_of_its_closed_form() -> None:
    """tan(p/2) = tan(p0/2) e^(-s/d): of 90 degrees one offset leaves 40.395, two leave 15.415, three 5.700."""
    for lengths, left in ((1, 40.395), (2, 15.415), (3, 5.700)):
        (way,) = tips([np.array([(0.0, 0.0), (lengths * 0.25, 0.0)])], 0.25, np.deg2rad(90))
        blade = np.array([lengths * 0.25, 0.0]) - way[-1]
        assert np.rad2deg(np.arctan2(blade[1], blade[0])) == pytest.approx(left, abs=0.001)


def test_an_arc_by_its_middle_is_the_half_circle_of_the_example() -> None:
    """ISO 6983-1, from memory: I and J from the start point, so `G2 X200 Y100 I50 J0` from X100 Y100 is half of one."""
    ends, middle = np.array([(100.0, 100.0), (200.0, 100.0)]), np.array([(150.0, 100.0)])
    points, _ = unbent(ends, np.array([0]), np.array([1]), middle, np.array([False]))
    assert np.hypot(*(points - (150, 100)).T) == pytest.approx(50.0)
    assert points[:, 1].max() == pytest.approx(150.0, abs=0.05)


BITS = st.lists(st.tuples(st.floats(-3.0, 3.0), st.floats(0.5, 40.0), st.floats(-3.0, 3.0)), min_size=1, max_size=8)


@given(bits=BITS)
def test_arcs_of_any_sweep_come_back_from_an_svg(bits: list[tuple[float, float, float]]) -> None:
    """Bulges up to 3 are arcs of 286 degrees; rounding to 0.001 mm moves none of them."""
    headings, sizes, bulges = np.array(bits).T
    bulges = np.where(np.abs(bulges) < 0.01, 0.0, bulges)
    steps = sizes[:, None] * np.column_stack((np.cos(headings), np.sin(headings)))
    points = np.cumsum([(650.0, 450.0), *steps], axis=0)
    cutter = a_cutter("gantry-laser-svg")
    path = Toolpath("outline", points, bulges, Role.CUT)
    (run,) = read_cut_svg(write_cut_svg(Toolpaths("t", (path,)), cutter), cutter).runs
    wanted = shapely.LineString(straightened(points, bulges, 0.0005))
    found = shapely.LineString(run.points)
    assert run.tool == "outline"
    assert shapely.hausdorff_distance(found, wanted, densify=0.01) < 0.02
    assert np.abs(run.points[[0, -1]] - points[[0, -1]]).max() < 0.001


SVG = written(a_cutter("gantry-laser-svg"), a_finely_curved_marker())


@given(place=st.integers(0, len(SVG)), size=st.integers(0, 60), put=st.binary(max_size=3))
def test_an_svg_damaged_anywhere_is_read_or_refused(place: int, size: int, put: bytes) -> None:
    data = SVG[:place] + put + SVG[place + size :]
    with contextlib.suppress(ProofError):
        assert read_cut_svg(data, a_cutter("gantry-laser-svg")).runs is not None


def test_the_language_decides_the_kind_of_file() -> None:
    assert {a_cutter(name).language for name in SHIPPED} == set(Language)
