"""Which failures cannot matter to a procedure: seen from its run without any failure.

Where a part passed nothing and stood under no pressure all along, the run without its
failure satisfies the equations with it as well, and each step of a run has one solution
only: so the two runs are the same. `ScreeningMotion` adds up, while a procedure runs,
what passes each branch and how long each node is under pressure; a failure is idle if
the volume that it could have displaced stays below `NEGLIGIBLE`. Nothing is guessed: what
is not shown to be idle is run.
"""

from __future__ import annotations

import numpy as np

from analysis.assemble import LaidLine
from analysis.circuit import Circuit
from analysis.constants import LEAK_COEFFICIENT
from analysis.devices import Shuttle
from analysis.failure_modes import Failure
from analysis.laws import LAWS
from analysis.laws.leaks import leak_ports
from analysis.motion import Motion
from analysis.network import Array, Builder
from analysis.newton import Solution
from analysis.part import Part, orifice_coefficient

NEGLIGIBLE = 1e-12
"""Volume [m3] that changes the pressure even of a fitting alone by no more than 1.5 kPa.

A fitting's worth of fluid (`analysis.stepping.NODE_VOLUME`) takes 7e-16 m3/Pa.
"""

_REMOVING = ("blocked", "stuck_closed", "no_output")
_HOLDING = ("pressure_source", "accumulator", "flow_meter", "hose")
"""Kinds that do more than their branches show: they hold a pressure, or join two nodes."""
_LEVERS = ("shutoff_valve", "valve_3_2", "valve_4_2", "valve_4_3")


class ScreeningMotion(Motion):
    """A motion that finds, while it goes, which failures would have changed nothing.

    Parameters
    ----------
    circuit
        As for `Motion`.
    failures
        Those to look at.
    """

    def __init__(self, circuit: Circuit, failures: tuple[Failure, ...]) -> None:
        self._displaced = dict.fromkeys(failures, 0.0)
        self._passed: Array | None = None
        super().__init__(circuit)

    def idle(self) -> frozenset[Failure]:
        """The failures that would have changed nothing so far."""
        self._account()
        return frozenset(f for f, volume in self._displaced.items() if volume <= NEGLIGIBLE)

    def _build(self) -> None:
        self._account()
        super()._build()
        network = self.assembly.network
        self._passed = np.zeros(network.branches)
        self._pressed = np.zeros(network.count)
        self._low, self._high = self.pressure.copy(), self.pressure.copy()

    def _accept(self, solution: Solution, duration: float, capacity: Array, error: float) -> None:
        # before the step is taken, since it may end in another network
        if self._passed is not None:
            self._passed += np.abs(solution.q) * duration
            self._pressed += np.sqrt(np.abs(solution.pressure)) * duration
            self._low = np.minimum(self._low, solution.pressure)
            self._high = np.maximum(self._high, solution.pressure)
        for device in self.stepper.switches:
            if isinstance(device, Shuttle) and device.position != 1:
                self._add(Failure(device.owner, "stuck"), np.inf)
        super()._accept(solution, duration, capacity, error)

    def _add(self, failure: Failure, volume: float) -> None:
        if failure in self._displaced:
            self._displaced[failure] += volume

    def _account(self) -> None:
        """Add what each failure could have displaced since the network was made."""
        if self._passed is None:
            return
        network = self.assembly.network
        flows = (np.abs(network.weight) * self._passed[:, None]).ravel()
        self._through = np.bincount(network.flat_nodes, weights=flows, minlength=network.count)
        for failure, volume in self._displaced.items():
            if volume <= NEGLIGIBLE:
                laid = self.assembly.lines.get(failure.subject)
                more = (
                    self._by_line(laid, failure.mode)
                    if laid is not None
                    else self._by_part(self.assembly.parts[failure.subject], failure.mode)
                )
                self._displaced[failure] += more
        self._passed[:] = 0.0
        self._pressed[:] = 0.0

    # -- lines ------------------------------------------------------------------------

    def _by_line(self, laid: LaidLine, mode: str) -> float:
        ends = (self.assembly.node(laid.start), self.assembly.node(laid.end))
        if laid.fault != "none":
            return np.inf
        settings = self.circuit.lines[laid.id].resolved.settings
        if mode == "external_leak":
            hole = orifice_coefficient(
                settings["leak_diameter"], LEAK_COEFFICIENT, self.assembly.liquid.density
            )
            return hole * float(self._pressed[list(ends)].sum()) + self._spring(laid, ends)
        if laid.branch is None or self._passed is None:
            return np.inf
        if mode == "blocked":
            row = self.assembly.network.row(laid.branch)
            return float(self._passed[row]) + self._spring(laid, ends)
        # ruptured: both ends are held at the pressure of the air, where they must be already
        if any(self.assembly.network.is_fixed[node] for node in ends):
            return np.inf
        resting = max(float(np.abs(x[list(ends)]).max()) for x in (self._low, self._high))
        return np.inf if resting > 1.0 else float(self._through[list(ends)].sum())

    def _spring(self, laid: LaidLine, ends: tuple[int, int]) -> float:
        """What the fluid in the line gave or took by being compressed [m3]."""
        length = self.circuit.lines[laid.id].resolved.settings["length"]
        if laid.branch is None or laid.bore is None or length is None:
            return 0.0
        rise = float((self._high - self._low)[list(ends)].max())
        volume = np.pi / 4.0 * laid.bore**2 * float(length)
        return float(volume * rise / self.assembly.liquid.bulk_modulus)

    # -- components -------------------------------------------------------------------

    def _by_part(self, part: Part, mode: str) -> float:
        if part.fault != "none" or self._passed is None:
            return np.inf
        if mode.endswith("_leak"):
            nodes = [part.ports[port] for port in leak_ports(part, mode)]
            return part.leak() * float(self._pressed[nodes].sum())
        if mode == "stuck":
            # a shuttle is watched at every step; levers are looked at by the procedure
            lever = part.kind in _LEVERS and part.settings.get("operator") != "roller"
            return 0.0 if lever or part.kind == "shuttle_valve" else np.inf
        if mode in _REMOVING and part.kind not in _HOLDING and _lays_nothing(part, mode):
            rows = [self.assembly.network.row(branch) for _, branch, _ in part.taps]
            return float(self._passed[rows].sum())
        return np.inf


def _lays_nothing(part: Part, mode: str) -> bool:
    """Whether the failed part is no more than its ports."""
    builder = Builder(dict(part.net.nodes), part.net.count, dict(part.net.fixed), dynamic=True)
    failed = Part(
        part.id,
        part.kind,
        part.settings,
        part.state,
        mode,
        part.written,
        part.ports,
        builder,
        part.liquid,
    )
    LAWS[part.kind](failed)
    laid = any(builder.rows.values()) or builder.devices
    return not laid and builder.fixed == part.net.fixed and builder.count == part.net.count
