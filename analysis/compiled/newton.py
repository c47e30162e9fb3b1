"""Damped Newton for the network's convex function; `analysis.newton` tells the method."""

from __future__ import annotations

from math import inf

import numpy as np

from analysis.compiled import compiled
from analysis.compiled.balance import (
    Storage,
    at_free,
    hidden_by_rounding,
    is_read_balanced,
    off_balance,
    residual,
)
from analysis.compiled.elimination import Order, eliminate
from analysis.compiled.equations import (
    Array,
    Equations,
    dot,
    drive,
    flows,
    largest,
    openings,
    outflow,
)
from analysis.compiled.line_search import search
from analysis.compiled.moving_members import Moving, follow
from analysis.constants import ATMOSPHERE

MOST_STEPS = 200
"""Bound on the steps of a search."""

_LARGEST_STEP = 1e8
_SHIFT = 1e-12
_ENOUGH = 2e-10
"""Imbalance over the largest flow that is good enough if no more than `_LAST_TRIES` further
steps do not reach what is wanted."""

_LAST_TRIES = 2
_MANY = 40
"""Steps that no search over time is known to need."""

_SHORT = 1e4
"""A step of less than this [Pa] is taken as it is."""


@compiled
def _plain_direction(
    order: Order, products: Array, slope: Array, bound: Array, total: Array
) -> Array:
    """Newton's direction for the slopes as they are.

    A region that nothing conducts out of makes the Jacobian singular to rounding; a shift,
    small beside the weakest real conductance, keeps the direction one of descent.
    """
    x = np.empty(len(total))
    shift = _SHIFT
    for _ in range(3):
        if eliminate(order, products, slope, bound, -total, shift, x) and dot(x, total) < 0.0:
            return x
        shift *= 1e4
    diagonal = bound.copy()
    for k in range(len(order.place)):
        if order.place[k] < order.size:
            diagonal[order.place[k]] += products[k] * slope[order.branch[k]]
    return -total / diagonal


@compiled
def _direction(
    eq: Equations, order: Order, products: Array, count: int, u: Array, slope: Array,
    bound: Array, total: Array, most_openings: int,
) -> Array:  # fmt: skip
    """Newton's direction, with the valves that it would open counted as opening.

    A shut valve does not show in the slopes, nor does a stalled pump. Where nothing else
    holds what stands behind it, Newton's step would go far through the point at which it
    opens, and be cut short there for the whole network.
    """
    step = _plain_direction(order, products, slope, bound, total)
    if largest(step) < _SHORT:
        return step
    opened = np.zeros(len(u), dtype=np.bool_)
    for _ in range(most_openings):
        whole = np.zeros(count)
        whole[eq.free] = step
        conductance, gap = openings(eq, u, drive(eq, whole))
        opens = conductance > 0.0
        if not (opens & ~opened).any():
            break
        opened = opens
        slopes = np.where(opens, conductance, slope)
        right = outflow(eq, conductance * gap, count)[eq.free] - total
        other = np.empty(len(total))
        good = eliminate(order, products, slopes, bound, right, _SHIFT, other)
        if not good or dot(other, total) >= 0.0:
            break
        step = other
    return step


@compiled
def _polished(
    eq: Equations, order: Order, products: Array, pressure: Array, u: Array, q: Array,
    slope: Array, total: Array, storage: Storage, seepage: float,
) -> tuple[Array, Array, Array, Array]:  # fmt: skip
    """One more linear step of all pressures, to balance what their rounding hides.

    A stiff branch turns the last digit of a pressure into a visible flow. The flows follow
    this step by their slopes, as differences, and so keep their digits.
    """
    step, x = np.zeros(len(pressure)), np.empty(len(total))
    # no vapour takes anything near absolute zero, only at it
    _, bound = residual(eq, pressure, q, storage, seepage, 0.0)
    if eliminate(order, products, slope, bound, -total, _SHIFT, x):
        for i in range(len(x)):
            # a region that nothing holds would be sent far away by its last crumb of flow
            if abs(x[i]) <= 1.0 + 1e-6 * abs(pressure[eq.free[i]]):
                step[eq.free[i]] = x[i]
    du = drive(eq, step)
    near = pressure + step
    for i in range(len(near)):
        # vapour that was not there before the step is not there after it
        if pressure[i] >= -ATMOSPHERE:
            near[i] = max(near[i], -ATMOSPHERE)
    following = q + slope * du
    rest, _ = residual(eq, near, following, storage, seepage, 0.0)
    # where part of a loose region was held back the step does harm
    if largest(rest) <= largest(total):
        return near, u + du, following, rest
    return pressure, u, q, total


