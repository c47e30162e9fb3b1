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
from analysis.compiled.loads import Members, resistance, set_members
from analysis.compiled.moving_members import Moving
from analysis.constants import ATMOSPHERE, STIFF
from analysis.devices import Lock, Modulator, Shuttle, Unloading
from analysis.network import Array
from analysis.newton import Solution, solve_network
from analysis.outlets import mouths
from analysis.pace import EXACT
from analysis.part import Part
from analysis.part_readings import areas
from analysis.starving import StarvedInlet, starvable_inlets
from analysis.steady import THROTTLE_TOLERANCE, throttle
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

    def drawn(self, flows: list[float]) -> float:
        """What leaves it into the branches [m3/s], from the flows of all branches."""
        return sum(w * flows[row] for row, w in zip(self.rows, self.weights, strict=True))


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
        self._line_volume = _line_volumes(assembly)
        self._flow_rows = [m.row + self.network.start["deadband"] for m in self.movers]
        self._throttling = [(m, self.network.row(m.branch)) for m in self.modulators]
        self.members = _members(self.movers)
        self._locked = [mover for mover in self.movers if mover.locks]
        self._chambers = [
            (mover.part.ports[port], abs(area), area > 0.0, mover.part.id, mover.travel)
            for mover in self.movers
            for port, area in areas(mover.part)
        ]
        parts = assembly.parts.values()
        self.hand_pumps = [p for p in parts if p.kind == "hand_pump" and "delivery" in p.branches]
        self.fuses = [p for p in parts if p.kind == "hydraulic_fuse" and "main" in p.branches]
        self._read: tuple[Solution, list[float], list[float]] | None = None
        self._capacity: tuple[dict[str, float], Array] | None = None

    def recall(self, switched: Mapping[str, Any]) -> None:
        """Put the valves with a memory where they stood, by id."""
        for device in self.switches:
            if device.owner in switched and isinstance(device, Unloading | Shuttle):
                device.switch(self.network, switched[device.owner])

    def capacity(self, extension: dict[str, float]) -> Array:
        """Compressibility of the fluid at every node, V / K [m3/Pa], shape (n_nodes,)."""
        if self._capacity is not None and self._capacity[0] == extension:
            return self._capacity[1]
        volume = self._line_volume.copy()
        for node, area, grows, identifier, travel in self._chambers:
            x = extension[identifier]
            volume[node] += area * (x if grows else travel - x)
        volume /= self.assembly.liquid.bulk_modulus
        volume.flags.writeable = False
        self._capacity = extension, volume
        return volume

    def step(
        self,
        pressure: Array,
        capacity: Array,
        vapour: Array,
        extension: dict[str, float],
        fluid: dict[str, float],
        duration: float,
        velocity: dict[str, float] | None = None,
        imbalance: float = EXACT.imbalance,
    ) -> Solution:
        """Solve one step of the given duration [s].

        Parameters
        ----------
        pressure, capacity, vapour
            At all nodes, before the step [Pa], [m3/Pa], [m3]; shape (n_nodes,).
        extension, fluid
            Of actuators [m or rad] and accumulators [m3] by id, before the step.
        velocity
            Of actuators over the step before [m/s or rad/s]: it foretells where the load stands.
        imbalance
            Of flows at the nodes, over the largest flow, that is small enough.
        """
        moving = self.in_motion(velocity or {})
        self._set_movers(extension, duration, moving)
        table = self.network.parameters["gas"]
        for charge in self.charges:
            table[3, charge.row] = fluid[charge.part.id]
            table[4, charge.row] = duration
        rate = capacity / duration
        storage = (rate, pressure, vapour / duration)

        def solve(start: Array) -> Solution:
            # the volumes hold every node: no seepage is needed, and it would add up over time
            return solve_network(
                self.network,
                start,
                storage=storage,
                seepage=0.0,
                polish=False,
                wanted=imbalance,
                moving=moving,
            )

        for inlet in self.inlets:
            inlet.begin_step()
        solution = solve(pressure)
        for _ in range(12):
            if self.modulators and solution.converged and not self._are_open_enough(solution):
                solution, _, _ = throttle(
                    self.assembly, self.modulators, solution, solve, rate[self.network.free]
                )
            if not solution.converged or not any(
                [inlet.settle(self.assembly, solution) for inlet in self.inlets]
            ):
                break
            solution = solve(solution.pressure)
        return solution

    def _are_open_enough(self, solution: Solution) -> bool:
        """Whether no flow hangs on what the throttling valves still ask for, as for `throttle`.

        Each is as far open as it asks to be, or is shut at either opening difference and then
        gets the one that it asks for. This is so at nearly every step.
        """
        table = self.network.parameters["turbulent"]
        asked = [max(m.target(solution, row)[0], 0.0) for m, row in self._throttling]
        tolerance = THROTTLE_TOLERANCE + 1e-9 * max(asked)
        moved = []
        for (modulator, row), wanted in zip(self._throttling, asked, strict=True):
            now = float(table[1, modulator.branch.row])
            if abs(now - wanted) > tolerance:
                shut = solution.u[row] < min(now, wanted) - THROTTLE_TOLERANCE
                if modulator.mirrored or not shut:
                    return False
                moved.append((modulator, wanted))
        for modulator, wanted in moved:
            modulator.set(self.network, wanted)
        return True

    def in_motion(self, velocity: Mapping[str, float]) -> Moving:
        """The members, and how fast they moved [m/s or rad/s], by id."""
        speeds = [velocity.get(m.part.id, 0.0) for m in self.movers]
        return Moving(self.members.rows, np.array(speeds))

    def _set_movers(self, extension: dict[str, float], duration: float, moving: Moving) -> None:
        """Loads where the members will stand, and the velocities that reach the stops."""
        table = self.network.parameters["deadband"]
        standing = np.array([extension[m.part.id] for m in self.movers])
        set_members(table, self.members, standing, moving.velocity, duration)
        for mover in self._locked:
            for lock in mover.locks:
                column = 1 if lock.end == "retracted" else 2
                lock.threshold = float(table[column, mover.row])
                if lock.held:
                    table[column, mover.row] = inf if column == 1 else -inf

    def resistance(self, mover: int, extension: float) -> tuple[float, float]:
        """Drive [N or N m] above which a member, by its place, moves out; below which, in."""
        return resistance(self.members, mover, extension)

    def velocities(self, solution: Solution) -> list[float]:
        """Of all moving members, in their order [m/s or rad/s], positive in extension."""
        flows, _ = self.numbers(solution)
        return [flows[row] for row in self._flow_rows]

    def numbers(self, solution: Solution) -> tuple[list[float], list[float]]:
        """Flows of all branches and pressures of all nodes, as lists: read faster one by one."""
        if self._read is None or self._read[0] is not solution:
            self._read = solution, solution.q.tolist(), solution.pressure.tolist()
        return self._read[1:]

    def velocity(self, mover: Mover, solution: Solution) -> float:
        """Of a moving member [m/s or rad/s], positive in extension."""
        return float(solution.q[self.network.start["deadband"] + mover.row])


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
