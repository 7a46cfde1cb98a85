"""Without a rule a marker is never longer than with it, and what lies without it keeps all the other rules."""

import json
import re
from pathlib import Path

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from cutroom.job.going_on import Started
from cutroom.job.markers import make_marker
from cutroom.job.pieces import Drafted, draft_order, prepare_order, read_order
from cutroom.job.relaxing import opened_lay, relaxations, two_together, unfolded
from cutroom.model.fabric import Spread
from cutroom.model.lay import Lay
from cutroom.model.marker import Marker
from cutroom.model.order import Order
from cutroom.plan.lays import plan_lays
from cutroom.proof.marker import figures, prove_marker
from tests.jobs import SAMPLES, job_text

TRIES = 4


def outline(rng: np.random.Generator, name: str, cut: str) -> str:
    """A piece of random corners, in mm; cut on the fold it stands on it."""
    corners = int(rng.integers(3, 7))
    angles = (np.arange(corners) + rng.uniform(0.2, 0.8, corners)) * np.pi / corners
    x, y = 100 + 90 * np.cos(angles), rng.uniform(40, 90) * np.sin(angles)
    points = [(195.0, 0.0), *zip(x.tolist(), y.tolist(), strict=True), (0.0, 0.0)]
    kinds = ["seam"] * (len(points) - 1) + ["fold" if cut == "fold" else "seam"]
    edges = "".join(
        f'  {{ name = "e{n}", kind = "{kind}", points = [[{a[0]:.3f}, {a[1]:.3f}], [{b[0]:.3f}, {b[1]:.3f}]] }},\n'
        for n, (a, b, kind) in enumerate(zip(points, [*points[1:], points[0]], kinds, strict=True))
    )
    return f'[[styles.it.pieces]]\nname = "{name}"\ncut = "{cut}"\ngrain = "right"\nedges = [\n{edges}]\n'


@st.composite
def jobs(draw: st.DrawFn, spreads: tuple[str, ...] = ("open", "folded", "tubular")) -> str:
    rng = np.random.default_rng(draw(st.integers(0, 10_000)))
    spread = draw(st.sampled_from(spreads))
    kinds = ["pair", "fold", "single"] if spread == "open" else ["pair", "fold"]
    pieces = "".join(outline(rng, f"p{n}", str(rng.choice(kinds))) for n in range(int(rng.integers(2, 4))))
    lines = [
        f"width = {rng.uniform(400, 700):.2f}",
        f"selvedge = {0 if spread == 'tubular' else 5}",
        f'spread = "{spread}"',
        'face = "up"',
        'shrinkage = "not tested"',
        f'nap = "{draw(st.sampled_from(["none", "by-garment", "one-way"]))}"',
        f"gap = {draw(st.sampled_from([0, 3.5]))}",
    ]
    if draw(st.booleans()):
        lines.append("flaws = [{ along = [60, 80], across = [40, 55] }]")
    if draw(st.booleans()):
        lines.append("table = 320")
    return job_text(pieces, "\n".join(lines), unit="mm", copies=draw(st.integers(1, 2)))


def read(text: str) -> tuple[Order, Drafted, Lay]:
    Path("job.toml").write_text(text, encoding="utf-8")
    order = read_order(Path("job.toml"))
    drafted = draft_order(order)
    (lay,) = plan_lays(order.garments, order.fabrics, prepare_order(order, drafted))
    return order, drafted, lay


def laid(lay: Lay, started: Started | None = None) -> Marker:
    return make_marker(lay, seconds=0, seed=1, tries=TRIES, started=started)[0]


@given(jobs())
@settings(max_examples=12)
def test_relaxing_never_lengthens_and_keeps_the_other_rules(text: str) -> None:
    order, drafted, lay = read(text)
    base = laid(lay)
    assert prove_marker(base) == ()
    for one in relaxations(order, drafted, lay):
        start = one.start(base)
        assert start or not one.holds
        free = laid(one.lay, Started(start, base.pattern_start) if start else None)
        assert prove_marker(free) == (), one.rule
        if one.holds:
            assert free.length <= base.length + 0.001, one.rule  # the fold may lie off the grid
    together = two_together(lay)
    if together is not None:
        both = laid(together.lay, Started(together.start(base)))
        assert prove_marker(both) == ()
        assert both.length <= 2 * base.length + lay.fabric.gap + 0.001


