"""What one failure does to one function: to a requirement, or to a procedure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from math import inf
from typing import Any, Literal

from analysis.begin_pressures import Begin
from analysis.circuit import Circuit
from analysis.failure_modes import (
    Failure,
    under_failure,
    with_failure,
    without_stuck_lever,
)
from analysis.failure_reference import Course, Reference, what_failed
from analysis.motion import Motion
from analysis.passages import SOURCES, passages_of
from analysis.port_graph import PortGraph
from analysis.procedures import find_procedure
from analysis.recording import Recording
from analysis.requirements import evaluate_one
from analysis.runs import Stage, run
from analysis.ways import is_dead, sources_of

LATER = 0.05
"""Share by which an expectation must be met later to count as degraded."""

_BLINK = 1e-3
"""Share of the time allowed below which "later" is of no account."""

_UNCLEAR = (0.04, 0.06)
_UNCLEAR_PRESSURE = (0.01, 0.3)
"""Delays by such shares are looked at again in a run that is less rough: `LATER` lies within."""
_NEAR = 0.1
"""So is a function that is lost by a value that misses its level by less than this share."""

_OF_PRESSURE = ("pressure", "effort", "force")

Severity = Literal["kept", "degraded", "lost"]


@dataclass(frozen=True)
class Effect:
    """What a failure does to a function: how grave it is, and why."""

    severity: Severity
    reason: str = ""


KEPT = Effect("kept")


# -- procedures ---------------------------------------------------------------------------


def effect_on_procedure(circuit: Circuit, reference: Reference, failure: Failure) -> Effect:
    """What a failure does to a procedure that holds without it; the procedure is run."""
    if failure in reference.idle:
        return KEPT
    rough, fine = reference.rough, reference.fine
    trial = Trial(circuit, reference, failure)
    recording = trial.run(rough)
    if recording.message or _is_lost_narrowly(recording):
        return _effect(trial.run(fine), fine.times)
    unclear, others = _unclear(recording, rough.times)
    if not recording.holds or not unclear or others > LATER:
        return _effect(recording, rough.times)
    # what was clear need not be looked at again
    return _effect(trial.run(fine, unclear), [fine.times[number] for number in unclear])


class Trial:
    """A procedure with a failure, to be run at one pace or another."""

    def __init__(self, circuit: Circuit, reference: Reference, failure: Failure) -> None:
        self.circuit, self.reference, self.failure = circuit, reference, failure
        self._begin: Begin | None = None

    def run(self, course: Course, looked_at: Sequence[int] | None = None) -> Recording:
        """Run it at the pace of a course of it without any failure.

        Up to the last stage of that course at which the failure had changed nothing, the two
        are the same: the run goes on from there. It ends when the expectations `looked_at`, by
        number, are decided; all, if none are given.
        """
        stage = course.last_same(self.failure)
        circuit = stage.moment.circuit if stage is not None else self.circuit
        failed = with_failure(circuit, self.failure, shared=True)
        procedure = under_failure(find_procedure(failed, self.reference.name), self.failure)
        end = procedure.duration
        if looked_at is not None:
            procedure.expectations = [procedure.expectations[number] for number in looked_at]
            stage = stage.seeing(looked_at) if stage is not None else None
        return run(
            failed,
            procedure,
            until=end,
            signals=[],
            stop_when_decided=True,
            roughly=course.is_rough,
            motion=partial(self._motion, stage),
            stage=stage,
        )

    def _motion(self, stage: Stage | None, failed: Circuit) -> Motion:
        if stage is not None:
            return Motion(failed, shared=True, moment=stage.moment)
        motion = Motion(failed, shared=True, begin=self._begin)
        self._begin = motion.begin
        return motion


def _is_lost_narrowly(recording: Recording) -> bool:
    """Whether a rough run misses a level by too little to be relied on."""
    return any(e.missed < _NEAR for e in recording.expectations if not e.holds)


def _unclear(recording: Recording, times: Sequence[float | None]) -> tuple[list[int], float]:
    """The numbers of the expectations whose delay in a rough run is too near to `LATER` to be
    relied on, and the longest delay of the others, as a share of the time."""
    unclear, longest = [], 0.0
    for number, late, good in _delays(recording, times):
        signal = recording.expectations[number].condition.signal
        of_pressure = signal.rpartition(".")[2] in _OF_PRESSURE
        low, high = _UNCLEAR_PRESSURE if of_pressure else _UNCLEAR
        if low * good < late < high * good:
            unclear.append(number)
        else:
            longest = max(longest, late / good if good > 0.0 else inf)
    return unclear, longest


def _effect(recording: Recording, times: Sequence[float | None]) -> Effect:
    """What comes of a run, beside the times at which its expectations are met without failure."""
    if not recording.holds:
        return Effect("lost", what_failed(recording))
    worst, reason = LATER, ""
    for number, late, good in _delays(recording, times):
        if late > worst * good:
            expectation = recording.expectations[number]
            worst = late / good if good > 0.0 else worst
            reason = f"{expectation.text}: met after {expectation.time:.3g} s, not {good:.3g} s"
    return Effect("degraded", reason) if reason else KEPT


def _delays(
    recording: Recording, times: Sequence[float | None]
) -> Iterator[tuple[int, float, float]]:
    """Numbers of the expectations that are met later than without the failure: by how much, and
    when then [s]."""
    for number, (expectation, good) in enumerate(zip(recording.expectations, times, strict=True)):
        if good is None or expectation.time is None or expectation.by is None:
            continue
        late = expectation.time - good
        if late > _BLINK * expectation.by:
            yield number, late, good


# -- requirements -------------------------------------------------------------------------


def effects_on_requirements(
    circuit: Circuit, wanted: Mapping[int, Mapping[str, Any]], failure: Failure
) -> dict[int, Effect]:
    """What a failure does to requirements that hold without it, by their numbers.

    Those of kind `survives` are not looked at: they follow from their procedures.
    """
    stuck = {
        number: without_stuck_lever(requirement, failure) for number, requirement in wanted.items()
    }
    failed = with_failure(circuit, failure, shared=True)
    same = _carries_the_same(circuit, failed, failure.subject)
    plain: PortGraph | None = None
    effects: dict[int, Effect] = {}
    for number, requirement in stuck.items():
        if same and requirement.get("set") == wanted[number].get("set"):
            effects[number] = KEPT
            continue
        plain = plain or PortGraph(failed, sources_of(failed))
        verdict = evaluate_one(failed, requirement, number, plain)
        effects[number] = KEPT if verdict.holds else Effect("lost", verdict.message)
    return effects


def _carries_the_same(circuit: Circuit, failed: Circuit, subject: str) -> bool:
    """Whether fluid gets by the subject as it did before it failed."""
    component = circuit.components.get(subject)
    if component is not None:
        if component.kind in SOURCES and is_dead(circuit, subject) != is_dead(failed, subject):
            return False
        if "position" in component.declared.states and _is_roller(circuit, subject):
            return False
    return passages_of(circuit, subject) == passages_of(failed, subject)


def _is_roller(circuit: Circuit, subject: str) -> bool:
    return circuit.components[subject].settings.get("operator") == "roller"
