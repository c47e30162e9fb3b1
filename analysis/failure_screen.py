"""Which failures cannot matter to a procedure: seen from its run without any failure.

A failure takes branches out of the network and puts others in. Where all of them would
pass nothing at the pressures of the run without it, those pressures satisfy the equations
with it as well, and each step of a run has one solution only: so the two runs are the
same. `ScreeningMotion` adds up, while a procedure runs, what the branches of each failure
pass or would pass; a failure is idle if that volume stays below `NEGLIGIBLE`. Nothing is
guessed: what is not shown to be idle is run.

Both runs must begin alike, too. The pressures they begin with are those of an instant, where
a closed end may be under a pressure that a passage hands on without passing anything. And a
pump that turns against a closed circuit passes nothing either, but not without its fluid.
"""

from __future__ import annotations

import numpy as np

from analysis.assemble import LaidLine
from analysis.circuit import Circuit
from analysis.compiled.laws import rounded_roots
from analysis.constants import LEAK_COEFFICIENT
from analysis.devices import Shuttle
from analysis.failure_changes import Change, change_of_part
from analysis.failure_modes import Failure
from analysis.motion import Motion
from analysis.network import Array, Branch, Builder, Network
from analysis.newton import Outcome, Solution
from analysis.part import Part, orifice_coefficient

NEGLIGIBLE = 1e-12
"""Volume [m3] that changes the pressure even of a fitting alone by no more than 1.5 kPa.

A fitting's worth of fluid (`analysis.machine.NODE_VOLUME`) takes 7e-16 m3/Pa.
"""

_AT_REST = 1.0
"""Pressure [Pa] that counts as that of the air."""
_CUTTING = ("blocked", "ruptured")
_SHUT = 100.0
"""A branch is shut at the start if this much more or less pressure [Pa] opens it neither."""


