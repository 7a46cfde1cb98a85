"""Where each line of a label's words stands, for machines with letters of their own, held against its strokes."""

import numpy as np
import pytest

from cutroom.prepare.label import place_label

WORDS = ("summer blouse", "front", "12", "cut 1 pair", "linen")
MIRRORED = ("summer blouse", "front", "12", "cut 1 pair, left", "linen")


@pytest.mark.parametrize("size", [(400.0, 300.0), (400.0, 60.0), (60.0, 400.0), (90.0, 40.0), (45.0, 12.0)])
def test_lines_begin_and_end_with_their_strokes(size: tuple[float, float]) -> None:
    """Also where there is room for one line only, or for the name alone, or along the piece's length."""
    outline = np.array([(0, 0), (size[0], 0), size, (0, size[1])])
    for label in place_label(outline, [], WORDS, MIRRORED, where="front"):
        assert len(label.lines) == len(label.words)
        assert sum(line.strokes for line in label.lines) == len(label.strokes)
        first = 0
        for words, line in zip(label.words, label.lines, strict=True):
            points = np.vstack(label.strokes[first : first + line.strokes])
            first += line.strokes
            assert points[:, 0].min() == pytest.approx(line.at[0], abs=0.002)
            assert points[:, 0].max() == pytest.approx(line.at[0] + line.width, abs=0.002)
            low, high = points[:, 1].min() - line.at[1], points[:, 1].max() - line.at[1]
            assert low <= 0.002
            assert high == pytest.approx(label.height, abs=0.15 * label.height), words


def test_a_piece_without_room_says_no_lines_it_does_not_draw() -> None:
    tiny = np.array([(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)])
    label, _ = place_label(tiny, [], WORDS, WORDS, where="loop", number=7)
    assert not label.strokes
    assert not label.lines
