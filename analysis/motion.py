"""The circuit over time: steps cut at events, levers moved between them.

`Motion` holds the state of a circuit that is being worked: pressures, extensions, fluid
in accumulators and reservoirs, locks. `advance` takes it to a later time; `apply` moves a
lever, starts a pump or breaks a line. `analysis.runs.run` drives it by a procedure, the
editor by hand.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from math import sqrt
from typing import Any

import numpy as np

from analysis.assemble import Assembly, assemble
from analysis.begin_pressures import Begin, find_begin
from analysis.blas import one_thread
from analysis.circuit import Circuit, Component
from analysis.compiled.quiet_steps import FIRST_STEP, MOST_CUTS, SHORTEST
from analysis.compiled.step_length import NOT_TRIED, cut_at, shortened
from analysis.compiled.time_step import Before
from analysis.constants import ATMOSPHERE, WITHOUT_LIMIT
from analysis.counters import add_up
from analysis.crossings import Crossings, Turn
from analysis.devices import Shuttle
from analysis.hunting import Changes
from analysis.lock_memory import LockMemory
from analysis.moment import Moment
from analysis.motion_accounts import AccountKeeper
from analysis.newton import Outcome, Solution
from analysis.outlets import Outlets, mouths
from analysis.pace import EXACT
from analysis.port_pressures import at_nodes
from analysis.procedures import apply_changes
from analysis.pulsation import Handles
from analysis.recording import Event, SignalValue
from analysis.resolved import resolve_element
from analysis.signals import Signals, read_signals
from analysis.step_errors import error_of
from analysis.stepping import Stepper, vapour_after

_AFTER_LOCK = 5e-6
"""First step [s] after a lock let go: long ones would miss which of its fellows follow."""


class Motion:
    """A circuit that is being worked.

    Parameters
    ----------
    circuit
        Copied; the circuit itself is not changed.
    shared
        Nobody else changes the circuit as long as this motion is used: it need not be copied.
    begin
        How it begins, if that is known; else found by solving the instant.
    moment
        Where a motion of the same circuit, or of one that differs in its failures only, had got
        to: this one goes on from there. `begin` counts for nothing then.

    Attributes
    ----------
    time
        Since the start [s].
    events
        What has happened, in order.
    message
        Why it cannot go on; empty while it can.
    pace
        How finely it steps.
    switched
        How valves with a memory stand, by id: unloading valves cut out, shuttles' inlets.
    changes
        When unloading valves changed over last, by id.
    """

    sees_all = False
    """Whether every step is looked at, though nothing happens in it."""

    def __init__(
        self,
        circuit: Circuit,
        *,
        shared: bool = False,
        begin: Begin | None = None,
        moment: Moment | None = None,
    ) -> None:
        self.circuit = circuit if shared else circuit.copy()
        self.time = 0.0
        self.events: list[Event] = []
        self.message = ""
        self.steps = 0
        self.pace = EXACT
        self.moving: dict[str, dict[str, Any]] = {}
        self.strokes: dict[str, float] = {}
        self.turns: dict[str, Turn] = {}
        self.outlets = Outlets()
        self.shifted: dict[str, float] = {}
        self.accounts = AccountKeeper(self)
        self._port_pressure: dict[str, float] = {}
        self._port_vapour: dict[str, float] = {}
        self._is_behind = False
        """Whether steps were taken since the pressures were last noted port by port."""
        self.switched: dict[str, Any] = {}
        self.changes: dict[str, Changes] = {}
        self.limitless: set[str] = set()
        self.locks = LockMemory()
        if moment is None:
            self.begin = begin or find_begin(self.circuit)
            self._start()
        else:
            self.begin = Begin(moment.port_pressure, moment.switched)
            self._take(moment)
        self._build()
        self.accounts.levels_set()
        self._duration = FIRST_STEP
        self.solution: Solution | None = None
        self.solved = self.stepper
        self._trend: Outcome | None = None
        self._kept_signals: dict[frozenset[str], Signals] = {}

    @property
    def port_pressure(self) -> dict[str, float]:
        """At every port, after the last step [Pa]."""
        self._note_ports()
        return self._port_pressure

    @property
    def port_vapour(self) -> dict[str, float]:
        """What vapour there is at the node of every port [m3]."""
        self._note_ports()
        return self._port_vapour

    def _note_ports(self) -> None:
        """Keep pressures and vapour by port, which a network that is made anew begins with."""
        if not self._is_behind:
            return
        self._is_behind = False
        pressures, vapours = self.pressure.tolist(), self.vapour.tolist()
        for port, node in self.assembly.builder.nodes.items():
            self._port_pressure[port] = pressures[node]
            self._port_vapour[port] = vapours[node]

    # -- states ---------------------------------------------------------------------

    def _start(self) -> None:
        """Begin with the states as they are written."""
        self._port_pressure = dict(self.begin.pressures)
        self.switched = dict(self.begin.switched)
        self._read_states()

    def _read_states(self) -> None:
        """Take the written states of everything that moves, fills or counts."""
        for component in self.circuit.components.values():
            values = resolve_element(component)
            kept: dict[str, Any] = {
                name: values.state[name]
                for name in ("extension", "volume", "fluid_volume", "closed")
                if name in values.state
            }
            if component.kind == "hydraulic_fuse":
                kept["passed"] = 0.0
            if kept:
                self.moving[component.id] = kept
            if component.kind == "hand_pump":
                self.strokes[component.id] = 0.0
                self.moving[component.id] = {"cycles": 0.0}
            if component.kind == "reservoir":
                self._set_level(component)

    def _set_level(self, reservoir: Component) -> None:
        volume = self.moving[reservoir.id]["volume"]
        settings = resolve_element(reservoir).settings
        self.outlets.set_level(reservoir.id, settings, volume, self.time)

    def apply(self, changes: Mapping[str, Mapping[str, Any]]) -> None:
        """Set settings and states by id and name, as a procedure's `set`.

        Raises
        ------
        CircuitError
            If there is no such element, setting or value; nothing is changed then.
        """
        trial = self.circuit.with_own(changes)
        apply_changes(trial, changes)
        self.circuit = trial
        for identifier, values in changes.items():
            component = self.circuit.components.get(identifier)
            for name in values:
                if component is not None and name in self.moving.get(identifier, {}):
                    self.moving[identifier][name] = resolve_element(component).state[name]
                if name in ("volume", "reserve", "capacity") and identifier in self.moving:
                    self._set_level(self.circuit.components[identifier])
                if name == "lock" and values[name] in ("locked", "released"):
                    for end in ("retracted", "extended"):
                        self.locks.mark(identifier, end, released=values[name] == "released")
        self._build()
        self.accounts.levels_set()

    def _build(self) -> None:
        """The network for the levers, faults and covered outlets as they now are."""
        self._lay_out()
        if self._drain_open_outlets():
            self._lay_out()
        self.crossings = Crossings(self)
        self._duration, self._trend = FIRST_STEP, None

    def _lay_out(self) -> None:
        self._note_ports()
        uncovered = self.outlets.uncovered
        states = {
            key: values | {"uncovered": uncovered(key)} if "volume" in values else values
            for key, values in self.moving.items()
        }
        self.assembly: Assembly = assemble(self.circuit, states)
        self.stepper = Stepper(self.assembly)
        self.stepper.recall(self.switched)
        self.handles = Handles(self)
        network = self.assembly.network
        self.pressure, self.vapour = at_nodes(self.assembly, self._port_pressure, self._port_vapour)
        self.is_any_vapour = bool(self.vapour.any())
        for mover in self.stepper.movers:
            extension = self.moving[mover.part.id]["extension"]
            for lock in mover.locks:
                self.locks.take(lock, extension, mover.travel, network)
        self._place_shuttles()

    def _place_shuttles(self) -> None:
        """Shuttles begin at the inlet of higher pressure at once, not after a step."""
        for device in self.stepper.switches:
            if isinstance(device, Shuttle) and not (device.stuck or device.owner in self.switched):
                one, two = (self.pressure[node] for node in device.inlets)
                if two > one + 100.0:
                    device.switch(self.assembly.network, 2)

    def _drain_open_outlets(self) -> bool:
        """A broken line at a reservoir outlet drains it at once to that outlet's level."""
        drained = False
        for tank in self.stepper.tanks:
            part, state = tank.part, self.moving[tank.part.id]
            if state["volume"] <= tank.brim:
                continue
            self.accounts.spill(state["volume"] - tank.brim)
            state["volume"] = tank.brim
            self.outlets.set_level(part.id, part.settings, tank.brim, self.time)
            outlet = next(o for o, mouth in mouths(part.settings) if mouth == tank.brim)
            self.tell(part.id, f"drains through the broken line at its {outlet} outlet")
            drained = True
        return drained

    # -- moments --------------------------------------------------------------------

    def moment(self) -> Moment:
        """All that is needed to come back to now."""
        return Moment(
            self.time,
            self.circuit,
            {key: dict(values) for key, values in self.moving.items()},
            dict(self.port_pressure),
            dict(self.strokes),
            self.locks.copy(),
            dict(self.outlets.since),
            dict(self.outlets.gulps),
            frozenset(self.outlets.full),
            dict(self.port_vapour),
            dict(self.switched),
            dict(self.changes),
            frozenset(self.limitless),
            len(self.events),
        )

    def return_to(self, moment: Moment) -> None:
        """Go back to a moment of this motion; what happened after it is forgotten."""
        self.circuit = moment.circuit
        self._take(moment)
        self.events = self.events[: moment.events]
        self.turns, self.shifted, self.message = {}, {}, ""
        self._build()
        self.accounts.levels_set()

    def _take(self, moment: Moment) -> None:
        """Take over the states of a moment; the network is made anew after it."""
        self.time = moment.time
        self.moving = {key: dict(values) for key, values in moment.moving.items()}
        self._port_pressure, self._is_behind = dict(moment.port_pressure), False
        self.strokes = dict(moment.strokes)
        self.locks = moment.locks.copy()
        self.outlets.since = dict(moment.uncovered)
        self.outlets.gulps, self.outlets.full = dict(moment.gulps), set(moment.full)
        self._port_vapour, self.switched = dict(moment.vapour), dict(moment.switched)
        self.changes = dict(moment.changes)
        self.limitless = set(moment.limitless)

    # -- time -----------------------------------------------------------------------

    def tell(self, subject: str, message: str) -> None:
        """Record an event now."""
        self.events.append(Event(self.time, subject, message))

    def pressures(self, ports: Iterable[str] | None = None) -> dict[str, float | None]:
        """At every port, or at those given [Pa]; None where nothing limits it."""
        if ports is not None and self._is_behind:
            nodes, pressure = self.assembly.builder.nodes, self.pressure
            found = {port: float(pressure[nodes[port]]) for port in ports}
        else:
            known = self.port_pressure
            found = known if ports is None else {port: known[port] for port in ports}
        return {
            port: None if value > WITHOUT_LIMIT else max(value, -ATMOSPHERE)
            for port, value in found.items()
        }

    def pressure_at(self, port: str) -> float | None:
        """At one port [Pa]; None where nothing limits it."""
        if self._is_behind:
            value = float(self.pressure[self.assembly.builder.nodes[port]])
        else:
            value = self._port_pressure[port]
        return None if value > WITHOUT_LIMIT else max(value, -ATMOSPHERE)

    def signals(self, wanted: Collection[str] | None = None) -> dict[str, SignalValue]:
        """The present value of every signal, or of those that are wanted [SI]."""
        if wanted is None:
            return read_signals(self, self.solution)
        key = frozenset(wanted)
        kept = self._kept_signals.get(key)
        if kept is None or kept.solved is not self.solved:
            kept = self._kept_signals[key] = Signals(self.solved, key)
        return kept.read(self)

    def rates(self) -> Outcome | None:
        """How fast all went over the last step, if nothing has changed since."""
        return self._trend

    @property
    def next_step(self) -> float:
        """The next step is not longer than this [s], if no lever is moved."""
        return self._duration

    def settle(self) -> None:
        """Solve a first, very short step, so that flows and velocities are there at once."""
        with one_thread():
            self._step(SHORTEST)

    def advance(self, until: float, after_step: Callable[[], bool] | None = None) -> None:
        """Go on to a later time [s].

        Parameters
        ----------
        after_step
            Called after every step; True stops there.
        """
        with one_thread():
            while self.time < until - 1e-9 and not self.message:
                self._step(until - self.time)
                if after_step is not None and after_step():
                    return

    def step_towards(self, until: float) -> None:
        """One step, to a later time [s] at most; the caller keeps to `one_thread`."""
        if self.time < until - 1e-9 and not self.message:
            self._step(until - self.time)

    def _step(self, longest: float) -> None:
        """One accepted step, shortened until it is accurate and ends at the first event."""
        finest = self.crossings.finest()
        duration = max(self._duration, finest)
        wished = min(duration, self.pace.longest, self.handles.longest)
        before = self.before()
        if self._trend is not None:
            members = self.stepper.members
            wished = shortened(members, before.extension, before.velocity, wished, self.pace.way)
        duration = min(wished, longest)
        fluid = {c.part.id: self.moving[c.part.id]["fluid_volume"] for c in self.stepper.charges}
        cuts, tried = 0, NOT_TRIED
        while True:
            if self.handles.pumps:
                self.handles.set(duration)
            solution, outcome = self.stepper.step(before, fluid, duration, self.pace)
            if not solution.converged:
                if duration <= 10 * SHORTEST:
                    self.message = f"no solution at {self.time:.3f} s: the flows do not balance"
                    return
                duration *= 0.25
                continue
            error = error_of(self, outcome, duration)
            if error > 1.0 and duration > max(10 * SHORTEST, finest):
                duration *= max(0.2, 0.8 / sqrt(error))
                continue
            share = self.crossings.first(solution, outcome, duration)
            if share < 1.0 and duration * share > SHORTEST and cuts < MOST_CUTS:
                trial = duration, max(share, 0.02) * duration
                duration, tried, cuts = cut_at(trial, tried), trial, cuts + 1
                continue
            break
        is_cut_short = duration == longest < wished and self.pace.to_arrivals
        if self.pace.accounts:
            self.accounts.add(solution, duration, self.stepper.capacity(before.extension))
        self.take_step(solution, outcome, duration, error, wished if is_cut_short else 0.0)

    def before(self) -> Before:
        """How all stands before a step."""
        extension = [self.moving[m.part.id]["extension"] for m in self.stepper.movers]
        return self.stepper.before(self.pressure, self.vapour, np.array(extension), self._trend)

    def take_step(
        self, solution: Solution, outcome: Outcome, duration: float, error: float, uncut: float
    ) -> None:
        """Take a step [s] as it was found, with its error; `uncut` is how long the next one may be
        in any case [s], since only a look cut this one short."""
        self._accept(solution, outcome, duration, error)
        if self._trend is not None:
            self._duration = max(self._duration, uncut)

    def stand(self, solution: Solution, outcome: Outcome, next_step: float) -> None:
        """Stand as a step left it; the next one may be so long [s]."""
        self.pressure, self.solution, self.solved = solution.pressure, solution, self.stepper
        self._is_behind, self._trend, self._duration = True, outcome, next_step

    def _accept(self, solution: Solution, outcome: Outcome, duration: float, error: float) -> None:
        for mover, v in zip(self.stepper.movers, outcome.velocity.tolist(), strict=True):
            if not v:
                continue
            state = self.moving[mover.part.id]
            state["extension"] = min(max(state["extension"] + v * duration, 0.0), mover.travel)
            mover.part.state["extension"] = state["extension"]
        add_up(self, solution, outcome, duration)
        if self.handles.pumps:
            self.handles.move(solution, duration)
        if self.is_any_vapour or outcome.lowest < -ATMOSPHERE:
            self.vapour = vapour_after(self.vapour, solution.pressure, duration)
            self.vapour[self.assembly.network.is_fixed] = 0.0
            self.is_any_vapour = bool(self.vapour.any())
        self.time += duration
        self.steps += 1
        ahead = duration * min(self.pace.growth, 0.9 / sqrt(max(error, 1e-3)))
        self.stand(solution, outcome, ahead)
        if self.crossings.happen(solution, outcome):
            self._duration, self._trend = FIRST_STEP, None
        if self.crossings.let_go:
            self._duration = _AFTER_LOCK

    def rebuild(self) -> None:
        """Make the network anew after an outlet was uncovered, a fuse closed, a roller tripped."""
        self._build()
