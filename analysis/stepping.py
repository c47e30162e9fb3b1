"""One time step: the network of an instant, with volumes.

An implicit Euler step solves the same convex problem as an instant. Each node adds
(V / K) (p - p_before) / dt for the compressibility of its fluid; an actuator's velocity is
limited to what takes it to its stop in the step; an accumulator's flow is what takes its
gas to the new pressure. So a step never overshoots a stop and never empties a gas.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf
from typing import Any

import numpy as np

from analysis.assemble import Assembly
from analysis.compiled.loads import Members, resistance
from analysis.compiled.throttles import Throttles, are_open_enough
from analysis.compiled.time_step import Before, Chambers, Locks, Machine, Tanks, capacity
from analysis.constants import ATMOSPHERE, STIFF, THROTTLE_TOLERANCE
from analysis.devices import Lock, Modulator, Shuttle, Unloading
from analysis.network import Array, Network
from analysis.newton import Outcome, Solution, solve_time_step, try_time_step, weigh_time_step
from analysis.outlets import mouths
from analysis.pace import Pace
from analysis.part import Part
from analysis.part_readings import areas
from analysis.starving import StarvedInlet, starvable_inlets
from analysis.steady import throttle
from analysis.suction import find_dry_pumps

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

    def drawn(self, flows: Array) -> float:
        """What leaves it into the branches [m3/s], from the flows of all branches."""
        return sum(w * float(flows[row]) for row, w in zip(self.rows, self.weights, strict=True))


def _tank(assembly: Assembly, part: Part) -> Tank:
    fixed, network = assembly.builder.fixed, assembly.network
    nodes = sorted({n for n in part.ports.values() if fixed[n].owner == part.id})
    own = np.zeros(network.count, dtype=bool)
    own[nodes] = True
    draws = own[network.node] & (network.weight != 0.0)
    rows = np.flatnonzero(draws.any(axis=1))
    weights = np.where(draws, network.weight, 0.0).sum(axis=1)[rows]
    broken = {assembly.node(port) for port in assembly.open_ends}
    levels = [level for outlet, level in mouths(part.settings) if part.ports[outlet] in broken]
    return Tank(part, rows.tolist(), weights.tolist(), min(levels, default=inf))


class Stepper:
    """The network of a circuit between two changes of its levers, faults and outlets.

    Parameters
    ----------
    assembly
        Made with `moving` states, so that stops, loads and gas are free to be set here.
    """

    def __init__(self, assembly: Assembly) -> None:
        self.assembly = assembly
        self.network = assembly.network
        devices = assembly.builder.devices
        self.modulators = [d for d in devices if isinstance(d, Modulator)]
        self.switches = [d for d in devices if not isinstance(d, Modulator | Lock)]
        self.movers: list[Mover] = []
        self.charges: list[Charge] = []
        for part in assembly.parts.values():
            if "stroke" in part.branches:
                locks = [d for d in devices if isinstance(d, Lock) and d.owner == part.id]
                travel = part.settings["angle" if "angle" in part.settings else "stroke"]
                self.movers.append(Mover(part, part.branches["stroke"].row, travel, locks))
            if part.kind == "accumulator" and "charge" in part.branches:
                self.charges.append(Charge(part, part.branches["charge"].row))
        self.tanks = [_tank(assembly, p) for p in assembly.parts.values() if p.kind == "reservoir"]
        self.dry = find_dry_pumps(assembly)
        source = self.network.parameters["source"]
        wet = []
        for part in assembly.parts.values():
            if "delivery" in part.branches:
                if part.id in self.dry:
                    source[4, part.branches["delivery"].row] = 0.0
                else:
                    wet.append(part.id)
        self.inlets: list[StarvedInlet] = starvable_inlets(assembly, wet)
        self.locks = [(mover.row, lock) for mover in self.movers for lock in mover.locks]
        self.members = _members(self.movers)
        self.machine = self._machine()
        self._at_rest = np.zeros(self.network.count), np.zeros(len(self.movers))
        parts = assembly.parts.values()
        self.hand_pumps = [p for p in parts if p.kind == "hand_pump" and "delivery" in p.branches]
        self.fuses = [p for p in parts if p.kind == "hydraulic_fuse" and "main" in p.branches]

    def _machine(self) -> Machine:
        """What moves, stores and holds, for the compiled functions."""
        start = self.network.start["deadband"]
        return Machine(
            _line_volumes(self.assembly),
            _chambers(self.movers),
            self.members,
            np.array([start + mover.row for mover in self.movers], dtype=np.intp),
            _locks(self.locks),
            _throttles(self.modulators, self.network),
            _tanks(self.tanks),
            self.assembly.liquid.bulk_modulus,
        )

    def recall(self, switched: Mapping[str, Any]) -> None:
        """Put the valves with a memory where they stood, by id."""
        for device in self.switches:
            if device.owner in switched and isinstance(device, Unloading | Shuttle):
                device.switch(self.network, switched[device.owner])

    def capacity(self, extension: Array) -> Array:
        """Compressibility of the fluid at every node, V / K [m3/Pa], shape (n_nodes,).

        `extension` is that of the members, in their order [m or rad].
        """
        return capacity(self.machine, extension)

    def step(
        self, before: Before, fluid: dict[str, float], duration: float, pace: Pace
    ) -> tuple[Solution, Outcome]:
        """Solve one step of the given duration [s], and weigh how it comes out.

        Parameters
        ----------
        before
            How all stands before the step (`before` makes it). The velocities foretell where
            the loads will stand.
        fluid
            Of accumulators [m3] by id, before the step.
        pace
            How exactly it is to be solved, and what it may be wrong by.
        """
        network, machine, imbalance = self.network, self.machine, pace.imbalance
        table = network.parameters["gas"]
        for charge in self.charges:
            table[3, charge.row] = fluid[charge.part.id]
            table[4, charge.row] = duration
        for inlet in self.inlets:
            inlet.begin_step()
        allowed = (pace.pressure, pace.travel)
        solution, is_open, outcome = try_time_step(
            network, machine, before, duration, imbalance, allowed
        )
        if is_open and not self._is_any_starved(solution):
            return solution, outcome

        def solve(start: Array) -> Solution:
            return solve_time_step(network, start, machine, before, duration, imbalance)

        for _ in range(12):
            if self.modulators and solution.converged and not is_open:
                rate = self.capacity(before.extension)[network.free] / duration
                solution, _, _ = throttle(self.assembly, self.modulators, solution, solve, rate)
            if not solution.converged or not any(
                [inlet.settle(self.assembly, solution) for inlet in self.inlets]
            ):
                break
            solution = solve(solution.pressure)
            is_open = not solution.converged or self._are_open_enough(solution)
        return solution, weigh_time_step(network, machine, before, solution, duration, allowed)

    def _is_any_starved(self, solution: Solution) -> bool:
        """Whether a pump's inlet asks for another limit, or may do so."""
        pressure = solution.pressure
        return any(i.limit < inf or pressure[i.node] < -ATMOSPHERE for i in self.inlets)

    def before(
        self, pressure: Array, vapour: Array, extension: Array, rates: Outcome | None
    ) -> Before:
        """How all stands before a step, with the locks as they are.

        Parameters
        ----------
        pressure, vapour
            Of all nodes [Pa], [m3].
        extension
            Of the members in their order [m or rad].
        rates
            How fast all goes; if that is not known, nothing does.
        """
        rate, velocity = self._at_rest if rates is None else (rates.rate, rates.velocity)
        held = np.array([lock.held for _, lock in self.locks], dtype=bool)
        return Before(pressure, rate, vapour, extension, velocity, held)

    def _are_open_enough(self, solution: Solution) -> bool:
        """Whether no flow hangs on what the throttling valves still ask for, as for `throttle`.

        Each is as far open as it asks to be, or is shut at either opening difference and then
        gets the one that it asks for. This is so at nearly every step.
        """
        if not self.modulators:
            return True
        table = self.network.parameters["turbulent"]
        p, u, q = solution.pressure, solution.u, solution.q
        return are_open_enough(table, self.machine.throttles, p, u, q, THROTTLE_TOLERANCE)

    def resistance(self, mover: int, extension: float) -> tuple[float, float]:
        """Drive [N or N m] above which a member, by its place, moves out; below which, in."""
        return resistance(self.members, mover, extension)

    def drawn(self, solution: Solution) -> list[float]:
        """What leaves each reservoir into the branches, in their order [m3/s]."""
        return [tank.drawn(solution.q) for tank in self.tanks]

    def velocity(self, mover: Mover, solution: Solution) -> float:
        """Of a moving member [m/s or rad/s], positive in extension."""
        return float(solution.q[self.network.start["deadband"] + mover.row])


