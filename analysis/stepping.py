"""One time step: the network of an instant, with volumes.

An implicit Euler step solves the same convex problem as an instant. Each node adds
(V / K) (p - p_before) / dt for the compressibility of its fluid; an actuator's velocity is
limited to what takes it to its stop in the step; an accumulator's flow is what takes its
gas to the new pressure. So a step never overshoots a stop and never empties a gas.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import inf
from typing import Any

import numpy as np

from analysis.assemble import Assembly
from analysis.compiled.loads import resistance
from analysis.compiled.throttles import are_open_enough
from analysis.compiled.time_step import Before, capacity
from analysis.compiled.trials import parts_of
from analysis.constants import ATMOSPHERE, STIFF, THROTTLE_TOLERANCE
from analysis.devices import Lock, Modulator, Shuttle, Unloading
from analysis.machine import Charge, Mover, machine_of, tank_of
from analysis.network import Array
from analysis.newton import Outcome, Solution, solve_time_step, try_time_step, weigh_time_step
from analysis.pace import Pace
from analysis.starving import StarvedInlet, starvable_inlets
from analysis.steady import throttle
from analysis.suction import find_dry_pumps


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
        self.tanks = [
            tank_of(assembly, p) for p in assembly.parts.values() if p.kind == "reservoir"
        ]
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
        self.locks = [lock for mover in self.movers for lock in mover.locks]
        self.machine = machine_of(assembly, self.movers, self.modulators, self.tanks)
        self.members, self.parts = self.machine.members, parts_of(self.machine)
        self._at_rest = np.zeros(self.network.count), np.zeros(len(self.movers))
        parts = assembly.parts.values()
        self.hand_pumps = [p for p in parts if p.kind == "hand_pump" and "delivery" in p.branches]
        self.fuses = [p for p in parts if p.kind == "hydraulic_fuse" and "main" in p.branches]

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
            network, self.parts, before, duration, imbalance, allowed
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
        held = np.array([lock.held for lock in self.locks], dtype=bool)
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

    def velocity(self, mover: Mover, solution: Solution) -> float:
        """Of a moving member [m/s or rad/s], positive in extension."""
        return float(solution.q[self.network.start["deadband"] + mover.row])


def vapour_after(vapour: Array, pressure: Array, duration: float) -> Array:
    """Vapour [m3] at every node after a step [s] that ended at these pressures [Pa].

    What is drawn at absolute zero adds to it, what comes back above it fills it.
    """
    drawn = STIFF * np.minimum(pressure + ATMOSPHERE, 0.0)
    filled = np.minimum(STIFF * np.maximum(pressure + ATMOSPHERE, 0.0), vapour / duration)
    left: Array = np.maximum(vapour - (drawn + filled) * duration, 0.0)
    return left
