"""The report page: what must be on it, that it stands alone, and that every text is escaped."""

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from cutroom.model.fabric import Fabric, Face, Nap, Spread
from cutroom.model.finding import Finding, Severity
from cutroom.report.cut_list import boxes, cut_list_text
from cutroom.report.page import write_report
from cutroom.report.scale import judge_square
from cutroom.report.values import CutLine, DraftFacts, MarkerSheet, ProofRow, Recount, Report, WalkLine
from cutroom.units import Unit
from tests.builders import a_marker, a_prepared_piece

_PICTURE = '<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="300mm" viewBox="0 0 600 300"></svg>'
_CUT = (
    CutLine("blouse", "12", "front", "left", "self", "linen", 1),
    CutLine("blouse", "12", "front", "right", "self", "linen", 1),
    CutLine("blouse", "12", "collar", "on the fold", "fusible", "interfacing", 40),
)


class _Page(HTMLParser):
    """What a browser would see: texts, tags, and whether every tag is closed."""

    def __init__(self) -> None:
        super().__init__()
        self.text: list[str] = []
        self.links: list[str] = []
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.links += [value or "" for name, value in attrs if name in {"src", "href", "srcset", "data", "action"}]
        if tag not in {"meta", "hr", "br", "img"}:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def _fabric(**changes: object) -> Fabric:
    facts: dict[str, object] = {
        "width": 1524.0,
        "selvedge": 25.4,
        "price": 12.0,
        "gap": 6.35,
        "end_allowance": 10.16,
    } | changes
    return Fabric(name="linen", **facts)  # type: ignore[arg-type]


def _report(fabric: Fabric | None = None, **changes: object) -> Report:
    sheet = MarkerSheet(
        a_marker(fabric=fabric or _fabric(), length=806.45), _PICTURE, _CUT, garments=1,
        recounts=(Recount("linen.dxf", "closed outlines", 3, 3),), file="linen.pdf",
    )  # fmt: skip
    facts: dict[str, object] = {
        "markers": (sheet,),
        "walks": (WalkLine("12", "side seams", 450.0, 450.4), WalkLine("12", "cap and armhole", 444.5, 476.2, 31.7)),
        "drafts": (DraftFacts("blouse", "12", (("cap height", "5 3/8 in"),)),),
        "proofs": (ProofRow("linen.dxf", "marker-dxf", "3 outlines", 0.0004, True, "ab" * 32),),
    }
    return Report("Two blouses", Unit.INCH, **(facts | changes))  # type: ignore[arg-type]


def _seen(report: Report) -> tuple[str, _Page]:
    page = _Page()
    page.feed(write_report(report).decode("utf-8"))
    page.close()
    assert page.open == []
    return re.sub(r"\s+", " ", " ".join(page.text)), page


def test_the_page_carries_the_figures_of_the_marker() -> None:
    text, _ = _seen(_report())
    for said in (
        "Two blouses", "31 3/4 in (806", "usable width × length", "1 yd (by the 1/8 yd) or 0.90 m (by 10 cm)",
        "7/8 yd is not enough", "10.80 for 0.90 m at 12.00 a metre", "wash/steam test not recorded",
        "58 in (1473.2 mm)",
        "32.55 in (826.77 mm): the marker and 0.4 in (10.16 mm) at each end",
        "Lengths are in inches",
        "one way ⟶", "UP on the table", "5 3/8 in", "+31.7 mm", "0.0004 mm", "ab" * 32, "42 in all", "PASS",
    ):  # fmt: skip
        assert said in text, said


def test_the_page_needs_nothing_from_outside() -> None:
    page = _seen(_report())[1]
    assert page.links
    assert all(link.startswith("data:image/svg+xml;base64,") for link in page.links)
    text = write_report(_report()).decode("utf-8")
    assert not re.search(r"@import|url\(|<script|<link|https?://", text)


def test_the_page_is_the_same_bytes_every_time() -> None:
    assert write_report(_report()) == write_report(_report())


def test_every_text_is_escaped() -> None:
    evil = "<script>\"&'"
    marker = a_marker(evil, fabric=_fabric(note=evil), pieces=[a_prepared_piece(evil)], placements=[])
    sheet = MarkerSheet(
        marker, _PICTURE, (CutLine(evil, evil, evil, evil, evil, evil, 1),), 1, (Recount(evil, evil, 1, 2),), evil
    )
    report = Report(
        evil, Unit.CENTIMETRE, (sheet,), (WalkLine(evil, evil, 1, 2),), (DraftFacts(evil, evil, ((evil, evil),)),),
        (Finding(Severity.NOTE, evil, evil, evil),), (ProofRow(evil, evil, evil, None, False, evil),), None, evil,
    )  # fmt: skip
    assert b"<script" not in write_report(report)
    assert evil in _seen(report)[0]


def test_a_fact_that_stops_is_said_first_and_in_words() -> None:
    notes = (
        Finding(Severity.NOTE, "linen", "a note", "Know it"),
        Finding(Severity.STOP, "front", "2 left, 0 right; need 1 and 1", "Mirror one of them"),
    )
    text, _ = _seen(_report(findings=notes))
    assert text.index("Do not cut. 1 reason") < text.index("2 left, 0 right") < text.index("a note")


def test_a_second_count_that_differs_stops() -> None:
    sheet = MarkerSheet(a_marker(), _PICTURE, _CUT, 1, (Recount("linen.dxf", "closed outlines", 3, 2),))
    text, _ = _seen(_report(markers=(sheet,)))
    assert "Do not cut. 1 reason" in text
    assert "2 were counted, wanted 3" in text


