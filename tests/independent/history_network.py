"""The second formulation over time as one stiff system of differential equations.

Unknowns: the fluid in every port's node beyond what fits it without pressure (counted as
the pressure it would give), positions, fluid in accumulators and reservoirs, and what hand
pumps have delivered. Nothing is solved inside: every flow follows from the pressures.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from scipy.sparse import csr_matrix

from tests.independent.history_laws import Array, above, incidence
from tests.independent.history_parts import Layout
from tests.independent.sheet import Part

ATMOSPHERE = 101_325.0
BULK_MODULUS = {
    # MIL-PRF-5606H: 200 000 psi at least; mineral oil typical (both from memory)
    "MIL-PRF-5606": 200_000 * 6894.757,
    "ISO VG 32": 1.6e9,
}
DAMPING = 50.0
"""Force that a moving piston costs [N s/m]: 2.5 newton at 50 mm/s."""
SMOOTH_FORCE = 2.0
"""Friction's corners are rounded over this [N]."""
CAVITY = 1e-5
"""Share of its stiffness that a node keeps once its fluid has parted."""
GAS_INLET = 1e-7
"""Conductance between an accumulator's port and its gas [m3/(s Pa)]."""
EMPTY = 1e14
"""Stiffness of an accumulator that is empty [Pa/m3]."""


@dataclass
class Modes:
    """What history decides: kept when the system is made anew."""

    held: dict[tuple[str, str], bool] = field(default_factory=dict)
    stands_at: dict[str, str] = field(default_factory=dict)
    away: set[str] = field(default_factory=set)
    shuttle: dict[str, int] = field(default_factory=dict)
    unloaded: dict[str, bool] = field(default_factory=dict)


