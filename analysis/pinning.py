"""Which pressures the circuit pins down, which are the least possible, which are open.

A region is a set of nodes that branches conduct between at the solution. One that conducts
to no held node has no pressure of its own: behind closed check valves it stands at the
least pressure its feeds allow; fed by nothing it is undetermined.

The test is one linear solve. With a small conductance s from every node to atmosphere,
(J + s I) x = s 1 gives x near 1 where nothing else conducts and near s / g, thousands of
times smaller, where the weakest real conductance g leads to a held node. An actuator that
ties two open regions leaves both open, as it must: one equation, two pressures.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.compiled.balance import rounding
from analysis.constants import ATMOSPHERE, NO_FLOW, SEEPAGE, STIFF, UNLIMITED
from analysis.first_guess import guess_pressures
from analysis.least_pressures import find_least
from analysis.network import Array, Network
from analysis.newton import Solution, solve_network

_TEST = 1e-17
"""Conductance of the test [m3/s/Pa]; real ones are above 1e-14."""

_OPEN = 0.02
"""Above this a node is open; pinned ones are below 1e-3."""

_CRUMB = 1e-9
"""Flow over the largest one that is no more than the rest of a search."""

_HIGH = 0.05 * UNLIMITED
"""Pressures [Pa] beyond this are taken as unlimited."""

_DRAIN = 1e-15
"""Seepage [m3/s/Pa] that lets regions without hold sink to the least pressure allowed."""


def solve_pinned(network: Network, start: Array | None = None) -> Solution:
    """Solve the network; regions that nothing holds get the least pressure allowed.

    Parameters
    ----------
    start
        Pressures of all nodes to start from [Pa], shape (n_nodes,); guessed if not given.

    Returns
    -------
    Solution
        `undetermined` flags the nodes whose pressure nothing pins down.
    """
    solution = solve_network(network, guess_pressures(network) if start is None else start)
    if not solution.converged or not network.size:
        return solution
    loose = find_open(network, solution)
    if not loose.any():
        return solution
    lowest, fed = find_least(network, loose, solution.pressure)
    least, open_still = solution, loose
    if fed.any():
        free = network.hold(np.flatnonzero(~fed), solution.pressure)
        least = solve_network(network, lowest, seepage=_DRAIN, polish=False)
        open_still = (loose & ~fed) | find_open(network, least, _DRAIN)
        network.release(free)
        solution.iterations += least.iterations
        if not least.converged:
            solution.converged = False
            return solution
        # what the drain drew from a vapour space is no vapour either
        sunk = np.where(fed, np.maximum(least.pressure, -ATMOSPHERE), least.pressure)
        solution.pressure, solution.u = sunk, least.u
    # at rest these regions carry nothing; what the drain drew is not part of the answer
    inside = (loose[network.node] & (network.weight != 0.0)).any(axis=1)
    drawn = 10.0 * _DRAIN * _drawing(least.pressure) + NO_FLOW
    rest = NO_FLOW + _CRUMB * float(np.abs(network.weight * solution.q[:, None]).max(initial=0.0))
    # a stiff branch passes what the last digit of a high pressure makes of it
    rest += rounding(np.clip(least.pressure, -_HIGH, _HIGH))
    width = np.maximum(np.abs(network.weight).max(axis=1, initial=0.0), 1e-9)
    at_rest = (np.abs(least.q) * width < drawn) & (np.abs(solution.q) * width < rest)
    solution.q = np.where(inside & at_rest, 0.0, solution.q)
    solution.undetermined = open_still
    return solution


def _drawing(pressure: Array) -> float:
    """The sum of the pressures that seepage may draw on [Pa]; unlimited ones do not count."""
    return float(np.abs(pressure[np.abs(pressure) < _HIGH]).sum())


def find_open(network: Network, solution: Solution, seepage: float = SEEPAGE) -> NDArray[np.bool_]:
    """Flags of the nodes from which nothing conducts to a held node, shape (n_nodes,)."""
    slope = _true_slope(network, solution, seepage)
    n = network.size
    pressure = solution.pressure[network.free]
    # what seepage alone would draw is no vapour
    seeping = (NO_FLOW + 10.0 * seepage * _drawing(pressure)) / STIFF
    vapour = np.where(pressure < -ATMOSPHERE - seeping, STIFF, 0.0)
    right = np.full(n, _TEST)
    # no shift here: beside the test's own conductance it would not be small
    with np.errstate(divide="ignore", invalid="ignore"):
        share = network.solve_linear(slope, vapour + _TEST, right, 0.0)
    flags = np.zeros(network.count, dtype=bool)
    if share is not None:
        flags[network.free] = np.abs(share) > _OPEN
    return flags


def _true_slope(network: Network, solution: Solution, seepage: float) -> Array:
    """The slopes, but none where an actuator is held at rest by its friction or a stop."""
    slope = solution.slope.copy()
    part = network.slices["deadband"]
    above, below = network.parameters["deadband"][1:3]
    rest = np.abs(solution.q[part]) * np.abs(network.weight[part]).max(axis=1) <= (
        NO_FLOW + 10.0 * seepage * _drawing(solution.pressure)
    )
    band = above > below
    actuator = np.abs(np.abs(network.weight[part, 0]) - 1.0) > 1e-12
    slope[part] = np.where(rest & band & actuator, 0.0, slope[part])
    # a one-way passage that nothing drives beyond its opening does not conduct
    part = network.slices["turbulent"]
    forward, crack, reverse, reverse_crack = network.parameters["turbulent"][:4]
    u = solution.u[part]
    one_way = (forward != reverse) | (crack > 0.0) | (reverse_crack > 0.0)
    slope[part] *= ~(one_way & (u <= crack) & (u >= -reverse_crack))
    return slope
