"""Sparse Cholesky elimination: the network's linear equations without a full matrix.

A hydraulic network is nearly a tree, so most nodes have two or three neighbours, and taking
out those with the fewest first leaves hardly any new pairs behind (minimum degree).

The matrix is symmetric and positive definite: a sum of slope * w w^T over the branches, and
a positive diagonal. So no pivoting is needed, pivots stay above the shift, and unlike with
row exchanges badly scaled rows cost no digits (N. J. Higham, Accuracy and Stability of
Numerical Algorithms, chapter 10, from memory).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from analysis.compiled.elimination import Order, eliminate, find_pivots, find_places
from analysis.compiled.equations import INDEX

Array = NDArray[np.float64]
Index = NDArray[np.intp]

_FIRST, _SECOND = [0, 1, 2, 0, 0, 1], [0, 1, 2, 1, 2, 2]
"""The factors of the products of the up to three coefficients of a branch."""


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

    Attributes
    ----------
    order, products
        What the compiled functions take.
    """

    def __init__(self, column: Index, weight: Array, size: int) -> None:
        counts = (weight != 0.0) & (column < size)
        places = np.where(counts, column, -1).astype(np.intp)
        self.order = find_order(places.tobytes(), size)
        self.products = (weight[:, _FIRST] * weight[:, _SECOND]).ravel()[self.order.source]

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
        x = np.empty(self.order.size)
        finite = eliminate(self.order, self.products, slope, diagonal, right, shift, x)
        return x if finite else None


@lru_cache(maxsize=128)
def find_order(places: bytes, size: int) -> Order:
    """The order for a structure: `places` are the unknowns of each branch, -1 for none.

    Kept, for circuits keep their structure while settings and levers change.
    """
    columns = np.frombuffer(places, dtype=np.intp).reshape(-1, 3).copy()
    source, place, slot, length = find_places(columns, size)
    pivot, begin, edge, near, target, whole = find_pivots(slot, int(length[0]))
    found = (source, source // 6, place, pivot, begin, edge, near, target)
    return Order(size, whole, *(values.astype(INDEX) for values in found))
