"""A run: a procedure worked on a circuit from start to end, sampled."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from math import ceil

from analysis.blas import one_thread
from analysis.circuit import Circuit
from analysis.errors import UnknownElement
from analysis.moment import Moment
from analysis.motion import Motion
from analysis.null_reasons import ABSENT, why_none
from analysis.pace import Pace, deciding, rough
from analysis.procedures import (
    DEFAULT_DURATION,
    Procedure,
    apply_changes,
    find_procedure,
    signal_dimension,
)
from analysis.quiet_steps import QuietSteps
from analysis.recording import Recording, SignalValue
from analysis.rest import has_unforeseen_events, is_at_rest
from analysis.script import Place, Script
from analysis.stuck_levers import told

_HURRIED_STEPS = 1200
"""Steps after which such a run is given up: a reservoir that is emptied as fast as it fills."""
_SHORT = 2e-3
"""The next step may be as long as this [s] in any case: levers that are set begin anew."""


@dataclass(frozen=True)
class Stage:
    """Where a run stands when steps of its procedure have been worked: enough to go on there."""

    moment: Moment
    place: Place
    steps: int
    """Time steps taken up to there [1]."""

    def seeing(self, expectations: Sequence[int]) -> Stage:
        """The same, of a procedure that has only these of the expectations, by number."""
        seen = tuple(self.place.seen[number] for number in expectations)
        return replace(self, place=replace(self.place, seen=seen))


def run(
    circuit: Circuit,
    procedure: str | Procedure | None = None,
    *,
    until: float | None = None,
    every: float | None = None,
    signals: Iterable[str] | None = None,
    progress: Callable[[float], None] | None = None,
    stop_when_decided: bool = False,
    roughly: bool = False,
    weigh: bool = False,
    motion: Callable[[Circuit], Motion] = Motion,
    at_stage: Callable[[Stage], None] | None = None,
    stage: Stage | None = None,
) -> Recording:
    """The circuit over time, by a procedure or left as it stands.

    Parameters
    ----------
    circuit
        Not changed.
    procedure
        A procedure of the circuit by name, or one that is made already; none: no levers move.
    until
        End of the run [s]; the latest `at` or `by` of the procedure, else 20 s.
    every
        Sampling interval [s]; 1/200 of the duration if not given.
    signals
        The signals to record; all if not given.
    progress
        Called with the share done, from 0 to 1.
    stop_when_decided
        End the run as soon as it is known whether all expectations hold; expectations that
        are still open when one has failed are then said not to hold.
    roughly
        Such a run may be rough about how fast pressures rise (`analysis.pace.rough`).
    weigh
        Such a run goes on, when all is decided, up to the time by which a pressure, force or
        effort is expected: its `strength` is then the greatest there is.
    motion
        Makes the motion from the circuit as the procedure starts it.
    at_stage
        Called when steps of the procedure have been worked, with where the run then stands.
    stage
        Where a run of this procedure had got to: this one goes on from there. The circuit is
        then as it stood there, and so is what `motion` makes of it; nothing is sampled up to
        there.

    Returns
    -------
    Recording
        Its `message` is not empty where the circuit had no solution and the run stopped.

    Raises
    ------
    UnknownElement
        If the procedure or a signal is not there.
    """
    wanted = None if signals is None else list(dict.fromkeys(signals))
    for name in wanted or ():
        signal_dimension(circuit, name)
    plan = find_procedure(circuit, procedure) if isinstance(procedure, str) else procedure
    plan = plan or Procedure("", {}, [], [])
    end = until if until is not None else (plan.duration if procedure else DEFAULT_DURATION)
    twin = circuit
    if stage is None:
        twin = circuit.with_own(plan.start)
        apply_changes(twin, plan.start)
    script = Script(plan, stage.place if stage is not None else None)
    runner = _Runner(motion(twin), script, end, every or end / 200.0, wanted, progress)
    runner.at_stage = at_stage
    if stage is not None:
        runner.go_on_from(stage)
    if stop_when_decided:
        runner.hurry(rough if roughly else deciding)
        runner.weighing = weigh
    return runner.work()


class _Runner:
    """Advances the motion from sample to step to sample."""

    def __init__(
        self,
        motion: Motion,
        script: Script,
        end: float,
        every: float,
        wanted: list[str] | None,
        progress: Callable[[float], None] | None,
    ) -> None:
        self.motion = motion
        self.script, plan = script, script.plan
        self.at_stage: Callable[[Stage], None] | None = None
        self.end, self.every = end, every
        self.wanted, self.progress = wanted, progress
        self.recording = Recording(expectations=plan.expectations)
        self.samples = 0
        self.asked = _asked_of(plan)
        self.needed = None if wanted is None else self.asked.union(wanted)
        self.hurried = self.weighing = False
        self._quiet: QuietSteps | None = None
        self._is_open = False
        """Whether it was seen after the last step that not all is decided."""

    def go_on_from(self, stage: Stage) -> None:
        """Count on from where a run before it had got to."""
        self.motion.steps = stage.steps
        self.samples = ceil(stage.place.time / self.every)

    def hurry(self, pace: Callable[..., Pace]) -> None:
        """Do only what is needed to know whether the expectations hold.

        Hand pumps deliver their mean flow at such a pace, without the swell of their strokes.
        """
        self.hurried = True
        self.motion.pace = pace(self.end, unforeseen=has_unforeseen_events(self.motion))

    def work(self) -> Recording:
        with one_thread():
            self._work()
        self.script.close()
        recording = self.recording
        recording.events = sorted(self.motion.events, key=lambda event: event.time)
        if self.motion.pace.accounts:
            recording.accounts = self.motion.accounts.close()
        recording.steps = self.motion.steps
        recording.left = len(self.script.waiting)
        recording.message = self.motion.message
        if recording.message and self.weighing and self._is_met():
            # all was decided before that; only what it would have come to is not known
            recording.message = ""
            for expectation in recording.expectations:
                expectation.strength = None
        return recording

    def _work(self) -> None:
        self._fire_due_steps()
        self.motion.settle()
        if self.script.time == 0.0:
            self._look()
        while self.motion.time < self.end - 1e-9 and not self.motion.message:
            if not self._take_quiet_steps():
                self._step()
            self._look()
            if self._fire_due_steps():
                self.motion.settle()
                self._is_open = False
            elif self.hurried:
                if self._decided() or self._is_stuck():
                    break
                self._is_open = True

    def _step(self) -> None:
        stop = self.script.next_stop(self.end)
        if self.motion.pace.to_arrivals:
            stop = self.script.next_arrival(stop)
        self.motion.step_towards(stop)

    def _take_quiet_steps(self) -> bool:
        """Take steps in which nothing happens, if there are any and nobody wants to see them."""
        if not self.hurried or self.wanted != [] or self.progress is not None:
            return False
        if self._quiet is None or self._quiet.stepper is not self.motion.stepper:
            self._quiet = QuietSteps(self.motion, self.asked)
        # what is decided already is looked at after the next step
        is_over = not self._is_open and self._decided()
        most = 1 if is_over else _HURRIED_STEPS - self.motion.steps
        may_rest = not self._is_step_ahead()
        return self._quiet.take(self.script, self.end, may_rest=may_rest, most=most)

    def _is_step_ahead(self) -> bool:
        """Whether a step of the procedure is to come at a time that is known."""
        waiting = self.script.waiting
        return any(step.at is not None for step in waiting) or self.script.due is not None

    def _is_stuck(self) -> bool:
        """Whether it takes far more steps than any run that gets somewhere; says so."""
        if self.motion.steps >= _HURRIED_STEPS:
            self.motion.message = f"it keeps changing over at {self.motion.time:.3g} s"
        return bool(self.motion.message)

    def _decided(self) -> bool:
        """Whether it is known by now which expectations hold."""
        self.script.mark_late()
        if any([e.holds is False for e in self.script.plan.expectations]):
            return True
        if self._is_met() and not (self.weighing and self._may_grow()):
            return True
        return not self._is_step_ahead() and is_at_rest(self.motion, self.end - self.motion.time)

    def _is_met(self) -> bool:
        """Whether all that is expected has come about, and nothing must hold throughout."""
        return all([e.by is not None and e.holds for e in self.script.plan.expectations])

    def _may_grow(self) -> bool:
        """Whether there is time left for a pressure or force to come to more than was expected,
        and more would be of account."""
        before = self.motion.time + 1e-9
        return any(
            e.is_of_strength
            and e.by is not None
            and before < e.by
            and (e.strength or 0.0) < e.enough
            for e in self.script.plan.expectations
        )

    def _fire_due_steps(self) -> bool:
        """Set what the steps that are due set, in order."""
        fired = False
        for step in self.script.due_steps():
            before = self.motion.circuit
            self.motion.apply(step.changes)
            for identifier, values in step.changes.items():
                for name in values:
                    self.motion.tell(identifier, told(before, identifier, values, name))
            fired = True
        if fired and self.at_stage is not None:
            self.at_stage(Stage(self.motion.moment(), self.script.where(), self.motion.steps))
        return fired

    def _look(self) -> None:
        """Read the signals, check the expectations, and fill in the samples gone by."""
        time, before_time = self.motion.time, self.script.time
        signals = self.motion.signals(self.needed if self._samples_near() else self.asked)
        self.script.look(time, signals)
        self._sample(before_time)
        if self.progress is not None:
            self.progress(min(time / self.end, 1.0))

    def _sample(self, before_time: float) -> None:
        """Take the samples that fall into the step that began at a time [s]."""
        while self.samples * self.every <= min(self.motion.time, self.end) + 1e-9 and (
            self.samples * self.every <= self.end + 1e-9
        ):
            if self.wanted == []:
                self.recording.time.append(self.samples * self.every)
            else:
                self._record(self.samples * self.every, before_time)
            self.samples += 1

    def _samples_near(self) -> bool:
        """Whether a sample falls into the step gone by, or may fall into the next.

        All signals are read there only: a run takes many short steps between two samples.
        """
        ahead = max(self.motion.next_step, _SHORT)
        return self.samples * self.every <= self.motion.time + ahead

    def _record(self, at: float, before_time: float) -> None:
        """Take a sample at a time [s] within the step that began at `before_time` [s]."""
        before, now, time = self.script.before, self.script.now, self.script.time
        share = 1.0 if time <= before_time else min((at - before_time) / (time - before_time), 1.0)
        recording = self.recording
        gone_by = len(recording.time)
        recording.time.append(at)
        # a signal may come and go with a setting: every column is as long as the time
        names = self.wanted if self.wanted is not None else {**recording.signals, **now}
        for name in names:
            if name not in now and not before:
                raise UnknownElement(f"there is no signal '{name}' in this circuit")
            if name not in recording.signals:
                recording.signals[name] = [None] * gone_by
                if gone_by:
                    recording.reasons[name] = ABSENT
            value = _between(before.get(name), now.get(name), share)
            recording.signals[name].append(value)
            if value is None and name not in recording.reasons:
                recording.reasons[name] = why_none(self.motion, name)


def _asked_of(plan: Procedure) -> frozenset[str]:
    """The signals that the procedure looks at."""
    conditions = [e.condition for e in plan.expectations]
    conditions += [step.after for step in plan.steps if step.after is not None]
    return frozenset(condition.signal for condition in conditions)


def _between(before: SignalValue, after: SignalValue, share: float) -> SignalValue:
    if isinstance(before, float) and isinstance(after, float):
        return before + (after - before) * share
    return after if share >= 0.5 or before is None else before
