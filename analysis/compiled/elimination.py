"""Sparse Cholesky elimination of the network's linear equations, node by node.

`analysis.elimination` tells what is solved and why this way. The order is found once for a
structure (nodes with the fewest neighbours first), then the numbers are worked through it.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.compiled import compiled
from analysis.compiled.equations import Array, Index

Places = NDArray[np.intp]
"""Places that may be -1, for none."""


class Order(NamedTuple):
    """In what order a structure is eliminated, and where its values lie.

    The flat array of values holds `size` diagonals, then the values of pairs of nodes. Of the
    products of two coefficients (branch * 6 + pair) `source` are those that count, `branch`
    theirs, `place` where each is added. `pivot` are the nodes in their order; the edges of
    the k-th are `begin[k]` to `begin[k + 1]`: their value is at `edge`, they lead to `near`.
    `target` is where the products of each two edges of a pivot go, in the order they come.
    """

    size: int
    length: int
    source: Index
    branch: Index
    place: Index
    pivot: Index
    begin: Index
    edge: Index
    near: Index
    target: Index


@compiled
def find_places(column: Places, size: int) -> tuple[Places, Places, Places, Places]:
    """Where the products of the coefficients of all branches are added.

    Parameters
    ----------
    column
        The unknowns of each branch, -1 where there is none, shape (n_branches, 3).

    Returns
    -------
    tuple
        Source and place of the products; where the value of each pair of nodes lies, -1 where
        it has none, shape (size, size); the number of values so far, as an array of one.
    """
    slot = np.full((size, size), -1, dtype=np.intp)
    source = np.empty(9 * len(column), dtype=np.intp)
    place = np.empty(9 * len(column), dtype=np.intp)
    length, found = size, 0
    for i in range(len(column)):
        for pair in range(6):
            first = pair if pair < 3 else (0 if pair < 5 else 1)
            second = pair if pair < 3 else (1 if pair == 3 else 2)
            one, other = column[i, first], column[i, second]
            if one < 0 or other < 0:
                continue
            # two nodes of a branch that are one: the product counts twice on the diagonal
            times = 2 if one == other and pair >= 3 else 1
            at = one
            if one != other:
                at = slot[one, other]
                if at < 0:
                    at = slot[one, other] = slot[other, one] = length
                    length += 1
            for _ in range(times):
                source[found], place[found] = 6 * i + pair, at
                found += 1
    return source[:found].copy(), place[:found].copy(), slot, np.array([length])


@compiled
def find_pivots(slot: Places, length: int) -> tuple[Places, Places, Places, Places, Places, int]:
    """The order of elimination: pivots, edges and targets as in `Order`, and the length.

    `slot` is as `find_places` gives it, and is filled further.
    """
    size = len(slot)
    left = np.ones(size, dtype=np.bool_)
    degree = np.zeros(size, dtype=np.intp)
    for i in range(size):
        for j in range(size):
            degree[i] += slot[i, j] >= 0
    pivot, begin = np.empty(size, dtype=np.intp), np.zeros(size + 1, dtype=np.intp)
    edge, near, target = [length], [length], [length]
    around = np.empty(size, dtype=np.intp)
    for k in range(size):
        best = -1
        for i in range(size):
            if left[i] and (best < 0 or degree[i] < degree[best]):
                best = i
        pivot[k], left[best] = best, False
        count = 0
        for j in range(size):
            if left[j] and slot[best, j] >= 0:
                around[count] = j
                count += 1
        for a in range(count):
            one = around[a]
            edge.append(slot[best, one])
            near.append(one)
            degree[one] -= 1
            for b in range(a + 1):
                other = around[b]
                if one == other:
                    target.append(one)
                    continue
                if slot[one, other] < 0:
                    slot[one, other] = slot[other, one] = length
                    length += 1
                    degree[one] += 1
                    degree[other] += 1
                target.append(slot[one, other])
        begin[k + 1] = begin[k] + count
    return (
        pivot, begin, np.array(edge[1:], dtype=np.intp), np.array(near[1:], dtype=np.intp),
        np.array(target[1:], dtype=np.intp), length,
    )  # fmt: skip


@compiled
def eliminate(
    order: Order, products: Array, slope: Array, diagonal: Array, right: Array, shift: float,
    x: Array,
) -> bool:  # fmt: skip
    """Solve (sum slope_i w_i w_i^T + diagonal) x = right; false if `x` is not finite.

    `products` belong to `order.source`; `shift` is the share of each diagonal that is added.
    """
    n = order.size
    values = np.zeros(order.length)
    for k in range(len(order.place)):
        values[order.place[k]] += products[k] * slope[order.branch[k]]
    for i in range(n):
        values[i] = (values[i] + diagonal[i]) * (1.0 + shift)
        x[i] = right[i]
    factor = np.empty(len(order.edge))
    t = 0
    for k in range(n):
        p = order.pivot[k]
        pivot, known = values[p], x[p]
        if not pivot > 0.0:
            return False
        first, last = order.begin[k], order.begin[k + 1]
        for a in range(first, last):
            share = values[order.edge[a]] / pivot
            factor[a] = share
            for b in range(first, a + 1):
                values[order.target[t]] -= share * values[order.edge[b]]
                t += 1
            x[order.near[a]] -= share * known
    finite = True
    for k in range(n - 1, -1, -1):
        p = order.pivot[k]
        found = x[p] / values[p]
        for a in range(order.begin[k], order.begin[k + 1]):
            found -= factor[a] * x[order.near[a]]
        x[p] = found
        finite = finite and np.isfinite(found)
    return finite