def test_a_file_that_failed_its_proof_stops() -> None:
    text, _ = _seen(_report(proofs=(ProofRow("a.dxf", "marker-dxf", "one outline missing", None, False, "0"),)))
    assert "does not agree with the marker (one outline missing)" in text
    assert "STOP" in text


def test_a_seam_that_does_not_fit_is_to_be_looked_at() -> None:
    text, _ = _seen(_report(walks=(WalkLine("12", "side seams", 450.0, 453.0),)))
    assert "LOOK FIRST" in text
    assert "+3.0 mm" in text


def test_a_square_out_of_scale_is_on_the_page() -> None:
    text, _ = _seen(_report(scale=judge_square(97.0)))
    assert "Correction: 103.09 %" in text
    assert "Do not cut. 1 reason" in text


def test_a_finding_that_is_handed_over_twice_is_said_once() -> None:
    verdict = judge_square(97.0)
    text, _ = _seen(_report(scale=verdict, findings=(verdict.finding, verdict.finding)))
    assert "Do not cut. 1 reason" in text


@pytest.mark.parametrize(
    ("fabric", "said"),
    [
        (_fabric(face=Face.DOWN), "DOWN on the table"),
        (_fabric(spread=Spread.FOLDED), "29 in (736.6 mm), as it lies folded"),
        (_fabric(spread=Spread.FACE_TO_FACE, plies=20), "face to face"),
        (_fabric(nap=Nap.BY_GARMENT), "by garment ⟶ or ⟵"),
        (_fabric(shrink_warp=0.03, shrink_weft=0.02), "scaled by 1.030928 and 1.020408"),
    ],
)
def test_the_facts_of_the_cloth_are_said(fabric: Fabric, said: str) -> None:
    assert said in _seen(_report(fabric))[0]


def test_what_boxes_would_have_cost_is_said() -> None:
    marker = a_marker(fabric=_fabric(), length=800.0)
    boxed = type(marker)(
        marker.name, marker.fabric, marker.length, marker.placements, marker.pieces, boxes_length=1000.0
    )
    text, _ = _seen(_report(markers=(MarkerSheet(boxed, "", _CUT, 1),)))
    assert "7 7/8 in (200.0 mm) a ply, 20.0 %" in text


def test_a_marker_no_shorter_than_its_boxes_saved_nothing() -> None:
    marker = a_marker(fabric=_fabric(), length=800.0)
    boxed = type(marker)(
        marker.name, marker.fabric, marker.length, marker.placements, marker.pieces, boxes_length=800.0
    )
    text, _ = _seen(_report(markers=(MarkerSheet(boxed, "", _CUT, 1),)))
    assert "nothing: laid by their boxes the same pieces take 31 1/2 in (800.0 mm)" in text


def test_what_could_still_be_saved_at_most_is_said_and_why() -> None:
    marker = replace(a_marker(fabric=_fabric(), length=800.0), bound=750.0, bound_by="the area of the pieces")
    text, _ = _seen(_report(markers=(MarkerSheet(marker, "", _CUT, 1),)))
    assert "could still be saved at most 1 15/16 in (50.0 mm) a ply, 6.2 %: by these rules these pieces need" in text
    assert "29 1/2 in (750.0 mm) at least, for the area of the pieces" in text
    text, _ = _seen(_report(markers=(MarkerSheet(replace(marker, length=750.005), "", _CUT, 1),)))
    assert "nothing: the area of the pieces: no marker of these pieces by these rules can be shorter" in text


def test_second_counts_stand_file_beside_file() -> None:
    counts = (Recount("a.dxf", "front", 2, 2), Recount("a.plt", "front", 2, 2), Recount("a.dxf", "back", 1, 1))
    text, _ = _seen(_report(markers=(MarkerSheet(a_marker(), "", _CUT, 1, counts),)))
    assert "counted wanted a.dxf a.plt front 2 2 ✓ 2 ✓ back 1 1 ✓" in re.sub(r"\s+", " ", text)


def test_the_cautions_put_law_and_people_first() -> None:
    text, _ = _seen(_report())
    order = ["Local safety codes", "Knives", "running laser", "100 mm square", "right, against the cut list"]
    places = [text.index(words) for words in order]
    assert places == sorted(places)
    assert "toile first" in text
    assert "no wash or steam test is recorded" in text


def test_the_cut_list_is_plain_text_in_columns() -> None:
    assert cut_list_text(_CUT) == (
        "how many  piece   hand         garment  for  fabric\n"
        "       1  front   left         blouse   12   linen\n"
        "       1  front   right        blouse   12   linen\n"
        "      40  collar  on the fold  blouse   12   interfacing (fusible)\n"
        "42 pieces in all\n"
    )


def test_many_boxes_are_written_as_a_number() -> None:
    assert boxes(2) == "☐ ☐"
    assert boxes(40) == "☐ × 40"


def test_a_piece_that_carries_a_number_is_told_by_it() -> None:
    tab = CutLine("blouse", "12", "tab", "left", "self", "linen", 1, 7)
    assert "no. 7: tab" in cut_list_text((*_CUT, tab))
    marker = a_marker(fabric=_fabric(), length=806.45)
    _, page = _seen(_report(markers=(MarkerSheet(marker, _PICTURE, (*_CUT, tab), 1),)))
    assert "no. 7: tab" in page.text
    assert "Pieces too small for their names carry the number in front of the name." in page.text
    _, plain = _seen(_report())
    assert not any("carry the number" in text for text in plain.text)
