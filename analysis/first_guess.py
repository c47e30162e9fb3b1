"""Pressures to start from where no earlier solution is at hand: a few linear solves.

Newton's method finds the answer from any start, but from zero pressure it spends most of
its steps on finding out which valves open at all. Here each branch is first replaced by
a straight line: a passage by its chord, which a square root follows far better than its
tangent at zero; a relief valve as if it were open; an actuator as if it moved. Solved, the
lines are drawn anew through the flows at those pressures, a few times over. This is
successive substitution, which need not converge; what it ends with is a start and no more.
"""

from __future__ import annotations

import numpy as np

from analysis import branch_laws
from analysis.constants import ATMOSPHERE
from analysis.network import Array, Network

_PASSES = 5
_USUAL_DROP = 1e5
"""Pressure difference [Pa] whose chord stands for a passage of which nothing is known yet."""

_LEAST_DROP = 1e3
"""A chord is drawn no steeper than at this pressure difference [Pa]."""

_HIGHEST = 1e8
_TIE = 1e-14
"""Conductance [m3/s/Pa] to the atmosphere that holds what nothing else does."""


def guess_pressures(network: Network) -> Array:
    """Pressures of all nodes [Pa] near the solution, as a rule; shape (n_nodes,)."""
    pressure = network.fixed_pressure.copy()
    if not network.size:
        return pressure
    for number in range(_PASSES):
        straight = _chords(network, network.drive(pressure)) if number else _all_open(network)
        guessed = _solve_straight(network, *straight)
        if guessed is None:
            break
        pressure = guessed
    return pressure


def _solve_straight(network: Network, slope: Array, at_zero: Array) -> Array | None:
    """Pressures at which branches of q = at_zero + slope * u balance; None if none do."""
    free = network.free
    leaving = network.outflow(at_zero + slope * network.drive(network.fixed_pressure))[free]
    tie = np.full(network.size, _TIE)
    found = network.solve_linear(slope, tie, -leaving, 1e-12)
    if found is None:
        return None
    pressure = network.fixed_pressure.copy()
    pressure[free] = np.clip(found, -ATMOSPHERE, _HIGHEST)
    return pressure


def _all_open(network: Network) -> tuple[Array, Array]:
    """Slope and flow at u = 0 of every branch, each taken as open."""
    slope, at_zero = np.zeros(network.branches), np.zeros(network.branches)
    part = network.slices["turbulent"]
    forward, crack, reverse, _, limit = network.parameters["turbulent"]
    opens = np.isfinite(crack)
    slope[part] = np.minimum(opens * forward / np.sqrt(_USUAL_DROP), limit / _USUAL_DROP)
    at_zero[part] = -slope[part] * np.where(opens & (forward != reverse), crack, 0.0)
    part = network.slices["pipe"]
    drop = np.full(part.stop - part.start, _USUAL_DROP)
    slope[part] = branch_laws.pipe(drop, *network.parameters["pipe"])[0] / _USUAL_DROP
    part = network.slices["source"]
    flow, leakage, _, _, cap = network.parameters["source"]
    slope[part], at_zero[part] = leakage, np.minimum(flow, cap)
    part = network.slices["deadband"]
    steep, above, below = network.parameters["deadband"][:3]
    # a relief valve has no lower bound, a member at its stop one of the two, a locked one none
    bounds = np.stack([above, below])
    bounded = np.isfinite(bounds)
    middle = np.where(bounded, bounds, 0.0).sum(axis=0) / np.maximum(bounded.sum(axis=0), 1)
    slope[part] = steep * bounded.any(axis=0)
    at_zero[part] = -slope[part] * middle
    return slope, at_zero


def _chords(network: Network, u: Array) -> tuple[Array, Array]:
    """Slope and flow at u = 0 of every branch: chords of passages, tangents of the others."""
    q, slope = network.flows(u)
    at_zero = q - slope * u
    part = network.slices["turbulent"]
    forward, crack, reverse, reverse_crack, limit = network.parameters["turbulent"]
    onward, backward = u[part] >= crack, u[part] < -reverse_crack
    opening = np.where(onward, crack, np.where(backward, -reverse_crack, 0.0))
    drop = np.maximum(np.abs(u[part] - opening), _LEAST_DROP)
    passage = np.where(onward, forward, np.where(backward, reverse, 0.0))
    slope[part] = np.minimum(passage / np.sqrt(drop), limit / drop)
    at_zero[part] = -slope[part] * opening
    part = network.slices["pipe"]
    moved = np.abs(u[part]) > 1.0
    slope[part] = np.where(moved, q[part] / np.where(moved, u[part], 1.0), slope[part])
    at_zero[part] = 0.0
    return slope, at_zero
