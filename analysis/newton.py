"""The minimum of the network's convex function: damped Newton, the line searched by slope.

The imbalance of flows at the nodes is the gradient of a convex function of the node
pressures, so its projection on the search direction rises along the line. The step is
taken where it crosses zero: bracketed, then narrowed by the Illinois rule, which needs
values of the laws only. Halving alone was seen to stall on a third of random networks.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.constants import SEEPAGE, STIFF
from analysis.network import Array, Network, bounds_flow

_LARGEST_STEP = 1e8
_SLOPE_SHARE = 0.1
_SHIFT = 1e-12


@dataclass
class Solution:
    """Pressures of all nodes and flows of all branches, and how well they balance.

    `u` [Pa or N], `q` [m3/s, or m/s for actuators] and `slope` have a row for each branch;
    `imbalance` is the largest net flow at a free node [m3/s]; `undetermined` flags nodes whose
    pressure nothing pins down.
    """

    pressure: Array
    u: Array
    q: Array
    slope: Array
    imbalance: float
    iterations: int
    converged: bool
    undetermined: NDArray[np.bool_]


def solve_network(
    network: Network,
    start: Array | None = None,
    *,
    storage: tuple[Array, Array] | None = None,
    seepage: float = SEEPAGE,
    most: int = 200,
) -> Solution:
    """Solve for the free pressures.

    Parameters
    ----------
    network
        The equations.
    start
        Pressures of all nodes to start from [Pa], shape (n_nodes,); zero if not given.
    storage
        (capacity over time step [m3/s/Pa], pressure before the step [Pa]), each of shape
        (n_nodes,): adds capacity * (p - p_before) to the flow out of each node.
    seepage
        Conductance of every node to atmosphere [m3/s/Pa].
    most
        Bound on the Newton steps.

    Returns
    -------
    Solution
        `converged` tells whether the flows balance to rounding.
    """
    free = network.free
    pressure = network.fixed_pressure.copy()
    if start is not None:
        pressure[free] = start[free]
    u = network.drive(pressure)
    q, slope = network.flows(u)
    total, bound_slope = _residual(network, pressure, q, storage, seepage)
    iterations = 0
    while iterations < most:
        if _balanced(network, pressure, total, q):
            break
        iterations += 1
        u = network.drive(pressure)
        direction = _direction(network, slope, bound_slope, total)
        step = np.zeros(network.count)
        step[free] = direction
        du = network.drive(step)
        pressure, u, q, slope, total, bound_slope = _search(
            network, pressure, u, step, du, total, storage, seepage
        )
    converged = _balanced(network, pressure, total, q)
    if converged and network.size:
        q = _polished(network, q, slope, bound_slope, total)
        total, _ = _residual(network, pressure, q, storage, seepage)
    imbalance = float(np.max(np.abs(total))) if len(total) else 0.0
    open_nodes = np.zeros(network.count, dtype=bool)
    return Solution(pressure, u, q, slope, imbalance, iterations, converged, open_nodes)


def _balanced(network: Network, pressure: Array, total: Array, q: Array) -> bool:
    """Whether no node is out of balance by more than rounding of the pressures explains."""
    if not len(total):
        return True
    scale = np.abs(network.weight * q[:, None]).max(initial=0.0)
    rounding = 1e-15 * STIFF * float(np.abs(pressure).max())
    return bool(np.abs(total).max() <= 2e-10 * scale + rounding + 1e-15)


def _residual(
    network: Network,
    pressure: Array,
    q: Array,
    storage: tuple[Array, Array] | None,
    seepage: float,
) -> tuple[Array, Array]:
    free = network.free
    bound, slope = bounds_flow(pressure[free], seepage)
    total = network.outflow(q)[free] + bound
    if storage is not None:
        capacity, before = storage[0][free], storage[1][free]
        total += capacity * (pressure[free] - before)
        slope = slope + capacity
    return total, slope


def _direction(network: Network, slope: Array, bound_slope: Array, total: Array) -> Array:
    """Newton's direction, scaled down where a flat characteristic would send it far away.

    A region that nothing conducts out of makes the Jacobian singular to rounding; a shift,
    small beside the weakest real conductance, keeps the direction one of descent.
    """
    for shift in (_SHIFT, 1e4 * _SHIFT, 1e8 * _SHIFT):
        step = solve_scaled(network.jacobian(slope), bound_slope, -total, shift)
        if step is not None and float(step @ total) < 0.0:
            break
    else:
        step = -total / (np.diagonal(network.jacobian(slope)) + bound_slope)
    largest = float(np.abs(step).max())
    return step * (_LARGEST_STEP / largest) if largest > _LARGEST_STEP else step


def solve_scaled(
    jacobian: Array, diagonal: Array, right: Array, shift: float = 0.0
) -> Array | None:
    """Solve (jacobian + diagonal) x = right with rows and columns scaled to a unit diagonal.

    Conductances span seventeen powers of ten; `shift` is added to the scaled diagonal.
    `jacobian` is overwritten. None if it is singular.
    """
    n = len(diagonal)
    jacobian.flat[:: n + 1] += diagonal
    scale = 1.0 / np.sqrt(np.diagonal(jacobian))
    jacobian *= scale[:, None]
    jacobian *= scale
    if shift:
        jacobian.flat[:: n + 1] += shift
    column = scale if right.ndim == 1 else scale[:, None]
    try:
        x: Array = column * np.linalg.solve(jacobian, right * column)
    except np.linalg.LinAlgError:
        return None
    return x if np.isfinite(x).all() else None


def _search(
    network: Network,
    pressure: Array,
    u: Array,
    step: Array,
    du: Array,
    total: Array,
    storage: tuple[Array, Array] | None,
    seepage: float,
) -> tuple[Array, Array, Array, Array, Array, Array]:
    """The point along `step` where the projected imbalance is (nearly) zero."""
    direction = step[network.free]

    def at(t: float) -> tuple[tuple[Array, Array, Array, Array, Array, Array], float]:
        moved = pressure + t * step
        drive = u + t * du
        q, slope = network.flows(drive)
        residual, bound = _residual(network, moved, q, storage, seepage)
        return (moved, drive, q, slope, residual, bound), float(residual @ direction)

    begin = float(total @ direction)
    goal = _SLOPE_SHARE * abs(begin)
    low, low_value = 0.0, begin
    t = 1.0
    point, value = at(t)
    if 0.9 * begin <= value <= goal:
        return point
    grown = 0
    while value < -goal and grown < 12:
        low, low_value = t, value
        t *= 4.0
        grown += 1
        point, value = at(t)
    if value <= goal:
        return point
    high, high_value = t, value
    side = 0
    for _ in range(60):
        t = low - low_value * (high - low) / (high_value - low_value)
        if not low < t < high:
            t = 0.5 * (low + high)
        point, value = at(t)
        if abs(value) <= goal or high - low <= 1e-14 * high:
            return point
        if value < 0.0:
            low, low_value = t, value
            if side < 0:
                high_value *= 0.5
            side = -1
        else:
            high, high_value = t, value
            if side > 0:
                low_value *= 0.5
            side = 1
    return point


def _polished(network: Network, q: Array, slope: Array, bound_slope: Array, total: Array) -> Array:
    """Flows after one more linear step, which rounding of the pressures hides from q(u).

    A stiff branch turns the last digit of a pressure into a visible flow; the step is
    kept as a difference and so keeps its digits.
    """
    direction = solve_scaled(network.jacobian(slope), bound_slope, -total, _SHIFT)
    if direction is None or float(np.abs(direction).max()) > 1.0:
        return q
    step = np.zeros(network.count)
    step[network.free] = direction
    return q + slope * network.drive(step)
