"""The circuit at work: a clock that takes a motion along, and what hands do to it meanwhile.

A lever moved on the sheet is an edit like any other; while the circuit is at work a change
of a state goes into the motion, any other edit ends the work and returns to the instant.
The recording stays.
"""

from __future__ import annotations

from dataclasses import dataclass
from time import perf_counter
from typing import Any

from PySide6.QtCore import QObject, Qt, QTimer, Signal

from analysis.circuit import Circuit
from analysis.errors import CircuitError
from analysis.events import Change
from analysis.moment import Moment
from analysis.motion import Motion
from analysis.motion_readings import motion_readings
from analysis.procedures import Procedure, apply_changes
from analysis.recording import Event
from analysis.script import Script
from analysis.stuck_levers import told
from editor.listening import listen
from editor.operation.history import History

FRAME_MS = 16
FRAME_BUDGET, _LEAST_BUDGET = 0.008, 0.002
"""Time [s] that computing and showing may take of a frame's 16.7 ms; painting has the rest."""

GLANCE = 6
"""Figures and traces follow every sixth frame: ten times a second, faster than one reads."""

_SHOWN_ONLY = ("at", "turn", "mirror", "via", "title", "sheet", "display_units", "name",
               "labels", "evidence", "waivers", "requirements", "procedures", "role")  # fmt: skip


@dataclass(frozen=True)
class Deed:
    """Something the operator did: when [s], to what, and what was set."""

    time: float
    identifier: str
    name: str
    value: Any


