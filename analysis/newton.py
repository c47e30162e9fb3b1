"""The minimum of the network's convex function: damped Newton, the line searched by slope.

The imbalance of flows at the nodes is the gradient of a convex function of the node
pressures, so its projection on the search direction rises along the line. The step is
taken where it crosses zero: bracketed, then found by Newton's method on the line.
Halving alone was seen to stall on a third of random networks.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from analysis.constants import ATMOSPHERE, RUNAWAY, SEEPAGE, STIFF
from analysis.moving_members import Moving, follow
from analysis.network import Array, Network, bounds_flow

_LARGEST_STEP = 1e8
_SLOPE_SHARE = 0.1
_SHIFT = 1e-12
_MOST_TRIALS = 60
_WANTED, _ENOUGH = 2e-11, 2e-10
"""Imbalance over the largest flow that ends the search, and that is good enough if no more
than `_LAST_TRIES` further steps do not reach it."""

_LAST_TRIES = 2
_MANY = 40
"""Steps that no search over time is known to need."""

_NARROW = 1e-6
_SHORT = 1e4
"""A step of less than this [Pa] is taken as it is."""

_MOST_OPENINGS = 2
"""How often a direction is corrected for the valves that it would open."""


Storage = tuple[Array, Array, Array]
"""(capacity over time step [m3/s/Pa], pressure before [Pa], refill of vapour [m3/s]), by node."""


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
    storage: Storage | None = None,
    seepage: float = SEEPAGE,
    most: int = 200,
    polish: bool = True,
    wanted: float = _WANTED,
    moving: Moving | None = None,
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
    free = network.free
    pressure = network.fixed_pressure.copy()
    if start is not None:
        pressure[free] = start[free]
    u = network.drive(pressure)
    q, slope = network.flows(u)
    total, bound_slope = _residual(network, pressure, q, storage, seepage)
    iterations = tries = 0
    # over a very short step volumes are stiffer than anything without loss
    hidden = 0.0 if storage is None else _hidden_by_rounding(network, pressure, slope, storage)
    enough = max(wanted, _ENOUGH)
    while True:
        off = _off_balance(network, pressure, total, q, hidden)
        if tries == _LAST_TRIES or iterations == most:
            break
        if off <= wanted and (
            storage is not None or _is_read_balanced(network, pressure, total, q, wanted)
        ):
            break
        if storage is not None and iterations == _MANY:
            # it gets no nearer: a branch on the way may be as stiff as a volume
            hidden = _hidden_by_rounding(network, pressure, slope, storage, every=True)
        tries += off <= enough
        iterations += 1
        u = network.drive(pressure)
        direction: Array | None = None
        if moving is not None and iterations == 1:
            direction = _moving_direction(network, u, q, slope, bound_slope, total, moving)
        if direction is None:
            # over a time step storage holds every node: nothing else needs foreseeing
            direction = (
                _direction(network, u, slope, bound_slope, total)
                if storage is None
                else _plain_direction(network, slope, bound_slope, total)
            )
        step = np.zeros(network.count)
        step[free] = _limited(direction)
        du = network.drive(step)
        pressure, u, q, slope, total, bound_slope = _search(
            network, pressure, u, step, du, total, storage, seepage
        )
    converged = off <= enough
    if converged and polish and network.size:
        step = _last_step(network, pressure, slope, bound_slope, total)
        du = network.drive(step)
        # vapour that was not there before the step is not there after it
        floor = np.where(pressure >= -ATMOSPHERE, -ATMOSPHERE, -np.inf)
        near, flows = np.maximum(pressure + step, floor), q + slope * du
        rest, _ = _residual(network, near, flows, storage, seepage)
        # where part of a loose region was held back the step does harm
        if np.abs(rest).max() <= np.abs(total).max():
            pressure, u, q, total = near, u + du, flows, rest
    imbalance = float(np.max(np.abs(total))) if len(total) else 0.0
    open_nodes = np.zeros(network.count, dtype=bool)
    return Solution(pressure, u, q, slope, imbalance, iterations, converged, open_nodes)


def _hidden_by_rounding(
    network: Network, pressure: Array, slope: Array, storage: Storage, *, every: bool = False
) -> float:
    """What the last digit of a pressure makes flow into the volumes over a step [m3/s].

    With `every`, also what it makes flow through any branch as the pressures now stand.
    """
    volumes = max(storage[0].max(initial=0.0), slope[network.slices["gas"]].max(initial=0.0))
    if every:
        volumes = max(volumes, (network.weight**2 * slope[:, None]).max(initial=0.0))
    return float(4e-16 * volumes * np.abs(pressure).max())


def _off_balance(network: Network, pressure: Array, total: Array, q: Array, hidden: float) -> float:
    """The largest imbalance over the largest flow, without what rounding of the pressures
    explains."""
    if not len(total):
        return 0.0
    excess = float(np.abs(total).max()) - _rounding(pressure) - hidden
    if not excess > 0.0:
        return inf if np.isnan(excess) else 0.0
    scale = float(np.abs(network.weight * q[:, None]).max(initial=0.0))
    return excess / scale if scale else inf


def _rounding(pressure: Array) -> float:
    """The imbalance that the rounding of the pressures explains, and what is none [m3/s]."""
    highest = float(np.abs(pressure).max())
    return max(1e-14 * STIFF * min(highest, 1e7), 1e-15 * STIFF * highest) + 1e-15


def _is_read_balanced(
    network: Network, pressure: Array, total: Array, q: Array, wanted: float
) -> bool:
    """Whether the flows that can be read balance among themselves.

    A flow that nothing limits is as great as "no loss" happens to be: beside it, no other
    imbalance would count.
    """
    flows = np.abs(network.weight * q[:, None])
    fast = flows > RUNAWAY
    if not fast.any():
        return True
    apart = np.zeros(network.count, dtype=bool)
    apart[network.node[fast]] = True
    rest = np.abs(total[~apart[network.free]]).max(initial=0.0)
    scale = float(flows[~fast].max(initial=0.0))
    return bool(rest <= wanted * scale + _rounding(pressure))


def _residual(
    network: Network,
    pressure: Array,
    q: Array,
    storage: Storage | None,
    seepage: float,
) -> tuple[Array, Array]:
    free = network.free
    refill = None if storage is None else storage[2][free]
    bound, slope = bounds_flow(pressure[free], seepage, refill)
    total = network.outflow(q)[free] + bound
    if storage is not None:
        capacity, before = storage[0][free], storage[1][free]
        total += capacity * (pressure[free] - before)
        slope = slope + capacity
    return total, slope


def _direction(network: Network, u: Array, slope: Array, bound_slope: Array, total: Array) -> Array:
    """Newton's direction, with the valves that it would open counted as opening.

    A shut valve does not show in the slopes, nor does a stalled pump. Where nothing else
    holds what stands behind it, Newton's step would go far through the point at which it
    opens, and be cut short there for the whole network.
    """
    step = _plain_direction(network, slope, bound_slope, total)
    if float(np.abs(step).max()) < _SHORT:
        return step
    whole = np.zeros(network.count)
    opened = np.zeros(network.branches, dtype=bool)
    for _ in range(_MOST_OPENINGS):
        whole[network.free] = step
        rows, conductance, gap = network.openings(u, network.drive(whole))
        if opened[rows].all():
            break
        opened[:] = False
        opened[rows] = True
        slope_then, held = slope.copy(), np.zeros(network.branches)
        slope_then[rows] = conductance
        held[rows] = conductance * gap
        right = network.outflow(held)[network.free] - total
        other = network.solve_linear(slope_then, bound_slope, right, _SHIFT)
        if other is None or float(other @ total) >= 0.0:
            break
        step = other
    return step


def _moving_direction(
    network: Network,
    u: Array,
    q: Array,
    slope: Array,
    bound_slope: Array,
    total: Array,
    moving: Moving,
) -> Array | None:
    """Newton's direction with these members in motion; None if it needs no such care."""
    followed = follow(network, u, q, slope, moving)
    if followed is None:
        return None
    slopes, added = followed
    right = -total - network.outflow(added)[network.free]
    step = network.solve_linear(slopes, bound_slope, right, _SHIFT)
    return step if step is not None and float(step @ total) < 0.0 else None


