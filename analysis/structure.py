"""Which nodes the branches of a network join: what stays the same while settings change.

A circuit that is edited or worked has the same branches between the same nodes again and
again. Index arrays and the order of elimination are made once for each such structure.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from analysis.compiled.equations import INDEX
from analysis.elimination import Elimination

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Terms = Sequence[tuple[int, float]]

_MOST_NUMBERINGS = 16


class Structure:
    """The nodes and coefficients of all branches; shared, so its arrays are read-only.

    Attributes
    ----------
    node, weight
        Shape (n_branches, 3), padded with node 0 and coefficient 0.
    flat_nodes
        `node` in one row, shape (3 n_branches,).
    index
        `node` as the compiled functions take it.
    """

    def __init__(self, terms: Sequence[Terms], count: int) -> None:
        self.count = count
        nodes: list[int] = []
        weights: list[float] = []
        for own in terms:
            # nearly all branches join two nodes
            if len(own) == 2:
                (one, first), (other, second) = own
                nodes += one, other, 0
                weights += first, second, 0.0
                continue
            padded = [*own, *[(0, 0.0)] * (3 - len(own))]
            nodes += [node for node, _ in padded]
            weights += [weight for _, weight in padded]
        self.node = np.array(nodes, dtype=np.intp).reshape(-1, 3)
        self.weight = np.array(weights, dtype=np.float64).reshape(-1, 3)
        self.flat_nodes = self.node.ravel()
        self.index = self.node.astype(INDEX)
        for shared in (self.node, self.weight, self.flat_nodes, self.index):
            shared.flags.writeable = False
        self._numberings: dict[bytes, Numbering] = {}
        self._drawn: dict[frozenset[int], tuple[list[int], list[float]]] = {}

    def rows_at(self, node: int) -> list[int]:
        """The branches that join a node, in their order; padding counts as node 0."""
        rows, begin = self._by_node
        return rows[begin[node] : begin[node + 1]]

    def drawn_from(self, nodes: frozenset[int]) -> tuple[list[int], list[float]]:
        """The branches that join any of the nodes, and how much of their flow these give; not to
        be changed."""
        found = self._drawn.get(nodes)
        if found is None:
            rows = sorted({row for node in nodes for row in self.rows_at(node)})
            weights = [
                sum(w for node, w in zip(joined, shares, strict=True) if node in nodes)
                for joined, shares in zip(
                    self.node[rows].tolist(), self.weight[rows].tolist(), strict=True
                )
            ]
            found = self._drawn[nodes] = rows, weights
        return found

    @cached_property
    def _by_node(self) -> tuple[list[int], list[int]]:
        """The branches at node 0, then those at node 1, and so on; where each node's begin."""
        places = np.argsort(self.flat_nodes, kind="stable")
        counts = np.bincount(self.flat_nodes, minlength=self.count)
        return (places // 3).tolist(), [0, *np.cumsum(counts).tolist()]

    def numbered(self, free: Index) -> Numbering:
        """The unknowns when exactly these nodes are free."""
        key = free.tobytes()
        found = self._numberings.get(key)
        if found is None:
            if len(self._numberings) >= _MOST_NUMBERINGS:
                self._numberings.clear()
            found = self._numberings[key] = Numbering(self, free)
        return found


class Numbering:
    """The unknowns of a structure: one for each free node, in their order."""

    def __init__(self, structure: Structure, free: Index) -> None:
        self.size = len(free)
        place = np.full(structure.count, self.size, dtype=np.intp)
        place[free] = np.arange(self.size)
        self._column = place[structure.node]
        self._weight = structure.weight

    @cached_property
    def elimination(self) -> Elimination:
        """How the linear equations are solved."""
        return Elimination(self._column, self._weight, self.size)


@lru_cache(maxsize=64)
def find_structure(terms: tuple[tuple[tuple[int, float], ...], ...], count: int) -> Structure:
    """The structure of these branches between nodes 0 to count - 1; kept."""
    return Structure(terms, count)
