"""Sizes in sections of their own, and garments kept within one shade; common practice, no source."""

import json
from collections import defaultdict
from pathlib import Path
from typing import Any

import pytest

from tests.end_to_end.test_rules_of_cloth_in_a_job import cloth, only, polygons
from tests.jobs import job_text, make, rectangle

PIECES = (
    rectangle("front", "single", "30", "20")
    + rectangle("back", "single", "30", "20")
    + rectangle("flap", "single", "10", "5")
)


def job(more: str, *, copies: int = 1, sizes: tuple[str, ...] = ("one", "two"), width: str = "50") -> str:
    text = job_text(
        PIECES, cloth(width, gap=1, more=more), unit="cm", copies=copies, write='files = ["marker-json", "marker-dxf"]'
    )
    for size in sizes[1:]:
        line = f'[[garments]]\nname = "it {size}"\nstyle = "it"\nfor = "{size}"\ncopies = {copies}\nfabric = "cloth"\n'
        text = text.replace("[sizes.one]", f"[sizes.one]\n[sizes.{size}]").replace(
            "[fabrics.cloth]", f"{line}[fabrics.cloth]"
        )
    return text


def spans(marker: dict[str, Any], *keys: str) -> dict[tuple[Any, ...], tuple[float, float]]:
    """From where to where along the cloth the pieces of each size, or garment, lie."""
    found: dict[tuple[Any, ...], list[tuple[float, float]]] = defaultdict(list)
    for one, shape in zip(marker["pieces"], polygons(), strict=True):
        found[tuple(one[key] for key in keys)].append((shape.bounds[0], shape.bounds[2]))
    return {key: (min(start for start, _ in own), max(end for _, end in own)) for key, own in found.items()}


def test_each_size_lies_behind_a_straight_line_of_its_own() -> None:
    code, manifest = make(job('sections = "sizes"', copies=2), seconds=1)
    assert code == 0
    marker = only(manifest)
    sizes = sorted(spans(marker, "size").values())
    assert len(marker["sections_mm"]) == 2
    assert sizes[0][1] <= marker["sections_mm"][0] + 0.01
    assert sizes[1][0] >= sizes[0][1] + 10.0 - 0.01  # the gap between them
    assert marker["length_mm"] == pytest.approx(sizes[1][1], abs=0.01)


def test_mixed_sizes_take_no_more_than_sections() -> None:
    _, apart = make(job('sections = "sizes"'), seconds=1)
    _, mixed = make(job('sections = "mixed"'), seconds=1)
    assert only(mixed)["length_mm"] <= only(apart)["length_mm"] + 0.01
    assert only(mixed)["sections_mm"] == []


def test_the_pieces_of_a_garment_keep_within_one_shade() -> None:
    code, manifest = make(job("shade = 75", copies=5, sizes=("one",)), seconds=2)
    assert code == 0
    marker = only(manifest)
    garments = spans(marker, "garment", "copy")
    assert len(garments) == 5
    assert all(end - start <= 750.0 + 0.01 for start, end in garments.values())
    assert len(marker["sections_mm"]) >= 3
    assert len(marker["pieces"]) == 15


def test_a_garment_longer_than_its_shade_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    code, _ = make(job("shade = 29", sizes=("one",)))
    assert code == 1
    said = capsys.readouterr().err
    assert 'fabric "cloth", it (one) 1: its pieces alone take' in said
    assert "keep one shade" in said


def test_stripes_run_on_through_the_sections() -> None:
    match = (
        '[[styles.it.matches]]\nname = "hip"\n'
        'points = [{ piece = "front", at = [11, 0] }, { piece = "back", at = [13, 0] }]\n'
    )
    text = job('sections = "sizes"\npattern = { along = 7, symmetric = false }').replace(
        "[[garments]]", f"{match}[[garments]]", 1
    )
    code, manifest = make(text, seconds=2)
    assert code == 0
    marker = only(manifest)
    for one in marker["pieces"]:
        if one["piece"] != "flap":
            at = one["x_mm"] + {"front": 110.0, "back": 130.0}[one["piece"]]
            assert abs((at - marker["pattern_start_mm"] + 35.0) % 70.0 - 35.0) <= 0.27


def test_sections_are_gone_on_from_and_locks_in_them_refused(capsys: pytest.CaptureFixture[str]) -> None:
    text = job('sections = "sizes"', copies=2)
    _, first = make(text, "--tries", "10")
    kept = json.loads(Path("out/cloth-marker.json").read_text(encoding="utf-8"))
    Path("kept.json").write_text(json.dumps(kept), encoding="utf-8")
    code, second = make(text, "--tries", "1", "--from", "kept.json")
    assert code == 0
    assert only(second)["length_mm"] <= only(first)["length_mm"] + 0.02
    kept["pieces"][0]["locked"] = True
    Path("kept.json").write_text(json.dumps(kept), encoding="utf-8")
    code, _ = make(text, "--tries", "1", "--from", "kept.json")
    assert code == 1
    assert "pieces are locked in a marker of sections" in capsys.readouterr().err
