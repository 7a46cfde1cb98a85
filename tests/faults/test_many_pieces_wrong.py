"""A fault in more pieces than are told of: the first are told plainly, and all of the others are counted."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from cutroom.model.plot import Role
from cutroom.proof import Proved, prove_file
from cutroom.proof.words import MOST, shortened, stop
from tests.unit.proof import emitters as emit

MARKER = emit.a_marker(11, count=40)


def proved(change: Callable[[emit.Drawn], emit.Drawn | None]) -> Proved:
    lower, upper = emit.corners(MARKER)
    changed = [change(one) for one in emit.compose(MARKER)]
    data = emit.as_dxf([one for one in changed if one is not None])
    return prove_file("marker-dxf", data, MARKER, lower=lower, upper=upper)


def test_every_piece_moved_is_told_of_twenty_and_the_others_are_counted() -> None:
    by = np.array((0.6, 0.2))
    found = proved(lambda one: one if one.placement is None else replace(one, points=one.points + by))
    told = [finding for finding in found.findings if "it is drawn moved by +0.60 mm" in finding.what]
    assert len(told) == len({finding.place for finding in told}) == MOST
    assert f"{len(MARKER.placements) - MOST} more pieces do not agree" in found.findings[-1].what


def test_lettering_that_is_moved_whole_is_told_once_a_piece() -> None:
    by = np.array((1.5, 0.7))
    found = proved(
        lambda one: replace(one, points=one.points + by) if one.role is Role.LABEL and one.placement == 3 else one
    )
    (finding,) = found.findings
    assert "is moved by +1.50 mm along the cloth and +0.70 mm across it" in finding.what


def test_missing_pieces_are_counted_to_the_last() -> None:
    found = proved(lambda one: None if one.placement is not None and one.placement >= 5 else one)
    assert all("the piece is missing" in finding.what for finding in found.findings[:MOST])
    assert f"{len(MARKER.placements) - 5 - MOST} more pieces do not agree" in found.findings[-1].what


def test_what_was_left_out_once_is_counted_when_findings_are_shortened_again() -> None:
    once = shortened([stop("file", f"fault {number}") for number in range(50)])
    again = shortened([stop("page", "another"), *once])
    assert len(again) == MOST + 1
    assert again[-1].what == f"{51 - MOST} more things do not agree with the marker"
