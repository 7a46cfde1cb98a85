"""A length that no way through given lines can fall below: Held and Karp's spanning trees (1970, 1971, from memory).

Every line is entered at one end and left at the other, so each of its two ends carries exactly one hop, but for the end
at which the last one is left. Any such way is a spanning tree of the lines. A price on every end, added to each hop
that uses it and taken off again in the sum, keeps that true; prices are raised where a tree branches and lowered where
it ends (subgradient steps after Polyak).

Strokes lie in clusters: letters, words, labels. A tree enters a far cluster once, a way twice, and to learn that by
single prices all ends of the cluster must become dearer together. So each cluster of ends no farther apart than some
length has a price of its own besides, for lengths that double (the sum of its ends' prices moves with what its ends
lack together); this changes how fast prices are found, not what they prove. They are found on the hops to near ends and
between neighbours (Delaunay); the bound itself is the cheapest tree over all hops there are, found at the end
(Boruvka's way, on a tree of boxes).

A closed line may be begun at any of its doors, and is left where it was entered: one of them, whichever it is, carries
two hops. What its prices are taken off at is then the dearest of its doors. That alone would let a tree enter at one
door and leave at another, each of them half; so a hop also has a price for using such a door at all, which is taken off
again where the door is picked.

By the rule of cutting, each piece is done in one go and its outline comes last: then the hops inside a piece form a
tree of their own, and a hop between pieces leaves from an outline. There all hops inside a piece are listed, and from
every end those to the nearest ends of other pieces. Any other hop is replaced by two half hops over a hub, each half as
long as the way to the farthest end that is listed, so together never longer than the hop itself. Prices are kept above
minus a half hop, so that none is less than nothing.
"""

from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components, minimum_spanning_tree
from scipy.spatial import Delaunay, cKDTree

