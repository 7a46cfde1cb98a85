"""A length that no way through given lines can fall below: Held and Karp's spanning-tree bound (1970, 1971).

Every line is entered at one end and left at the other, so each of its two ends carries exactly one hop, but for the end
at which the last one is left. Any such way is a spanning tree of the lines. A price on every end, added to each hop
that uses it and taken off again in the sum, keeps that true; prices are raised where a tree branches and lowered where
it ends (subgradient steps after Polyak).

All hops inside a piece are listed, and from every end those to the nearest ends of other pieces. Any other hop is
replaced by two half hops over a hub, each half as long as the way to the farthest end that is listed, so together never
longer than the hop itself. Prices are kept above minus a half hop, so that none is less than nothing.

By the rule of cutting, each piece is done in one go and its outline comes last: then the hops inside a piece form a
tree of their own, and a hop between pieces leaves from an outline.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import minimum_spanning_tree
from scipy.spatial import cKDTree

Reals = NDArray[np.float64]
Wholes = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Lines:
    """Lines in the order in which they are run; the first is the tool's starting place.

    Attributes:
        ends: `(n, 2, 2)`: where each is entered and left.
        piece: `(n,)`: the piece of each; the starting place is a piece of its own.
        outline: `(n,)`: it is the outline of its piece; so is the starting place.
    """

    ends: Reals
    piece: Wholes
    outline: NDArray[np.bool_]

    @property
    def travel(self) -> float:
        """How far the tool travels up."""
        return float(np.hypot(*(self.ends[1:, 0] - self.ends[:-1, 1]).T).sum())


def tree_bound(lines: Lines, *, rule: bool, rounds: int = 150, near: int = 10) -> float:
    """The bound, for a tool that may end anywhere.

    Args:
        lines: The lines; their travel sets the size of the steps, not the bound.
        rule: Piece by piece, outlines last.
        rounds: How often the prices are changed.
        near: Ends of other pieces that are listed for each end.
    """
    places = lines.ends.reshape(-1, 2)
    owner = np.repeat(np.arange(len(lines.ends)), 2)
    piece = lines.piece[owner]
    leaving = lines.outline[owner] & (np.arange(len(places)) % 2 == 1)  # where an outline is left
    alone = np.bincount(lines.piece, minlength=int(lines.piece.max()) + 1)[piece] == 1
    entering = ~lines.outline[owner] | (alone & ~leaving)  # where a piece is entered
    inside = _inside_pieces(piece, owner, leaving if rule else leaving & False)
    outside, hub = (
        _outside_pieces(places, piece, leaving, entering, near)
        if rule
        else _outside_pieces(places, piece, leaving | True, entering | True, near)
    )
    one, other = np.concatenate([inside, outside]).T
    order = np.lexsort((owner[other], owner[one]))
    one, other = one[order], other[order]
    gaps = np.hypot(*(places[one] - places[other]).T)
    bonus = np.where(piece[one] == piece[other], -1e7, 0.0) if rule else np.zeros(len(one))
    pair = owner[one] * len(lines.ends) + owner[other]
    begins = np.flatnonzero(np.concatenate([[True], pair[1:] != pair[:-1]]))
    of_pair = np.repeat(np.arange(len(begins)), np.diff(np.append(begins, len(pair))))
    price = np.zeros(len(places))
    pull = np.zeros(len(places))
    best, share = 0.0, 1.0
    for _ in range(rounds):
        cost = gaps + price[one] + price[other]
        least = np.minimum.reduceat(cost + bonus, begins)
        picked = np.full(len(begins), -1)
        hits = np.flatnonzero(cost + bonus == least[of_pair])[::-1]
        picked[of_pair[hits]] = hits
        halves = hub + price
        cheapest = _cheapest_halves(halves, len(lines.ends))
        edges, leaves = _tree(least, owner[one[begins]], owner[other[begins]], halves[cheapest], len(lines.ends))
        edges, leaves = picked[edges], cheapest[leaves]
        used = np.bincount(np.concatenate([one[edges], other[edges], leaves]), minlength=len(places)).astype(float)
        total = float(cost[edges].sum() + halves[leaves].sum())
        total -= max(float(halves.min()), 0.0) if len(leaves) else 0.0  # a way that needs no hub has no half hop
        free = float(price[1::2].min()) if rule else float(price.min())  # the end that carries no hop
        bound = total - float(price.sum()) + price[0] + free  # and the start is not entered
        best = max(best, bound)
        wrong = used - 1.0
        wrong[0] = 0.0
        pull = 0.7 * wrong + 0.3 * pull
        step = share * (1.02 * lines.travel - bound) / max(float((wrong**2).sum()), 1.0)
        price = np.maximum(price + step * pull, -hub)
        share *= 0.985
    return best


def _inside_pieces(piece: Wholes, owner: Wholes, barred: NDArray[np.bool_]) -> Wholes:
    """Every pair of ends of two lines of one piece."""
    found = []
    order = np.argsort(piece, kind="stable")
    for ends in np.split(order, np.flatnonzero(np.diff(piece[order])) + 1):
        ends = ends[~barred[ends]]
        one, other = np.triu_indices(len(ends), 1)
        one, other = ends[one], ends[other]
        kept = owner[one] != owner[other]
        found.append(np.column_stack([one[kept], other[kept]]))
    pairs: Wholes = np.concatenate(found)
    return np.sort(pairs, axis=1)


def _outside_pieces(
    places: Reals, piece: Wholes, leaving: NDArray[np.bool_], entering: NDArray[np.bool_], near: int
) -> tuple[Wholes, Reals]:
    """Hops to the nearest ends of other pieces, and for each end the half hop that stands for all others."""
    hub = np.full(len(places), 1e9)
    found = [np.zeros((0, 2), dtype=np.int64)]
    largest = int(np.bincount(piece).max())
    for froms, tos in ((leaving, entering), (entering, leaving)):
        starts, goals = np.flatnonzero(froms), np.flatnonzero(tos)
        many = min(near + (largest if tos.sum() > 2 * piece.max() else 2), len(goals))
        for part in np.array_split(starts, max(1, len(starts) * many // 5_000_000)):
            apart, other = cKDTree(places[goals]).query(places[part], k=many)
            other = goals[other]
            foreign = piece[other] != piece[part][:, None]
            listed = foreign & (np.cumsum(foreign, axis=1) <= near)
            rows, columns = np.nonzero(listed)
            found.append(np.column_stack([part[rows], other[rows, columns]]))
            reach = np.where(foreign.sum(axis=1) > near, np.where(listed, apart, 0.0).max(axis=1), apart[:, -1])
            if many < len(goals) or (foreign.sum(axis=1) > near).any():
                hub[part] = np.minimum(hub[part], reach / 2)
    return np.unique(np.sort(np.concatenate(found), axis=1), axis=0), hub


def _cheapest_halves(halves: Reals, lines: int) -> Wholes:
    """The cheaper end of each line for a half hop."""
    cheaper: Wholes = 2 * np.arange(lines) + halves.reshape(lines, 2).argmin(axis=1)
    return cheaper


def _tree(cost: Reals, one: Wholes, other: Wholes, halves: Reals, lines: int) -> tuple[Wholes, Wholes]:
    """The hops and the half hops of the cheapest tree over all lines, with the hub or without."""
    weights = np.concatenate([cost, halves])
    rows = np.concatenate([np.minimum(one, other), np.arange(lines)])
    columns = np.concatenate([np.maximum(one, other), np.full(lines, lines)])
    lift = 1.0 - weights.min()  # the solver takes 0 for no edge
    graph: Any = csr_matrix((weights + lift, (rows, columns)), shape=(lines + 1, lines + 1))
    tree = minimum_spanning_tree(graph).tocoo()
    keys = rows * (lines + 1) + columns
    order = np.argsort(keys, kind="stable")
    edges = order[np.searchsorted(keys[order], tree.row.astype(np.int64) * (lines + 1) + tree.col)]
    leaves = edges[edges >= len(cost)] - len(cost)
    return edges[edges < len(cost)], leaves if len(leaves) > 1 else leaves[:0]


def assignment_bound(lines: Lines) -> float:
    """A weaker bound by SciPy's assignment: every end is followed by an end of another line."""
    places = lines.ends.reshape(-1, 2)
    owner = np.repeat(np.arange(len(lines.ends)), 2)
    gaps = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    gaps[owner[:, None] == owner[None]] = 1e9
    gaps[0] = gaps[:, 0] = 0.0  # the start is not entered
    rows, columns = linear_sum_assignment(gaps)
    hops = np.sort(gaps[rows, columns])
    return float(hops[:-2].sum() / 2)  # each hop is counted from both its ends; nothing follows the last line
