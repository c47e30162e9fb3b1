"""Valves that throttle themselves: whether each stands as far open as the pressures ask."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from analysis.compiled import compiled
from analysis.compiled.equations import Array, Flags, Index


class Throttles(NamedTuple):
    """Throttling valves as arrays; see `analysis.devices.Modulator`.

    `row` is among all branches, `local` among those of turbulent flow. The candidates of the
    k-th are `begin[k]` to `begin[k + 1]` of `constant`, `node` and `weight`, the terms of each
    padded with weight 0.
    """

    row: Index
    local: Index
    drop: Array
    mirrored: Flags
    begin: Index
    constant: Array
    node: Index
    weight: Array


@compiled
def opening(valves: Throttles, k: int, pressure: Array, flow: float) -> float:
    """The opening difference [Pa] that the k-th asks for, not below 0."""
    best: float = -np.inf
    for candidate in range(valves.begin[k], valves.begin[k + 1]):
        value = 0.0
        for j in range(valves.node.shape[1]):
            value += valves.weight[candidate, j] * pressure[valves.node[candidate, j]]
        best = max(best, valves.constant[candidate] + value)
    best -= valves.drop[k] * max(flow, 0.0) ** 2
    return max(best, 0.0)


@compiled
def are_open_enough(
    table: Array, valves: Throttles, pressure: Array, u: Array, flows: Array, tolerance: float
) -> bool:
    """Whether no flow hangs on what the valves still ask for.

    Each is as far open as it asks to be, or is shut at either opening difference; it then gets
    the one that it asks for, in the `table` of turbulent branches.

    Parameters
    ----------
    pressure, u, flows
        Of all nodes [Pa]; of all branches [Pa], [m3/s].
    tolerance
        Of an opening difference [Pa].
    """
    n = len(valves.row)
    asked = np.empty(n)
    for k in range(n):
        asked[k] = opening(valves, k, pressure, flows[valves.row[k]])
    near = tolerance + 1e-9 * asked.max()
    for k in range(n):
        now = table[1, valves.local[k]]
        if abs(now - asked[k]) > near:
            shut = u[valves.row[k]] < min(now, asked[k]) - tolerance
            if valves.mirrored[k] or not shut:
                return False
    for k in range(n):
        if abs(table[1, valves.local[k]] - asked[k]) > near:
            table[1, valves.local[k]] = asked[k]
    return True