class Operation(QObject):
    """Runs a circuit's motion by the clock.

    `shown` tells that there is a new state to show (`readings`, `moving`, `time`); `started`
    and `ended` frame the work; `failed` says in one line why it stopped; `replay_changed`
    that a procedure began to be worked, or is no longer.
    """

    started = Signal()
    ended = Signal()
    shown = Signal()
    failed = Signal(str)
    running_changed = Signal(bool)
    replay_changed = Signal()

    def __init__(self, circuit: Circuit, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.circuit = circuit
        self.motion: Motion | None = None
        self.history = History()
        self.deeds: list[Deed] = []
        self.begin_states: dict[str, dict[str, Any]] = {}
        self.speed = 1.0
        self.readings: Any = None
        self.script: Script | None = None
        self._viewed: Moment | None = None
        self._last = 0.0
        self._frames, self._showing = 0, 0.0
        self._strokes_left: dict[str, float] = {}
        self._timer = QTimer(self)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.setInterval(FRAME_MS)
        self._timer.timeout.connect(self._on_frame)
        listen(circuit.changed, self._on_change)

    # -- what is shown ----------------------------------------------------------------

    @property
    def active(self) -> bool:
        """Whether the sheet shows the circuit at work."""
        return self.motion is not None

    @property
    def running(self) -> bool:
        """Whether the clock runs."""
        return self._timer.isActive()

    @property
    def time(self) -> float:
        """The time that is shown [s]."""
        if self._viewed is not None:
            return self._viewed.time
        return self.motion.time if self.motion else 0.0

    @property
    def end(self) -> float:
        """The latest time there is [s]."""
        return self.motion.time if self.motion else 0.0

    @property
    def moving(self) -> dict[str, dict[str, Any]]:
        """States that replace the written ones on the sheet."""
        if self._viewed is not None:
            return self._viewed.moving
        return self.motion.moving if self.motion else {}

    @property
    def worked_circuit(self) -> Circuit:
        """The circuit with what has been set meanwhile; as drawn while it is not at work."""
        if self._viewed is not None:
            return self._viewed.circuit
        return self.motion.circuit if self.motion else self.circuit

    @property
    def events(self) -> list[Event]:
        """What has happened so far."""
        return self.motion.events if self.motion else []

    def signals_shown(self) -> dict[str, Any]:
        """The signals at the time that is shown, as recorded where that has gone by [SI]."""
        if self._viewed is not None:
            index = self.history.moments.index(self._viewed)
            return {name: column[index] for name, column in self.history.signals.items()}
        return dict(self.motion.signals()) if self.motion else {}

    # -- the clock --------------------------------------------------------------------

    def begin(self) -> bool:
        """Start from the circuit as it stands, the clock held; False if it cannot."""
        return self._begin(Procedure(""))

    def replay(self, plan: Procedure) -> bool:
        """Start anew as the procedure starts and work it by the clock; False if it cannot."""
        self.finish()
        if not self._begin(plan):
            return False
        self.script = Script(plan)
        self._follow_script()
        self._show()
        self.replay_changed.emit()
        self.run()
        return True

    def _begin(self, plan: Procedure) -> bool:
        try:
            twin = self.circuit.copy()
            apply_changes(twin, plan.start)
            self.motion = Motion(twin)
            self.motion.settle()
        except CircuitError as error:
            self.motion = None
            self.failed.emit(str(error))
            return False
        self.history, self.deeds, self._viewed = History(), [], None
        self._strokes_left.clear()
        self.begin_states = {c.id: dict(c.state) for c in twin.components.values() if c.state}
        for identifier, values in plan.start.items():
            self.begin_states.setdefault(identifier, {}).update(values)
        self._show()
        self.started.emit()
        return True

    def run(self) -> None:
        """Let the clock run; begins first if need be, goes on from a moment that is viewed."""
        if self.motion is None and not self.begin():
            return
        self.resume_here()
        self._last = perf_counter()
        self._timer.start()
        self.running_changed.emit(True)

    def pause(self) -> None:
        """Hold the clock."""
        if self._timer.isActive():
            self._timer.stop()
            if self.motion is not None and self._viewed is None:
                self.readings = motion_readings(self.motion)
            self.running_changed.emit(False)

    def step(self, seconds: float) -> None:
        """Go on by so much, the clock held."""
        if self.motion is None and not self.begin():
            return
        assert self.motion is not None
        self.pause()
        self.resume_here()
        self._advance(self.motion.time + seconds, budget=2.0)
        self._show()

    def finish(self) -> None:
        """Return to the instant; what was recorded stays until the next beginning."""
        if self.motion is None:
            return
        self.pause()
        self.motion, self._viewed, self.readings = None, None, None
        self._leave_script()
        self.ended.emit()

    def view(self, time: float) -> None:
        """Show an earlier moment, the clock held."""
        moment = self.history.nearest(time)
        if self.motion is None or moment is None:
            return
        self.pause()
        self._viewed = moment if moment.time < self.motion.time - 1e-9 else None
        if self._viewed is None:
            self._show()
            return
        twin = Motion(moment.circuit)
        twin.return_to(moment)
        twin.settle()
        self.readings = motion_readings(twin)
        self.shown.emit()

    def resume_here(self) -> None:
        """Take the moment that is viewed as now; what came after it is forgotten."""
        if self._viewed is None or self.motion is None:
            return
        moment, self._viewed = self._viewed, None
        self.motion.return_to(moment)
        self.motion.settle()
        self._leave_script()
        self.history.cut(moment.time)
        self.deeds = [deed for deed in self.deeds if deed.time <= moment.time]

    # -- hands ------------------------------------------------------------------------

    def stroke(self, pump: str) -> None:
        """One stroke of a hand pump: it works for one period of its rate."""
        if self.motion is None:
            return
        rate = float(self.motion.assembly.parts[pump].settings["rate"])
        self.work(pump, True)
        self._strokes_left[pump] = self.motion.time + 1.0 / rate

    def work(self, pump: str, running: bool) -> None:
        """Work a pump, or let it rest, without an edit of the circuit."""
        self._strokes_left.pop(pump, None)
        self.put(pump, "running", running)

    def put(self, identifier: str, name: str, value: Any) -> None:
        """Set a state in the motion only; the circuit stays as drawn."""
        assert self.motion is not None
        self.resume_here()
        before = self.motion.circuit
        try:
            self.motion.apply({identifier: {name: value}})
        except CircuitError as error:
            self.failed.emit(str(error))
            return
        self.deeds.append(Deed(self.motion.time, identifier, name, value))
        self.motion.tell(identifier, told(before, identifier, {name: value}, name))
        if not self.running:
            self.motion.settle()
            self._show()

    def _on_change(self, change: Change) -> None:
        if self.motion is None:
            return
        if change.action == "changed" and change.name.startswith("state."):
            name = change.name.removeprefix("state.")
            element = self.circuit.element(change.subject)
            value = element.state.get(name, self._default(change.subject, name))
            self.put(change.subject, name, value)
        elif not (change.action == "changed" and change.name in _SHOWN_ONLY):
            self.finish()

    def _default(self, identifier: str, name: str) -> Any:
        return self.circuit.element(identifier).state_of(name).default

    # -- frames -----------------------------------------------------------------------

    def _on_frame(self) -> None:
        now = perf_counter()
        elapsed, self._last = min(now - self._last, 0.1), now
        self.show_frame(elapsed)

    def show_frame(self, elapsed: float) -> None:
        """Go on by so much of the clock on the wall [s], as far as a frame allows; show it."""
        assert self.motion is not None
        self._frames += 1
        budget = max(FRAME_BUDGET - self._showing, _LEAST_BUDGET)
        self._advance(self.motion.time + elapsed * self.speed, budget)
        begun = perf_counter()
        self._show()
        self._showing = perf_counter() - begun

    def is_due(self, turn: int) -> bool:
        """Whether what need not follow every frame is to be shown now.

        `turn`, from 0 to GLANCE - 1, gives each such thing a frame of its own. While the
        clock is held everything is.
        """
        return not self.running or self._frames % GLANCE == turn

    def _advance(self, until: float, budget: float) -> None:
        """Advance as far as the computing time of a frame allows."""
        motion, deadline = self.motion, perf_counter() + budget
        assert motion is not None
        while motion.time < until - 1e-9 and not motion.message:
            ends = [t for t in self._strokes_left.values() if t > motion.time]
            stop = min([until, *ends])
            script = None if self.script is None or self.script.is_closed else self.script
            if script is None:
                motion.advance(stop, lambda: perf_counter() > deadline)
            else:
                stop = min(stop, script.plan.duration)
                motion.advance(script.next_stop(stop), lambda: True)
                self._follow_script()
            for pump in [p for p, t in self._strokes_left.items() if motion.time >= t - 1e-9]:
                self.work(pump, False)
            if perf_counter() > deadline or (script is not None and script.is_closed):
                break
        if motion.message:
            self.pause()
            self.failed.emit(motion.message)

    def _follow_script(self) -> None:
        """Let the procedure see how things stand and set what is due; hold the clock at its end."""
        script, motion = self.script, self.motion
        assert script is not None and motion is not None
        script.look(motion.time, motion.signals())
        fired = False
        for step in script.due_steps():
            before = motion.circuit
            motion.apply(step.changes)
            fired = True
            for identifier, values in step.changes.items():
                for name, value in values.items():
                    self.deeds.append(Deed(motion.time, identifier, name, value))
                    motion.tell(identifier, told(before, identifier, values, name))
        if fired:
            motion.settle()
        script.mark_late()
        if motion.time >= script.plan.duration - 1e-9:
            script.close()
            self.pause()

    def _leave_script(self) -> None:
        if self.script is not None:
            self.script = None
            self.replay_changed.emit()

    def _show(self) -> None:
        assert self.motion is not None
        # pressures follow every other frame, whatever moves follows each
        if not self.running or self._frames % 2 == 0 or self.readings is None:
            self.readings = motion_readings(self.motion)
        if self.history.wants(self.motion.time):
            self.history.add(self.motion.moment(), self.motion.signals())
        self.shown.emit()

    def as_procedure(self, name: str) -> dict[str, Any]:
        """What the operator did, as a procedure of the circuit file."""
        steps = [
            {"at": f"{deed.time:.2f} s", "set": {deed.identifier: {deed.name: deed.value}}}
            for deed in self.deeds
        ]
        return {"name": name, "start": self.begin_states, "steps": steps, "expect": []}
