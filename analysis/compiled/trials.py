"""A step over time that is tried: how good it is, and what comes of it."""

from __future__ import annotations

from math import inf
from typing import Any

import numpy as np

from analysis.compiled import compiled
from analysis.compiled.elimination import Order
from analysis.compiled.equations import Array, Equations, Index
from analysis.compiled.loads import Members
from analysis.compiled.throttles import Throttles, are_open_enough
from analysis.compiled.time_step import Before, Chambers, Locks, Machine, Tanks, solve_step
from analysis.constants import NEAR_EVENT, THROTTLE_TOLERANCE, WITHOUT_LIMIT

_PRESSURE_SCALE = 1e6
"""The pressure to measure errors by [Pa], if none before was higher."""
_NO_STOP = (0.98, 1e-4)
"""A stop that is reached after such a share of a step, or before so many seconds, is no reason to
shorten it: the member is put where it belongs."""
_THERE = 2e-6
"""Nearer to its stop than this share of its travel a member may be there."""
_SHORT = 2e-3
"""A step of this length [s] may end at a stop whatever went before it."""


def parts_of(machine: Machine) -> tuple[Any, ...]:
    """What `try_step` takes: tuples without names are handed over in half the time."""
    return tuple(tuple(part) if isinstance(part, tuple) else part for part in machine)


@compiled
def machine_of(parts: tuple[Any, ...]) -> Machine:
    """The machine of which `parts_of` gave the parts."""
    volume, chambers, members, flow_row, locks, throttles, tanks, modulus = parts
    return Machine(
        volume, Chambers(*chambers), Members(*members), flow_row, Locks(*locks),
        Throttles(*throttles), Tanks(*tanks), modulus,
    )  # fmt: skip


@compiled
def try_step(
    equations: tuple[Any, ...], order: tuple[Any, ...], products: Array, held: Array,
    parts: tuple[Any, ...], standing: tuple[Any, ...], duration: float, most: int, wanted: float,
    allowed: tuple[float, float],
) -> tuple[
    tuple[Array, Array, Array, Array, float, int, int, bool],
    bool,
    tuple[float, float, Array, Array, float, Array, float, float, bool],
]:  # fmt: skip
    """A step as `solve_step` finds it, whether its throttling valves are open enough (see
    `are_open_enough`), and how it is weighed.

    `equations`, `order` and `standing` are as `Equations`, `Order` and `Before`, without names;
    `parts` are what `parts_of` gives.
    """
    eq, before = Equations(*equations), Before(*standing)
    machine = machine_of(parts)
    found = solve_step(
        eq, Order(*order), products, held, before.pressure, machine, before, duration, most, wanted
    )
    pressure, u, flows = found[0], found[1], found[2]
    is_open = not len(machine.throttles.row) or (
        found[7]
        and are_open_enough(eq.turbulent, machine.throttles, pressure, u, flows, THROTTLE_TOLERANCE)
    )
    return found, is_open, weigh(machine, eq.free, before, pressure, flows, duration, allowed)


@compiled
def weigh(
    machine: Machine, free: Index, before: Before, pressure: Array, flows: Array,
    duration: float, allowed: tuple[float, float],
) -> tuple[float, float, Array, Array, float, Array, float, float, bool]:  # fmt: skip
    """How a step [s] comes out that ends at these pressures [Pa], with these flows of all branches.

    Parameters
    ----------
    free
        The nodes whose pressures are looked at.
    allowed
        What it may be wrong by, as a share of the pressure and of a member's travel [1].

    Returns
    -------
    tuple
        Its error over what is allowed; the share of it after which a member comes to a stop or a
        lock lets go, 1 if none does; how fast pressures [Pa/s] and members [m/s or rad/s] went,
        and the fastest member as a share of its travel [1/s]; what leaves each reservoir [m3/s];
        the lowest and highest pressure [Pa]; whether a lock could let go or engage.
    """
    members = machine.members
    velocity, fastest = np.empty(len(members.rows)), 0.0
    for k in range(len(velocity)):
        velocity[k] = flows[machine.flow_row[k]]
        fastest = max(fastest, abs(velocity[k]) / members.travel[k])
    rate, lowest, highest = np.empty(len(pressure)), inf, -inf
    for k in range(len(pressure)):
        rate[k] = (pressure[k] - before.pressure[k]) / duration
        lowest, highest = min(lowest, pressure[k]), max(highest, pressure[k])
    error = _error(free, before, pressure, duration, velocity, members.travel, allowed)
    share = min(
        _stop_share(machine, before, velocity, duration), _lock_share(machine, before, pressure)
    )
    drawn, stirs = _drawn(machine, flows), _stirs(machine, before, pressure, velocity, duration)
    return error, share, rate, velocity, fastest, drawn, lowest, highest, stirs


