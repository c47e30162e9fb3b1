"""The minimum of the network's convex function: damped Newton, the line searched by slope.

The imbalance of flows at the nodes is the gradient of a convex function of the node
pressures, so its projection on the search direction rises along the line. The step is
taken where it crosses zero: bracketed, then found by Newton's method on the line.
Halving alone was seen to stall on a third of random networks.

The search itself is compiled: `analysis.compiled.newton`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.compiled.balance import Storage as Volumes
from analysis.compiled.equations import INDEX
from analysis.compiled.moving_members import Moving
from analysis.compiled.newton import MOST_STEPS, minimize
from analysis.compiled.time_step import Before, Machine, solve_step
from analysis.compiled.trials import try_step, weigh
from analysis.constants import SEEPAGE
from analysis.network import Array, Network

_WANTED = 2e-11
"""Imbalance over the largest flow that ends the search."""

_MOST_OPENINGS = 2
"""How often a direction is corrected for the valves that it would open."""

Storage = tuple[Array, Array, Array]
"""(capacity over time step [m3/s/Pa], pressure before [Pa], refill of vapour [m3/s]), by node."""

_NONE = np.empty(0)
_AT_AN_INSTANT = Volumes(_NONE, _NONE, _NONE)
NOTHING_MOVES = Moving(np.empty(0, dtype=INDEX), np.empty(0))


@dataclass(frozen=True)
class Disputed:
    """What hangs on a pressure that several dispute: flags of nodes, shape (n_nodes,), and of
    branches, shape (n_branches,)."""

    nodes: NDArray[np.bool_]
    branches: NDArray[np.bool_]


@dataclass
class Solution:
    """Pressures of all nodes and flows of all branches, and how well they balance.

    `u` [Pa or N], `q` [m3/s, or m/s for actuators] and `slope` have a row for each branch;
    `imbalance` is the largest net flow at a free node [m3/s]; `evaluations` is how often the
    laws of all branches were evaluated; `undetermined` flags nodes whose
    pressure nothing pins down; `disputed` is there if a pressure is held twice.
    """

    pressure: Array
    u: Array
    q: Array
    slope: Array
    imbalance: float
    iterations: int
    evaluations: int
    converged: bool
    undetermined: NDArray[np.bool_]
    disputed: Disputed | None = None


def solve_network(
    network: Network,
    start: Array | None = None,
    *,
    storage: Storage | None = None,
    seepage: float = SEEPAGE,
    most: int = MOST_STEPS,
    polish: bool = True,
    wanted: float = _WANTED,
    moving: Moving = NOTHING_MOVES,
) -> Solution:
    """Solve for the free pressures.

    Parameters
    ----------
    network
        The equations.
    start
        Pressures of all nodes to start from [Pa], shape (n_nodes,); zero if not given.
    storage
        Over a time step: adds capacity * (p - p_before) to the flow out of each node, and
        lets vapour spaces of earlier steps fill up.
    seepage
        conductance of every node to absolute zero [m3/s/Pa].
    most
        Bound on the Newton steps.
    polish
        Whether flows are wanted that balance to more digits than the pressures allow.
    wanted
        Imbalance over the largest flow that ends the search.
    moving
        Members that the first step is to take as moving.

    Returns
    -------
    Solution
        `converged` tells whether the flows balance to rounding.
    """
    elimination = network.elimination
    return solution_of(
        network,
        minimize(
            network.equations, elimination.order, elimination.products,
            network.fixed_pressure,
            np.zeros(network.count) if start is None else start,
            _AT_AN_INSTANT if storage is None else Volumes(*storage),
            seepage, most, polish, wanted, moving, _MOST_OPENINGS,
        ),
    )  # fmt: skip


def solve_time_step(
    network: Network,
    start: Array,
    machine: Machine,
    before: Before,
    duration: float,
    wanted: float,
) -> Solution:
    """Solve for the free pressures at the end of a time step.

    Parameters
    ----------
    network
        The equations; the loads and stops of its members are set for the step.
    start
        Pressures of all nodes to start from [Pa], shape (n_nodes,).
    machine, before
        What moves, stores and holds, and how all stood before the step.
    duration
        Of the step [s].
    wanted
        Imbalance over the largest flow that ends the search.
    """
    elimination = network.elimination
    return solution_of(
        network,
        solve_step(
            network.equations, elimination.order, elimination.products, network.fixed_pressure,
            start, machine, before, duration, MOST_STEPS, wanted,
        ),
    )  # fmt: skip


class Outcome(NamedTuple):
    """How a step over time comes out (`analysis.compiled.trials.weigh`)."""

    error: float
    share: float
    rate: Array
    velocity: Array
    fastest: float
    drawn: Array
    lowest: float
    highest: float
    stirs: bool


def try_time_step(
    network: Network,
    parts: tuple[Any, ...],
    before: Before,
    duration: float,
    wanted: float,
    allowed: tuple[float, float],
) -> tuple[Solution, bool, Outcome]:
    """Solve a time step, tell whether its throttling valves are open enough, and weigh it.

    The parameters are those of `solve_time_step` and `analysis.compiled.trials.weigh`; `parts`
    are those of the machine.
    """
    elimination = network.elimination
    found, is_open, outcome = try_step(
        tuple(network.equations), tuple(elimination.order), elimination.products,
        network.fixed_pressure, parts, tuple(before), duration, MOST_STEPS, wanted, allowed,
    )  # fmt: skip
    return solution_of(network, found), is_open, Outcome(*outcome)


def weigh_time_step(
    network: Network,
    machine: Machine,
    before: Before,
    solution: Solution,
    duration: float,
    allowed: tuple[float, float],
) -> Outcome:
    """Weigh a step that was solved otherwise; see `try_time_step`."""
    pressure, flows = solution.pressure, solution.q
    return Outcome(
        *weigh(machine, network.equations.free, before, pressure, flows, duration, allowed)
    )


def solution_of(
    network: Network, found: tuple[Array, Array, Array, Array, float, int, int, bool]
) -> Solution:
    """What `minimize` found, of a network whose pressures are all determined."""
    return Solution(*found, network.all_determined)
