"""What of a network moves, stores, holds and throttles, as the compiled steps take it."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np

from analysis.assemble import Assembly
from analysis.compiled.equations import INDEX
from analysis.compiled.loads import Members
from analysis.compiled.throttles import Throttles
from analysis.compiled.time_step import Chambers, Locks, Machine, Tanks
from analysis.devices import Lock, Modulator
from analysis.network import Array, Network
from analysis.outlets import mouths
from analysis.part import Part
from analysis.part_readings import areas

NODE_VOLUME = 1e-6
"""Fluid in every node beside that of lines and chambers [m3]: a fitting's worth."""


@dataclass
class Mover:
    """A moving member: its part, its stroke branch, its travel [m or rad]."""

    part: Part
    row: int
    travel: float
    locks: list[Lock]


@dataclass
class Charge:
    """An accumulator: its part and the row of its gas branch in its family."""

    part: Part
    row: int


@dataclass
class Tank:
    """A reservoir: its part and the nodes through which it gives and takes.

    `brim` is the volume [m3] up to the mouth of an outlet that a broken line lays open;
    `rows` and `weights` say which branches draw from it, and how much of their flow.
    """

    part: Part
    rows: list[int]
    weights: list[float]
    brim: float = inf


def tank_of(assembly: Assembly, part: Part) -> Tank:
    """A reservoir of a network."""
    fixed, network = assembly.builder.fixed, assembly.network
    own = frozenset(node for node in part.ports.values() if fixed[node].owner == part.id)
    rows, weights = network.drawn_from(own)
    broken = {assembly.node(port) for port in assembly.open_ends}
    levels = [level for outlet, level in mouths(part.settings) if part.ports[outlet] in broken]
    return Tank(part, rows, weights, min(levels, default=inf))


def machine_of(
    assembly: Assembly, movers: list[Mover], valves: list[Modulator], tanks: list[Tank]
) -> Machine:
    """All of it: the moving members, the throttling valves and the reservoirs in their order."""
    start = assembly.network.start["deadband"]
    return Machine(
        _line_volumes(assembly),
        _chambers(movers),
        _members(movers),
        np.array([start + mover.row for mover in movers], dtype=INDEX),
        _locks(movers),
        _throttles(valves, assembly.network),
        _tanks(tanks),
        assembly.liquid.bulk_modulus,
    )


def _locks(movers: list[Mover]) -> Locks:
    """The end locks of the members."""
    numbers = [number for number, mover in enumerate(movers) for _ in mover.locks]
    locks = [lock for mover in movers for lock in mover.locks]
    return Locks(
        np.array(numbers, dtype=INDEX),
        np.array([movers[number].row for number in numbers], dtype=INDEX),
        np.array([lock.end == "retracted" for lock in locks], dtype=bool),
        np.array([lock.port for lock in locks], dtype=INDEX),
        np.array([lock.release_pressure for lock in locks], dtype=float),
    )


def _tanks(tanks: list[Tank]) -> Tanks:
    """The reservoirs, their branches one after another."""
    return Tanks(
        np.cumsum([0, *(len(tank.rows) for tank in tanks)], dtype=INDEX),
        np.array([row for tank in tanks for row in tank.rows], dtype=INDEX),
        np.array([weight for tank in tanks for weight in tank.weights], dtype=float),
    )


def _members(movers: list[Mover]) -> Members:
    """What the moving members resist with, as arrays."""
    numbers: list[tuple[float, float, float, float]] = []
    tables: list[tuple[tuple[float, float], ...]] = []
    for mover in movers:
        s, load = mover.part.settings, ((0.0, 0.0),)
        if mover.part.kind == "semi_rotary_actuator":
            numbers.append((mover.travel, s["load_torque"], 0.0, 0.0))
        else:
            spring = s.get("spring_preload", 0.0), s.get("spring_rate", 0.0)
            numbers.append((mover.travel, s["friction"], *spring))
            load = s["load"] if isinstance(s["load"], tuple) else ((0.0, s["load"]),)
        tables.append(load)
    rows = np.array([mover.row for mover in movers], dtype=INDEX)
    begin = np.cumsum([0, *map(len, tables)], dtype=INDEX)
    flat = np.array([pair for table in tables for pair in table], dtype=float).reshape(-1, 2)
    travel, friction, preload, rate = np.array(numbers, dtype=float).reshape(-1, 4).T.copy()
    positions, forces = flat.T.copy()
    return Members(rows, travel, friction, preload, rate, begin, positions, forces)


def _throttles(valves: list[Modulator], network: Network) -> Throttles:
    """The throttling valves, their candidates one after another."""
    candidates = [candidate for valve in valves for candidate in valve.candidates]
    widest = max((len(terms) for _, terms in candidates), default=0)
    node = np.zeros((len(candidates), widest), dtype=INDEX)
    weight = np.zeros((len(candidates), widest))
    for row, (_, terms) in enumerate(candidates):
        for place, term in enumerate(terms):
            node[row, place], weight[row, place] = term
    return Throttles(
        np.array([network.row(valve.branch) for valve in valves], dtype=INDEX),
        np.array([valve.branch.row for valve in valves], dtype=INDEX),
        np.array([valve.drop for valve in valves], dtype=float),
        np.array([valve.mirrored for valve in valves], dtype=bool),
        np.cumsum([0, *(len(valve.candidates) for valve in valves)], dtype=INDEX),
        np.array([constant for constant, _ in candidates], dtype=float),
        node,
        weight,
    )


def _chambers(movers: list[Mover]) -> Chambers:
    """The chambers of the moving members."""
    rows = [
        (mover.part.ports[port], abs(area), area > 0.0, number)
        for number, mover in enumerate(movers)
        for port, area in areas(mover.part)
    ]
    nodes, sizes, grows, members = zip(*rows, strict=True) if rows else ((), (), (), ())
    return Chambers(
        np.array(nodes, dtype=INDEX),
        np.array(sizes, dtype=float),
        np.array(grows, dtype=bool),
        np.array(members, dtype=INDEX),
    )


def _line_volumes(assembly: Assembly) -> Array:
    """Volume of fluid that stands at each node: half of each line's at either end [m3]."""
    volume = np.full(assembly.network.count, NODE_VOLUME)
    in_lines = assembly.line_volumes
    volume[: len(in_lines)] += in_lines
    return volume