@compiled
def _drawn(machine: Machine, flows: Array) -> Array:
    """What leaves each reservoir into the branches [m3/s]."""
    tanks = machine.tanks
    drawn = np.zeros(len(tanks.begin) - 1)
    for k in range(len(drawn)):
        for i in range(tanks.begin[k], tanks.begin[k + 1]):
            drawn[k] += tanks.weight[i] * flows[tanks.row[i]]
    return drawn


@compiled
def _error(
    free: Index, before: Before, now: Array, duration: float, velocity: Array, travel: Array,
    allowed: tuple[float, float],
) -> float:  # fmt: skip
    """How far a step is from what the one before it foretold, over what is allowed.

    Where nothing limits a pressure there is none to be accurate about: all count as
    `WITHOUT_LIMIT` at the most.
    """
    difference, known = 0.0, _PRESSURE_SCALE
    for k in range(len(free)):
        node = free[k]
        old = before.pressure[node]
        if old < WITHOUT_LIMIT:
            known = max(known, abs(old))
        else:
            old = WITHOUT_LIMIT
        foretold = min(old + before.rate[node] * duration, WITHOUT_LIMIT)
        difference = max(difference, abs(min(now[node], WITHOUT_LIMIT) - foretold))
    error = difference / (known * allowed[0])
    for k in range(len(travel)):
        strayed = abs(velocity[k] - before.velocity[k]) * duration
        error = max(error, strayed / (travel[k] * allowed[1]))
    return error


@compiled
def _stop_share(machine: Machine, before: Before, velocity: Array, duration: float) -> float:
    """The share of a step after which the first member comes to its stop; 1 if none does."""
    least = 1.0
    for k in range(len(velocity)):
        x, v, travel = before.extension[k], velocity[k], machine.members.travel[k]
        slack, end = 1e-9 * travel, x + v * duration
        comes_in = v < 0.0 and x > slack and end <= slack
        comes_out = v > 0.0 and x < travel - slack and end >= travel - slack
        if not (comes_in or comes_out):
            continue
        old = before.velocity[k]
        if old * v <= 0.0 or abs(old) * duration < slack:
            share = 1.0 if duration <= _SHORT else 0.5
        else:
            share = (travel - x if v > 0.0 else x) / (abs(old) * duration)
        if share < _NO_STOP[0] and duration * share > _NO_STOP[1]:
            least = min(least, share)
    return least


@compiled
def _lock_share(machine: Machine, before: Before, now: Array) -> float:
    """The share of a step after which the first lock lets go; 1 if none does.

    Of two locks on one supply the first to let go keeps the pressure from the other.
    """
    least, locks = 1.0, machine.locks
    for k in range(len(locks.row)):
        if before.held[k]:
            node = locks.node[k]
            share = share_to(locks.release[k], before.pressure[node], now[node], NEAR_EVENT)
            least = min(least, share)
    return least


@compiled
def _stirs(machine: Machine, before: Before, now: Array, velocity: Array, duration: float) -> bool:
    """Whether a lock could let go, or engage its member, which is there."""
    locks = machine.locks
    for k in range(len(locks.row)):
        pressure, release, member = now[locks.node[k]], locks.release[k], locks.member[k]
        if before.held[k]:
            if pressure >= lets_go_at(release):
                return True
            continue
        travel = machine.members.travel[member]
        x = before.extension[member] + velocity[member] * duration
        to_go = x if locks.retracted[k] else travel - x
        if pressure < release and to_go <= _THERE * travel:
            return True
    return False


@compiled
def lets_go_at(release: float) -> float:
    """The pressure [Pa] at which a lock with that release pressure is taken as released: a step
    ends as near to it as rounding lets it."""
    return release * (1.0 - 1e-9) - 20.0


@compiled
def share_to(level: float, before: float, after: float, near: float) -> float:
    """The share of a step after which a pressure is just beyond a level [Pa]; 1 if it is not, or
    does not go further beyond it than `near` [Pa]."""
    if (before < level) == (after < level) or abs(after - level) <= near:
        return 1.0
    just_over = level + (0.5 * near if after > before else -0.5 * near)
    return (just_over - before) / (after - before)
