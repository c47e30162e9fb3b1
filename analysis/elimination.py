"""Sparse Cholesky elimination by levels: the network's linear equations without a full matrix.

A hydraulic network is nearly a tree, so most nodes have two or three neighbours. A set of
such nodes, no two of them neighbours, is eliminated at once: each leaves an update between
its own neighbours, and all updates of a level are one array operation (the independent sets
of a nested elimination). What remains after two levels or so is small and is solved densely.

The matrix is symmetric and positive definite: a sum of slope * w w^T over the branches, and
a positive diagonal. So no pivoting is needed, pivots stay above the shift, and unlike with
row exchanges badly scaled rows cost no digits (N. J. Higham, Accuracy and Stability of
Numerical Algorithms, chapter 10, from memory). The right-hand side is carried along as one
more neighbour of every node.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]

_MOST_NEIGHBOURS = 4
"""A node with more leaves too many updates behind to be worth a level."""

_FEWEST = 12
"""A level of fewer nodes takes longer than leaving them to the dense rest."""

_PAIRS = ((0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2))
"""The products of the up to three coefficients of a branch."""


@dataclass(frozen=True)
class Level:
    """One set of nodes eliminated at once, as places in the flat array of values.

    `pivot` are the nodes; an edge leads from a pivot (`owner`, row in `pivot`) to what is
    left (`node`), its value at `edge`. `first`, `second` are the edges of one pivot whose
    product changes the value at `target`.
    """

    pivot: Index
    edge: Index
    owner: Index
    node: Index
    first: Index
    second: Index
    target: Index


@dataclass(frozen=True)
class Order:
    """In what order a structure is eliminated, and where its values lie.

    The flat array holds `size` diagonals, `size` right-hand sides, then the values of pairs;
    its last entry stays zero. `source` are the products (branch * 6 + pair) of the branches
    that count and `place` is where each is added; `rest` are the nodes that remain and
    `square` where their matrix lies.
    """

    size: int
    length: int
    source: Index
    branch: Index
    place: Index
    levels: tuple[Level, ...]
    rest: Index
    square: Index


class Elimination:
    """Solves (sum slope_i w_i w_i^T + diagonal) x = right for one network.

    Parameters
    ----------
    column
        Which unknown each node of a branch is, `size` or more where it is none; shape
        (n_branches, 3).
    weight
        The coefficients, shape (n_branches, 3); 0 where a branch has fewer nodes.
    size
        The number of unknowns.
    """

    def __init__(self, column: Index, weight: Array, size: int) -> None:
        counts = (weight != 0.0) & (column < size)
        places = np.where(counts, column, -1).astype(np.intp)
        self._order = find_order(places.tobytes(), size)
        products = np.stack([weight[:, i] * weight[:, j] for i, j in _PAIRS], axis=1)
        self._products = products.ravel()[self._order.source]

    def solve(self, slope: Array, diagonal: Array, right: Array, shift: float) -> Array | None:
        """The solution, shape (size,); None if it is not finite.

        Parameters
        ----------
        slope
            Of each branch, not negative, shape (n_branches,).
        diagonal
            Added to the diagonal, positive, shape (size,).
        shift
            Share of each diagonal that is added to it: keeps a matrix that is singular to
            rounding positive definite.
        """
        order = self._order
        n = order.size
        products = self._products * slope[order.branch]
        values = _sums(order.place, products, order.length)
        own = values[:n]
        own += diagonal
        own *= 1.0 + shift
        values[n : n + n] = right
        done = []
        for level in order.levels:
            share = values[level.edge]
            factor = share / values[level.pivot][level.owner]
            updates = factor[level.first] * share[level.second]
            values -= _sums(level.target, updates, order.length)
            done.append(factor)
        x = np.empty(n + 1)
        # the right-hand side as a neighbour: what it adds is taken with the other sign
        x[n] = -1.0
        if len(order.rest):
            remaining = _solve_dense(values[order.square], values[order.rest + n])
            if remaining is None:
                return None
            x[order.rest] = remaining
        for level, factor in zip(reversed(order.levels), reversed(done), strict=True):
            x[level.pivot] = -_sums(level.owner, factor * x[level.node], len(level.pivot))
        found: Array = x[:n]
        return found if np.isfinite(found).all() else None


def _sums(place: Index, values: Array, length: int) -> Array:
    """Sums of the values by place, shape (length,)."""
    sums = np.bincount(place, weights=values, minlength=length)
    # without any values numpy counts in whole numbers
    return sums.astype(np.float64, copy=False)


def _solve_dense(matrix: Array, right: Array) -> Array | None:
    """Solve with rows and columns scaled to a unit diagonal; None if that fails."""
    pivots = np.diagonal(matrix)
    if not pivots.min() > 0.0:
        return None
    scale = 1.0 / np.sqrt(pivots)
    matrix *= scale[:, None]
    matrix *= scale
    try:
        found: Array = scale * np.linalg.solve(matrix, right * scale)
    except np.linalg.LinAlgError:
        return None
    return found


@lru_cache(maxsize=128)
def find_order(places: bytes, size: int) -> Order:
    """The order for a structure: `places` are the unknowns of each branch, -1 for none.

    Kept, for circuits keep their structure while settings and levers change.
    """
    columns = np.frombuffer(places, dtype=np.intp).reshape(-1, 3)
    one, other = columns[:, [i for i, _ in _PAIRS]], columns[:, [j for _, j in _PAIRS]]
    source = np.flatnonzero((one >= 0) & (other >= 0))
    low = np.minimum(one, other).ravel()[source]
    high = np.maximum(one, other).ravel()[source]
    # two nodes of a branch that are one: the product counts twice on the diagonal
    twice = np.flatnonzero((low == high) & (source % 6 >= 3))
    source, low = np.append(source, source[twice]), np.append(low, low[twice])
    high = np.append(high, high[twice])
    pairs, which = np.unique(low * size + high, return_inverse=True)
    slots, around = _Slots(size), [set[int]() for _ in range(size)]
    where = []
    for key in pairs.tolist():
        near, far = divmod(key, size)
        if near == far:
            where.append(near)
            continue
        where.append(slots.find(near, far))
        around[near].add(far)
        around[far].add(near)
    place = _index(where)[which]
    left = set(range(size))
    levels = []
    while True:
        chosen = _independent(around, left)
        if len(chosen) < _FEWEST:
            break
        levels.append(_eliminate(chosen, around, slots))
        left.difference_update(chosen)
    rest = sorted(left)
    length = slots.length + 1
    square = [[slots.at(one, other, length - 1) for other in rest] for one in rest]
    return Order(
        size, length, source, source // 6, place, tuple(levels), _index(rest),
        _index(square).reshape(len(rest), len(rest)),
    )  # fmt: skip


class _Slots:
    """Places of the pairs in the flat array, given out as they are asked for."""

    def __init__(self, size: int) -> None:
        self._size = size
        self.length = 2 * size
        self._known: dict[tuple[int, int], int] = {}

    def find(self, one: int, other: int) -> int:
        """The place of the pair; a new one if it has none."""
        key = (one, other) if one < other else (other, one)
        slot = self._known.get(key)
        if slot is None:
            slot = self._known[key] = self.length
            self.length += 1
        return slot

    def at(self, one: int, other: int, none: int) -> int:
        """The place of the pair or the diagonal; `none` if the pair has none."""
        if one == other:
            return one
        return self._known.get((one, other) if one < other else (other, one), none)


def _independent(around: list[set[int]], left: set[int]) -> list[int]:
    """Nodes with few neighbours, no two of them neighbours, those with the fewest first."""
    chosen: list[int] = []
    barred: set[int] = set()
    few = [node for node in left if len(around[node]) <= _MOST_NEIGHBOURS]
    for node in sorted(few, key=lambda node: (len(around[node]), node)):
        if node not in barred:
            chosen.append(node)
            barred |= around[node]
    return chosen


def _eliminate(chosen: list[int], around: list[set[int]], slots: _Slots) -> Level:
    """Take the nodes out of `around`; their neighbours become neighbours of each other."""
    size = len(around)
    edge: list[int] = []
    owner: list[int] = []
    node: list[int] = []
    first: list[int] = []
    second: list[int] = []
    target: list[int] = []
    for row, pivot in enumerate(chosen):
        begin = len(edge)
        near = sorted(around[pivot])
        for number, one in enumerate(near):
            edge.append(slots.find(pivot, one))
            around[one].discard(pivot)
            for back, other in enumerate(near[: number + 1]):
                first.append(begin + number)
                second.append(begin + back)
                target.append(one if one == other else slots.find(one, other))
                if one != other:
                    around[one].add(other)
                    around[other].add(one)
            first.append(begin + len(near))
            second.append(begin + number)
            target.append(size + one)
        # the right-hand side
        edge.append(size + pivot)
        node += [*near, size]
        owner += [row] * (len(near) + 1)
    return Level(*(_index(i) for i in (chosen, edge, owner, node, first, second, target)))


def _index(numbers: object) -> Index:
    return np.array(numbers, dtype=np.intp)