class ScreeningMotion(Motion):
    """A motion that finds, while it goes, which failures would have changed nothing.

    Parameters
    ----------
    circuit
        As for `Motion`.
    failures
        Those to look at.
    """

    sees_all = True

    def __init__(self, circuit: Circuit, failures: tuple[Failure, ...]) -> None:
        self._displaced = dict.fromkeys(failures, 0.0)
        self._passed: Array | None = None
        self._began = False
        super().__init__(circuit, shared=True)

    def idle(self) -> frozenset[Failure]:
        """The failures that would have changed nothing, now that it is over."""
        self._account()
        return self.idle_before_levers()

    def idle_before_levers(self) -> frozenset[Failure]:
        """The failures that would have changed nothing up to when levers were moved last."""
        return frozenset(f for f, volume in self._displaced.items() if volume <= NEGLIGIBLE)

    # -- while it goes ----------------------------------------------------------------

    def _build(self) -> None:
        self._account()
        super()._build()
        network = self.assembly.network
        self._passed = np.zeros(network.branches)
        self._holes = np.zeros(network.count)
        self._low, self._high = self.pressure.copy(), self.pressure.copy()
        self._changes = {
            f: change_of_part(self.assembly.parts[f.subject], f.mode)
            for f, volume in self._displaced.items()
            if volume <= NEGLIGIBLE and f.subject in self.assembly.parts
        }
        self._lay_added()
        if not self._began:
            self._began = True
            self._begin()

    def _lay_added(self) -> None:
        """One network of all the branches that failures would put in, beside the real one."""
        net = self.assembly.builder
        beside = Builder(dict(net.nodes), net.count, dict(net.fixed), dynamic=True)
        owners: dict[str, list[Failure]] = {family: [] for family in beside.rows}
        for failure, change in self._changes.items():
            for family, terms, row in change.added if change is not None else ():
                beside.terms[family].append(tuple(terms))
                beside.rows[family].append(row)
                owners[family].append(failure)
        self._beside: Network = beside.build()
        self._beside_owners = [f for family in self._beside.slices for f in owners[family]]
        self._would_pass = np.zeros(self._beside.branches)

    def _accept(self, solution: Solution, outcome: Outcome, duration: float, error: float) -> None:
        # before the step is taken, since it may end in another network
        if self._passed is not None:
            p = solution.pressure
            self._passed += np.abs(solution.q) * duration
            self._holes += rounded_roots(np.maximum(p, 0.0)) * duration
            flows = np.abs(self._beside.flows(self._beside.drive(p))[0])
            self._would_pass += flows * duration
            self._low = np.minimum(self._low, p)
            self._high = np.maximum(self._high, p)
        for device in self.stepper.switches:
            if isinstance(device, Shuttle) and device.position != 1:
                self._add(Failure(device.owner, "stuck"), np.inf)
        super()._accept(solution, outcome, duration, error)

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
        self._in_vain = self._pump_pushes_in_vain()
        self._volumes = self._passed * np.abs(network.weight).max(axis=1, initial=0.0)
        beside = self._would_pass * np.abs(self._beside.weight).max(axis=1, initial=0.0)
        for failure, volume in zip(self._beside_owners, beside, strict=True):
            self._add(failure, float(volume))
        for failure, volume in self._displaced.items():
            if volume <= NEGLIGIBLE:
                laid = self.assembly.lines.get(failure.subject)
                more = (
                    self._by_line(laid, failure.mode)
                    if laid is not None
                    else self._by_part(self.assembly.parts[failure.subject], failure)
                )
                self._displaced[failure] += more
        self._passed = None

    # -- where it begins --------------------------------------------------------------

    def _begin(self) -> None:
        """Leave what could hand a pressure on at the start to a run."""
        for failure, volume in self._displaced.items():
            laid = self.assembly.lines.get(failure.subject)
            change = self._changes.get(failure)
            removed = change.removed if change is not None else ()
            if laid is not None and laid.branch is not None and failure.mode in _CUTTING:
                removed = (laid.branch,)
            if volume <= NEGLIGIBLE and any(self._hands_on(branch) for branch in removed):
                self._displaced[failure] = np.inf

    def _hands_on(self, branch: Branch) -> bool:
        """Whether a pressure at the start may be there because of this branch.

        It is not where the branch is well shut, nor where all it joins is at the pressure
        of the air.
        """
        network = self.assembly.network
        row = network.row(branch)
        nodes = network.node[row][network.weight[row] != 0.0]
        if float(np.abs(self.pressure[nodes]).max(initial=0.0)) <= _AT_REST:
            return False
        # how far these are open is not known yet
        if any(getattr(d, "branch", None) == branch for d in self.assembly.builder.devices):
            return True
        drive = network.drive(self.pressure)
        shifted = [network.flows(drive + shift) for shift in (-_SHUT, 0.0, _SHUT)]
        return any(bool(flow[row] or slope[row]) for flow, slope in shifted)

    def _pump_pushes_in_vain(self) -> bool:
        """Whether a pump that turned, with fluid, passed nothing since the network was made."""
        if self._passed is None or not self._passed.any():
            return False
        rows = [
            self.assembly.network.row(part.branches["delivery"])
            for part in self.assembly.parts.values()
            if "delivery" in part.branches and part.id not in self.stepper.dry
        ]
        return bool(rows) and float(self._passed[rows].min()) <= NEGLIGIBLE

    # -- lines ------------------------------------------------------------------------

    def _by_line(self, laid: LaidLine, mode: str) -> float:
        if laid.fault != "none":
            return 0.0 if laid.fault == mode else np.inf
        nodes = [self.assembly.node(laid.start), self.assembly.node(laid.end)]
        settings = self.circuit.lines[laid.id].resolved.settings
        if mode == "external_leak":
            hole = orifice_coefficient(
                settings["leak_diameter"], LEAK_COEFFICIENT, self.assembly.liquid.density
            )
            return hole * float(self._holes[nodes].sum()) + self._spring(laid, nodes)
        if laid.branch is None or self._passed is None or self._in_vain:
            return np.inf
        if mode == "blocked":
            row = self.assembly.network.row(laid.branch)
            return float(self._passed[row]) + self._spring(laid, nodes)
        return self._opened(nodes)

    def _opened(self, nodes: list[int]) -> float:
        """What nodes that a rupture holds at the pressure of the air would have passed."""
        if any(self.assembly.network.is_fixed[node] for node in nodes):
            return np.inf
        resting = max(float(np.abs(x[nodes]).max()) for x in (self._low, self._high))
        return np.inf if resting > _AT_REST else float(self._through[nodes].sum())

    def _spring(self, laid: LaidLine, nodes: list[int]) -> float:
        """What the fluid in the line gave or took by being compressed [m3]."""
        length = self.circuit.lines[laid.id].resolved.settings["length"]
        if laid.branch is None or laid.bore is None or length is None:
            return 0.0
        rise = float((self._high - self._low)[nodes].max())
        volume = np.pi / 4.0 * laid.bore**2 * float(length)
        return float(volume * rise / self.assembly.liquid.bulk_modulus)

    # -- components -------------------------------------------------------------------

    def _by_part(self, part: Part, failure: Failure) -> float:
        if part.fault != "none":
            return 0.0 if part.fault == failure.mode else np.inf
        if part.kind == "shuttle_valve" and failure.mode == "stuck":
            return 0.0  # watched at every step
        change: Change | None = self._changes.get(failure)
        if change is None or (self._in_vain and (change.removed or change.opened)):
            return np.inf
        rows = [self.assembly.network.row(branch) for branch in change.removed]
        volume = float(self._volumes[rows].sum())
        return volume + (self._opened(list(change.opened)) if change.opened else 0.0)
