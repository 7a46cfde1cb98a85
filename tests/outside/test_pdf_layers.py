"""Sizes as layers of a PDF: switched by poppler and pdfium, all on to begin with.

Optional content, PDF 1.5, from memory.
"""

import re
import subprocess
from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
import pytest

from cutroom.plot.compose import compose
from cutroom.proof.prove import prove_file
from cutroom.write.pdf import write_pdf
from tests.builders import a_marker
from tests.tools import require_tool

MARKER = a_marker()
PLOT = compose(MARKER, legend=(), title="sizes")
SIZES = ["10", "12 é", "14"]


def ink(data: bytes) -> int:
    """Dark points of the page as pdfium draws it."""
    document = pypdfium2.PdfDocument(data)
    picture = np.asarray(document[0].render(scale=0.5).to_numpy())
    document.close()
    return int((picture[..., 0] < 200).sum())


def test_layers_are_on_and_can_be_switched_off() -> None:
    data = write_pdf(PLOT, SIZES)
    whole = ink(data)
    assert whole == ink(write_pdf(PLOT)), "with all of them on it looks as without"
    seen = []
    for number in (5, 6, 7):
        off = data.replace(b"/BaseState /ON", b"/OFF [%d 0 R]   " % number).replace(
            b"/ON [5 0 R 6 0 R 7 0 R]", b" " * 24
        )
        seen.append(ink(off))
    assert all(0 < one < whole for one in seen)


def test_names_of_layers_are_the_sizes() -> None:
    data = write_pdf(PLOT, SIZES)
    names = re.findall(rb"/Type /OCG /Name <([0-9A-F]+)>", data)
    assert [bytes.fromhex(name.decode()).decode("utf-16") for name in names] == SIZES
    assert b"/OCProperties" not in write_pdf(PLOT, ["12", "12", "12"]), "one size needs no layers"


def test_poppler_finds_the_file_sound(tmp_path: Path) -> None:
    tool = require_tool("pdfinfo")
    path = tmp_path / "sizes.pdf"
    path.write_bytes(write_pdf(PLOT, SIZES))
    log = subprocess.run([tool, path], capture_output=True, text=True, check=True)
    assert log.stderr == ""
    assert re.search(r"Pages:\s+1", log.stdout)


def test_all_lines_are_there_for_a_reader_that_knows_no_layers() -> None:
    document = pypdfium2.PdfDocument(write_pdf(PLOT, SIZES))
    assert pdfium.FPDFPage_CountObjects(document[0].raw) == len(PLOT.strokes)
    document.close()


@pytest.mark.parametrize("off", [b"/OFF [5 0 R]   ", b"/BaseState /OFF"])
def test_a_layer_that_is_off_is_refused(off: bytes) -> None:
    data = write_pdf(PLOT, SIZES)
    sound = prove_file("marker-pdf", data, MARKER, lower=PLOT.lower, upper=PLOT.upper)
    assert not sound.refused
    bad = prove_file(
        "marker-pdf", data.replace(b"/BaseState /ON", off), replace(MARKER), lower=PLOT.lower, upper=PLOT.upper
    )
    assert bad.refused
    assert "switched off" in str(bad.findings[0])
