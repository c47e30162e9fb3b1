"""Runs a sample's procedure with scipy.integrate.solve_ivp (Radau), cut at every event.

The levers, faults, locks and covered outlets are constant between two events; the event
functions of solve_ivp find where they change. Shares no code with the program.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp
from threadpoolctl import threadpool_limits

from tests.independent.history_laws import Array
from tests.independent.history_network import Machine, Modes
from tests.independent.history_parts import Piston, lay_out
from tests.independent.instant import _dry_pumps, solve
from tests.independent.sheet import LOCK_STATES, SAMPLES, Sheet, changed, si

METHOD = "Radau"
"""Implicit, of one step: BDF is quicker, but what it remembers of earlier steps lets a node
that is shut off drift by half a bar (seen)."""
RELATIVE = 1e-8
ABSOLUTE = np.array([3.0, 1e-10, 1e-11, 1e-11, 1e-6])
"""Errors of pressures [Pa], positions [m], fluid [m3], and strokes.

A position that is wrong by a micrometre is a visible pressure in a small chamber.
"""
AT_STOP = 1e-4
"""Share of the travel that counts as the stop itself."""
AWAY = 4e-3
"""Share of the travel beyond which a piston counts as away from its stop."""

DROP = 1e-6
"""Fluid above a mouth [m3] that does not cover it again."""


@dataclass
class Watch:
    """A function of the state whose crossing of zero is an event, and what then happens."""

    value: Callable[[Array], float]
    direction: int
    happen: Callable[[float, Array], None]


@dataclass
class History:
    """Signals by name over `time`; events as (time, subject, what)."""

    time: Array
    signals: dict[str, Array]
    events: list[tuple[float, str, str]]
    full: dict[str, float]
    """Travel of pistons, gas volume of accumulators, capacity of reservoirs, by id [m, m3]."""
    steps: int
    evaluations: int


@dataclass
class _Waiting:
    raw: dict[str, Any]
    due: float | None = None


def load(sample: str, procedure: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """The record of a sample and of one of its procedures."""
    record = json.loads((SAMPLES / f"{sample}.circuit.json").read_text(encoding="utf-8"))
    return record, next(p for p in record["procedures"] if p["name"] == procedure)


def end_of(plan: dict[str, Any]) -> float:
    """The latest time of the procedure [s]."""
    times = [si(s["at"]) for s in plan["steps"] if "at" in s]
    return max(times + [si(e["by"]) for e in plan["expect"] if "by" in e])


class Runner:
    """One history."""

    def __init__(
        self,
        record: dict[str, Any],
        plan: dict[str, Any],
        looser: float = 1.0,
        method: str = METHOD,
    ) -> None:
        self.record = changed(record, plan.get("start", {}))
        self.looser, self.method = looser, method
        self.time, self.end = 0.0, end_of(plan)
        self.waiting = [_Waiting(step) for step in plan["steps"]]
        self.events: list[tuple[float, str, str]] = []
        self.chunks: list[tuple[Array, Array]] = []
        self.modes = Modes()
        sheet = Sheet(self.record)
        instant = solve(sheet)
        self.levels = {p.id: p["volume"] for p in sheet.parts.values() if p.kind == "reservoir"}
        self.uncovered = {
            (p.id, name)
            for p in sheet.parts.values()
            if p.kind == "reservoir"
            for name, level in (("supply", 0.0), ("standpipe", p["reserve"]))
            if p["volume"] <= level
        }
        self.modes.unloaded = dict(instant.states.unloaded)
        for part in sheet.parts.values():
            if part.kind == "shuttle_valve":
                self.modes.shuttle[part.id] = instant.states.shuttle.get(part.id, 1)
        self._build()
        machine = self.machine
        pressure = {p: 0.0 if p in instant.floating else v for p, v in instant.pressure.items()}
        x = np.array([p.part["extension"] for p in machine.pistons])
        volume = machine.line_volume + machine.chamber_at_zero + machine.chamber @ x
        own = np.array([pressure.get(p, 0.0) for p in machine.ports]) * volume / machine.reference
        self.y = np.concatenate(
            [
                own,
                x,
                [p["fluid_volume"] for p in machine.gas],
                [p["volume"] for p in machine.reservoirs],
                np.zeros(len(machine.hand_pumps)),
            ]
        )
        for piston in machine.pistons:
            self._stand(piston)
            for end in piston.locks:
                here = self.modes.stands_at[piston.id] == end
                locked = piston.part.state.get("lock", "locked") == "locked"
                self.modes.held[piston.id, end] = here and locked
        machine.enable()
        self.steps = self.evaluations = 0
        self.stiff: set[str] = set()

    def _stand(self, piston: Piston) -> None:
        x = self._extension(piston, self.y)
        near = AT_STOP * piston.travel
        at = "retracted" if x <= near else "extended" if x >= piston.travel - near else ""
        self.modes.stands_at[piston.id] = at
        if not at:
            self.modes.away.add(piston.id)

    def _extension(self, piston: Piston, y: Array) -> float:
        return float(y[self.machine.slices[1].start + self.machine.pistons.index(piston)])

    def _build(self) -> None:
        """The system for what the sheet says now and the outlets that are covered."""
        sheet = Sheet(self.record)
        for identifier, volume in self.levels.items():
            sheet.parts[identifier].state["volume"] = volume
        for identifier, name in list(self.uncovered):
            part = sheet.parts[identifier]
            mouth = part["reserve"] if name == "standpipe" else 0.0
            if self.levels[identifier] > mouth + DROP:
                self.uncovered.discard((identifier, name))
            else:
                part.state["volume"] = min(part["volume"], mouth)
        self.machine = Machine(lay_out(sheet, _dry_pumps(sheet)), self.modes)

    # -- events -----------------------------------------------------------------------

    def _tell(self, subject: str, what: str) -> None:
        self.events.append((self.time, subject, what))

    def _pressure(self, port: str) -> Callable[[Array], float]:
        machine, node = self.machine, self.machine.index[port]
        return lambda y: float(machine.pressures(y)[0][node])

    def _watches(self) -> list[Watch]:
        found: list[Watch] = []
        for piston in self.machine.pistons:
            found += self._stop_watches(piston) + self._lock_watches(piston)
        for part in self.machine.layout.of("shuttle_valve"):
            found.append(self._shuttle_watch(part.id))
        for part in self.machine.layout.of("unloading_valve"):
            found.append(self._unloading_watch(part))
        for k, part in enumerate(self.machine.reservoirs):
            at = self.machine.slices[3].start + k
            for name, level in (("supply", 0.0), ("standpipe", part["reserve"])):
                if (part.id, name) not in self.uncovered:
                    found.append(self._level_watch(part.id, name, at, level))
        for part in self.machine.hand_pumps:
            if part.running and part.id not in self.stiff:
                found.append(self._handle_watch(part))
        if self.waiting and "after" in self.waiting[0].raw and self.waiting[0].due is None:
            found.append(self._signal_watch(self.waiting[0]))
        return found

    def _stop_watches(self, piston: Piston) -> list[Watch]:
        at, near = self.modes.stands_at[piston.id], AT_STOP * piston.travel
        clear = AWAY * piston.travel

        def leave(_t: float, _y: Array) -> None:
            self.modes.stands_at[piston.id] = ""
            self.modes.away.add(piston.id)

        def arrive(end: str) -> Callable[[float, Array], None]:
            def happen(_t: float, y: Array) -> None:
                self.modes.stands_at[piston.id] = end
                self._tell(piston.id, f"at stop, {end}")
                port = piston.port(end)
                if end in piston.locks and self._pressure(port)(y) < piston.release:
                    self._lock(piston, end, True)

            return happen

        if at == "retracted":
            return [Watch(lambda y: self._extension(piston, y) - clear, 1, leave)]
        if at == "extended":
            far = piston.travel - clear
            return [Watch(lambda y: self._extension(piston, y) - far, -1, leave)]
        return [
            Watch(lambda y: self._extension(piston, y) - near, -1, arrive("retracted")),
            Watch(
                lambda y: self._extension(piston, y) - piston.travel + near, 1, arrive("extended")
            ),
        ]

    def _lock(self, piston: Piston, end: str, held: bool) -> None:
        self.modes.held[piston.id, end] = held
        self.modes.away.discard(piston.id)
        self._tell(piston.id, f"lock {'engages' if held else 'releases'}, {end}")

    def _lock_watches(self, piston: Piston) -> list[Watch]:
        end = self.modes.stands_at[piston.id]
        if end not in piston.locks:
            return []
        read = self._pressure(piston.port(end))
        held = self.modes.held[piston.id, end]
        if not held and piston.id not in self.modes.away:
            return []
        return [
            Watch(
                lambda y: read(y) - piston.release,
                1 if held else -1,
                lambda _t, _y: self._lock(piston, end, not held),
            )
        ]

    def _shuttle_watch(self, identifier: str) -> Watch:
        one, two = (self._pressure(f"{identifier}.inlet_{k}") for k in (1, 2))
        side = self.modes.shuttle[identifier]
        sign = 1.0 if side == 1 else -1.0

        def shift(_t: float, _y: Array) -> None:
            self.modes.shuttle[identifier] = 3 - side

        return Watch(lambda y: sign * (two(y) - one(y)) - 1000.0, 1, shift)

    def _unloading_watch(self, part: Any) -> Watch:
        read, out = self._pressure(f"{part.id}.outlet"), self.modes.unloaded.get(part.id, False)
        level = part["cut_in_pressure"] if out else part["cut_out_pressure"]

        def switch(_t: float, _y: Array) -> None:
            self.modes.unloaded[part.id] = not out
            self._tell(part.id, f"pump cut {'in' if out else 'out'}")

        return Watch(lambda y: read(y) - level, -1 if out else 1, switch)

    def _level_watch(self, identifier: str, name: str, at: int, level: float) -> Watch:
        def uncover(_t: float, _y: Array) -> None:
            self.uncovered.add((identifier, name))
            self.levels[identifier] = level
            self._tell(identifier, f"{name} uncovered")
            self._build()

        return Watch(lambda y: float(y[at]) - level, -1, uncover)

    def _handle_watch(self, part: Any) -> Watch:
        outlet, inlet = (self._pressure(f"{part.id}.{p}") for p in ("outlet", "inlet"))
        limit = part["effort_limit"] * part["lever_ratio"] / part["piston_area"]

        def stiffen(_t: float, _y: Array) -> None:
            self.stiff.add(part.id)
            self._tell(part.id, "handle stiff")

        return Watch(lambda y: outlet(y) - inlet(y) - 0.998 * limit, 1, stiffen)

    def _signal_watch(self, step: _Waiting) -> Watch:
        condition = step.raw["after"]
        owner, _, name = condition["signal"].rpartition(".")
        sign, key = (1, "at_least") if "at_least" in condition else (-1, "at_most")
        level = si(condition[key])
        if name == "pressure":
            read = self._pressure(owner)
        else:
            piston = next(p for p in self.machine.pistons if p.id == owner)
            read = lambda y: self._extension(piston, y)  # noqa: E731

        def reached(time: float, _y: Array) -> None:
            step.due = time + si(step.raw.get("wait", "0 s"))

        return Watch(lambda y: read(y) - level, sign, reached)

    # -- time -------------------------------------------------------------------------

    def _fire(self) -> None:
        """Take the steps whose time has come."""
        while self.waiting:
            step = self.waiting[0]
            due = si(step.raw["at"]) if "at" in step.raw else step.due
            if due is None or due > self.time + 1e-9:
                return
            self.waiting.pop(0)
            changes = copy.deepcopy(step.raw["set"])
            for identifier, values in changes.items():
                if values.get("lock") in LOCK_STATES:
                    for key in self.modes.held:
                        if key[0] == identifier:
                            self.modes.held[key] = values["lock"] == "locked"
                            self.modes.away.discard(identifier)
                self._tell(identifier, "set")
            self.record = changed(self.record, changes)
            self._build()

    def work(self) -> History:
        """Integrate to the end."""
        while self.time < self.end - 1e-9:
            self._fire()
            self.machine.enable()
            stop = self.end
            if self.waiting:
                step = self.waiting[0]
                due = si(step.raw["at"]) if "at" in step.raw else step.due
                stop = self.end if due is None else min(self.end, due)
            self._advance(stop)
        return self._history()

    def _advance(self, stop: float) -> None:
        watches = self._watches()
        functions = []
        for watch in watches:
            function: Any = lambda _t, y, value=watch.value: value(y)  # noqa: E731
            function.terminal, function.direction = True, watch.direction
            functions.append(function)
        machine = self.machine
        counts = [s.stop - s.start for s in machine.slices]
        solution = solve_ivp(
            machine.rates,
            (self.time, stop),
            self.y,
            method=self.method,
            jac=machine.jacobian,
            events=functions,
            rtol=self.looser * RELATIVE,
            atol=np.repeat(self.looser * ABSOLUTE, counts),
        )
        assert solution.status >= 0, f"{solution.message} at {solution.t[-1]:.3f} s"
        self.steps += len(solution.t)
        self.evaluations += solution.nfev
        self.time, self.y = float(solution.t[-1]), solution.y[:, -1].copy()
        self.chunks.append((solution.t, solution.y))
        for k, part in enumerate(machine.reservoirs):
            self.levels[part.id] = float(self.y[machine.slices[3].start + k])
        for watch, times in zip(watches, solution.t_events or [], strict=False):
            if len(times):
                watch.happen(self.time, self.y)

    def _history(self) -> History:
        machine = self.machine
        time = np.concatenate([t for t, _ in self.chunks])
        y = np.concatenate([y for _, y in self.chunks], axis=1)
        signals: dict[str, Array] = {}
        pressure = np.array([machine.pressures(column)[0] for column in y.T])
        for k, port in enumerate(machine.ports):
            signals[f"{port}.pressure"] = pressure[:, k]
        rest = (
            [f"{p.id}.extension" for p in machine.pistons]
            + [f"{p.id}.fluid_volume" for p in machine.gas]
            + [f"{p.id}.volume" for p in machine.reservoirs]
            + [f"{p.id}.strokes" for p in machine.hand_pumps]
        )
        for k, name in enumerate(rest):
            signals[name] = y[machine.size + k]
        full = {p.id: p.travel for p in machine.pistons}
        full |= {p.id: p["gas_volume"] for p in machine.gas}
        full |= {p.id: p["capacity"] for p in machine.reservoirs}
        return History(time, signals, self.events, full, self.steps, self.evaluations)


def history(sample: str, procedure: str, looser: float = 1.0, method: str = METHOD) -> History:
    """The second formulation's history of a sample's procedure."""
    record, plan = load(sample, procedure)
    with threadpool_limits(1):
        return Runner(record, plan, looser, method).work()
