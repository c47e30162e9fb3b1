"""One time step as equations: volumes at the nodes, members with stops, locks that hold."""

from __future__ import annotations

from math import inf
from typing import NamedTuple

from analysis.compiled import compiled
from analysis.compiled.balance import Storage
from analysis.compiled.elimination import Order
from analysis.compiled.equations import Array, Equations, Flags, Index
from analysis.compiled.loads import Members, set_members
from analysis.compiled.moving_members import Moving
from analysis.compiled.newton import minimize
from analysis.compiled.throttles import Throttles


class Chambers(NamedTuple):
    """The chambers of moving members: node, area [m2, or m3/rad], whether it grows as the member
    moves out, and which member it is."""

    node: Index
    area: Array
    grows: Flags
    member: Index


class Locks(NamedTuple):
    """The end locks: its member, the row of that among the `deadband` branches, whether it holds
    it retracted, the node whose pressure releases it, and at how much [Pa]."""

    member: Index
    row: Index
    retracted: Flags
    node: Index
    release: Array


class Tanks(NamedTuple):
    """The reservoirs: the branches that draw from the k-th are `begin[k]` to `begin[k + 1]` of
    `row`, among all branches, and `weight`, how much of their flow it gives."""

    begin: Index
    row: Index
    weight: Array


class Machine(NamedTuple):
    """What of a network moves, stores and holds; `volume` is that at all nodes of what does not
    move [m3], `flow_row` the members' among all branches, `modulus` the fluid's [Pa]."""

    volume: Array
    chambers: Chambers
    members: Members
    flow_row: Index
    locks: Locks
    throttles: Throttles
    tanks: Tanks
    modulus: float


class Before(NamedTuple):
    """How things stand before a step.

    Pressure [Pa], how fast it rises [Pa/s], and vapour [m3], of all nodes; extension and velocity
    of all members [m or rad, a second]; which locks hold.
    """

    pressure: Array
    rate: Array
    vapour: Array
    extension: Array
    velocity: Array
    held: Flags


@compiled
def capacity(machine: Machine, extension: Array) -> Array:
    """Compressibility of the fluid at every node, V / K [m3/Pa], where the members stand so
    [m or rad]."""
    volume, chambers, travel = machine.volume.copy(), machine.chambers, machine.members.travel
    for k in range(len(chambers.node)):
        member = chambers.member[k]
        x = extension[member]
        volume[chambers.node[k]] += chambers.area[k] * (
            x if chambers.grows[k] else travel[member] - x
        )
    return volume / machine.modulus


@compiled
def solve_step(
    eq: Equations, order: Order, products: Array, held: Array, start: Array, machine: Machine,
    before: Before, duration: float, most: int, wanted: float,
) -> tuple[Array, Array, Array, Array, float, int, int, bool]:  # fmt: skip
    """`minimize` for a step [s] that ends at pressures near `start`.

    The volumes hold every node: no seepage is needed, and it would add up over time.
    """
    members, locks = machine.members, machine.locks
    set_members(eq.deadband, members, before.extension, before.velocity, duration)
    for k in range(len(locks.row)):
        if before.held[k]:
            if locks.retracted[k]:
                eq.deadband[1, locks.row[k]] = inf
            else:
                eq.deadband[2, locks.row[k]] = -inf
    storage = capacity(machine, before.extension) / duration
    volumes = Storage(storage, before.pressure, before.vapour / duration)
    moving = Moving(members.rows, before.velocity)
    return minimize(eq, order, products, held, start, volumes, 0.0, most, False, wanted, moving, 0)