@st.composite
def jobs_with_more_rules(draw: st.DrawFn) -> str:
    """Jobs whose pieces have gaps for single edges, share cut lines, or are cut roughly in a block."""
    text = draw(jobs(spreads=("open", "folded")))
    names = re.findall('^name = "(p[0-9])"\\ncut = "(?!fold)', text, flags=re.MULTILINE)
    more, edged, shared, blocked = "", *draw(st.tuples(st.booleans(), st.booleans(), st.booleans()))
    if edged:
        more += f"[styles.it.laying]\np0 = {{ edges = {{ e0 = {draw(st.sampled_from([0, 12]))} }} }}\n"
    if names and shared:
        more += f"[[styles.it.shared_lines]]\npieces = {json.dumps(names)}\ngap = {draw(st.sampled_from([0, 0.3]))}\n"
    if names and blocked:
        gap: str = draw(st.sampled_from(["", "gap = 1\n"]))
        more += f'[[styles.it.rough_blocks]]\nname = "b"\npieces = {json.dumps(names[-2:])}\nallowance = 5\n{gap}'
    return text.replace("[[garments]]", f"{more}[[garments]]").replace("table = 320", "table = 640")


@given(jobs_with_more_rules())
@settings(max_examples=12)
def test_gaps_of_edges_shared_lines_and_blocks_are_kept_and_relaxed(text: str) -> None:
    order, drafted, lay = read(text)
    base = laid(lay)
    assert prove_marker(base) == ()
    assert base.bound is not None
    assert base.bound <= base.length + 1e-6
    for one in relaxations(order, drafted, lay):
        start = one.start(base)
        assert start or not one.holds
        free = laid(one.lay, Started(start, base.pattern_start) if start else None)
        assert prove_marker(free) == (), one.rule
        if one.holds:
            assert free.length <= base.length + 0.02, one.rule


def test_pieces_that_face_each_other_over_the_fold_lie_so_on_cloth_opened_out() -> None:
    """The nest's own shapes stand out a little there and overlap; the pieces themselves touch."""
    hollow = [
        "[[195, 0], [185.025, 17.972], [141.715, 48.572], [83.456, 53.882], [54.289, 47.219], [13.85, 15.862], [0, 0]]",
        "[[195, 0], [171.176, 47.954], [92.663, 78.093], [14.972, 25.683], [0, 0]]",
    ]
    pieces = "".join(
        f'[[styles.it.pieces]]\nname = "p{n}"\ncut = "pair"\ngrain = "right"\nedges = [\n'
        f'{{ name = "upper", points = {points} }}, {{ name = "lower", points = [[0, 0], [195, 0]] }}]\n'
        for n, points in enumerate(hollow)
    )
    cloth = 'width = 475.7\nselvedge = 5\nspread = "folded"\nface = "up"\nshrinkage = "not tested"\nnap = "none"\n'
    cloth += "flaws = [{ along = [60, 80], across = [40, 55] }]\ntable = 320"
    order, drafted, lay = read(job_text(pieces, cloth, unit="mm", copies=2))
    base = laid(lay)
    (fold,) = (one for one in relaxations(order, drafted, lay) if one.rule == "fold")
    free = laid(fold.lay, Started(fold.start(base)))
    assert prove_marker(free) == ()
    assert free.length <= base.length + 0.01


def assert_unfolds(order: Order, drafted: Drafted, lay: Lay) -> None:
    base = laid(lay)
    assert prove_marker(base) == ()
    opened = opened_lay(order, drafted, lay)
    assert opened.fabric.spread is Spread.OPEN
    placements = unfolded(base, opened)
    assert len(placements) == len(opened.wanted)
    for placement, wanted in zip(placements, opened.wanted, strict=True):
        assert placement.key == wanted.piece.key
        assert placement.flipped == bool(wanted.flipped)
    flat = Marker("flat", opened.fabric, 0.0, placements, opened.pieces)
    flat = Marker("flat", opened.fabric, figures(flat).length, placements, opened.pieces)
    assert flat.length <= base.length + 0.01
    assert prove_marker(flat) == ()


@given(jobs(spreads=("folded",)))
@settings(max_examples=25)
def test_a_folded_marker_unfolds_to_a_sound_one_of_the_same_length(text: str) -> None:
    assert_unfolds(*read(text))


def test_so_does_that_of_drafted_skirts_in_two_sizes() -> None:
    order, drafted, lay = read((SAMPLES / "skirt" / "job.toml").read_text(encoding="utf-8"))
    assert len(lay.wanted) > 6
    assert_unfolds(order, drafted, lay)
