"""One tiny drawing in every format: these files only freeze the wire format; geometry is judged elsewhere.

After a change that is meant: pytest tests/golden --snapshot-update, and read the difference.
"""

import re
import zlib

import numpy as np
from syrupy.assertion import SnapshotAssertion
from syrupy.extensions.single_file import SingleFileSnapshotExtension

from cutroom.model.piece import Cut
from cutroom.model.plot import Plot, Role, Stroke
from cutroom.model.prepared import Label, PreparedPiece
from cutroom.plot.frames import frame
from cutroom.write.hpgl import write_hpgl
from cutroom.write.marker_dxf import write_marker_dxf
from cutroom.write.pdf import write_pdf
from cutroom.write.pieces_dxf import write_pieces_dxf
from cutroom.write.svg import write_svg
from tests.builders import a_plotter

TRIANGLE = np.array([(10.0, 10.0), (60.0, 12.5), (20.25, 40.0)])
PLOT = Plot(
    title="tiny ½",
    lower=(-5.0, -5.0),
    upper=(75.0, 55.0),
    strokes=(
        Stroke(Role.SHEET, np.array([(-3.0, 0.0), (-3.0, 50.0)])),
        Stroke(Role.FABRIC, np.array([(0.0, 0.0), (70.0, 0.0), (70.0, 50.0), (0.0, 50.0)]), closed=True),
        Stroke(Role.CUT, TRIANGLE, closed=True, placement=0),
        Stroke(Role.NOTCH, np.array([(35.0, 11.25), (34.75, 16.0)]), placement=0),
        Stroke(Role.DRILL, np.array([(27.0, 20.0), (25.0, 22.0), (23.0, 20.0), (25.0, 18.0)]), True, 0),
    ),
    words=("one triangle",),
)
PIECE = PreparedPiece(
    garment="cap", size="12", name="gore", cut=Cut.PAIR, quantity=1, cloth="self", crossways=False,
    cut_line=TRIANGLE, seam_line=np.array([(15.0, 15.0), (45.0, 16.0), (22.0, 32.0)]), turns=TRIANGLE,
    notches=(np.array([(35.0, 11.25), (34.75, 16.0)]),), drills=((25.0, 20.0, 4.0),),
    grain=(np.array([(20.0, 18.0), (40.0, 18.0)]),), lines=(), label=Label(("gore",), (28.0, 22.0), (), 3.0),
    label_mirrored=Label(("gore",), (28.0, 22.0), (), 3.0),
)  # fmt: skip


def in_file(snapshot: SnapshotAssertion, extension: str) -> SnapshotAssertion:
    kind = type("OneFile", (SingleFileSnapshotExtension,), {"file_extension": extension})
    return snapshot.use_extension(kind)


def test_hpgl(snapshot: SnapshotAssertion) -> None:
    plotter = a_plotter(frame=50.0)
    assert write_hpgl(frame(PLOT, plotter), plotter) == in_file(snapshot, "plt")


def test_svg(snapshot: SnapshotAssertion) -> None:
    assert write_svg(PLOT) == in_file(snapshot, "svg")


def test_pieces_dxf(snapshot: SnapshotAssertion) -> None:
    assert write_pieces_dxf([PIECE], title="cap") == in_file(snapshot, "dxf")


def test_marker_dxf_entities(snapshot: SnapshotAssertion) -> None:
    """Without the frame, which is ezdxf's and may differ from release to release."""
    text = write_marker_dxf(PLOT).decode("ascii")
    entities = re.search(r"\nENTITIES\n(.*?)\n *0\nENDSEC", text, re.DOTALL)
    assert entities is not None
    plain = re.sub(r"\n(5|330)\n[0-9A-F]+(?=\n)", "", entities[1])
    assert plain.encode() == in_file(snapshot, "txt")


def test_pdf_content(snapshot: SnapshotAssertion) -> None:
    """Unpacked, because another zlib may pack the same content in other bytes."""
    data = write_pdf(PLOT)
    packed = re.search(rb"stream\n(.*)\nendstream", data, re.DOTALL)
    assert packed is not None
    assert zlib.decompress(packed[1]) == in_file(snapshot, "txt")


def test_pdf_ends_with_a_table_that_points_at_its_objects() -> None:
    data = write_pdf(PLOT)
    assert data.endswith(b"%%EOF\n")
    start = int(re.findall(rb"startxref\n(\d+)", data)[0])
    rows = re.findall(rb"(\d{10}) 00000 n ", data[start:])
    assert [data[int(row) :].split(b" ", 1)[0] for row in rows] == [b"1", b"2", b"3", b"4", b"5"]