class Machine:
    """The system for levers, faults and covered outlets as they stand on the sheet."""

    def __init__(self, layout: Layout, modes: Modes) -> None:
        self.layout, self.modes = layout, modes
        sheet, self.pistons = layout.sheet, layout.pistons
        self.bulk = BULK_MODULUS[sheet.fluid_kind]
        self.gas = layout.of("accumulator")
        self.reservoirs = layout.of("reservoir")
        self.hand_pumps = layout.of("hand_pump")
        self.ports = sorted(layout.volume)
        self.index = {port: i for i, port in enumerate(self.ports)}
        self.size = len(self.ports)
        self.families = layout.orifices, layout.pipes, layout.straights
        self.names = [name for family in self.families for name in family.names]
        terms = [t for family in self.families for t in family.terms]
        self.weight = incidence(terms, self.index)
        self.control = incidence(layout.orifices.control, self.index)
        self.drops = csr_matrix(self.weight)
        self.gather = csr_matrix(self.weight.T)
        self.controls = csr_matrix(self.control)
        self._index_volumes()
        self.enable()

    def _index_volumes(self) -> None:
        n = self.size
        self.line_volume = np.array([self.layout.volume[p] for p in self.ports])
        self.chamber = np.zeros((n, len(self.pistons)))
        self.chamber_at_zero = np.zeros(n)
        for k, piston in enumerate(self.pistons):
            for port, area in piston.areas.items():
                self.chamber[self.index[port], k] = area
                self.chamber_at_zero[self.index[port]] = piston.inside(port, 0.0)
        half = np.array([0.5 * piston.travel for piston in self.pistons])
        self.reference = self.line_volume + self.chamber_at_zero + self.chamber @ half
        self.is_fixed = np.array([p in self.layout.fixed for p in self.ports])
        self.held_at = np.array([self.layout.fixed.get(p, 0.0) for p in self.ports])
        self.tank = np.zeros((len(self.reservoirs), n))
        for k, part in enumerate(self.reservoirs):
            for name in ("supply", "standpipe", "return"):
                port = f"{part.id}.{name}"
                if port in self.index:
                    self.tank[k, self.index[port]] = 1.0
        self.gas_node = [self.index[f"{part.id}.fluid"] for part in self.gas]
        row = {name: k for k, name in enumerate(self.names)}
        self.pump_row = [row.get(part.id) for part in self.hand_pumps]
        counts = (n, len(self.pistons), len(self.gas), len(self.reservoirs), len(self.hand_pumps))
        ends = np.cumsum(counts)
        self.slices = [slice(int(e - c), int(e)) for e, c in zip(ends, counts, strict=True)]
        self.friction = np.array([piston.friction for piston in self.pistons])

    def enable(self) -> None:
        """Take the modes over: which branches pass, which pistons are locked."""
        self.passes = np.ones(len(self.names))
        for k, name in enumerate(self.names):
            owner, _, side = name.partition(":")
            if owner in self.modes.shuttle and self.modes.shuttle[owner] != int(side):
                self.passes[k] = 0.0
            if side == "return" and not self.modes.unloaded.get(owner):
                self.passes[k] = 0.0
        self.free = np.array(
            [not any(self.modes.held.get((p.id, e)) for e in p.locks) for p in self.pistons],
            dtype=float,
        )

    # -- the equations ----------------------------------------------------------------

    def pressures(self, y: Array) -> tuple[Array, Array, Array]:
        """Gauge pressure of every node, its slope by the node's own unknown, its volume."""
        own, x = y[self.slices[0]], y[self.slices[1]]
        volume = self.line_volume + self.chamber_at_zero + self.chamber @ x
        swell = self.reference / volume
        pressure, slope = own * swell, swell
        if pressure.min() < 100.0 - ATMOSPHERE:
            absolute = pressure + ATMOSPHERE
            liquid, weight = above(absolute, 100.0)
            pressure = liquid + CAVITY * (absolute - liquid) - ATMOSPHERE
            slope = swell * (weight + CAVITY * (1.0 - weight))
        pressure = np.where(self.is_fixed, self.held_at, pressure)
        return pressure, np.where(self.is_fixed, 0.0, slope), volume

    def flows(self, pressure: Array) -> tuple[Array, Array, Array]:
        """Flow of every branch, its slope by its drop, and orifices' slopes by their control."""
        drop = self.drops @ pressure
        orifices, pipes, straights = self.families
        a, b = len(orifices.names), len(orifices.names) + len(pipes.names)
        q1, s1, c1 = orifices.flow(drop[:a], self.controls @ pressure)
        q2, s2 = pipes.flow(drop[a:b])
        q3, s3 = straights.flow(drop[b:])
        q = np.concatenate([q1, q2, q3]) * self.passes
        return q, np.concatenate([s1, s2, s3]) * self.passes, c1 * self.passes[:a]

    def velocities(self, pressure: Array, x: Array) -> tuple[Array, Array]:
        """Of every piston, and its slope by the force on it."""
        against = np.array([p.against(xi)[0] for p, xi in zip(self.pistons, x, strict=True)])
        force = self.chamber.T @ pressure - against
        out, rise = above(force - self.friction, SMOOTH_FORCE)
        back, fall = above(-force - self.friction, SMOOTH_FORCE)
        share = self.free / DAMPING
        return (out - back) * share, (rise + fall) * share

    def gas_pressure(self, part: Part, stored: float) -> tuple[float, float]:
        """Gauge pressure of the gas, p V^n in absolute pressure, and its slope by the fluid."""
        charge, whole, n = part["precharge"], part["gas_volume"], part["polytropic_index"]
        if stored <= 0.0:
            return charge + EMPTY * stored, EMPTY
        stored = min(stored, 0.999 * whole)  # a trial of the solver may go beyond
        absolute = (charge + ATMOSPHERE) * (whole / (whole - stored)) ** n
        return absolute - ATMOSPHERE, n * absolute / (whole - stored)

    def rates(self, _time: float, y: Array) -> Array:
        """d/dt of everything."""
        pressure, _, _ = self.pressures(y)
        q, _, _ = self.flows(pressure)
        v, _ = self.velocities(pressure, y[self.slices[1]])
        arriving = -(self.gather @ q)
        result = np.zeros_like(y)
        net = arriving - self.chamber @ v
        for k, (part, node) in enumerate(zip(self.gas, self.gas_node, strict=True)):
            at = self.slices[2].start + k
            filling = GAS_INLET * (pressure[node] - self.gas_pressure(part, y[at])[0])
            net[node] -= filling
            result[at] = filling
        result[self.slices[0]] = np.where(self.is_fixed, 0.0, net * self.bulk / self.reference)
        result[self.slices[1]] = v
        result[self.slices[3]] = self.tank @ arriving
        for k, row in enumerate(self.pump_row):
            if row is not None:
                part = self.hand_pumps[k]
                result[self.slices[4].start + k] = q[row] / part["displacement"]
        return result

    def jacobian(self, _time: float, y: Array) -> Array:
        """d rates / d y."""
        nodes, places = self.slices[:2]
        pressure, by_own, volume = self.pressures(y)
        _, slope, by_control = self.flows(pressure)
        _, by_force = self.velocities(pressure, y[places])
        branch = slope[:, None] * self.weight
        branch[: len(by_control)] += by_control[:, None] * self.control
        arriving = -(self.gather @ branch)
        net = arriving - (self.chamber * by_force) @ self.chamber.T
        result = np.zeros((len(y), len(y)))
        moving = by_force[:, None] * self.chamber.T
        for k, (part, node) in enumerate(zip(self.gas, self.gas_node, strict=True)):
            at = self.slices[2].start + k
            net[node, node] -= GAS_INLET
            softness = GAS_INLET * self.gas_pressure(part, y[at])[1]
            result[node, at] = softness * self.bulk / self.reference[node]
            result[at, node] = GAS_INLET * by_own[node]
            result[at, at] = -softness
        scale = np.where(self.is_fixed, 0.0, self.bulk / self.reference)
        result[nodes, nodes] = scale[:, None] * net * by_own
        result[places, nodes] = moving * by_own
        result[self.slices[3], nodes] = (self.tank @ arriving) * by_own
        for k, row in enumerate(self.pump_row):
            if row is not None:
                part = self.hand_pumps[k]
                at = self.slices[4].start + k
                result[at, nodes] = branch[row] * by_own / part["displacement"]
        # loads, stops and the room of the chambers change with the position
        swelling = -(by_own * y[nodes] / volume)[:, None] * self.chamber
        for k, piston in enumerate(self.pistons):
            stiffness = piston.against(y[places][k])[1]
            result[places, places.start + k] += moving @ swelling[:, k]
            result[places.start + k, places.start + k] -= by_force[k] * stiffness
            result[nodes, places.start + k] += scale * (net @ swelling[:, k])
            result[nodes, places.start + k] += scale * self.chamber[:, k] * by_force[k] * stiffness
        return result