def _locks(locks: list[tuple[int, Lock]]) -> Locks:
    """The end locks, each given with the row of its member among the `deadband` branches."""
    return Locks(
        np.array([row for row, _ in locks], dtype=np.intp),
        np.array([lock.end == "retracted" for _, lock in locks], dtype=bool),
        np.array([lock.port for _, lock in locks], dtype=np.intp),
        np.array([lock.release_pressure for _, lock in locks], dtype=float),
    )


def _tanks(tanks: list[Tank]) -> Tanks:
    """The reservoirs, their branches one after another."""
    return Tanks(
        np.cumsum([0, *(len(tank.rows) for tank in tanks)], dtype=np.intp),
        np.array([row for tank in tanks for row in tank.rows], dtype=np.intp),
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
    rows = np.array([mover.row for mover in movers], dtype=np.intp)
    begin = np.cumsum([0, *map(len, tables)], dtype=np.intp)
    flat = np.array([pair for table in tables for pair in table], dtype=float).reshape(-1, 2)
    travel, friction, preload, rate = np.array(numbers, dtype=float).reshape(-1, 4).T.copy()
    positions, forces = flat.T.copy()
    return Members(rows, travel, friction, preload, rate, begin, positions, forces)


def vapour_after(vapour: Array, pressure: Array, duration: float) -> Array:
    """Vapour [m3] at every node after a step [s] that ended at these pressures [Pa].

    What is drawn at absolute zero adds to it, what comes back above it fills it.
    """
    drawn = STIFF * np.minimum(pressure + ATMOSPHERE, 0.0)
    filled = np.minimum(STIFF * np.maximum(pressure + ATMOSPHERE, 0.0), vapour / duration)
    left: Array = np.maximum(vapour - (drawn + filled) * duration, 0.0)
    return left


def _throttles(valves: list[Modulator], network: Network) -> Throttles:
    """The throttling valves, their candidates one after another."""
    candidates = [candidate for valve in valves for candidate in valve.candidates]
    widest = max((len(terms) for _, terms in candidates), default=0)
    node = np.zeros((len(candidates), widest), dtype=np.intp)
    weight = np.zeros((len(candidates), widest))
    for row, (_, terms) in enumerate(candidates):
        for place, term in enumerate(terms):
            node[row, place], weight[row, place] = term
    return Throttles(
        np.array([network.row(valve.branch) for valve in valves], dtype=np.intp),
        np.array([valve.branch.row for valve in valves], dtype=np.intp),
        np.array([valve.drop for valve in valves], dtype=float),
        np.array([valve.mirrored for valve in valves], dtype=bool),
        np.cumsum([0, *(len(valve.candidates) for valve in valves)], dtype=np.intp),
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
        np.array(nodes, dtype=np.intp),
        np.array(sizes, dtype=float),
        np.array(grows, dtype=bool),
        np.array(members, dtype=np.intp),
    )


def _line_volumes(assembly: Assembly) -> Array:
    """Volume of fluid that stands at each node: half of each line's at either end [m3]."""
    volume = [NODE_VOLUME] * assembly.network.count
    for laid in assembly.lines.values():
        if laid.branch is None or laid.bore is None:
            continue
        line = assembly.circuit.lines[laid.id]
        length = line.resolved.settings["length"]
        half = 0.5 * np.pi / 4.0 * laid.bore**2 * length
        volume[assembly.node(laid.start)] += half
        volume[assembly.node(laid.end)] += half
    return np.array(volume)