def _limited(direction: Array) -> Array:
    """The direction, scaled down where a flat characteristic would send it far away."""
    largest = float(np.abs(direction).max(initial=0.0))
    return direction * (_LARGEST_STEP / largest) if largest > _LARGEST_STEP else direction


def _plain_direction(network: Network, slope: Array, bound_slope: Array, total: Array) -> Array:
    """Newton's direction for the slopes as they are.

    A region that nothing conducts out of makes the Jacobian singular to rounding; a shift,
    small beside the weakest real conductance, keeps the direction one of descent.
    """
    for shift in (_SHIFT, 1e4 * _SHIFT, 1e8 * _SHIFT):
        step = network.solve_linear(slope, bound_slope, -total, shift)
        if step is not None and float(step @ total) < 0.0:
            return step
    return -total / (np.diagonal(network.jacobian(slope)) + bound_slope)


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
    storage: Storage | None,
    seepage: float,
) -> tuple[Array, Array, Array, Array, Array, Array]:
    """The point along `step` where the projected imbalance is (nearly) zero.

    Newton's method on the line, kept inside the bracket that the signs give.
    """
    direction = step[network.free]
    squares, drive_squares = direction**2, du**2

    def at(t: float) -> tuple[tuple[Array, Array, Array, Array, Array, Array], float, float]:
        """The point at `t`, the imbalance projected on the line, and how fast that rises."""
        there = pressure + t * step
        drive = u + t * du
        q, slope = network.flows(drive)
        residual, bound = _residual(network, there, q, storage, seepage)
        rise = float(slope @ drive_squares) + float(bound @ squares)
        return (there, drive, q, slope, residual, bound), float(residual @ direction), rise

    begin = float(total @ direction)
    goal = _SLOPE_SHARE * abs(begin)
    low, high, t, moved = 0.0, np.inf, 1.0, np.inf
    point, value, rise = at(t)
    if 0.9 * begin <= value <= goal:
        return point
    hidden = -1e-15 * STIFF * float(np.abs(pressure).max()) * float(np.abs(direction).sum())
    if begin > hidden and np.abs(point[4]).max() <= np.abs(total).max():
        # nothing left but the rounding of the pressures
        return point
    for _ in range(_MOST_TRIALS):
        if value < 0.0:
            low = t
        else:
            high = t
        # Newton on the line lands at once on the kink where a stiff branch takes hold
        jump = -value / rise if rise > 0.0 else np.inf
        if high == np.inf:
            jump = min(max(jump, 0.5 * low), 7.0 * low)
        elif t + jump <= low < t + 0.49 * jump:
            # an orifice that opened on the way: its root's own Newton step is twice too long
            jump *= 0.49
        elif not low < t + jump < high or abs(jump) > 0.5 * moved:
            jump = (0.5 * (low + high) if low > 0.01 * high else 0.1 * high) - t
        moved, t = abs(jump), t + jump
        point, value, rise = at(t)
        if abs(value) <= goal or (high < np.inf and high - low <= _NARROW * high):
            break
    return point


def _last_step(
    network: Network, pressure: Array, slope: Array, bound_slope: Array, total: Array
) -> Array:
    """One more linear step of all pressures [Pa], to balance what their rounding hides.

    A stiff branch turns the last digit of a pressure into a visible flow. The flows are to
    follow this step by their slopes, as differences, and so keep their digits.
    """
    step = np.zeros(network.count)
    direction = network.solve_linear(slope, bound_slope, -total, _SHIFT)
    if direction is not None:
        # a region that nothing holds would be sent far away by its last crumb of flow
        far = np.abs(direction) > 1.0 + 1e-6 * np.abs(pressure[network.free])
        step[network.free] = np.where(far, 0.0, direction)
    return step
