"""Seams kept true while the pieces they join are altered."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from cutroom.errors import PieceError
from cutroom.geometry.polyline import length
from cutroom.model.finding import Finding, Severity
from cutroom.model.piece import Piece, SewnSeam, Style

Named = tuple[str, str]


def renamed(
    style: Style, pieces: Iterable[Piece], becomes: Mapping[Named, tuple[Named, ...]], *more: SewnSeam
) -> Style:
    """A style with other pieces, whose edges have other names now, are several, or are gone.

    Args:
        style: As it was.
        pieces: All its pieces now.
        becomes: What a `(piece, edge)` has become, counter-clockwise; one that has become nothing is no longer sewn.
        more: Seams that are new.

    Returns:
        The style with its seams carried over. One that has lost a whole side is left out, with a finding that says so.
    """

    def side(names: tuple[Named, ...], *, from_end: bool) -> tuple[Named, ...]:
        new: list[Named] = []
        for name in names:
            parts = becomes.get(name, (name,))
            new += parts[::-1] if from_end else parts
        return tuple(name for n, name in enumerate(new) if n == 0 or new[n - 1] != name)

    seams, findings = [], list(style.findings)
    for seam in style.seams:
        first = side(seam.first, from_end=seam.first_from_end)
        second = side(seam.second, from_end=seam.second_from_end)
        if first and second:
            seams.append(replace(seam, first=first, second=second))
        elif first or second:
            findings.append(_unsewn(seam, seam.second if first else seam.first, first or second))
    new = {
        name: tuple(part for one in parts for part in becomes.get(one, (one,))) for name, parts in style.became.items()
    }
    for name, parts in becomes.items():
        if parts != (name,):
            new.setdefault(name, parts)
    return replace(style, pieces=tuple(pieces), seams=(*seams, *more), findings=tuple(findings), became=new)


def _unsewn(seam: SewnSeam, gone: tuple[Named, ...], left: tuple[Named, ...]) -> Finding:
    def words(names: tuple[Named, ...]) -> str:
        return " and ".join(f'"{edge}" of piece "{piece}"' for piece, edge in names)

    what = f"it is sewn no more: the edge {words(gone)} is gone, and {words(left)} meets nothing"
    return Finding(Severity.NOTE, f"seam {seam.name}", what, "Cut the other side alike, or finish it as an edge")


def eased_seams(before: Style, after: Style) -> tuple[SewnSeam, ...]:
    """The later style's seams with their ease grown by what their edges gained; the seams must be the same ones."""
    return tuple(
        replace(seam, ease=seam.ease + _gap(after, seam) - _gap(before, old))
        for old, seam in zip(before.seams, after.seams, strict=True)
    )


def turned_seams(seams: Sequence[SewnSeam], pieces: Sequence[str]) -> tuple[SewnSeam, ...]:
    """Seams after pieces were turned over, whose edges run the other way now.

    Raises:
        PieceError: One side of a seam joins pieces that were turned over and others that were not.
    """

    def flag(seam: SewnSeam, names: tuple[Named, ...], *, from_end: bool) -> bool:
        over = {piece in pieces for piece, _ in names}
        if len(over) > 1:
            rest = ", ".join(sorted({piece for piece, _ in names} - set(pieces)))
            raise PieceError(
                f"one side of it joins pieces that are mirrored and others that are not: {rest}",
                "Mirror these too",
                place=f'seam "{seam.name}"',
            )
        return from_end != over.pop()

    return tuple(
        replace(
            seam,
            first_from_end=flag(seam, seam.first, from_end=seam.first_from_end),
            second_from_end=flag(seam, seam.second, from_end=seam.second_from_end),
        )
        for seam in seams
    )


def _gap(style: Style, seam: SewnSeam) -> float:
    def side(names: tuple[Named, ...]) -> float:
        return sum(length(style.piece(piece).edge(edge).points) for piece, edge in names)

    return side(seam.second) - side(seam.first)
