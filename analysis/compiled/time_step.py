"""One time step as equations: volumes at the nodes, members with stops, locks that hold."""

from __future__ import annotations

from math import inf
from typing import NamedTuple

import numpy as np

from analysis.compiled import compiled
from analysis.compiled.balance import Storage
from analysis.compiled.elimination import Order
from analysis.compiled.equations import Array, Equations, Flags, Index
from analysis.compiled.loads import Members, set_members
from analysis.compiled.moving_members import Moving
from analysis.compiled.newton import minimize


class Chambers(NamedTuple):
    """The chambers of moving members: node, area [m2, or m3/rad], whether it grows as the member
    moves out, and which member it is."""

    node: Index
    area: Array
    grows: Flags
    member: Index


class Locks(NamedTuple):
    """The end locks: row among the `deadband` branches, whether it holds the member retracted."""

    row: Index
    retracted: Flags


class Before(NamedTuple):
    """How things stand before a step.

    Pressure [Pa], capacity [m3/Pa] and vapour [m3] of all nodes; extension and velocity of all
    members [m or rad, a second]; which locks hold.
    """

    pressure: Array
    capacity: Array
    vapour: Array
    extension: Array
    velocity: Array
    held: Flags


@compiled
def capacity(
    lines: Array, chambers: Chambers, travel: Array, extension: Array, modulus: float
) -> Array:
    """Compressibility of the fluid at every node, V / K [m3/Pa].

    Parameters
    ----------
    lines
        Volume of what does not move, at all nodes [m3].
    travel, extension
        Of the members [m or rad].
    modulus
        Bulk modulus of the fluid [Pa].
    """
    volume = lines.copy()
    for k in range(len(chambers.node)):
        member = chambers.member[k]
        x = extension[member]
        volume[chambers.node[k]] += chambers.area[k] * (
            x if chambers.grows[k] else travel[member] - x
        )
    return volume / modulus


@compiled
def solve_step(
    eq: Equations, order: Order, products: Array, held: Array, start: Array, members: Members,
    locks: Locks, before: Before, duration: float, most: int, wanted: float,
) -> tuple[Array, Array, Array, Array, float, int, int, bool]:  # fmt: skip
    """`minimize` for a step [s] that ends at pressures near `start`.

    The volumes hold every node: no seepage is needed, and it would add up over time.
    """
    set_members(eq.deadband, members, before.extension, before.velocity, duration)
    for k in range(len(locks.row)):
        if before.held[k]:
            if locks.retracted[k]:
                eq.deadband[1, locks.row[k]] = inf
            else:
                eq.deadband[2, locks.row[k]] = -inf
    volumes = Storage(before.capacity / duration, before.pressure, before.vapour / duration)
    moving = Moving(members.rows, before.velocity)
    return minimize(eq, order, products, held, start, volumes, 0.0, most, False, wanted, moving, 0)


@compiled
def step_error(
    free: Index, before: Array, rate: Array, now: Array, duration: float, most: float,
    scale: float, speeds: Array, velocity: Array, travel: Array, share: float, way: float,
) -> float:  # fmt: skip
    """How far a step [s] is from what the one before it foretold, over what is allowed.

    Where nothing limits a pressure there is none to be accurate about: all count as `most` at
    the most.

    Parameters
    ----------
    free
        The nodes to look at.
    before, rate, now
        Before the step [Pa], how fast it rose [Pa/s], and after the step [Pa], at all nodes.
    scale
        The pressure to measure by [Pa], if none before was higher.
    speeds, velocity, travel
        Of the members: now and before [m/s or rad/s], and how far they go [m or rad].
    share, way
        What is allowed, as a share of the pressure and of the travel [1].
    """
    difference, known = 0.0, scale
    for k in range(len(free)):
        node = free[k]
        old = before[node]
        if old < most:
            known = max(known, abs(old))
        else:
            old = most
        foretold = min(old + rate[node] * duration, most)
        difference = max(difference, abs(min(now[node], most) - foretold))
    error = difference / (known * share)
    for k in range(len(travel)):
        error = max(error, abs(speeds[k] - velocity[k]) * duration / (travel[k] * way))
    return error


@compiled
def rates_of(
    before: Array, now: Array, duration: float, flows: Array, rows: Index, travel: Array
) -> tuple[Array, Array, float]:
    """How fast pressures [Pa/s] and members [m/s or rad/s] went over a step [s], and the fastest
    member as a share of its travel [1/s].

    `rows` are those of the members among all branches.
    """
    rate = np.empty(len(now))
    for k in range(len(now)):
        rate[k] = (now[k] - before[k]) / duration
    velocity, fastest = np.empty(len(rows)), 0.0
    for k in range(len(rows)):
        velocity[k] = flows[rows[k]]
        fastest = max(fastest, abs(velocity[k]) / travel[k])
    return rate, velocity, fastest


@compiled
def lowest(values: Array) -> float:
    """The least of the values; infinite if there are none."""
    least = inf
    for k in range(len(values)):
        least = min(least, values[k])
    return least


@compiled
def largest_below(nodes: Index, values: Array, most: float) -> float:
    """The largest size of the values at these nodes, without those not below `most`; 0 if none."""
    found = 0.0
    for k in range(len(nodes)):
        if abs(values[nodes[k]]) < most:
            found = max(found, abs(values[nodes[k]]))
    return found