from cutroom.geometry.kernels.tour import _off, plant
from cutroom.plot.sequence import Doors

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
        rule: Piece by piece, outlines last; else in any order.
        rounds: How often the prices are changed.
        near: Ends (by the rule, of other pieces) that are listed for each end.
    """
    places = np.ascontiguousarray(lines.ends.reshape(-1, 2))
    owner = np.repeat(np.arange(len(lines.ends)), 2)
    if not rule:
        return _free_bound(places, owner, np.zeros(len(owner), dtype=np.bool_), lines.travel, rounds, near)
    piece = lines.piece[owner]
    leaving = lines.outline[owner] & (np.arange(len(places)) % 2 == 1)  # where an outline is left
    alone = np.bincount(lines.piece, minlength=int(lines.piece.max()) + 1)[piece] == 1
    entering = ~lines.outline[owner] | (alone & ~leaving)  # where a piece is entered
    inside = _inside_pieces(piece, owner, leaving)
    outside, hub = _outside_pieces(places, piece, leaving, entering, near)
    one, other = np.concatenate([inside, outside]).T
    order = np.lexsort((owner[other], owner[one]))
    one, other = one[order], other[order]
    gaps = np.hypot(*(places[one] - places[other]).T)
    bonus = np.where(piece[one] == piece[other], -1e7, 0.0)
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
        free = float(price[1::2].min())  # the end that carries no hop
        bound = total - float(price.sum()) + price[0] + free  # and the start is not entered
        best = max(best, bound)
        wrong = used - 1.0
        wrong[0] = 0.0
        pull = 0.7 * wrong + 0.3 * pull
        step = share * (1.02 * lines.travel - bound) / max(float((wrong**2).sum()), 1.0)
        price = np.maximum(price + step * pull, -hub)
        share *= 0.985
    return best


def free_bound(doors: Doors, travel: float, *, rounds: int = 1000, near: int = 10) -> float:
    """The bound for lines that may be run in any order, and closed ones begun at any of their doors.

    Args:
        doors: The lines; door 0 is where the tool starts.
        travel: That of some way; it sets the size of the steps, not the bound.
        rounds: How often the prices are changed.
        near: Doors that are listed for each door.
    """
    twice = doors.back == np.arange(len(doors.back))
    twice[0] = False
    places, owner = np.concatenate([doors.places[:1], doors.places]), np.concatenate([[0], doors.owner])
    return _free_bound(places, owner, np.concatenate([[False], twice]), travel, rounds, near, stages=10)


def _free_bound(
    places: Reals, owner: Wholes, twice: NDArray[np.bool_], travel: float, rounds: int, near: int, stages: int = 1
) -> float:
    """The bound for lines that may be run in any order.

    Args:
        places: `(m, 2)`: the ends of lines, line after line; the start has two, and the first of them is not entered.
        owner: `(m,)`: their lines.
        twice: `(m,)`: one such end of a line carries two hops, the others none; any other end carries one.
        travel: That of some way.
        rounds: How often the prices are changed.
        near: Ends that are listed for each end.
        stages: How often the cheapest tree over all hops is found, and its hops listed.
    """
    count, ends = int(owner[-1]) + 1, len(places)
    pairs = _neighbours(places, near)
    all_gaps = np.hypot(*(places[pairs[:, 0]] - places[pairs[:, 1]]).T)
    hops = (owner[pairs[:, 0]] != owner[pairs[:, 1]]) & (pairs[:, 0] > 0)
    one, other, gaps = pairs[hops, 0].copy(), pairs[hops, 1].copy(), all_gaps[hops]
    plain = gaps[_listed_tree(one, other, gaps, owner, count)]
    clusters = _clusters(pairs, all_gaps, ends, float(np.median(plain)), float(plain.max()))
    if twice.any():
        clusters.append(np.unique(np.where(twice, owner, count + np.arange(ends)), return_inverse=True)[1])
    listed = _Listed(one, other, gaps, twice)
    price, extra = np.zeros(ends), np.zeros(len(listed.side))
    pull, extra_pull = price, extra
    proven, share = -np.inf, 1.0
    best, best_price, best_extra = -np.inf, price, extra
    for turn in range(rounds):
        one, other, side, at = listed.one, listed.other, listed.side, listed.at
        cost = listed.gaps + price[one] + price[other] + np.bincount(side, weights=extra, minlength=len(one))
        tree = _listed_tree(one, other, cost, owner, count)
        last = 1 + int(price[1:].argmin())  # the end that carries no hop
        worth, picked = _picked(price, extra, at, owner, twice)
        bound = float(cost[tree].sum() - worth + price[last])
        if bound > best:
            best, best_price, best_extra = bound, price, extra
        wrong = np.bincount(np.concatenate([one[tree], other[tree]]), minlength=ends) - np.where(twice, 2 * picked, 1.0)
        wrong[0] = 0.0
        wrong[last] += 1.0
        taken = np.zeros(len(one))
        taken[tree] = 1.0
        astray = taken[side] - picked[at]
        astray[(extra <= 0) & (astray < 0)] = 0.0
        together = [np.bincount(cluster, weights=wrong) for cluster in clusters]
        size = float((wrong**2).sum()) + sum(float((each**2).sum()) for each in together) + float((astray**2).sum())
        turned = wrong + sum(each[cluster] for each, cluster in zip(together, clusters, strict=True))
        pull, extra_pull = 0.7 * turned + 0.3 * pull, 0.7 * astray + 0.3 * extra_pull
        step = share * (travel - bound) / max(size, 1.0)
        price, extra = price + step * pull, np.maximum(extra + step * extra_pull, 0.0)
        share *= 0.01 ** (1.0 / rounds)
        if (turn + 1) % -(-rounds // stages) == 0 or turn + 1 == rounds:
            worth, _ = _picked(best_price, best_extra, at, owner, twice)
            best_price = np.concatenate([[1e12], best_price[1:]])
            total, hops = _whole_tree(places, owner, best_price, *listed.dearer(best_extra, ends), *plant(places))
            proven = max(proven, float(total - worth + best_price[1:].min()))
            listed = listed.with_more(hops, places, twice)
            more = np.zeros(len(listed.side) - len(extra))
            extra, extra_pull = np.concatenate([extra, more]), np.concatenate([extra_pull, more])
            best = -np.inf
    return proven


class _Listed:
    """Hops that prices are found on.

    Attributes:
        one: `(e,)`: an end of each hop,
        other: `(e,)`: and the other.
        gaps: `(e,)`: their lengths.
        side: The hops that use an end of a line any end of which may carry its two hops, once for each such end.
        at: That end.
    """

    def __init__(self, one: Wholes, other: Wholes, gaps: Reals, twice: NDArray[np.bool_]) -> None:
        self.one, self.other, self.gaps = one, other, gaps
        both = np.column_stack([one, other]).ravel()
        uses = np.flatnonzero(twice[both])
        self.side, self.at = uses // 2, both[uses]

    def with_more(self, hops: Wholes, places: Reals, twice: NDArray[np.bool_]) -> "_Listed":
        """These hops, and after them those of `(h, 2)` that are not listed."""
        hops = np.unique(np.sort(hops, axis=1), axis=0)
        low, high = np.minimum(self.one, self.other), np.maximum(self.one, self.other)
        new = hops[~np.isin(hops[:, 0] * len(places) + hops[:, 1], low * len(places) + high)]
        gaps = np.hypot(*(places[new[:, 0]] - places[new[:, 1]]).T)
        return _Listed(
            np.concatenate([self.one, new[:, 0]]),
            np.concatenate([self.other, new[:, 1]]),
            np.concatenate([self.gaps, gaps]),
            twice,
        )

    def dearer(self, extra: Reals, ends: int) -> tuple[Wholes, Wholes, Reals]:
        """For each end from where on and with which other ends its hops cost something besides, and what."""
        one, other = self.one[self.side], self.other[self.side]
        where = (np.concatenate([one, other]), np.concatenate([other, one]))
        table: Any = csr_matrix((np.tile(extra, 2), where), shape=(ends, ends))
        return table.indptr.astype(np.int64), table.indices.astype(np.int64), table.data


def _picked(price: Reals, extra: Reals, at: Wholes, owner: Wholes, twice: NDArray[np.bool_]) -> tuple[float, Reals]:
    """What is taken off the tree for prices of ends, the most there may be; and how far each end of a line is the one
    that carries two hops."""
    worth = np.where(twice, 2 * price + np.bincount(at, weights=extra, minlength=len(price)), -np.inf)
    most = np.full(int(owner[-1]) + 1, -np.inf)
    np.maximum.at(most, owner, worth)
    dearest = (worth == most[owner]) & twice
    picked = dearest / np.maximum(np.bincount(owner, weights=dearest)[owner], 1.0)
    return float(most[np.isfinite(most)].sum() + price[1:][~twice[1:]].sum()), picked


def _neighbours(places: Reals, near: int) -> Wholes:
    """`(e, 2)`: pairs of ends that are near, neighbours, or in one place."""
    alone, which, inverse = np.unique(places, axis=0, return_index=True, return_inverse=True)
    ends = np.arange(len(places))
    near_ends = cKDTree(places).query(places, k=min(near + 2, len(places)))[1]
    sides = [which[Delaunay(alone).simplices[:, pair]] for pair in combinations(range(3), 2)]
    found = [np.column_stack([np.repeat(ends, near_ends.shape[1]), near_ends.ravel()]), *sides]
    found.append(np.column_stack([ends, which[inverse.ravel()]]))
    pairs = np.unique(np.sort(np.concatenate(found), axis=1), axis=0)
    apart: Wholes = pairs[pairs[:, 0] != pairs[:, 1]]
    return apart


def _clusters(pairs: Wholes, gaps: Reals, ends: int, least: float, most: float) -> list[Wholes]:
    """Which ends hang together by hops up to some lengths that double."""
    found: list[Wholes] = []
    apart = max(least, most * 1e-6)
    while apart < most:
        those = pairs[gaps <= apart]
        graph: Any = csr_matrix((np.ones(len(those)), (those[:, 0], those[:, 1])), shape=(ends, ends))
        found.append(connected_components(graph, directed=False)[1].astype(np.int64))
        apart *= 2.0
    return found


@njit(nogil=True)
def _root(roots: Wholes, line: int) -> int:
    while roots[line] != line:
        roots[line] = roots[roots[line]]
        line = roots[line]
    return line


@njit(nogil=True)
def _listed_tree(one: Wholes, other: Wholes, cost: Reals, owner: Wholes, lines: int) -> Wholes:
    """The hops of the cheapest tree over all lines by hops that are listed (Boruvka)."""
    whole = np.arange(lines)
    live = np.arange(len(one))
    tree = np.zeros(lines - 1, dtype=np.int64)
    done, alive = 0, len(one)
    while done < lines - 1:
        best = np.full(lines, -1)
        kept = 0
        for place in range(alive):
            hop = live[place]
            a, b = whole[owner[one[hop]]], whole[owner[other[hop]]]
            if a == b:
                continue
            live[kept] = hop
            kept += 1
            for part in (a, b):
                if best[part] < 0 or cost[hop] < cost[best[part]]:
                    best[part] = hop
        alive = kept
        roots = np.arange(lines)
        for part in range(lines):
            if best[part] >= 0:
                a = _root(roots, whole[owner[one[best[part]]]])
                b = _root(roots, whole[owner[other[best[part]]]])
                if a != b:
                    roots[max(a, b)] = min(a, b)
                    tree[done] = best[part]
                    done += 1
        for line in range(lines):
            whole[line] = _root(roots, whole[line])
    return tree


@njit(nogil=True)
def _whole_tree(
    places: Reals,
    owner: Wholes,
    price: Reals,
    starts: Wholes,
    mates: Wholes,
    extra: Reals,
    doors: Wholes,
    spans: Wholes,
    boxes: Reals,
) -> tuple[float, Wholes]:
    """The cheapest tree over all lines, whatever hops it takes: what it costs, and the ends of its hops.

    A hop costs its length and the prices of its ends.

    `price[0]` is that of an end that no hop may take. The hops from end `k` to `mates[starts[k] : starts[k + 1]]` cost
    `extra` besides, never less than nothing.
    """
    lines, nodes = owner[-1] + 1, len(spans)
    cheapest = np.full(nodes, np.inf)
    for node in range(nodes - 1, 0, -1):
        for place in range(spans[node, 0], spans[node, 1]):
            cheapest[node] = min(cheapest[node], price[doors[place]])
    whole = np.arange(lines)
    only = np.zeros(nodes, dtype=np.int64)  # the part that all ends of a node belong to, or -1
    waiting, distance = np.zeros(64, dtype=np.int64), np.zeros(64, dtype=np.float64)
    hops = np.zeros((lines - 1, 2), dtype=np.int64)
    total, parts = 0.0, lines
    while parts > 1:
        for node in range(nodes - 1, 0, -1):
            only[node] = -2
            for place in range(spans[node, 0], spans[node, 1]):
                part = whole[owner[doors[place]]]
                only[node] = part if only[node] in (-2, part) else -1
        best = np.full(lines, np.inf)
        mate = np.zeros((lines, 2), dtype=np.int64)
        for start in range(len(doors)):
            at = doors[start]
            part = whole[owner[at]]
            x, y = places[at]
            waiting[0], distance[0] = 1, 0.0
            top = 1
            while top:
                top -= 1
                node = waiting[top]
                if only[node] in (part, -2) or distance[top] + price[at] + cheapest[node] >= best[part]:
                    continue
                if 2 * node >= nodes:
                    for place in range(spans[node, 0], spans[node, 1]):
                        door = doors[place]
                        apart = np.hypot(places[door, 0] - x, places[door, 1] - y) + price[at] + price[door]
                        if apart >= best[part] or whole[owner[door]] == part:
                            continue
                        for spot in range(starts[at], starts[at + 1]):
                            if mates[spot] == door:
                                apart += extra[spot]
                        if apart < best[part]:
                            best[part], mate[part, 0], mate[part, 1] = apart, at, door
                    continue
                one, other = np.sqrt(_off(boxes, 2 * node, x, y)), np.sqrt(_off(boxes, 2 * node + 1, x, y))
                near = 2 * node + (1 if other < one else 0)
                waiting[top], distance[top] = near ^ 1, max(one, other)
                waiting[top + 1], distance[top + 1] = near, min(one, other)
                top += 2
        roots = np.arange(lines)
        for part in range(lines):
            if np.isfinite(best[part]):
                a, b = _root(roots, whole[owner[mate[part, 0]]]), _root(roots, whole[owner[mate[part, 1]]])
                if a != b:
                    hops[lines - parts] = mate[part]
                    roots[max(a, b)] = min(a, b)
                    total += best[part]
                    parts -= 1
        for line in range(lines):
            whole[line] = _root(roots, whole[line])
    return total, hops


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
