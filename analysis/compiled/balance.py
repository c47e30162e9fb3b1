"""What every free node has too much or too little of, with the volumes of a time step."""

from __future__ import annotations

from math import inf
from typing import NamedTuple

import numpy as np

from analysis.compiled import compiled
from analysis.compiled.equations import Array, Equations, bounds_flow, largest, outflow
from analysis.constants import RUNAWAY, STIFF


class Storage(NamedTuple):
    """Volumes over a time step, at all nodes or at the free ones: capacity over time
    [m3/s/Pa], pressure before [Pa], refill of vapour [m3/s]; all empty at an instant."""

    capacity: Array
    before: Array
    refill: Array


@compiled
def at_free(eq: Equations, storage: Storage) -> Storage:
    """The volumes at the free nodes, of those at all nodes."""
    if not len(storage.capacity):
        return storage
    n = len(eq.free)
    capacity, before, refill = np.empty(n), np.empty(n), np.empty(n)
    for i in range(n):
        node = eq.free[i]
        capacity[i] = storage.capacity[node]
        before[i] = storage.before[node]
        refill[i] = storage.refill[node]
    return Storage(capacity, before, refill)


@compiled
def residual(
    eq: Equations, pressure: Array, q: Array, storage: Storage, seepage: float, kink: float
) -> tuple[Array, Array]:
    """Net flow out of every free node, and its slope apart from the branches'.

    `storage` is at the free nodes. `kink` is so near [Pa] to absolute zero that a node has the
    slope of vapour.
    """
    n = len(eq.free)
    free = np.empty(n)
    for i in range(n):
        free[i] = pressure[eq.free[i]]
    total, slope = bounds_flow(free, seepage, storage.refill, kink)
    leaving = outflow(eq, q, len(pressure))
    for i in range(n):
        total[i] += leaving[eq.free[i]]
    for i in range(len(storage.capacity)):
        total[i] += storage.capacity[i] * (free[i] - storage.before[i])
        slope[i] += storage.capacity[i]
    return total, slope


@compiled
def rounding(pressure: Array) -> float:
    """The imbalance that the rounding of the pressures explains, and what is none [m3/s]."""
    highest = largest(pressure)
    return max(1e-14 * STIFF * min(highest, 1e7), 1e-15 * STIFF * highest) + 1e-15


@compiled
def hidden_by_rounding(
    eq: Equations, pressure: Array, slope: Array, storage: Storage, every: bool
) -> float:
    """What the last digit of a pressure makes flow into the volumes over a step [m3/s].

    With `every`, also what it makes flow through any branch as the pressures now stand.
    """
    volumes = 0.0
    for capacity in storage.capacity:
        volumes = max(volumes, capacity)
    for i in range(len(slope) - eq.gas.shape[1], len(slope)):
        volumes = max(volumes, slope[i])
    if every:
        for i in range(len(slope)):
            for j in range(3):
                volumes = max(volumes, eq.weight[i, j] ** 2 * slope[i])
    highest = largest(pressure)
    return 4e-16 * volumes * highest


@compiled
def off_balance(eq: Equations, pressure: Array, total: Array, q: Array, hidden: float) -> float:
    """The largest imbalance over the largest flow, without what rounding of the pressures
    explains."""
    if not len(total):
        return 0.0
    excess = largest(total) - rounding(pressure) - hidden
    if not excess > 0.0:
        return inf if np.isnan(excess) else 0.0
    scale = 0.0
    for i in range(len(q)):
        for j in range(3):
            scale = max(scale, abs(eq.weight[i, j] * q[i]))
    return excess / scale if scale > 0.0 else inf


@compiled
def is_read_balanced(eq: Equations, pressure: Array, total: Array, q: Array, wanted: float) -> bool:
    """Whether the flows that can be read balance among themselves.

    A flow that nothing limits is as great as "no loss" happens to be: beside it, no other
    imbalance would count.
    """
    apart = np.zeros(len(pressure), dtype=np.bool_)
    scale, is_any = 0.0, False
    for i in range(len(q)):
        for j in range(3):
            flow = abs(eq.weight[i, j] * q[i])
            if flow > RUNAWAY:
                apart[eq.node[i, j]] = True
                is_any = True
            else:
                scale = max(scale, flow)
    if not is_any:
        return True
    rest = 0.0
    for i in range(len(total)):
        if not apart[eq.free[i]]:
            rest = max(rest, abs(total[i]))
    return rest <= wanted * scale + rounding(pressure)