@compiled
def minimize(
    eq: Equations, order: Order, products: Array, held: Array, start: Array, volumes: Storage,
    seepage: float, most: int, polish: bool, wanted: float, moving: Moving, most_openings: int,
) -> tuple[Array, Array, Array, Array, float, int, int, bool]:  # fmt: skip
    """Pressures, u, q and slope, largest imbalance, steps, how often the laws were evaluated,
    and whether it converged.

    `held` are the pressures of the fixed nodes, `start` those to begin with, and `volumes`
    those of all nodes.
    """
    pressure = held.copy()
    for i in range(len(eq.free)):
        pressure[eq.free[i]] = start[eq.free[i]]
    storage = at_free(eq, volumes)
    u = drive(eq, pressure)
    q, slope = flows(eq, u)
    total, bound = residual(eq, pressure, q, storage, seepage, eq.kink)
    iterations, evaluations, tries, hidden = 0, 1, 0, 0.0
    kept, off_kept = (pressure, u, q, slope, total, bound), inf
    over_time = len(storage.capacity) > 0
    if over_time:
        # over a very short step volumes are stiffer than anything without loss
        hidden = hidden_by_rounding(eq, pressure, slope, storage, False)
    while True:
        off = off_balance(eq, pressure, total, q, hidden)
        if tries and off > max(wanted, _ENOUGH):
            # rounding: what was good enough gets worse again
            pressure, u, q, slope, total, bound = kept
            off = off_kept
            break
        if tries == _LAST_TRIES or iterations == most:
            break
        if off <= wanted and (over_time or is_read_balanced(eq, pressure, total, q, wanted)):
            break
        if over_time and iterations == _MANY:
            # it gets no nearer: a branch on the way may be as stiff as a volume
            hidden = hidden_by_rounding(eq, pressure, slope, storage, True)
        if off <= max(wanted, _ENOUGH):
            tries += 1
            kept, off_kept = (pressure, u, q, slope, total, bound), off
        iterations += 1
        u = drive(eq, pressure)
        is_found = False
        if iterations == 1 and len(moving.rows):
            slopes, added, is_any = follow(eq, u, q, slope, moving)
            if is_any:
                right = -total - outflow(eq, added, len(pressure))[eq.free]
                direction = np.empty(len(total))
                good = eliminate(order, products, slopes, bound, right, _SHIFT, direction)
                is_found = good and dot(direction, total) < 0.0
        if not is_found:
            # over a time step storage holds every node: nothing else needs foreseeing
            if over_time:
                direction = _plain_direction(order, products, slope, bound, total)
            else:
                direction = _direction(
                    eq, order, products, len(pressure), u, slope, bound, total, most_openings
                )
        furthest = largest(direction)
        if furthest > _LARGEST_STEP:
            # a flat characteristic would send it far away
            direction *= _LARGEST_STEP / furthest
        pressure, u, q, slope, total, bound, trials = search(
            eq, pressure, u, direction, total, storage, seepage
        )
        evaluations += trials
    converged = off <= max(wanted, _ENOUGH)
    if converged and polish and len(total):
        pressure, u, q, total = _polished(
            eq, order, products, pressure, u, q, slope, total, storage, seepage
        )
    return pressure, u, q, slope, largest(total), iterations, evaluations, converged
