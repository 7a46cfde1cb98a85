"""SVG files as ElementTree and fontTools read them."""

from dataclasses import replace
from xml.etree import ElementTree as ET

import numpy as np
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path

from cutroom.model.plot import Plot, Role
from cutroom.plot.compose import compose
from cutroom.proof.prove import prove_file
from cutroom.write.svg import write_svg
from tests.builders import a_marker, a_plotter

PLOT = compose(a_marker(), legend=("Blouse <for> Inés & others",), title="Linen & lace")
SVG = "{http://www.w3.org/2000/svg}"


def test_the_picture_is_in_millimetres() -> None:
    root = ET.fromstring(write_svg(PLOT))
    width, height = PLOT.upper[0] - PLOT.lower[0], PLOT.upper[1] - PLOT.lower[1]
    assert root.attrib["width"] == f"{width:.0f}mm"
    assert root.attrib["height"] == f"{height:.0f}mm"
    assert [float(number) for number in root.attrib["viewBox"].split()] == [0, 0, width, height]
    assert root.findtext(f"{SVG}title") == "Linen & lace"
    assert "transform" not in write_svg(PLOT).decode()


def test_every_stroke_is_a_path_of_its_group() -> None:
    root = ET.fromstring(write_svg(PLOT))
    groups = {group.attrib["id"]: group for group in root.iter(f"{SVG}g")}
    assert set(groups) == set(Role)
    for role in Role:
        strokes = [stroke for stroke in PLOT.strokes if stroke.role is role]
        for element, stroke in zip(groups[role], strokes, strict=True):
            pen = RecordingPen()
            parse_path(element.attrib["d"], pen)
            points = np.array([places[0] for _, places in pen.value if places])
            wanted = (stroke.points - (PLOT.lower[0], PLOT.upper[1])) * (1, -1)
            assert np.allclose(points[: len(wanted)], wanted, atol=0.00051)
            assert (pen.value[-1][0] == "closePath") == stroke.closed
            owner = element.attrib.get("data-placement")
            assert owner == (None if stroke.placement is None else str(stroke.placement))


def test_lines_have_the_colours_of_their_pens() -> None:
    """As the profile says them; a pen without a colour leaves its lines as they always are."""
    pens = {role: 2 if role is Role.LABEL else 1 for role in Role} | {Role.SEAM: 3}
    plotter = replace(a_plotter(pens=pens), colours={1: "#102030", 2: "#0000ff"})
    usual = {group.attrib["id"]: group.attrib["stroke"] for group in ET.fromstring(write_svg(PLOT)).iter(f"{SVG}g")}
    data = write_svg(PLOT, plotter.colours_of_roles())
    found = {group.attrib["id"]: group.attrib["stroke"] for group in ET.fromstring(data).iter(f"{SVG}g")}
    assert found[Role.CUT] == found[Role.NOTCH] == "#102030"
    assert found[Role.LABEL] == "#0000ff"
    assert found[Role.SEAM] == usual[Role.SEAM]
    assert not prove_file("marker-svg", data, a_marker(), lower=PLOT.lower, upper=PLOT.upper).refused


def test_the_picture_of_nothing_is_a_picture() -> None:
    assert ET.fromstring(write_svg(Plot("nothing", (0.0, 0.0), (10.0, 10.0), ())))
