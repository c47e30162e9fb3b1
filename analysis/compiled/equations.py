"""The balance of flows: drive, flow and slope of every branch, and what leaves every node."""

from __future__ import annotations

from math import inf, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.compiled import compiled, laws
from analysis.constants import ATMOSPHERE, SOFT, STIFF, UNLIMITED

Array = NDArray[np.float64]
INDEX = np.uint32
"""Of indices: one that could be negative costs a test wherever it is used."""
Index = NDArray[np.uint32]
Flags = NDArray[np.bool_]

_OPENING_DROP = 1e4
"""Pressure difference [Pa] at which a valve that just opens is expected to work."""

_EDGE, _VACUUM = 1e-2, 1e-3
"""Shares of `Equations.kink` that count at the edge of a dead band and at absolute zero: more
than the rounding there, and so little that what passes in such a width is no flow."""

_BEYOND = 0.99
"""A change opens a shut valve if this share of it would."""


class Equations(NamedTuple):
    """A network as the compiled functions take it; see `analysis.network.Network`.

    The rows of the five families follow each other: turbulent, pipe, source, deadband, gas.
    `kink` is so near [Pa, or N] to its opening that a shut passage has the slope of an open one,
    a member at rest that of one that moves, and a node at absolute zero that of vapour.
    """

    node: Index
    weight: Array
    turbulent: Array
    pipe: Array
    source: Array
    deadband: Array
    gas: Array
    kink: float
    free: Index


@compiled
def dot(one: Array, other: Array) -> float:
    """The sum of the products; numba's own needs scipy."""
    total = 0.0
    for i in range(len(one)):
        total += one[i] * other[i]
    return total


@compiled
def largest(values: Array) -> float:
    """The largest size of the values; no number if one is none."""
    found = 0.0
    for i in range(len(values)):
        size = abs(values[i])
        if size > found or size != size:
            found = size
    return found


@compiled
def drive(eq: Equations, pressure: Array) -> Array:
    """u of every branch for all node pressures."""
    u = np.empty(len(eq.node))
    for i in range(len(u)):
        u[i] = (
            eq.weight[i, 0] * pressure[eq.node[i, 0]]
            + eq.weight[i, 1] * pressure[eq.node[i, 1]]
            + eq.weight[i, 2] * pressure[eq.node[i, 2]]
        )
    return u


@compiled
def flows(eq: Equations, u: Array) -> tuple[Array, Array]:
    """q and dq/du of every branch."""
    q, slope = np.empty(len(u)), np.empty(len(u))
    i, t = 0, eq.turbulent
    for k in range(t.shape[1]):
        q[i], slope[i] = laws.turbulent(u[i], t[0, k], t[1, k], t[2, k], t[3, k], t[4, k], eq.kink)
        i += 1
    t = eq.pipe
    for k in range(t.shape[1]):
        q[i], slope[i] = laws.pipe(u[i], t[0, k], t[1, k], t[2, k], t[3, k])
        i += 1
    t = eq.source
    for k in range(t.shape[1]):
        q[i], slope[i] = laws.source(u[i], t[0, k], t[1, k], t[2, k], t[3, k], t[4, k])
        i += 1
    t, edge = eq.deadband, _EDGE * eq.kink
    for k in range(t.shape[1]):
        q[i], slope[i] = laws.deadband(u[i], t[0, k], t[1, k], t[2, k], t[3, k], t[4, k], edge)
        i += 1
    t = eq.gas
    for k in range(t.shape[1]):
        q[i], slope[i] = laws.gas(u[i], t[0, k], t[1, k], t[2, k], t[3, k], t[4, k])
        i += 1
    return q, slope


@compiled
def outflow(eq: Equations, q: Array, count: int) -> Array:
    """Net flow out of each of `count` nodes into the branches."""
    leaving = np.zeros(count)
    for i in range(len(q)):
        leaving[eq.node[i, 0]] += eq.weight[i, 0] * q[i]
        leaving[eq.node[i, 1]] += eq.weight[i, 1] * q[i]
        if eq.weight[i, 2] != 0.0:
            leaving[eq.node[i, 2]] += eq.weight[i, 2] * q[i]
    return leaving


@compiled
def bounds_flow(pressure: Array, seepage: float, refill: Array, kink: float) -> tuple[Array, Array]:
    """Flow out of a node by seepage, vapour and the limit, and its slope.

    `refill` may be empty; see `analysis.network.bounds_flow`. So near as `kink` [Pa] to absolute
    zero a node has the slope of vapour: what nothing else holds would be sent through it.
    """
    n = len(pressure)
    flow, slope = np.empty(n), np.empty(n)
    if refill.any():
        for i in range(n):
            filling = STIFF * (pressure[i] + ATMOSPHERE)
            flow[i] = min(filling, refill[i]) + seepage * (pressure[i] + ATMOSPHERE)
            slope[i] = STIFF if filling < refill[i] else seepage
        return flow, slope
    for i in range(n):
        low, high = pressure[i] + ATMOSPHERE, pressure[i] - UNLIMITED
        flow[i], slope[i] = seepage * low, seepage
        if low < 0.0:
            flow[i] += STIFF * low
        if low < _VACUUM * kink:
            slope[i] = STIFF
        if high > 0.0:
            flow[i] += SOFT * high
            slope[i] += SOFT
    return flow, slope


@compiled
def openings(eq: Equations, u: Array, change: Array) -> tuple[Array, Array]:
    """How each branch that a change of u would open conducts, and the change that opens it.

    Returns
    -------
    tuple
        Conductance to expect, once open [m3/s/Pa], 0 where nothing opens; change of u at
        which it opens [Pa]; both of shape (n_branches,).
    """
    conductance, gap = np.zeros(len(u)), np.zeros(len(u))
    # a change that hardly goes beyond is as good as one that does not
    i, t = 0, eq.turbulent
    for k in range(t.shape[1]):
        then = u[i] + _BEYOND * change[i]
        shut = u[i] < t[1, k] and u[i] >= -t[3, k]
        if shut and then > t[1, k]:
            conductance[i], gap[i] = t[0, k] / sqrt(_OPENING_DROP), t[1, k] - u[i]
        elif shut and then < -t[3, k]:
            conductance[i], gap[i] = t[2, k] / sqrt(_OPENING_DROP), -t[3, k] - u[i]
        i += 1
    i += eq.pipe.shape[1]
    t = eq.source
    for k in range(t.shape[1]):
        head, fall = stall(t, k)
        if u[i] < -head and u[i] + _BEYOND * change[i] > -head:
            conductance[i], gap[i] = fall, -head - u[i]
        i += 1
    t = eq.deadband
    for k in range(t.shape[1]):
        then = u[i] + _BEYOND * change[i]
        shut = u[i] < t[1, k] and u[i] >= t[2, k]
        if shut and then > t[1, k]:
            conductance[i], gap[i] = t[0, k], t[1, k] - u[i]
        elif shut and then < t[2, k]:
            conductance[i], gap[i] = t[0, k], t[2, k] - u[i]
        i += 1
    return conductance, gap


@compiled
def stall(source: Array, k: int) -> tuple[float, float]:
    """Pressure [Pa] over its inlet at which a pump gives no more flow; its slope there."""
    if not source[4, k] > 0.0:
        return -inf, 0.0
    head = source[0, k] / source[1, k] if source[1, k] > 0.0 else inf
    other = source[2, k] / source[3, k] if source[3, k] > 0.0 else inf
    return (other, source[3, k]) if other < head else (head, source[1, k])
